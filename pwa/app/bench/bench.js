// The bench: the worker that owns the store and the engine. The page sends {n, method, params} and gets {n, ok} or {n, error};
// what it is told without asking comes as {event, data}.
import { Trouble, plain } from './codes.js';
import { start } from './engine.js';
import { emit, joinTabs, toPage } from './events.js';
import { onStoreEvent } from './store.js';
import { methods } from './table.js';
import { isPaired, onWoke } from './wake.js';

/** Begins to bring things home, if there is a home. */
async function bringHome() {
  try {
    if (await isPaired()) await (await import('./link.js')).begin();
  } catch (error) { console.error(error); }
}

const scope = /** @type {any} */ (globalThis);
let warmed = false;

toPage((event, data) => scope.postMessage({ event, data }));
onStoreEvent(emit);
joinTabs();
// It may have been paired in another tab since.
onWoke(({ visible }) => { if (visible && warmed) bringHome(); });

scope.onmessage = async (/** @type {MessageEvent<{n: number, method: string, params: any}>} */ { data: { n, method, params } }) => {
  try {
    if (!Object.hasOwn(methods, method)) throw new Trouble('no-such-method', { params: { method } });
    const ok = await methods[/** @type {keyof typeof methods} */ (method)](params ?? {});
    const bytes = /** @type {any} */ (ok)?.bytes;
    scope.postMessage({ n, ok }, bytes instanceof Uint8Array ? [bytes.buffer] : []);
  } catch (error) {
    scope.postMessage({ n, error: plain(error) });
  }
  if (method === 'view' && !warmed) {
    // The first thing has been shown; the engine comes while it is looked at.
    warmed = true;
    setTimeout(() => { start().ready.catch((error) => emit('trouble', plain(error instanceof Trouble ? error : new Trouble('engine-stopped')))); }, 150);
    setTimeout(bringHome, 400);
    setTimeout(() => { import('./pictures-store.js').then(({ tidy }) => tidy()).catch((error) => console.error(error)); }, 20_000);
  }
};
