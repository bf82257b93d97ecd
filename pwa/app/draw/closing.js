// One part's kept checks, a row each, closing in on the target: the line in the middle. To scale across.
import { svg, html, nothing } from '../lib/lit-html.js';

const W = 330;
const ROW = 30;
const MIDDLE = 178;
const REACH = 124; // px from the middle to the edge of the scale

const colours = /** @type {Record<string, string>} */ ({ add: 'var(--woad)', 'take-in': 'var(--madder)', right: 'var(--ink)', 'too-rough': 'var(--weld)', unknown: 'var(--edge)' });
const signs = /** @type {Record<string, string>} */ ({ add: 'M-4.500 0h9M0-4.500v9', 'take-in': 'M-4.500 0h9', right: 'M-5 0l3.500 4L5-4', 'too-rough': 'M-5 1q2.500-4.500 5 0t5 0' });

/** The edge of the scale: the next of these at or beyond what has to be shown. @param {number} most @param {number} tolerance */
export function reach(most, tolerance) {
  const need = Math.max(most * 1.08, tolerance * 2);
  return [0.1, 0.15, 0.2, 0.25, 0.3, 0.4, 0.5, 0.75, 1, 2, 5].find((edge) => edge >= need) ?? need;
}

/**
 * @param {{number: number, off: number | null, off_u: number | null, verdict: string}[]} points  oldest first; off is piece / target - 1
 * @param {number} edge        what the edge of the scale stands for
 * @param {number} tolerance   half the width of the band that counts as right
 * @param {string} label       said to a screen reader
 */
export function closing(points, edge, tolerance, label) {
  const height = points.length * ROW + 12;
  const x = (/** @type {number} */ off) => MIDDLE + REACH * Math.max(-1.04, Math.min(1.04, off / edge));
  const y = (/** @type {number} */ row) => 6 + ROW / 2 + row * ROW;
  const band = Math.min(REACH, REACH * tolerance / edge);
  const dots = points.map((point, row) => ({ ...point, cx: x(point.off ?? 0), cy: y(row) }));
  return html`<svg class="closing" viewBox=${`0 0 ${W} ${height}`} role="img" aria-label=${label}>
    <rect x=${MIDDLE - band} y="0" width=${2 * band} height=${height} rx="6" fill="var(--sunk)"/>
    <path d=${`M${MIDDLE} 0V${height}`} stroke="var(--ink)" stroke-width="3"/>
    <path d=${`M${MIDDLE - REACH} 0V${height}M${MIDDLE + REACH} 0V${height}`} stroke="var(--line)" stroke-width="2" stroke-dasharray="2 6"/>
    ${dots.length > 1 ? svg`<path d=${`M${dots.map((dot) => `${dot.cx} ${dot.cy}`).join('L')}`} fill="none" stroke="var(--edge)" stroke-width="2.500" stroke-linejoin="round"/>` : nothing}
    ${dots.map((dot, row) => svg`
      ${dot.off_u ? svg`<path d=${`M${x((dot.off ?? 0) - 2 * dot.off_u)} ${dot.cy}H${x((dot.off ?? 0) + 2 * dot.off_u)}`} stroke=${colours[dot.verdict] ?? 'var(--edge)'} stroke-width="3" stroke-linecap="round"/>` : nothing}
      <circle cx=${dot.cx} cy=${dot.cy} r=${row === dots.length - 1 ? 11 : 8.5} fill=${colours[dot.verdict] ?? 'var(--edge)'} stroke="var(--sheet)" stroke-width="2"/>
      ${signs[dot.verdict] ? svg`<path d=${signs[dot.verdict]} transform=${`translate(${dot.cx} ${dot.cy}) scale(${row === dots.length - 1 ? 1 : 0.75})`} fill="none" stroke=${dot.verdict === 'too-rough' ? '#10171a' : 'var(--sheet)'} stroke-width="2.600" stroke-linecap="round" stroke-linejoin="round"/>` : nothing}
      <text x="0" y=${dot.cy + 5} font-size="15" font-weight=${row === dots.length - 1 ? 680 : 500} fill="var(--ink2)">${dot.number}</text>`)}
  </svg>`;
}

/** The ends of the scale, named, above the rows. @param {{small: string, target: string, big: string}} names */
export function closingHead(names) {
  return html`<svg class="closing" viewBox=${`0 0 ${W} 22`} aria-hidden="true"><g font-size="14" fill="var(--ink2)"><text x=${MIDDLE - REACH} y="16" text-anchor="start">${names.small}</text><text x=${MIDDLE} y="16" text-anchor="middle" font-weight="680" fill="var(--ink)">${names.target}</text><text x=${MIDDLE + REACH} y="16" text-anchor="end">${names.big}</text></g></svg>`;
}
