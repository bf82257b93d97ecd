// A device of its own, in a process of its own: the bench as a browser has it, with one or more tabs on one store, and home at an
// address it is told. Its parent asks by messages {n, tab, method, params}; `method` is one of the bench's, or one of `more` below.
import './libs.mjs';
import WS from 'ws';
import { realEngine } from './bench.mjs';

const [port, through] = process.argv.slice(2).map(Number);
const origin = `http://localhost:${port}`;
const plainFetch = globalThis.fetch;

globalThis.location = new URL(origin);
// A browser says where a page comes from; here it must be said for it.
globalThis.fetch = (url, how = {}) => plainFetch(url, { ...how, headers: { ...how.headers, Origin: origin } });
globalThis.WebSocket = class extends WS {
  constructor(url, protocols) { super(through ? url.replace(`:${port}/`, `:${through}/`) : url, protocols, { headers: { Host: `localhost:${port}`, Origin: origin } }); }
};

/** Web Locks as far as the link asks for them (https://w3c.github.io/web-locks/), among the tabs of this device. */
class Locks {
  #held = null;
  #queue = [];
  request(name, { signal, steal = false }, work) {
    return new Promise((resolve, reject) => {
      const one = { work, resolve, reject, stolen: false };
      signal?.addEventListener('abort', () => { if (this.#queue.includes(one)) { this.#queue = this.#queue.filter((other) => other !== one); reject(new DOMException('', 'AbortError')); } });
      if (steal && this.#held) { this.#held.stolen = true; this.#held.reject(new DOMException('', 'AbortError')); this.#held = null; }
      if (steal) this.#queue.unshift(one); else this.#queue.push(one);
      this.#next();
    });
  }
  #next() {
    if (this.#held || !this.#queue.length) return;
    const one = this.#held = this.#queue.shift();
    Promise.resolve().then(() => one.work()).then(one.resolve, one.reject).finally(() => { if (this.#held === one) { this.#held = null; this.#next(); } });
  }
}
const locks = process.argv[4] === 'no-locks' ? undefined : new Locks();
Object.defineProperty(globalThis, 'navigator', { value: { locks, onLine: true }, configurable: true });

/** Every channel of this device. @type {BroadcastChannel[]} */
const channels = [];
const Channel = globalThis.BroadcastChannel;
globalThis.BroadcastChannel = class extends Channel {
  constructor(name) { super(name); channels.push(this); }
};

let noRoom = false;
const realPut = IDBObjectStore.prototype.put;
IDBObjectStore.prototype.put = function put(...args) {
  if (noRoom && this.name === 'records') throw new DOMException('no room', 'QuotaExceededError');
  return realPut.apply(this, args);
};

const tabs = new Map();
async function tabOf(name) {
  if (!tabs.has(name)) {
    const from = (file) => import(`../../app/bench/${file}?tab=${name}`);
    const [{ methods }, { useEngine }, store, events, link, outbox] = await Promise.all(['table.js', 'engine.js', 'store.js', 'events.js', 'link.js', 'outbox.js'].map(from));
    useEngine(realEngine);
    await store.useDatabase('device');
    events.toPage(() => {});
    events.joinTabs();
    link.times.silence = 300;
    tabs.set(name, { methods, store, link, outbox });
    await link.begin();
  }
  return tabs.get(name);
}

const more = {
  /** Leaves as a closed tab does. */
  closeTab: async (tab) => { await tab.link.end(); return {}; },
  /** The tab is put to sleep: it holds its lock and hears nothing, until it is woken. Here it cannot be kept from running, so that it goes on by itself is tried as well. */
  sleep: async () => { for (const channel of channels) channel.onmessage = null; return {}; },
  /** No transaction finds any room. */
  fill: async (_, full) => { noRoom = full; return {}; },
  exported: async ({ methods }) => new Uint8Array(await (await methods.export({})).blob.arrayBuffer()),
  state: async ({ outbox }) => outbox.homeState(),
  /** As if the store had been put back: all is kept under a name that home knows already. */
  meta: async ({ store }, { key, value }) => store.write(['meta'], (tx) => tx.objectStore('meta').put(value, key)),
};

process.on('message', async ({ n, tab, method, params }) => {
  try {
    const at = await tabOf(tab);
    const ok = more[method] ? await more[method](at, params) : await at.methods[method](params);
    process.send({ n, ok });
  } catch (error) {
    process.send({ n, error: { code: error.code ?? 'unexpected', message: String(error.stack) } });
  }
});
process.on('disconnect', () => process.exit());
process.send({ ready: true });
