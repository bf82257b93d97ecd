// Asks the half of the engine that looks at pictures. It and its worker are loaded when it is first asked, and may be ended at any time.
import { fail } from './codes.js';
import { life, worker } from './life.js';
import { bare, get } from './pictures-store.js';
import { canLook } from './pixels.js';

/**
 * @typedef {import('../types/engine.js').PictureMethods} PictureMethods
 * @typedef {import('./pixels.js').Pixels} Pixels
 * @typedef {import('./pixels.js').Crop} Crop
 * A picture to look at: one that is kept, by its hash, or a piece of it, with its pixels where the page has them already; or a file.
 * @typedef {{hash: string, crop?: Crop, pixels?: Pixels} | {file: Blob | ArrayBuffer | Uint8Array, type?: string}} Looked
 * @typedef {{response: string, bytes: Uint8Array | null}} Answer
 * @typedef {[question: Omit<import('./photo-worker.js').Asked, 'n'>]} Question
 */

/** How many pictures' pixels are held. */
const most = 2;
/** The methods that want the file of a picture rather than its pixels. */
const byFile = new Set(['sheet']);

const address = new URL('./photo-worker.js', import.meta.url);
const engine = life(/** @type {import('./life.js').Start<Question, Answer>} */ ((told) => worker(address, told, (n, question) => [{ n, ...question }, handed(question)])), { load: 60_000, answer: 120_000 });
/** The names of the pictures that each life of the worker holds, the one looked at last at the end. @type {WeakMap<object, string[]>} */
const holds = new WeakMap();

/** Another way to run it, for tests. */
export const usePhotoEngine = engine.use;

/** What goes over to the worker and is not copied. @param {Question[0]} question */
function handed({ fresh, pictures }) {
  const all = [...Object.values(fresh), ...Object.values(pictures)].flatMap((one) => ('rgba' in one ? [one.rgba.buffer] : 'file' in one ? [one.file.buffer] : []));
  return /** @type {Transferable[]} */ ([...new Set(all)]);
}

/**
 * Looks at pictures. `pictures` says which they are, by the names under which the request speaks of them.
 * @param {{method: keyof PictureMethods & string, request: any, pictures?: Record<string, Looked>}} what
 * @returns {Promise<any>} the response; what comes beside it (a PDF, pixels) as its `bytes`
 */
export async function look({ method, request, pictures = {} }) {
  const text = JSON.stringify(request);
  const wants = await Promise.all(Object.entries(pictures).map(async ([name, one]) => wanted(name, one, byFile.has(method))));
  const [answer, bytes] = await engine.twice(method, async () => {
    const { response, bytes } = await engine.once(engine.patience.answer, async (of) => {
      const files = await missing(of, wants);
      return [asked(of, { method, request: text }, wants, files)];
    });
    return [JSON.parse(response), bytes];
  });
  return bytes ? { ...answer, bytes } : answer;
}

/** The files, or the pixels, that the worker does not hold at this moment. @param {object} of  @param {Want[]} wants */
async function missing(of, wants) {
  /** @type {Map<string, File | Pixels>} */
  const files = new Map();
  for (;;) {
    const want = wants.find((one) => one.hash && !files.has(one.hash) && (one.byFile || !holds.get(of)?.includes(one.hash)));
    if (!want) return files;
    if (!want.byFile && !want.pixels && !canLook()) fail('picture-no-canvas', { hash: want.hash });
    files.set(want.hash, (want.byFile ? null : want.pixels) ?? await fileOf(want.hash));
  }
}

/** Ends the worker: what it was looking at is told that it was stopped. */
export async function lookStop() { engine.stop(stopped()); }

/** @returns {unknown} */
function stopped() { try { return fail('stopped'); } catch (error) { return error; } }

/** @typedef {{file: Uint8Array, type: string}} File  @typedef {{name: string, hash: string, byFile: boolean, crop?: Crop, pixels?: Pixels, file?: File}} Want */

/** @param {string} name  @param {Looked} one  @param {boolean} byFile @returns {Promise<Want>} */
async function wanted(name, one, byFile) {
  if (!('file' in one)) return { name, hash: bare(one.hash), byFile, crop: one.crop, pixels: one.pixels };
  const bytes = one.file instanceof Blob ? await one.file.arrayBuffer() : one.file;
  return { name, hash: '', byFile: true, file: { file: new Uint8Array(/** @type {ArrayBuffer} */ (bytes)), type: one.type ?? (one.file instanceof Blob ? one.file.type : 'image/jpeg') } };
}

/** @param {string} hash @returns {Promise<File>} */
async function fileOf(hash) {
  const here = await get(hash) ?? await (await import('./pictures.js')).pictureBytes({ hash });
  return { file: new Uint8Array(here.bytes), type: here.type };
}

/**
 * The question as the worker is asked it: with copies of what it does not hold yet, since what is handed over is gone.
 * @param {object} of the life of the worker  @param {{method: string, request: string}} what  @param {Want[]} wants  @param {Map<string, File | Pixels>} files
 */
function asked(of, what, wants, files) {
  const before = holds.get(of) ?? [];
  /** @type {Question[0]} */
  const question = { ...what, pictures: {}, keep: [], fresh: {} };
  for (const want of wants) {
    const file = want.file ?? files.get(want.hash);
    if (want.byFile) { question.pictures[want.name] = /** @type {File} */ (copy(/** @type {File} */ (file))); continue; }
    question.pictures[want.name] = { held: want.hash, ...(want.crop ? { crop: want.crop } : {}) };
    if (!before.includes(want.hash) && file) question.fresh[want.hash] = copy(file);
    if (!question.keep.includes(want.hash)) question.keep.push(want.hash);
  }
  question.keep = [...before.filter((hash) => !question.keep.includes(hash)), ...question.keep].slice(-Math.max(most, question.keep.length));
  holds.set(of, question.keep);
  return question;
}

/** @param {File | Pixels} one @returns {File | Pixels} */
const copy = (one) => ('rgba' in one ? { ...one, rgba: one.rgba.slice() } : { ...one, file: one.file.slice() });
