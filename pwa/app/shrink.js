// Keeps a picture: the bench makes it small; where its worker cannot draw, the page does.
import { ask } from './ask.js';
import { look, shrink } from './bench/shrink.js';

/** @param {{project: string, file: Blob, view?: string | null, name?: string, of?: string, drawn?: boolean, whose?: string}} what @returns {Promise<{id: string, notes?: string[]}>} */
export async function addPicture({ file, ...what }) {
  try {
    return await ask('addPicture', { ...what, file });
  } catch (error) {
    if (/** @type {{code?: string}} */ (error).code !== 'picture-no-canvas') throw error;
    return ask('addPicture', { ...what, shrunk: await shrink(file, { open: image, canvas: onPage }) });
  }
}

/** Why a file cannot be kept, as far as that shows before it is made pixels; null when it may be. @param {Blob} file @returns {Promise<unknown>} */
export const whyNot = (file) => look(file).then(() => null, (error) => error);

/** @param {Blob} file */
async function image(file) {
  const url = URL.createObjectURL(file);
  const picture = new Image();
  picture.src = url;
  try { await picture.decode(); } catch (error) {
    URL.revokeObjectURL(url);
    throw Object.assign(new Error('picture-not-read', { cause: error }), { code: 'picture-not-read' });
  }
  return Object.assign(picture, { close: () => URL.revokeObjectURL(url) });
}

/** @param {number} width  @param {number} height */
function onPage(width, height) {
  const canvas = Object.assign(document.createElement('canvas'), { width, height });
  const context = /** @type {CanvasRenderingContext2D} */ (canvas.getContext('2d'));
  return { context, jpeg: (/** @type {number} */ quality) => /** @type {Promise<Blob | null>} */ (new Promise((done) => { canvas.toBlob(done, 'image/jpeg', quality); })) };
}
