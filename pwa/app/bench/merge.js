// Changes from elsewhere, from a file or from home: put beside those here, and written in one transaction. What a field that was
// changed more than once now says is told by the same code that tells it at home.
import { blank, derive, same } from './change.js';
import { Trouble, fail } from './codes.js';
import { call } from './engine.js';
import { shelve } from './shelf.js';
import { changesOf, earlierOf, getMany, putMany, together } from './store.js';

/**
 * @typedef {import('./store.js').Rec} Rec
 * @typedef {import('./store.js').Packed} Packed
 * @typedef {import('./store.js').Flat} Flat
 * @typedef {import('./store.js').Changes} Changes
 * @typedef {import('./store.js').Stamp} Stamp
 * @typedef {import('./rows.js').Outbox} Outbox
 * A change as it is written in files.
 * @typedef {{kind: string, id: string, field: string, value: any, stamp: Stamp, base: Stamp | null}} Change
 * What a field says, given all its changes.
 * @typedef {{value: any, stamp: Stamp, base: Stamp | null, apart: [any, Stamp][]}} State
 * A field that holds more than one change; `key` differs whenever the changes do. `came` are those from elsewhere.
 * @typedef {{key: string, kind: string, id: string, field: string, list: Packed[], came: Packed[]}} Asked
 * A record that something came for: what was here of it, what comes new, and what came under a stamp that stands here for something else.
 * @typedef {{kind: string, id: string, rec: Rec | undefined, here: Packed[], came: Packed[], fresh: Packed[], clash: {theirs: Packed, ours: Packed}[]}} Weighed
 */

/** @param {{kind: string, id: string}} where */
export const recordKey = (where) => `${where.kind} ${where.id}`;
/** @param {Packed} change */
const stampKey = ([field, counter, device]) => `${field} ${counter} ${device}`;

/** @param {Flat} flat @returns {Change} */
export const asChange = ([kind, id, field, counter, device, value, base]) => ({ kind, id, field, value, stamp: [counter, device], base });

/** Every change of a record, one by one. @param {Changes} changes @returns {Flat[]} */
export const flatOf = ({ kind, id, list }) => list.map((change) => /** @type {Flat} */ ([kind, id, ...change]));

/** Changes by the record they are of. @param {Flat[]} flats @returns {Map<string, Changes>} */
export function byRecord(flats) {
  /** @type {Map<string, Changes>} */
  const records = new Map();
  for (const [kind, id, field, counter, device, value, base] of flats) {
    const key = `${kind} ${id}`;
    let one = records.get(key);
    if (!one) records.set(key, one = { kind, id, list: [] });
    one.list.push([field, counter, device, value, base]);
  }
  return records;
}

/** Beyond so many records it is cheaper to ask for the keys of all that are here than for each by itself. */
const many = 4000;

/**
 * Puts what comes beside what is here, in a transaction, and writes nothing.
 * @param {any} tx  @param {Map<string, Changes>} coming @returns {Promise<Weighed[]>}
 */
export async function weigh(tx, coming) {
  const [records, changes] = [tx.objectStore('records'), tx.objectStore('changes')];
  const known = coming.size > many ? new Set((await records.getAllKeys()).map((/** @type {string[]} */ key) => key.join(' '))) : null;
  const asked = [...coming].filter(([key]) => !known || known.has(key)).map(([, { kind, id }]) => [kind, id]);
  const there = new Map((await getMany(records, asked)).filter(Boolean).map((rec) => /** @type {[string, Rec]} */ ([recordKey(rec), rec])));
  const earlier = new Map((await getMany(changes, [...there.values()].map(({ kind, id }) => [kind, id]))).filter(Boolean).map((row) => /** @type {[string, Changes]} */ ([recordKey(row), row])));
  return [...coming].map(([key, { kind, id, list }]) => {
    const rec = there.get(key);
    const here = rec ? changesOf(rec, earlier.get(key)) : [];
    const stamps = new Map(here.map((change) => [stampKey(change), change]));
    /** @type {Weighed} */
    const one = { kind, id, rec, here, came: list, fresh: [], clash: [] };
    for (const change of list) {
      const ours = stamps.get(stampKey(change));
      if (!ours) { stamps.set(stampKey(change), change); one.fresh.push(change); }
      else if (!same(ours[3], change[3]) || String(ours[4]) !== String(change[4])) one.clash.push({ theirs: change, ours });
    }
    return one;
  });
}

/** The changes of a record with those that are new; under a stamp that stood for something else, what came stands. @param {Weighed} one @returns {Packed[]} */
function listOf({ here, fresh, clash }) {
  if (!here.length) return fresh;
  const theirs = new Map(clash.map((one) => [one.ours, one.theirs]));
  return [...here.map((change) => theirs.get(change) ?? change), ...fresh];
}

/** The fields of a record for which something comes, each with all its changes. @param {Weighed} one  @returns {Asked[]} */
function fieldsOf(one) {
  const { kind, id, fresh, came, clash } = one;
  if (!fresh.length && !clash.length) return [];
  /** @type {Map<string, Packed[]>} */
  const fields = new Map();
  for (const [field] of fresh) fields.set(field, []);
  for (const { theirs } of clash) fields.set(theirs[0], []);
  for (const change of listOf(one)) fields.get(change[0])?.push(change);
  return [...fields].map(([field, list]) => ({ key: list.length > 1 ? `${kind} ${id} ${list.map(stampKey).sort().join(' ')}` : '', kind, id, field, list, came }));
}

