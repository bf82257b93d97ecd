// The store on this device: opening it, one transaction at a time, and what happens when it is full, blocked or dies.
import { openDB, unwrap } from '../lib/idb.js';
import { Trouble, fail } from './codes.js';
import { newId } from './ids.js';

/**
 * A stamp: how many changes had been seen, and whose device made this one.
 * @typedef {[number, string]} Stamp
 * A field as it stands: its value, the stamp of the change that gave it, and the stamp that change saw there.
 * @typedef {[any, Stamp, Stamp | null]} Field
 * A record as it stands. `project` is '' for a loose one; `gone` is 1 when binned or struck; `apart` holds the
 * answers made apart, none of which says what the field says. Few have `shelf`: 'bin' for what lies in the bin, 'loose' for
 * a sitting without a project; so that those are found by an index which costs the others nothing.
 * @typedef {{kind: string, id: string, project: string, gone: 0 | 1, shelf?: 'bin' | 'loose', fields: Record<string, Field>, apart: Record<string, [any, Stamp][]>}} Rec
 * A change of a record, as it is kept with the record's others: field, counter, device, value, base.
 * @typedef {[string, number, string, any, Stamp | null]} Packed
 * Changes of one record. As they are kept, only those that its fields do not tell: a field as it stands is the change that made it so,
 * and most are never changed again.
 * @typedef {{kind: string, id: string, list: Packed[]}} Changes
 * A change by itself: kind, id, field, counter, device, value, base.
 * @typedef {[string, string, string, number, string, any, Stamp | null]} Flat
 * Changes that home does not have yet, as one transaction made them; they bear the numbers n, n+1, ...
 * @typedef {{n: number, changes: Flat[]}} Row
 * What is known of a picture that is here, whose bytes lie under the same key in a part of their own, so that nothing of this needs
 * to read or write those. `home` is 1 when home has it; `used` is the day it was last looked at.
 * @typedef {{hash: string, size: number, type: string, thumb: 0 | 1, home: 0 | 1, used: string}} Picture
 * @typedef {'records' | 'changes' | 'outbox' | 'pictures' | 'bytes' | 'meta' | 'drafts'} Part
 * @typedef {import('../lib/idb.js').IDBPDatabase<any>} Db
 * @typedef {import('../lib/idb.js').IDBPTransaction<any, Part[], 'readonly' | 'readwrite'>} Tx
 * @typedef {import('../lib/idb.js').IDBPTransaction<any, Part[], 'readwrite'>} WriteTx
 */

const version = 2;
/** How many changes one row of the outbox holds at most. */
export const rowSize = 500;
let name = 'needlesight';
/** @type {Promise<Db> | null} */
let opening = null;
/** @type {(event: string, data: unknown) => void} */
let tell = () => {};

/** Where troubles that belong to no request are told. @param {typeof tell} listener */
export function onStoreEvent(listener) { tell = listener; }

/** Another database, for tests. @param {string} other */
export async function useDatabase(other) {
  await close();
  name = other;
}

/** Lets go of the store; the next transaction opens it again. */
export async function close() {
  const was = opening;
  opening = null;
  try { (await was)?.close(); } catch { /* it never opened */ }
}

/** @returns {Promise<Db>} */
function open() {
  if (!opening) {
    opening = openOnce();
    opening.catch(() => { opening = null; });
  }
  return opening;
}

async function openOnce() {
  if (typeof indexedDB === 'undefined' || !indexedDB) fail('store-none');
  /** @type {any} */
  let upgrading = null;
  try {
    return await openDB(name, version, {
      upgrade: (db, from, _to, tx) => {
        upgrading = tx;
        tx.done.catch(() => {}); // that it failed is told by the opening
        upgrade(db, from, tx);
      },
      blocked: () => tell('trouble', { code: 'store-blocked', text: '', at: '', params: {} }),
      // Another tab wants to change the store, or the person clears it: let go, and open again when next asked.
      blocking: () => { close(); },
      terminated: () => { opening = null; },
    });
  } catch (error) {
    throw asTrouble(upgrading?.error) ?? asTrouble(error) ?? new Trouble(upgrading ? 'store-gone' : 'store-none', { cause: error });
  }
}

/** @param {Db} db  @param {number} from  @param {any} tx */
async function upgrade(db, from, tx) {
  try {
    if (from < 1) firstStore(db, tx);
    if (from === 1) await fewerIndexes(tx.objectStore('records'));
    if (from === 1) tx.objectStore('changes').name = 'changes 1';
    if (from < 2) {
      db.createObjectStore('changes', { keyPath: ['kind', 'id'] });
      if (from === 1) db.deleteObjectStore('outbox');
      db.createObjectStore('outbox', { keyPath: 'n' });
      db.createObjectStore('pictures', { keyPath: 'hash' });
      db.createObjectStore('bytes');
      if (from === 1) await pack(tx.objectStore('changes 1'), tx);
      if (from === 1) db.deleteObjectStore('changes 1');
    }
  } catch (error) {
    // Then the store stays as it was, and the next opening tries again.
    try { tx.abort(); } catch { /* it failed by itself */ }
  }
}

