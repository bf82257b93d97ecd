// Makes a picture small enough to keep: drawn anew, the way up it was taken, so that nothing goes along of where, when and with what.
import { Trouble, fail } from './codes.js';

/** The longest side, in pixels, and how good the JPEG is. */
const sizes = { full: { side: 4096, quality: 0.92 }, thumb: { side: 320, quality: 0.8 } };

/**
 * A place to draw on that can be made a JPEG.
 * @typedef {{context: CanvasRenderingContext2D | OffscreenCanvasRenderingContext2D, jpeg: (quality: number) => Promise<Blob | null>}} Canvas
 */

/** @param {number} width  @param {number} height @returns {Canvas} */
function offscreen(width, height) {
  if (typeof OffscreenCanvas === 'undefined' || typeof createImageBitmap === 'undefined') fail('picture-no-canvas');
  const canvas = new OffscreenCanvas(width, height);
  const context = canvas.getContext('2d') ?? fail('picture-no-canvas');
  return { context, jpeg: (quality) => canvas.convertToBlob({ type: 'image/jpeg', quality }) };
}

/** What has a width and a height and can be drawn, of a file. @param {Blob} file */
async function bitmap(file) {
  if (typeof createImageBitmap === 'undefined') fail('picture-no-canvas');
  try {
    return await createImageBitmap(file, { imageOrientation: 'from-image' });
  } catch (error) {
    return fail('picture-not-read', {}, error);
  }
}

/**
 * The picture and its small one. Each is drawn anew as a JPEG.
 * @param {Blob} file  @param {{open?: (file: Blob) => Promise<CanvasImageSource & {width: number, height: number, close?: () => void}>, canvas?: typeof offscreen}} [how]
 * @returns {Promise<import('./pictures.js').Shrunk>}
 */
export async function shrink(file, { open = bitmap, canvas = offscreen } = {}) {
  if (!(file instanceof Blob)) fail('picture-not-read');
  const picture = await open(file);
  try {
    const { width, height } = picture;
    if (!width || !height) fail('picture-not-read');
    const full = await drawn(picture, sizes.full, canvas);
    const thumb = await drawn(picture, sizes.thumb, canvas);
    return { full: full.bytes, thumb: thumb.bytes, type: 'image/jpeg', width: full.width, height: full.height };
  } finally { picture.close?.(); }
}

/** @param {CanvasImageSource & {width: number, height: number}} picture  @param {{side: number, quality: number}} size  @param {typeof offscreen} canvas */
async function drawn(picture, { side, quality }, canvas) {
  const scale = Math.min(1, side / Math.max(picture.width, picture.height));
  const [width, height] = [picture.width, picture.height].map((n) => Math.max(1, Math.round(n * scale)));
  const { context, jpeg } = canvas(width, height);
  context.fillStyle = '#fff'; // where it lets through
  context.fillRect(0, 0, width, height);
  context.imageSmoothingQuality = 'high';
  context.drawImage(picture, 0, 0, width, height);
  const blob = await jpeg(quality);
  // A browser that cannot write a JPEG gives something else, or nothing.
  if (blob?.type !== 'image/jpeg') throw new Trouble('picture-no-canvas');
  return { bytes: await blob.arrayBuffer(), width, height };
}
