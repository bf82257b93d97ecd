// The flat lay of core wool drawn to scale: its outline with its sizes, which edge becomes what, the way it is rolled, what straight edges
// would give; and small pictures of how it goes on. Lengths come as mm: x along the form from its root, y the way it is rolled, from the
// middle of the roll.
import { html, nothing, svg } from '../lib/lit-html.js';
import { boxOf, fitted, halfAt, pathOf } from './forms.js';

/** @typedef {import('./forms.js').Point} Point  @typedef {import('./forms.js').Rings} Rings */
/**
 * A piece as the engine gives it.
 * @typedef {{name: string, count: number, rings_mm: Rings, length_mm: number, width_mm: number, roll: Point, edges: {at: [Point, Point], becomes: string}[], straight: {rings_mm: Rings, gives_profile_mm: Point[]} | null}} Piece
 * Where it lies on the glass: rolled to the right with its root on top, or rolled upwards with its root on the left.
 * @typedef {{across: boolean, flat: boolean, scale: number, width: number, height: number, left: number, top: number, right: number, bottom: number, to: (at: Point) => Point}} Plan
 */

const short = (/** @type {number} */ n) => Math.round(n * 10) / 10;

/** What is free around a lay for lines and words, px. */
const around = { across: { left: 50, right: 46, top: 40, bottom: 46 }, up: { left: 46, right: 46, top: 40, bottom: 34 }, flat: { left: 34, right: 46, top: 40, bottom: 16 } };

/** Whether it is rolled up, or laid flat. @param {Piece} piece */
export const isFlat = (piece) => !piece.roll[0] && !piece.roll[1];

/**
 * As large as it goes into the room there is, the way round that is larger; as people read where that hardly matters.
 * @param {Piece} piece  @param {{width: number, most: number, largest?: number}} room @returns {Plan}
 */
export function layPlan(piece, { width, most, largest = 9 }) {
  const box = boxOf([...piece.rings_mm, ...(piece.straight?.rings_mm ?? [])]) ?? { left: 0, right: 1, low: 0, high: 1 };
  const [along, rolled] = [box.right - box.left, box.high - box.low];
  const flat = isFlat(piece);
  const scaleIn = (/** @type {{left: number, right: number, top: number, bottom: number}} */ free, /** @type {number} */ wide, /** @type {number} */ high) => Math.min(largest, (width - free.left - free.right) / wide, (most - free.top - free.bottom) / high);
  const [toRight, upwards] = [scaleIn(around.across, rolled, along), scaleIn(flat ? around.flat : around.up, along, rolled)];
  const across = !flat && toRight >= 0.85 * upwards;
  const free = flat ? around.flat : across ? around.across : around.up;
  const scale = across ? toRight : upwards;
  const [wide, high] = (across ? [rolled, along] : [along, rolled]).map((mm) => mm * scale);
  const left = free.left + (width - free.left - free.right - wide) / 2;
  const top = free.top;
  return {
    across, flat, scale, width, height: high + free.top + free.bottom, left, top, right: left + wide, bottom: top + high,
    to: ([x, y]) => (across ? [left + (y - box.low) * scale, top + (x - box.left) * scale] : [left + (x - box.left) * scale, top + (box.high - y) * scale]),
  };
}

/** How long the lay is at x, mm. @param {Piece} piece  @param {number} x */
export const longAt = (piece, x) => halfAt(piece.rings_mm, x);

/** The fibres of the layer on top: lines the way it is rolled, that stop short of the edges. @param {Piece} piece  @param {Plan} plan @returns {[Point, Point][]} */
export function fibres(piece, plan) {
  if (plan.flat) return flatFibres(piece, plan);
  const gap = 17 / plan.scale;
  const inset = 8 / plan.scale;
  const n = Math.max(2, Math.round(piece.width_mm / gap));
  /** @type {[Point, Point][]} */
  const lines = [];
  for (let i = 0; i < n; i++) {
    const x = piece.width_mm * (i + 0.5) / n;
    const end = longAt(piece, x) - inset * (i % 2 ? 2.2 : 1);
    if (end > 2.2 * inset) lines.push([plan.to([x, inset * (i % 2 ? 1 : 1.8)]), plan.to([x, end])]);
  }
  return lines;
}

