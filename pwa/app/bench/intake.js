// Taking in the changes of a file: what would come of it, and doing it, all or nothing.
import { fail } from './codes.js';
import { changed, pending } from './events.js';
import { newId } from './ids.js';
import { askAll, byRecord, takeName, toAsk, weigh, writeDown } from './merge.js';
import { nowWaiting, numbers } from './rows.js';
import { read, write } from './store.js';

/**
 * @typedef {import('./store.js').Flat} Flat
 * @typedef {import('./merge.js').Weighed} Weighed
 * @typedef {import('./merge.js').State} State
 * What taking changes in would do, at one moment of the store: of each record what is here and what is new, and what
 * the fields say that are changed more than once.
 * @typedef {{weighed: Weighed[], answers: Map<string, State>, fields: {kind: string, id: string, field: string, state: State}[]}} Outlook
 */

/** What taking these changes in would do. Nothing is written. @param {Flat[]} flats @returns {Promise<Outlook>} */
export async function foresee(flats) {
  const weighed = await read(['records', 'changes'], (tx) => weigh(tx, byRecord(flats)));
  const answers = new Map();
  await refuseClashes(weighed);
  const asked = toAsk(weighed, answers);
  await askAll(asked, answers);
  return { weighed, answers, fields: asked.map(({ key, kind, id, field }) => ({ kind, id, field, state: answers.get(key) })) };
}

/** Two changes under one stamp cannot both be true: the engine's side says which. @param {Weighed[]} weighed */
async function refuseClashes(weighed) {
  const clashes = weighed.flatMap(({ kind, id, clash, came }) => clash.map(({ ours, theirs }) => ({ key: '', kind, id, field: ours[0], list: [ours, theirs], came })));
  if (clashes.length) await askAll(clashes.slice(0, 1), new Map());
}

/**
 * Takes changes in.
 * @param {Flat[]} flats  @param {{far?: (share: number) => void}} [more]  `far` hears how much is written; what it throws stops it all
 * @returns {Promise<{fresh: number}>}
 */
export async function takeIn(flats, { far = () => {} } = {}) {
  const coming = byRecord(flats);
  /** @type {Map<string, State>} */
  const answers = new Map();
  const another = newId();
  pending(true);
  try {
    for (let attempt = 0; attempt < 20; attempt++) {
      const done = await write(['records', 'changes', 'outbox', 'meta'], (tx) => takeInOnce(tx, coming, answers, another, far));
      if (done.clashing) { await refuseClashes(done.clashing); continue; }
      if (done.asked.length) { await askAll(done.asked, answers); continue; } // what was entered meanwhile is looked at too
      if (done.fresh) { changed(done.projects, done.kinds); nowWaiting(done.waiting); }
      return { fresh: done.fresh };
    }
    return fail('unexpected', { message: 'the store changed again and again while a file was taken in' });
  } finally {
    pending(false);
  }
}

/** @param {import('./store.js').WriteTx} tx  @param {ReturnType<typeof byRecord>} coming  @param {Map<string, State>} answers  @param {string} another  @param {(share: number) => void} far */
async function takeInOnce(tx, coming, answers, another, far) {
  const none = { clashing: null, asked: [], fresh: 0, projects: new Set(), kinds: new Set(), waiting: 0 };
  const weighed = await weigh(tx, coming);
  if (weighed.some(({ clash }) => clash.length)) return { ...none, clashing: weighed };
  const asked = toAsk(weighed, answers);
  if (asked.length) return { ...none, asked };
  const fresh = weighed.reduce((n, one) => n + one.fresh.length, 0);
  if (!fresh) return none;
  const outbox = await numbers(tx);
  const { projects, kinds } = await writeDown(tx, weighed, answers, { outbox, send: true, far });
  await outbox.done();
  await renamed(tx, weighed, another);
  return { ...none, fresh, projects, kinds, waiting: outbox.waiting };
}

/** A file that holds changes of this very device which are not known here: the store went back to an older state, and may give a stamp twice. @param {any} tx  @param {Weighed[]} weighed  @param {string} another */
async function renamed(tx, weighed, another) {
  const device = await tx.objectStore('meta').get('device');
  if (weighed.some(({ fresh }) => fresh.some((change) => change[2] === device))) await takeName(tx, another);
}
