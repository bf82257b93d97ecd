// An outline under the hand: rings of points in the picture's px, and what a finger does to them. No screen, no store. What is wide,
// long or large in mm is the engine's to say; here it is only found which point lies nearest and which stretch a stroke replaces.

/**
 * @typedef {[number, number]} Point
 * @typedef {Point[]} Ring                              not closed by repetition; outer rings and holes, even-odd
 * @typedef {{rings: Ring[], open: Point[]}} Drawn      `open` is a line under way that has not come round yet
 * @typedef {{ring: number, edge: number, share: number, at: Point, off: number}} OnEdge  a place on the edge after point `edge`
 */

/** @type {Drawn} */
export const nothingDrawn = { rings: [], open: [] };

/** The rounding in which outlines are kept. @param {Point} at @returns {Point} */
export const tenth = ([x, y]) => [Math.round(x * 10) / 10, Math.round(y * 10) / 10];

/** @param {Point} a  @param {Point} b */
export const apart = (a, b) => Math.hypot(a[0] - b[0], a[1] - b[1]);

/** How long a line is from point to point. @param {Point[]} line */
export const lengthOf = (line) => line.reduce((sum, at, i) => sum + (i ? apart(line[i - 1], at) : 0), 0);

/** The place between two points that lies nearest. @param {Point} a  @param {Point} b  @param {Point} at */
function nearestBetween(a, b, at) {
  const [dx, dy] = [b[0] - a[0], b[1] - a[1]];
  const long = dx * dx + dy * dy;
  const share = long ? Math.max(0, Math.min(1, ((at[0] - a[0]) * dx + (at[1] - a[1]) * dy) / long)) : 0;
  return { share, at: /** @type {Point} */ ([a[0] + share * dx, a[1] + share * dy]) };
}

/** The place on any ring that lies nearest. @param {Ring[]} rings  @param {Point} at @returns {OnEdge | null} */
export function nearestEdge(rings, at) {
  /** @type {OnEdge | null} */
  let best = null;
  rings.forEach((ring, r) => ring.forEach((from, edge) => {
    const near = nearestBetween(from, ring[(edge + 1) % ring.length], at);
    const off = apart(near.at, at);
    if (!best || off < best.off) best = { ring: r, edge, off, ...near };
  }));
  return best;
}

/** Whether a place lies inside: crossed an odd number of times on the way out. @param {Ring[]} rings  @param {Point} at */
export function inside(rings, [x, y]) {
  let odd = false;
  for (const ring of rings) {
    ring.forEach(([ax, ay], i) => {
      const [bx, by] = ring[(i + 1) % ring.length];
      if ((ay > y) !== (by > y) && x < ax + (y - ay) / (by - ay) * (bx - ax)) odd = !odd;
    });
  }
  return odd;
}

/** Whether a ring is a hole: it lies within an odd number of others. @param {Ring[]} rings  @param {number} ring */
export const isHole = (rings, ring) => inside(rings.filter((_, i) => i !== ring), rings[ring][0]);

/** Which ring a place belongs to: the innermost that holds it, or -1. @param {Ring[]} rings  @param {Point} at */
export function ringAt(rings, at) {
  const holding = rings.map((ring, i) => ({ i, size: Math.abs(doubled(ring)) })).filter(({ i }) => inside([rings[i]], at));
  return holding.sort((a, b) => a.size - b.size)[0]?.i ?? -1;
}

/** Twice the area a line encloses when its ends are joined, in px, with its sign: only to compare two with each other. @param {Point[]} line */
function doubled(line) {
  return line.reduce((sum, [x, y], i) => { const [nx, ny] = line[(i + 1) % line.length]; return sum + x * ny - nx * y; }, 0);
}

/** A stroke without the points that crowd: each at least so far from the one before; the last is kept. @param {Point[]} stroke  @param {number} gap @returns {Point[]} */
export function thinned(stroke, gap) {
  /** @type {Point[]} */
  const kept = [];
  stroke.forEach((at, i) => {
    if (!kept.length || apart(kept[kept.length - 1], at) >= gap) kept.push(at);
    else if (i === stroke.length - 1) { if (kept.length > 1) kept.pop(); kept.push(at); }
  });
  return kept.map(tenth);
}

/** @param {Drawn} drawn  @param {number} ring  @param {Ring[]} by @returns {Drawn} */
const inPlace = (drawn, ring, by) => ({ ...drawn, rings: drawn.rings.toSpliced(ring, 1, ...by) });

/** @param {Drawn} drawn  @param {OnEdge} on @returns {Drawn} */
export const withPoint = (drawn, { ring, edge, at }) => inPlace(drawn, ring, [drawn.rings[ring].toSpliced(edge + 1, 0, tenth(at))]);