/** Those of a piece that is laid flat run along it. @param {Piece} piece  @param {Plan} plan @returns {[Point, Point][]} */
function flatFibres(piece, plan) {
  const box = boxOf(piece.rings_mm);
  if (!box) return [];
  const inset = 10 / plan.scale;
  const n = Math.max(2, Math.round((box.high - box.low) * plan.scale / 17));
  /** @type {[Point, Point][]} */
  const lines = [];
  for (let i = 0; i < n; i++) {
    const y = box.low + (box.high - box.low) * (i + 0.5) / n;
    const [from, to] = crossings(piece.rings_mm, y);
    if (to - from > 3 * inset) lines.push([plan.to([from + inset * (i % 2 ? 1 : 1.8), y]), plan.to([to - inset * (i % 2 ? 1.8 : 1), y])]);
  }
  return lines;
}

/** From where to where an outline reaches at y. @param {Rings} rings  @param {number} y @returns {[number, number]} */
function crossings(rings, y) {
  const xs = rings.flatMap((ring) => ring.flatMap(([ax, ay], i) => {
    const [bx, by] = ring[(i + 1) % ring.length];
    return ay === by || Math.min(ay, by) > y || Math.max(ay, by) < y ? [] : [ax + (bx - ax) * (y - ay) / (by - ay)];
  }));
  return xs.length ? [Math.min(...xs), Math.max(...xs)] : [0, 0];
}

/** Which words stand at which end of the middle of the roll, or of a flat piece. @param {Piece} piece */
export const becomes = (piece) => ({ root: piece.edges.some((edge) => edge.becomes === 'root'), tip: piece.edges.some((edge) => edge.becomes === 'tip') });

/** @param {Point} a  @param {Point} b */
const lineOf = ([ax, ay], [bx, by]) => `M${short(ax)} ${short(ay)}L${short(bx)} ${short(by)}`;

/** A dimension line from the left to the right with its words above. @param {number} x1  @param {number} x2  @param {number} y  @param {string} text */
function over(x1, x2, y, text) {
  return svg`<path class="size-line" d=${`M${short(x1)} ${short(y)}H${short(x2)}M${short(x1)} ${short(y - 6)}v12M${short(x2)} ${short(y - 6)}v12`}/><text class="size-text" x=${short((x1 + x2) / 2)} y=${short(y - 9)} text-anchor="middle">${text}</text>`;
}

/** One from top to bottom, its words on that side. @param {number} x  @param {number} y1  @param {number} y2  @param {string} text  @param {-1 | 1} side */
function beside(x, y1, y2, text, side) {
  const tx = side < 0 ? x - 9 : x + 20;
  return svg`<path class="size-line" d=${`M${short(x)} ${short(y1)}V${short(y2)}M${short(x - 6)} ${short(y1)}h12M${short(x - 6)} ${short(y2)}h12`}/><text class="size-text" text-anchor="middle" transform=${`translate(${short(tx)} ${short((y1 + y2) / 2)}) rotate(-90)`}>${text}</text>`;
}

/** The arrow that curls over the roll and on, drawn to the right from where rolling begins. @param {number} x  @param {number} y  @param {number} turn degrees  @param {number} long px  @param {string} text */
function rolling(x, y, turn, long, text) {
  const after = 42 + 8.5 * text.length;
  return svg`<g class="lay-roll" transform=${`translate(${short(x)} ${short(y)}) rotate(${turn})`}><path d="M2 8C2-10 24-12 25 5M19 0l6 6 5-7"/><text x="37" y="5">${text}</text>
    ${long > after + 26 ? svg`<path d=${`M${short(after)} 0H${short(long)}M${short(long - 7)}-6l7 6-7 6`}/>` : nothing}</g>`;
}

/** How many sheets are seen below the one on top. @param {number} layers */
const below = (layers) => Math.min(3, layers - 1);

/**
 * @param {{piece: Piece, layers: number, width: number, most: number, largest?: number, label: string, texts: {length: string, width: string}, words: {root: string, tip: string, begin: string, roll: string}}} what
 */
