// What an outline comes to: its longest way across and what it encloses, in mm where its picture has a scale, else beside a part that
// was measured there.
import { call } from './engine.js';
import { measured } from './photos.js';
import { lengths } from './sides.js';

/**
 * @typedef {import('./book.js').Book} Book
 * @typedef {import('./book.js').BookPicture} BookPicture
 * @typedef {import('./fields.js').Point} Point
 * @typedef {import('./settings.js').Settings} Settings
 */

/** Twice the area of a ring, by the shoelace rule. @param {Point[]} ring */
const twice = (ring) => Math.abs(ring.reduce((sum, [x, y], i) => { const [a, b] = ring[(i + 1) % ring.length]; return sum + x * b - a * y; }, 0));

/** Whether a point lies in a ring. @param {Point} at  @param {Point[]} ring */
function within([x, y], ring) {
  let is = false;
  for (let i = 0, j = ring.length - 1; i < ring.length; j = i++) {
    const [[ax, ay], [bx, by]] = [ring[i], ring[j]];
    if (ay > y !== by > y && x < ((bx - ax) * (y - ay)) / (by - ay) + ax) is = !is;
  }
  return is;
}

/** What rings that do not cross enclose: a ring in a ring is a hole, one in that is not. @param {Point[][]} rings */
export function areaOf(rings) {
  return rings.reduce((sum, ring) => sum + (rings.filter((other) => other !== ring && within(ring[0], other)).length % 2 ? -1 : 1) * twice(ring), 0) / 2;
}

/** The longest way across. @param {Point[][]} rings */
export function longest(rings) {
  const points = rings.flat();
  let far = 0;
  points.forEach(([x, y], i) => { for (let j = i + 1; j < points.length; j++) far = Math.max(far, (points[j][0] - x) ** 2 + (points[j][1] - y) ** 2); });
  return Math.sqrt(far);
}

/** From px of a picture to mm in its plane, or null without one. @param {BookPicture} picture @returns {Promise<((at: Point) => Point) | null>} */
export async function toMm({ plane }) {
  if (!plane) return null;
  if (plane.kind === 'length') {
    const [[ax, ay], [bx, by]] = plane.ends;
    const scale = plane.mm / Math.hypot(bx - ax, by - ay);
    return ([x, y]) => [x * scale, y * scale];
  }
  const { width_mm: w, height_mm: h } = plane;
  const { matrix: m } = await call('homography', { from: plane.corners, to: [[0, 0], [w, 0], [w, h], [0, h]] });
  return ([x, y]) => { const d = m[6] * x + m[7] * y + m[8]; return [(m[0] * x + m[1] * y + m[2]) / d, (m[3] * x + m[4] * y + m[5]) / d]; };
}

/**
 * The part measured best on a picture: the one asked for, where it is on it, else the longest; with its length there in px, and by what it reads too
 * long in the picture's plane for standing off it.
 * @param {Book} book  @param {string} picture  @param {string | null} [part] @returns {Promise<{part: string, px: number, raised: number} | null>}
 */
export async function rod(book, picture, part = null) {
  const { items } = await measured(book, picture);
  const on = book.readings.filter((r) => r.at.picture === picture && !r.place && !r.struck && !r.at.struck && items.has(r.id));
  const all = on.map((r) => ({ part: r.part, px: items.get(r.id)?.px ?? 0, raised: 1 + (items.get(r.id)?.off_share ?? 0) }));
  return all.sort((a, b) => Number(b.part === part) - Number(a.part === part) || b.px - a.px)[0] ?? null;
}

/** An area as she reads it. @param {number} mm2  @param {Settings} own */
function areaText(mm2, own) {
  const [value, unit] = own.unit === 'in' ? [mm2 / 645.16, 'in²'] : mm2 < 100 ? [mm2, 'mm²'] : [mm2 / 100, 'cm²'];
  return `${Number(value.toPrecision(value < 10 ? 2 : 3))} ${unit}`;
}

/**
 * The figures of outlines on one picture.
 * @param {Book} book  @param {BookPicture} picture  @param {Point[][][]} outlines  @param {Settings} own
 * @returns {Promise<{area_mm2: number | null, long_mm: number | null, long_text: string | null, area_text: string | null, in_part: {name: string, ratio: number} | null, text: string}[]>}
 */
export async function figures(book, picture, outlines, own) {
  if (!outlines.length) return [];
  const mm = await toMm(picture).catch(() => null);
  if (!mm) {
    const by = await rod(book, picture.id).catch(() => null);
    const name = by && book.part.get(by.part)?.name;
    return outlines.map((rings) => {
      const in_part = by && name ? { name, ratio: longest(rings) / by.px } : null;
      return { area_mm2: null, long_mm: null, long_text: null, area_text: null, in_part, text: in_part ? `${Number(in_part.ratio.toPrecision(3))} × ${in_part.name.toLowerCase()}` : '' };
    });
  }
  const flat = outlines.map((rings) => rings.map((ring) => ring.map(mm)));
  const far = flat.map(longest);
  const texts = await lengths(far, own);
  return flat.map((rings, i) => {
    const area = areaOf(rings);
    const area_text = areaText(area, own);
    return { area_mm2: area, long_mm: far[i], long_text: texts[i], area_text, in_part: null, text: `${texts[i]} long, ${area_text}` };
  });
}
