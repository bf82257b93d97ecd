// A hand-out for each maker of a class: proportions, outlines and lays at true size, cautions, and a line for a name. On paper, as a PDF.
import { ask } from './ask.js';
import { look } from './look.js';
import { cap, words } from './words.js';
import './words-more.js';
import './words-pictures.js';
import './words-forms.js';
import { grams } from './words-wool.js';

const p = words.print;
const w = words.class;

/** @typedef {[number, number]} Point  @typedef {{name: string, what: string, rings_mm: Point[][], labels?: {text: string, at: Point}[]}} View */

/** The middle of what these enclose. @param {Point[][]} rings @returns {Point} */
function middle(rings) {
  const [xs, ys] = [0, 1].map((i) => rings.flat().map((point) => point[i]));
  return [(Math.min(...xs) + Math.max(...xs)) / 2, (Math.min(...ys) + Math.max(...ys)) / 2];
}

/** The lays of a form, as the sheet draws them: rolled from the near edge away. @param {any} seen the view `lay` @returns {View[]} */
export function layViews({ form, lay }) {
  return (lay?.pieces ?? []).map((/** @type {any} */ piece, /** @type {number} */ i) => {
    const rings = /** @type {Point[][]} */ (piece.rings_mm).map((ring) => ring.map(([x, y]) => /** @type {Point} */ ([x, -y])));
    const name = w.lay_of(cap(form.name), lay.pieces.length > 1 ? String(i + 1) : '').normalize('NFC');
    const n = form.count * (piece.count || 1);
    return { name, what: 'outline', rings_mm: rings, labels: [{ text: w.lay_times(n, grams(piece.mass_g)).replaceAll('\u00a0', ' '), at: middle(rings) }] };
  });
}

/**
 * @param {string} project  @param {{paper: 'A4' | 'Letter', title: string, date?: string}} how
 * @returns {Promise<{bytes: Uint8Array<ArrayBuffer>, pages: number} | null>} null where there is nothing to draw
 */
export async function handout(project, { paper, title, date }) {
  const [seen, { forms }] = await Promise.all([ask('view', { name: 'print', project }), ask('view', { name: 'forms', project })]);
  const lays = await Promise.all(forms.map((/** @type {{id: string}} */ form) => ask('view', { name: 'lay', form: form.id })));
  const outlines = seen.pictures.filter((/** @type {any} */ one) => !one.why && one.rings_mm.length).map((/** @type {any} */ one) => ({ name: (one.name || p.side[/** @type {'side'} */ (one.view ?? 'other')]).normalize('NFC'), what: 'outline', rings_mm: one.rings_mm }));
  const views = [...outlines, ...lays.flatMap(layViews)];
  if (!views.length) return null;
  const answer = await look('sheet', {
    paper, title: title.normalize('NFC'), size: seen.size ? p.size_is(seen.size_text, seen.size_part).normalize('NFC') : undefined, date, views,
    parts: seen.rows.map((/** @type {{part: string}} */ row) => ({ ...row, part: cap(row.part).normalize('NFC') })), cautions: [...w.points, w.defer], texts: p.printed,
  }, {});
  return { bytes: answer.bytes, pages: answer.pages };
}
