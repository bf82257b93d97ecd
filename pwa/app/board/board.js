// The board: a picture on which one thumb places things to the pixel. It knows nothing of what they mean; screens give it handles and
// layers to draw, and hear what was done. Everything that a finger drags can be done by taps, and by keys.
import { html, nothing } from '../lib/lit-html.js';
import { pictureIcon } from '../draw/picture-icons.js';
import { icon } from '../icons.js';
import { say, words } from '../words.js';
import '../words-pictures.js';
import { fingers } from './fingers.js';
import * as g from './geometry.js';
import * as paint from './paint.js';

const w = words.board;

/**
 * @typedef {import('./geometry.js').Point} Point  @typedef {import('./geometry.js').View} View  @typedef {import('./paint.js').Glass} Glass
 * Something that can be taken hold of. `fixed`: it is shown and can be chosen, not moved.
 * @typedef {{id: string, at: Point, label: string, kind: 'pin' | 'corner' | 'point', fixed?: boolean}} Handle
 *
 * What a screen may hear. `tap` comes when no handle was meant and none is chosen; one that is chosen goes to where was tapped. `grab` is
 * asked before that: true when what the screen has drawn there was meant. `insert` is a finger that rests, or the Insert key.
 * @typedef {object} Hears
 * @property {(at: Point) => void} [tap]
 * @property {(at: Point, glass: Point) => boolean} [grab]
 * @property {(id: string) => void} [moveStart]
 * @property {(id: string, at: Point, how: 'drag' | 'tap' | 'nudge') => void} [move]   the handle is there already; the screen may put it elsewhere
 * @property {(id: string) => void} [moveEnd]
 * @property {(id: string | null) => void} [choose]
 * @property {(at: Point) => void} [strokeStart]
 * @property {(at: Point) => void} [stroke]
 * @property {(dropped: boolean) => void} [strokeEnd]      dropped: it was the first of two fingers, and drew nothing that was meant
 * @property {(at: Point) => void} [insert]
 * @property {(id: string) => void} [remove]               Delete or Backspace on a chosen handle
 */

const FEW = 24; // handles that each have a button of their own for the keyboard; of more, one button stands for the chosen one
const LINGER = 1400; // ms the loupe stays after a nudge

/**
 * @param {import('../app.js').Stage} stage
 * @param {{label: string, hand?: string}} what   hand: 'left' or 'right', the one whose thumb it is
 */
