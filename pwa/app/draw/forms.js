// Forms drawn to scale: in place over the animal's outline, alone with their sizes, and the wire inside. Lengths are mm with y up; on the
// glass y goes down. What is worked out here is only where things lie in a drawing.
import { html, nothing, svg } from '../lib/lit-html.js';

/**
 * @typedef {[number, number]} Point  @typedef {Point[][]} Rings
 * @typedef {{x: number, y: number, turn: number, front_x?: number}} Place  where the root lies and how far the axis is turned; from the front, how far its middle lies from the animal's
 * @typedef {{left: number, right: number, low: number, high: number}} Box
 * @typedef {{side_mm: Rings, width_mm: number | null, depth_mm: number | null, kind: string, place: Place | null, count: number, mirrored: boolean}} Solid
 * How mm lie on the glass.
 * @typedef {{scale: number, width: number, height: number, box: Box, to: (at: Point) => Point, from: (at: Point) => Point}} Fit
 */

/** The box around all of it, or null. @param {Rings} rings @returns {Box | null} */
export function boxOf(rings) {
  const all = rings.flat();
  if (!all.length) return null;
  const [xs, ys] = [all.map(([x]) => x), all.map(([, y]) => y)];
  return { left: Math.min(...xs), right: Math.max(...xs), low: Math.min(...ys), high: Math.max(...ys) };
}

/** @param {Point} at  @param {Place} place @returns {Point} */
export function placedPoint([x, y], { x: left, y: low, turn }) {
  const [sin, cos] = [Math.sin(turn), Math.cos(turn)];
  return [left + x * cos - y * sin, low + x * sin + y * cos];
}

/** A form's drawing where it lies. @param {Rings} rings  @param {Place} place @returns {Rings} */
export const placed = (rings, place) => rings.map((ring) => ring.map((at) => placedPoint(at, place)));

/** Where the middle of a form lies. @param {Rings} rings its drawing, not placed  @param {Place} place @returns {Point} */
export function middleOf(rings, place) {
  const box = boxOf(rings) ?? { left: 0, right: 0, low: 0, high: 0 };
  return placedPoint([(box.left + box.right) / 2, (box.low + box.high) / 2], place);
}

/** Whether a form's root lies under the front half of another's. @param {{place: Place}} form  @param {{side_mm: Rings, place: Place}} of */
export const isAhead = (form, of) => form.place.x > middleOf(of.side_mm, of.place)[0];

const tenth = (/** @type {number} */ mm) => Math.round(mm * 10) / 10 || 0;
/** As it is kept. @param {Place} place @returns {Place} */
export function settled({ x, y, turn, front_x }) {
  const round = Math.atan2(Math.sin(turn), Math.cos(turn));
  return { x: tenth(x), y: tenth(y), turn: Math.round(round * 1000) / 1000 || 0, ...(front_x === undefined ? {} : { front_x: Math.max(0, tenth(front_x)) }) };
}

/** @param {Place} place  @param {number} right  @param {number} up mm @returns {Place} */
export const moved = (place, right, up) => ({ ...place, x: place.x + right, y: place.y + up });

/** Turned about the form's own middle, so that it stays where it is. @param {Rings} rings  @param {Place} place  @param {number} by radians, anticlockwise @returns {Place} */
export function turned(rings, place, by) {
  const next = { ...place, turn: place.turn + by };
  const [was, now] = [middleOf(rings, place), middleOf(rings, next)];
  return moved(next, was[0] - now[0], was[1] - now[1]);
}

/** With its middle there. @param {Rings} rings  @param {Place} place  @param {Point} at @returns {Place} */
export function centred(rings, place, at) {
  const [x, y] = middleOf(rings, place);
  return moved(place, at[0] - x, at[1] - y);
}

/** How far a finger that goes round the middle has turned it. @param {Point} middle  @param {Point} from  @param {Point} to */
export const swept = (middle, from, to) => Math.atan2(to[1] - middle[1], to[0] - middle[0]) - Math.atan2(from[1] - middle[1], from[0] - middle[0]);

/** Half of how thick a drawing is at a place along its axis. @param {Rings} rings  @param {number} x */
export function halfAt(rings, x) {
  let most = 0;
  for (const ring of rings) {
    ring.forEach(([ax, ay], i) => {
      const [bx, by] = ring[(i + 1) % ring.length];
      if (Math.min(ax, bx) > x || Math.max(ax, bx) < x) return;
      const y = ax === bx ? Math.max(Math.abs(ay), Math.abs(by)) : Math.abs(ay + (by - ay) * (x - ax) / (bx - ax));
      most = Math.max(most, y);
    });
  }
  return most;
}

