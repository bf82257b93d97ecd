// A picture as rows of pixels, and a piece cut out of it.
import { fail } from './codes.js';

/** @typedef {{width: number, height: number, rgba: Uint8Array}} Pixels  red, green, blue, alpha of each pixel, rows from the top */
/** @typedef {[left: number, top: number, width: number, height: number]} Crop */

/** Whether this browser lets a worker look at the pixels of a picture. */
export const canLook = () => typeof OffscreenCanvas !== 'undefined' && typeof createImageBitmap !== 'undefined';

/** The pixels of a file that the browser can read. @param {Blob} file @returns {Promise<Pixels>} */
export async function decode(file) {
  const bitmap = await createImageBitmap(file, { imageOrientation: 'from-image', premultiplyAlpha: 'none' }).catch((error) => fail('picture-not-read', {}, error));
  try {
    const { width, height } = bitmap;
    const context = new OffscreenCanvas(width, height).getContext('2d', { willReadFrequently: true }) ?? fail('picture-no-canvas');
    return pixelsOf(context, bitmap, width, height);
  } finally { bitmap.close(); }
}

/** @param {CanvasRenderingContext2D | OffscreenCanvasRenderingContext2D} context  @param {CanvasImageSource} picture  @param {number} width  @param {number} height @returns {Pixels} */
export function pixelsOf(context, picture, width, height) {
  context.drawImage(picture, 0, 0);
  return { width, height, rgba: new Uint8Array(context.getImageData(0, 0, width, height).data.buffer) };
}

/** A piece of a picture; what of it would lie beside the picture is left out. @param {Pixels} whole  @param {Crop} crop @returns {Pixels} */
export function cut({ width, height, rgba }, [left, top, wide, high]) {
  const [x, y] = [Math.max(0, Math.round(left)), Math.max(0, Math.round(top))];
  const [right, bottom] = [Math.min(width, Math.round(left + wide)), Math.min(height, Math.round(top + high))];
  if (!(right > x && bottom > y)) fail('point-outside', { at: 'crop' });
  const row = 4 * (right - x);
  const piece = new Uint8Array(row * (bottom - y));
  for (let i = y; i < bottom; i++) piece.set(rgba.subarray(4 * (i * width + x), 4 * (i * width + x) + row), row * (i - y));
  return { width: right - x, height: bottom - y, rgba: piece };
}
