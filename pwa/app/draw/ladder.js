// The slide beside the pad: a rung for each fraction, the one taken marked.
import { html, svg } from '../lib/lit-html.js';
import { shareOf } from '../count.js';
import { fraction, num } from '../words.js';

/** Where a rung stands between the ends, in px of a ladder 300 high. @param {number} share */
const rungAt = (share) => 310 - share * 300;

/** The rungs with their signs; a free slide shows its quarters. @param {number} of */
function rungs(of) {
  const shown = of > 8 ? 4 : of;
  return Array.from({ length: shown + 1 }, (_, at) => ({ share: at / shown, text: at === 0 ? '0' : at === shown ? '1' : fraction(at, shown) }));
}

/**
 * @param {import('../count.js').Count} count
 * @param {boolean} left   for the left hand
 */
export function ladder(count, left) {
  const x = left ? 30 : 60;
  const textX = left ? x + 24 : x - 24;
  const taken = shareOf(count);
  const text = count.of > 8 ? num(taken, 2) : fraction(count.part, count.of);
  return html`<svg class="ladder" viewBox="0 0 90 320" aria-hidden="true">
    <path d=${`M${x} 10V310`} stroke="var(--line)" stroke-width="3"/>
    ${rungs(count.of).map((rung) => svg`<path d=${`M${x - 12} ${rungAt(rung.share)}h24`} stroke="var(--edge)" stroke-width="3" stroke-linecap="round"/>
      <text x=${textX} y=${rungAt(rung.share) + 6} text-anchor=${left ? 'start' : 'end'} font-size="19" font-weight="640" fill="var(--ink2)">${rung.text}</text>`)}
    ${taken > 0 ? svg`<path d=${`M${x} 310V${rungAt(taken)}`} stroke="var(--ink)" stroke-width="7" stroke-linecap="round"/>
      <circle cx=${x} cy=${rungAt(taken)} r="17" fill="var(--weld)"/><text x=${x} y=${rungAt(taken) + 6} text-anchor="middle" font-size="16" font-weight="700" fill="#10171a">${text}</text>`
    : svg`<circle cx=${x} cy="310" r="6" fill="var(--ink)"/>`}
  </svg>`;
}
