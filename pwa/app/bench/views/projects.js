// projects {} -> {projects: Item[], loose: number, binned: number, demo: boolean}
//   Item = {id, name, animal, demo, made: '2026-11-25', size: string|null as typed, parts: n|null, readings: n|null, pieces: n|null}
// Newest first, without the binned. The counts are given for the first `counted` only (null after that), so that a thousand
// projects open at once. `loose` is how many sittings belong to no project; `demo` whether a demo project is among them.
// counts {ids: [id, ...]} -> {[id]: {parts, readings, pieces}}: the counts of the others, as they come into sight (at most 100 at once).
// Needs no engine.
import { read } from '../store.js';

/** @typedef {import('../store.js').Rec} Rec */

const counted = 20;

/** @param {any} tx  @param {string} project */
async function countIn(tx, project) {
  const live = tx.objectStore('records').index('live');
  const [parts, readings, pieces] = await Promise.all(['part', 'reading', 'piece'].map((kind) => live.count([project, kind, 0])));
  return { parts: /** @type {number} */ (parts), readings: /** @type {number} */ (readings), pieces: /** @type {number} */ (pieces) };
}

export async function projects() {
  return read(['records'], async (tx) => {
    const store = tx.objectStore('records');
    /** @type {[Rec[], number, number]} */
    const [records, loose, binned] = await Promise.all([
      store.index('kind').getAll(['project', 0]), store.index('live').count(['', 'sitting', 0]), store.index('kind').count(['project', 1]),
    ]);
    records.sort(newestFirst);
    const counts = await Promise.all(records.slice(0, counted).map((rec) => countIn(tx, rec.id)));
    const items = records.map((rec, i) => ({
      id: rec.id, name: /** @type {string} */ (rec.fields.name?.[0] ?? ''), animal: /** @type {string} */ (rec.fields.animal?.[0] ?? 'other'),
      demo: rec.fields.demo?.[0] === true, made: /** @type {string} */ (rec.fields.made?.[0] ?? ''),
      size: /** @type {string | null} */ (rec.fields.size?.[0]?.typed ?? null),
      parts: counts[i]?.parts ?? null, readings: counts[i]?.readings ?? null, pieces: counts[i]?.pieces ?? null,
    }));
    return { projects: items, loose, binned, demo: items.some((item) => item.demo) };
  });
}

/** By the day it was made, then by the change that made it. @param {Rec} a  @param {Rec} b */
function newestFirst(a, b) {
  const [x, y] = [a.fields.made, b.fields.made];
  if (!x || !y) return x ? -1 : y ? 1 : 0;
  return x[0] < y[0] ? 1 : x[0] > y[0] ? -1 : y[1][0] - x[1][0] || (x[1][1] < y[1][1] ? 1 : -1);
}

/** @param {{ids: string[]}} what */
export async function counts({ ids }) {
  return read(['records'], async (tx) => Object.fromEntries(
    await Promise.all(ids.slice(0, 100).map(async (id) => /** @type {const} */ ([id, await countIn(tx, String(id))])))));
}
