// The count as it is done: steps of the needle one after another, the thumb's mark at each, the part left over at the end.
import { html, nothing, svg } from '../lib/lit-html.js';

const WIDTH = 350;

/**
 * @param {number} whole     whole units counted
 * @param {number} share     the part left over, 0 to 1 of a unit
 * @param {string} label     said to a screen reader
 */
export function needleLine(whole, share, label) {
  const steps = Math.max(whole + (share > 0 ? 1 : 0), 1);
  const step = Math.min(92, (WIDTH - 20) / Math.max(whole + share, 1));
  const gap = Math.min(12, step / 5);
  const dot = Math.min(9, Math.max(3, step / 7));
  // All lines are one shape and all marks another: it is drawn anew at every tap.
  let lines = '';
  let marks = '';
  for (let at = 0; at < Math.min(steps, 60); at++) {
    const long = at < whole ? step : step * share;
    const from = 6 + at * step + (at ? gap : 0);
    const to = 6 + at * step + long;
    if (long > 0 && to > from) lines += `M${from} 16H${to}`;
    if (at < whole) marks += `M${to} 16h0`;
  }
  const end = 6 + whole * step + step * share;
  const empty = whole + share === 0;
  return html`<svg class="needle-line" preserveAspectRatio="xMinYMid" viewBox=${`0 0 ${WIDTH} 32`} role="img" aria-label=${label}>
    <path d=${empty ? `M6 16H${6 + step}` : lines} stroke=${empty ? 'var(--line)' : 'var(--ink)'} stroke-width="4" stroke-linecap="round" stroke-dasharray=${empty ? '1 10' : 'none'}/>
    <path d=${marks} stroke="var(--ink)" stroke-width=${2 * dot} stroke-linecap="round"/>
    ${share > 0 && steps <= 60 ? svg`<circle cx=${end} cy="16" r=${Math.max(4, dot - 2)} fill="var(--ground)" stroke="var(--ink)" stroke-width="4"/>` : nothing}</svg>`;
}
