// One form from the side and along its axis, to scale, with its sizes as dimension lines; and a line of points that is drawn by hand.
import { html, nothing, svg } from '../lib/lit-html.js';
import { boxOf, pathOf } from './forms.js';

/** @typedef {import('./forms.js').Rings} Rings  @typedef {import('./forms.js').Point} Point */
/** @typedef {'along' | 'up' | 'tip' | 'deep'} Where below the side, left of it, right of it, below the front */

/** Where each size of each solid stands in its drawing. @type {Record<string, Partial<Record<Where, string>>>} */
const places = {
  ball: { up: 'width' }, egg: { along: 'length', up: 'width', deep: 'depth' }, cylinder: { along: 'length', up: 'width' }, rounded: { along: 'length', up: 'width' }, cone: { along: 'length', up: 'width' },
  frustum: { along: 'length', up: 'width', tip: 'end' }, teardrop: { along: 'length', up: 'width' }, disc: { along: 'thickness', up: 'width' }, block: { along: 'length', up: 'width', deep: 'depth' },
  ring: { along: 'width', deep: 'thickness' }, ear: { along: 'length', up: 'width', deep: 'thickness' }, turned: { along: 'length', up: 'width' },
};

const n = (/** @type {number} */ x) => Math.round(x * 10) / 10;

/** @param {number} x1  @param {number} x2  @param {number} y  @param {string} text */
function acrossLine(x1, x2, y, text) {
  return svg`<path class="size-line" d=${`M${n(x1)} ${n(y)}H${n(x2)}M${n(x1)} ${n(y - 6)}v12M${n(x2)} ${n(y - 6)}v12`}/><text class="size-text" x=${n((x1 + x2) / 2)} y=${n(y + 20)} text-anchor="middle">${text}</text>`;
}

/** @param {number} x  @param {number} y1  @param {number} y2  @param {string} text  @param {-1 | 1} side where the text stands */
function upLine(x, y1, y2, text, side) {
  const [tx, ty] = [n(x + side * 9), n((y1 + y2) / 2)];
  return svg`<path class="size-line" d=${`M${n(x)} ${n(y1)}V${n(y2)}M${n(x - 6)} ${n(y1)}h12M${n(x - 6)} ${n(y2)}h12`}/><text class="size-text" text-anchor="middle" transform=${`translate(${tx} ${ty}) rotate(${side < 0 ? -90 : 90})`}>${text}</text>`;
}

/**
 * @param {{form: {kind: string, side_mm: Rings, front_mm: Rings}, width: number, most: number, label: string, texts: Record<string, string | null>, names: {side: string, front: string}}} what
 */
