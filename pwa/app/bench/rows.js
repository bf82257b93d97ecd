// The outbox: changes that home does not have yet, numbered upwards in the order in which they were put there.
import { everyChange, rowSize, together } from './store.js';

/**
 * @typedef {import('./store.js').Flat} Flat
 * @typedef {import('./store.js').Row} Row
 */

/** @type {(waiting: number) => void} */
let listener = () => {};

/** Who brings changes home hears when there are more, and how many in all. @param {typeof listener} f */
export function onWaiting(f) { listener = f; }

/** To be told when a transaction that put something in the outbox is on the disk. @param {number} waiting */
export function nowWaiting(waiting) { listener(waiting); }

/**
 * The numbers of the outbox in a transaction: take them with `numbers`, put changes in, take some out, and write the numbers back.
 * @typedef {object} Outbox
 * @property {number} waiting  how many changes are in it
 * @property {(changes: Flat[]) => Row[]} rows  changes as rows to be put
 * @property {() => Promise<unknown>} done     writes the numbers
 */

/** @param {any} tx @returns {Promise<Outbox>} */
export async function numbers(tx) {
  const meta = tx.objectStore('meta');
  let [row, waiting] = await Promise.all([meta.get('row'), meta.get('waiting')]).then((all) => all.map((n) => n ?? 0));
  return {
    get waiting() { return waiting; },
    set waiting(n) { waiting = n; },
    rows(changes) {
      /** @type {Row[]} */
      const rows = [];
      for (let i = 0; i < changes.length; i += rowSize) {
        rows.push({ n: row + 1, changes: changes.slice(i, i + rowSize) });
        row += Math.min(rowSize, changes.length - i);
      }
      waiting += changes.length;
      return rows;
    },
    done() {
      const writes = together();
      writes.add(meta.put(row, 'row'));
      writes.add(meta.put(waiting, 'waiting'));
      return writes.done();
    },
  };
}

/**
 * Rows after a number, the first of them first, as they stand.
 * @param {any} tx  @param {number} after  @param {number} most @returns {Promise<[number, ...Flat][]>}
 */
export async function rowsIn(tx, after, most) {
  const outbox = tx.objectStore('outbox');
  /** @type {[number, ...Flat][]} */
  const found = [];
  // The row that holds the first of them may have begun before it.
  const begun = (await outbox.getAllKeys(IDBKeyRange.bound(after + 2 - rowSize, after + 1))).at(-1) ?? after + 1;
  let range = IDBKeyRange.lowerBound(begun);
  for (let some = 8; found.length < most;) {
    /** @type {Row[]} */
    const rows = await outbox.getAll(range, some);
    for (const { n, changes } of rows) {
      for (let i = Math.max(0, after + 1 - n); i < changes.length && found.length < most; i++) found.push([n + i, ...changes[i]]);
    }
    if (rows.length < some) break;
    range = IDBKeyRange.lowerBound(/** @type {Row} */ (rows.at(-1)).n, true);
    // As many as hold what is still wanted, if they are like those before.
    some = Math.max(1, Math.min(512, Math.ceil(((most - found.length) * rows.length) / Math.max(1, found.length))));
  }
  return found;
}

/** The rows that hold numbers up to this one. @param {any} tx  @param {number} upTo @returns {Promise<Row[]>} */
export const rowsUpTo = async (tx, upTo) => upTo > 0 ? tx.objectStore('outbox').getAll(IDBKeyRange.upperBound(upTo)) : [];

/** What of these rows bears a number up to this one. @param {Row[]} rows  @param {number} upTo @returns {[number, ...Flat][]} */
export const numbered = (rows, upTo) => rows.flatMap(({ n, changes }) => changes.slice(0, upTo - n + 1).map((change, i) => /** @type {[number, ...Flat]} */ ([n + i, ...change])));

/** Takes out what bears a number up to this one. @param {any} tx  @param {Row[]} rows as rowsUpTo gave them  @param {number} upTo  @param {Outbox} outbox */
export async function takeOut(tx, rows, upTo, outbox) {
  const last = rows.at(-1);
  if (!last) return;
  const store = tx.objectStore('outbox');
  const writes = together();
  writes.add(store.delete(IDBKeyRange.upperBound(upTo)));
  const left = last.changes.slice(upTo - last.n + 1);
  if (left.length) writes.add(store.put({ n: upTo + 1, changes: left }));
  outbox.waiting -= rows.reduce((n, row) => n + row.changes.length, 0) - left.length;
  await writes.done();
}

/** Puts changes in the outbox. @param {any} tx  @param {Outbox} outbox  @param {Flat[]} flats */
export async function putRows(tx, outbox, flats) {
  const writes = together();
  for (const row of outbox.rows(flats)) writes.add(tx.objectStore('outbox').put(row));
  await writes.done();
}

/** Puts every change there is in the outbox, in place of what is there. @param {any} tx  @param {Outbox} outbox */
export async function refill(tx, outbox) {
  await tx.objectStore('outbox').clear();
  outbox.waiting = 0;
  /** @type {Flat[]} */
  let flats = [];
  await everyChange(tx, async (some) => {
    for (const { kind, id, list } of some) for (const change of list) flats.push(/** @type {Flat} */ ([kind, id, ...change]));
    const full = flats.length - (flats.length % rowSize);
    await putRows(tx, outbox, flats.slice(0, full));
    flats = flats.slice(full);
  });
  await putRows(tx, outbox, flats);
}
