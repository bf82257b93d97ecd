// The store on this device: opening it, one transaction at a time, and what happens when it is full, blocked or dies.
import { openDB } from '../lib/idb.js';
import { Trouble, fail } from './codes.js';
import { newId } from './ids.js';

/**
 * A stamp: how many changes had been seen, and whose device made this one.
 * @typedef {[number, string]} Stamp
 * A field as it stands: its value, the stamp of the change that gave it, and the stamp that change saw there.
 * @typedef {[any, Stamp, Stamp | null]} Field
 * A record as it stands. `project` is '' for a loose one; `gone` is 1 when binned or struck; `apart` holds the
 * answers made apart, none of which says what the field says.
 * @typedef {{kind: string, id: string, project: string, gone: 0 | 1, fields: Record<string, Field>, apart: Record<string, [any, Stamp][]>}} Rec
 * One change ever made, as it is kept (its key is kind, id, field, counter, device).
 * @typedef {{kind: string, id: string, field: string, counter: number, device: string, value: any, base: Stamp | null}} Kept
 * @typedef {'records' | 'changes' | 'outbox' | 'meta' | 'drafts'} Part
 * @typedef {import('../lib/idb.js').IDBPDatabase<any>} Db
 * @typedef {import('../lib/idb.js').IDBPTransaction<any, Part[], 'readonly' | 'readwrite'>} Tx
 * @typedef {import('../lib/idb.js').IDBPTransaction<any, Part[], 'readwrite'>} WriteTx
 */

const version = 1;
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
  try {
    return await openDB(name, version, {
      upgrade,
      blocked: () => tell('trouble', { code: 'store-blocked', text: '', at: '', params: {} }),
      // Another tab wants to change the store, or the person clears it: let go, and open again when next asked.
      blocking: () => { close(); },
      terminated: () => { opening = null; },
    });
  } catch (error) {
    throw asTrouble(error) ?? new Trouble('store-none', { cause: error });
  }
}

/** @param {Db} db  @param {number} from  @param {number | null} _to  @param {any} tx */
function upgrade(db, from, _to, tx) {
  if (from < 1) {
    const records = db.createObjectStore('records', { keyPath: ['kind', 'id'] });
    records.createIndex('project', 'project');
    records.createIndex('kind', ['kind', 'gone']);
    records.createIndex('live', ['project', 'kind', 'gone']);
    db.createObjectStore('changes', { keyPath: ['kind', 'id', 'field', 'counter', 'device'] });
    db.createObjectStore('outbox', { autoIncrement: true });
    db.createObjectStore('meta');
    db.createObjectStore('drafts');
    // Made with the store itself, so that two tabs at once cannot each make one.
    tx.objectStore('meta').put(newId(), 'device');
    tx.objectStore('meta').put(0, 'counter');
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

/** Every record of a project, itself too. @param {string} project @returns {Promise<Rec[]>} */
export const ofProject = (project) => read(['records'], (tx) => tx.objectStore('records').index('project').getAll(project));

/** One record, or a fault. @param {string} kind  @param {string} id @returns {Promise<Rec>} */
export async function record(kind, id) {
  return await read(['records'], (tx) => tx.objectStore('records').get([kind, String(id)])) ?? fail('no-such-record', { kind, id });
}
