// Holds the half of the engine that looks at pictures, and the pixels of the pictures looked at last: a worker of its own, so that
// neither a count nor a sum ever waits for a picture, and so that it can be ended in the middle of one.
import { asError } from './codes.js';
import { cut, decode } from './pixels.js';
import { load, tellWhen } from './wasm.js';

/**
 * @typedef {import('./pixels.js').Pixels} Pixels
 * What a picture of a question is: the pixels under this name, or a piece of them; or a file.
 * @typedef {{held: string, crop?: import('./pixels.js').Crop} | {file: Uint8Array, type: string}} Given
 * A question. `keep` are the names of the pictures that are to be held; `fresh` are those of them that are not yet, as files or as pixels.
 * @typedef {{n: number, method: string, request: string, pictures: Record<string, Given>, keep: string[], fresh: Record<string, {file: Uint8Array, type: string} | Pixels>}} Asked
 * @typedef {{call: (method: string, request: string, pictures: Record<string, Pixels | {file: Uint8Array, type: string}>) => [string, Uint8Array | null]}} Door
 */

const scope = /** @type {any} */ (globalThis);
const ready = load(new URL('../pictures.wasm', import.meta.url), 'needlesightPictures');
tellWhen(ready);

/** The pixels of the pictures that are held. @type {Map<string, Promise<Pixels>>} */
const held = new Map();

scope.onmessage = async (/** @type {MessageEvent<Asked>} */ { data: { n, method, request, pictures, keep, fresh } }) => {
  for (const name of held.keys()) if (!keep.includes(name)) held.delete(name);
  for (const [name, one] of Object.entries(fresh)) held.set(name, 'rgba' in one ? Promise.resolve(one) : decode(new Blob([/** @type {BlobPart} */ (one.file)], { type: one.type })));
  let given;
  try {
    await ready;
    given = Object.fromEntries(await Promise.all(Object.entries(pictures).map(async ([name, one]) => [name, await whole(one)])));
  } catch (error) {
    scope.postMessage({ n, response: JSON.stringify({ error: { code: asError(error).code, text: '', at: '' } }), bytes: null });
    return;
  }
  try {
    const [response, bytes] = /** @type {Door} */ (scope.needlesightPictures).call(method, request, given);
    scope.postMessage({ n, response, bytes }, bytes ? [bytes.buffer] : []);
  } catch (error) {
    // Only an engine that no longer runs throws; what it refuses is an answer.
    scope.postMessage({ event: 'ended', text: String(error) });
  }
};

/** @param {Given} one */
async function whole(one) {
  if ('file' in one) return one;
  const pixels = await held.get(one.held);
  if (!pixels) throw new Error(`the picture ${one.held} is not held`);
  return one.crop ? cut(pixels, one.crop) : pixels;
}
