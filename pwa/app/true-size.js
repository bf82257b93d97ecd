// A kept picture as it is at the finished size: made straight where it was taken at a slant. For paper and for the glass.
import { look } from './look.js';

/**
 * @typedef {{left_mm: number, top_mm: number, width_mm: number, height_mm: number}} Place
 * @typedef {{id: string, name: string, view: 'side' | 'front' | 'top' | 'other' | null, drawn: boolean, width: number, height: number, thumb: string, full: string, here: boolean, outlines: number, traced: [number, number][][],
 *   why: '' | 'no-size' | 'no-scale' | 'no-part', by: 'plane' | 'part' | '', wide_mm: number | null, high_mm: number | null, photo: Place | null,
 *   rectify: (Place & {matrix: number[], px_per_mm: number}) | null, rings_mm: [number, number][][]}} Sized a picture of the view `print`
 */

/** Those that were made straight, by what they were made of. @type {Map<string, Promise<Blob>>} */
const made = new Map();

/** Where the picture that `straight` gives lies, mm. @param {Sized} one @returns {Place | null} */
export const placeOf = (one) => one.rectify ?? one.photo;

/** The picture made straight, as a JPEG; null where the kept one is straight as it is. @param {Sized} one @returns {Promise<Blob | null>} */
export async function straight({ full, rectify }) {
  if (!rectify) return null;
  const key = `${full} ${JSON.stringify(rectify)}`;
  const before = made.get(key);
  if (before) return before;
  if (made.size > 5) made.clear();
  const now = straighten(full, rectify);
  made.set(key, now);
  now.catch(() => made.delete(key));
  return now;
}

/** @param {string} hash  @param {NonNullable<Sized['rectify']>} rectify @returns {Promise<Blob>} */
async function straighten(hash, rectify) {
  const { bytes, width_px, height_px } = await look('rectify', { image: 'photo', ...rectify }, { photo: { hash } });
  const canvas = Object.assign(document.createElement('canvas'), { width: width_px, height: height_px });
  const context = /** @type {CanvasRenderingContext2D} */ (canvas.getContext('2d'));
  const pixels = new ImageData(new Uint8ClampedArray(bytes), width_px, height_px);
  context.fillStyle = '#fff';
  context.putImageData(pixels, 0, 0);
  // What lies outside the photo is left clear, and JPEG knows no clear: white shows there.
  context.globalCompositeOperation = 'destination-over';
  context.fillRect(0, 0, width_px, height_px);
  const blob = await new Promise((done) => { canvas.toBlob(done, 'image/jpeg', 0.9); });
  canvas.width = canvas.height = 0; // some browsers hold on to its memory
  return blob ?? Promise.reject(Object.assign(new Error('picture-no-canvas'), { code: 'picture-no-canvas' }));
}