export function formWithSizes({ form, width, most, label, texts, names }) {
  const [side, front] = [boxOf(form.side_mm), boxOf(form.front_mm)];
  if (!side || !front) return nothing;
  const at = places[form.kind] ?? {};
  const text = (/** @type {Where} */ where) => (at[where] ? texts[/** @type {string} */ (at[where])] ?? null : null);
  const [left, gap, right, over, below] = [34, text('tip') ? 52 : 34, 20, 28, 40];
  const [wide, high] = [side.right - side.left + front.right - front.left, Math.max(side.high - side.low, front.high - front.low)];
  const scale = Math.min((width - left - gap - right) / wide, (most - over - below) / high);
  const height = Math.max(high * scale + over + below, 120);
  const spare = (width - left - gap - right - wide * scale) / 2;
  const middle = over + (height - over - below) / 2;
  const sideTo = (/** @type {Point} */ [x, y]) => /** @type {Point} */ ([left + spare + (x - side.left) * scale, middle - (y - (side.high + side.low) / 2) * scale]);
  const frontLeft = left + spare + (side.right - side.left) * scale + gap;
  const frontTo = (/** @type {Point} */ [x, y]) => /** @type {Point} */ ([frontLeft + (x - front.left) * scale, middle - (y - (front.high + front.low) / 2) * scale]);
  const [[x1, y1], [x2, y2]] = [sideTo([side.left, side.high]), sideTo([side.right, side.low])];
  const [[f1, g1], [f2, g2]] = [frontTo([front.left, front.high]), frontTo([front.right, front.low])];
  const tip = tipOf(form.side_mm, side);
  const [[, t1], [, t2]] = [sideTo([side.right, tip]), sideTo([side.right, -tip])];
  const base = Math.max(y2, g2) + 12;
  return html`<svg class="form-sizes" viewBox=${`0 0 ${width} ${n(height)}`} role="img" aria-label=${label}>
    <text class="bar-text" x=${n((x1 + x2) / 2)} y="15" text-anchor="middle">${names.side}</text><text class="bar-text" x=${n((f1 + f2) / 2)} y="15" text-anchor="middle">${names.front}</text>
    <path class="axis-line" d=${`M${n(x1 - 8)} ${n(sideTo([0, 0])[1])}H${n(x2 + 8)}`}/>
    <path class="form-shape solo" fill-rule="evenodd" d=${pathOf(form.side_mm, sideTo)}/><path class="form-shape solo" fill-rule="evenodd" d=${pathOf(form.front_mm, frontTo)}/>
    ${text('along') ? acrossLine(x1, x2, base, /** @type {string} */ (text('along'))) : nothing}
    ${text('up') ? upLine(x1 - 14, y1, y2, /** @type {string} */ (text('up')), -1) : nothing}
    ${text('tip') ? upLine(x2 + 14, t1, t2, /** @type {string} */ (text('tip')), 1) : nothing}
    ${text('deep') ? acrossLine(f1, f2, base, /** @type {string} */ (text('deep'))) : nothing}</svg>`;
}

/** Half of how thick it is at its tip. @param {Rings} rings  @param {import('./forms.js').Box} box */
function tipOf(rings, box) {
  const ends = rings.flat().filter(([x]) => box.right - x < 1e-6).map(([, y]) => Math.abs(y));
  return Math.max(0, ...ends);
}

/**
 * A profile, or the outline of a flat piece, with its points to take hold of.
 * @param {{points: Point[], kind: 'turned' | 'ear', chosen: number, fit: import('./forms.js').Fit, label: string, name: (n: number) => string, bar: {text: string, mm: number}, choose: (n: number) => void}} what
 */
export function pointsDrawing({ points, kind, chosen, fit, label, name, bar, choose }) {
  const ring = kind === 'ear' ? points : [...points, ...points.toReversed().map(([x, r]) => /** @type {Point} */ ([x, -r]))];
  const [x0, y0] = fit.to([fit.box.left, 0]);
  const [x1] = fit.to([fit.box.right, 0]);
  return html`<svg class="points-drawing" viewBox=${`0 0 ${fit.width} ${n(fit.height)}`} role="group" aria-label=${label}>
    <path class="axis-line" d=${`M${n(x0 - 10)} ${n(y0)}H${n(x1 + 10)}`}/>
    <path class="form-shape solo" fill-rule="evenodd" d=${pathOf([ring], fit.to)}/>
    <path class="size-line" d=${`M12 ${n(fit.height - 10)}h${n(bar.mm * fit.scale)}M12 ${n(fit.height - 15)}v10M${n(12 + bar.mm * fit.scale)} ${n(fit.height - 15)}v10`}/><text class="bar-text" x=${n(19 + bar.mm * fit.scale)} y=${n(fit.height - 5.5)}>${bar.text}</text>
    ${points.map((at, i) => pointHandle(fit.to(at), i, i === chosen, name(i + 1), choose))}</svg>`;
}

/** @param {Point} at  @param {number} i  @param {boolean} chosen  @param {string} label  @param {(n: number) => void} choose */
function pointHandle([x, y], i, chosen, label, choose) {
  return svg`<g class=${chosen ? 'point-handle chosen' : 'point-handle'} data-point=${i} role="button" tabindex="0" aria-label=${label} aria-pressed=${chosen} @focus=${() => choose(i)}><circle class="touch" cx=${n(x)} cy=${n(y)} r="22"/><circle cx=${n(x)} cy=${n(y)} r="8"/></g>`;
}
