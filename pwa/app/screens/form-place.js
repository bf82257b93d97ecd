// Where a form lies: moved and turned over the animal's outline by finger, by buttons and by keys.
import { html, nothing } from '../lib/lit-html.js';
import { placeDrawing, placing } from '../draw/form-place.js';
import { pictureIcon } from '../draw/picture-icons.js';
import { formIcon } from '../draw/solids.js';
import { icon } from '../icons.js';
import { cap, words } from '../words.js';
import '../words-forms.js';

const w = words.form.place;
const f = words.forms;

/** @typedef {import('../draw/forms.js').Place} Place  @typedef {import('../draw/forms.js').From} From */

/**
 * @param {import('../app.js').Stage} stage
 * @param {{seen: () => any, around: () => any, keep: (place: Place | null) => Promise<unknown>, wide: {now: boolean}}} from `around` is the animal with its other forms, once they are there
 */
export function placeMode(stage, { seen, around, keep, wide }) {
  /** @type {From} */
  let from = 'side';
  /** Where it lies while it is being moved, until that is kept. @type {Place | null} */
  let moving = null;
  /** @type {(Place | null)[]} */
  let before = [];
  let timer = 0;
  let turns = 0;
  const drawing = placing();

  const now = () => moving ?? seen().form.place;

  /** Kept once the thumb rests. @param {Place | null} place  @param {boolean} [soon] */
  function put(place, soon = false) {
    if (!timer && !drawing.held) before = [...before.slice(-30), seen().form.place];
    moving = place;
    clearTimeout(timer);
    timer = window.setTimeout(settle, soon ? 0 : 500);
    stage.draw();
  }

  async function settle() {
    clearTimeout(timer);
    timer = 0;
    if (!moving) return;
    const mine = ++turns;
    const place = moving;
    try { await keep(place); } catch (error) { stage.trouble(error); }
    if (mine === turns && moving === place) window.setTimeout(() => { if (moving === place) { moving = null; stage.draw(); } }, 1500);
  }

  async function back() {
    const last = before.pop();
    if (last === undefined) return;
    clearTimeout(timer);
    timer = 0;
    moving = null;
    try { await keep(last); } catch (error) { stage.trouble(error); }
    stage.draw();
  }

  const shape = () => ({ ...seen().form, place: now() });
  const step = (/** @type {boolean} */ far) => drawing.step(seen().settings.unit, far);
  /** @param {number} right  @param {number} up  @param {boolean} [far] */
  function nudge(right, up, far = false) { const next = drawing.nudged(shape(), from, right, up, step(far)); if (next) put(next); }
  /** @param {1 | -1} way  @param {boolean} [far] */
  function turn(way, far = false) { const next = drawing.turnedBy(shape(), way, far); if (next) put(next); }

  /** @param {PointerEvent} event */
  function down(event) {
    if (event.button) return;
    const { form } = seen();
    if (!form.side_mm.length) return;
    if (drawing.down(event, shape(), from)) before = [...before.slice(-30), form.place];
  }
  /** @param {PointerEvent} event */
  function move(event) {
    const next = drawing.move(event);
    if (!next) return;
    moving = next;
    stage.draw();
  }
  /** @param {PointerEvent} event */
  function up(event) {
    const { place, changed } = drawing.up(event, shape(), from);
    if (place && changed) put(place, true);
    else { moving = null; before.pop(); stage.draw(); }
  }
  function cancel() { drawing.cancel(); moving = null; stage.draw(); }

  /** @param {KeyboardEvent} event */
  function key(event) {
    /** @type {Record<string, () => void>} */
    const keys = { ArrowLeft: () => nudge(-1, 0, event.shiftKey), ArrowRight: () => nudge(1, 0, event.shiftKey), ArrowUp: () => nudge(0, 1, event.shiftKey), ArrowDown: () => nudge(0, -1, event.shiftKey), '[': () => turn(1), ']': () => turn(-1), '{': () => turn(1, true), '}': () => turn(-1, true) };
    if (!keys[event.key] || !now()) return false;
    keys[event.key]();
    return true;
  }

  function view() {
    const { form, settings } = seen();
    const all = around();
    if (!all) return html`<p class="card-line sub" role="status">…</p>`;
    if (!form.side_mm.length) return html`<p class="card-line sub">${words.form.still(form.sizes.filter((/** @type {any} */ size) => size.missing).map((/** @type {any} */ size) => words.sizes[size.name]))}</p>`;
    const bar = (/** @type {number} */ mm) => (settings.unit === 'in' ? f.bar_inch(mm) : f.bar(mm));
    const others = all.forms.filter((/** @type {any} */ one) => one.id !== form.id);
    const place = now();
    return html`<div class="forms-tabs above" role="group" aria-label=${f.sides_label}>${(/** @type {From[]} */ (['side', 'front'])).map((one) => html`<button aria-pressed=${one === from} @click=${() => { from = one; drawing.forget(); stage.draw(); }}>${f.sides[one]}</button>`)}</div>
      <div class="place-glass" @pointerdown=${down} @pointermove=${move} @pointerup=${up} @pointercancel=${cancel}>
        ${placeDrawing(drawing, { animal: all, others, form: shape(), from, width: wide.now ? 640 : 362, most: wide.now ? 420 : 330, label: w.label(form.name), bar })}</div>
      <p class="card-line sub small place-hint">${!place ? w.none : !all[from].length ? w.no_outline : from === 'side' ? w.hint : w.hint_front}</p>
      <div class="place-tools">${from === 'side' ? html`${tool(w.left, pictureIcon('left'), () => nudge(-1, 0))}${tool(w.up, pictureIcon('up'), () => nudge(0, 1))}${tool(w.down, pictureIcon('down'), () => nudge(0, -1))}${tool(w.onward, pictureIcon('onward'), () => nudge(1, 0))}${tool(w.turn_left, formIcon('turn_left'), () => turn(1))}${tool(w.turn_right, formIcon('turn_right'), () => turn(-1))}`
        : html`${tool(w.together, pictureIcon('left'), () => nudge(-1, 0))}${tool(w.apart, pictureIcon('onward'), () => nudge(1, 0))}${tool(w.up, pictureIcon('up'), () => nudge(0, 1))}${tool(w.down, pictureIcon('down'), () => nudge(0, -1))}`}
        ${before.length ? tool(w.undo, icon('undo', 24), back) : nothing}</div>`;
  }

  /** @param {string} label  @param {unknown} drawn  @param {() => void} act */
  const tool = (label, drawn, act) => html`<button class="btn" aria-label=${label} title=${label} ?disabled=${!now() && label !== w.undo} @click=${act}>${drawn}</button>`;

  return { view, key, leave: settle, get name() { return cap(seen().form.name); } };
}
