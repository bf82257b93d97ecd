// The pictures of the demo: fetched when it is added, and not before.
import { put, sha256 } from '../bench/pictures-store.js';
import { known } from './known.js';

/**
 * What the picture's fact says, and what is known of it since it was made by numbers.
 * @typedef {{width: number, height: number, pins: Record<string, number[][]>, corners?: number[][], rings?: number[][]}} Known
 * @typedef {{fact: {full: string, thumb: string, type: string, width: number, height: number, bytes: number}, known: Known}} Fetched
 */

const type = 'image/jpeg';

/** @type {Record<string, [full: URL, thumb: URL]>} */
const files = {
  'otter-side': [new URL('./otter-side.jpg', import.meta.url), new URL('./otter-side-small.jpg', import.meta.url)],
  'otter-front': [new URL('./otter-front.jpg', import.meta.url), new URL('./otter-front-small.jpg', import.meta.url)],
  'owl-front': [new URL('./owl-front.jpg', import.meta.url), new URL('./owl-front-small.jpg', import.meta.url)],
  'owl-side': [new URL('./owl-side.jpg', import.meta.url), new URL('./owl-side-small.jpg', import.meta.url)],
};

/** Those of these pictures that can be had, kept on this device. @param {string[]} names @returns {Promise<Map<string, Fetched>>} */
export async function fetchPictures(names) {
  const all = await Promise.all(names.map(async (name) => /** @type {[string, Fetched | null]} */ ([name, await one(name).catch(() => null)])));
  return new Map(all.flatMap(([name, fetched]) => (fetched ? [[name, fetched]] : [])));
}

/** @param {string} name @returns {Promise<Fetched>} */
async function one(name) {
  const [full, thumb] = await Promise.all(files[name].map(bytesAt));
  const about = /** @type {Record<string, Known>} */ (/** @type {unknown} */ (known))[name];
  const fact = { full: `sha256:${await keep(full, false)}`, thumb: `sha256:${await keep(thumb, true)}`, type, width: about.width, height: about.height, bytes: full.byteLength };
  return { fact, known: about };
}

/** @param {URL} url */
async function bytesAt(url) {
  const answer = await fetch(url);
  if (!answer.ok) throw new Error(`${url} answered ${answer.status}`);
  return answer.arrayBuffer();
}

/** @param {ArrayBuffer} bytes  @param {boolean} small @returns {Promise<string>} its hash */
async function keep(bytes, small) {
  const hash = await sha256(bytes);
  await put(hash, bytes, type, small);
  return hash;
}
