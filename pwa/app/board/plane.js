// What gives a picture its scale, as a hand sets it: four corners of something whose sides are known, or the ends of a known length.
import { apart, bothU } from './geometry.js';

/** @typedef {import('./geometry.js').Point} Point  @typedef {import('./geometry.js').Size} Size  @typedef {{at: Point, u: number | null}} Set   u: null when it was found by itself */

/** An ID-1 card, mm (ISO/IEC 7810; from memory). */
export const card = { width: 85.6, height: 53.98 };

/** Four corners to begin with, in the middle of what is seen. @param {Size} picture  @param {Size} sides mm @returns {Point[]} */
export function begin(picture, sides) {
  const ratio = sides.width / sides.height;
  const long = Math.min(picture.width, picture.height) * .36;
  const [w, h] = ratio >= 1 ? [long, long / ratio] : [long * ratio, long];
  const [x, y] = [picture.width / 2, picture.height / 2];
  return [[x - w / 2, y - h / 2], [x + w / 2, y - h / 2], [x + w / 2, y + h / 2], [x - w / 2, y + h / 2]];
}

/** The same corners, with the other side as the first. @template T @param {T[]} corners @returns {T[]} */
export const turned = ([first, ...rest]) => [...rest, first];

/** Whether four corners go round something without crossing, each turning the same way. @param {Point[]} corners */
export function convex(corners) {
  const turns = corners.map((at, i) => {
    const [b, c] = [corners[(i + 1) % 4], corners[(i + 2) % 4]];
    return (b[0] - at[0]) * (c[1] - b[1]) - (b[1] - at[1]) * (c[0] - b[0]);
  });
  return corners.length === 4 && (turns.every((t) => t > 1) || turns.every((t) => t < -1));
}

/** How sure a corner is that was found by itself and not moved, px: their spread on photos with exact corners is 0.1 to 0.3. */
const found = .3;
/** How sure they are together. @param {Set[]} set */
export const sureness = (set) => bothU(set.map(({ u }) => u ?? found));

/** Two pins across the middle of a picture, to ask what a length there comes to. @param {Size} picture @returns {Point[]} */
export const acrossMiddle = ({ width, height }) => [[width * .4, height / 2], [width * .6, height / 2]];

export const far = apart;
