// Runs a program of the engine in this worker: it opens its door in the global scope, and lives until it dies. Then the host is told, and
// starts another worker.
import '../lib/wasm_exec.js';

const scope = /** @type {any} */ (globalThis);

/** @param {URL} url  @param {string} door what it puts into the global scope */
export async function load(url, door) {
  const go = new scope.Go();
  const { instance } = await instantiate(url, go.importObject);
  go.run(instance).then(() => scope.postMessage({ event: 'ended' }), (/** @type {unknown} */ error) => scope.postMessage({ event: 'ended', text: String(error) }));
  if (!scope[door]) throw new Error('the engine started but opened no door');
}

/** Tells the host when it is ready, or why not. @param {Promise<unknown>} ready */
export function tellWhen(ready) {
  ready.then(() => scope.postMessage({ event: 'ready' }), (error) => scope.postMessage({ event: 'failed', text: String(error?.message ?? error) }));
}

/** @param {URL} url  @param {WebAssembly.Imports} imports */
async function instantiate(url, imports) {
  const answer = await fetch(url);
  if (!answer.ok) throw new Error(`the engine's file answered ${answer.status}`);
  // A server that gives it another type (or an old browser) still works, only later.
  if (WebAssembly.instantiateStreaming && answer.headers.get('content-type')?.startsWith('application/wasm')) return WebAssembly.instantiateStreaming(answer, imports);
  return WebAssembly.instantiate(await answer.arrayBuffer(), imports);
}
