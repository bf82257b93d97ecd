// A kept picture on its way to the board: the small one at once, then the whole one in its place.
import { ask } from '../ask.js';

/** @param {string} hash @returns {Promise<ImageBitmap | HTMLImageElement>} */
async function opened(hash) {
  const { bytes, type } = await ask('pictureBytes', { hash });
  const blob = new Blob([bytes], { type });
  try { return await createImageBitmap(blob); } catch { /* a browser that does so only for elements */ }
  const url = URL.createObjectURL(blob);
  const image = new Image();
  image.src = url;
  try { await image.decode(); } catch (error) { URL.revokeObjectURL(url); throw Object.assign(new Error('picture-not-read', { cause: error }), { code: 'picture-not-read' }); }
  return image;
}

/**
 * @param {{show: (image: CanvasImageSource, width: number, height: number) => void}} board
 * @param {{thumb: string, full: string, width: number, height: number}} picture
 * @param {{trouble: (error: unknown) => void}} stage told when the whole one cannot be had
 * @returns {Promise<boolean>} whether the whole one is shown
 */
export async function showPicture(board, { thumb, full, width, height }, stage) {
  let whole = false;
  const small = opened(thumb).then((image) => { if (!whole) board.show(image, width, height); }, () => {});
  try {
    const image = await opened(full);
    whole = true;
    board.show(image, width, height);
  } catch (error) { stage.trouble(error); }
  await small;
  return whole;
}
