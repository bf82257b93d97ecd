// A finger on the points of a profile or of a flat piece's outline.
import { leafMoved, profileMoved } from '../profile.js';
import { barOf, boxOf, fitted, under } from './forms.js';

/** @typedef {import('./forms.js').Point} Point  @typedef {import('./forms.js').Fit} Fit  @typedef {import('./forms.js').Box} Box */

const REACH = 30; // px of the drawing within which a point is meant
const SLOP = 4; // px a finger may wander and still have only tapped

export function pointsGlass() {
  /** @type {Fit | null} */
  let fit = null;
  /** @type {Box | null} */
  let room = null;
  /** @type {{id: number, point: number, from: Point, at: Point, rect: DOMRect, far: boolean} | null} */
  let finger = null;

  /** @param {Point[]} points  @param {number} i  @param {'turned' | 'ear'} kind  @param {Point} to */
  const put = (points, i, kind, to) => (kind === 'ear' ? leafMoved(points, i, to) : profileMoved(points, i, to));

  return {
    /** The drawing's room: it stays while a point is dragged. @param {Point[]} points  @param {number} width  @param {number} most */
    fit(points, width, most) {
      const mirrored = [...points, ...points.map(([x, y]) => /** @type {Point} */ ([x, -y]))];
      const now = /** @type {Box} */ (boxOf([mirrored]));
      room = finger && room ? room : now;
      fit = fitted(room, { width, most, pad: 34, least: 170 });
      return { fit, bar: barOf(fit) };
    },
    /** A step of a button: half a mm. @param {Point[]} points  @param {number} i  @param {'turned' | 'ear'} kind  @param {number} right  @param {number} up */
    stepped: (points, i, kind, right, up) => put(points, i, kind, [points[i][0] + right * 0.5, points[i][1] + up * 0.5]),
    /** The point that is meant, or -1. @param {PointerEvent} event  @param {Point[]} points */
    down(event, points) {
      const drawing = /** @type {Element} */ (event.currentTarget).querySelector('svg');
      if (!fit || finger || event.button || !drawing) return -1;
      const rect = drawing.getBoundingClientRect();
      const from = under(fit, event, rect);
      const off = points.map(([x, y]) => Math.hypot(x - from[0], y - from[1]) * /** @type {Fit} */ (fit).scale);
      const point = off.indexOf(Math.min(...off));
      finger = { id: event.pointerId, point: off[point] <= REACH ? point : -1, from, at: points[point], rect, far: false };
      /** @type {Element} */ (event.currentTarget).setPointerCapture?.(event.pointerId);
      return finger.point;
    },
    /** @param {PointerEvent} event  @param {Point[]} points  @param {'turned' | 'ear'} kind */
    move(event, points, kind) {
      if (finger?.id !== event.pointerId || finger.point < 0 || !fit) return null;
      const to = under(fit, event, finger.rect);
      const [dx, dy] = [to[0] - finger.from[0], to[1] - finger.from[1]];
      if (!finger.far && Math.hypot(dx, dy) * fit.scale < SLOP) return null;
      finger.far = true;
      return put(points, finger.point, kind, [finger.at[0] + dx, finger.at[1] + dy]);
    },
    /** A drag is kept; a tap where no point is puts the chosen one there. @param {PointerEvent} event  @param {Point[]} points  @param {number} chosen  @param {'turned' | 'ear'} kind */
    up(event, points, chosen, kind) {
      if (finger?.id !== event.pointerId) return null;
      const { far, point, from } = finger;
      finger = null;
      if (far) return points;
      return point < 0 && chosen >= 0 ? put(points, chosen, kind, from) : null;
    },
    cancel() { finger = null; },
  };
}