/** Those fields whose changes are more than one, and for which there is no answer yet. @param {Weighed[]} weighed  @param {Map<string, State>} answers @returns {Asked[]} */
export const toAsk = (weighed, answers) => weighed.flatMap((one) => fieldsOf(one).filter(({ list, key }) => list.length > 1 && !answers.has(key)));

/**
 * Asks the engine's side, a few thousand changes at a time, every field whole, and puts what it says to the answers.
 * @param {Asked[]} asked  @param {Map<string, State>} answers
 */
export async function askAll(asked, answers) {
  for (let i = 0; i < asked.length;) {
    let n = 0;
    const from = i;
    while (i < asked.length && n < 4000) n += asked[i++].list.length;
    const some = asked.slice(from, i);
    const changes = some.flatMap(({ kind, id, field, list }) => list.map(([, counter, device, value, base]) => ({ kind, id, field, value, stamp: [counter, device], base })));
    const keys = new Map(some.map(({ key, kind, id, field }) => [`${kind} ${id} ${field}`, key]));
    const answer = await call(/** @type {any} */ ('merge'), /** @type {any} */ ({ changes }), 180_000);
    for (const { kind, id, field, value, stamp, base, apart } of /** @type {any} */ (answer).fields) {
      answers.set(String(keys.get(`${kind} ${id} ${field}`)), { value, stamp, base, apart: (apart ?? []).map((/** @type {any} */ one) => [one.value, one.stamp]) });
    }
  }
}

/**
 * The same for what home says: there is no refusing it. Where it cannot stand beside what is here, since one fact was written
 * twice, what home says holds; ours stays among the changes.
 * @param {Asked[]} asked  @param {Map<string, State>} answers
 */
export async function askOfHome(asked, answers) {
  try {
    await askAll(asked, answers);
  } catch (error) {
    if (!(error instanceof Trouble) || !error.code.startsWith('change-')) throw error;
    for (const one of asked) {
      if (answers.has(one.key)) continue;
      try { await askAll([one], answers); } catch (refusal) {
        if (!(refusal instanceof Trouble) || !refusal.code.startsWith('change-')) throw refusal;
        answers.set(one.key, stateOf(one.came.find(([field]) => field === one.field) ?? one.list[0]));
      }
    }
  }
}

/**
 * Writes down what was weighed, in the same transaction.
 * @param {import('./store.js').WriteTx} tx  @param {Weighed[]} weighed  @param {Map<string, State>} answers to every field of `toAsk`
 * @param {{outbox: Outbox, send: boolean, far?: (share: number) => void}} more  whether what is new here is to be sent home too
 * @returns {Promise<{projects: Set<string>, kinds: Set<string>}>}
 */
export async function writeDown(tx, weighed, answers, { outbox, send, far = () => {} }) {
  const records = tx.objectStore('records');
  const meta = tx.objectStore('meta');
  const touched = weighed.filter(({ fresh, clash }) => fresh.length || clash.length);
  const projects = new Set(touched.flatMap(({ rec }) => rec?.project ?? []));
  /** @type {Changes[]} */
  const earlier = [];
  const recs = touched.map((one) => {
    const { kind, id, rec = blank(kind, id) } = one;
    let once = !one.here.length;
    for (const { key, field, list } of fieldsOf(one)) {
      put(rec, field, list.length > 1 ? answers.get(key) : stateOf(list[0]));
      if (list.length > 1) once = false;
    }
    if (!once) earlier.push({ kind, id, list: earlierOf(rec, listOf(one)) });
    projects.add(derive(rec).project);
    return rec;
  });
  const rows = earlier.filter(({ list }) => list.length);
  const total = recs.length + rows.length;
  await putMany(records, recs, (n) => far(n / total));
  await putMany(tx.objectStore('changes'), rows, (n) => far((recs.length + n) / total));
  if (send) {
    /** @type {Flat[]} */
    const fresh = [];
    for (const one of touched) for (const change of one.fresh) fresh.push([one.kind, one.id, ...change]);
    await putMany(tx.objectStore('outbox'), outbox.rows(fresh));
  }
  let counter = await meta.get('counter');
  for (const one of touched) for (const change of one.fresh) counter = Math.max(counter, change[1]);
  const writes = together();
  writes.add(meta.put(counter, 'counter'));
  writes.add(shelve(tx, recs));
  await writes.done();
  return { projects, kinds: new Set(touched.map(({ kind }) => kind)) };
}

/** @param {Packed} change @returns {State} */
const stateOf = ([, counter, device, value, base]) => ({ value, stamp: [counter, device], base, apart: [] });

/** @param {Rec} rec  @param {string} field  @param {State | undefined} state */
function put(rec, field, state) {
  if (!state) return fail('unexpected', { message: `no answer for ${field} of ${rec.kind} ${rec.id}` });
  rec.fields[field] = [state.value, state.stamp, state.base];
  if (state.apart.length) rec.apart[field] = state.apart; else delete rec.apart[field];
}

/** Gives this device another id, and remembers the one it had. @param {any} tx  @param {string} id */
export async function takeName(tx, id) {
  const meta = tx.objectStore('meta');
  const [device, before] = await Promise.all([meta.get('device'), meta.get('devices')]);
  const writes = together();
  writes.add(meta.put(id, 'device'));
  writes.add(meta.put([...before ?? [], device], 'devices'));
  await writes.done();
}
