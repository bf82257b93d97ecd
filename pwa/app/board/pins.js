// What is being measured on a photo: the pins of one part, or of one place along a part, and every step back. No screen, no store.
import { bothU, onPicture } from './geometry.js';
import { drawnTo, foot, square, startingAt } from './lines.js';

/** @typedef {import('./geometry.js').Point} Point
 * A part, a place along one, or a part that is only named yet (id ''). @typedef {{id: string, name: string, axis: 'length' | 'width', part: string, place: string | null, from: string, n: number, view?: string | null}} Item
 * A pin, with how sure it is at the zoom at which it was set. @typedef {{at: Point, u: number}} Pin
 */

/** How many pins a hand sets: the other end of a place is the end of its part. @param {Item | null} item */
export const wanted = (item) => (item?.place ? 1 : 2);

/** @param {Item | null} item  @param {Pin[]} pins */
export const complete = (item, pins) => Boolean(item) && pins.length === wanted(item);

/** The two ends as they are kept. @param {Item} item  @param {Pin[]} pins  @param {Point[] | null} along the part's line, from where the place is counted @returns {Point[]} */
export const endsOf = (item, pins, along) => (item.place && along ? [along[0], pins[0].at] : pins.map(({ at }) => at));

/** @param {Pin[]} pins */
export const pinPx = (pins) => bothU(pins.map(({ u }) => u));

/** Onto the guide when it is near. @param {Point} at  @param {Point[] | null} guide  @param {number} scale CSS px to one of the picture */
export const guided = (at, guide, scale) => (guide ? drawnTo(at, guide, 14 / scale) : at);

/** The line to go by for a width: through the first pin, square to the part's line. @param {Item | null} item  @param {Pin[]} pins  @param {Point[] | null} line  @param {number} [other] the pin it goes through */
export const guideOf = (item, pins, line, other = 0) => (item && !item.place && item.axis === 'width' && line && pins[other] ? square(line, pins[other].at) : null);

/**
 * The line that a width is across: of the part whose name begins alike (body width, body length), else of the one whose line is nearest.
 * @param {string} name  @param {{name: string, pins: Point[], axis: string}[]} kept  @param {Point | null} near @returns {Point[] | null}
 */
export function lineFor(name, kept, near) {
  const lines = kept.filter(({ axis }) => axis === 'length');
  const first = name.toLowerCase().split(' ')[0];
  const alike = lines.filter((one) => one.name.toLowerCase().split(' ')[0] === first);
  const list = alike.length ? alike : lines;
  if (!list.length) return null;
  const far = (/** @type {{pins: Point[]}} */ { pins }) => (near ? Math.hypot(...offLine(pins, near)) : 0);
  return list.reduce((best, one) => (far(one) < far(best) ? one : best)).pins;
}

/** @param {Point[]} pins  @param {Point} at @returns {Point} */
function offLine(pins, at) {
  const [x, y] = foot(pins, at);
  return [at[0] - x, at[1] - y];
}

/** Steps back, without end. @template S */
export class Steps {
  /** @type {S[]} */
  #before = [];
  /** @param {S} state as it is before the step */
  note(state) { this.#before.push(structuredClone(state)); }
  /** @returns {S | undefined} */
  back() { return this.#before.pop(); }
  clear() { this.#before = []; }
  get any() { return this.#before.length > 0; }
}

export { onPicture, startingAt };
