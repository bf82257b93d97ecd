// What was learned of a maker's hand: piece by piece, with the range that closes in; and where one piece lies between loose and firm.
import { html, nothing, svg } from '../lib/lit-html.js';

/** @typedef {{value: number, mean: number, low: number, high: number}} Point  @typedef {{n: number, mean: number, low: number, high: number, default: number, points: Point[]}} Learned */

const [W, H] = [330, 168];
const [LEFT, RIGHT, TOP, FOOT] = [46, 14, 12, 26];

/** Steps of the upright scale: three to five of them, at round numbers. @param {number} low  @param {number} high */
function rounds(low, high) {
  const power = 10 ** Math.floor(Math.log10(high - low));
  const step = [0.1, 0.2, 0.25, 0.5, 1, 2].map((n) => n * power).find((n) => (high - low) / n <= 4.5) ?? power;
  const from = Math.ceil(low / step - 1e-9);
  return Array.from({ length: Math.floor(high / step + 1e-9) - from + 1 }, (_, i) => (from + i) * step);
}

/**
 * @param {Learned} learned  @param {{text: (n: number) => string, label: string, most?: number}} how  most: how many pieces are shown, the last ones
 */
export function learning(learned, { text, label, most = 24 }) {
  const points = learned.points.slice(-most);
  const first = learned.points.length - points.length;
  const seen = points.flatMap((point) => [point.value, point.low, point.high]).concat(learned.default, points.length ? [] : [learned.low, learned.high]);
  const pad = (Math.max(...seen) - Math.min(...seen)) * 0.08 || learned.default * 0.1;
  const [low, high] = [Math.min(...seen) - pad, Math.max(...seen) + pad];
  const y = (/** @type {number} */ v) => TOP + (H - TOP - FOOT) * (high - v) / (high - low);
  const places = Math.max(points.length, 4);
  const x = (/** @type {number} */ i) => LEFT + 16 + (W - LEFT - RIGHT - 32) * (points.length ? i / Math.max(1, places - 1) : 0);
  const line = (/** @type {(point: Point) => number} */ of, /** @type {Point[]} */ all = points) => all.map((point, i) => `${x(i)} ${y(of(point))}`).join('L');
  const band = points.length > 1 ? `M${line((p) => p.high)}L${points.map((p, i) => `${x(i)} ${y(p.low)}`).reverse().join('L')}Z` : '';
  const lone = points.length === 1 ? points[0] : null;
  const step = Math.max(1, Math.ceil(points.length / 8));
  return html`<svg class="learning" viewBox=${`0 0 ${W} ${H}`} role="img" aria-label=${label}>
    <g font-size="14" fill="var(--ink2)">${rounds(low, high).map((v) => svg`<path d=${`M${LEFT} ${y(v)}H${W - RIGHT}`} stroke="var(--line)" stroke-width="1.500"/><text x=${LEFT - 7} y=${y(v) + 5} text-anchor="end">${text(v)}</text>`)}
      ${points.map((_, i) => (i % step === 0 || i === points.length - 1 && step === 1 ? svg`<text x=${x(i)} y=${H - 6} text-anchor="middle">${first + i + 1}</text>` : nothing))}</g>
    ${band ? svg`<path d=${band} fill="var(--woad-soft)"/>` : lone ? svg`<rect x=${x(0) - 9} y=${y(lone.high)} width="18" height=${y(lone.low) - y(lone.high)} rx="5" fill="var(--woad-soft)"/>` : svg`<rect x=${LEFT} y=${y(learned.high)} width=${W - LEFT - RIGHT} height=${y(learned.low) - y(learned.high)} fill="var(--sunk)"/>`}
    <path d=${`M${LEFT} ${y(learned.default)}H${W - RIGHT}`} stroke="var(--ink2)" stroke-width="2" stroke-dasharray="6 6"/>
    ${points.length > 1 ? svg`<path d=${`M${line((p) => p.mean)}`} fill="none" stroke="var(--woad)" stroke-width="3.500" stroke-linejoin="round" stroke-linecap="round"/>` : lone ? svg`<path d=${`M${x(0) - 11} ${y(lone.mean)}h22`} stroke="var(--woad)" stroke-width="3.500" stroke-linecap="round"/>` : nothing}
    ${points.map((point, i) => svg`<circle cx=${x(i)} cy=${y(point.value)} r=${i === points.length - 1 ? 6.5 : 5} fill="var(--ink)" stroke="var(--sheet)" stroke-width="2"/>`)}
  </svg>`;
}

/**
 * One piece on the way from loose wool to the firmest felt. Each zone is as wide as the others, so that all can be read.
 * @param {number} density g/cm3  @param {string} which of the zones it lies in  @param {{from: number, to: number, name: string, text: string}[]} zones from low to high  @param {string} label
 */
export function densityLine(density, which, zones, label) {
  const wide = (W - 12) / zones.length;
  const nth = Math.max(0, zones.findIndex((zone) => zone.name === which));
  const { from, to } = zones[nth];
  const x = 6 + wide * (nth + Math.max(0.06, Math.min(0.94, (density - from) / (to - from))));
  return html`<svg class="learning" viewBox=${`0 0 ${W} 60`} role="img" aria-label=${label}>
    ${zones.map((zone, i) => { const on = i === nth; return svg`<rect x=${7 + wide * i} y="22" width=${wide - 2} height="14" rx="3" fill=${on ? 'var(--ink)' : 'var(--sunk)'} stroke="var(--edge)" stroke-width="1.200"/>
      <text x=${6 + wide * (i + 0.5)} y="54" text-anchor="middle" font-size="14" font-weight=${on ? 700 : 500} fill=${on ? 'var(--ink)' : 'var(--ink2)'}>${zone.text}</text>`; })}
    <path d=${`M${x} 21l-9-16h18z`} fill="var(--ink)" stroke="var(--sheet)" stroke-width="2"/>
  </svg>`;
}
