// A photo whose scale lies in a plane, as it looks from straight above: a tilted phone then changes no shape. The engine makes it.
import { ask } from './ask.js';
import { look } from './look.js';
import { boxOf } from './rings.js';

/**
 * @typedef {import('./placing.js').Point} Point
 * @typedef {{image: HTMLCanvasElement, width: number, height: number, unit: number, origin: Point, turn: number, rings: Point[][] | null}} Straight
 *   `unit` mm to a px of the image, its corner at `origin` in the plane, mm; `turn`: how the plane lies in the photo, radians; the rings in mm
 */

const ROOM = 0.25; // of the piece's size, about it
const MOST = 1400; // px of the longer side

/** A point of the photo in the plane. @param {number[]} m  @param {Point} at @returns {Point} */
export function inPlane(m, [x, y]) {
  const w = m[6] * x + m[7] * y + m[8];
  return [(m[0] * x + m[1] * y + m[2]) / w, (m[3] * x + m[4] * y + m[5]) / w];
}

/** Where the corners of a known rectangle lie in its plane: as they run in the photo, so that nothing is seen in a mirror. @param {{corners: Point[], width_mm: number, height_mm: number}} plane @returns {Point[]} */
export function cornersIn({ corners: [a, b, c], width_mm: w, height_mm: h }) {
  const down = (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0]) > 0 ? h : -h;
  return [[0, 0], [w, 0], [w, down], [0, down]];
}

/** The part of the plane that is made, in mm: the piece with some room, else the middle of the photo. @param {number[]} matrix  @param {Point[][] | null} rings in the plane  @param {{width: number, height: number}} picture */
export function partOf(matrix, rings, { width, height }) {
  const [inX, inY] = [width * 0.1, height * 0.1];
  const box = (rings && boxOf(rings)) ?? /** @type {NonNullable<ReturnType<typeof boxOf>>} */ (boxOf([/** @type {Point[]} */ ([[inX, inY], [width - inX, inY], [width - inX, height - inY], [inX, height - inY]]).map((at) => inPlane(matrix, at))]));
  const room = rings ? ROOM * Math.max(box.right - box.left, box.bottom - box.top) : 0;
  return { left_mm: box.left - room, top_mm: box.top - room, width_mm: box.right - box.left + 2 * room, height_mm: box.bottom - box.top + 2 * room };
}

/**
 * @param {any} seen as the view 'photo' tells of it @returns {Promise<Straight | null>} null when its scale is no plane
 */
export async function straightened(seen) {
  const { plane, full, width, height } = seen.picture;
  if (plane?.kind !== 'rectangle' || !seen.scale) return null;
  const { matrix } = await ask('engine', { method: 'homography', request: { from: plane.corners, to: cornersIn(plane) } });
  const own = seen.outlines.at(-1);
  const rings = own ? own.rings.map((/** @type {Point[]} */ ring) => ring.map((at) => inPlane(matrix, at))) : null;
  const part = partOf(matrix, rings, { width, height });
  const px_per_mm = Math.min(1 / seen.scale.mm_per_px, MOST / Math.max(part.width_mm, part.height_mm));
  const { width_px, height_px, bytes } = await look('rectify', { image: 'photo', matrix, ...part, px_per_mm }, { photo: { hash: full } });
  const image = Object.assign(document.createElement('canvas'), { width: width_px, height: height_px });
  image.getContext('2d')?.putImageData(new ImageData(new Uint8ClampedArray(bytes), width_px, height_px), 0, 0);
  const [a, b] = plane.corners;
  return { image, width: width_px, height: height_px, unit: 1 / px_per_mm, origin: [part.left_mm, part.top_mm], turn: Math.atan2(b[1] - a[1], b[0] - a[0]), rings };
}