const slices = 40;
const flat = new Set(['block', 'ear', 'ring']);

/** The sections of a form across its axis, from the root to the tip: how far along, half of how high and half of how deep. @param {Solid} form */
function sections({ side_mm, width_mm, depth_mm, kind }) {
  const box = boxOf(side_mm);
  if (!box) return [];
  const widest = width_mm ? width_mm / 2 : box.high;
  const deepest = (depth_mm ?? width_mm ?? 2 * widest) / 2;
  return Array.from({ length: slices + 1 }, (_, i) => {
    const x = box.left + (box.right - box.left) * Math.min(1 - 1e-9, Math.max(1e-9, (1 - Math.cos(Math.PI * i / slices)) / 2)); // closer where round ends close
    const half = halfAt(side_mm, x);
    return { x, half, deep: flat.has(kind) ? deepest : deepest * half / widest };
  });
}

/**
 * A placed form as it is seen from the front, about its own middle line: each section of it is seen as an ellipse, and what they and the
 * axis between them cover together is its outline.
 * @param {Solid} form @returns {Point[]} x across, y up
 */
export function frontShape(form) {
  if (!form.place) return [];
  const { y, turn } = form.place;
  const [sin, cos] = [Math.sin(turn), Math.abs(Math.cos(turn))];
  const parts = sections(form);
  if (!parts.length) return [];
  const seen = parts.map(({ x, half, deep }) => ({ at: y + x * sin, high: half * cos, deep }));
  const low = Math.min(...seen.map(({ at, high }) => at - high));
  const high = Math.max(...seen.map(({ at, high: up }) => at + up));
  const rows = Array.from({ length: slices + 1 }, (_, i) => low + (high - low) * (1 - Math.cos(Math.PI * i / slices)) / 2);
  const right = rows.map((row) => /** @type {Point} */ ([Math.max(onAxis(seen, row), ...seen.map((one) => across(one, row, flat.has(form.kind)))), row]));
  return [...right, ...right.toReversed().map(([x, row]) => /** @type {Point} */ ([-x, row]))];
}

/** @typedef {{at: number, high: number, deep: number}} Section how high a section's middle is, half of how high it is seen, half of how deep it is */

/** @param {Section} section  @param {number} row  @param {boolean} square */
function across({ at, high, deep }, row, square) {
  const off = Math.abs(row - at) / (high || 1e-9);
  return off > 1 ? 0 : square ? deep : deep * Math.sqrt(1 - off * off);
}

/** How deep it is where the axis itself is that high: between two sections, in proportion. @param {Section[]} seen  @param {number} row */
function onAxis(seen, row) {
  const after = seen.findIndex(({ at }, i) => i > 0 && (seen[i - 1].at - row) * (at - row) <= 0);
  if (after < 1) return 0;
  const [a, b] = [seen[after - 1], seen[after]];
  return a.at === b.at ? Math.max(a.deep, b.deep) : a.deep + (b.deep - a.deep) * (row - a.at) / (b.at - a.at);
}

/** Every place where a form is seen from the front: once, or left and right. @param {Solid} form  @param {number} middle x of the animal's middle @returns {Rings} */
export function frontRings(form, middle) {
  const shape = frontShape(form);
  if (!shape.length) return [];
  const off = form.place?.front_x ?? 0;
  const sides = off && (form.mirrored || form.count > 1) ? [off, -off] : [off];
  return sides.map((x) => shape.map(([dx, y]) => [middle + x + dx, y]));
}

/** A box of mm in a drawing of this width, as large as fits. @param {Box} box  @param {{width: number, most: number, pad?: number, least?: number, scale?: number}} room `scale` at most @returns {Fit} */
export function fitted(box, { width, most, pad = 14, least = 0, scale: limit = Infinity }) {
  const [wide, high] = [Math.max(box.right - box.left, 1), Math.max(box.high - box.low, 1)];
  const scale = Math.min(limit, (width - 2 * pad) / wide, (most - 2 * pad) / high);
  const height = Math.max(least, high * scale + 2 * pad);
  const [x0, y0] = [(width - wide * scale) / 2, (height - high * scale) / 2];
  return {
    scale, width, height, box,
    to: ([x, y]) => [x0 + (x - box.left) * scale, y0 + (box.high - y) * scale],
    from: ([x, y]) => [box.left + (x - x0) / scale, box.high - (y - y0) / scale],
  };
}