export function layPicture({ piece, layers, width, most, largest, label, texts, words }) {
  const plan = layPlan(piece, { width, most, largest });
  const { left, top, right, bottom, across, to } = plan;
  const d = pathOf(piece.rings_mm, to);
  const sheets = Array.from({ length: below(layers) }, (_, i) => below(layers) - i);
  return html`<svg class="lay-drawing" viewBox=${`0 0 ${width} ${short(plan.height)}`} role="img" aria-label=${label}>
    <g class="lay-helps">${helpLines(plan)}</g>
    ${sheets.map((nth) => svg`<path class="lay-below" fill-rule="evenodd" d=${d} transform=${`translate(${nth * 2.6} ${nth * 2.6})`}/>`)}
    <path class="lay-fill" fill-rule="evenodd" d=${d}/>
    <path class="lay-fibres" d=${fibres(piece, plan).map(([a, b]) => lineOf(a, b)).join('')}/>
    <path class="lay-edge" d=${d}/>
    ${piece.straight ? svg`<path class="lay-straight" d=${pathOf(piece.straight.rings_mm, to)}/>` : nothing}
    ${plan.flat ? nothing : svg`<path class="lay-middle" d=${lineOf(to([0, 0]), to([piece.width_mm, 0]))}/>`}
    ${across ? over(left, right, top - 14, texts.length) : over(left, right, top - 14, texts.width)}
    ${across ? beside(right + 16, top, bottom, texts.width, 1) : plan.flat ? beside(right + 16, top, bottom, texts.length, 1) : beside(left - 14, top, bottom, texts.length, -1)}
    ${endWords(piece, plan, words)}
    ${plan.flat ? nothing : across ? rolling(left, bottom + 26, 0, right - left, words.roll) : rolling(right + 24, bottom, -90, bottom - top, words.roll)}
  </svg>`;
}

/** Thin lines from the drawing out to its dimension lines. @param {Plan} plan */
function helpLines({ left, top, right, bottom, across, flat }) {
  const d = across || flat ? `M${short(left)} ${short(top)}H${short(right + 20)}M${short(left)} ${short(bottom)}H${short(right + 20)}M${short(left)} ${short(top)}V${short(top - 18)}M${short(right)} ${short(bottom)}V${short(top - 18)}`
    : `M${short(left)} ${short(bottom)}V${short(top - 18)}M${short(right)} ${short(bottom)}V${short(top - 18)}M${short(right)} ${short(top)}H${short(left - 18)}M${short(left)} ${short(bottom)}H${short(left - 18)}`;
  return svg`<path d=${d}/>`;
}

/** @param {Piece} piece  @param {Plan} plan  @param {{root: string, tip: string, begin: string}} words */
function endWords(piece, { left, top, right, bottom, across, flat }, words) {
  const { root, tip } = becomes(piece);
  if (flat) return root ? svg`<text class="lay-word" text-anchor="middle" transform=${`translate(${short(left - 12)} ${short((top + bottom) / 2)}) rotate(-90)`}>${words.root}</text>` : nothing;
  const long = across ? bottom - top : right - left;
  const begin = long > 9 * words.begin.length + (root ? 84 : 0) ? words.begin : '';
  if (across) {
    return svg`${root ? svg`<text class="lay-word" text-anchor="end" x=${short(left - 9)} y=${short(top + 5)}>${words.root}</text>` : nothing}${tip ? svg`<text class="lay-word" text-anchor="end" x=${short(left - 9)} y=${short(bottom + 5)}>${words.tip}</text>` : nothing}
      <text class="lay-begin" text-anchor="middle" transform=${`translate(${short(left - 10)} ${short((top + bottom) / 2)}) rotate(-90)`}>${begin}</text>`;
  }
  return svg`${root ? svg`<text class="lay-word" text-anchor="middle" x=${short(left)} y=${short(bottom + 21)}>${words.root}</text>` : nothing}${tip ? svg`<text class="lay-word" text-anchor="middle" x=${short(right)} y=${short(bottom + 21)}>${words.tip}</text>` : nothing}
    <text class="lay-begin" text-anchor="middle" x=${short((left + right) / 2)} y=${short(bottom + 21)}>${begin}</text>`;
}

/**
 * How far what straight edges roll up to is from the form, at the worst place, as a share of its greatest radius.
 * @param {Piece} piece  @param {number} share mm of all layers of all its pieces, as rolled
 */
