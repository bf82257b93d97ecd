// The line under way and all that was done to it, written at once, so that a call, a killed browser or another screen loses nothing.
import { ask } from './ask.js';
import { fromPieces, toPieces } from './journal.js';

/** @typedef {import('./journal.js').Journal} Journal  @typedef {{journal: Journal, name: string}} Work */

/** @param {string} key  @param {(error: unknown) => void} trouble */
export function outlineDraft(key, trouble) {
  const piece = (/** @type {number} */ i) => `${key}:${i}`;
  const put = (/** @type {string} */ at, /** @type {unknown} */ value) => ask('draft', { key: at, value });
  /** What lies on the disk. @type {string[]} */
  let written = [];
  /** What is to lie there: work, or null for none. @type {{work: Work | null} | null} */
  let wanted = null;
  /** @type {Promise<void>} */
  let under = Promise.resolve();

  /** @param {Work | null} work */
  async function write(work) {
    const pieces = work ? toPieces(work.journal) : [];
    for (const [i, text] of pieces.entries()) if (written[i] !== text) await put(piece(i), text);
    await put(key, work && { pieces: pieces.length, at: work.journal.at, floor: work.journal.floor, name: work.name });
    for (let i = pieces.length; i < written.length; i++) await put(piece(i), null);
    written = pieces;
  }

  /** Of what is to be written only the newest, one after the other. @param {Work | null} work @returns {Promise<void>} */
  function want(work) {
    const idle = !wanted;
    wanted = { work };
    if (idle) under = under.then(async () => { const now = wanted; wanted = null; if (now) await write(now.work); }).catch(trouble);
    return under;
  }

  return {
    key,
    save: want,
    drop: () => want(null),
    /** @returns {Promise<Work | null>} */
    async read() {
      const head = await ask('drafts', { key });
      if (!head) return null;
      const read = await Promise.all(Array.from({ length: head.pieces }, (_, i) => ask('drafts', { key: piece(i) })));
      written = read.map((text) => text ?? '');
      return { journal: fromPieces(written, head), name: String(head.name ?? '') };
    },
  };
}
