// What lies on a photo that is measured: lengths between two pins as dimension lines, a place along a part, guides, and the steps of a count.
import { apart } from './geometry.js';
import { dark, disc, haloed, label, light, line, ring, woad } from './paint.js';

/** @typedef {import('./geometry.js').Point} Point  @typedef {import('./paint.js').Glass} Glass  @typedef {import('./paint.js').Ctx} Ctx
 * @typedef {{left: number, top: number, right: number, bottom: number}} Box
 * A kept length, or a place along one when `along` is the part's line. @typedef {{id: string, pins: Point[], along: Point[] | null, words: string}} Kept
 */

/** @param {Point} a  @param {Point} b @returns {Point} of length 1, from one to the other; to the right when they are one place */
function towards(a, b) {
  const length = apart(a, b);
  return length > 0 ? [(b[0] - a[0]) / length, (b[1] - a[1]) / length] : [1, 0];
}
/** @param {Point} way @returns {Point} a quarter turn */
const across = ([x, y]) => [-y, x];
/** @param {Point} at  @param {Point} way  @param {number} far @returns {Point} */
const off = ([x, y], [dx, dy], far) => [x + dx * far, y + dy * far];

/** The place on the line through two others that is nearest to a third. @param {Point[]} through  @param {Point} at @returns {Point} */
export function foot([a, b], at) {
  const way = towards(a, b);
  return off(a, way, (at[0] - a[0]) * way[0] + (at[1] - a[1]) * way[1]);
}

/** The end of a line that is nearer to a place comes first. @param {Point[]} ends  @param {Point} at @returns {Point[]} */
export const startingAt = ([a, b], at) => (apart(a, at) <= apart(b, at) ? [a, b] : [b, a]);

/** The line through a place at a right angle to another line. @param {Point[]} through  @param {Point} at @returns {Point[]} two points of it, one px apart */
export const square = ([a, b], at) => [at, off(at, across(towards(a, b)), 1)];

/** Onto a line when it is not further from it than that, else where it is. @param {Point} at  @param {Point[]} to  @param {number} reach px of the picture @returns {Point} */
export function drawnTo(at, to, reach) {
  const near = foot(to, at);
  return apart(near, at) <= reach ? near : at;
}

/** A length with ends that stand across it. @param {Ctx} ctx  @param {Point} a on the glass  @param {Point} b  @param {{colour?: string, width?: number, end?: number}} [how] */
export function dimension(ctx, a, b, { colour = dark, width = 2.5, end = 8 } = {}) {
  const side = across(towards(a, b));
  haloed(ctx, () => { line(ctx, a, b); for (const at of [a, b]) line(ctx, off(at, side, -end), off(at, side, end)); }, { colour, width });
}

/** @param {Box} a  @param {Box} b */
const meet = (a, b) => a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom;
/** @param {Point} at its middle  @param {number} width @returns {Box} */
const boxAt = ([x, y], width) => ({ left: x - width / 2, right: x + width / 2, top: y - 14, bottom: y + 14 });

/** What of a line lies in a box; null when nothing does. @param {Point} a  @param {Point} b  @param {Box} box @returns {Point[] | null} */
export function within([ax, ay], [bx, by], { left, top, right, bottom }) {
  const [dx, dy] = [bx - ax, by - ay];
  let [from, to] = [0, 1];
  for (const [way, room] of [[-dx, ax - left], [dx, right - ax], [-dy, ay - top], [dy, bottom - ay]]) {
    if (way === 0 && room < 0) return null;
    if (way < 0) from = Math.max(from, room / way);
    if (way > 0) to = Math.min(to, room / way);
  }
  return from <= to ? [[ax + dx * from, ay + dy * from], [ax + dx * to, ay + dy * to]] : null;
}

const BESIDE = 12; // CSS px from the end of a line to the chip that stands beside it
const BUTTONS = 62; // CSS px at the lower edge of the glass, where its buttons are
/** @param {{width: number, height: number}} size @returns {Box} */
const roomOn = ({ width, height }) => ({ left: 4, top: 4, right: width - 4, bottom: Math.max(40, height - BUTTONS) });

/** Where along a line a chip may stand, and how far beside it: the dearer, the less it is seen of which line it is. */
const places = [.5, .25, .75].flatMap((share) => [0, 24, 48, 72, 96, 120, 150, 180].flatMap((far) => [-1, 1].map((sign) => ({ share, far, sign, cost: far + 40 * Math.abs(share - .5) + (sign > 0 ? 6 : 0) })))).sort((one, other) => one.cost - other.cost);

/**
 * Where the chip of a line goes: near its middle, where no other chip is, and over no other line and with no other chip between if it can be; null where there is no room.
 * @param {Point[]} ends on the glass  @param {number} width  @param {Box[]} taken  @param {{width: number, height: number}} size of the glass  @param {Point[][]} [lines] that are drawn
 * @returns {{at: Point, from: Point} | null} its middle, and the place of the line that it is of
 */
