// Asks the engine. It is loaded when first needed (or when the page has nothing else to do), ended when it hangs, started
// again when it died, and the question asked once more; then the trouble is told.
import { Trouble, fail } from './codes.js';
import { emit } from './events.js';

/**
 * @typedef {import('../types/engine.js').Methods} Methods
 * What can start an engine: `ask` sends a question, `end` ends it. `told` hears what it says.
 * @typedef {{ask: (n: number, method: string, request: string, link?: {rows: string, frame: Uint8Array | null}) => void, end: () => void}} Running
 * @typedef {{n: number, response: string, frames?: Uint8Array[], event?: undefined}} Answer
 * @typedef {{event: 'ready' | 'ended' | 'failed', text?: string} | Answer} Said
 * @typedef {(told: (said: Said) => void) => Running} Start
 * @typedef {{running: Running, ready: Promise<void>, waiting: Map<number, {done: (answer: Answer) => void, failed: (error: unknown) => void}>}} Engine
 */

const patience = { load: 60_000, answer: 10_000 };
/** @type {Start} */
let starter = startWorker;
/** @type {Engine | null} */
let engine = null;
let asked = 0;

/** Another way to run an engine, for tests. @param {Start} start  @param {Partial<typeof patience>} [times] */
export function useEngine(start, times = {}) {
  stop();
  starter = start;
  Object.assign(patience, times);
}

/** @type {Start} */
function startWorker(told) {
  const worker = new Worker(new URL('./engine-worker.js', import.meta.url), { type: 'module' });
  worker.onmessage = ({ data }) => told(data);
  worker.onerror = (event) => { event.preventDefault?.(); told({ event: 'ended', text: event.message }); };
  return { ask: (n, method, request, link) => worker.postMessage({ n, method, request, link }, link?.frame ? [link.frame.buffer] : []), end: () => worker.terminate() };
}

class Stopped extends Error {}

/** Starts the engine if it is not there. @returns {Engine} */
export function start() {
  if (engine) return engine;
  /** @type {Engine['waiting']} */
  const waiting = new Map();
  /** @type {Engine} */
  const mine = { waiting, running: /** @type {any} */ (null), ready: Promise.resolve() };
  mine.ready = new Promise((resolve, reject) => {
    const late = setTimeout(() => over('failed', 'the engine took too long to load'), patience.load);
    /** @param {'ended' | 'failed'} how  @param {string} [text] */
    const over = (how, text) => {
      clearTimeout(late);
      reject(how === 'failed' ? new Trouble('engine-missing', { params: { text } }) : new Stopped(text));
      if (engine === mine) stop();
    };
    mine.running = starter((said) => {
      if (said.event === undefined) { waiting.get(said.n)?.done(said); waiting.delete(said.n); }
      else if (said.event === 'ready') { clearTimeout(late); resolve(); emit('engine', { ready: true }); }
      else over(said.event, said.text);
    });
  });
  mine.ready.catch(() => {});
  engine = mine;
  return mine;
}

/** Ends the engine; whoever waits for it is told that it stopped. */
export function stop() {
  const was = engine;
  engine = null;
  if (!was) return;
  was.running?.end();
  for (const { failed } of was.waiting.values()) failed(new Stopped('the engine stopped'));
  was.waiting.clear();
  emit('engine', { ready: false });
}

/** @param {string} method  @param {string} request  @param {number} ms  @param {{rows: string, frame: Uint8Array | null}} [link] @returns {Promise<Answer>} */
async function once(method, request, ms, link) {
  const mine = start();
  await mine.ready;
  if (engine !== mine) throw new Stopped('the engine stopped');
  return new Promise((resolve, reject) => {
    const n = ++asked;
    const late = setTimeout(() => { if (engine === mine) stop(); }, ms);
    mine.waiting.set(n, { done: (answer) => { clearTimeout(late); resolve(answer); }, failed: (error) => { clearTimeout(late); reject(error); } });
    mine.running.ask(n, method, request, link);
  });
}

/**
 * Asks the engine one question. What it refuses is thrown with its own code and sentence.
 * @template {keyof Methods} M
 * @param {M} method  @param {Methods[M]['request']} request  @param {number} [ms] how long to wait for it
 * @returns {Promise<Methods[M]['response']>}
 */
export async function call(method, request, ms = patience.answer) {
  const text = JSON.stringify(request);
  for (let attempt = 1; ; attempt++) {
    try {
      const answer = JSON.parse((await once(method, text, ms)).response);
      if (answer?.error?.code === 'engine-crashed' && attempt < 2) { stop(); continue; }
      if (answer?.error) throw new Trouble(answer.error.code, answer.error);
      return answer;
    } catch (error) {
      if (!(error instanceof Stopped)) throw error;
      if (attempt >= 2) fail('engine-stopped', { method }, error);
    }
  }
}

/**
 * Tells this device's end of the sync, which lives in the engine, of an event, and gives what is to be done. It is told once: when
 * the engine stopped, that end is gone and must be started anew from the store.
 * @param {Record<string, unknown>} event  @param {string} [rows]  @param {Uint8Array | null} [frame] @returns {Promise<any>}
 */
export async function tellPeer(event, rows = '', frame = null) {
  try {
    const { response, frames } = await once('', JSON.stringify(event), patience.answer, { rows, frame });
    const answer = JSON.parse(response);
    if (answer.error) throw new Trouble(answer.error.code, answer.error);
    if (answer.gone) fail('engine-stopped', { method: 'peer' });
    return { ...answer, frames: frames ?? [] };
  } catch (error) {
    if (error instanceof Stopped) fail('engine-stopped', { method: 'peer' }, error);
    throw error;
  }
}
