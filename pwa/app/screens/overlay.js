// A piece's photo over the outline of its subject: moved by hand, by two pins or by the engine, and what is seen then.
import { html, nothing } from '../lib/lit-html.js';
import { ask } from '../ask.js';
import { bitmapOf } from '../bitmap.js';
import { styled } from '../board/style.js';
import { handIcon } from '../draw/hand-icons.js';
import { pictureIcon } from '../draw/picture-icons.js';
import { tick } from '../feel.js';
import { icon } from '../icons.js';
import { latest } from '../latest.js';
import { look } from '../look.js';
import { overlayGlass } from '../overlay-glass.js';
import { begin, planOf, question, shareOf } from '../overlay-plan.js';
import { byPins, lifted, still } from '../placing.js';
import { straightened } from '../straight.js';
import { num, percent, say, sentence, words } from '../words.js';
import '../words-pictures.js';

const w = words.overlay;

/** @typedef {import('../placing.js').Point} Point  @typedef {import('../placing.js').Place} Place  @typedef {import('../overlay-glass.js').Pin} Pin  @typedef {'hand' | 'pins' | 'self'} Way
 * @typedef {{place: Place, pins: Pin[]}} Before */

const ways = /** @type {Way[]} */ (['hand', 'pins', 'self']);

/** @param {import('../app.js').Stage} stage @returns {import('../app.js').Screen} */
export function open(stage) {
  const [pictureId] = stage.path;
  const draftKey = `overlay:${pictureId}`;
  /** @type {any} */
  let seen = null;
  /** @type {ReturnType<typeof planOf>} */
  let plan = null;
  let outline = '';
  /** The photo as seen from straight above, and of which plane and outline. @type {import('../straight.js').Straight | null} */
  let straight = null;
  let straightOf = '';
  let shownOf = '';
  let pending = false;
  let basis = '';
  let place = still;
  let cover = 70;
  /** @type {Way} */
  let way = 'hand';
  /** @type {Pin[]} */
  let pins = [];
  /** @type {Before[]} */
  let before = [];
  /** What stood when the hand came down. @type {Place | null} */
  let from = null;
  let busy = '';
  let wrong = '';
  let figures = '';
  let saving = 0;
  let left = false;

  const glass = overlayGlass({
    label: w.glass,
    laid: () => ({ subject: plan?.subject ?? [], piece: pending ? null : plan?.piece ?? null, unit: plan?.unit ?? 1, origin: plan?.origin ?? [0, 0], place, sized: plan?.sized ?? true, cover: coverNow(), pinning: way === 'pins', pins }),
    place(next) { from ??= place; place = next; },
    placed,
    tap: setPin,
    pin(n, at) { pins = pins.with(n, { ...pins[n], at }); },
  });

  /** While a pin is set, what it is set on is seen best. */
  const coverNow = () => (way !== 'pins' || pins.length > 3 ? cover : onPhoto() ? 95 : 25);
  const onPhoto = () => pins.length === 0 || pins.length === 2;

  // --- what is there

  async function load() {
    const first = !seen;
    [seen] = await Promise.all([ask('view', { name: 'photo', id: pictureId }), styled]);
    if (first) await restore();
    lay();
    if (plan) come().catch((error) => { wrong = sentence(error); stage.draw(); });
  }

  async function restore() {
    const draft = await ask('drafts', { key: draftKey });
    if (draft) ({ outline, basis, place, cover, way, pins } = draft);
    else if (seen.outlines.length) way = 'self';
  }

  /** Lays the photo over the outline: where it was, unless that means nothing any more. */
  function lay() {
    const was = plan;
    plan = planOf(seen, outline, straight);
    if (!plan) return;
    outline = plan.outline.id;
    pending = waits();
    if (plan.basis !== basis && !pending) [place, pins, before, basis] = [begin(plan), [], [], plan.basis];
    if (JSON.stringify(was?.subject) !== JSON.stringify(plan.subject)) glass.fit();
    glass.paint();
    tell(null);
  }

  /** Whether the photo is still to be made straight. */
  const waits = () => Boolean(plan?.sized && seen.picture.plane?.kind === 'rectangle' && straightOf !== about());
  const about = () => JSON.stringify([seen.picture.plane, seen.outlines.at(-1)?.rings ?? null]);

  /** The photo itself: as it was taken or, where its scale is a plane, straight from above. */
  async function come() {
    if (waits()) {
      const of = about();
      const made = await straightened(seen).catch((error) => { console.warn(error); return null; });
      if (left || of !== about()) return;
      [straight, straightOf] = [made, of];
      lay();
    }
    const { thumb, full, width, height } = seen.picture;
    if (plan?.sized && straight) { glass.show(straight.image, straight.width, straight.height); shownOf = ''; } else if (shownOf !== full) {
      shownOf = full;
      const small = await bitmapOf(thumb).catch(() => null);
      if (small && !left) glass.show(small, width, height);
      const whole = await bitmapOf(full);
      if (!left) glass.show(whole, width, height);
    }
    stage.draw();
  }

  // --- where it lies

  function save() {
    clearTimeout(saving);
    saving = window.setTimeout(saveNow, 150);
  }
  const saveNow = () => { clearTimeout(saving); saving = 0; ask('draft', { key: draftKey, value: { outline, basis, place, cover, way, pins } }).catch(stage.trouble); };

  /** The hand is off: what stood before can be had back. */
  function placed() {
    if (from) before.push({ place: from, pins });
    from = null;
    moved();
  }

  function moved() {
    wrong = '';
    save();
    glass.paint();
    stage.draw();
    tell(null);
  }

  /** @param {Place} next  @param {Pin[]} [nextPins] */
  function put(next, nextPins = pins) {
    before.push({ place, pins });
    [place, pins] = [next, nextPins];
    moved();
  }

  function undo() {
    const last = before.pop();
    if (!last) { tick('refuse', seen.settings); return; }
    ({ place, pins } = last);
    glass.chosen = -1;
    tick('undo', seen.settings);
    moved();
  }

  /** How well it lies on it where it is, as the engine says; the hand does not wait for it. */
  const tell = latest(async (/** @type {null} */ _) => {
    const asked = plan && !pending && question(plan, place);
    if (!plan || !asked) { figures = ''; return; }
    try { figures = await fit(await look('align-outlines', asked, {})); } catch { figures = ''; }
    if (!left) stage.draw();
  });

  /** @param {{overlap: number, mean_off: number}} answer */
  async function fit({ overlap, mean_off }) {
    if (!plan) return '';
    if (!plan.sized) return w.fit(percent(overlap), w.of_length(percent(shareOf(mean_off, plan.subject), 1)));
    const { texts } = await ask('engine', { method: 'format-length', request: { mm: [mean_off], unit: seen.settings.unit } });
    return w.fit(percent(overlap), texts[0]);
  }

  async function together() {
    const asked = plan && question(plan, null);
    if (busy || pending || !plan || !asked) return;
    const { basis: of } = plan;
    busy = w.looking;
    stage.draw();
    try {
      const { scale, turn_rad, x, y } = await look('align-outlines', asked, {});
      if (!left && plan.basis === of) { put({ scale, turn: turn_rad, x, y }); tick('keep', seen.settings); say(w.together_now); }
    } catch (error) { if (/** @type {{code?: string}} */ (error).code !== 'stopped') wrong = sentence(error); }
    busy = '';
    stage.draw();
  }
  const stop = () => ask('lookStop', {}).catch(stage.trouble);

  // --- pins

  /** The next pin, on the photo or on the outline in turn. @param {Point} at */
  function setPin(at) {
    if (pins.length > 3) return;
    before.push({ place, pins });
    pins = [...pins, { onPhoto: onPhoto(), at: onPhoto() ? lifted(place, at) : at }];
    glass.chosen = lastPin();
    tick('fraction', seen.settings);
    moved();
    say(hintText());
  }
  const lastPin = () => pins.length - 1;

  function byTwo() {
    const [a, b, c, d] = pins.map((pin) => pin.at);
    const next = plan && byPins([b, d], [a, c], plan.sized);
    if (!next) { wrong = w.pins_same; stage.draw(); return; }
    put(next, []);
    glass.chosen = -1;
    tick('keep', seen.settings);
    say(w.together_now);
    setWay('hand');
  }

  /** @param {Way} next */
  function setWay(next) {
    [way, wrong] = [next, ''];
    glass.chosen = -1;
    save();
    glass.paint();
    stage.draw();
  }

  /** @param {number} to */
  function setCover(to) { cover = to; save(); glass.paint(); stage.draw(); }
  const more = () => setCover(steps.find((one) => one > cover) ?? 100);
  const less = () => setCover(steps.findLast((one) => one < cover) ?? 0);
  const steps = [0, 10, 20, 30, 40, 50, 60, 70, 80, 90, 100];

  /** @param {Event} event */
  function choose(event) {
    outline = /** @type {HTMLSelectElement} */ (event.target).value;
    lay();
    save();
    stage.draw();
  }

  // --- what is seen

  function view() {
    if (!seen) return nothing;
    if (!seen.piece) return without(w.not_a_piece, w.not_a_piece_hint, `#/photo/${pictureId}`, w.to_photo);
    if (!plan) return without(w.no_outline, w.no_outline_hint, `#/pictures/${seen.project.id}`, w.to_pictures);
    return html`<div class=${`pad-screen overlay-screen${seen.settings.hand === 'left' ? ' left' : ''}`}>
      <div class="pad-main">
        <div class="head outline-head"><h1 tabindex="-1">${w.title(seen.piece.name)}</h1></div>
        <p class=${`outline-hint${wrong ? ' bad' : ''}`} role="status" data-testid="hint">${wrong ? icon('look', 22) : nothing}<span>${wrong || hintText()}</span></p>
        <div class="outline-board">${glass.view()}${busy ? html`<div class="outline-busy card" role="status"><b>${busy}</b><progress aria-label=${busy}></progress><button class="btn" data-testid="stop" @click=${stop}>${w.stop}</button></div>` : nothing}</div>
        <div class="overlay-controls stack">
          ${result()}${outlines()}
          <div class="outline-tools cover"><button class="btn small-tool" data-testid="undo" aria-label=${words.undo} ?disabled=${!before.length} @click=${undo}>${icon('undo', 22)}</button>
            <button class="btn small-tool" data-testid="less" aria-label=${w.less} @click=${less}>${icon('minus', 22)}</button>
            <input type="range" name="cover" min="0" max="100" step="5" aria-label=${w.cover} aria-valuetext=${w.cover_of(cover)} .value=${String(cover)} @input=${(/** @type {Event} */ event) => setCover(Number(/** @type {HTMLInputElement} */ (event.target).value))}>
            <button class="btn small-tool" data-testid="more" aria-label=${w.more} @click=${more}>${icon('plus', 22)}</button></div>
          ${tools()}
          <div class="seg modes" role="group" aria-label=${w.way_label}>${ways.map((one) => html`<button data-way=${one} aria-pressed=${way === one} @click=${() => setWay(one)}>${w.ways[one]}</button>`)}</div>
        </div>
      </div></div>`;
  }

  /** What the colours and signs mean, and how well it lies on it. */
  function result() {
    return html`<div class="overlay-result">
      <span class="chip add">${icon('plus', 18)}${plan?.piece ? w.short : w.inside}</span><span class="chip take-in">${icon('minus', 18)}${plan?.piece ? w.over : w.outside}</span>
      <p class="small" data-testid="fit">${figures || (plan?.sized ? w.at_size(seen.project.size_text) : w.no_size)}</p></div>`;
  }

  function outlines() {
    if (seen.subject_outlines.length < 2) return nothing;
    return html`<label class="overlay-choice"><span>${w.which}</span><select name="outline" @change=${choose}>${seen.subject_outlines.map((/** @type {any} */ one, /** @type {number} */ i) => html`<option value=${one.id} ?selected=${one.id === outline}>${one.name || w.outline_n(num(i + 1, 0))}</option>`)}</select></label>`;
  }

  function tools() {
    if (way === 'self') return self();
    const arrows = /** @type {[string, number, number][]} */ ([['left', -2, 0], ['up', 0, -2], ['down', 0, 2], ['onward', 2, 0]]);
    const names = way === 'pins' && glass.chosen >= 0 ? w.move_pin : way === 'pins' ? w.move_view : w.move;
    return html`<div class="overlay-four">${arrows.map(([name, right, down]) => html`<button class="btn" data-move=${name} aria-label=${names[/** @type {'left'} */ (name)]} @click=${() => glass.step(right, down, 0, 0)}>${pictureIcon(name, 22)}</button>`)}</div>
      ${way === 'pins' ? html`<div class="pair"><button class="btn" data-testid="pins-again" ?disabled=${!pins.length} @click=${() => put(place, [])}>${w.pins_again}</button><button class="btn go" data-testid="by-two" ?disabled=${pins.length < 4} @click=${byTwo}>${w.together}</button></div>`
      : html`<div class="overlay-four">${turns.map(([name, turn, grow]) => html`<button class="btn" data-move=${name} aria-label=${w.turn[/** @type {'turn'} */ (name)]} ?disabled=${Boolean(grow && plan?.sized)} @click=${() => glass.step(0, 0, turn, grow)}>${handIcon(name, 22)}</button>`)}</div>`}`;
  }
  const turns = /** @type {[string, number, number][]} */ ([['back', -1, 0], ['turn', 1, 0], ['smaller', 0, -1], ['larger', 0, 1]]);

  function self() {
    if (!plan?.piece) return html`<a class="btn full" href=${`#/outline/${pictureId}?back=${encodeURIComponent(location.hash)}`}>${pictureIcon('outline', 22)}${w.find_piece}</a>`;
    return html`<div class="pair"><a class="btn" href=${`#/outline/${pictureId}/${seen.outlines.at(-1).id}?back=${encodeURIComponent(location.hash)}`}>${w.mend_piece}</a><button class="btn go" data-testid="together" ?disabled=${Boolean(busy) || pending} @click=${together}>${w.together}</button></div>`;
  }

  function hintText() {
    if (pending) return w.straightening;
    if (way === 'pins') return w.pin_steps[pins.length];
    if (way === 'self') return plan?.piece ? (plan.sized ? w.self_sized : w.self_free) : w.self_none;
    return plan?.sized ? w.hand_sized : w.hand_free;
  }

  /** @param {string} title  @param {string} hint  @param {string} href  @param {string} text */
  function without(title, hint, href, text) {
    return html`<div class="stack narrow"><div class="card stack hollow">${pictureIcon('overlay', 56)}<h1 tabindex="-1">${title}</h1><p class="sub">${hint}</p><a class="btn go" href=${href}>${text}</a></div></div>`;
  }

  /** @param {KeyboardEvent} event */
  function key(event) {
    if (!plan) return false;
    if (/** @type {HTMLElement} */ (event.target).matches?.('select')) return false;
    if (plan.sized && '[]{}'.includes(event.key)) { tick('refuse', seen.settings); return true; }
    if (glass.key(event)) { stage.draw(); return true; }
    switch (event.key) {
      case 'u': undo(); return true;
      case 'o': less(); return true;
      case 'O': more(); return true;
      case 'h': setWay('hand'); return true;
      case 'p': setWay('pins'); return true;
      case 's': setWay('self'); return true;
      case 't': if (way === 'pins' && pins.length > 3) byTwo(); else together(); return true;
      default: return false;
    }
  }

  return {
    get title() { return seen?.piece ? w.title(seen.piece.name) : w.short_title; },
    get back() { return { href: `#/photo/${pictureId}`, text: w.back }; },
    get entry() { return Boolean(plan); },
    load, view, key,
    leave() { left = true; if (saving) saveNow(); if (busy) stop(); glass.leave(); },
  };
}
