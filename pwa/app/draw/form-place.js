// A form over the animal that a finger moves and turns: what is drawn, and what each touch means in mm.
import { html, nothing, svg } from '../lib/lit-html.js';
import { barOf, boxOf, centred, fitted, middleOf, middleOfFront, moved, pathOf, placedPoint, roomFor, seenFrom, settled, swept, turned, under } from './forms.js';

/** @typedef {import('./forms.js').Place} Place  @typedef {import('./forms.js').Point} Point  @typedef {import('./forms.js').Solid} Solid  @typedef {import('./forms.js').Fit} Fit  @typedef {import('./forms.js').From} From  @typedef {import('./forms.js').Box} Box */

const degree = Math.PI / 180;
const n = (/** @type {number} */ x) => Math.round(x * 10) / 10;
/** How far beyond the tip the knob stands that turns it, px. */
const KNOB = 24;
/** How near a finger has to come to it, px of the drawing. */
const NEAR = 26;

/** Where the knob is, on the glass. @param {Solid} form  @param {Fit} fit @returns {Point} */
export function knobAt(form, fit) {
  const box = boxOf(form.side_mm);
  const [x, y] = fit.to(placedPoint([box?.right ?? 0, 0], /** @type {Place} */ (form.place)));
  const turn = form.place?.turn ?? 0;
  const at = /** @type {Point} */ ([x + KNOB * Math.cos(turn), y - KNOB * Math.sin(turn)]);
  return [Math.min(fit.width - 18, Math.max(18, at[0])), Math.min(fit.height - 18, Math.max(18, at[1]))];
}

/** What is under way between a finger and the drawing. */
export function placing() {
  /** @type {Fit | null} */
  let fit = null;
  /** The box stays while one moves things in it. @type {Box | null} */
  let room = null;
  /** @type {{id: number, what: 'move' | 'turn', from: Point, at: Place, form: Solid, side: From, rect: DOMRect, middle: number, far: boolean} | null} */
  let finger = null;

  const here = (/** @type {{clientX: number, clientY: number}} */ event, /** @type {DOMRect} */ rect) => under(/** @type {Fit} */ (fit), event, rect);

  return {
    get held() { return finger !== null; },
    forget() { room = null; },
    /** @param {{animal: import('./forms.js').Animal, others: Solid[], form: Solid, from: From, width: number, most: number}} what @returns {Fit} */
    fit({ animal, others, form, from, width, most }) {
      const now = roomFor(animal, [...others, form], from);
      const grown = room && now.left >= room.left && now.right <= room.right && now.low >= room.low && now.high <= room.high;
      room = finger && room ? room : grown ? room : now;
      fit = fitted(/** @type {Box} */ (room), { width, most, pad: 40 });
      return fit;
    },
    /** A step of a button, in mm. @param {string} unit  @param {boolean} far */
    step: (unit, far) => (unit === 'in' ? 25.4 / 32 : 0.5) * (far ? 10 : 1),
    /** @param {Solid} form  @param {From} side  @param {number} right  @param {number} up  @param {number} by mm @returns {Place | null} */
    nudged(form, side, right, up, by) {
      if (!form.place) return null;
      if (side === 'side') return settled(moved(form.place, right * by, up * by));
      return settled({ ...moved(form.place, 0, up * by), front_x: (form.place.front_x ?? 0) + right * by });
    },
    /** @param {Solid} form  @param {1 | -1} way  @param {boolean} far @returns {Place | null} */
    turnedBy: (form, way, far) => (form.place ? settled(turned(form.side_mm, form.place, way * (far ? 15 : 2) * degree)) : null),
    /** A finger comes down: on the knob it turns, anywhere else it moves, and a mere tap puts the middle there. @param {PointerEvent} event  @param {Solid} form  @param {From} side */
    down(event, form, side) {
      const drawing = /** @type {Element} */ (event.currentTarget).querySelector('svg');
      if (!fit || finger || !drawing) return false;
      const rect = drawing.getBoundingClientRect();
      const from = here(event, rect);
      const place = form.place ?? settled(centred(form.side_mm, { x: 0, y: 0, turn: 0 }, from));
      const [kx, ky] = knobAt({ ...form, place }, fit);
      const [px, py] = fit.to(from);
      const what = side === 'side' && form.place && Math.hypot(px - kx, py - ky) < NEAR ? 'turn' : 'move';
      finger = { id: event.pointerId, what, from, at: place, form, side, rect, middle: 0, far: false };
      /** @type {Element} */ (event.currentTarget).setPointerCapture?.(event.pointerId);
      return true;
    },
    /** @param {PointerEvent} event @returns {Place | null} */
    move(event) {
      if (finger?.id !== event.pointerId || !fit) return null;
      const to = here(event, finger.rect);
      const [dx, dy] = [to[0] - finger.from[0], to[1] - finger.from[1]];
      if (!finger.far && Math.hypot(dx, dy) * fit.scale < 5) return null;
      finger.far = true;
      if (finger.what === 'turn') return settled(turned(finger.form.side_mm, finger.at, swept(middleOf(finger.form.side_mm, finger.at), finger.from, to)));
      if (finger.side === 'side') return settled(moved(finger.at, dx, dy));
      return settled({ ...moved(finger.at, 0, dy), front_x: Math.abs((finger.at.front_x ?? 0) + dx) });
    },
    /** @param {PointerEvent} event  @param {Solid} form  @param {From} side @returns {{place: Place | null, changed: boolean}} */
    up(event, form, side) {
      if (finger?.id !== event.pointerId) return { place: null, changed: false };
      const { far, from, what, at } = finger;
      finger = null;
      if (far) return { place: form.place, changed: true };
      if (what === 'turn' || side === 'front') return { place: null, changed: false };
      return { place: settled(centred(form.side_mm, at, from)), changed: true };
    },
    cancel() { finger = null; },
  };
}

