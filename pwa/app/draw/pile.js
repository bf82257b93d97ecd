// Wool in grams, drawn to scale: piles on a kitchen scale, and bars whose loose end is what nobody can know beforehand.
import { html, nothing, svg } from '../lib/lit-html.js';

/** @typedef {{low: number, best: number, high: number}} Range */

const undyed = '#d9d2c3';

/** A heap of wool that stands on its base: scallops along half an ellipse. @param {number} x its middle  @param {number} y its foot  @param {number} w  @param {number} h */
function heap(x, y, w, h) {
  const n = Math.max(5, Math.min(13, Math.round(w / 14)));
  const at = (/** @type {number} */ i) => { const a = Math.PI * (1 - i / n); return [x + w / 2 * Math.cos(a), y - h * Math.sin(a)]; };
  let path = `M${x - w / 2} ${y}`;
  for (let i = 1; i <= n; i++) {
    const [[ax, ay], [bx, by]] = [at(i - 1), at(i)];
    const r = Math.hypot(bx - ax, by - ay) * 0.56;
    path += `A${r.toFixed(1)} ${r.toFixed(1)} 0 0 1 ${bx.toFixed(1)} ${by.toFixed(1)}`;
  }
  return `${path}Z`;
}

/** A few locks in a heap. @param {number} x  @param {number} y  @param {number} w  @param {number} h */
function locks(x, y, w, h) {
  return [-0.24, 0.02, 0.25].map((dx, i) => {
    const [lx, ly, r] = [x + dx * w, y - h * (0.3 + 0.14 * (i % 2)), Math.max(3, w * 0.07)];
    return `M${lx - r} ${ly}c0 ${-r * 1.3} ${r * 2} ${-r * 1.3} ${r * 2} 0c0 ${r} ${-r * 1.3} ${r} ${-r * 1.2} ${-r * 0.1}`;
  }).join('');
}

/** The widths of heaps whose areas are to one scale, and that fit into this room. @param {Range[]} ranges  @param {number} room  @param {number} tall */
function widths(ranges, room, tall) {
  const roots = ranges.map((range) => Math.sqrt(Math.max(0, range.high)));
  const all = roots.reduce((a, b) => a + b, 0);
  const each = Math.min((room - 14 * (ranges.length - 1)) / (all || 1), tall / 0.66 / (Math.max(...roots) || 1));
  return roots.map((root) => root * each);
}

/** One heap: as much as it takes at least, and about it dashed the most. @param {Range} range  @param {string | null} colour  @param {number} x  @param {number} foot  @param {number} w */
function pile(range, colour, x, foot, w) {
  if (!(w > 1)) return nothing;
  const inner = w * Math.sqrt(range.low / (range.high || 1));
  const size = (/** @type {number} */ wide) => /** @type {const} */ ([x, foot, wide, wide * 0.62]);
  return svg`<path d=${heap(...size(w))} fill=${colour ?? undyed} fill-opacity=".38" stroke="var(--edge)" stroke-width="1.600" stroke-dasharray="4 4"/>
    <path d=${heap(...size(inner))} fill=${colour ?? undyed} stroke="var(--edge)" stroke-width="2"/>
    <path d=${locks(...size(inner))} fill="none" stroke="#10171a" stroke-opacity=".28" stroke-width="2" stroke-linecap="round"/>`;
}

/**
 * Heaps side by side on a kitchen scale, which shows what all of them weigh.
 * @param {{range: Range, colour: string | null}[]} heaps  @param {string} display  @param {string} label
 */
export function onScales(heaps, display, label) {
  const shown = heaps.filter(({ range }) => range.high > 0);
  const wide = widths(shown.map(({ range }) => range), 236, 88);
  const all = wide.reduce((a, b) => a + b, 0) + 14 * Math.max(0, wide.length - 1);
  let x = 165 - all / 2;
  const places = wide.map((w) => { const middle = x + w / 2; x += w + 14; return middle; });
  return html`<svg class="on-scales" viewBox="0 0 330 184" role="img" aria-label=${label}>
    ${shown.map(({ range, colour }, i) => pile(range, colour, places[i], 108, wide[i]))}
    <path d="M34 108H296l-8 12H42z" fill="var(--edge)"/><path d="M150 120h30v8h-30z" fill="var(--edge)"/>
    <path d="M74 128H256c7 0 12 4 14 11l9 34c1 6-2 9-7 9H58c-5 0-8-3-7-9l9-34c2-7 7-11 14-11z" fill="var(--sunk)" stroke="var(--edge)" stroke-width="2"/>
    <rect x="92" y="137" width="146" height="36" rx="8" fill="var(--sheet)" stroke="var(--edge)" stroke-width="2"/>
    <text x="165" y="163" text-anchor="middle" font-size="23" font-weight="690" fill="var(--ink)">${display}</text>
  </svg>`;
}

