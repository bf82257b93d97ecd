// What is between this device's store and home: what home does not have yet, and what home says, kept.
import { same } from './change.js';
import { fail } from './codes.js';
import { changed } from './events.js';
import { newId, today } from './ids.js';
import { askOfHome, byRecord, takeName, toAsk, weigh, writeDown } from './merge.js';
import { nowWaiting, numbered, numbers, putRows, refill, rowsIn, rowsUpTo, takeOut } from './rows.js';
import { changesOf, read, together, write } from './store.js';

export { onWaiting } from './rows.js';

/**
 * @typedef {import('./store.js').Flat} Flat
 * @typedef {import('./store.js').Packed} Packed
 * @typedef {import('./store.js').Changes} Changes
 * @typedef {import('./merge.js').Weighed} Weighed
 * @typedef {import('./merge.js').State} State
 * @typedef {import('./merge.js').Asked} Asked
 * What is to be kept in one transaction.
 * @typedef {object} Keep
 * @property {string} epoch            if not '', the epoch that home is known by from now on
 * @property {boolean} again           every change there is goes to the outbox, in place of what is there
 * @property {Flat[]} changes          to be put beside those here; some may be known
 * @property {number} seen             all that home's log holds up to this number is here then
 * @property {number} acked            rows of the outbox up to this number leave it; 0 for none
 * @property {[number, string][]} refused  of those, the ones that home did not take, and why
 * @property {{epoch: string, seen: number}} [under]  what this was made in the knowledge of: if the store no longer says so, nothing is done
 * A change that home did not take. It stays here.
 * `offered` while it is in the outbox once more.
 * @typedef {{kind: string, id: string, field: string, counter: number, device: string, code: string, offered?: true}} Refused
 */

/** What home has to know of this store, at one moment. @returns {Promise<{device: string, epoch: string, seen: number, waiting: number}>} */
export async function homeState() {
  return read(['meta'], async (tx) => {
    const meta = tx.objectStore('meta');
    const [device, epoch, seen, waiting] = await Promise.all([meta.get('device'), meta.get('epoch'), meta.get('seen'), meta.get('waiting')]);
    return { device, epoch: epoch ?? '', seen: seen ?? 0, waiting: waiting ?? 0 };
  });
}

/** What home did not take, and why. @returns {Promise<Refused[]>} */
export const refusedByHome = async () => await read(['meta'], (tx) => tx.objectStore('meta').get('refused')) ?? [];

/**
 * Puts what an older program at home did not know once more into the outbox, once a day at most: it may have been renewed since.
 * @param {{day?: string}} [when] @returns {Promise<number>} how many changes
 */
export async function offerAgain({ day = today() } = {}) {
  if (!(await refusedByHome()).length) return 0;
  const { n, waiting } = await write(['records', 'changes', 'outbox', 'meta'], async (tx) => {
    const meta = tx.objectStore('meta');
    const [refused, offered, outbox] = await Promise.all([meta.get('refused'), meta.get('offered'), numbers(tx)]);
    if (offered === day) return { n: 0, waiting: 0 };
    const all = await Promise.all(/** @type {Refused[]} */ (refused ?? []).map(async (one) => ({ one, flat: one.offered || !curable.has(one.code) ? null : await flatOf(tx, one) })));
    const flats = all.flatMap(({ flat }) => (flat ? [flat] : []));
    await putRows(tx, outbox, flats);
    const writes = together();
    writes.add(meta.put(all.map(({ one, flat }) => (flat ? { ...one, offered: true } : one)), 'refused'));
    writes.add(meta.put(day, 'offered'));
    writes.add(outbox.done());
    await writes.done();
    return { n: flats.length, waiting: outbox.waiting };
  });
  if (n) nowWaiting(waiting);
  return n;
}

/** Why a newer program might take it. */
const curable = new Set(['change-kind', 'change-field', 'change-value']);

/** A change that was refused, as it is kept. @param {any} tx  @param {Refused} of @returns {Promise<Flat | null>} */
async function flatOf(tx, { kind, id, field, counter, device }) {
  const [rec, row] = await Promise.all([tx.objectStore('records').get([kind, id]), tx.objectStore('changes').get([kind, id])]);
  const change = changesOf(rec, row).find(([name, n, by]) => name === field && n === counter && by === device);
  return change ? [kind, id, ...change] : null;
}

/** Rows of the outbox after a number, at one moment, in order. @param {number} after  @param {number} most @returns {Promise<{rows: [number, ...Flat][]}>} */
export const rowsAfter = async (after, most) => ({ rows: await read(['outbox'], (tx) => rowsIn(tx, after, most)) });

/**
 * Does what home caused, all of it or nothing; what is entered here at the same time is put beside it.
 * @param {Keep} keep @returns {Promise<{waiting: number, device: string}>} how many changes are in the outbox now, and this device's id, which may have become another
 */
export async function applyKeep(keep) {
  /** @type {Map<string, State>} */
  const answers = new Map();
  const another = newId();
  for (let attempt = 0; attempt < 100; attempt++) {
    const done = await write(['records', 'changes', 'outbox', 'pictures', 'meta'], (tx) => keepIn(tx, keep, answers, another));
    // What a field says that was changed more than once is asked between transactions, since none waits for the engine. If more
    // of its changes came meanwhile, it is asked again.
    if (done.asked.length) { await askOfHome(done.asked, answers); continue; }
    if (done.kinds.size) changed(done.projects, done.kinds);
    if (done.more) nowWaiting(done.waiting);
    return { waiting: done.waiting, device: done.device };
  }
  return fail('unexpected', { message: 'the store changed again and again while it took in what home said' });
}

