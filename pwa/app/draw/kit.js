// What each maker of a class gets, and needles counted out and in.
import { html, nothing, svg } from '../lib/lit-html.js';

const W = 330;
/** How thick a needle of a gauge is drawn: the higher the finer. @param {string} gauge */
const thick = (gauge) => Math.max(1.8, Math.min(5, 5 - (Number.parseInt(gauge, 10) - 32 || 4) * 0.3));

/** A felting needle with its crank, tip down. @param {number} x  @param {number} y of its top  @param {number} h  @param {number} w */
const needle = (x, y, h, w) => svg`<path d=${`M${x + 9} ${y}H${x + 3}Q${x} ${y} ${x} ${y + 4}V${y + h - 12}`} fill="none" stroke="currentColor" stroke-width=${w} stroke-linecap="round"/><path d=${`M${x - w / 2} ${y + h - 14}h${w}L${x} ${y + h}z`} fill="currentColor"/>`;

/** The needles of one maker, by gauge, each under its number. @param {{gauge: string, each: number, text: string}[]} needles  @param {string} label */
export function needleRow(needles, label) {
  const shown = needles.filter((one) => one.each > 0);
  const cell = Math.min(84, (W - 8) / Math.max(1, shown.length));
  return html`<svg class="on-scales" viewBox=${`0 0 ${W} 92`} role="img" aria-label=${label}>${shown.map((one, i) => {
    const middle = W / 2 + (i - (shown.length - 1) / 2) * cell;
    const n = Math.min(one.each, 4);
    return svg`<g color="var(--ink)">${Array.from({ length: n }, (_, k) => needle(middle + (k - (n - 1) / 2) * 14 - 3, 4, 62, thick(one.gauge)))}</g><text x=${middle} y="87" text-anchor="middle" font-size="15" font-weight="620" fill="var(--ink)">${one.text}</text>`;
  })}</svg>`;
}

/** Wires to one scale, their ends folded back. @param {{cut_mm: number}[]} wires  @param {number} longest mm  @param {number} n which */
export function wireLine(wires, longest, n) {
  const long = 12 + (W - 30) * wires[n].cut_mm / (longest || 1);
  return html`<svg class="need-bar" viewBox=${`0 0 ${W} 18`} aria-hidden="true"><path d=${`M14 5Q6 5 6 9t6 4H${long - 6}q6 0 6-4t-8-4`} fill="none" stroke="var(--ink)" stroke-width="3" stroke-linecap="round"/></svg>`;
}

/** All needles that were given out: those that came back stand, the others are still missing. @param {number} out  @param {number} back  @param {string} label */
export function needlesBack(out, back, label) {
  const across = Math.min(out, 24);
  const [w, h] = [W / Math.max(across, 12), 34];
  const rows = Math.ceil(out / Math.max(across, 1));
  if (out > 480) return nothing;
  return html`<svg class="on-scales" viewBox=${`0 0 ${W} ${rows * h + 2}`} role="img" aria-label=${label}>${Array.from({ length: out }, (_, i) => {
    const [x, y] = [(i % across) * w + w / 2, Math.floor(i / across) * h + 3];
    return i < back ? svg`<g color="var(--ink)">${needle(x - 2, y, 28, 2.4)}</g>` : svg`<path d=${`M${x - 2} ${y}v28`} stroke=${back ? 'var(--madder)' : 'var(--edge)'} stroke-width="2.400" stroke-dasharray="3 4"/>`;
  })}</svg>`;
}
