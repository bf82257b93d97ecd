// Changes from elsewhere: put beside those here by the same code that will do it at home, and written in one transaction.
import { blank, derive } from './change.js';
import { fail } from './codes.js';
import { call } from './engine.js';
import { changed, pending } from './events.js';
import { shelve } from './shelf.js';
import { read, together, write } from './store.js';

/**
 * @typedef {import('./store.js').Rec} Rec
 * @typedef {import('./store.js').Kept} Kept
 * @typedef {import('./store.js').Stamp} Stamp
 * A change as it is written in files.
 * @typedef {{kind: string, id: string, field: string, value: any, stamp: Stamp, base: Stamp | null}} Change
 * @typedef {{kind: string, id: string, field: string, value: any, stamp: Stamp, base: Stamp | null, apart: {value: any, stamp: Stamp}[]}} Merged
 * What taking changes in would do, at one moment of the store.
 * @typedef {{fresh: Change[], known: Map<string, Change[]>, merged: Merged[], moment: string}} Plan
 */

/** @param {Kept} kept @returns {Change} */
export const asChange = ({ kind, id, field, counter, device, value, base }) => ({ kind, id, field, value, stamp: [counter, device], base });

/** @param {Change} change @returns {Kept} */
const asKept = ({ kind, id, field, stamp: [counter, device], value, base }) => ({ kind, id, field, counter, device, value, base });

/** @param {{kind: string, id: string}} where */
export const recordKey = (where) => `${where.kind} ${where.id}`;
/** @param {Change} change */
const changeKey = (change) => `${recordKey(change)} ${change.field} ${change.stamp[0]} ${change.stamp[1]}`;

/** Every change there is of one record. @param {any} tx  @param {string} kind  @param {string} id @returns {Promise<Kept[]>} */
export const changesOf = (tx, kind, id) => tx.objectStore('changes').getAll(IDBKeyRange.bound([kind, id], [kind, id, []]));

/** A mark that differs whenever the store's changes do. @param {any} tx @returns {Promise<string>} */
async function momentOf(tx) {
  const meta = tx.objectStore('meta');
  return `${await meta.get('counter')} ${await meta.get('merges') ?? 0}`;
}

/** What taking these changes in would do. Nothing is written. @param {Change[]} incoming @returns {Promise<Plan>} */
export async function plan(incoming) {
  const wanted = new Map(incoming.map((change) => [recordKey(change), change]));
  const { known, moment } = await read(['records', 'changes', 'meta'], async (tx) => {
    const here = new Set((await tx.objectStore('records').getAllKeys()).map((key) => /** @type {string[]} */ (key).join(' ')));
    const entries = await Promise.all([...wanted].filter(([key]) => here.has(key))
      .map(async ([key, { kind, id }]) => /** @type {const} */ ([key, (await changesOf(tx, kind, id)).map(asChange)])));
    return { known: new Map(entries), moment: await momentOf(tx) };
  });
  const have = new Map([...known.values()].flat().map((change) => [changeKey(change), change]));
  const fresh = incoming.filter((change) => !have.has(changeKey(change)));
  const touched = new Set(incoming.map((change) => `${recordKey(change)} ${change.field}`));
  // Changes that are known are asked about too: two that bear one stamp and differ must be found.
  const local = [...known.values()].flat().filter((change) => touched.has(`${recordKey(change)} ${change.field}`));
  return { fresh, known, moment, merged: await mergeAll([...local, ...incoming]) };
}

/** Asks the engine's side, a few thousand at a time, every field whole. A field with a single change is what that says. @param {Change[]} changes @returns {Promise<Merged[]>} */
async function mergeAll(changes) {
  /** @type {Map<string, Change[]>} */
  const fields = new Map();
  for (const change of changes) {
    const key = `${recordKey(change)} ${change.field}`;
    const list = fields.get(key);
    if (list) list.push(change); else fields.set(key, [change]);
  }
  /** @type {Merged[]} */
  const merged = [];
  /** @type {Change[]} */
  let some = [];
  const ask = async () => { merged.push(...(await call(/** @type {any} */ ('merge'), /** @type {any} */ ({ changes: some }), 180_000)).fields); some = []; };
  for (const list of fields.values()) {
    if (list.length === 1) { merged.push({ ...list[0], apart: [] }); continue; }
    some.push(...list);
    if (some.length >= 4000) await ask();
  }
  if (some.length) await ask();
  return merged;
}

/** Takes changes in, all or none. @param {Change[]} incoming @returns {Promise<{fresh: number}>} */
export async function takeIn(incoming) {
  pending(true);
  try {
    for (let attempt = 0; attempt < 8; attempt++) {
      const planned = await plan(incoming);
      if (!planned.fresh.length) return { fresh: 0 };
      const touched = await write(['records', 'changes', 'outbox', 'meta'], (tx) => writeDown(tx, planned));
      if (!touched) continue; // something was entered meanwhile: look again
      changed(touched.projects, touched.kinds);
      return { fresh: planned.fresh.length };
    }
    return fail('unexpected', { message: 'the store changed again and again while a file was taken in' });
  } finally {
    pending(false);
  }
}

/** @param {import('./store.js').WriteTx} tx  @param {Plan} planned @returns {Promise<{projects: Set<string>, kinds: Set<string>} | null>} */
async function writeDown(tx, { fresh, merged, moment }) {
  if (await momentOf(tx) !== moment) return null;
  const meta = tx.objectStore('meta');
  const records = tx.objectStore('records');
  /** @type {Map<string, Rec>} */
  const touched = new Map();
  for (const { kind, id } of merged) {
    const key = recordKey({ kind, id });
    if (!touched.has(key)) touched.set(key, (await records.get([kind, id])) ?? blank(kind, id));
  }
  const projects = new Set([...touched.values()].map((rec) => rec.project));
  const writes = together();
  for (const field of merged) {
    const rec = /** @type {Rec} */ (touched.get(recordKey(field)));
    rec.fields[field.field] = [field.value, field.stamp, field.base];
    if (field.apart?.length) rec.apart[field.field] = field.apart.map(({ value, stamp }) => [value, stamp]);
    else delete rec.apart[field.field];
  }
  for (const rec of touched.values()) { writes.add(records.put(derive(rec))); projects.add(rec.project); }
  writes.add(shelve(tx, touched.values()));
  let counter = await meta.get('counter');
  for (const change of fresh) {
    counter = Math.max(counter, change.stamp[0]);
    writes.add(tx.objectStore('changes').put(asKept(change)));
    writes.add(tx.objectStore('outbox').put([change.kind, change.id, change.field, ...change.stamp]));
  }
  writes.add(meta.put(counter, 'counter'));
  writes.add(meta.put((await meta.get('merges') ?? 0) + 1, 'merges'));
  await writes.done();
  return { projects, kinds: new Set(fresh.map((change) => change.kind)) };
}
