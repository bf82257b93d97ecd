// How a photo lies over an outline: moved, turned and scaled by a hand, or so that two pins meet two others. Only where things lie on
// the glass; how well they fit is the engine's to say.

/**
 * @typedef {[number, number]} Point
 * Where a place of the photo comes to lie: scale * turned(p) + (x, y); the turn in radians, from x towards y.
 * @typedef {{scale: number, turn: number, x: number, y: number}} Place
 */

/** @type {Place} */
export const still = { scale: 1, turn: 0, x: 0, y: 0 };

/** @param {Place} place  @param {Point} at @returns {Point} */
export function laid({ scale, turn, x, y }, [px, py]) {
  const [c, s] = [scale * Math.cos(turn), scale * Math.sin(turn)];
  return [c * px - s * py + x, s * px + c * py + y];
}

/** Where on the photo a place lies. @param {Place} place  @param {Point} at @returns {Point} */
export function lifted({ scale, turn, x, y }, [px, py]) {
  const [c, s] = [Math.cos(turn) / scale, Math.sin(turn) / scale];
  return [c * (px - x) + s * (py - y), c * (py - y) - s * (px - x)];
}

/** @param {Place} place  @param {number} right  @param {number} down @returns {Place} */
export const moved = (place, right, down) => ({ ...place, x: place.x + right, y: place.y + down });

/** Turned, and made larger by a factor, about a place that stays. @param {Place} place  @param {Point} about  @param {number} turn radians  @param {number} [factor] @returns {Place} */
export function turned(place, about, turn, factor = 1) {
  const on = lifted(place, about);
  const next = { ...place, scale: place.scale * factor, turn: place.turn + turn };
  const [x, y] = laid(next, on);
  return { ...next, x: next.x + about[0] - x, y: next.y + about[1] - y };
}

/** @param {Point} a  @param {Point} b @returns {Point} */
const middle = (a, b) => [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2];
const long = (/** @type {[Point, Point]} */ [a, b]) => Math.hypot(b[0] - a[0], b[1] - a[1]);
const way = (/** @type {[Point, Point]} */ [a, b]) => Math.atan2(b[1] - a[1], b[0] - a[0]);

/** Two fingers that were there and are here take the photo along; where its size is known it keeps it. @param {Place} place when they came down  @param {[Point, Point]} from  @param {[Point, Point]} to  @param {boolean} sized @returns {Place} */
export function byFingers(place, from, to, sized) {
  const about = middle(...from);
  const here = middle(...to);
  const next = turned(place, about, way(to) - way(from), sized ? 1 : long(to) / Math.max(1e-9, long(from)));
  return moved(next, here[0] - about[0], here[1] - about[1]);
}

/** Two pins of the photo brought onto two others; where the size is known, their middles and their direction. @param {[Point, Point]} fixed  @param {[Point, Point]} moving  @param {boolean} sized @returns {Place | null} null when two pins lie on each other */
export function byPins(fixed, moving, sized) {
  if (!long(moving) || !long(fixed)) return null;
  const place = { scale: sized ? 1 : long(fixed) / long(moving), turn: way(fixed) - way(moving), x: 0, y: 0 };
  const at = laid(place, middle(...moving));
  const to = middle(...fixed);
  return moved(place, to[0] - at[0], to[1] - at[1]);
}

/** @typedef {{left: number, top: number, right: number, bottom: number}} Box */

/** To begin with: the middle of one box on the middle of the other; as wide as that one, where the size is not known. @param {Box} fixed  @param {Box} moving  @param {boolean} sized @returns {Place} */
export function onto(fixed, moving, sized) {
  const scale = sized ? 1 : (fixed.right - fixed.left) / Math.max(1e-9, moving.right - moving.left);
  const at = middle([moving.left, moving.top], [moving.right, moving.bottom]);
  const to = middle([fixed.left, fixed.top], [fixed.right, fixed.bottom]);
  return { scale, turn: 0, x: to[0] - scale * at[0], y: to[1] - scale * at[1] };
}

/** @param {Point[][]} rings  @param {number} by @returns {Point[][]} */
export const times = (rings, by) => rings.map((ring) => ring.map(([x, y]) => [x * by, y * by]));

/** Two places of the photo and where they lie now: for the engine these are pins, so that it tells how well this very place fits. @param {Place} place  @param {Box} box of the photo's outline @returns {{fixed: [Point, Point], moving: [Point, Point]}} */
export function asPins(place, box) {
  const moving = /** @type {[Point, Point]} */ ([[box.left, box.top], [box.right, box.bottom]]);
  return { fixed: [laid(place, moving[0]), laid(place, moving[1])], moving };
}