const PAD = 26; // px about an animal, for the numbers and the bar
/** The scale at which each of several boxes fits its drawing. @param {[box: Box, width: number, most: number][]} all */
export const oneScale = (all) => Math.min(...all.map(([box, width, most]) => fitted(box, { width, most, pad: PAD }).scale));

/** Side and front in a card of that width: beside each other, or one above the other where the animal is long and low. @param {Box} side  @param {number} width */
export function rooms(side, width) {
  const beside = side.right - side.left < 1.6 * (side.high - side.low);
  const [wide, narrow, most] = beside ? [Math.round(width * 0.7), Math.round(width * 0.3), 430] : [width, width, 300];
  return { beside, side: { width: wide, most }, front: { width: narrow, most } };
}

/** Where a finger is, in mm. @param {Fit} fit  @param {{clientX: number, clientY: number}} event  @param {DOMRect} rect of the drawing @returns {Point} */
export const under = (fit, event, rect) => fit.from([(event.clientX - rect.left) * fit.width / rect.width, (event.clientY - rect.top) * fit.height / rect.height]);

const short = (/** @type {number} */ n) => Math.round(n * 10) / 10;
/** Rings as a path on the glass. @param {Rings} rings  @param {(at: Point) => Point} to */
export const pathOf = (rings, to) => rings.filter((ring) => ring.length).map((ring) => `M${ring.map((at) => to(at).map(short).join(' ')).join('L')}z`).join('');

/** The length of a bar that says the scale: a round number of mm, about a fifth of the drawing. @param {Fit} fit */
export function barOf({ scale, width }) {
  const most = width * 0.28 / scale;
  const tens = 10 ** Math.floor(Math.log10(most));
  return tens * (most >= 5 * tens ? 5 : most >= 2 * tens ? 2 : 1);
}

/** @param {Fit} fit  @param {string} text */
function scaleBar(fit, text) {
  const long = barOf(fit) * fit.scale;
  const [x, y] = [12, fit.height - 10];
  return svg`<path d=${`M${x} ${y}h${short(long)}M${x} ${y - 5}v10M${short(x + long)} ${y - 5}v10`} stroke="var(--ink2)" stroke-width="2" fill="none"/><text class="bar-text" x=${short(x + long + 7)} y=${y + 4.5}>${text}</text>`;
}

/**
 * @typedef {Solid & {id: string, name: string}} Drawn
 * @typedef {{side: Rings, front: Rings}} Animal
 * @typedef {'side' | 'front'} From
 */

/** The middle of the animal from the front: forms are told from it. @param {Rings} front */
export function middleOfFront(front) {
  const box = boxOf(front);
  return box ? (box.left + box.right) / 2 : 0;
}

/** A form where it is seen, or nothing where it is not placed. @param {Solid} form  @param {From} from  @param {number} middle @returns {Rings} */
export const seenFrom = (form, from, middle) => (!form.place ? [] : from === 'side' ? placed(form.side_mm, form.place) : frontRings(form, middle));

/** The box around an animal and its forms. @param {Animal} animal  @param {Solid[]} forms  @param {From} from @returns {Box} */
export function roomFor(animal, forms, from) {
  const middle = middleOfFront(animal.front);
  return boxOf([...animal[from], ...forms.flatMap((form) => seenFrom(form, from, middle))]) ?? { left: -50, right: 50, low: 0, high: 60 };
}

const BADGE = 20; // px a number takes

/**
 * Where the numbers stand, px: in the middle of each form as it is seen, below one that is too small for it, and none on another.
 * @param {Rings[]} all  @param {Fit} fit @returns {(Point | null)[]}
 */
export function numbersAt(all, fit) {
  const spots = all.map((rings) => {
    const box = boxOf(rings.slice(0, 1));
    if (!box) return null;
    const [x, y] = fit.to([(box.left + box.right) / 2, (box.low + box.high) / 2]);
    const [wide, high] = [(box.right - box.left) * fit.scale, (box.high - box.low) * fit.scale];
    return /** @type {Point} */ (Math.min(wide, high) < BADGE + 4 && Math.max(wide, high) < 3 * BADGE ? [x, Math.min(fit.height - 11, y + high / 2 + 12)] : [x, y]);
  });
  const known = spots.filter((spot) => spot !== null).sort((a, b) => a[0] - b[0]);
  for (let round = 0; round < 30; round++) {
    known.forEach((a, i) => {
      for (const b of known.slice(i + 1)) {
        const [dx, dy] = [b[0] - a[0], b[1] - a[1]];
        if (Math.abs(dy) >= BADGE || dx >= BADGE) continue;
        const push = (BADGE - dx) / 2 + 0.1;
        a[0] = Math.max(11, a[0] - push);
        b[0] = Math.min(fit.width - 11, b[0] + push);
      }
    });
  }
  return spots;
}