export function chipPlace(ends, width, taken, size, lines = []) {
  const room = roomOn(size);
  const seen = within(ends[0], ends[1], { left: 0, top: 0, right: size.width, bottom: size.height });
  if (!seen || width > room.right - room.left) return null;
  const [a, b] = seen;
  const side = across(towards(ends[0], ends[1]));
  const ways = /** @type {Point[]} */ ([side[1] < 0 ? [-side[0], -side[1]] : side, [0, 1]]);
  /** @type {{at: Point, from: Point} | null} */
  let best = null;
  let least = Infinity;
  /** @param {Point} from  @param {Point} at  @param {number} cost */
  const consider = (from, at, cost) => {
    const box = boxAt(at, width);
    if (box.left < room.left || box.right > room.right || box.top < room.top || box.bottom > room.bottom || taken.some((other) => meet(box, other))) return;
    const all = cost + 90 * lines.filter((other) => within(other[0], other[1], box)).length + 45 * taken.filter((other) => within(from, at, other)).length;
    if (all < least) [best, least] = [{ at, from }, all];
  };
  const out = towards(ends[0], ends[1]);
  if (Math.abs(out[0]) > .9) { // a line that lies across is best told of beside it: most widths run to the edge of the animal
    consider(b, off(b, out, BESIDE + width / 2), 2);
    consider(a, off(a, out, -BESIDE - width / 2), 3);
  }
  for (const { share, far, sign, cost } of places) {
    if (cost >= least) break;
    for (const way of ways) {
      const from = /** @type {Point} */ ([a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share]);
      const [x, y] = off(from, way, sign * (far + 10 + Math.abs(way[0]) * width / 2 + Math.abs(way[1]) * 14));
      consider(from, [Math.max(room.left + width / 2, Math.min(room.right - width / 2, x)), y], cost + 4);
    }
  }
  return best;
}

/** From a chip that stands apart to the line that it is of. @param {Ctx} ctx  @param {Point} from on the line  @param {Box} box */
function leader(ctx, from, box) {
  const to = /** @type {Point} */ ([Math.max(box.left + 10, Math.min(box.right - 10, from[0])), from[1] < box.top ? box.top : box.bottom]);
  if (from[1] > box.top && from[1] < box.bottom || apart(from, to) < 16) return;
  haloed(ctx, () => line(ctx, from, to), { width: 1.5, halo: 1.25, colour: woad });
}

/** A chip's width. @param {Ctx} ctx  @param {string} words */
function chipWidth(ctx, words) {
  ctx.font = '600 14px system-ui, "DejaVu Sans", sans-serif';
  return ctx.measureText(words).width + 20;
}

/**
 * Everything that is kept on the photo. Gives back where the chips lie, each with what it is of. One without room waits until one is nearer.
 * @param {Ctx} ctx  @param {Glass} glass  @param {Kept[]} kept  @param {Point[]} pins that are being set, which no chip should cover  @param {Box[]} words where other words stand @returns {{id: string, box: Box}[]}
 */
export function keptLines(ctx, glass, kept, pins, words) {
  const ends = kept.map(({ pins: two, along }) => (along ? [foot(along, two[1]), foot(along, two[1])] : two).map(glass.toGlass));
  kept.forEach((one, i) => keptLine(ctx, glass, one, ends[i]));
  if (glass.loupe) return [];
  const now = pins.map(glass.toGlass);
  const taken = [...words, ...now.map(([x, y]) => ({ left: x - 20, right: x + 20, top: y - 20, bottom: y + 20 }))];
  /** @type {{id: string, box: Box, from: Point, at: Point, words: string}[]} */
  const chips = [];
  const lines = now.length === 2 ? [...ends, now] : ends;
  kept.forEach(({ id, words: text }, i) => {
    if (!text) return;
    const width = chipWidth(ctx, text);
    const place = chipPlace(ends[i], width, [...taken, ...chips.map(({ box }) => box)], glass.size, lines);
    if (place) chips.push({ id, words: text, ...place, box: boxAt(place.at, width) });
  });
  for (const { from, box } of chips) leader(ctx, from, box);
  return chips.map(({ id, words: text, at }) => ({ id, box: label(ctx, text, at, { size: glass.size, ground: light, ink: dark }) }));
}

/** @param {Ctx} ctx  @param {Glass} glass  @param {Kept} kept  @param {Point[]} ends on the glass */
function keptLine(ctx, glass, { along }, [a, b]) {
  if (!along) { dimension(ctx, a, b, { colour: woad }); return; }
  const side = across(towards(glass.toGlass(along[0]), glass.toGlass(along[1])));
  haloed(ctx, () => line(ctx, off(a, side, -12), off(a, side, 12)), { colour: woad, width: 3 });
  disc(ctx, a, 5, light);
  disc(ctx, a, 3.5, woad);
}

/** The length that is measured now. @param {Ctx} ctx  @param {Glass} glass  @param {Point[]} pins  @param {string} words  @param {Box[]} taken where other words stand */
export function nowLine(ctx, glass, pins, words, taken) {
  const ends = pins.map(glass.toGlass);
  dimension(ctx, ends[0], ends[1], { width: 3, end: 0 });
  if (!glass.loupe && words) chip(ctx, glass, words, ends, [...taken, ...ends.map(([x, y]) => ({ left: x - 20, right: x + 20, top: y - 20, bottom: y + 84 }))]);
}

