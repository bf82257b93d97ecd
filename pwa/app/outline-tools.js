// Sums between the glass and the picture for the outline's screen: what is near under a finger, and what the engine is asked.
import { apart, lengthOf, nearestEdge, shownPoints, withoutSpur } from './rings.js';

/** @typedef {import('./rings.js').Point} Point  @typedef {import('./rings.js').Drawn} Drawn  @typedef {import('./rings.js').OnEdge} OnEdge
 * @typedef {{id: string, at: Point, label: string, kind: 'point'}} Handle */

const NEAR = 16; // CSS px within which the end of a stroke meets a line
const EDGE = 14; // CSS px within which a tap means an edge
const HANDLES = 26; // CSS px between two points that are shown
const CROP = 320; // px of the picture that are searched for an edge, while the finger moves
const WIDEST = 1024; // px that the engine searches at most
const MARGIN = 60; // px round both ends

/** @param {number} scale CSS px to one of the picture */
export const reach = (scale) => NEAR / scale;

/** How a line follows the finger at a zoom: a question reaches no farther than its crop, and on a small picture no farther than a thumb's way. @param {number} scale @returns {import('./snapping.js').Lengths} */
export function lengths(scale) {
  const far = Math.min(CROP - 2 * MARGIN, Math.max(40, 130 / scale));
  return { reach: far, settle: far * 0.7, loose: far * 0.25 };
}

/** Whether the edge between two places can be looked for at once. @param {Point} from  @param {Point} to */
export const near = (from, to) => Math.max(Math.abs(from[0] - to[0]), Math.abs(from[1] - to[1])) + 2 * MARGIN <= WIDEST;

/** The end of an open line, or a place on a ring, when one lies near enough to be meant; else the place itself. @param {Drawn} drawn  @param {Point} at  @param {number} scale @returns {Point} */
function onLine({ rings, open }, at, scale) {
  const end = open.find((one) => apart(one, at) <= reach(scale));
  if (end) return end;
  const edge = nearestEdge(rings, at);
  return edge && edge.off <= reach(scale) / 2 ? edge.at : at;
}

/** Where a stroke really ends: where it began, once it has come round; else on the line that it is near. @param {Drawn} drawn  @param {Point[]} trail  @param {number} scale @returns {Point} */
export function endOf({ rings, open }, trail, scale) {
  const round = lengthOf(trail) > 4 * reach(scale) ? [trail[0]] : [];
  return onLine({ rings, open: [...open.slice(0, 1), ...open.slice(-1), ...round] }, trail[trail.length - 1], scale);
}

/** A ring that was snapped, closed where its edge is. @param {Drawn} drawn  @param {number} ring  @param {number} scale @returns {Drawn} */
export const closedOnEdge = (drawn, ring, scale) => ({ ...drawn, rings: drawn.rings.with(ring, withoutSpur(drawn.rings[ring], 3 * reach(scale), grain(scale))) });

/** How close the points of a stroke lie at least, px of the picture. @param {number} scale */
export const grain = (scale) => Math.max(1.5, 2 / scale);

/** The part of the picture in which the edge between two places is looked for: [left, top, width, height]. @param {Point} from  @param {Point} to  @param {{width: number, height: number}} picture @returns {[number, number, number, number]} */
export function crop(from, to, { width, height }) {
  const span = (/** @type {number} */ a, /** @type {number} */ b, /** @type {number} */ most) => {
    const low = Math.max(0, Math.floor(Math.min(a, b) - MARGIN));
    return [low, Math.min(most, Math.ceil(Math.max(a, b) + MARGIN)) - low];
  };
  const [left, wide] = span(from[0], to[0], width);
  const [top, high] = span(from[1], to[1], height);
  return [left, top, wide, high];
}

/** The points that can be taken hold of at a zoom, and which of each ring they are. @param {Drawn} drawn  @param {number} scale  @param {string | null} chosen  @param {(n: number, ring: number) => string} label @returns {{handles: Handle[], shown: number[][]}} */
export function handlesOf({ rings }, scale, chosen, label) {
  const [ring, point] = chosen ? placeOf(chosen) : [-1, -1];
  const shown = rings.map((one, r) => shownPoints(one, HANDLES / scale, r === ring ? point : -1));
  const handles = shown.flatMap((some, r) => some.map((i, n) => ({ id: `${r}:${i}`, at: rings[r][i], label: label(n + 1, r + 1), kind: /** @type {const} */ ('point') })));
  return { handles, shown };
}

/** @param {string} id @returns {[number, number]} ring and point */
export const placeOf = (id) => /** @type {[number, number]} */ (id.split(':').map(Number));

/** The edge a tap means, if it means one: not the one beside the point that is chosen, which goes where was tapped. @param {Drawn} drawn  @param {Point} at  @param {number} scale  @param {string | null} chosen  @param {number[][]} shown @returns {OnEdge | null} */
export function edgeAt(drawn, at, scale, chosen, shown) {
  const edge = nearestEdge(drawn.rings, at);
  if (!edge || edge.off > EDGE / scale) return null;
  if (!chosen) return edge;
  const [ring, point] = placeOf(chosen);
  if (ring !== edge.ring) return edge;
  const place = shown[ring].indexOf(point);
  const n = drawn.rings[ring].length;
  const before = shown[ring][(place + shown[ring].length - 1) % shown[ring].length];
  const after = shown[ring][(place + 1) % shown[ring].length];
  return (edge.edge - before + n) % n < (after - before + n) % n ? null : edge;
}

/** The middle of the stretch from a point to the next one shown, as a place on an edge. @param {Drawn} drawn  @param {string} id  @param {number[][]} shown @returns {OnEdge} */
export function afterPoint({ rings }, id, shown) {
  const [r, from] = placeOf(id);
  const ring = rings[r];
  const place = shown[r].indexOf(from);
  const to = shown[r][(place + 1) % shown[r].length];
  const count = (to - from + ring.length) % ring.length || ring.length;
  const lengthsOf = Array.from({ length: count }, (_, k) => apart(ring[(from + k) % ring.length], ring[(from + k + 1) % ring.length]));
  const half = lengthsOf.reduce((sum, one) => sum + one, 0) / 2;
  let k = 0;
  let gone = 0;
  while (k < count - 1 && gone + lengthsOf[k] < half) gone += lengthsOf[k++];
  const edge = (from + k) % ring.length;
  const share = lengthsOf[k] ? (half - gone) / lengthsOf[k] : 0.5;
  return { ring: r, edge, share, off: 0, at: along(ring[edge], ring[(edge + 1) % ring.length], share) };
}

/** @param {Point} a  @param {Point} b  @param {number} share @returns {Point} */
const along = (a, b, share) => [a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])];

/** Whether two zooms show the same points, near enough. @param {number} a  @param {number} b */
export const alike = (a, b) => a < b * 1.15 && b < a * 1.15;

/** @param {number} edge */
export const next = (edge) => edge + 1;

/** What is kept of an outline: its points in all. */
export const most = 600;