/** How large a drawing is, to lay the smaller over the larger. @param {Rings} rings */
function areaOf(rings) {
  const box = boxOf(rings);
  return box ? (box.right - box.left) * (box.high - box.low) : 0;
}

/**
 * The animal's outline with its forms over it, each with its number and to be tapped.
 * @param {{animal: Animal, forms: (Drawn & {n?: number, how?: string, href?: string, label?: string, tap?: () => void})[], from: From, width: number, most: number, label: string, bar: ((mm: number) => string) | null, scale?: number}} what  `scale` at most; no bar where another drawing has it
 */
export function animalWithForms({ animal, forms, from, width, most, label, bar, scale }) {
  const fit = fitted(roomFor(animal, forms, from), { width, most, pad: PAD, scale });
  const middle = middleOfFront(animal.front);
  const seen = forms.map((form) => ({ form, rings: seenFrom(form, from, middle) })).filter(({ rings }) => rings.length).sort((a, b) => areaOf(b.rings) - areaOf(a.rings));
  const numbers = numbersAt(seen.map(({ form, rings }) => (form.n ? rings : [])), fit);
  return html`<svg class="animal-forms" viewBox=${`0 0 ${fit.width} ${short(fit.height)}`} role="group" aria-label=${label}>
    <path class="animal-outline" d=${pathOf(animal[from], fit.to)}/>
    ${seen.map(({ form, rings }) => oneForm(form, pathOf(rings, fit.to)))}
    ${seen.map(({ form }, i) => number(form, numbers[i]))}
    ${bar ? scaleBar(fit, bar(barOf(fit))) : nothing}</svg>`;
}

/** @param {{id: string, how?: string, href?: string, label?: string, tap?: () => void}} form  @param {string} d */
function oneForm(form, d) {
  const how = `form-shape ${form.how ?? 'kept'}`;
  if (form.href) return svg`<a href=${form.href} aria-label=${form.label ?? ''} data-form=${form.id}><path class="form-touch" d=${d}/><path class=${how} d=${d}/></a>`;
  return svg`<path class=${how} d=${d} @click=${form.tap ?? nothing}/>`;
}

/** @param {{n?: number, how?: string}} form  @param {Point | null} at on the glass */
function number(form, at) {
  if (!form.n || !at) return nothing;
  const [x, y] = at;
  return svg`<g class=${`form-number ${form.how ?? 'kept'}`} aria-hidden="true"><circle cx=${short(x)} cy=${short(y)} r="9.500"/><text x=${short(x)} y=${short(y + 4.6)} text-anchor="middle">${form.n}</text></g>`;
}

/**
 * Two volumes as bars, one below the other; how sure the second is, as a line.
 * @param {{forms: number, outlines: number, low: number, high: number, apart: boolean, names: {forms: string, outlines: string}}} what
 */
export function volumeBars({ forms, outlines, low, high, apart, names }) {
  const most = Math.max(forms, outlines, high);
  const at = (/** @type {number} */ volume) => short(78 + 244 * volume / most);
  return html`<svg class="volume-bars" viewBox="0 0 330 50" aria-hidden="true"><text class="bar-text" x="0" y="17">${names.forms}</text><text class="bar-text" x="0" y="42">${names.outlines}</text>
    <rect x="78" y="5" width=${short(at(forms) - 78)} height="16" rx="5" class=${apart ? 'bar-forms apart' : 'bar-forms'}/><rect x="78" y="30" width=${short(at(outlines) - 78)} height="16" rx="5" class="bar-outlines"/>
    <path class="size-line" d=${`M${at(low)} 38H${at(high)}M${at(low)} 33v10M${at(high)} 33v10`}/></svg>`;
}

/** A form alone, small, as large as its row allows. @param {Rings} rings  @param {number} [width]  @param {number} [height] */
export function smallForm(rings, width = 72, height = 48) {
  const box = boxOf(rings);
  if (!box) return nothing;
  const fit = fitted(box, { width, most: height, pad: 3, least: height });
  return html`<svg class="small-form" width=${width} height=${height} viewBox=${`0 0 ${width} ${height}`} aria-hidden="true"><path class="form-shape kept" fill-rule="evenodd" d=${pathOf(rings, fit.to)}/></svg>`;
}
