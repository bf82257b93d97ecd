// How a view lies on the pages that it is printed on: each page's window upon it, with its number.
import { html, svg, nothing } from '../lib/lit-html.js';

/** @typedef {[left: number, top: number, width: number, height: number]} Box mm */

/** @param {[number, number][][]} rings */
const pathOf = (rings) => rings.map((ring) => `M${ring.map(([x, y]) => `${x.toFixed(2)} ${y.toFixed(2)}`).join('L')}Z`).join('');

/** @param {Box[]} boxes @returns {Box} */
function around(boxes) {
  const left = Math.min(...boxes.map(([x]) => x));
  const top = Math.min(...boxes.map(([, y]) => y));
  return [left, top, Math.max(...boxes.map(([x, , w]) => x + w)) - left, Math.max(...boxes.map(([, y, , h]) => y + h)) - top];
}

/**
 * @param {{drawing: Box, windows: Box[], first_page: number, shared?: boolean}} laid   as the engine laid it
 * @param {{address: string | undefined, place: {left_mm: number, top_mm: number, width_mm: number, height_mm: number} | null, rings: [number, number][][]}} what  the picture to show, or none, and the outlines
 * @param {string} label
 */
export function pageMap({ drawing, windows, first_page, shared }, { address, place, rings }, label) {
  const pages = windows.length ? windows : [/** @type {Box} */ ([drawing[0] - 6, drawing[1] - 6, drawing[2] + 12, drawing[3] + 12])];
  const [left, top, width, height] = around(pages);
  const pad = width * 0.012;
  const unit = Math.max(width, height * 0.7) / 100;
  return html`<svg class="page-map" viewBox=${`${left - pad} ${top - pad} ${width + 2 * pad} ${height + 2 * pad}`} role="img" aria-label=${label}>
    ${pages.map(([x, y, w, h]) => svg`<rect x=${x} y=${y} width=${w} height=${h} fill="var(--paper)"/>`)}
    ${address && place ? svg`<svg x=${drawing[0]} y=${drawing[1]} width=${drawing[2]} height=${drawing[3]} viewBox=${drawing.join(' ')}><image href=${address} x=${place.left_mm} y=${place.top_mm} width=${place.width_mm} height=${place.height_mm} preserveAspectRatio="none"/></svg>` : nothing}
    ${rings.length ? svg`<path d=${pathOf(rings)} fill=${address ? 'none' : 'var(--paper-wool)'} fill-rule="evenodd" stroke="var(--paper-ink)" stroke-width=${unit * 0.5} stroke-linejoin="round"/>` : nothing}
    ${pages.map(([x, y, w, h]) => svg`<rect x=${x} y=${y} width=${w} height=${h} fill="none" stroke="var(--paper-line)" stroke-width=${unit * 0.45} stroke-dasharray=${shared ? `${unit * 2} ${unit * 1.4}` : nothing}/>`)}
    ${shared ? nothing : pages.map(([x, y, w, h], nth) => number(first_page + nth, spot(pages, nth, [x, y, w, h], unit), unit))}
  </svg>`;
}

/** Where a page's number stands: in the corner of its own that no neighbour shares. @param {Box[]} pages  @param {number} nth  @param {Box} page  @param {number} unit */
function spot(pages, nth, [x, y, w, h], unit) {
  const lefter = pages.some(([px], i) => i !== nth && px < x - 1);
  const higher = pages.some(([, py], i) => i !== nth && py < y - 1);
  return [lefter ? x + w - unit * 5 : x + unit * 5, higher ? y + h - unit * 5 : y + unit * 5];
}

/** @param {number} n  @param {number[]} at  @param {number} unit */
const number = (n, [x, y], unit) => svg`<circle cx=${x} cy=${y} r=${unit * 3.1} fill="var(--paper-ink)"/><text x=${x} y=${y + unit * 1.35} text-anchor="middle" font-size=${unit * 3.8} font-weight="700" fill="var(--paper)">${n}</text>`;
