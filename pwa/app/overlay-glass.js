// The glass on which a photo lies over an outline. A finger moves the photo, two turn and scale it; while pins are set, a finger sets
// and drags them and two zoom. All of it can be done by the screen's buttons and by keys.
import { html } from './lib/lit-html.js';
import { fingers } from './board/fingers.js';
import * as g from './board/geometry.js';
import { aim, levelsOf, loupeRim } from './board/paint.js';
import * as draw from './draw/overlay.js';
import { byFingers, laid, lifted, moved, turned } from './placing.js';
import { boxOf } from './rings.js';

/**
 * @typedef {import('./placing.js').Point} Point  @typedef {import('./placing.js').Place} Place
 * @typedef {{onPhoto: boolean, at: Point}} Pin   on the photo in its own measure, on the outline in the outline's
 * What lies on the glass. Both measures are mm of the finished size where they are known, else px.
 * @typedef {object} Laid
 * @property {Point[][]} subject
 * @property {Point[][] | null} piece   the outline of what the photo shows, in the photo's measure
 * @property {number} unit              of the photo's measure to one px of it
 * @property {Point} origin           where the corner of the photo's image is, in the photo's measure
 * @property {Place} place
 * @property {boolean} sized            the size is known, so that no hand changes it
 * @property {number} cover             how much the photo covers, 0 to 100
 * @property {boolean} pinning
 * @property {Pin[]} pins
 */

const ROOM = 0.16; // about the outline, on each side
const TURN = Math.PI / 360; // half a degree, a step of the buttons

/**
 * @param {object} does
 * @param {() => Laid} does.laid
 * @param {(place: Place) => void} does.place      while it moves
 * @param {() => void} does.placed                 the hand is off
 * @param {(at: Point) => void} does.tap           on the glass, in the outline's measure
 * @param {(pin: number, at: Point) => void} does.pin   dragged, in the pin's own measure
 * @param {string} does.label
 */
