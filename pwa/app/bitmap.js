// A picture of the store, ready to be drawn.
import { ask } from './ask.js';

/** @param {string} hash @returns {Promise<ImageBitmap | HTMLImageElement>} */
export async function bitmapOf(hash) {
  const { bytes, type } = await ask('pictureBytes', { hash });
  const blob = new Blob([bytes], { type });
  if ('createImageBitmap' in globalThis) {
    try { return await createImageBitmap(blob); } catch { /* some browsers do it for an image only */ }
  }
  const url = URL.createObjectURL(blob);
  const image = new Image();
  image.src = url;
  try { await image.decode(); return image; } finally { URL.revokeObjectURL(url); }
}
