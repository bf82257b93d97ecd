// What lies over what, in which measure: mm of the finished size where both pictures have one, else px of the subject's.
import { asPins, onto, times, turned } from './placing.js';
import { boxOf } from './rings.js';

/**
 * @typedef {import('./placing.js').Point} Point  @typedef {import('./placing.js').Place} Place  @typedef {import('./straight.js').Straight} Straight
 * `unit`: of the photo's measure to one px of its image, whose corner is at `origin`; `basis` changes when a place kept before means nothing any more.
 * @typedef {{subject: Point[][], piece: Point[][] | null, unit: number, origin: Point, size: {width: number, height: number}, turn: number, sized: boolean, basis: string}} Plan
 */

/** @param {any} seen as the view 'photo' tells of a piece's picture  @param {string} outline of the subject  @param {Straight | null} straight  @returns {Plan & {outline: any} | null} null when the subject has none */
export function planOf(seen, outline, straight) {
  const subject = seen.subject_outlines.find((/** @type {any} */ one) => one.id === outline) ?? seen.subject_outlines[0];
  if (!subject) return null;
  const sized = Boolean(seen.finished_mm_per_px && subject.finished_mm_per_px);
  const mm = sized ? subject.finished_mm_per_px : 1;
  const common = { outline: subject, sized, subject: times(subject.rings, mm), basis: [subject.id, mm, sized && straight ? 'plane' : 'photo', sized ? seen.finished_mm_per_px : 1].join(' ') };
  if (sized && straight) return { ...common, unit: straight.unit, origin: straight.origin, size: straight, turn: straight.turn, piece: straight.rings };
  const own = seen.outlines.at(-1);
  const unit = sized ? seen.finished_mm_per_px : 1;
  return { ...common, unit, origin: [0, 0], size: seen.picture, turn: 0, piece: own ? times(own.rings, unit) : null };
}

const CLOTH = 0.16; // of a photo, on each side, is taken for cloth

/** The piece, or else the middle of the photo, on the middle of the outline; upright as in the photo. @param {Plan} plan @returns {Place} */
export function begin({ subject, piece, unit, origin: [x, y], size, turn, sized }) {
  const [wide, high] = [size.width * unit, size.height * unit];
  const photo = { left: x + wide * CLOTH, top: y + high * CLOTH, right: x + wide * (1 - CLOTH), bottom: y + high * (1 - CLOTH) };
  const [fixed, moving] = [boxOf(subject), piece && boxOf(piece)];
  if (!fixed) return { scale: 1, turn: 0, x: 0, y: 0 };
  return turned(onto(fixed, moving ?? photo, sized), [(fixed.left + fixed.right) / 2, (fixed.top + fixed.bottom) / 2], turn);
}

/** What the engine is asked: how the two come together best or, with a place, how well they fit there. @param {Plan} plan  @param {Place | null} place */
export function question({ subject, piece, sized }, place) {
  const box = piece && boxOf(piece);
  if (!piece || !box) return null;
  return { fixed: subject, moving: piece, scale: sized && !place ? 'fixed' : 'free', ...(place ? { pins: asPins(place, box) } : {}) };
}

/** A distance as a share of how long the outline is. @param {number} off  @param {Point[][]} rings */
export function shareOf(off, rings) {
  const box = boxOf(rings);
  return box ? off / Math.max(box.right - box.left, box.bottom - box.top) : 0;
}
