// The wire inside, drawn: where it runs in the animal, and each piece as it is cut, with its ends folded back.
import { html, svg } from '../lib/lit-html.js';
import { barOf, fitted, pathOf, placed, placedPoint, roomFor } from './forms.js';

/** @typedef {import('./forms.js').Point} Point  @typedef {import('./forms.js').Solid} Solid */
/** @typedef {{name: string, count: number, cut_mm: number, inside_mm: number, cut_text: string | null, inside_text: string | null}} Wire */

const n = (/** @type {number} */ x) => Math.round(x * 10) / 10;
/** How much of an end is folded back, mm: as the engine counts it. */
const FOLD = 8;

/** A wire from the root of a form towards its tip, folded back at its end: points in mm along the form's own axis. @param {number} inside mm  @param {number} gap how far the fold lies beside it, mm @returns {Point[]} */
export function foldedAt(inside, gap) {
  const back = Math.max(inside - FOLD, inside / 2);
  return [[0, 0], [inside - gap, 0], [inside, gap / 2], [inside - gap, gap], [back, gap]];
}

/** @param {{animal: {side: import('./forms.js').Rings, front: import('./forms.js').Rings}, forms: (Solid & {name: string})[], wires: Wire[], width: number, most: number, label: string, bar: (mm: number) => string}} what */
export function wireInside({ animal, forms, wires, width, most, label, bar }) {
  const fit = fitted(roomFor(animal, forms, 'side'), { width, most, pad: 26 });
  const gap = 5 / fit.scale;
  const lines = forms.flatMap((form) => {
    const wire = wires.find((one) => one.name === form.name);
    return form.place && wire ? [{ place: form.place, line: foldedAt(wire.inside_mm, gap) }] : [];
  });
  const long = barOf(fit);
  return html`<svg class="animal-forms" viewBox=${`0 0 ${width} ${n(fit.height)}`} role="img" aria-label=${label}>
    <path class="animal-outline" d=${pathOf(animal.side, fit.to)}/>
    ${forms.map((form) => (form.place ? svg`<path class="form-shape faint" d=${pathOf(placed(form.side_mm, form.place), fit.to)}/>` : ''))}
    ${lines.map(({ place, line }) => { const on = line.map((at) => fit.to(placedPoint(at, place)).map(n).join(' ')); return svg`<path class="wire-under" d=${`M${on.join('L')}`}/><path class="wire-line" d=${`M${on.join('L')}`}/><circle class="wire-root" cx=${on[0].split(' ')[0]} cy=${on[0].split(' ')[1]} r="4"/>`; })}
    <path class="size-line" d=${`M12 ${n(fit.height - 10)}h${n(long * fit.scale)}M12 ${n(fit.height - 15)}v10M${n(12 + long * fit.scale)} ${n(fit.height - 15)}v10`}/><text class="bar-text" x=${n(19 + long * fit.scale)} y=${n(fit.height - 5.5)}>${bar(long)}</text></svg>`;
}

/** One wire as it is cut, to the scale of the longest, both ends folded. @param {number} mm  @param {number} longest  @param {number} [width] */
export function wireCut(mm, longest, width = 300) {
  const scale = (width - 16) / Math.max(longest, 1);
  const long = Math.max(mm * scale, 24);
  const fold = Math.min(Math.max(FOLD * scale, 10), long / 3);
  return html`<svg class="wire-cut" viewBox=${`0 0 ${width} 20`} aria-hidden="true"><path class="wire-line" d=${`M${n(8 + fold)} 6H12a4 4 0 000 8H${n(long)}a4 4 0 000-8H${n(long + 4 - fold)}`}/></svg>`;
}
