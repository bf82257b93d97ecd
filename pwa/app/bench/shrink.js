// Makes a picture small enough to keep: drawn anew, the way up it was taken, so that nothing goes along of where, when and with what.
import { Trouble, fail } from './codes.js';
import { headerOf } from './header.js';

/** The longest side, in pixels, and how good the JPEG is. */
const sizes = { full: { side: 2048, quality: 0.9 }, thumb: { side: 320, quality: 0.8 } };
/** The most pixels that are asked of a browser (it holds all of them for a moment, at four bytes each), and the fewest along a side of what is kept. */
const limits = { pixels: 80e6, side: 8 };
/** Up to so many pixels a picture is opened as large as it is, and made small in the one drawing that turns it; larger ones are opened small, which takes longer and holds less. */
const whole = 16e6;

/**
 * A place to draw on that can be made a JPEG.
 * @typedef {{context: CanvasRenderingContext2D | OffscreenCanvasRenderingContext2D, jpeg: (quality: number) => Promise<Blob | null>}} Canvas
 * What can be drawn.
 * @typedef {CanvasImageSource & {width: number, height: number, close?: () => void}} Drawable
 * How a file is made something that can be drawn, of that size if the browser can; 0 is as it comes.
 * @typedef {(file: Blob, width: number, height: number) => Promise<Drawable>} Open
 */

/** @param {number} width  @param {number} height @returns {Canvas} */
function offscreen(width, height) {
  const canvas = new OffscreenCanvas(width, height);
  const context = canvas.getContext('2d', { alpha: false }) ?? fail('picture-no-canvas');
  return { context, jpeg: (quality) => canvas.convertToBlob({ type: 'image/jpeg', quality }) };
}

/** @type {Open} */
async function bitmap(file, width, height) {
  const size = { ...(width ? { resizeWidth: width } : {}), ...(height ? { resizeHeight: height } : {}) };
  return createImageBitmap(file, { imageOrientation: 'from-image', ...(width || height ? { ...size, resizeQuality: 'medium' } : {}) }); // high takes as long again as all the rest
}

/** How a picture is drawn so that it stands upright: where its axes and its corner go, by how it must be turned, for one of that size. @type {((w: number, h: number) => [number, number, number, number, number, number])[]} */
const turns = [
  () => [1, 0, 0, 1, 0, 0], (w) => [-1, 0, 0, 1, w, 0], (w, h) => [-1, 0, 0, -1, w, h], (_, h) => [1, 0, 0, -1, 0, h],
  () => [0, 1, 1, 0, 0, 0], (_, h) => [0, 1, -1, 0, h, 0], (w, h) => [0, -1, -1, 0, h, w], (w) => [0, -1, 1, 0, 0, w],
];

/** A size that is no more than so long. @param {number} width  @param {number} height  @param {number} side @returns {[number, number]} */
function within(width, height, side) {
  const scale = Math.min(1, side / Math.max(width, height));
  return [Math.max(1, Math.round(width * scale)), Math.max(1, Math.round(height * scale))];
}

/** Refuses a size that cannot be kept. @param {number} width  @param {number} height */
function check(width, height) {
  if (width * height > limits.pixels) fail('picture-too-many-pixels', { width, height, most: limits.pixels });
  if (Math.min(...within(width, height, sizes.full.side)) < limits.side) fail('picture-too-small', { width, height, least: limits.side });
}

/**
 * The picture and its small one. Each is drawn anew as a JPEG.
 * @param {Blob} file
 * @param {{open?: Open, canvas?: (width: number, height: number) => Canvas, far?: (share: number) => void}} [how] `far` hears how much is done, and may throw to stop it
 * @returns {Promise<import('./pictures.js').Shrunk>}
 */
export async function shrink(file, { open = bitmap, canvas = offscreen, far = () => {} } = {}) {
  if (open === bitmap && (typeof OffscreenCanvas === 'undefined' || typeof createImageBitmap === 'undefined')) fail('picture-no-canvas');
  far(0);
  const header = await headerOf(file);
  if (header.width) check(header.width, header.height);
  far(0.1);
  const picture = await opened(header, open);
  /** @type {{full: Blob, small: Blob, width: number, height: number}} */
  let done;
  try {
    if (!header.width) check(picture.width, picture.height);
    far(0.5);
    const large = drawn(picture, header.turned, sizes.full.side, canvas);
    picture.close?.(); // at once: it may be as large as it was taken
    const small = drawn(/** @type {any} */ (large.context.canvas), 1, sizes.thumb.side, canvas);
    far(0.6);
    done = { full: await written(large, sizes.full.quality), small: await written(small, sizes.thumb.quality), width: large.width, height: large.height };
  } finally { picture.close?.(); }
  far(0.85);
  const notes = [...(header.moving ? ['picture-moving'] : []), ...(header.cmyk ? ['picture-cmyk'] : [])];
  return { full: await done.full.arrayBuffer(), thumb: await done.small.arrayBuffer(), type: 'image/jpeg', width: done.width, height: done.height, notes };
}

/** Refuses what its header alone shows cannot be kept. @param {Blob} file */
export async function look(file) {
  const { width, height } = await headerOf(file);
  if (width) check(width, height);
}

/** @param {import('./header.js').Header} header  @param {Open} open */
async function opened({ plain, type, width, height }, open) {
  const [wide, high] = within(width, height, sizes.full.side);
  const smaller = (wide < width || high < height) && width * height > whole;
  // A JPEG comes without what turns it, so that both sides are known; others may be turned by the browser, and keep their shape by one.
  const both = type === 'image/jpeg';
  try {
    return await open(plain, smaller && (both || width >= height) ? wide : 0, smaller && (both || width < height) ? high : 0);
  } catch (error) {
    if (error instanceof Trouble) throw error;
    return fail(type === 'image/heic' ? 'picture-heic' : 'picture-not-read', {}, error);
  }
}

/** @param {Drawable} picture  @param {number} turned  @param {number} side  @param {(width: number, height: number) => Canvas} canvas */
function drawn(picture, turned, side, canvas) {
  if (!picture.width || !picture.height) fail('picture-not-read');
  const [w, h] = within(picture.width, picture.height, side);
  const [width, height] = turned > 4 ? [h, w] : [w, h];
  const { context, jpeg } = canvas(width, height);
  context.fillStyle = '#fff'; // where it lets through
  context.fillRect(0, 0, width, height);
  context.imageSmoothingQuality = 'medium'; // as those that are opened small
  context.setTransform(...turns[turned - 1](w, h));
  context.drawImage(picture, 0, 0, w, h);
  return { context, jpeg, width, height };
}

/** @param {Canvas} canvas  @param {number} quality */
async function written({ jpeg }, quality) {
  const blob = await jpeg(quality);
  // A browser that cannot write a JPEG gives something else, or nothing.
  if (blob?.type !== 'image/jpeg') throw new Trouble('picture-no-canvas');
  return blob;
}
