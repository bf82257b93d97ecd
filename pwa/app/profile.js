// The profile of a turned form and the outline of a flat piece, as a hand draws them: points in mm, x from the root along the axis.
import { boxOf, halfAt, placedPoint } from './draw/forms.js';

/** @typedef {import('./draw/forms.js').Point} Point  @typedef {import('./draw/forms.js').Rings} Rings  @typedef {import('./draw/forms.js').Place} Place */

const tenth = (/** @type {number} */ mm) => Math.round(mm * 10) / 10 || 0;
/** How many points a profile is begun with: few enough to take hold of each. */
const few = 9;
const least = 1; // mm between two points along the axis, so that neither runs into the other

/** A profile that swells in the middle, for where nothing is known. @param {number} long  @param {number} wide @returns {Point[]} */
export const spindle = (long, wide) => Array.from({ length: few }, (_, i) => [tenth(long * i / (few - 1)), tenth(wide / 2 * Math.sqrt(Math.max(0, 1 - (2 * i / (few - 1) - 1) ** 2)))]);

/** The profile of a form as it is drawn from the side. @param {Rings} side its root at x = 0 @returns {Point[]} */
export function profileOf(side) {
  const box = boxOf(side);
  if (!box || box.right - box.left < 2) return spindle(60, 30);
  const long = box.right - box.left;
  return Array.from({ length: few }, (_, i) => {
    const x = long * i / (few - 1);
    return [tenth(x), tenth(halfAt(side, i + 1 === few ? box.right : box.left + x))];
  });
}

/** The outline of a flat piece as long and as wide as that, standing on its root. @param {number} long  @param {number} wide @returns {Point[]} */
export const leaf = (long, wide) => Array.from({ length: 9 }, (_, i) => { const turn = Math.PI * (i / 8 - 0.5); return [tenth(long * Math.cos(turn)), tenth(wide / 2 * Math.sin(turn))]; });

/** Where a line across the axis runs inside the rings. @param {Rings} rings where the axis is y = 0  @param {number} x @returns {[number, number][]} */
function runsAt(rings, x) {
  const cuts = rings.flatMap((ring) => ring.flatMap(([ax, ay], i) => {
    const [bx, by] = ring[(i + 1) % ring.length];
    return (ax > x) === (bx > x) ? [] : [ay + (by - ay) * (x - ax) / (bx - ax)];
  })).sort((a, b) => a - b);
  return Array.from({ length: cuts.length >> 1 }, (_, i) => [cuts[2 * i], cuts[2 * i + 1]]);
}

/**
 * The profile that an animal's outline has along a form that lies in it: at each place along the axis half of the run of the outline that
 * the axis goes through, but no more than half as much again as the form is thick there: a leg is not as thick as the body it grows out of.
 * Null where the axis lies outside.
 * @param {Rings} outline  @param {Place} place  @param {Rings} side the form as it is drawn from the side @returns {{points: Point[], along: number} | null} and how far along the axis it begins
 */
export function profileAlong(outline, place, side) {
  const box = boxOf(side);
  if (!box) return null;
  const [long, widest] = [box.right - box.left, box.high];
  const [sin, cos] = [Math.sin(-place.turn), Math.cos(-place.turn)];
  const straight = outline.map((ring) => ring.map(([x, y]) => /** @type {Point} */ ([(x - place.x) * cos - (y - place.y) * sin, (x - place.x) * sin + (y - place.y) * cos])));
  /** @type {Point[]} */
  const found = [];
  for (let i = 0; i < 2 * few - 1; i++) {
    const x = long * i / (2 * few - 2);
    const run = runsAt(straight, x + (i === 0 ? 1e-3 : i === 2 * few - 2 ? -1e-3 : 0)).find(([low, high]) => low <= 0 && high >= 0);
    const most = 1.5 * Math.max(halfAt(side, box.left + x), widest / 3);
    if (run) found.push([x, tenth(Math.min(most, (run[1] - run[0]) / 2))]);
  }
  if (found.length < 3) return null;
  const first = found[0][0];
  const profile = found.filter((_, i) => i % 2 === 0 || i === found.length - 1).map(([x, r]) => /** @type {Point} */ ([tenth(x - first), r]));
  return profile.length > 2 && profile.some(([, r]) => r > 0) ? { points: profile, along: first } : null;
}

/** A point of a profile moved: it stays between its neighbours and does not cross the axis; the first stays at the root. @param {Point[]} points  @param {number} i  @param {Point} to @returns {Point[]} */
export function profileMoved(points, i, [x, r]) {
  const low = i === 0 ? 0 : points[i - 1][0] + least;
  const high = i === 0 ? 0 : i + 1 < points.length ? points[i + 1][0] - least : Infinity;
  return points.with(i, [tenth(Math.max(low, Math.min(high, x))), tenth(Math.max(0, r))]);
}

/** @param {Point[]} points  @param {number} i  @param {Point} to @returns {Point[]} */
export const leafMoved = (points, i, [x, y]) => points.with(i, [tenth(x), tenth(y)]);

/** A point more, half way to the next. @param {Point[]} points  @param {number} i  @param {boolean} closed @returns {Point[] | null} */
export function pointAdded(points, i, closed) {
  const from = closed || i + 1 < points.length ? i : i - 1;
  const [a, b] = [points[from], points[(from + 1) % points.length]];
  if (!closed && b[0] - a[0] < 2 * least) return null;
  return points.toSpliced(from + 1, 0, [tenth((a[0] + b[0]) / 2), tenth((a[1] + b[1]) / 2)]);
}

/** One fewer; a profile keeps three, so that it is not a mere cone by accident, and begins at 0. @param {Point[]} points  @param {number} i @returns {Point[] | null} */
export function pointTaken(points, i) {
  if (points.length <= 3) return null;
  const left = points.toSpliced(i, 1);
  return i === 0 ? left.map(([x, r]) => [tenth(x - left[0][0]), r]) : left;
}

/** The points as long and as wide as that. @param {Point[]} points  @param {{long?: number, wide?: number}} to @returns {Point[]} */
export function scaledTo(points, { long, wide }) {
  const { long: was, wide: across } = measured(points);
  const [kx, ky] = [long ? long / was : 1, wide ? wide / across : 1];
  return points.map(([x, y]) => [tenth(x * kx), tenth(y * ky)]);
}

/** How long and how wide they are; a profile is as wide as twice its largest radius, and what is drawn on both sides of the axis from edge to edge. @param {Point[]} points */
export function measured(points) {
  const box = boxOf([points]) ?? { left: 0, right: 0, low: 0, high: 0 };
  return { long: box.right - box.left, wide: box.low < 0 ? box.high - box.low : 2 * box.high };
}

/** As records keep them. @param {Point[]} points @returns {number[][]} */
export const keptPoints = (points) => [points.flat()];
/** @param {number[][] | null} rings @returns {Point[]} */
export const pointsOf = (rings) => (rings?.[0] ? Array.from({ length: rings[0].length >> 1 }, (_, i) => [rings[0][2 * i], rings[0][2 * i + 1]]) : []);

/** Where the root of a form comes to lie when its profile begins later along its axis. @param {Place} place  @param {number} along @returns {Place} */
export function slidAlong(place, along) {
  const [x, y] = placedPoint([along, 0], place);
  return { ...place, x, y };
}
