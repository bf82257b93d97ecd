// Lays and rolled cores as they go onto paper and onto the glass, at true size: mm with y downwards, rolled to the right, the root on top.
import { becomes, isFlat } from './draw/lay.js';
import { sizesText } from './lay-sizes.js';
import { boxOf } from './draw/forms.js';
import { words } from './words.js';
import './words-forms.js';

const w = words.lay;

/** @typedef {import('./draw/forms.js').Point} Point  @typedef {import('./draw/forms.js').Rings} Rings  @typedef {import('./draw/lay.js').Piece} Piece */
/** @typedef {{text: string, at: Point}} Label  @typedef {{name: string, ends: [Point, Point]}} Mark */
/** @typedef {{name: string, what: 'outline', rings_mm: Rings, labels: Label[], marks: Mark[]}} View a view of the sheet */

/** As it lies on paper. @param {Piece} piece @returns {(at: Point) => Point} */
const lies = (piece) => (isFlat(piece) ? ([x, y]) => [x, -y] : ([x, y]) => [y, x]);

/** The arrow that says which way it is rolled: a slim outline of its own, on the lay. @param {number} x  @param {number} y  @param {number} long @returns {Point[]} */
const arrow = (x, y, long) => [[x, y - 0.4], [x + long - 4, y - 0.4], [x + long - 4, y - 2], [x + long, y], [x + long - 4, y + 2], [x + long - 4, y + 0.4], [x, y + 0.4]];

/** What the sheet's letters know: no narrow or unbroken blanks. @param {string} text */
const plain = (text) => text.replaceAll(/[\u00a0\u202f]/g, ' ').normalize('NFC');

/** A lay as it lies, with its words and its arrow. @param {Piece} piece */
export function layOutline(piece) {
  const rings_mm = piece.rings_mm.map((ring) => ring.map(lies(piece)));
  const rolled = isFlat(piece) ? null : rolls(piece);
  return { rings_mm, arrows: rolled?.rings ?? [], labels: [...ends(piece), ...(rolled ? [{ text: w.roll, at: rolled.at }] : [])] };
}

/** What stands at the edges of a lay. @param {Piece} piece @returns {Label[]} */
function ends(piece) {
  const { root, tip } = becomes(piece);
  if (isFlat(piece)) return root ? [{ text: w.root, at: [-7, 0] }] : [];
  const { width_mm: wide } = piece;
  return [...(root ? [{ text: w.root, at: /** @type {Point} */ ([-7, 1]) }] : []), ...(tip ? [{ text: w.tip, at: /** @type {Point} */ ([-6, wide - 1]) }] : []), ...(wide > 24 ? [{ text: w.begin, at: /** @type {Point} */ ([-13, wide / 2]) }] : [])];
}

/** Where the arrow lies: along the longest line of the lay, or below it where it is too small. @param {Piece} piece */
function rolls({ rings_mm, length_mm, width_mm }) {
  const long = Math.min(60, length_mm * 0.45);
  if (long < 12 || width_mm < 10) return { rings: [arrow(0, width_mm + 9, Math.max(14, long))], at: /** @type {Point} */ ([Math.max(14, long) / 2, width_mm + 14]) };
  const far = rings_mm.flat().reduce((most, at) => (at[1] > most[1] + 1e-9 ? at : most));
  const on = Math.min(width_mm - 5, Math.max(5, Math.abs(far[0] - width_mm / 2) > width_mm / 4 ? far[0] * 0.8 + width_mm * 0.08 : width_mm / 2));
  const after = length_mm > 84; // there is room for the words beyond its tip, where they are clear of it however the lay is turned
  return { rings: [arrow(6, on, long)], at: /** @type {Point} */ (after ? [long + 20, on] : [6 + long / 2, on > width_mm / 2 ? on - 5 : on + 5]) };
}

/**
 * A form's lays as views of the sheet.
 * @param {{form: {name: string, count: number}, lay: any, core_text: string | null, texts: any}} seen the view `lay` @returns {View[]}
 */
export function layViews({ form, lay, core_text, texts }) {
  return (lay?.pieces ?? []).map((/** @type {Piece} */ piece, /** @type {number} */ i) => {
    const { rings_mm, arrows, labels } = layOutline(piece);
    const box = /** @type {import('./draw/forms.js').Box} */ (boxOf(rings_mm));
    const { length, width } = texts.pieces[i];
    const times = isFlat(piece) ? form.count : form.count * piece.count;
    const fact = w.sheet_fact(lay.layers, core_text ?? '', times, piece.count > 1 && !isFlat(piece));
    const low = Math.max(box.high, ...labels.map(({ at }) => at[1])) + (labels.some(({ at }) => at[1] > box.high) ? 6 : 7);
    const down = isFlat(piece) ? [length, width] : [width, length];
    return {
      name: plain(w.sheet_lay(form.name)), what: /** @type {const} */ ('outline'), rings_mm: [...rings_mm, ...arrows],
      labels: [...labels, { text: fact, at: /** @type {Point} */ ([box.left + Math.min((box.right - box.left) / 2, 45), low]) }].map((label) => ({ ...label, text: plain(label.text) })),
      marks: [{ name: plain(down[1]), ends: [[box.left, box.low - 6], [box.right, box.low - 6]] }, { name: plain(down[0]), ends: [[box.right + 7, box.low], [box.right + 7, box.high]] }],
    };
  });
}

/**
 * The rolled core from the side, to hold the roll against, and from its end where that is no circle.
 * @param {{form: {name: string, kind: string}, start: {side_mm: Rings, front_mm: Rings} | null, texts: any}} seen @returns {View[]}
 */
export function rollViews({ form, start, texts }) {
  if (!start) return [];
  const rings_mm = start.side_mm.map((ring) => ring.map(([x, y]) => /** @type {Point} */ ([x, -y])));
  const box = /** @type {import('./draw/forms.js').Box} */ (boxOf(rings_mm));
  const { text, unit } = sizesText(texts.sizes, 'felted');
  return [{ name: plain(w.sheet_roll(form.name)), what: 'outline', rings_mm, marks: [], labels: [{ text: plain(w.sheet_roll_fact(`${text} ${unit}`.trim())), at: [(box.left + box.right) / 2, box.high + 7] }] }];
}

/** What of a form goes onto the sheet. @param {any} seen the view `lay`  @param {'lay' | 'roll' | 'both'} what @returns {View[]} */
export const formViews = (seen, what) => [...(what === 'roll' ? [] : layViews(seen)), ...(what === 'lay' ? [] : rollViews(seen))];

/**
 * What the glass can show of a form: the rolled core, and its lay.
 * @param {any} seen the view `lay` @returns {{id: 'roll' | 'lay', name: string, rings_mm: Rings, arrows: Rings, labels: Label[]}[]}
 */
export function onGlass(seen) {
  if (!seen?.start) return [];
  const rings_mm = /** @type {Rings} */ (seen.start.side_mm).map((ring) => ring.map(([x, y]) => /** @type {Point} */ ([x, -y])));
  return [{ id: 'roll', name: w.true_roll, rings_mm, arrows: [], labels: [] }, ...seen.lay.pieces.slice(0, 1).map((/** @type {Piece} */ piece) => ({ id: /** @type {const} */ ('lay'), name: w.true_lay, ...layOutline(piece) }))];
}
