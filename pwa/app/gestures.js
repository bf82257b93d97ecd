// Fingers on the pad, told apart: a tap, a slide up or down, a long hold. One finger at a time; a second one is ignored.

const STILL = 12; // px a finger may wander and still tap or hold
const HOLD = 650; // ms until a still finger is a hold

/**
 * @param {object} does
 * @param {() => void} does.tap
 * @param {() => void} does.hold
 * @param {() => void} does.start             a slide begins
 * @param {(up: number) => void} does.slide   px above where the slide began
 * @param {() => void} does.end               the slide ends
 */
export function gestures(does) {
  /** @type {{id: number, x: number, y: number, sliding: boolean, held: boolean, timer: number} | null} */
  let finger = null;
  const drop = () => { if (finger) clearTimeout(finger.timer); finger = null; };

  return {
    /** @param {PointerEvent} event */
    down(event) {
      if (finger || event.button > 0) return;
      /** @type {Element} */ (event.currentTarget).setPointerCapture?.(event.pointerId);
      const mine = { id: event.pointerId, x: event.clientX, y: event.clientY, sliding: false, held: false, timer: 0 };
      mine.timer = window.setTimeout(() => { if (finger === mine && !mine.sliding) { mine.held = true; does.hold(); } }, HOLD);
      finger = mine;
    },
    /** @param {PointerEvent} event */
    move(event) {
      if (!finger || finger.id !== event.pointerId || finger.held) return;
      const up = finger.y - event.clientY;
      if (!finger.sliding && Math.abs(up) > STILL) {
        clearTimeout(finger.timer);
        finger.sliding = true;
        does.start();
      }
      if (finger.sliding) does.slide(up > 0 ? up - STILL : up + STILL);
    },
    /** @param {PointerEvent} event */
    up(event) {
      if (!finger || finger.id !== event.pointerId) return;
      const { sliding, held } = finger;
      drop();
      if (sliding) does.end();
      else if (!held) does.tap();
    },
    /** @param {PointerEvent} event */
    cancel(event) {
      if (!finger || finger.id !== event.pointerId) return;
      const { sliding } = finger;
      drop();
      if (sliding) does.end();
    },
  };
}