/** @param {import('./store.js').WriteTx} tx  @param {Keep} keep  @param {Map<string, State>} answers  @param {string} another an id, if this device needs a new one */
async function keepIn(tx, keep, answers, another) {
  const meta = tx.objectStore('meta');
  const [outbox, device, counter, leaving, refusedBefore] = await Promise.all([numbers(tx), meta.get('device'), meta.get('counter'), rowsUpTo(tx, keep.acked), meta.get('refused')]);
  if (keep.under && ((await meta.get('epoch') ?? '') !== keep.under.epoch || (await meta.get('seen') ?? 0) < keep.under.seen)) fail('link-stale');
  const codes = new Map(keep.refused);
  const out = codes.size || refusedBefore?.length ? numbered(leaving, keep.acked) : [];
  const twice = out.filter(([n]) => codes.get(n) === 'change-same-stamp');
  const weighed = await weigh(tx, comingOf(keep.changes, twice));
  // A change that bears this device's id and is not known here, or says something else: this store went back to an older state, and
  // the stamps it gives are given already.
  const own = isOurs(weighed, device) || twice.some((row) => row[5] === device) ? another : device;
  const anew = madeAnew(weighed, twice, counter, own);
  const asked = toAsk(weighed, answers);
  if (asked.length) return { asked, projects: new Set(), kinds: new Set(), waiting: 0, more: false, device };
  const { projects, kinds } = await writeDown(tx, weighed, answers, { outbox, send: false });
  await takeOut(tx, leaving, keep.acked, outbox);
  await putRows(tx, outbox, anew);
  if (keep.again) await Promise.all([refill(tx, outbox), notHome(tx)]);
  if (own !== device) await takeName(tx, own);
  const writes = together();
  if (keep.epoch) writes.add(meta.put(keep.epoch, 'epoch'));
  if (out.length || keep.again) writes.add(meta.put(refusedNow(keep.again ? [] : refusedBefore ?? [], out, codes), 'refused'));
  writes.add(meta.put(keep.seen, 'seen'));
  writes.add(outbox.done());
  await writes.done();
  return { asked, projects, kinds, waiting: outbox.waiting, more: anew.length > 0, device: own };
}

/** A home that was restored may have no pictures. @param {any} tx */
async function notHome(tx) {
  const pictures = tx.objectStore('pictures');
  const all = await pictures.getAll();
  const writes = together();
  for (const picture of all) writes.add(pictures.put({ ...picture, home: 0 }));
  await writes.done();
}

/** What came, by record, and those records of which a change must be made anew. @param {Flat[]} changes  @param {[number, ...Flat][]} twice */
function comingOf(changes, twice) {
  const coming = byRecord(changes);
  for (const [, kind, id] of twice) if (!coming.has(`${kind} ${id}`)) coming.set(`${kind} ${id}`, { kind, id, list: [] });
  return coming;
}

/** @param {Weighed[]} weighed  @param {string} device */
const isOurs = (weighed, device) => weighed.some(({ fresh, clash }) => fresh.some((change) => change[2] === device) || clash.some(({ ours }) => ours[2] === device));

/**
 * Home has another change under a stamp that was given here: what ours says gets a new stamp, unless it has one already.
 * @param {Weighed[]} weighed  takes them up  @param {[number, ...Flat][]} twice  @param {number} counter  @param {string} device @returns {Flat[]}
 */
function madeAnew(weighed, twice, counter, device) {
  const records = new Map(weighed.map((one) => [`${one.kind} ${one.id}`, one]));
  for (const { fresh } of weighed) for (const change of fresh) counter = Math.max(counter, change[1]);
  /** @type {Flat[]} */
  const anew = [];
  /** @param {Weighed} one  @param {Packed} ours */
  const again = (one, [field, , , value, base]) => {
    const says = (/** @type {Packed} */ other) => other[0] === field && same(other[3], value) && String(other[4]) === String(base);
    const all = [...one.here, ...one.fresh].filter(says);
    if (field === 'fact' || all.length > 1) return;
    counter += 1;
    /** @type {Packed} */
    const change = [field, counter, device, value, base];
    one.fresh.push(change);
    anew.push([one.kind, one.id, ...change]);
  };
  for (const one of weighed) for (const { ours } of one.clash) again(one, ours);
  for (const [, kind, id, ...ours] of twice) {
    const one = /** @type {Weighed} */ (records.get(`${kind} ${id}`));
    const stands = one.here.some((change) => same(change, ours)) && !one.clash.some((clash) => same(clash.ours, ours));
    if (stands) again(one, ours);
  }
  return anew;
}

/** @param {Refused[]} before  @param {[number, ...Flat][]} out what left the outbox  @param {Map<number, string>} codes @returns {Refused[]} */
function refusedNow(before, out, codes) {
  const key = (/** @type {string} */ kind, /** @type {string} */ id, /** @type {string} */ field, /** @type {number} */ counter, /** @type {string} */ device) => `${kind} ${id} ${field} ${counter} ${device}`;
  const gone = new Set(out.map(([, kind, id, field, counter, device]) => key(kind, id, field, counter, device)));
  const kept = before.filter((one) => !gone.has(key(one.kind, one.id, one.field, one.counter, one.device)));
  const fresh = out.flatMap(([n, kind, id, field, counter, device]) => {
    const code = codes.get(n);
    return code && code !== 'change-same-stamp' ? [{ kind, id, field, counter, device, code }] : [];
  });
  return [...kept, ...fresh];
}
