// Two marks on the edge of the screen, in CSS px from the top of the rail they slide on. No screen, no store: only what a thumb does to them.

/**
 * @typedef {object} Span
 * @property {number} upper
 * @property {number} lower
 * @property {number} height   of the rail
 * @typedef {'upper' | 'lower'} Mark
 */

const NEAREST = 4; // px between the marks at least
const STILL = 6; // px a finger may wander and still tap

/** The far mark rests near the top, the other a hand's breadth below. @param {number} height @returns {Span} */
export const begin = (height) => fit({ upper: 24, lower: 24 + 0.3 * height, height });

/** The same marks on a rail of another height. @param {Span} span @returns {Span} */
export function fit(span) {
  const upper = Math.max(0, Math.min(Math.round(span.upper), span.height - NEAREST));
  const lower = Math.max(upper + NEAREST, Math.min(Math.round(span.lower), span.height));
  return upper === span.upper && lower === span.lower ? span : { ...span, upper, lower };
}

/** One mark moved to a place on the rail, as far as the other one lets it. @param {Span} span @param {Mark} mark @param {number} to @returns {Span} */
export function moveTo(span, mark, to) {
  const whole = Math.round(to);
  const at = mark === 'upper' ? Math.max(0, Math.min(whole, span.lower - NEAREST)) : Math.max(span.upper + NEAREST, Math.min(whole, span.height));
  return at === span[mark] ? span : { ...span, [mark]: at };
}

/** @param {Span} span @param {Mark} mark @param {number} down px; up is negative @returns {Span} */
export const nudge = (span, mark, down) => moveTo(span, mark, span[mark] + down);

/** How far the marks are apart: the reading. @param {Span} span */
export const gapOf = (span) => span.lower - span.upper;
/** How high a mark stands on its rail, for a slider that grows upwards. @param {Span} span @param {Mark} mark */
export const heightOf = (span, mark) => span.height - span[mark];
/** @param {Span} span @param {number} at @returns {Mark} */
export const nearest = (span, at) => (Math.abs(at - span.upper) < Math.abs(at - span.lower) ? 'upper' : 'lower');

/**
 * Fingers on a zone: the mark goes as far as the finger does, wherever the finger lies, so that it is never under the thumb.
 * @param {object} does
 * @param {() => Span} does.now
 * @param {(span: Span) => void} does.take
 * @param {() => void} does.end
 * @param {Mark} [does.mark]     the mark this zone moves; without one, the nearer one, and a tap brings it here
 */
export function drags(does) {
  /** @type {{id: number, y: number, from: number, mark: Mark, moved: boolean} | null} */
  let finger = null;
  return {
    /** @param {PointerEvent} event */
    down(event) {
      if (finger || event.button > 0) return;
      const zone = /** @type {Element} */ (event.currentTarget);
      zone.setPointerCapture?.(event.pointerId);
      const mark = does.mark ?? nearest(does.now(), event.clientY - zone.getBoundingClientRect().top);
      finger = { id: event.pointerId, y: event.clientY, from: does.now()[mark], mark, moved: false };
    },
    /** @param {PointerEvent} event */
    move(event) {
      if (finger?.id !== event.pointerId) return;
      const down = event.clientY - finger.y;
      finger.moved ||= Math.abs(down) > STILL;
      if (finger.moved) does.take(moveTo(does.now(), finger.mark, finger.from + down));
    },
    /** @param {PointerEvent} event */
    up(event) {
      if (finger?.id !== event.pointerId) return;
      const { moved, mark } = finger;
      finger = null;
      if (!moved && !does.mark) does.take(moveTo(does.now(), mark, event.clientY - /** @type {Element} */ (event.currentTarget).getBoundingClientRect().top));
      does.end();
    },
    cancel() { if (finger) { finger = null; does.end(); } },
  };
}
