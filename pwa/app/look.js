// Looks at pictures: the engine does it, in a worker that makes pixels of them itself; where that worker cannot, the page does, once for each.
import { ask } from './ask.js';
import { pixelsOf } from './bench/pixels.js';

/** @typedef {{hash: string, crop?: [number, number, number, number]} | {file: Blob | ArrayBuffer | Uint8Array, type?: string}} Looked */

/**
 * Asks the half of the engine that looks at pictures.
 * @param {string} method  @param {any} request  @param {Record<string, Looked>} pictures by the names under which the request speaks of them
 * @returns {Promise<any>} the response; what comes beside it as its `bytes`
 */
export async function look(method, request, pictures) {
  /** @type {Record<string, any>} */
  let given = pictures;
  for (;;) {
    try {
      return await ask('look', { method, request, pictures: given });
    } catch (error) {
      const { code, params } = /** @type {{code?: string, params?: {hash?: string}}} */ (error);
      const names = Object.keys(given).filter((name) => given[name].hash?.endsWith(params?.hash) && !given[name].pixels);
      if (code !== 'picture-no-canvas' || !params?.hash || !names.length) throw error;
      const pixels = await pixelsHere(params.hash);
      given = { ...given, ...Object.fromEntries(names.map((name) => [name, { ...given[name], pixels }])) };
    }
  }
}

/** @param {string} hash */
async function pixelsHere(hash) {
  const { bytes, type } = await ask('pictureBytes', { hash });
  const url = URL.createObjectURL(new Blob([bytes], { type }));
  try {
    const picture = Object.assign(new Image(), { src: url });
    await picture.decode();
    const { naturalWidth: width, naturalHeight: height } = picture;
    const context = Object.assign(document.createElement('canvas'), { width, height }).getContext('2d', { willReadFrequently: true });
    return pixelsOf(/** @type {CanvasRenderingContext2D} */ (context), picture, width, height);
  } finally { URL.revokeObjectURL(url); }
}