/** @param {Db} db  @param {any} tx */
function firstStore(db, tx) {
  const records = db.createObjectStore('records', { keyPath: ['kind', 'id'] });
  records.createIndex('project', 'project');
  records.createIndex('shelf', 'shelf');
  db.createObjectStore('meta');
  db.createObjectStore('drafts');
  // Made with the store itself, so that two tabs at once cannot each make one.
  tx.objectStore('meta').put(newId(), 'device');
  tx.objectStore('meta').put(0, 'counter');
}

/** Each index is written with every record; two of the three were for few of them. @param {any} records */
async function fewerIndexes(records) {
  records.createIndex('shelf', 'shelf');
  const kinds = ['project', 'part', 'place', 'piece'];
  const [loose, ...binned] = await Promise.all([records.index('live').getAll(['', 'sitting', 0]), ...kinds.map((kind) => records.index('kind').getAll([kind, 1]))]);
  const writes = together();
  for (const rec of loose) writes.add(records.put({ ...rec, shelf: 'loose' }));
  for (const rec of binned.flat()) writes.add(records.put({ ...rec, shelf: 'bin' }));
  await writes.done();
  records.deleteIndex('kind');
  records.deleteIndex('live');
}

/**
 * From a row for each change to what the records do not tell. There was no home yet, so that every change belongs into the outbox.
 * @param {any} old  @param {any} tx
 */
async function pack(old, tx) {
  const outbox = tx.objectStore('outbox');
  let row = 0;
  /** @type {Flat[]} */
  let waiting = [];
  const flush = () => { const changes = waiting; waiting = []; row += changes.length; return outbox.put({ n: row - changes.length + 1, changes }); };
  /** @type {Map<string, Changes>} */
  let records = new Map();
  for (let from = null, over = false; !over;) {
    const some = await old.getAll(from, 2000);
    over = some.length < 2000;
    const writes = together();
    for (const { kind, id, field, counter, device, value, base } of some) {
      const key = `${kind} ${id}`;
      if (!records.has(key)) records.set(key, { kind, id, list: [] });
      records.get(key)?.list.push([field, counter, device, value, base]);
      waiting.push([kind, id, field, counter, device, value, base]);
      if (waiting.length === rowSize) writes.add(flush());
    }
    // The last record may go on in the next lot.
    const last = over ? undefined : [...records.keys()].at(-1);
    const whole = [...records].filter(([key]) => key !== last);
    records = new Map([...records].filter(([key]) => key === last));
    await Promise.all(whole.map(async ([, { kind, id, list }]) => {
      const earlier = earlierOf(await tx.objectStore('records').get([kind, id]), list);
      if (earlier.length) writes.add(tx.objectStore('changes').put({ kind, id, list: earlier }));
    }));
    await writes.done();
    if (!over) from = /** @type {any} */ (IDBKeyRange.lowerBound(['kind', 'id', 'field', 'counter', 'device'].map((part) => some.at(-1)[part]), true));
  }
  const writes = together();
  if (waiting.length) writes.add(flush());
  writes.add(tx.objectStore('meta').put(row, 'row'));
  writes.add(tx.objectStore('meta').put(row, 'waiting'));
  await writes.done();
}

/** Those changes of a record that its fields do not tell. @param {Rec | undefined} rec  @param {Packed[]} list @returns {Packed[]} */
export function earlierOf(rec, list) {
  return list.filter(([field, counter, device]) => {
    const stamp = rec?.fields[field]?.[1];
    return !stamp || stamp[0] !== counter || stamp[1] !== device;
  });
}

/** Every change there is of a record. @param {Rec | undefined} rec  @param {Changes | undefined} earlier @returns {Packed[]} */
export function changesOf(rec, earlier) {
  const list = earlier ? [...earlier.list] : [];
  for (const [field, [value, [counter, device], base]] of Object.entries(rec?.fields ?? {})) list.push([field, counter, device, value, base]);
  return list;
}

/** Every change there is, record by record, in bites. @param {any} tx  @param {(some: Changes[]) => Promise<unknown> | void} eat */
export async function everyChange(tx, eat) {
  let range = null;
  for (;;) {
    /** @type {Rec[]} */
    const recs = await tx.objectStore('records').getAll(range, 1000);
    const [first, last] = [recs[0], recs.at(-1)];
    if (!first || !last) return;
    const rows = await tx.objectStore('changes').getAll(IDBKeyRange.bound([first.kind, first.id], [last.kind, last.id]));
    const earlier = new Map(rows.map((/** @type {Changes} */ row) => [`${row.kind} ${row.id}`, row]));
    await eat(recs.map((rec) => ({ kind: rec.kind, id: rec.id, list: changesOf(rec, earlier.get(`${rec.kind} ${rec.id}`)) })));
    if (recs.length < 1000) return;
    range = IDBKeyRange.lowerBound([last.kind, last.id], true);
  }
}

