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

/** Where the chip of a line goes: at its middle, or along it where no other chip is. @param {Point} a  @param {Point} b  @param {number} width  @param {Box[]} taken @returns {Point} */
export function chipPlace(a, b, width, taken) {
  const side = across(towards(a, b));
  const up = side[1] > 0 ? -1 : 1;
  for (const share of [.5, .3, .7, .15, .85, 0, 1]) {
    for (const far of [22, -22, 48, -48]) {
      const at = off([a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share], side, up * far);
      const box = { left: at[0] - width / 2, right: at[0] + width / 2, top: at[1] - 14, bottom: at[1] + 14 };
      if (!taken.some((other) => meet(box, other))) return at;
    }
  }
  return off([(a[0] + b[0]) / 2, (a[1] + b[1]) / 2], side, up * 20);
}

/**
 * Everything that is kept on the photo. Gives back where the chips lie, each with what it is of.
 * @param {Ctx} ctx  @param {Glass} glass  @param {Kept[]} kept  @param {Point[]} pins that are being set, which no chip should cover @returns {{id: string, box: Box}[]}
 */
export function keptLines(ctx, glass, kept, pins) {
  /** @type {{id: string, box: Box, at: Point, words: string}[]} */
  const chips = [];
  const taken = pins.map(glass.toGlass).map(([x, y]) => ({ left: x - 20, right: x + 20, top: y - 20, bottom: y + 20 }));
  for (const one of kept) keptLine(ctx, glass, one, chips, taken);
  return chips.map(({ id, words, at }) => ({ id, box: label(ctx, words, at, { size: glass.size, ground: light, ink: dark }) }));
}

/** @param {Ctx} ctx  @param {Glass} glass  @param {Kept} kept  @param {{id: string, box: Box, at: Point, words: string}[]} chips of those drawn before; its own is added  @param {Box[]} taken */
function keptLine(ctx, glass, { id, pins, along, words }, chips, taken) {
  const [a, b] = (along ? [foot(along, pins[1]), foot(along, pins[1])] : pins).map(glass.toGlass);
  if (along) {
    const side = across(towards(glass.toGlass(along[0]), glass.toGlass(along[1])));
    haloed(ctx, () => line(ctx, off(a, side, -12), off(a, side, 12)), { colour: woad, width: 3 });
    disc(ctx, a, 5, light);
    disc(ctx, a, 3.5, woad);
  } else dimension(ctx, a, b, { colour: woad });
  if (glass.loupe || !words) return;
  ctx.font = '600 14px system-ui, "DejaVu Sans", sans-serif';
  const width = ctx.measureText(words).width + 20;
  const at = chipPlace(a, along ? off(a, [1, 0], 1) : b, width, [...taken, ...chips.map(({ box }) => box)]);
  chips.push({ id, words, at, box: { left: at[0] - width / 2, right: at[0] + width / 2, top: at[1] - 14, bottom: at[1] + 14 } });
}

/** The length that is measured now. @param {Ctx} ctx  @param {Glass} glass  @param {Point[]} pins  @param {string} words */
export function nowLine(ctx, glass, pins, words) {
  const [a, b] = pins.map(glass.toGlass);
  ctx.font = '600 14px system-ui, "DejaVu Sans", sans-serif';
  dimension(ctx, a, b, { width: 3, end: 0 });
  if (!glass.loupe && words) label(ctx, words, chipPlace(a, b, ctx.measureText(words).width + 20, [a, b].map(([x, y]) => ({ left: x - 20, right: x + 20, top: y - 20, bottom: y + 84 }))), { size: glass.size });
}

/** The part that a place lies along: its line, where it is counted from, and the place's foot on it. @param {Ctx} ctx  @param {Glass} glass  @param {Point[]} along  @param {Point | null} at  @param {string} from */
export function alongLine(ctx, glass, along, at, from) {
  ctx.font = '600 14px system-ui, "DejaVu Sans", sans-serif';
  const [a, b] = along.map(glass.toGlass);
  dimension(ctx, a, b, { colour: woad });
  disc(ctx, a, 9, light);
  disc(ctx, a, 7, woad);
  const out = towards(b, a);
  if (!glass.loupe && from) label(ctx, from, off(a, out, 26 + (Math.abs(out[0]) * ctx.measureText(from).width) / 2), { size: glass.size });
  if (!at) return;
  const place = glass.toGlass(foot(along, at));
  const side = across(towards(a, b));
  haloed(ctx, () => { line(ctx, off(place, side, -14), off(place, side, 14)); line(ctx, a, place); }, { width: 4 });
  haloed(ctx, () => line(ctx, place, glass.toGlass(at)), { width: 1.5, dash: [4, 4] });
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
  ctx.font = '600 14px system-ui, "DejaVu Sans", sans-serif';
  label(ctx, words, chipPlace(a, end, ctx.measureText(words).width + 20, taken), { size: glass.size });
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
  if (!glass.loupe && words) label(ctx, words, chipPlace(at[0], at[1], ctx.measureText(words).width + 20, []), { size: glass.size });
}

/** The length of a unit on the photo: how far apart its pins are. @param {Point[]} pins */
export const lengthOf = ([a, b]) => apart(a, b);
