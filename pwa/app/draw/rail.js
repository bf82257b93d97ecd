// The rail on the edge of the screen: two marks, and between them the length they span. In px of the screen, since it is held up to sight.
import { svg } from '../lib/lit-html.js';

const WIDE = 72;

/**
 * @param {import('../span.js').Span} span
 * @param {boolean} left     on the left edge
 */
export function rail({ upper, lower, height }, left) {
  const x = (/** @type {number} */ fromEdge) => (left ? fromEdge : WIDE - fromEdge);
  const ticks = [];
  for (let at = 10; at < height; at += 10) ticks.push(`M${x(0)} ${at}H${x(at % 50 ? 6 : 11)}`);
  return svg`<svg class="rail-picture" width=${WIDE} height="100%" aria-hidden="true">
    <path d=${ticks.join('')} stroke="var(--edge)" stroke-width="1"/>
    <rect x=${left ? 0 : WIDE - 17} y=${upper} width="17" height=${lower - upper} fill="var(--wool)"/>
    ${mark(upper, -1, false, x)}${mark(lower, 1, true, x)}
  </svg>`;
}

/**
 * One mark: its line meets the very edge of the screen; its grip lies away from the other mark.
 * @param {number} y  @param {1 | -1} away  @param {boolean} ring  @param {(fromEdge: number) => number} x
 */
function mark(y, away, ring, x) {
  return svg`<path d=${`M${x(0)} ${y}H${x(WIDE)}`} stroke="var(--ground)" stroke-width="7"/><path d=${`M${x(0)} ${y}H${x(WIDE - 4)}`} stroke="var(--ink)" stroke-width="3"/>
    <path d=${`M${x(0)} ${y}h${x(22) - x(0)}l${(x(0) - x(22))} ${away * 15}z`} fill="var(--ink)"/>
    <circle cx=${x(WIDE - 18)} cy=${y} r="12" fill=${ring ? 'var(--ground)' : 'var(--ink)'} stroke="var(--ink)" stroke-width="4"/>`;
}