/** Words beside a line, when there is room for them. @param {Ctx} ctx  @param {Glass} glass  @param {string} words  @param {Point[]} ends  @param {Box[]} taken */
function chip(ctx, glass, words, ends, taken) {
  const place = chipPlace(ends, chipWidth(ctx, words), taken, glass.size);
  if (!place) return;
  leader(ctx, place.from, boxAt(place.at, chipWidth(ctx, words)));
  label(ctx, words, place.at, { size: glass.size });
}

/** The part that a place lies along: its line, where it is counted from, and the place's foot on it. @param {Ctx} ctx  @param {Glass} glass  @param {Point[]} along  @param {Point | null} at  @param {string} from @returns {Box[]} where its words stand */
export function alongLine(ctx, glass, along, at, from) {
  ctx.font = '600 14px system-ui, "DejaVu Sans", sans-serif';
  const [a, b] = along.map(glass.toGlass);
  dimension(ctx, a, b, { colour: woad });
  disc(ctx, a, 9, light);
  disc(ctx, a, 7, woad);
  const out = towards(b, a);
  const words = !glass.loupe && from ? [label(ctx, from, off(a, out, 26 + (Math.abs(out[0]) * ctx.measureText(from).width) / 2), { size: glass.size })] : [];
  if (!at) return words;
  const place = glass.toGlass(foot(along, at));
  const side = across(towards(a, b));
  haloed(ctx, () => { line(ctx, off(place, side, -14), off(place, side, 14)); line(ctx, a, place); }, { width: 4 });
  haloed(ctx, () => line(ctx, place, glass.toGlass(at)), { width: 1.5, dash: [4, 4] });
  return words;
}

/** A line to go by, right across the glass. @param {Ctx} ctx  @param {Glass} glass  @param {Point[]} through */
export function guide(ctx, glass, through) {
  const [a, b] = through.map(glass.toGlass);
  const way = towards(a, b);
  const far = glass.size.width + glass.size.height;
  haloed(ctx, () => line(ctx, off(a, way, -far), off(a, way, far)), { width: 1.5, halo: 1.25, dash: [9, 6] });
}

/**
 * A count laid along a length as one would with the needle: a mark for each whole unit, a ring where the count ends.
 * @param {Ctx} ctx  @param {Glass} glass  @param {Point[]} pins where it begins, and which way it goes  @param {number} unit px of the picture  @param {number} count of units  @param {string} words  @param {Box[]} taken where other words stand
 */
export function steps(ctx, glass, pins, unit, count, words, taken) {
  const [a, b] = pins.map(glass.toGlass);
  const way = towards(a, b);
  const step = unit * glass.px;
  const end = off(a, way, step * count);
  haloed(ctx, () => line(ctx, a, end), { width: 3, colour: '#e0b000', under: dark, halo: 1.5 });
  const side = across(way);
  haloed(ctx, () => { for (const at of [a]) line(ctx, off(at, side, -9), off(at, side, 9)); }, { width: 3 });
  for (let i = 1; i <= Math.min(count + 1e-9, 200); i++) {
    disc(ctx, off(a, way, step * i), 8, dark);
    disc(ctx, off(a, way, step * i), 6, '#e0b000');
    if (!glass.loupe && step > 24) number(ctx, off(a, way, step * i), i);
  }
  if (count % 1 > 1e-9) { haloed(ctx, () => ring(ctx, end, 6), { width: 3, colour: '#e0b000', under: dark, halo: 1.5 }); }
  if (glass.loupe) return;
  chip(ctx, glass, words, [a, end], taken);
}

/** @param {Ctx} ctx  @param {Point} at  @param {number} n */
function number(ctx, [x, y], n) {
  ctx.font = '700 10px system-ui, "DejaVu Sans", sans-serif';
  ctx.textAlign = 'center';
  ctx.textBaseline = 'middle';
  ctx.fillStyle = dark;
  ctx.fillText(String(n), x, y + .5);
}

/** Four corners joined. @param {Ctx} ctx  @param {Glass} glass  @param {Point[]} corners  @param {string} words at its first side */
export function quad(ctx, glass, corners, words) {
  const at = corners.map(glass.toGlass);
  ctx.beginPath();
  at.forEach((one, i) => (i ? ctx.lineTo(...one) : ctx.moveTo(...one)));
  ctx.closePath();
  ctx.fillStyle = 'rgb(224 176 0 / .16)';
  ctx.fill();
  haloed(ctx, () => { at.forEach((one, i) => line(ctx, one, at[(i + 1) % at.length])); }, { width: 2 });
  if (!glass.loupe && words) chip(ctx, glass, words, [at[0], at[1]], at.map(([x, y]) => ({ left: x - 16, right: x + 16, top: y - 16, bottom: y + 16 })));
}

/** The length of a unit on the photo: how far apart its pins are. @param {Point[]} pins */
export const lengthOf = ([a, b]) => apart(a, b);
