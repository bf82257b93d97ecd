// The profile of a turned form, or the outline of a flat piece: points that are dragged, stepped, added and taken away.
import { html, nothing } from '../lib/lit-html.js';
import { ask } from '../ask.js';
import { pointsDrawing } from '../draw/form-sizes.js';
import { settled } from '../draw/forms.js';
import { pointsGlass } from '../draw/form-points.js';
import { pictureIcon } from '../draw/picture-icons.js';
import { icon } from '../icons.js';
import { keptPoints, measured, pointAdded, pointTaken, pointsOf, profileAlong, scaledTo, slidAlong } from '../profile.js';
import { sentence, words } from '../words.js';
import '../words-forms.js';
import { typedLength } from './form-size.js';

const w = words.form;
const f = words.forms;

/** @typedef {import('../profile.js').Point} Point */

/** @param {import('../app.js').Stage} stage  @param {{seen: () => any, around: () => any, put: (field: string, value: unknown) => Promise<boolean>, wide: {now: boolean}}} from */
export function pointsCard(stage, { seen, around, put, wide }) {
  let chosen = -1;
  /** @type {Point[] | null} */
  let drawn = null;
  let timer = 0;
  let texts = { long: '', wide: '' };
  let asked = '';
  let wrong = '';
  const glass = pointsGlass();

  const points = () => drawn ?? pointsOf(seen().form.rings);
  const kind = () => /** @type {'turned' | 'ear'} */ (seen().form.kind);

  /** @param {Point[]} next  @param {boolean} [soon] */
  function change(next, soon = false) {
    drawn = next;
    clearTimeout(timer);
    timer = window.setTimeout(settle, soon ? 0 : 500);
    stage.draw();
  }

  async function settle() {
    clearTimeout(timer);
    timer = 0;
    if (!drawn) return;
    const mine = drawn;
    await put('rings', keptPoints(mine));
    if (drawn === mine) drawn = null;
    stage.draw();
  }

  /** How long and wide it is, as the engine writes it. */
  async function figures() {
    const { long, wide: across } = measured(points());
    const now = JSON.stringify([long, across]);
    if (now === asked || !(long > 0) || !(across > 0)) return;
    asked = now;
    const { unit, inch } = seen().settings;
    const answer = await ask('engine', { method: 'format-length', request: { mm: [long, across], unit, ...(unit === 'in' ? { denominator: inch } : {}) } });
    texts = { long: answer.texts[0], wide: answer.texts[1] };
    stage.draw();
  }

  /** @param {'long' | 'wide'} which */
  const typed = (which) => async (/** @type {Event} */ event) => {
    const text = /** @type {HTMLInputElement} */ (event.target).value.trim();
    try {
      wrong = '';
      if (text) change(scaledTo(points(), { [which]: await typedLength(text) }), true);
    } catch (error) { wrong = sentence(error); stage.draw(); }
  };

  function fromOutline() {
    const all = around();
    const { form } = seen();
    const profile = all?.side.length && form.place ? profileAlong(all.side, form.place, form.side_mm) : null;
    if (!profile) { stage.tell(w.from_outline_none); return; }
    if (profile.along) put('place', settled(slidAlong(form.place, profile.along)));
    change(profile.points, true);
    stage.tell(w.from_outline_done);
  }

  /** @param {number} right  @param {number} up */
  function step(right, up) { if (chosen >= 0) change(glass.stepped(points(), chosen, kind(), right, up)); }

  /** @param {Point[] | null} next */
  function edited(next) { if (next) change(next, true); else stage.tell(w.too_few); }

  /** @param {PointerEvent} event */
  function down(event) {
    const at = glass.down(event, points());
    if (at >= 0) { chosen = at; stage.draw(); }
  }
  /** @param {PointerEvent} event */
  function move(event) {
    const next = glass.move(event, points(), kind());
    if (next) { drawn = next; stage.draw(); }
  }
  /** @param {PointerEvent} event */
  function up(event) {
    const next = glass.up(event, points(), chosen, kind());
    if (next) change(next, true);
  }

  /** @param {KeyboardEvent} event */
  function key(event) {
    if (chosen < 0 || !/** @type {Element} */ (event.target).closest?.('.points-drawing')) return false;
    /** @type {Record<string, () => void>} */
    const keys = { ArrowLeft: () => step(-1, 0), ArrowRight: () => step(1, 0), ArrowUp: () => step(0, 1), ArrowDown: () => step(0, -1), Delete: () => edited(pointTaken(points(), chosen)), Insert: () => edited(pointAdded(points(), chosen, kind() === 'ear')) };
    if (!keys[event.key]) return false;
    keys[event.key]();
    return true;
  }

  function view() {
    const { settings } = seen();
    const now = points();
    if (now.length < 2) return nothing;
    figures();
    const { fit, bar } = glass.fit(now, wide.now ? 560 : 330, wide.now ? 360 : 320);
    const text = settings.unit === 'in' ? f.bar_inch(bar) : f.bar(bar);
    const ear = kind() === 'ear';
    return html`<section class="card stack points-card"><h2>${ear ? w.ear_outline : w.profile}</h2><p class="sub small">${ear ? w.ear_hint : w.profile_hint}</p>
      <div class="points-glass" @pointerdown=${down} @pointermove=${move} @pointerup=${up} @pointercancel=${() => glass.cancel()}>${pointsDrawing({ points: now, kind: kind(), chosen, fit, label: ear ? w.ear_outline : w.profile, name: w.point, bar: { mm: bar, text }, choose: (n) => { if (chosen !== n) { chosen = n; stage.draw(); } } })}</div>
      <div class="place-tools">${tool(w.place.left, pictureIcon('left'), () => step(-1, 0))}${tool(w.place.up, pictureIcon('up'), () => step(0, 1))}${tool(w.place.down, pictureIcon('down'), () => step(0, -1))}${tool(w.place.onward, pictureIcon('onward'), () => step(1, 0))}${tool(w.add_point, icon('plus', 22), () => edited(pointAdded(points(), chosen, ear)))}${tool(w.remove_point, icon('minus', 22), () => { const next = pointTaken(points(), chosen); edited(next); chosen = -1; })}</div>
      <div class="pair"><label class="field">${w.long_field}<input type="text" name="profile-long" autocomplete="off" .value=${texts.long} @change=${typed('long')}></label><label class="field">${w.wide_field}<input type="text" name="profile-wide" autocomplete="off" .value=${texts.wide} @change=${typed('wide')}></label></div>
      <p class="wrong" role="alert">${wrong}</p>
      ${ear ? html`<button class="btn full" @click=${() => { drawn = null; put('rings', null); }}>${w.by_sizes}</button>` : html`<button class="btn full" data-testid="from-outline" @click=${fromOutline}>${pictureIcon('outline', 22)}${w.from_outline}</button>`}</section>`;
  }

  /** @param {string} label  @param {unknown} drawing  @param {() => void} act */
  const tool = (label, drawing, act) => html`<button class="btn" aria-label=${label} title=${label} ?disabled=${chosen < 0} @click=${act}>${drawing}</button>`;

  return { view, key, leave: settle };
}
