// A stretch of a ruler with the reading marked on it, to see whether what was typed is where the eye found it.
import { svg, html } from '../lib/lit-html.js';

const W = 350;
const IN = 25.4;

/** How a ruler is divided: the finest line, how many of them make a longer one, a numbered one. @type {Record<string, {fine: number, steps: number[], lines: number[], shown: number}>} */
const rules = {
  mm: { fine: 1, steps: [5, 10], lines: [14, 21, 30], shown: 1 },
  cm: { fine: 1, steps: [5, 10], lines: [14, 21, 30], shown: 10 },
  in: { fine: IN / 16, steps: [2, 4, 8, 16], lines: [10, 15, 20, 25, 32], shown: IN },
};

/**
 * @param {number | null} mm   the reading; nothing is marked without one
 * @param {string} unit        mm, cm or in
 * @param {number} inch        an inch is divided into so many
 * @param {string} label       said to a screen reader
 */
export function rulePicture(mm, unit, inch, label) {
  const { fine, steps, lines, shown } = unit === 'in' && inch === 32 ? { ...rules.in, fine: IN / 32, steps: [2, 4, 8, 16, 32], lines: [8, 12, 16, 21, 26, 32] } : rules[unit];
  const across = fine * (unit === 'in' ? (inch === 32 ? 1.5 : 2.3) * inch : 62);
  const from = Math.max(-fine * 3, (mm ?? 0) - across * 0.62);
  const scale = W / across;
  const numbered = steps[steps.length - 1];
  const marks = [];
  for (let n = Math.max(0, Math.ceil(from / fine)); n * fine <= from + across; n++) {
    const x = (n * fine - from) * scale;
    const rank = steps.filter((step) => n % step === 0).length;
    marks.push(svg`<path d=${`M${x.toFixed(2)} 0v${lines[rank]}`} stroke="var(--ink2)" stroke-width=${rank === steps.length ? 2 : 1.3}/>`);
    if (n % numbered === 0) marks.push(svg`<text x=${x.toFixed(2)} y="49" text-anchor="middle" font-size="15" font-weight="620" fill="var(--ink2)">${Math.round(n * fine / shown)}</text>`);
  }
  const at = mm === null ? 0 : (mm - from) * scale;
  return html`<svg class="rule-picture" viewBox=${`0 0 ${W} 80`} role="img" aria-label=${label}>
    <g transform="translate(0 24)"><rect x="-10" y="0" width=${W + 20} height="56" fill="var(--sheet)" stroke="var(--line)" stroke-width="2"/>${marks}</g>
    ${mm === null ? svg`` : svg`<rect x=${Math.max(-10, -from * scale)} y="4" width=${at - Math.max(-10, -from * scale)} height="16" rx="3" fill="var(--wool)"/><path d=${`M${at} 0V60`} stroke="var(--madder)" stroke-width="3"/><circle cx=${at} cy="12" r="7" fill="var(--madder)"/>`}
  </svg>`;
}
