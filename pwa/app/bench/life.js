// A program in a worker of its own: loaded when first needed, ended when it hangs, started again when it died, and the question asked
// once more; then the trouble is told.
import { Trouble, fail } from './codes.js';

/**
 * What can start one: `ask` sends a numbered question, `end` ends it. `told` hears what it says.
 * @template {any[]} Question  @template Answer
 * @typedef {(told: (said: {n: number} & Answer | {event: 'ready' | 'ended' | 'failed', text?: string}) => void) => {ask: (n: number, ...question: Question) => void, end: () => void}} Start
 */

/** It is no longer there, and may be started again. */
export class Stopped extends Error {}

/**
 * @template {any[]} Question  @template Answer
 * @param {Start<Question, Answer>} first how it is started
 * @param {{load: number, answer: number}} patience how long it is waited for, ms
 * @param {(ready: boolean) => void} [heard] whether it is there
 */
export function life(first, patience, heard = () => {}) {
  /**
   * @typedef {{done: (answer: Answer) => void, failed: (error: unknown) => void}} Asker
   * @typedef {{running: ReturnType<Start<Question, Answer>>, ready: Promise<void>, over: (error: unknown) => void, waiting: Map<number, Asker>}} Life
   */
  let starter = first;
  /** @type {Life | null} */
  let now = null;
  let asked = 0;

  /** Starts it if it is not there. @returns {Life} */
  function start() {
    if (now) return now;
    /** @type {Life} */
    const mine = { waiting: new Map(), running: /** @type {any} */ (null), ready: Promise.resolve(), over: () => {} };
    mine.ready = new Promise((resolve, reject) => {
      const late = setTimeout(() => ended(new Trouble('engine-missing', { params: { text: 'it took too long to load' } })), patience.load);
      mine.over = (error) => { clearTimeout(late); reject(error); };
      const ended = (/** @type {unknown} */ error) => { mine.over(error); if (now === mine) stop(); };
      mine.running = starter((said) => {
        if ('n' in said) { mine.waiting.get(said.n)?.done(said); mine.waiting.delete(said.n); }
        else if (said.event === 'ready') { clearTimeout(late); resolve(); heard(true); }
        else ended(said.event === 'failed' ? new Trouble('engine-missing', { params: { text: said.text } }) : new Stopped(said.text));
      });
    });
    mine.ready.catch(() => {});
    now = mine;
    return mine;
  }

  /** Ends it; whoever waits for it is told so. @param {unknown} [why] */
  function stop(why = new Stopped('it stopped')) {
    const was = now;
    now = null;
    if (!was) return;
    was.running?.end();
    was.over(why);
    for (const { failed } of was.waiting.values()) failed(why);
    was.waiting.clear();
    heard(false);
  }

  /** Asks once. `question` is made when it is there, and hears which one it is asked of. @param {number} ms  @param {(of: object) => Question | Promise<Question>} question @returns {Promise<Answer>} */
  async function once(ms, question) {
    const mine = start();
    await mine.ready;
    const made = question(mine);
    const parts = made instanceof Promise ? await made : made;
    if (now !== mine) throw new Stopped('it stopped');
    return new Promise((resolve, reject) => {
      const n = ++asked;
      const late = setTimeout(() => { if (now === mine) stop(); }, ms);
      mine.waiting.set(n, { done: (answer) => { clearTimeout(late); resolve(answer); }, failed: (error) => { clearTimeout(late); reject(error); } });
      try { mine.running.ask(n, ...parts); } catch (error) { clearTimeout(late); mine.waiting.delete(n); reject(error); }
    });
  }

  /**
   * Asks, and if it stopped or came to grief once more. What it refuses is thrown with its own code and sentence.
   * @template T  @param {string} method  @param {() => Promise<[any, T]>} ask an answer, and what comes with it @returns {Promise<[any, T]>}
   */
  async function twice(method, ask) {
    for (let attempt = 1; ; attempt++) {
      try {
        const [answer, more] = await ask();
        if (answer?.error?.code === 'engine-crashed' && attempt < 2) { stop(); continue; }
        if (answer?.error) throw new Trouble(answer.error.code, answer.error);
        return [answer, more];
      } catch (error) {
        if (!(error instanceof Stopped)) throw error;
        if (attempt >= 2) fail('engine-stopped', { method }, error);
      }
    }
  }

  /** Another way to run it, for tests. @param {Start<Question, Answer>} other  @param {Partial<typeof patience>} [times] */
  function use(other, times = {}) {
    stop();
    starter = other;
    Object.assign(patience, times);
  }

  return { start, stop, once, twice, use, patience };
}

/** A worker as what can be asked. @param {URL} url  @param {(told: any) => void} told  @param {(n: number, ...question: any[]) => [message: any, hand: Transferable[]]} message */
export function worker(url, told, message) {
  const one = new Worker(url, { type: 'module' });
  one.onmessage = ({ data }) => told(data);
  one.onerror = (event) => { event.preventDefault?.(); told({ event: 'ended', text: event.message }); };
  return { ask: (/** @type {number} */ n, /** @type {any[]} */ ...question) => one.postMessage(...message(n, ...question)), end: () => one.terminate() };
}