/**
 * @param {ReturnType<typeof placing>} drawing
 * @param {{animal: import('./forms.js').Animal, others: Solid[], form: Solid & {name: string}, from: From, width: number, most: number, label: string, bar: (mm: number) => string}} what
 */
export function placeDrawing(drawing, { animal, others, form, from, width, most, label, bar }) {
  const fit = drawing.fit({ animal, others, form, from, width, most });
  const middle = middleOfFront(animal.front);
  const rings = seenFrom(form, from, middle);
  const long = barOf(fit);
  return html`<svg class="place-drawing" viewBox=${`0 0 ${fit.width} ${n(fit.height)}`} role="application" tabindex="0" aria-label=${label}>
    <path class="animal-outline" d=${pathOf(animal[from], fit.to)}/>
    ${from === 'front' && animal.front.length ? svg`<path class="axis-line" d=${`M${n(fit.to([middle, 0])[0])} 8V${n(fit.height - 8)}`}/>` : nothing}
    ${others.map((one) => svg`<path class="form-shape other" d=${pathOf(seenFrom(one, from, middle), fit.to)}/>`)}
    ${rings.length ? svg`<path class="form-shape now" fill-rule="evenodd" d=${pathOf(rings, fit.to)}/>` : nothing}
    ${form.place && from === 'side' ? knob(form, fit) : nothing}
    <path class="size-line" d=${`M12 ${n(fit.height - 10)}h${n(long * fit.scale)}M12 ${n(fit.height - 15)}v10M${n(12 + long * fit.scale)} ${n(fit.height - 15)}v10`}/><text class="bar-text" x=${n(19 + long * fit.scale)} y=${n(fit.height - 5.5)}>${bar(long)}</text></svg>`;
}

/** The axis from the root to the knob: a dot at the root, a ring that turns. @param {Solid} form  @param {Fit} fit */
function knob(form, fit) {
  const [x, y] = fit.to([form.place?.x ?? 0, form.place?.y ?? 0]);
  const [kx, ky] = knobAt(form, fit);
  return svg`<path class="axis-line strong" d=${`M${n(x)} ${n(y)}L${n(kx)} ${n(ky)}`}/><circle class="root-dot" cx=${n(x)} cy=${n(y)} r="4.500"/><circle class="turn-knob" cx=${n(kx)} cy=${n(ky)} r="11"/>`;
}
