// What lies over what, in which measure: mm of the finished size where both pictures have one, else px of the subject's.
import { asPins, onto, times } from './placing.js';
import { boxOf } from './rings.js';

/**
 * @typedef {import('./placing.js').Point} Point  @typedef {import('./placing.js').Place} Place
 * @typedef {{subject: Point[][], piece: Point[][] | null, unit: number, sized: boolean}} Plan
 */

/** @param {any} seen as the view 'photo' tells of a piece's picture  @param {string} outline of the subject  @returns {Plan & {outline: any} | null} null when the subject has none */
export function planOf(seen, outline) {
  const subject = seen.subject_outlines.find((/** @type {any} */ one) => one.id === outline) ?? seen.subject_outlines[0];
  if (!subject) return null;
  const sized = Boolean(seen.finished_mm_per_px && subject.finished_mm_per_px);
  const own = seen.outlines.at(-1);
  const unit = sized ? seen.finished_mm_per_px : 1;
  return { outline: subject, sized, unit, subject: times(subject.rings, sized ? subject.finished_mm_per_px : 1), piece: own ? times(own.rings, unit) : null };
}

const CLOTH = 0.16; // of a photo, on each side, is taken for cloth

/** The piece, or else the middle of the photo, on the middle of the outline. @param {Plan} plan  @param {{width: number, height: number}} picture @returns {Place} */
export function begin({ subject, piece, unit, sized }, { width, height }) {
  const photo = { left: width * unit * CLOTH, top: height * unit * CLOTH, right: width * unit * (1 - CLOTH), bottom: height * unit * (1 - CLOTH) };
  const [fixed, moving] = [boxOf(subject), piece && boxOf(piece)];
  return fixed ? onto(fixed, moving ?? photo, sized) : { scale: 1, turn: 0, x: 0, y: 0 };
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
