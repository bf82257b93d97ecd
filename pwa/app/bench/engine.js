// Asks the engine, which lives in a worker of its own.
import { Trouble, fail } from './codes.js';
import { emit } from './events.js';
import { Stopped, life, worker } from './life.js';

/**
 * @typedef {import('../types/engine.js').Methods} Methods
 * @typedef {{rows: string, frame: Uint8Array | null}} Link
 * @typedef {{response: string, frames?: Uint8Array[]}} Answer
 * @typedef {[method: string, request: string, link?: Link]} Question
 */

// Where the worker is, said here in full: the build finds files that are loaded so.
const address = new URL('./engine-worker.js', import.meta.url);
const engine = life(/** @type {import('./life.js').Start<Question, Answer>} */ ((told) => worker(address, told,
  (n, method, request, /** @type {Link | undefined} */ link) => [{ n, method, request, link }, link?.frame ? [link.frame.buffer] : []])), { load: 60_000, answer: 10_000 }, (ready) => emit('engine', { ready }));

/** Another way to run an engine, for tests. */
export const useEngine = engine.use;
/** Starts the engine if it is not there. */
export const start = engine.start;
/** Ends the engine; whoever waits for it is told that it stopped. */
export const stop = engine.stop;

/**
 * Asks the engine one question. What it refuses is thrown with its own code and sentence.
 * @template {keyof Methods & string} M
 * @param {M} method  @param {Methods[M]['request']} request  @param {number} [ms] how long to wait for it
 * @returns {Promise<Methods[M]['response']>}
 */
export async function call(method, request, ms = engine.patience.answer) {
  const text = JSON.stringify(request);
  const [answer] = await engine.twice(method, async () => [JSON.parse((await engine.once(ms, () => [method, text])).response), null]);
  return answer;
}

/**
 * Tells this device's end of the sync, which lives in the engine, of an event, and gives what is to be done. It is told once: when
 * the engine stopped, that end is gone and must be started anew from the store.
 * @param {Record<string, unknown>} event  @param {string} [rows]  @param {Uint8Array | null} [frame] @returns {Promise<any>}
 */
export async function tellPeer(event, rows = '', frame = null) {
  try {
    const { response, frames } = await engine.once(engine.patience.answer, () => ['', JSON.stringify(event), { rows, frame }]);
    const answer = JSON.parse(response);
    if (answer.error) throw new Trouble(answer.error.code, answer.error);
    if (answer.gone) fail('engine-stopped', { method: 'peer' });
    return { ...answer, frames: frames ?? [] };
  } catch (error) {
    if (error instanceof Stopped) fail('engine-stopped', { method: 'peer' }, error);
    throw error;
  }
}
