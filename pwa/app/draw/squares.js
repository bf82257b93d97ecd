// A QR code, dark on light whatever the theme: cameras do not read it otherwise. The home computer makes its rows.
import { html } from '../lib/lit-html.js';

const margin = 4; // squares left white around it (ISO/IEC 18004)

/** @param {string[]} rows of 1 (dark) and 0  @param {string} label */
export function squares(rows, label) {
  const size = rows.length + 2 * margin;
  const dark = rows.flatMap((row, y) => [...row.matchAll(/1+/g)].map((run) => `M${run.index + margin} ${y + margin}h${run[0].length}v1h-${run[0].length}z`)).join('');
  return html`<svg class="squares" viewBox=${`0 0 ${size} ${size}`} role="img" aria-label=${label} shape-rendering="crispEdges"><rect width=${size} height=${size} fill="#fff"/><path d=${dark} fill="#000"/></svg>`;
}