export function board(stage, { label, hand = 'right' }) {
  const canvas = Object.assign(document.createElement('canvas'), { className: 'board-glass', tabIndex: 0 });
  const ctx = /** @type {CanvasRenderingContext2D} */ (canvas.getContext('2d'));
  /** @type {Hears} */
  const on = {};
  /** @type {g.Size} */
  let glass = { width: 0, height: 0 };
  /** @type {g.Size | null} */
  let picture = null;
  /** @type {ReturnType<typeof paint.levelsOf>} */
  let levels = [];
  /** @type {View} */
  let view = { scale: 1, x: 0, y: 0 };
  let whole = true; // the whole picture is seen: it stays so when the glass grows
  let dpr = 1;
  let asked = 0;
  /** @type {Handle[]} */
  let handles = [];
  /** @type {string | null} */
  let chosen = null;
  /** What a finger is doing. @type {{id: string, from: Point, start: Point, thumb: boolean, finger: Point} | null} */
  let drag = null;
  /** Where it was before that. @type {Point} */
  let before = [0, 0];
  let stroking = false;
  /** What the loupe shows, and for whom it makes room. @type {{at: Point, finger: Point} | null} */
  let under = null;
  /** @type {number | null} */
  let seat = null;
  let linger = 0;
  /** @type {{from: View, to: View, since: number, fit: boolean} | null} */
  let flight = null;
  /** @type {View} */
  let pinchedFrom = view;
  /** @type {[Point, Point]} */
  let pinchedAt = [[0, 0], [1, 1]];
  let keyed = false; // the keyboard is on the glass: Enter puts something in its middle
  let gone = false;

  const self = {
    hand, on,
    /** @type {'pan' | 'draw'} */
    mode: 'pan',
    /** Layers below and above the handles. @type {((ctx: CanvasRenderingContext2D, glass: Glass) => void) | null} */
    under: null,
    /** @type {((ctx: CanvasRenderingContext2D, glass: Glass) => void) | null} */
    over: null,
    get handles() { return handles; },
    set handles(all) { handles = all; if (!find(chosen)) chosen = null; draw(); },
    get chosen() { return chosen; },
    set chosen(id) { chosen = find(id) ? id : null; draw(); },
    /** CSS px to one px of the picture. */
    get scale() { return view.scale; },
    get glass() { return glassOf(view, false); },
    view: template, show, draw, fit: () => fly(null), zoomTo, lookAt, pinU: () => g.pinU(view.scale), key, leave,
  };

  const find = (/** @type {string | null} */ id) => handles.find((handle) => handle.id === id) ?? null;
  const middle = () => /** @type {Point} */ ([glass.width / 2, glass.height / 2]);

  // --- what is seen

  /** @param {CanvasImageSource} image  @param {number} width of the picture, px; the image may be a smaller one of it  @param {number} height */
  function show(image, width, height) {
    const { naturalWidth = 0, naturalHeight = 0, width: w0 = 0, height: h0 = 0 } = /** @type {any} */ (image);
    levels = paint.levelsOf(image, naturalWidth || w0, naturalHeight || h0);
    const same = picture?.width === width && picture.height === height;
    picture = { width, height };
    if (!same) { whole = true; flight = null; if (glass.width) view = g.fitted(glass, picture); }
    draw();
  }

  function measure() {
    const box = canvas.getBoundingClientRect();
    const before = glass;
    const ratio = Math.min(3, globalThis.devicePixelRatio || 1);
    if (!box.width || !box.height || box.width === before.width && box.height === before.height && ratio === dpr) return;
    glass = { width: box.width, height: box.height };
    dpr = ratio;
    canvas.width = Math.round(glass.width * dpr);
    canvas.height = Math.round(glass.height * dpr);
    flight = null;
    if (picture) view = whole || !before.width ? g.fitted(glass, picture) : g.regrown(view, before, glass, picture);
    frame(performance.now()); // at once: a canvas that has another size is empty
  }

  function draw() { if (!asked && !gone) asked = requestAnimationFrame(frame); }

  /** @param {View} on  @param {boolean} loupe @returns {Glass} */
  function glassOf(on, loupe) {
    return { scale: on.scale, px: on.scale, loupe, size: glass, toGlass: (at) => g.toGlass(on, at), toPicture: (at) => g.toPicture(on, at) };
  }

  /** @param {number} now */
  function frame(now) {
    cancelAnimationFrame(asked);
    asked = 0;
    if (gone || !picture || !glass.width) return;
    if (flight) step(now);
    if (drag) pull();
    ctx.setTransform(dpr, 0, 0, dpr, 0, 0);
    ctx.clearRect(0, 0, glass.width, glass.height);
    paint.paintPicture(ctx, levels, picture, view, { left: 0, top: 0, right: glass.width, bottom: glass.height }, dpr);
    layers(view, false);
    if (under) loupe(under);
    if (!flight) canvas.dataset.view = [view.scale, view.x, view.y].map((n) => n.toFixed(3)).join(' ');
  }

  /** @param {View} on  @param {boolean} inLoupe */
  function layers(on, inLoupe) {
    const seen = glassOf(on, inLoupe);
    ctx.save();
    self.under?.(ctx, seen);
    ctx.restore();
    if (!inLoupe) marks();
    ctx.save();
    self.over?.(ctx, seen);
    ctx.restore();
    if (!inLoupe && keyed && !chosen) paint.aim(ctx, middle());
  }

  function marks() {
    const now = find(chosen);
    for (const handle of handles) if (handle !== now) paint.mark(ctx, g.toGlass(view, handle.at), handle.kind, false);
    if (!now) return;
    const at = g.toGlass(view, now.at);
    if (!now.fixed && g.onGlass(at, glass)) paint.knob(ctx, at, g.gripOf(at, glass, self.hand));
    paint.mark(ctx, at, now.kind, true);
    if (document.activeElement?.closest?.('.board-handles')) paint.focusRing(ctx, at);
  }

  /** @param {{at: Point, finger: Point}} what */
  function loupe({ at, finger }) {
    const on = g.toGlass(view, at);
    const place = g.loupeAt(finger, on, glass, self.hand, seat);
    seat = place.seat;
    const scale = Math.min(48, view.scale * 3.5);
    const close = { scale, x: place.at[0] - at[0] * scale, y: place.at[1] - at[1] * scale };
    const [x, y] = place.at;
    ctx.save();
    ctx.beginPath();
    paint.ring(ctx, place.at, g.LOUPE);
    ctx.fillStyle = getComputedStyle(canvas).backgroundColor;
    ctx.fill();
    ctx.clip();
    if (picture) paint.paintPicture(ctx, levels, picture, close, { left: x - g.LOUPE, top: y - g.LOUPE, right: x + g.LOUPE, bottom: y + g.LOUPE }, dpr);
    layers(close, true);
    ctx.restore();
    paint.loupeRim(ctx, place.at, g.LOUPE, scale);
  }

  // --- moving about

  const calm = () => globalThis.matchMedia?.('(prefers-reduced-motion: reduce)').matches;

  /** Goes to a view, null for the whole picture. @param {View | null} to */
  function fly(to) {
    if (!picture) return;
    whole = !to;
    const there = to ?? g.fitted(glass, picture);
    if (calm()) { view = there; flight = null; } else flight = { from: view, to: there, since: performance.now(), fit: !to };
    draw();
  }

  /** @param {number} now */
  function step(now) {
    if (!flight) return;
    const share = Math.max(0, Math.min(1, (now - flight.since) / 170));
    view = g.between(flight.from, flight.to, 1 - (1 - share) ** 3);
    if (share === 1) { view = flight.to; flight = null; }
    draw();
  }

  /** @param {View} next */
  function go(next) {
    if (!picture) return;
    flight = null;
    view = g.held(next, glass, picture);
    whole = view.scale <= g.fitted(glass, picture).scale * 1.001;
    draw();
  }

  /** Larger or smaller about a place of the picture: the chosen handle, else the middle of the glass. @param {number} factor  @param {Point} [at] */
  function zoomTo(factor, at) {
    if (!picture) return;
    const from = flight?.to ?? view;
    const about = at ?? find(chosen)?.at;
    const next = g.zoomed(from, about ? g.toGlass(from, about) : middle(), factor, glass, picture);
    fly(next.scale <= g.fitted(glass, picture).scale * 1.001 ? null : next);
  }

  /** Slides a place into sight. @param {Point} at */
  function lookAt(at) {
    if (!picture || !glass.width) return;
    const next = g.held(g.showing(flight?.to ?? view, at, glass, 84), glass, picture);
    if (Math.hypot(next.x - view.x, next.y - view.y) > 1) fly(whole ? null : next);
  }

  /** A tap twice: close to the place, and out again. @param {Point} at on the glass */
  function twice(at) {
    if (!picture) return;
    const least = g.fitted(glass, picture).scale;
    if (view.scale > least * 2.2) fly(null);
    else fly(g.zoomed(view, at, Math.max(3, .9 / view.scale), glass, picture));
  }

  // --- handles

  /** @param {string | null} id */
  function choose(id) {
    if (chosen === id) return;
    chosen = id;
    under = null;
    on.choose?.(id);
    stage.draw();
    draw();
  }

  /** What a finger there can take hold of: the grip of the chosen handle before all others. @param {Point} at on the glass  @param {boolean} thumb */
  function handleAt(at, thumb) {
    const now = find(chosen);
    const place = now && g.toGlass(view, now.at);
    if (now && place && !now.fixed && g.onGlass(place, glass) && g.apart(g.gripOf(place, glass, self.hand), at) < 27) return now;
    const reach = thumb ? 28 : 14;
    if (now && place && g.apart(place, at) < reach * .6) return now;
    return g.nearest(handles, view, at, reach);
  }

  /** @param {Handle} handle  @param {Point} at  @param {'drag' | 'tap' | 'nudge'} how */
  function place(handle, at, how) {
    if (!picture) return;
    handle.at = g.onPicture(at, picture);
    on.move?.(handle.id, handle.at, how);
    draw();
  }

  /** A handle put somewhere at once. @param {Handle} handle  @param {Point} at  @param {'tap' | 'nudge'} how */
  function put(handle, at, how) {
    on.moveStart?.(handle.id);
    place(handle, at, how);
    on.moveEnd?.(handle.id);
    stage.draw();
  }

  /** @param {number} right px of the picture  @param {number} down */
  function nudge(right, down) {
    const handle = find(chosen);
    if (!handle || handle.fixed) return;
    put(handle, [handle.at[0] + right, handle.at[1] + down], 'nudge');
    lookAt(handle.at);
    const at = g.toGlass(flight?.to ?? view, handle.at);
    under = { at: handle.at, finger: g.gripOf(at, glass, self.hand) };
    clearTimeout(linger);
    linger = window.setTimeout(() => { if (!drag && !stroking) { under = null; seat = null; draw(); } }, LINGER);
    say(w.at(Math.round(handle.at[0]), Math.round(handle.at[1])));
  }

  /** While a handle is held near an edge, the picture slides away from it. */
  function pull() {
    if (!drag || !picture) return;
    const [right, down] = g.pulled(drag.finger, glass);
    const next = g.held(g.slid(view, right, down), glass, picture);
    if (whole || next.x === view.x && next.y === view.y) return;
    view = next;
    dragTo(drag.finger);
  }

  /** @param {Point} finger on the glass */
  function dragTo(finger) {
    const handle = drag && find(drag.id);
    if (!drag || !handle) return;
    drag.finger = finger;
    place(handle, g.toPicture(view, g.dragged(finger, drag.from, drag.start, drag.thumb)), 'drag');
    under = { at: handle.at, finger };
  }

  function closeLoupe() { under = null; seat = null; draw(); }

  const does = fingers({
    handleAt, twice,
    drawing: () => self.mode === 'draw',
    tap(handle, at) {
      if (handle) { choose(handle.id === chosen ? null : handle.id); return; } // once more lets it go
      if (!picture) return;
      const there = g.toPicture(view, at);
      if (on.grab?.(there, at)) return;
      const now = find(chosen);
      if (now && !now.fixed) { put(now, there, 'tap'); return; }
      if (now) choose(null);
      if (there[0] >= 0 && there[1] >= 0 && there[0] <= picture.width && there[1] <= picture.height) on.tap?.(there);
    },
    hold(at) { if (picture) on.insert?.(g.onPicture(g.toPicture(view, at), picture)); },
    dragStart(id, from, thumb) {
      const handle = find(id);
      if (!handle) return;
      flight = null;
      choose(id);
      drag = { id, from, start: g.toGlass(view, handle.at), thumb, finger: from };
      on.moveStart?.(id);
      before = handle.at;
    },
    drag: dragTo,
    dragEnd(dropped) {
      const handle = drag && find(drag.id);
      drag = null;
      closeLoupe();
      if (!handle) return;
      if (dropped) place(handle, before, 'drag');
      on.moveEnd?.(handle.id);
      stage.draw();
    },
    strokeStart(at) { stroking = true; on.strokeStart?.(inside(at)); },
    stroke(all) {
      for (const at of all) on.stroke?.(inside(at));
      const last = all[all.length - 1];
      under = { at: inside(last), finger: last };
      draw();
    },
    strokeEnd(dropped) { stroking = false; closeLoupe(); on.strokeEnd?.(dropped); },
    slide(right, down) { go(g.slid(view, right, down)); },
    pinchStart(at) { flight = null; pinchedFrom = view; pinchedAt = at; },
    pinch(at) { go(g.pinched(pinchedFrom, pinchedAt, at)); },
    rest() { draw(); },
  });
  const inside = (/** @type {Point} */ at) => (picture ? g.onPicture(g.toPicture(view, at), picture) : at);

  // --- keys

  /** @param {KeyboardEvent} event @returns {boolean} true when the key was used */
  function key(event) {
    const far = event.shiftKey ? 10 : 1;
    const arrows = /** @type {Record<string, Point>} */ ({ ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] });
    const way = arrows[event.key];
    if (way && chosen && !find(chosen)?.fixed) { nudge(way[0] * far, way[1] * far); return true; }
    if (way) { go(g.slid(view, -way[0] * 40 * far, -way[1] * 40 * far)); return true; }
    switch (event.key) {
      case '+': case '=': zoomTo(1.6); return true;
      case '-': zoomTo(1 / 1.6); return true;
      case '0': fly(null); return true;
      case 'PageDown': return walk(1);
      case 'PageUp': return walk(-1);
      case 'Escape': if (!chosen) return false; choose(null); return true;
      case 'Enter': if (event.target !== canvas || !picture) return false; does.stop(); putInMiddle(); return true;
      case 'Insert': if (!picture) return false; on.insert?.(find(chosen)?.at ?? inside(middle())); return Boolean(on.insert);
      case 'Delete': case 'Backspace': if (!chosen || !on.remove) return false; on.remove(chosen); return true;
      default: return false;
    }
  }

  /** What a tap in the middle of the glass would do. */
  function putInMiddle() {
    const at = inside(middle());
    if (!on.grab?.(at, middle())) on.tap?.(at);
  }

  /** @param {number} by @returns {boolean} */
  function walk(by) {
    if (!handles.length) return false;
    const at = handles.findIndex((handle) => handle.id === chosen);
    const next = handles[at < 0 ? (by > 0 ? 0 : handles.length - 1) : (at + by + handles.length) % handles.length];
    choose(next.id);
    lookAt(next.at);
    say(next.label);
    return true;
  }

  // --- what stands on the page

  canvas.setAttribute('role', 'application');
  const listen = /** @type {[string, (event: any) => void][]} */ ([
    ['pointerdown', (event) => { keyed = false; does.down(event); }], ['pointermove', does.move], ['pointerup', does.up], ['pointercancel', does.cancel],
    ['contextmenu', (event) => event.preventDefault()], ['wheel', wheel], ['dragstart', (event) => event.preventDefault()],
    ['focus', () => { keyed = canvas.matches(':focus-visible'); draw(); }], ['blur', () => { keyed = false; draw(); }],
  ]);
  for (const [name, act] of listen) canvas.addEventListener(name, act, { passive: false });
  const watch = new ResizeObserver(measure);
  watch.observe(canvas);

  /** @param {WheelEvent} event */
  function wheel(event) {
    event.preventDefault();
    if (!picture) return;
    const box = canvas.getBoundingClientRect();
    const lines = event.deltaMode === 1 ? 16 : 1;
    go(g.zoomed(view, [event.clientX - box.left, event.clientY - box.top], Math.exp(-event.deltaY * lines * (event.ctrlKey ? .01 : .0015)), glass, picture));
  }

  function template() {
    canvas.setAttribute('aria-label', label);
    const now = find(chosen);
    return html`<div class=${`board${self.hand === 'left' ? ' left' : ''}`}>${canvas}${list()}
      <div class="board-zoom" role="group" aria-label=${w.zoom}>
        <button class="btn" aria-label=${w.closer} @click=${() => zoomTo(1.6)}>${icon('plus', 22)}</button>
        <button class="btn" aria-label=${w.further} @click=${() => zoomTo(1 / 1.6)}>${icon('minus', 22)}</button>
        <button class="btn" aria-label=${w.whole} @click=${() => fly(null)}>${pictureIcon('whole', 22)}</button></div>
      ${now && !now.fixed ? html`<div class="board-nudges" role="group" aria-label=${w.nudge(now.label)}>${nudges.map(([name, right, down]) => html`
        <button class="btn" data-nudge=${name} aria-label=${w.nudges[name]} @click=${() => nudge(right, down)}>${pictureIcon(name, 22)}</button>`)}</div>` : nothing}
    </div>`;
  }
  const nudges = /** @type {['left' | 'up' | 'down' | 'onward', number, number][]} */ ([['left', -1, 0], ['up', 0, -1], ['down', 0, 1], ['onward', 1, 0]]);

  /** The handles as buttons, for the keyboard and for who does not see the picture: out of sight, each stands for its mark on the glass. */
  function list() {
    const all = handles.length <= FEW ? handles : [find(chosen) ?? handles[0]];
    if (!all.length) return nothing;
    return html`<div class="board-handles" role="group" aria-label=${w.handles}>${all.map((handle) => html`
      <button class="unseen" data-handle=${handle.id} aria-pressed=${handle.id === chosen} @focus=${() => { choose(handle.id); lookAt(handle.at); draw(); }} @blur=${draw} @click=${() => choose(handle.id)}>${handle.label}</button>`)}</div>`;
  }

  function leave() {
    gone = true;
    cancelAnimationFrame(asked);
    clearTimeout(linger);
    does.stop();
    watch.disconnect();
    levels = [];
    setTimeout(() => { canvas.width = 0; }, 4000); // gives its memory back, once the next screen stands
  }

  return self;
}