export function straightOff(piece, share) {
  const radius = (/** @type {number} */ x) => Math.sqrt(Math.max(0, longAt(piece, x)) * share / Math.PI);
  const gives = piece.straight?.gives_profile_mm ?? [];
  const most = Math.max(...gives.map(([x]) => radius(x)), 0);
  if (!most) return 0;
  return Math.max(...gives.map(([x, r]) => Math.abs(r - radius(x)))) / most;
}

/** The profile as an outline, both sides of its axis. @param {Point[]} profile @returns {Rings} */
export const mirrored = (profile) => [[...profile, ...profile.toReversed().map(([x, r]) => /** @type {Point} */ ([x, -r]))]];

/**
 * What the curved edge gives and what straight ones would, side by side and to one scale.
 * @param {{start: Rings, straight: Point[], width: number, most: number, label: string, words: {curved: string, straight: string}}} what
 */
export function straightPicture({ start, straight, width, most, label, words }) {
  const [box, other] = [boxOf(start), boxOf(mirrored(straight))];
  if (!box || !other) return nothing;
  const room = { left: box.left, right: box.right, low: Math.min(box.low, other.low), high: Math.max(box.high, other.high) };
  const half = width / 2;
  const fit = fitted(room, { width: half, most, pad: 12 });
  const shifted = (/** @type {Point} */ at) => { const [x, y] = fit.to(at); return /** @type {Point} */ ([x + half, y]); };
  const foot = fit.height + 12;
  return html`<svg class="lay-compare" viewBox=${`0 0 ${width} ${short(fit.height + 22)}`} role="img" aria-label=${label}>
    <path class="lay-solid" fill-rule="evenodd" d=${pathOf(start, fit.to)}/><path class="lay-ghost" d=${pathOf(start, shifted)}/><path class="lay-straight" d=${pathOf(mirrored(straight), shifted)}/>
    <text class="bar-text" text-anchor="middle" x=${short(half / 2)} y=${short(foot)}>${words.curved}</text><text class="bar-text" text-anchor="middle" x=${short(half * 1.5)} y=${short(foot)}>${words.straight}</text></svg>`;
}

/**
 * The rolled core with the felted form inside it, to one scale.
 * @param {{start: Rings, felted: Rings, width: number, most: number, label: string}} what
 */
export function shrinkPicture({ start, felted, width, most, label }) {
  const box = boxOf(start);
  const inner = boxOf(felted);
  if (!box || !inner) return nothing;
  const fit = fitted(box, { width, most, pad: 4 });
  const [dx, dy] = [(box.left + box.right - inner.left - inner.right) / 2, (box.low + box.high - inner.low - inner.high) / 2];
  const middle = felted.map((ring) => ring.map(([x, y]) => /** @type {Point} */ ([x + dx, y + dy])));
  return html`<svg class="lay-shrink" viewBox=${`0 0 ${width} ${short(fit.height)}`} role="img" aria-label=${label}><path class="lay-solid" fill-rule="evenodd" d=${pathOf(start, fit.to)}/><path class="lay-felted" fill-rule="evenodd" d=${pathOf(middle, fit.to)}/></svg>`;
}

/** The layers from the side: as many lines as there are, with how thick they are together. @param {number} layers  @param {string} text  @param {string} label */
export function layersPicture(layers, text, label) {
  const [wide, high] = [190, Math.min(64, 12 + layers * 8)];
  const gap = (high - 8) / layers;
  const wave = (/** @type {number} */ y, /** @type {number} */ nth) => `M8 ${short(y)}q${22 + nth % 3 * 6}-5 ${wide / 2 - 4} 0t${wide / 2 - 4} 0`;
  return html`<svg class="lay-layers" viewBox=${`0 0 ${wide + 90} ${short(high + 8)}`} role="img" aria-label=${label}>
    <path class="lay-fill" d=${`M8 6H${wide}V${short(high)}H8z`}/>${Array.from({ length: layers + 1 }, (_, i) => svg`<path class=${i === 0 || i === layers ? 'lay-edge' : 'lay-fibres'} d=${wave(6 + i * gap * (high - 6) / (high - 8), i)}/>`)}
    <path class="size-line" d=${`M${wide + 14} 6V${short(high)}M${wide + 8} 6h12M${wide + 8} ${short(high)}h12`}/><text class="size-text" x=${wide + 28} y=${short((high + 6) / 2 + 5)}>${text}</text></svg>`;
}

