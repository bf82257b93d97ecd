// What was done to an outline, step by step, so that it can be undone and done again without end, also after the browser was killed.
// Each step is the least that turned one state into the next; the state is what the steps make of an empty picture.
import { flat, nothingDrawn, unflat } from './rings.js';

/**
 * @typedef {import('./rings.js').Drawn} Drawn  @typedef {import('./rings.js').Point} Point
 * @typedef {[number, number[], number[]]} Stretch            from point, the numbers taken out, those put in
 * @typedef {[number, number[][], number[][]]} RingsStretch   from ring, the rings taken out, those put in
 * @typedef {[RingsStretch | 0, [number, ...Stretch] | 0, Stretch | 0]} Step   rings exchanged; or a stretch of one ring; and a stretch of the open line
 * @typedef {{steps: Step[], at: number, floor: number, now: Drawn}} Journal  `floor`: what was kept already, below which nothing is undone
 */

/** How much of two lists is the same, from the front and from the back. @param {readonly any[]} a  @param {readonly any[]} b  @param {(x: any, y: any) => boolean} same */
function alike(a, b, same) {
  const most = Math.min(a.length, b.length);
  let front = 0;
  while (front < most && same(a[front], b[front])) front++;
  let back = 0;
  while (back < most - front && same(a[a.length - 1 - back], b[b.length - 1 - back])) back++;
  return { front, back };
}

const samePoint = (/** @type {Point} */ a, /** @type {Point} */ b) => a[0] === b[0] && a[1] === b[1];
const sameRing = (/** @type {Point[]} */ a, /** @type {Point[]} */ b) => a === b || (a.length === b.length && a.every((at, i) => samePoint(at, b[i])));

/** @param {Point[]} before  @param {Point[]} after @returns {Stretch | 0} */
function stretch(before, after) {
  if (sameRing(before, after)) return 0;
  const { front, back } = alike(before, after, samePoint);
  return [front, flat(before.slice(front, before.length - back)), flat(after.slice(front, after.length - back))];
}

/** The least that turns one state into the other, or null when they are the same. @param {Drawn} before  @param {Drawn} after @returns {Step | null} */
export function stepBetween(before, after) {
  const open = stretch(before.open, after.open);
  const { front, back } = alike(before.rings, after.rings, sameRing);
  const [out, into] = [before.rings.slice(front, before.rings.length - back), after.rings.slice(front, after.rings.length - back)];
  if (!out.length && !into.length) return open ? [0, 0, open] : null;
  const one = out.length === 1 && into.length === 1 ? stretch(out[0], into[0]) : 0;
  return one ? [0, [front, ...one], open] : [[front, out.map(flat), into.map(flat)], 0, open];
}

/** @param {Point[]} line  @param {Stretch} what  @param {boolean} back @returns {Point[]} */
function changed(line, [from, out, into], back) {
  const [goes, comes] = back ? [into, out] : [out, into];
  return line.toSpliced(from, goes.length >> 1, ...unflat(comes));
}

/** @param {Drawn} drawn  @param {Step} step  @param {boolean} [back] undone instead of done @returns {Drawn} */
export function stepped({ rings, open }, [whole, part, line], back = false) {
  let now = rings;
  if (whole) now = now.toSpliced(whole[0], whole[back ? 2 : 1].length, ...whole[back ? 1 : 2].map(unflat));
  if (part) now = now.with(part[0], changed(now[part[0]], [part[1], part[2], part[3]], back));
  return { rings: now, open: line ? changed(open, line, back) : open };
}

/** A journal that begins with what was kept already. @param {Drawn} [kept] @returns {Journal} */
export function begin(kept = nothingDrawn) {
  const first = stepBetween(nothingDrawn, kept);
  return first ? { steps: [first], at: 1, floor: 1, now: stepped(nothingDrawn, first) } : { steps: [], at: 0, floor: 0, now: nothingDrawn };
}

/** One step more; what had been undone is gone then. @param {Journal} journal  @param {Drawn} next @returns {Journal} */
export function done(journal, next) {
  const step = stepBetween(journal.now, next);
  if (!step) return journal;
  return { ...journal, steps: [...journal.steps.slice(0, journal.at), step], at: journal.at + 1, now: stepped(journal.now, step) };
}

export const canUndo = (/** @type {Journal} */ journal) => journal.at > journal.floor;
export const canRedo = (/** @type {Journal} */ journal) => journal.at < journal.steps.length;

/** @param {Journal} journal @returns {Journal} */
export const undo = (journal) => (canUndo(journal) ? { ...journal, at: journal.at - 1, now: stepped(journal.now, journal.steps[journal.at - 1], true) } : journal);
/** @param {Journal} journal @returns {Journal} */
export const redo = (journal) => (canRedo(journal) ? { ...journal, at: journal.at + 1, now: stepped(journal.now, journal.steps[journal.at]) } : journal);

/** Drafts are small, so that a journal is kept as several; only what was added last has to be written again. */
const PIECE = 12_000;

/** @param {Journal} journal @returns {string[]} */
export function toPieces({ steps }) {
  const text = steps.map((step) => `${JSON.stringify(step)};`).join('');
  return Array.from({ length: Math.ceil(text.length / PIECE) }, (_, i) => text.slice(i * PIECE, (i + 1) * PIECE));
}

/** As far as it can be read: a piece that was not written any more takes only the last steps with it. @param {string[]} pieces  @param {{at: number, floor: number}} head @returns {Journal} */
export function fromPieces(pieces, { at, floor }) {
  /** @type {Step[]} */
  const steps = [];
  for (const text of pieces.join('').split(';').slice(0, -1)) {
    try { steps.push(JSON.parse(text)); } catch { break; }
  }
  const upTo = Math.max(0, Math.min(at, steps.length));
  return { steps, at: upTo, floor: Math.min(floor, upTo), now: steps.slice(0, upTo).reduce((now, step) => stepped(now, step), nothingDrawn) };
}
