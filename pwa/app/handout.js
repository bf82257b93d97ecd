// A hand-out for each maker of a class: proportions, outlines and lays at true size, cautions, and a line for a name. On paper, as a PDF.
import { ask } from './ask.js';
import { layViews } from './lay-sheet.js';
import { look } from './look.js';
import { cap, words } from './words.js';
import './words-more.js';
import './words-pictures.js';
import './words-forms.js';

const p = words.print;
const w = words.class;

/**
 * @param {string} project  @param {{paper: 'A4' | 'Letter', title: string, date?: string}} how
 * @returns {Promise<{bytes: Uint8Array<ArrayBuffer>, pages: number} | null>} null where there is nothing to draw
 */
export async function handout(project, { paper, title, date }) {
  const [seen, { forms }] = await Promise.all([ask('view', { name: 'print', project }), ask('view', { name: 'forms', project })]);
  const lays = await Promise.all(forms.map((/** @type {{id: string}} */ form) => ask('view', { name: 'lay', form: form.id })));
  const outlines = seen.pictures.filter((/** @type {any} */ one) => !one.why && one.rings_mm.length).map((/** @type {any} */ one) => ({ name: (one.name || p.side[/** @type {'side'} */ (one.view ?? 'other')]).normalize('NFC'), what: 'outline', rings_mm: one.rings_mm }));
  const views = [...outlines, ...lays.flatMap(layViews)];
  if (!views.length && !seen.rows.length) return null;
  const answer = await look('sheet', {
    paper, title: title.normalize('NFC'), size: seen.size ? p.size_is(seen.size_text, seen.size_part).normalize('NFC') : undefined, date, views,
    parts: seen.rows.map((/** @type {{part: string}} */ row) => ({ ...row, part: cap(row.part).normalize('NFC') })), cautions: [...w.points, w.defer], texts: p.printed,
  }, {});
  return { bytes: answer.bytes, pages: answer.pages };
}
