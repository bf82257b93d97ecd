// Fingers on the board, told apart: one that taps, holds still, drags a handle, draws, or slides the picture; two that slide and stretch it.
// A mouse's other buttons slide the picture too.

/** @typedef {import('./geometry.js').Point} Point */

const HOLD = 550; // ms until a finger that rests has asked for more
const TWICE = 300; // ms within which a second tap makes a double one
const NEAR = 32; // CSS px apart, for the same

/**
 * @param {object} does
 * @param {(at: Point, thumb: boolean) => {id: string, fixed?: boolean} | null} does.handleAt   what a finger there can take hold of
 * @param {() => boolean} does.drawing                 one finger draws
 * @param {(handle: {id: string} | null, at: Point, thumb: boolean) => void} does.tap   beside a handle it waits whether a second tap follows
 * @param {(at: Point) => void} does.twice
 * @param {(at: Point) => void} does.hold
 * @param {(id: string, from: Point, thumb: boolean) => void} does.dragStart
 * @param {(at: Point) => void} does.drag
 * @param {(dropped: boolean) => void} does.dragEnd    dropped: it was the first of two fingers, and meant nothing
 * @param {(at: Point) => void} does.strokeStart
 * @param {(at: Point[]) => void} does.stroke
 * @param {(dropped: boolean) => void} does.strokeEnd
 * @param {(right: number, down: number) => void} does.slide
 * @param {(from: [Point, Point]) => void} does.pinchStart
 * @param {(to: [Point, Point]) => void} does.pinch
 * @param {() => void} does.rest                       the last finger has gone
 */
export function fingers(does) {
  /** @type {Map<number, {at: Point, from: Point, thumb: boolean}>} */
  const down = new Map();
  /** @type {'still' | 'drag' | 'draw' | 'slide' | 'pinch' | 'spent' | null} */
  let doing = null;
  /** @type {{id: string, fixed?: boolean} | null} */
  let handle = null;
  let holding = 0;
  let pair = /** @type {number[]} */ ([]);
  let began = 0;
  /** A tap that waits whether it is a double one. @type {{at: Point, timer: number, act: () => void, when: number} | null} */
  let waiting = null;

  const where = (/** @type {PointerEvent} */ event) => {
    const box = /** @type {Element} */ (event.currentTarget).getBoundingClientRect();
    return /** @type {Point} */ ([event.clientX - box.left, event.clientY - box.top]);
  };
  const far = (/** @type {Point} */ a, /** @type {Point} */ b) => Math.hypot(a[0] - b[0], a[1] - b[1]);

  function settle() {
    if (!waiting) return;
    clearTimeout(waiting.timer);
    const { act } = waiting;
    waiting = null;
    act();
  }

  /** What one finger had begun is nothing, now that there are two. */
  function drop() {
    if (doing === 'drag') does.dragEnd(true);
    if (doing === 'draw') does.strokeEnd(performance.now() - began < 250);
  }

  /** @param {Point} at  @param {boolean} thumb */
  function tapped(at, thumb) {
    const on = handle;
    if (waiting && far(waiting.at, at) < NEAR && performance.now() - waiting.when < TWICE) {
      clearTimeout(waiting.timer);
      waiting = null;
      does.twice(at);
      return;
    }
    settle();
    if (on) { does.tap(on, at, thumb); return; }
    const act = () => { does.tap(null, at, thumb); };
    waiting = { at, when: performance.now(), act, timer: window.setTimeout(settle, TWICE) };
  }

  return {
    /** @param {PointerEvent} event */
    down(event) {
      if (down.size >= 2) return;
      const at = where(event);
      const thumb = event.pointerType !== 'mouse';
      try { /** @type {Element} */ (event.currentTarget).setPointerCapture(event.pointerId); } catch { /* it has gone already */ }
      down.set(event.pointerId, { at, from: at, thumb });
      clearTimeout(holding);
      if (down.size === 2) {
        drop();
        doing = 'pinch';
        pair = [...down.keys()];
        does.pinchStart(/** @type {[Point, Point]} */ (pair.map((id) => down.get(id)?.at)));
        return;
      }
      handle = event.button > 0 ? null : does.handleAt(at, thumb);
      doing = event.button > 0 ? 'slide' : 'still';
      if (doing === 'still' && !handle) holding = window.setTimeout(() => { if (doing === 'still') { doing = 'spent'; settle(); does.hold(at); } }, HOLD);
    },
    /** @param {PointerEvent} event */
    move(event) {
      const finger = down.get(event.pointerId);
      if (!finger) return;
      const before = finger.at;
      finger.at = where(event);
      if (doing === 'pinch') { does.pinch(/** @type {[Point, Point]} */ (pair.map((id) => down.get(id)?.at))); return; }
      if (doing === 'still' && far(finger.at, finger.from) > (finger.thumb ? 8 : 3)) {
        clearTimeout(holding);
        settle();
        began = performance.now();
        doing = handle && !handle.fixed ? 'drag' : does.drawing() ? 'draw' : 'slide';
        if (doing === 'drag' && handle) does.dragStart(handle.id, finger.from, finger.thumb);
        if (doing === 'draw') does.strokeStart(finger.from);
        if (doing === 'slide') { does.slide(finger.at[0] - finger.from[0], finger.at[1] - finger.from[1]); return; }
      }
      if (doing === 'drag') does.drag(finger.at);
      else if (doing === 'draw') does.stroke(all(event));
      else if (doing === 'slide') does.slide(finger.at[0] - before[0], finger.at[1] - before[1]);
    },
    /** @param {PointerEvent} event */
    up(event) { lifted(event, false); },
    /** A call came in, or the system took the finger: what was moved so far stays. @param {PointerEvent} event */
    cancel(event) { lifted(event, true); },
    stop() { clearTimeout(holding); if (waiting) clearTimeout(waiting.timer); waiting = null; },
  };

  /** @param {PointerEvent} event  @param {boolean} taken */
  function lifted(event, taken) {
    const finger = down.get(event.pointerId);
    if (!finger) return;
    down.delete(event.pointerId);
    clearTimeout(holding);
    const was = doing;
    if (down.size) { doing = was === 'pinch' && !does.drawing() ? 'slide' : 'spent'; return; }
    doing = null;
    if (was === 'still' && !taken) tapped(finger.at, finger.thumb);
    if (was === 'drag') does.dragEnd(false);
    if (was === 'draw') does.strokeEnd(false);
    does.rest();
  }

  /** The places a finger went through since the last event: a quick stroke has more of them than there are frames. @param {PointerEvent} event @returns {Point[]} */
  function all(event) {
    const box = /** @type {Element} */ (event.currentTarget).getBoundingClientRect();
    const each = event.getCoalescedEvents?.() ?? [];
    return (each.length ? each : [event]).map((one) => [one.clientX - box.left, one.clientY - box.top]);
  }
}
