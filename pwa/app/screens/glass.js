// True size on the glass: the screen is measured once with a card laid on it; then a view as large as the finished piece, to hold it against.
import { html, nothing } from '../lib/lit-html.js';
import { ask } from '../ask.js';
import { styled } from '../board/style.js';
import { pictureIcon } from '../draw/picture-icons.js';
import { card, cardOn, drawCard, farOff, fromSlider, glassNow, guess, holds, pinched, stepped, sureness, toSlider, trueGlass } from '../draw/true-glass.js';
import { icon } from '../icons.js';
import { onGlass } from '../lay-sheet.js';
import { placeOf, straight } from '../true-size.js';
import { cap, num, percent, words } from '../words.js';
import '../words-more.js';
import '../words-pictures.js';
import '../words-forms.js';
import { stayAwake } from './awake.js';

const w = words.glass;
const p = words.print;

/** @typedef {import('../true-size.js').Sized} Sized */

/** @param {import('../app.js').Stage} stage @returns {import('../app.js').Screen} */
export function open(stage) {
  const project = stage.path[0] ?? '';
  /** A form instead of a picture: its rolled core, and its lay. */
  const form = stage.query.get('form');
  /** @type {any} */
  let laid = null;
  const canvas = Object.assign(document.createElement('canvas'), { className: 'glass-canvas', tabIndex: 0 });
  const glass = trueGlass(canvas);
  const letGo = stayAwake();
  /** @type {any} */
  let seen = null;
  /** @type {import('../bench/settings.js').Settings} */
  let own;
  /** @type {ReturnType<typeof ready>[number] | null} */
  let at = null;
  /** @type {'photo' | 'outline'} */
  let what = 'photo';
  let measuring = false;
  let locked = false;
  let px_per_mm = guess();
  let trouble = '';
  let waiting = false;
  let left = false;
  /** @type {{id: string, image: ImageBitmap} | null} */
  let image = null;
  let held = 0;

  async function load() {
    const first = !own;
    const [settings, view, lay] = await Promise.all([ask('settings', {}), project ? ask('view', { name: 'print', project }) : null, form ? ask('view', { name: 'lay', form }) : null, styled]);
    own = settings;
    laid = lay;
    seen = view;
    if (first) begin();
    if (at) at = ready().find((one) => one.id === at?.id) ?? null;
    at ??= ready().find((one) => one.id === stage.query.get(form ? 'show' : 'picture')) ?? ready()[0] ?? null;
    if (first && at) what = at.outlines ? 'outline' : 'photo';
    if (at && !at.outlines) what = 'photo';
    fetchImage();
  }

  function begin() {
    measuring = !holds(own.glass);
    if (own.glass && !holds(own.glass)) trouble = w.changed;
    px_per_mm = own.glass?.px_per_mm ?? guess();
  }

  const ready = () => /** @type {(Sized & Partial<ReturnType<typeof onGlass>[number]>)[]} */ (form ? onGlass(laid).map((one) => ({ ...one, why: '', outlines: 1, photo: null, rectify: null })) : (seen?.pictures ?? []).filter((/** @type {Sized} */ one) => !one.why));

  /** The picture that is shown, straight: fetched once. */
  async function fetchImage() {
    const one = at;
    if (!one || image?.id === one.id || what !== 'photo') return;
    waiting = true;
    try {
      const bitmap = await createImageBitmap(await straight(one) ?? await kept(one.full));
      if (left || at?.id !== one.id) { bitmap.close(); return; }
      image?.image.close();
      image = { id: one.id, image: bitmap };
    } catch (error) { stage.trouble(error); }
    waiting = false;
    stage.draw();
  }

  /** @param {string} hash @returns {Promise<Blob>} */
  async function kept(hash) {
    const { bytes, type } = await ask('pictureBytes', { hash });
    return new Blob([bytes], { type });
  }

  /** @param {Sized} one */
  const called = (one) => one.name || words.pictures.views[one.view ?? 'other'];
  const side = () => (own.hand === 'left' ? 'right' : 'left');

  function paint(anew = false) {
    if (left || !own) return;
    if (measuring) { drawCard(canvas, px_per_mm); return; }
    glass.set(px_per_mm, side());
    glass.show({ image: at && image?.id === at.id ? image.image : null, place: at && placeOf(at), rings: at?.rings_mm ?? [], what, wool: Boolean(form), arrows: at?.arrows ?? [], labels: at?.labels ?? [] }, anew);
  }

  /** After the template has put the canvas on the page. @param {boolean} [anew] */
  const soon = (anew = false) => requestAnimationFrame(() => paint(anew));
  const watch = new ResizeObserver(() => paint());
  watch.observe(canvas);
  let placed = '';

  /** @param {ReturnType<typeof ready>[number]} one */
  function choose(one) {
    at = one;
    what = one.outlines ? what : 'photo';
    fetchImage();
    stage.draw();
  }

  /** @param {number} size */
  function size(size) {
    px_per_mm = size;
    stage.draw();
  }

  /** Once when pressed, and again and again while it is held. @param {number} steps */
  const hold = (steps) => (/** @type {PointerEvent} */ event) => {
    if (event.button) return;
    letUp();
    let n = 0;
    const again = () => { size(stepped(px_per_mm, steps, n > 12)); n += 1; };
    again();
    held = window.setTimeout(() => { held = window.setInterval(again, 70); }, 380);
  };
  function letUp() { clearTimeout(held); clearInterval(held); held = 0; }

  async function fits() {
    const u_share = sureness(by());
    try {
      own = await ask('setting', { name: 'glass', value: { px_per_mm, u_share, ...glassNow() } });
      measuring = false;
      trouble = '';
      placed = '';
      stage.tell(w.kept(percent(farOff(u_share).share, 1)));
    } catch (error) { stage.trouble(error); }
    stage.draw();
  }

  const by = () => cardOn(px_per_mm, { width: canvas.clientWidth, height: canvas.clientHeight }).by;
  function again() { measuring = true; stage.draw(); }

  function view() {
    const now = measuring ? 'card' : `${at?.id ?? ''} ${what} ${image?.id ?? ''}`;
    const anew = !measuring && placed.split(' ')[0] !== (at?.id ?? '');
    placed = now;
    soon(anew);
    return measuring ? calibrating() : showing();
  }

  function calibrating() {
    const drawn = cardOn(px_per_mm, { width: canvas.clientWidth, height: canvas.clientHeight });
    const { share, mm } = farOff(sureness(canvas.clientWidth ? drawn.by : card.long));
    return html`<div class="glass-screen measuring">
      <div class="glass-box">${canvas}<div class=${drawn.width > drawn.height ? 'glass-how below' : 'glass-how'}><h1 tabindex="-1">${w.calibrate}</h1>${trouble ? html`<p class="wrong">${trouble}</p>` : nothing}<ol class="numbered">${w.how.map((text, nth) => html`<li><b aria-hidden="true">${nth + 1}</b><span>${text}</span></li>`)}</ol>
        <p class="sub">${w.card}</p><p class="sub small">${w.sure(percent(share, 1), `${num(mm, 1)} mm`)}</p></div></div>
      <div class="glass-tools"><input type="range" min="0" max="1000" step="1" aria-label=${w.slider} aria-valuetext=${w.card} .value=${String(toSlider(px_per_mm))} @input=${(/** @type {Event} */ event) => size(fromSlider(Number(/** @type {HTMLInputElement} */ (event.target).value)))}>
        <div class="sizes">${resizer('minus', w.smaller, -1)}${resizer('plus', w.larger, 1)}<button class="btn go" data-testid="fits" @click=${fits}>${icon('right', 22)}${w.fits}</button></div></div></div>`;
  }

  /** @param {string} which  @param {string} label  @param {number} steps */
  const resizer = (which, label, steps) => html`<button class="btn" data-testid=${which} @pointerdown=${hold(steps)} @pointerup=${letUp} @pointerleave=${letUp} @pointercancel=${letUp} @contextmenu=${(/** @type {Event} */ event) => event.preventDefault()}
    @click=${(/** @type {MouseEvent} */ event) => { if (event.detail === 0) size(stepped(px_per_mm, steps)); }}>${icon(which, 24)}${label}</button>`;

  function showing() {
    const { share, mm } = farOff(own.glass?.u_share ?? 0);
    const error = w.error(percent(share, 1), `${num(mm, 1)} mm`);
    canvas.setAttribute('role', 'img');
    canvas.setAttribute('aria-label', at ? w.picture(called(at), error) : w.ruler_label);
    return html`<div class="glass-screen">
      <div class="glass-words row"><h1 tabindex="-1">${form && laid ? cap(laid.form.name) : at ? called(at) : w.title}</h1><p class="sub small end">${form && at ? w.at_size(at.name.toLowerCase()) : seen?.size ? w.at_size(p.size_is(seen.size_text, seen.size_part)) : nothing}<br>${error}</p></div>
      <div class=${locked ? 'glass-box locked' : 'glass-box'} @pointerdown=${grab} @pointermove=${drag} @pointerup=${drop} @pointercancel=${drop}>${canvas}
        ${pinched() ? html`<p class="glass-note wrong" role="alert">${w.pinched}</p>` : waiting ? html`<p class="glass-note" role="status">${w.straightening}</p>` : nothing}
        ${at ? nothing : empty()}</div>
      <div class="glass-tools">${at ? tools(at) : nothing}</div></div>`;
  }

  function empty() {
    return html`<div class="card look stack glass-empty">${form ? html`<p>${words.lay.no_grams_hint}</p><a class="btn go full" href=${`#/form/${project}/${form}`}>${words.lay.to_form}</a>` : project ? html`<h2>${w.none}</h2><p>${w.none_hint}</p><a class="btn go full" href=${`#/print/${project}`}>${w.to_print}</a>` : html`<p>${w.no_project}</p><a class="btn go full" href="#/">${w.to_animals}</a>`}
      <button class="btn full" @click=${again}>${w.again}</button></div>`;
  }

  /** @param {Sized} one */
  function tools(one) {
    const all = ready();
    return html`<div class=${all.length > 2 ? 'stack' : 'glass-choices'}>${all.length > 1 ? html`<div class="seg" role="group" aria-label=${w.view_label}>${all.map((other) => html`<button aria-pressed=${other.id === one.id} @click=${() => choose(other)}>${called(other)}</button>`)}</div>` : nothing}
      ${one.outlines && !form ? html`<div class="seg" role="group" aria-label=${w.what_label}>${/** @type {const} */ (['outline', 'photo']).map((kind) => html`<button aria-pressed=${what === kind} @click=${() => { what = kind; fetchImage(); stage.draw(); }}>${w[kind]}</button>`)}</div>` : nothing}</div>
      <div class="glass-row"><button class="btn" aria-label=${w.again} title=${w.again} @click=${again}>${pictureIcon('card', 24)}</button><button class="btn" @click=${() => glass.turn()}>${icon('again', 22)}${w.turn}</button><button class="btn" @click=${() => glass.middle()}>${pictureIcon('middle', 22)}${w.middle}</button>
        <button class="btn go" aria-pressed=${locked} data-testid="lock" @click=${() => { locked = !locked; stage.draw(); }}>${pictureIcon(locked ? 'move' : 'lock', 22)}${locked ? w.unlock : w.lock}</button></div>`;
  }

  /** @type {{id: number, x: number, y: number} | null} */
  let finger = null;
  /** @param {PointerEvent} event */
  function grab(event) {
    if (locked || finger || event.button || !at) return;
    finger = { id: event.pointerId, x: event.clientX, y: event.clientY };
    canvas.setPointerCapture?.(event.pointerId);
  }
  /** @param {PointerEvent} event */
  function drag(event) {
    if (finger?.id !== event.pointerId) return;
    glass.move(event.clientX - finger.x, event.clientY - finger.y);
    finger = { id: event.pointerId, x: event.clientX, y: event.clientY };
  }
  /** @param {PointerEvent} event */
  function drop(event) { if (finger?.id === event.pointerId) finger = null; }

  /** @param {KeyboardEvent} event */
  function key(event) {
    const far = event.shiftKey ? 40 : 4;
    const steps = event.shiftKey ? 10 : 1;
    /** @type {Record<string, () => void>} */
    const keys = measuring ? { ArrowLeft: () => size(stepped(px_per_mm, -steps)), ArrowDown: () => size(stepped(px_per_mm, -steps)), ArrowRight: () => size(stepped(px_per_mm, steps)), ArrowUp: () => size(stepped(px_per_mm, steps)), '+': () => size(stepped(px_per_mm, 1)), '-': () => size(stepped(px_per_mm, -1)) }
      : { ArrowLeft: () => glass.move(-far, 0), ArrowRight: () => glass.move(far, 0), ArrowUp: () => glass.move(0, -far), ArrowDown: () => glass.move(0, far), t: () => glass.turn(), m: () => glass.middle(), l: () => { locked = !locked; stage.draw(); } };
    const act = keys[event.key];
    if (!act || (locked && event.key.startsWith('Arrow'))) return false;
    act();
    return true;
  }

  const home = form ? `#/lay/${project}/${form}` : project ? `#/project/${project}` : '#/settings';

  /** The window went to another screen, or was zoomed. */
  function resized() {
    if (own && !measuring && !holds(own.glass)) { trouble = w.changed; measuring = true; }
    stage.draw();
  }
  addEventListener('resize', resized);
  globalThis.visualViewport?.addEventListener('resize', resized);

  function leave() {
    left = true;
    letUp();
    letGo();
    watch.disconnect();
    removeEventListener('resize', resized);
    globalThis.visualViewport?.removeEventListener('resize', resized);
    image?.image.close();
  }

  return { get title() { return measuring ? w.calibrate : w.title; }, get back() { return { href: home, text: laid ? cap(laid.form.name) : seen?.name ?? words.back }; }, entry: true, load, view, key, leave };
}