/** What a DOMException means to a person, or null. @param {unknown} error */
function asTrouble(error) {
  if (error instanceof Trouble) return error;
  const name = /** @type {{name?: string}} */ (error)?.name;
  if (name === 'QuotaExceededError') return new Trouble('store-full', { cause: error });
  if (name === 'VersionError') return new Trouble('store-newer', { cause: error });
  return null;
}

/** Whether opening the store again may help. @param {unknown} error */
function died(error) {
  return ['InvalidStateError', 'AbortError', 'UnknownError', 'NotFoundError', 'TransactionInactiveError'].includes(/** @type {{name?: string}} */ (error)?.name ?? '');
}

/**
 * One transaction: all of it or none of it. If the store died under it, the store is opened again and it is tried once more,
 * so `work` may run twice and must not do anything but read and write the store.
 * @template T
 * @param {Part[]} parts  @param {'readonly' | 'readwrite'} mode  @param {'strict' | 'relaxed'} durability
 * @param {(tx: any) => Promise<T>} work  @returns {Promise<T>}
 */
async function transact(parts, mode, durability, work) {
  try {
    return await once(parts, mode, durability, work);
  } catch (error) {
    const known = asTrouble(error);
    if (known) throw known;
    if (!died(error)) throw error;
    await close();
    try {
      return await once(parts, mode, durability, work);
    } catch (again) {
      throw asTrouble(again) ?? (died(again) ? new Trouble('store-gone', { cause: again }) : again);
    }
  }
}

/** @template T @param {Part[]} parts  @param {'readonly' | 'readwrite'} mode  @param {'strict' | 'relaxed'} durability  @param {(tx: any) => Promise<T>} work */
async function once(parts, mode, durability, work) {
  const db = await open();
  const tx = db.transaction(parts, mode, { durability });
  const done = tx.done.catch((error) => { throw tx.error ?? error; });
  done.catch(() => {});
  let result;
  try {
    result = await work(tx);
  } catch (error) {
    try { tx.abort(); } catch { /* already over */ }
    await done.catch(() => {});
    // The transaction's own reason (no room left, say) says more than the request that it took down.
    throw error instanceof Trouble ? error : tx.error ?? error;
  }
  await done;
  return result;
}

/** Reads, at one moment. @template T @param {Part[]} parts  @param {(tx: Tx) => Promise<T>} work @returns {Promise<T>} */
export const read = (parts, work) => transact(parts, 'readonly', 'relaxed', work);

/** Writes, and returns only when it is on the disk. @template T @param {Part[]} parts  @param {(tx: WriteTx) => Promise<T>} work @returns {Promise<T>} */
export const write = (parts, work) => transact(parts, 'readwrite', 'strict', work);

/** Writes what may be lost with the battery but not with the tab. @template T @param {Part[]} parts  @param {(tx: WriteTx) => Promise<T>} work @returns {Promise<T>} */
export const jot = (parts, work) => transact(parts, 'readwrite', 'relaxed', work);

/** Many requests of one transaction, waited for together; one that fails is heard when they are, not before. */
export function together() {
  /** @type {Promise<unknown>[]} */
  const requests = [];
  return {
    add: (/** @type {Promise<unknown>} */ request) => { request.catch(() => {}); requests.push(request); },
    done: () => Promise.all(requests),
  };
}

/**
 * Writes very many values, some thousands under way at a time, and says how far it is. That one cannot be written is heard when
 * the next of them are waited for, or from the transaction itself.
 * @param {any} store  @param {Iterable<any>} values  @param {(written: number) => void} [far]
 */
export async function putMany(store, values, far = () => {}) {
  const bare = /** @type {IDBObjectStore} */ (/** @type {unknown} */ (unwrap(store)));
  let n = 0;
  for (const value of values) {
    const request = bare.put(value);
    if (++n % 2000) continue;
    await new Promise((done, failed) => { request.onsuccess = done; request.onerror = () => failed(request.error); });
    far(n);
  }
}

/** Many values by their keys, in that order, in half the time that as many promises would take. @param {any} store  @param {IDBValidKey[]} keys @returns {Promise<any[]>} */
export function getMany(store, keys) {
  const bare = /** @type {IDBObjectStore} */ (/** @type {unknown} */ (unwrap(store)));
  return new Promise((done, failed) => {
    const requests = keys.map((key) => bare.get(key));
    const last = requests.at(-1);
    if (!last) return done([]);
    for (const request of requests) request.onerror = () => failed(request.error);
    last.onsuccess = () => done(requests.map((request) => request.result));
  });
}

/** Every record of a project, itself too. @param {string} project @returns {Promise<Rec[]>} */
export const ofProject = (project) => read(['records'], (tx) => tx.objectStore('records').index('project').getAll(project));

/** One record, or a fault. @param {string} kind  @param {string} id @returns {Promise<Rec>} */
export async function record(kind, id) {
  return await read(['records'], (tx) => tx.objectStore('records').get([kind, String(id)])) ?? fail('no-such-record', { kind, id });
}
