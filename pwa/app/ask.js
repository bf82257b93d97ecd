// The page's side of the bench: asks it, hears what it tells, and starts it again when it dies.

/**
 * @typedef {typeof import('./bench/table.js').methods} Methods
 * @typedef {Error & {code: string, text: string, at: string, params: Record<string, any>}} Told
 * @typedef {'changed' | 'kept' | 'engine' | 'trouble' | 'home' | 'progress'} Event
 * @typedef {{n: number, method: string, params: unknown, done: (value: any) => void, failed: (error: Told) => void, tries: number}} Waiting
 */

/** What may be asked again without harm when it is not known whether it was done. */
const harmless = new Set(['view', 'drafts', 'draft', 'settings', 'setting', 'storage', 'engine', 'warm', 'export', 'importPreview', 'devices', 'tryNow', 'pictureBytes', 'stop', 'look', 'lookStop']);

/** @type {Map<number, Waiting>} */
const waiting = new Map();
/** @type {Map<string, Set<(data: any) => void>>} */
const listeners = new Map();
/** @type {Worker | null} */
let worker = null;
let asked = 0;
let deaths = 0;

function bench() {
  if (worker) return worker;
  const mine = new Worker(new URL('./bench/bench.js', import.meta.url), { type: 'module', name: 'bench' });
  mine.onmessage = ({ data }) => {
    if (data.event) { tell(data.event, data.data); return; }
    deaths = 0;
    const asker = waiting.get(data.n);
    waiting.delete(data.n);
    if (data.error) asker?.failed(told(data.error)); else asker?.done(data.ok);
  };
  mine.onerror = (event) => { event.preventDefault(); if (worker === mine) died(event.message); };
  worker = mine;
  return mine;
}

/** @param {{code: string, text?: string, at?: string, params?: Record<string, any>}} error @returns {Told} */
function told(error) {
  return Object.assign(new Error(error.text || error.code), { code: error.code, text: error.text ?? '', at: error.at ?? '', params: error.params ?? {} });
}

/** The bench died: what can be asked again is, once; who asked for a change is told that it cannot be known. @param {string} [message] */
function died(message) {
  worker?.terminate();
  worker = null;
  deaths += 1;
  tell('kept', { pending: false });
  for (const asker of [...waiting.values()]) {
    if (harmless.has(asker.method) && asker.tries < 2 && deaths < 3) { asker.tries += 1; send(asker); continue; }
    waiting.delete(asker.n);
    asker.failed(told({ code: 'bench-died', params: { method: asker.method, message } }));
  }
}

/** @param {Waiting} asker */
function send(asker) { bench().postMessage({ n: asker.n, method: asker.method, params: asker.params }); }

/** @param {string} event  @param {any} data */
function tell(event, data) {
  for (const listener of listeners.get(event) ?? []) listener(data);
}

/**
 * Asks the bench; bench/table.js has everything that can be asked. Rejects with an Error that has .code, .text, .at and .params.
 * @param {keyof Methods | 'askPersist'} method  @param {any} [params]
 * @returns {Promise<any>}
 */
export function ask(method, params = {}) {
  if (method === 'askPersist') return askPersist();
  return new Promise((done, failed) => {
    const asker = { n: ++asked, method, params, done, failed, tries: 0 };
    waiting.set(asker.n, asker);
    try { send(asker); } catch (error) {
      waiting.delete(asker.n);
      failed(told({ code: 'unexpected', params: { message: String(error) } }));
    }
  });
}

/** Asks the browser to keep the store; only a page can. */
async function askPersist() {
  const persisted = await navigator.storage?.persist?.() ?? false;
  return { ...await ask('storage'), persisted };
}

/** Listens to what the bench tells: changed, kept, engine, trouble, home, progress. @param {Event} event  @param {(data: any) => void} listener @returns {() => void} stops listening */
export function on(event, listener) {
  if (!listeners.has(event)) listeners.set(event, new Set());
  listeners.get(event)?.add(listener);
  return () => listeners.get(event)?.delete(listener);
}

// At once, before the screens are loaded: what the bench needs is fetched while they are.
if (globalThis.Worker) bench();

// A worker does not see whether its page is looked at, and hears of the network later than the page.
/** @param {{type: string}} event */
const woke = ({ type }) => { worker?.postMessage({ n: 0, method: 'woke', params: { visible: document.visibilityState === 'visible', event: type } }); };
if (globalThis.document) {
  document.addEventListener('visibilitychange', woke);
  for (const event of ['pageshow', 'online', 'offline']) addEventListener(event, woke);
}
