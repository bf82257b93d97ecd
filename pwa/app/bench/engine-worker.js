// Holds the engine: a worker of its own, so that a count that is being kept never waits for a sum, and so that an engine
// that hangs can be ended from outside.
import '../lib/wasm_exec.js';

/** @typedef {{call: (method: string, request: string) => string, peer: (event: string, rows: string, frame: Uint8Array | null) => [string, ...Uint8Array[]]}} Door */

const scope = /** @type {any} */ (globalThis);

async function load() {
  const go = new scope.Go();
  const url = new URL('../engine.wasm', import.meta.url);
  const { instance } = await instantiate(url, go.importObject);
  // The engine runs until it dies; then the host is told, and starts another.
  go.run(instance).then(() => scope.postMessage({ event: 'ended' }), (/** @type {unknown} */ error) => scope.postMessage({ event: 'ended', text: String(error) }));
  if (!scope.needlesight) throw new Error('the engine started but opened no door');
}

/** @param {URL} url  @param {WebAssembly.Imports} imports */
async function instantiate(url, imports) {
  const answer = await fetch(url);
  if (!answer.ok) throw new Error(`the engine's file answered ${answer.status}`);
  // A server that gives it another type (or an old browser) still works, only later.
  if (WebAssembly.instantiateStreaming && answer.headers.get('content-type')?.startsWith('application/wasm')) return WebAssembly.instantiateStreaming(answer, imports);
  return WebAssembly.instantiate(await answer.arrayBuffer(), imports);
}

const ready = load();
ready.then(() => scope.postMessage({ event: 'ready' }), (error) => scope.postMessage({ event: 'failed', text: String(error?.message ?? error) }));

scope.onmessage = async (/** @type {MessageEvent<{n: number, method: string, request: string, link?: {rows: string, frame: Uint8Array | null}}>} */ { data: { n, method, request, link } }) => {
  await ready;
  try {
    const door = /** @type {Door} */ (scope.needlesight);
    if (!link) { scope.postMessage({ n, response: door.call(method, request) }); return; }
    const [response, ...frames] = door.peer(request, link.rows, link.frame);
    scope.postMessage({ n, response, frames }, frames.map((frame) => frame.buffer));
  } catch (error) {
    // Only an engine that no longer runs throws; what it refuses is an answer.
    scope.postMessage({ event: 'ended', text: String(error) });
  }
};