const body = (/** @type {string} */ d) => svg`<path class="lay-solid" d=${d}/>`;
const thin = (/** @type {string} */ d) => svg`<path class="lay-thin" d=${d}/>`;
const arrow = (/** @type {string} */ d) => svg`<path class="lay-arrow" d=${d}/>`;
const spiral = (/** @type {number} */ x, /** @type {number} */ y) => thin(`M${x} ${y}c3-4 8 0 5 4-4 5-12 1-9-6 3-8 16-7 17 3`);

/** Small pictures of how it goes on, each on 96 by 64. @type {Record<string, unknown>} */
const hows = {
  lay: svg`${body('M10 16H86V52H10z')}${thin('M18 25H76M20 34H80M16 43H74')}`,
  begin: svg`${body('M26 16H88V52H26z')}${thin('M46 25H78M48 34H82M46 43H76')}${body('M14 14h18a4 20 0 010 40H14a4 20 0 010-40z')}${arrow('M20 10C26 1 40 2 42 12M37 8l5 5 6-4')}`,
  rolled: svg`${body('M22 16H76a6 16 0 010 32H22a6 16 0 010-32z')}<ellipse class="lay-solid" cx="22" cy="32" rx="7" ry="16"/>${spiral(20, 31)}`,
  half: svg`${body('M30 18H68a5 14 0 010 28H30a5 14 0 010-28z')}<ellipse class="lay-solid" cx="30" cy="32" rx="6" ry="14"/>${spiral(28, 31)}`,
  cross: svg`${body('M34 4H62V60H34z')}${thin('M41 9V55M48 8V56M55 9V55')}${body('M24 24H74a4 9 0 010 18H24a4 9 0 010-18z')}${arrow('M80 50C90 44 90 22 80 16M86 15l-7 0 1 7')}`,
  ball: svg`${body('M48 8a24 24 0 010 48a24 24 0 010-48z')}${thin('M30 20c10 10 26 10 36 0M30 44c10-10 26-10 36 0M40 12c-4 12-4 28 0 40M56 12c4 12 4 28 0 40')}`,
  bend: svg`${body('M14 40C14 8 82 8 82 40l-14 4C68 24 28 24 28 44z')}${arrow('M22 56c2-4 2-4 0-8M74 56c-2-4-2-4 0-8')}`,
  ring: svg`<path class="lay-solid" fill-rule="evenodd" d="M48 6a34 26 0 010 52a34 26 0 010-52zM48 22a18 10 0 000 20a18 10 0 000-20z"/>${thin('M48 42l-3 16M52 42l3 15')}`,
  along: svg`${body('M12 20L26 10H86L72 54H12z')}${thin('M24 20H72M22 30H70M20 40H68')}`,
  crosswise: svg`${body('M12 20L26 10H86L72 54H12z')}${thin('M30 16L24 48M46 16L40 48M62 16L56 48')}`,
  pressed: svg`${body('M10 34H86V46H10z')}${arrow('M30 8V26M24 20l6 7 6-7M66 8V26M60 20l6 7 6-7')}`,
};

/** @param {string} name */
export const howPicture = (name) => html`<svg class="lay-how" viewBox="0 0 96 64" aria-hidden="true">${hows[name]}</svg>`;

/** Which pictures say how a lay goes on. @param {string} kind  @param {Piece} piece @returns {string[]} */
export function howOf(kind, piece) {
  if (kind === 'ball') return ['half', 'cross', 'ball'];
  if (kind === 'ring') return ['rolled', 'bend', 'ring'];
  return isFlat(piece) ? ['along', 'crosswise', 'pressed'] : ['lay', 'begin', 'rolled'];
}

/** The weight of a layer, g/m2, from squares of 10 by 10 cm that were weighed together. @param {number} grams  @param {number} squares */
export const layerWeight = (grams, squares) => Math.round(grams / squares * 1000) / 10;

/** From where it counts as another form: the eye sees a twelfth. @param {number} off */
export const isOff = (off) => off > 1 / 12;