/** @param {Drawn} drawn  @param {number} ring @returns {Drawn} */
export const withoutRing = (drawn, ring) => inPlace(drawn, ring, []);

/**
 * The points that are shown at a zoom: no closer along the ring than a gap. The rest lies between two that are shown and goes along
 * with them, so that what is seen is what moves.
 * @param {Ring} ring  @param {number} gap px of the picture  @param {number} [also] a point shown in any case
 */
export function shownPoints(ring, gap, also = -1) {
  const shown = [0];
  let since = 0;
  for (let i = 1; i < ring.length; i++) {
    since += apart(ring[i - 1], ring[i]);
    if (since < gap && i !== also) continue;
    shown.push(i);
    since = 0;
  }
  return shown;
}

/** How far a point's neighbours are that are shown, before and after it. @param {Ring} ring  @param {number[]} shown  @param {number} point */
function reachOf(ring, shown, point) {
  const n = ring.length;
  if (shown.length < 2) return { before: Math.floor((n - 1) / 2), after: Math.floor(n / 2) };
  const place = shown.indexOf(point);
  const before = shown[(place + shown.length - 1) % shown.length];
  const after = shown[(place + 1) % shown.length];
  return { before: (point - before + n) % n, after: (after - point + n) % n };
}

/**
 * A point moved; those between it and the next ones shown go along, the less the farther they are.
 * @param {Drawn} drawn  @param {number} ring  @param {number} point  @param {Point} to  @param {number[]} shown @returns {Drawn}
 */
export function movedPoint(drawn, ring, point, to, shown) {
  const was = drawn.rings[ring];
  const n = was.length;
  const { before, after } = reachOf(was, shown, point);
  const [dx, dy] = [to[0] - was[point][0], to[1] - was[point][1]];
  const now = was.slice();
  for (let step = 1 - before; step < after; step++) {
    const share = 1 - (step < 0 ? -step / before : step / after);
    const i = (point + step + n) % n;
    now[i] = tenth([was[i][0] + share * dx, was[i][1] + share * dy]);
  }
  now[point] = tenth(to);
  return inPlace(drawn, ring, [now]);
}

/** A point taken out, and what of the line goes along with it: its neighbours are joined. The ring goes with its third point. @param {Drawn} drawn  @param {number} ring  @param {number} point  @param {number[]} shown @returns {Drawn} */
export function withoutPoint(drawn, ring, point, shown) {
  const was = drawn.rings[ring];
  const { before, after } = reachOf(was, shown, point);
  const left = was.filter((_, i) => { const step = (i - point + was.length) % was.length; return step >= after && step <= was.length - before; });
  return inPlace(drawn, ring, left.length < 3 ? [] : [left]);
}

/**
 * A ring with one stretch replaced by a stroke that begins and ends near it. Of the two stretches between these ends the one goes
 * that encloses less with the stroke: it is the one that was meant to be drawn better.
 * @param {Ring} ring  @param {Point[]} stroke @returns {Ring}
 */
export function mended(ring, stroke) {
  const n = ring.length;
  const from = /** @type {OnEdge} */ (nearestEdge([ring], stroke[0]));
  const to = /** @type {OnEdge} */ (nearestEdge([ring], stroke[stroke.length - 1]));
  const count = from.edge === to.edge && to.share < from.share ? n : (to.edge - from.edge + n) % n;
  const ahead = Array.from({ length: count }, (_, k) => ring[(from.edge + 1 + k) % n]);
  const behind = Array.from({ length: n - count }, (_, k) => ring[(to.edge + 1 + k) % n]);
  const back = stroke.toReversed();
  const [aheadCost, behindCost] = [Math.abs(doubled([from.at, ...ahead, to.at, ...back])), Math.abs(doubled([to.at, ...behind, from.at, ...stroke]))];
  return aheadCost <= behindCost ? [...behind, ...stroke] : [...ahead, ...back];
}

/** The ring that both ends of a line touch, unless its ends lie nearer to each other. @param {Ring[]} rings  @param {Point[]} line  @param {number} reach */
function touched(rings, line, reach) {
  const [first, last] = [line[0], line[line.length - 1]];
  const ring = rings.findIndex((one) => [first, last].every((end) => (nearestEdge([one], end)?.off ?? Infinity) <= reach));
  if (ring < 0) return -1;
  const off = Math.min(...[first, last].map((end) => nearestEdge([rings[ring]], end)?.off ?? Infinity));
  return lengthOf(line) > reach && apart(first, last) >= off ? ring : -1;
}