const W = 330;
/** A round number at or above this. @param {number} most */
export function roundUp(most) {
  const power = 10 ** Math.floor(Math.log10(Math.max(most, 1)));
  return [1, 1.5, 2, 3, 4, 5, 6, 8, 10].map((n) => n * power).find((n) => n >= most - 1e-9) ?? most;
}

/**
 * What is needed of a wool: solid as far as it surely goes, loose from there to the most; below it what is in the bag.
 * @param {Range} need  @param {number | null} stock  @param {number} edge g at the right edge  @param {string | null} colour  @param {string} label
 */
export function needBar(need, stock, edge, colour, label) {
  const x = (/** @type {number} */ g) => Math.min(W - 3, 2 + (W - 6) * Math.min(1.02, g / edge));
  const over = stock !== null && stock > edge;
  return html`<svg class="need-bar" viewBox=${`0 0 ${W} ${stock === null ? 28 : 42}`} role="img" aria-label=${label}>
    <rect x="2" y="3" width=${Math.max(2, x(need.high) - 2)} height="22" rx="7" fill=${colour ?? undyed} fill-opacity=".38" stroke="var(--edge)" stroke-width="1.600" stroke-dasharray="4 4"/>
    <rect x="2" y="3" width=${Math.max(2, x(need.low) - 2)} height="22" rx="7" fill=${colour ?? undyed} stroke="var(--edge)" stroke-width="2"/>
    <path d=${`M${x(need.best)} 1v26`} stroke="var(--ink)" stroke-width="3" stroke-linecap="round"/>
    ${stock === null ? nothing : svg`<path d=${`M2 36H${Math.max(3, x(stock))}`} stroke="var(--ink)" stroke-width="7" ?hidden=${!stock}/>${stock === 0 ? svg`<path d="M2 31v10" stroke="var(--ink)" stroke-width="2.500"/>` : nothing}
      ${over ? svg`<path d=${`M${W - 12} 30l9 6-9 6z`} fill="var(--ink)" stroke="var(--sheet)" stroke-width="2"/>` : nothing}`}
  </svg>`;
}

/** The grams under bars of that scale; the step of a kitchen scale is shown beside, where it is wide enough to be seen. @param {number} edge  @param {(g: number) => string} text  @param {string} step what the step is called */
export function gramRule(edge, text, step) {
  const x = (/** @type {number} */ g) => 2 + (W - 6) * g / edge;
  const power = 10 ** Math.floor(Math.log10(edge));
  const every = [0.1, 0.2, 0.5, 1, 2].map((n) => n * power).find((n) => edge / n <= 6) ?? power;
  const ticks = Array.from({ length: Math.floor(edge / every + 1e-9) + 1 }, (_, i) => i * every);
  const fine = x(1) - x(0) >= 4 ? Array.from({ length: Math.floor(edge) + 1 }, (_, i) => i) : [];
  return html`<svg class="need-bar" viewBox=${`0 0 ${W} ${fine.length ? 46 : 28}`} aria-hidden="true">
    <path d=${`M2 2H${W - 4}${fine.map((g) => `M${x(g)} 2v5`).join('')}${ticks.map((g) => `M${x(g)} 2v9`).join('')}`} stroke="var(--edge)" stroke-width="1.600" fill="none"/>
    <g font-size="14" fill="var(--ink2)">${ticks.map((g, i) => svg`<text x=${x(g)} y="24" text-anchor=${i === 0 ? 'start' : g >= edge - every / 3 ? 'end' : 'middle'}>${text(g)}</text>`)}
    ${fine.length ? svg`<path d=${`M${x(0)} 33v6H${x(1)}v-6`} fill="none" stroke="var(--ink)" stroke-width="2"/><text x=${x(1) + 8} y="42">${step}</text>` : nothing}</g></svg>`;
}

/** Heaps in a row, each under its weight: a portion weighed out. @param {{grams: number, colour: string | null, text: string}[]} portions  @param {string} label */
export function portions(portions, label) {
  const ranges = portions.map(({ grams }) => ({ low: grams, best: grams, high: grams }));
  const [room, gap] = [W - 20, 14];
  const wide = widths(ranges, room - Math.max(0, portions.length - 4) * 20, 62);
  const cells = wide.map((w) => Math.max(w, 52));
  const all = cells.reduce((a, b) => a + b, 0) + gap * (cells.length - 1);
  const fit = Math.min(1, room / all);
  let x = W / 2 - all * fit / 2;
  const middles = cells.map((cell) => { const middle = x + cell * fit / 2; x += (cell + gap) * fit; return middle; });
  return html`<svg class="on-scales" viewBox=${`0 0 ${W} 92`} role="img" aria-label=${label}><path d=${`M6 68H${W - 6}`} stroke="var(--line)" stroke-width="3" stroke-linecap="round"/>
    ${portions.map(({ colour, text }, i) => svg`${pile(ranges[i], colour, middles[i], 67, wide[i] * fit)}<text x=${middles[i]} y="87" text-anchor="middle" font-size="16" font-weight="660" fill="var(--ink)">${text}</text>`)}</svg>`;
}
