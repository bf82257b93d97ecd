// history {kind, id} -> {name, fields: [{field, changes: [{
//   value, text: what it refers to by name|undefined, by: a device's name|'this device'|null when not known, counter,
//   now: it is what holds, apart: it is a second answer, refused: code|null why home did not take it
// }]}]}
// Everything that was ever set in one record, the newest first; the fields in the order in which they were changed last.
// Needs no engine.
import { same } from '../change.js';
import { fail } from '../codes.js';
import { makers, noteMakers } from '../makers.js';
import { refusedByHome } from '../outbox.js';
import { changesOf, read } from '../store.js';

/** @typedef {import('../store.js').Packed} Packed  @typedef {import('../store.js').Rec} Rec */

/** Later changes first. @param {Packed} a  @param {Packed} b */
const latest = (a, b) => b[1] - a[1] || (a[2] < b[2] ? 1 : -1);

/** @param {{kind: string, id: string}} what */
export async function history({ kind, id }) {
  const { rec, list, names } = await read(['records', 'changes'], async (tx) => {
    const rec = /** @type {Rec} */ (await tx.objectStore('records').get([String(kind), String(id)]) ?? fail('no-such-record', { kind, id }));
    const list = changesOf(rec, await tx.objectStore('changes').get([rec.kind, rec.id])).sort(latest);
    return { rec, list, names: await namesIn(tx, list) };
  });
  const [by, refused] = [await makersOf(list), await refusedByHome()];
  const why = new Map(refused.filter((one) => one.kind === rec.kind && one.id === rec.id).map((one) => [`${one.field} ${one.counter} ${one.device}`, one.code]));
  const fields = [...new Set(list.map(([field]) => field))].map((field) => {
    const [, now] = rec.fields[field] ?? [null, [0, '']];
    const apart = rec.apart[field] ?? [];
    return {
      field,
      changes: list.filter((change) => change[0] === field).map(([, counter, device, value]) => ({
        value, text: typeof value === 'string' ? names.get(value) : undefined, by: by(device), counter,
        now: counter === now[0] && device === now[1],
        apart: apart.some(([said, stamp]) => stamp[0] === counter && stamp[1] === device && same(said, value)),
        refused: why.get(`${field} ${counter} ${device}`) ?? null,
      })),
    };
  });
  return { name: String(rec.fields.name?.[0] ?? ''), fields };
}

/** The names of the parts, pieces and animals that values refer to. @param {any} tx  @param {Packed[]} list @returns {Promise<Map<string, string>>} */
async function namesIn(tx, list) {
  const ids = [...new Set(list.map((change) => change[3]).filter((value) => typeof value === 'string' && /^[a-z2-7]{16}$/.test(value)))];
  const found = await Promise.all(ids.flatMap((id) => ['project', 'part', 'piece', 'picture'].map((kind) => tx.objectStore('records').get([kind, id]))));
  return new Map(found.filter((rec) => rec?.fields.name).map((rec) => [rec.id, String(rec.fields.name[0])]));
}

/** Who made these; home is asked, but not waited for long, when one is not known. @param {Packed[]} list */
async function makersOf(list) {
  const known = await makers();
  if (list.every(([, , device]) => known(device) !== null) || !await read(['meta'], (tx) => tx.objectStore('meta').get('home'))) return known;
  const asking = import('../pair.js').then(({ devices }) => devices()).then((told) => noteMakers(told.devices)).catch(() => {});
  await Promise.race([asking, new Promise((done) => { setTimeout(done, 1500); })]);
  return makers();
}