export function overlayGlass(does) {
  const canvas = Object.assign(document.createElement('canvas'), { className: 'board-glass', tabIndex: 0 });
  canvas.setAttribute('role', 'application');
  canvas.setAttribute('aria-label', does.label);
  const ctx = /** @type {CanvasRenderingContext2D} */ (canvas.getContext('2d'));
  /** @type {ReturnType<typeof levelsOf>} */
  let levels = [];
  let picture = { width: 0, height: 0 };
  let size = { width: 0, height: 0 };
  let sheet = { width: 1, height: 1 };
  /** @type {Point} */
  let corner = [0, 0];
  let view = { scale: 1, x: 0, y: 0 };
  let whole = true;
  let dpr = 1;
  let asked = 0;
  let gone = false;
  let keyed = false;
  let chosen = -1;
  /** @type {{view: typeof view, place: Place, at: [Point, Point]} | null} */
  let pinch = null;
  /** @type {{from: Point, start: Point, thumb: boolean, finger: Point} | null} */
  let drag = null;
  /** @type {number | null} */
  let seat = null;

  /** @param {Point} at in the outline's measure @param {typeof view} [on] @returns {Point} */
  const toGlass = ([x, y], on = view) => g.toGlass(on, [x - corner[0], y - corner[1]]);
  /** @param {Point} at @returns {Point} */
  const fromGlass = (at) => { const [x, y] = g.toPicture(view, at); return [x + corner[0], y + corner[1]]; };
  const pinAt = (/** @type {Pin} */ pin) => (pin.onPhoto ? laid(does.laid().place, pin.at) : pin.at);
  const middle = () => /** @type {Point} */ ([size.width / 2, size.height / 2]);

  // --- what is seen

  /** The outline with some room about it is the whole that is seen. */
  function fit() {
    const box = boxOf(does.laid().subject);
    if (!box) return;
    const room = ROOM * Math.max(box.right - box.left, box.bottom - box.top);
    corner = [box.left - room, box.top - room];
    sheet = { width: box.right - box.left + 2 * room, height: box.bottom - box.top + 2 * room };
    whole = true;
    if (size.width) view = g.fitted(size, sheet);
    paint();
  }

  function measure() {
    const box = canvas.getBoundingClientRect();
    const ratio = Math.min(3, globalThis.devicePixelRatio || 1);
    if (!box.width || !box.height || (box.width === size.width && box.height === size.height && ratio === dpr)) return;
    const before = size;
    [size, dpr] = [{ width: box.width, height: box.height }, ratio];
    [canvas.width, canvas.height] = [Math.round(size.width * dpr), Math.round(size.height * dpr)];
    view = whole || !before.width ? g.fitted(size, sheet) : g.regrown(view, before, size, sheet);
    frame();
  }

  function paint() { if (!asked && !gone) asked = requestAnimationFrame(frame); }

  function frame() {
    cancelAnimationFrame(asked);
    asked = 0;
    if (gone || !size.width) return;
    ctx.setTransform(dpr, 0, 0, dpr, 0, 0);
    ctx.clearRect(0, 0, size.width, size.height);
    layers(view);
    if (drag && chosen >= 0) loupe();
    if (keyed && does.laid().pinning) aim(ctx, middle());
    canvas.dataset.view = [view.scale, view.x - corner[0] * view.scale, view.y - corner[1] * view.scale].map((n) => n.toFixed(4)).join(' ');
  }

  /** @param {typeof view} on */
  function layers(on) {
    const { subject, piece, unit, origin, place, cover, pinning, pins } = does.laid();
    const alpha = cover / 100;
    const to = (/** @type {Point} */ at) => toGlass(at, on);
    const ofPhoto = (/** @type {Point} */ at) => to(laid(place, at));
    draw.filled(ctx, to, subject, getComputedStyle(canvas).color);
    const [x, y] = ofPhoto(origin);
    draw.photo(ctx, levels, picture, { x, y, scale: unit * place.scale * on.scale, turn: place.turn }, alpha, dpr);
    if (piece && !pinning) draw.differences(ctx, size, { rings: subject, to }, { rings: piece, to: ofPhoto });
    draw.outline(ctx, to, subject);
    if (alpha < 0.35) draw.frame(ctx, /** @type {Point[]} */ ([[0, 0], [picture.width, 0], [picture.width, picture.height], [0, picture.height]]).map(([px, py]) => ofPhoto([origin[0] + px * unit, origin[1] + py * unit])));
    if (pinning) pins.forEach((pin, i) => draw.pin(ctx, to(pinAt(pin)), 1 + (i >> 1), pin.onPhoto, i === chosen, size));
  }

  function loupe() {
    const pin = does.laid().pins[chosen];
    if (!pin || !drag) return;
    const at = toGlass(pinAt(pin));
    const place = g.loupeAt(drag.finger, at, size, 'right', seat);
    seat = place.seat;
    const scale = view.scale * 3;
    ctx.save();
    ctx.beginPath();
    ctx.arc(place.at[0], place.at[1], g.LOUPE, 0, 2 * Math.PI);
    ctx.fillStyle = getComputedStyle(canvas).backgroundColor;
    ctx.fill();
    ctx.clip();
    const [x, y] = g.toPicture(view, at);
    const was = chosen;
    chosen = -1;
    layers({ scale, x: place.at[0] - x * scale, y: place.at[1] - y * scale });
    chosen = was;
    ctx.restore();
    loupeRim(ctx, place.at, g.LOUPE, 4);
  }

  // --- moving

  /** @param {typeof view} next */
  function go(next) {
    view = g.held(next, size, sheet);
    whole = view.scale <= g.fitted(size, sheet).scale * 1.001;
    paint();
  }

  /** @param {number} factor  @param {Point} [at] on the glass */
  const zoom = (factor, at = middle()) => go(g.zoomed(view, at, factor, size, sheet));

  /** @param {Place} place */
  function set(place) { does.place(place); paint(); }

  /** The photo moved by CSS px. @param {number} right  @param {number} down */
  const shift = (right, down) => set(moved(does.laid().place, right / view.scale, down / view.scale));

  /** One step of a button: px right and down, steps of a turn, steps of size. @param {number} right  @param {number} down  @param {number} turn  @param {number} grow */
  function step(right, down, turn, grow) {
    const { pinning, pins } = does.laid();
    const pin = pins[chosen];
    if (pinning && pin) { movePin(toGlass(pinAt(pin)).map((n, i) => n + [right, down][i])); does.placed(); return; }
    if (pinning) { go(g.slid(view, -right * 20, -down * 20)); return; }
    if (right || down) shift(right, down);
    if (turn || grow) set(turned(does.laid().place, fromGlass(middle()), turn * TURN, 1.005 ** grow));
    does.placed();
  }

  /** @param {number[]} at on the glass */
  function movePin([x, y]) {
    const pin = does.laid().pins[chosen];
    if (!pin) return;
    const there = fromGlass([x, y]);
    does.pin(chosen, pin.onPhoto ? lifted(does.laid().place, there) : there);
    paint();
  }

  const hands = fingers({
    handleAt(at, thumb) {
      const { pinning, pins } = does.laid();
      if (!pinning) return null;
      const found = g.nearest(pins.map((pin, i) => ({ id: String(i), at: g.toPicture(view, toGlass(pinAt(pin))) })), view, at, thumb ? 28 : 14);
      return found && { id: found.id };
    },
    drawing: () => false,
    tap(handle, at) {
      if (!does.laid().pinning) return false;
      if (handle && does.laid().pins.length > 3) chosen = Number(handle.id); else { chosen = -1; does.tap(fromGlass(at)); } // two pins that are to meet may lie close already
      paint();
      return true;
    },
    twice(at) { if (view.scale > g.fitted(size, sheet).scale * 2) fit(); else zoom(3, at); },
    hold() {},
    dragStart(id, from, thumb) {
      chosen = Number(id);
      drag = { from, start: toGlass(pinAt(does.laid().pins[chosen])), thumb, finger: from };
    },
    drag(finger) {
      if (!drag) return;
      drag.finger = finger;
      movePin(g.dragged(finger, drag.from, drag.start, drag.thumb));
    },
    dragEnd() { drag = null; seat = null; paint(); does.placed(); },
    strokeStart() {}, stroke() {}, strokeEnd() {},
    slide(right, down) { if (does.laid().pinning) go(g.slid(view, right, down)); else shift(right, down); },
    pinchStart(at) { pinch = { view, place: does.laid().place, at }; },
    pinch(at) {
      if (!pinch) return;
      if (does.laid().pinning) { go(g.pinched(pinch.view, pinch.at, at)); return; }
      const on = /** @type {(pair: [Point, Point]) => [Point, Point]} */ (([a, b]) => [fromGlass(a), fromGlass(b)]);
      set(byFingers(pinch.place, on(pinch.at), on(at), does.laid().sized));
    },
    rest() { if (!does.laid().pinning) does.placed(); },
  });

  /** @param {KeyboardEvent} event */
  function key(event) {
    const far = event.shiftKey ? 10 : 1;
    switch (event.key) {
      case 'ArrowLeft': step(-far, 0, 0, 0); return true;
      case 'ArrowRight': step(far, 0, 0, 0); return true;
      case 'ArrowUp': step(0, -far, 0, 0); return true;
      case 'ArrowDown': step(0, far, 0, 0); return true;
      case ',': case '<': step(0, 0, -far, 0); return true;
      case '.': case '>': step(0, 0, far, 0); return true;
      case '[': case '{': step(0, 0, 0, -far); return true;
      case ']': case '}': step(0, 0, 0, far); return true;
      case '+': case '=': zoom(1.6); return true;
      case '-': zoom(1 / 1.6); return true;
      case '0': fit(); return true;
      case 'Escape': if (chosen < 0) return false; chosen = -1; paint(); return true;
      case 'Enter': if (event.target !== canvas || !does.laid().pinning) return false; does.tap(fromGlass(middle())); paint(); return true;
      default: return false;
    }
  }

  const listen = /** @type {[string, (event: any) => void][]} */ ([
    ['pointerdown', (event) => { keyed = false; hands.down(event); }], ['pointermove', hands.move], ['pointerup', hands.up], ['pointercancel', hands.cancel],
    ['contextmenu', (event) => event.preventDefault()], ['dragstart', (event) => event.preventDefault()],
    ['wheel', (event) => { event.preventDefault(); const box = canvas.getBoundingClientRect(); zoom(Math.exp(-event.deltaY * (event.deltaMode === 1 ? 16 : 1) * 0.0015), [event.clientX - box.left, event.clientY - box.top]); }],
    ['focus', () => { keyed = canvas.matches(':focus-visible'); paint(); }], ['blur', () => { keyed = false; paint(); }],
  ]);
  for (const [name, act] of listen) canvas.addEventListener(name, act, { passive: false });
  const watch = new ResizeObserver(measure);
  watch.observe(canvas);

  return {
    view: () => html`<div class="board overlay-glass">${canvas}</div>`,
    fit, paint, step, key,
    get chosen() { return chosen; },
    set chosen(pin) { chosen = pin; paint(); },
    /** @param {CanvasImageSource & {width: number, height: number}} image  @param {number} width  @param {number} height */
    show(image, width, height) { levels = levelsOf(image, image.width, image.height); picture = { width, height }; paint(); },
    leave() { gone = true; cancelAnimationFrame(asked); hands.stop(); watch.disconnect(); levels = []; canvas.width = 0; },
  };
}