/** Whether a line has come round to where it began. @param {Point[]} line  @param {number} reach */
const round = (line, reach) => line.length > 2 && apart(line[0], line[line.length - 1]) <= reach && lengthOf(line) > 4 * reach;

/** A line that goes on from whichever end the stroke begins nearer to. @param {Point[]} open  @param {Point[]} stroke @returns {Point[]} */
function joined(open, stroke) {
  if (!open.length) return stroke;
  const fromFirst = open.length > 1 && apart(open[0], stroke[0]) < apart(open[open.length - 1], stroke[0]);
  return [...fromFirst ? open.toReversed() : open, ...stroke];
}

/**
 * What a stroke does once the finger is up: it mends the ring it begins and ends at, comes round and is a ring, or is a line that
 * waits to be gone on with.
 * @param {Drawn} drawn  @param {Point[]} stroke  @param {number} reach how near is near, px of the picture
 * @returns {{drawn: Drawn, did: 'mended' | 'closed' | 'longer' | 'begun', ring: number}}
 */
export function laid(drawn, stroke, reach) {
  const whole = touched(drawn.rings, stroke, reach);
  if (whole >= 0) return { drawn: inPlace(drawn, whole, [mended(drawn.rings[whole], stroke).map(tenth)]), did: 'mended', ring: whole };
  const line = joined(drawn.open, stroke);
  const mends = touched(drawn.rings, line, reach);
  if (mends >= 0) return { drawn: { ...inPlace(drawn, mends, [mended(drawn.rings[mends], line).map(tenth)]), open: [] }, did: 'mended', ring: mends };
  if (round(line, reach)) return { drawn: closed({ ...drawn, open: line }), did: 'closed', ring: drawn.rings.length };
  return { drawn: { ...drawn, open: line.map(tenth) }, did: drawn.open.length ? 'longer' : 'begun', ring: -1 };
}

/** The line under way made a ring, by joining its ends. @param {Drawn} drawn @returns {Drawn} */
export function closed({ rings, open }) {
  if (open.length < 3) return { rings, open };
  const ring = apart(open[0], open[open.length - 1]) < 1 && open.length > 3 ? open.slice(0, -1) : open;
  return { rings: [...rings, ring.map(tenth)], open: [] };
}

/**
 * A ring without the way there and back: one that was begun beside the edge runs to it and, at its end, away from it again along the same
 * way. The last point of its beginning that its end comes by is where it closes.
 * @param {Ring} ring  @param {number} most px of the way at either end that may be such  @param {number} near px between there and back @returns {Ring}
 */
export function withoutSpur(ring, most, near) {
  const ahead = upTo(ring, most);
  const back = upTo(ring.toReversed(), most);
  for (let i = ahead.length - 1; i > 0; i--) {
    const by = nearestOnLine(back, ahead[i]);
    if (by.off > near) continue;
    const left = ring.slice(i, ring.length - 1 - by.edge);
    if (left.length > 2) return left;
  }
  return ring;
}

/** A line as far as this length, and no farther than its half. @param {Point[]} line  @param {number} most */
function upTo(line, most) {
  let i = 1;
  for (let gone = 0; i < line.length >> 1; i++) {
    gone += apart(line[i - 1], line[i]);
    if (gone > most) break;
  }
  return line.slice(0, i);
}

/** @param {Point[]} line not closed  @param {Point} at */
function nearestOnLine(line, at) {
  let best = { edge: 0, off: line.length ? apart(line[0], at) : Infinity };
  for (let edge = 0; edge + 1 < line.length; edge++) {
    const off = apart(nearestBetween(line[edge], line[edge + 1], at).at, at);
    if (off < best.off) best = { edge, off };
  }
  return best;
}

/** How many points there are in all. @param {Ring[]} rings */
export const points = (rings) => rings.reduce((sum, ring) => sum + ring.length, 0);

/** As records keep a ring: x0, y0, x1, y1, ... @param {Ring} ring @returns {number[]} */
export const flat = (ring) => ring.flatMap(tenth);
/** @param {number[]} numbers @returns {Ring} */
export const unflat = (numbers) => Array.from({ length: Math.floor(numbers.length / 2) }, (_, i) => [numbers[2 * i], numbers[2 * i + 1]]);

/** The box around everything drawn, or null. @param {Point[][]} lines @returns {{left: number, top: number, right: number, bottom: number} | null} */
export function boxOf(lines) {
  const all = lines.flat();
  if (!all.length) return null;
  const [xs, ys] = [all.map(([x]) => x), all.map(([, y]) => y)];
  return { left: Math.min(...xs), top: Math.min(...ys), right: Math.max(...xs), bottom: Math.max(...ys) };
}
