// Holds the engine: a worker of its own, so that a count that is being kept never waits for a sum, and so that an engine
// that hangs can be ended from outside.
import { load, tellWhen } from './wasm.js';

/** @typedef {{call: (method: string, request: string) => string, peer: (event: string, rows: string, frame: Uint8Array | null) => [string, ...Uint8Array[]]}} Door */

const scope = /** @type {any} */ (globalThis);
const ready = load(new URL('../engine.wasm', import.meta.url), 'needlesight');
tellWhen(ready);

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
