// The scale of a picture: a card or another rectangle of known sides lying in it, or one known length.
import { html, nothing } from '../lib/lit-html.js';
import { ask, on } from '../ask.js';
import { board } from '../board/board.js';
import { dimension, quad } from '../board/lines.js';
import { showPicture } from '../board/picture.js';
import { Steps } from '../board/pins.js';
import * as p from '../board/plane.js';
import { styled } from '../board/style.js';
import { pictureIcon } from '../draw/picture-icons.js';
import { tick } from '../feel.js';
import { icon } from '../icons.js';
import { latest } from '../latest.js';
import { look } from '../look.js';
import { say, words } from '../words.js';
import '../words-more.js';
import '../words-pictures.js';
import { lengthTrouble } from './keypad.js';
import { sheet } from './sheet.js';

const w = words.plane;
const ways = /** @type {const} */ (['card', 'rectangle', 'length']);

/** @typedef {import('../board/geometry.js').Point} Point  @typedef {import('../board/plane.js').Set} Set
 * A typed length: its text, what the engine reads in it, and what is wrong with it. @typedef {{text: string, mm: number | null, wrong: string}} Typed
 */

/** @param {import('../app.js').Stage} stage @returns {import('../app.js').Screen} */
export function open(stage) {
  const id = stage.path[0];
  /** @type {any} */
  let seen = null;
  /** @type {typeof ways[number]} */
  let way = 'card';
  /** The corners of each way, and the ends; kept while one looks at another way. @type {Record<typeof ways[number], Set[]>} */
  const set = { card: [], rectangle: [], length: [] };
  /** @type {Record<'width' | 'height' | 'long' | 'distance', Typed>} */
  const typed = { width: empty(), height: empty(), long: empty(), distance: empty() };
  /** How the finding stands. @type {'' | 'looking' | 'found' | 'doubtful' | 'not_found' | 'stopped'} */
  let finding = '';
  /** @type {any} */
  let gives = null;
  let wrong = '';
  let busy = false;
  let looks = 0;
  /** @type {Steps<{way: typeof ways[number], points: Set[]}>} */
  const undoing = new Steps();
  let drafted = 0;
  let reckoned = 0;
  const glass = board(stage, { label: w.label });
  const care = sheet(stage, 'card-care', () => w.care, () => html`${steps()}<button class="btn go full" data-testid="understood" @click=${() => care.close()}>${words.marks.understood}</button>`);
  const more = sheet(stage, 'plane-more', () => w.gives, () => told());
  const draftKey = `plane:${id}`;

  async function load() {
    const first = !seen;
    await styled;
    seen = await ask('view', { name: 'photo', id });
    if (first) await begin();
  }

  async function begin() {
    glass.hand = seen.settings.hand;
    const left = await ask('drafts', { key: draftKey });
    const plane = seen.picture.plane;
    if (left) { way = left.way; Object.assign(set, left.set); Object.assign(typed, left.typed); } else if (plane) await taken(plane);
    follow();
    const whole = showPicture(glass, seen.picture, stage);
    reckon(null);
    if (stage.query.has('more')) requestAnimationFrame(more.open); // on a wide screen it stands beside the picture
    else if (!plane) firstTime();
    if (way === 'card' && !set.card.length) whole.then(() => { if (way === 'card' && !set.card.length) find(); });
  }

  /** How to lay the card is shown once, and then from the help mark. */
  async function firstTime() {
    try {
      if (await ask('drafts', { key: 'seen:plane' })) return;
      await ask('draft', { key: 'seen:plane', value: true });
      requestAnimationFrame(care.open);
    } catch (error) { stage.trouble(error); }
  }

  /** A scale that is kept, to be looked at and mended. @param {any} plane */
  async function taken(plane) {
    way = plane.kind === 'length' ? 'length' : plane.name === 'id-1' ? 'card' : 'rectangle';
    const u = (plane.kind === 'length' ? plane.end_px : plane.corner_px) ?? null;
    set[way] = (plane.ends ?? plane.corners).map((/** @type {Point} */ at) => ({ at, u }));
    const { texts } = await ask('engine', { method: 'format-length', request: { mm: [plane.width_mm ?? 0, plane.height_mm ?? 0, plane.mm ?? 0, plane.distance_mm ?? 0], unit: seen.settings.unit } });
    const said = (/** @type {number | undefined} */ mm, /** @type {string} */ text) => (mm ? { text, mm, wrong: '' } : empty());
    Object.assign(typed, { width: said(plane.width_mm, texts[0]), height: said(plane.height_mm, texts[1]), long: said(plane.mm, plane.typed ?? texts[2]), distance: said(plane.distance_mm, texts[3]) });
  }

  const here = () => set[way];
  const sides = () => (way === 'card' ? p.card : typed.width.mm && typed.height.mm ? { width: typed.width.mm, height: typed.height.mm } : null);
  const points = () => here().map(({ at }) => at);

  /** The scale as it would be kept, or what is still wanting. @returns {{plane: any, wants: string}} */
  function now() {
    const more = typed.distance.mm ? { distance_mm: typed.distance.mm } : {};
    const u = here().length ? p.sureness(here()) : 1;
    if (way === 'length') {
      if (here().length < 2) return { plane: null, wants: w.wants.ends };
      if (!typed.long.mm) return { plane: null, wants: w.wants.long };
      return { plane: { kind: 'length', ends: points(), mm: typed.long.mm, typed: typed.long.text, end_px: u, ...more }, wants: '' };
    }
    const both = sides();
    if (!both) return { plane: null, wants: w.wants.size };
    if (finding === 'looking') return { plane: null, wants: w.wants.looking };
    if (!p.convex(points())) return { plane: null, wants: w.wants.corners };
    return { plane: { kind: 'rectangle', corners: points(), width_mm: both.width, height_mm: both.height, name: way === 'card' ? 'id-1' : 'other', corner_px: u, ...more }, wants: '' };
  }

  /** What the scale comes to, with what a thing 2 cm above it would read. */
  const reckon = latest(async () => {
    const { plane } = now();
    if (!plane) { gives = null; stage.draw(); return; }
    try {
      const { width, height } = seen.picture;
      const answer = await ask('engine', { method: 'measure-photo', request: { width_px: width, height_px: height, plane, items: [{ id: 'raised', pins: p.acrossMiddle(seen.picture), off_mm: 20 }] } });
      const distance = answer.scale?.distance_mm ?? null;
      const { texts } = await ask('engine', { method: 'format-length', request: { mm: [20, distance ?? 0], unit: seen.settings.unit === 'mm' ? 'cm' : seen.settings.unit } });
      gives = { ...answer.scale, raised: answer.items[0]?.off_share ?? null, raised_text: texts[0], distance_text: distance === null ? '' : texts[1] };
      wrong = '';
    } catch (error) { gives = null; wrong = /** @type {{text?: string}} */ (error).text || ''; if (!wrong) stage.trouble(error); }
    stage.draw();
  });

  /** The handles are the corners, or the ends. */
  function follow() {
    const names = way === 'length' ? w.ends : w.corners;
    glass.handles = here().map(({ at }, i) => ({ id: String(i), at, label: names[i], kind: way === 'length' ? /** @type {'pin'} */ ('pin') : 'corner' }));
    stage.draw();
  }

  function changed() {
    reckon(null);
    clearTimeout(drafted);
    drafted = window.setTimeout(save, 150);
    stage.draw();
  }
  function save() { ask('draft', { key: draftKey, value: { way, set, typed } }).catch(stage.trouble); }

  glass.under = (ctx, to) => {
    const at = points();
    if (way === 'length') { if (at.length === 2) { const [a, b] = at.map(to.toGlass); dimension(ctx, a, b, { width: 3, end: 0 }); } return; }
    if (at.length === 4) quad(ctx, to, at, way === 'card' ? w.card : typed.width.text ? typed.width.text : w.width);
  };

  Object.assign(glass.on, /** @type {import('../board/board.js').Hears} */ ({
    tap(at) {
      note();
      if (way !== 'length') { if (here().length === 4) move(nearestTo(at), at, true); return; }
      if (here().length < 2) set.length = [...here(), { at, u: glass.pinU() }];
      else { move(nearestTo(at), at, true); return; }
      tick('unit', seen.settings);
      follow();
      if (here().length === 2) glass.chosen = '1';
      changed();
    },
    moveStart() { note(); },
    move(which, at) { move(Number(which), at, false); },
    moveEnd() { changed(); },
  }));

  /** @param {Point} at */
  const nearestTo = (at) => points().reduce((best, one, i, all) => (nearer(at, one, all[best]) ? i : best), 0);
  /** @param {Point} at  @param {Point} a  @param {Point} b */
  const nearer = (at, a, b) => p.far(at, a) < p.far(at, b);

  /** @param {number} i  @param {Point} at  @param {boolean} draw the handle is still elsewhere */
  function move(i, at, draw) {
    set[way] = here().map((one, n) => (n === i ? { at, u: glass.pinU() } : one));
    if (draw) { follow(); changed(); } else if (!reckoned) reckoned = window.setTimeout(() => { reckoned = 0; reckon(null); }, 140);
    if (finding !== 'looking') finding = '';
  }

  const note = () => undoing.note({ way, points: here() });
  function undo() {
    const before = undoing.back();
    if (!before) { tick('refuse', seen.settings); return; }
    way = before.way;
    set[way] = before.points;
    glass.chosen = null;
    tick('undo', seen.settings);
    follow();
    changed();
  }

  /** Looks for the rectangle by itself. */
  async function find() {
    const both = sides();
    const mine = ++looks;
    const asked = way;
    if (!both || way === 'length') return;
    finding = 'looking';
    stage.draw();
    try {
      const { corners_px, confidence } = await look('find-rectangle', { image: 'photo', width_mm: both.width, height_mm: both.height }, { photo: { hash: seen.picture.full } });
      if (mine !== looks || way !== asked) return;
      const good = corners_px?.length === 4;
      note();
      finding = !good ? 'not_found' : confidence >= .5 ? 'found' : 'doubtful';
      set[way] = good ? corners_px.map((/** @type {Point} */ at) => ({ at, u: null })) : byHand(both);
      tick(good ? 'keep' : 'refuse', seen.settings);
    } catch (error) {
      if (mine !== looks || way !== asked) return;
      finding = /** @type {{code?: string}} */ (error).code === 'no-card-found' ? 'not_found' : 'stopped';
      set[way] = here().length === 4 ? here() : byHand(both);
    }
    say(said());
    follow();
    changed();
  }

  /** @param {{width: number, height: number}} both */
  const byHand = (both) => p.begin(seen.picture, both).map((at) => ({ at, u: glass.pinU() }));

  /** @param {typeof ways[number]} other */
  function choose(other) {
    if (way === other) return;
    way = other;
    finding = '';
    looks += 1;
    glass.chosen = null;
    follow();
    if (way === 'card' && !set.card.length) find();
    changed();
  }

  /** @param {'width' | 'height' | 'long' | 'distance'} name */
  const type = (name) => async (/** @type {Event} */ event) => {
    const text = /** @type {HTMLInputElement} */ (event.target).value;
    typed[name] = { text, mm: null, wrong: '' };
    stage.draw();
    if (text.trim()) {
      try {
        const { mm } = await ask('engine', { method: 'parse-length', request: { text, unit: seen.settings.unit } });
        if (typed[name].text === text) typed[name] = { text, mm, wrong: '' };
      } catch (error) { if (typed[name].text === text) typed[name] = { text, mm: null, wrong: lengthTrouble(error) }; }
    }
    if (way === 'rectangle' && !set.rectangle.length && sides() && name !== 'distance') { set.rectangle = byHand(/** @type {any} */ (sides())); follow(); }
    changed();
  };

  async function keep() {
    const { plane, wants } = now();
    if (!plane || busy) { tick('refuse', seen.settings); if (wants) stage.tell(wants); return; }
    busy = true;
    clearTimeout(drafted);
    try {
      await ask('set', { kind: 'picture', id, field: 'plane', value: plane });
      await ask('draft', { key: draftKey, value: null });
      tick('keep', seen.settings);
      stage.tell(w.kept);
      location.hash = `#/photo/${id}`;
    } catch (error) { stage.trouble(error); } finally { busy = false; stage.draw(); }
  }

  async function remove() {
    const before = seen.picture.plane;
    try {
      await ask('set', { kind: 'picture', id, field: 'plane', value: null });
      await ask('draft', { key: draftKey, value: null });
      stage.tell(w.removed, { text: words.put_back, run: () => ask('set', { kind: 'picture', id, field: 'plane', value: before }).catch(stage.trouble) });
      location.hash = `#/photo/${id}`;
    } catch (error) { stage.trouble(error); }
  }

  function turn() { note(); set[way] = p.turned(here()); follow(); changed(); }

  // --- in words

  function said() {
    if (way === 'length') return here().length === 2 ? w.pins_ready : here().length ? w.pins_second : w.pins_first;
    if (finding === 'looking') return way === 'card' ? w.looking : w.looking_other;
    if (gives?.corner_error_px > 3) return w.corners_off(gives.corner_error_px);
    if (finding) return w[finding];
    return way === 'rectangle' && !sides() ? w.how.rectangle : here().length === 4 ? w.by_hand : w.how[way];
  }

  function view() {
    const { wants } = now();
    return html`<div class=${`pad-screen plane-screen${glass.hand === 'left' ? ' left' : ''}`}>
      <div class="pad-main photo-main">
        <div class="head"><h1 tabindex="-1">${w.title}</h1><span class="side entry-side"><button class="text" data-testid="help" aria-label=${w.care} @click=${care.open}>${icon('help', 30)}</button></span>
          <p class="sub" role="status" data-testid="said">${said()}</p></div>
        <div class="photo-glass">${glass.view()}</div>
        <div class="seg" role="group" aria-label=${w.ways_label}>${ways.map((one) => html`<button data-way=${one} aria-pressed=${way === one} @click=${() => choose(one)}>${w.ways[one]}</button>`)}</div>
        ${row()}${summary()}
        <div class="entry-foot"><button class="btn" data-testid="undo" aria-disabled=${!undoing.any ? 'true' : 'false'} @click=${undo}>${icon('undo', 20)}${words.undo}</button>
          <button class="btn go" data-testid="keep" aria-disabled=${busy || !gives ? 'true' : 'false'} @click=${keep}>${gives || !wants ? w.keep : html`<span><b>${w.keep}</b><small>${wants}</small></span>`}</button></div>
      </div>
      <aside class="pad-side"><div class="stack">${told()}<div class="card stack"><h2>${w.care}</h2>${steps()}</div></div></aside>${care.view()}${more.view()}
    </div>`;
  }

  /** What each way needs beside the picture. */
  function row() {
    if (way === 'length') return html`<div class="plane-row">${field('long', w.long, w.example_ruler)}</div>`;
    const again = html`<button class=${way === 'card' ? 'btn' : 'btn square'} data-testid="find" aria-label=${here().length ? w.again : w.find} ?disabled=${!sides() || finding === 'looking'} @click=${find}>${icon('again', 20)}${way === 'card' ? (here().length ? w.again : w.find) : nothing}</button>`;
    const turning = html`<button class=${way === 'card' ? 'btn' : 'btn square'} data-testid="turn" aria-label=${w.turn} ?disabled=${here().length !== 4} @click=${turn}>${pictureIcon('turn', 22)}${way === 'card' ? w.turn : nothing}</button>`;
    return html`<div class="plane-row">${way === 'rectangle' ? html`${field('width', w.width, w.example)}${field('height', w.height, w.example)}` : nothing}${again}${turning}</div>`;
  }

  /** On a phone, the one figure; the others come up when they are asked for. */
  function summary() {
    const inches = seen.settings.unit === 'in';
    return html`<div class="photo-figure">${gives ? html`<span class="count">${inches ? w.summary_in(gives.u_share) : w.summary(gives.u_share)}</span><span class="sub small">${inches ? w.summary_of_in : w.summary_of}</span>` : html`<span class="sub">${wrong || w.nothing_given}</span>`}
      <button class="text end" data-testid="more" @click=${more.open}>${w.more}</button></div>`;
  }

  const steps = () => html`<ol class="numbered">${w.care_steps.map((step, i) => html`<li><b>${i + 1}</b><span>${step}</span></li>`)}</ol>`;
  const told = () => html`${given()}${field('distance', w.distance, w.distance_hint)}${seen.picture.plane ? html`<button class="text" data-testid="remove" @click=${remove}>${w.remove}</button>` : nothing}`;

  /** @param {'width' | 'height' | 'long' | 'distance'} name  @param {string} label  @param {string} example */
  function field(name, label, example) {
    const { text, wrong: bad } = typed[name];
    return html`<label class="field">${label}<input type="text" name=${name} autocomplete="off" placeholder=${example} .value=${text} @input=${type(name)} aria-invalid=${bad ? 'true' : nothing}>${bad ? html`<span class="wrong small" role="alert">${bad}</span>` : nothing}</label>`;
  }

  function given() {
    if (wrong) return html`<div class="card bad"><p>${wrong}</p></div>`;
    if (!gives) return nothing;
    return html`<div class="card plane-gives" data-testid="gives">
      <p><b>${seen.settings.unit === 'in' ? w.sure_in(gives.u_share) : w.sure(gives.u_share)}</b></p>
      <p class="sub">${w.per_point(w.mm(gives.mm_per_px))} ${w.tilt(gives.tilt_rad)}</p>
      <p class="sub">${gives.raised === null ? w.stands_plain : `${w.stands(gives.raised_text, gives.distance_text, gives.raised)}${typed.distance.mm ? '' : ` ${w.told_distance(gives.distance_text)}`}`}</p></div>`;
  }

  /** @param {KeyboardEvent} event */
  function key(event) {
    if (document.querySelector('dialog[open]')) return false;
    if (glass.key(event)) return true;
    switch (event.key) {
      case 'k': keep(); return true;
      case 'u': undo(); return true;
      case 'f': find(); return true;
      case 't': if (here().length === 4) turn(); return true;
      default: return false;
    }
  }

  const off = on('engine', () => { if (!gives) reckon(null); });
  return {
    title: w.title, get back() { return { href: `#/photo/${id}`, text: words.photo.title_short }; }, entry: true, load, view, key,
    leave() { off(); looks += 1; clearTimeout(drafted); clearTimeout(reckoned); glass.leave(); },
  };
}

/** @returns {Typed} */
const empty = () => ({ text: '', mm: null, wrong: '' });
