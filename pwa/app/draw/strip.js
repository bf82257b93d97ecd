// Proportion strips: the subject as steps of the needle above, the piece as a bar of wool below, to one scale.
// Everything comes as shares of the drawing's width (0 to 1), worked out where the figures are.
import { svg, html, nothing } from '../lib/lit-html.js';

const W = 330;
const LEFT = 58; // room for the names of the two rows
const at = (/** @type {number} */ share) => LEFT + share * (W - LEFT - 14);

/** The subject's length stepped off in units: a dot at each whole one, a ring where it ends. @param {number} share @param {number} unit share of one unit; 0 for none @param {number} y */
function steps(share, unit, y) {
  const end = at(share);
  const marks = [];
  for (let n = 1; unit > .02 && n * unit < share - unit * .04 && n < 60; n++) marks.push(svg`<circle cx=${at(n * unit)} cy=${y} r="6" fill="var(--ink)"/>`);
  return svg`<path d=${`M${LEFT} ${y}H${end}`} stroke="var(--ink)" stroke-width="4" stroke-linecap="round"/>${marks}
    <circle cx=${end} cy=${y} r="6" fill="var(--sheet)" stroke="var(--ink)" stroke-width="4"/>`;
}

/** Wool to be laid on, dashed; wool to be pressed in, hatched. @param {number} from @param {number} to @param {'add' | 'take-in'} what @param {number} y @param {number} h */
function change(from, to, what, y, h) {
  const x = at(from);
  const wide = Math.max(at(to) - x, 3);
  if (what === 'add') return svg`<rect x=${x} y=${y} width=${wide} height=${h} rx="7" fill="var(--woad-soft)" stroke="var(--woad)" stroke-width="2" stroke-dasharray="5 4"/>`;
  const lines = [];
  for (let dx = 5; dx < wide + h / 2; dx += 8) lines.push(`M${x + Math.min(dx, wide)} ${y + Math.max(0, (dx - wide) * 2)}L${x + Math.max(0, dx - h / 2)} ${y + Math.min(h, dx * 2)}`);
  return svg`<rect x=${x} y=${y} width=${wide} height=${h} rx="4" fill="var(--madder-soft)" stroke="var(--madder)" stroke-width="2"/><path d=${lines.join('')} stroke="var(--madder)" stroke-width="1.500"/>`;
}

/** How far the end of the bar may be off, twice the standard uncertainty each way. @param {number} share @param {number} u @param {number} y */
const whisker = (share, u, y) => (u > 0 ? svg`<path d=${`M${at(Math.max(0, share - 2 * u))} ${y}H${at(Math.min(1.04, share + 2 * u))}M${at(Math.max(0, share - 2 * u))} ${y - 6}v12M${at(Math.min(1.04, share + 2 * u))} ${y - 6}v12`} stroke="var(--ink)" stroke-width="4.500" fill="none"/><path d=${`M${at(Math.max(0, share - 2 * u))} ${y}H${at(Math.min(1.04, share + 2 * u))}M${at(Math.max(0, share - 2 * u))} ${y - 6}v12M${at(Math.min(1.04, share + 2 * u))} ${y - 6}v12`} stroke="var(--sheet)" stroke-width="1.800" fill="none"/>` : nothing);

/**
 * One part of the subject above, of the piece below.
 * @param {{target: number, piece: number, u: number, unit: number, verdict: string}} strip  shares of the width
 * @param {{subject: string, piece: string, label: string}} names
 */
export function partStrip(strip, names) {
  const bar = Math.min(strip.piece, strip.verdict === 'take-in' ? strip.target : strip.piece);
  return html`<svg class="strip" viewBox=${`0 0 ${W} 68`} role="img" aria-label=${names.label}>
    <g font-size="14" fill="var(--ink2)"><text x="0" y="19">${names.subject}</text><text x="0" y="53">${names.piece}</text></g>
    ${steps(strip.target, strip.unit, 14)}
    <rect x=${LEFT} y="36" width=${Math.max(at(bar) - LEFT, 2)} height="24" rx="7" fill="var(--wool)"/>
    ${strip.verdict === 'add' ? change(strip.piece, strip.target, 'add', 36, 24) : nothing}
    ${strip.verdict === 'take-in' ? change(strip.target, strip.piece, 'take-in', 36, 24) : nothing}
    ${whisker(strip.piece, strip.u, 48)}
  </svg>`;
}

/**
 * All parts of one animal, longest first or in her order, to one scale.
 * @param {{id: string, name: string, share: number, u: number, unit: number, text: string, href?: string}[]} rows
 * @param {string} label
 */
export function bodyStrips(rows, label) {
  return html`<div class="body-strips" role="img" aria-label=${label}>${rows.map((row) => html`<div class="body-strip" aria-hidden="true"><span class="name">${row.name}</span>
    <svg viewBox="0 0 200 20" preserveAspectRatio="none"><rect x="0" y="4" width=${Math.max(1.5, row.share * 190)} height="12" rx="2" fill="var(--wool)"/>
      ${Array.from({ length: row.unit > .02 ? Math.min(40, Math.floor(row.share / row.unit + .001)) : 0 }, (_, n) => svg`<rect x=${(n + 1) * row.unit * 190 - .6} y="2" width="1.200" height="16" fill="var(--sheet)"/>`)}
      ${row.u > 0 ? svg`<rect x=${Math.max(0, (row.share - 2 * row.u) * 190)} y="9" width=${4 * row.u * 190} height="2" fill="var(--weld)"/>` : nothing}</svg><span class="figure">${row.text}</span></div>`)}</div>`;
}
