// A bench as a page would have it, each on a database of its own, and the engine as it is built.
import './libs.mjs';
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import vm from 'node:vm';

const { toPage } = await import('../../app/bench/events.js');
const store = await import('../../app/bench/store.js');
const { useEngine } = await import('../../app/bench/engine.js');
export const { methods } = await import('../../app/bench/table.js');
export { store, useEngine };

/** What the page was told. */
export const told = [];
toPage((event, data) => told.push({ event, data }));

let n = 0;
/** A new, empty store. */
export async function freshStore() {
  await store.useDatabase(`test-${process.pid}-${++n}`);
  told.length = 0;
}

/** Everything in the store. */
export async function everything() {
  return store.read(['records', 'changes', 'outbox', 'meta', 'drafts'], async (tx) => ({
    records: await tx.objectStore('records').getAll(),
    // Every change: what the fields say now, and what they said before.
    changes: [
      ...(await tx.objectStore('records').getAll()).flatMap(({ kind, id, fields }) => Object.entries(fields).map(([field, [value, [counter, device], base]]) => ({ kind, id, field, counter, device, value, base }))),
      ...(await tx.objectStore('changes').getAll()).flatMap(({ kind, id, list }) => list.map(([field, counter, device, value, base]) => ({ kind, id, field, counter, device, value, base }))),
    ].sort((a, b) => (a.kind < b.kind ? -1 : a.kind > b.kind ? 1 : a.id < b.id ? -1 : a.id > b.id ? 1 : a.field < b.field ? -1 : a.field > b.field ? 1 : a.counter - b.counter)),
    outbox: (await tx.objectStore('outbox').getAll()).flatMap(({ n, changes }) => changes.map((change, i) => [n + i, ...change])),
    row: await tx.objectStore('meta').get('row') ?? 0, waiting: await tx.objectStore('meta').get('waiting') ?? 0,
    counter: await tx.objectStore('meta').get('counter'), device: await tx.objectStore('meta').get('device'), drafts: await tx.objectStore('drafts').getAllKeys(),
  }));
}

export const view = (name, params = {}) => methods.view({ ...params, name });

/** Runs what must fail, and gives its error. */
export async function refused(run) {
  try { await run(); } catch (error) { return error; }
  throw new Error('it was not refused');
}

/** The engine's wasm, compiled from the sources as they are, or as a test that starts this process has compiled them. */
function compileEngine() {
  if (process.env.NEEDLESIGHT_ENGINE) return new WebAssembly.Module(readFileSync(process.env.NEEDLESIGHT_ENGINE));
  const root = fileURLToPath(new URL('../../../', import.meta.url));
  const dir = mkdtempSync(path.join(tmpdir(), 'needlesight-'));
  try {
    const out = path.join(dir, 'engine.wasm');
    execFileSync('go', ['build', '-o', out, './pwa/engine/wasm'], { cwd: root, env: { ...process.env, GOOS: 'js', GOARCH: 'wasm' } });
    return new WebAssembly.Module(readFileSync(out));
  } finally { rmSync(dir, { recursive: true }); }
}

let compiled = null;
/** Runs the real engine in this thread, as the engine's worker does in its own. */
export function realEngine(told) {
  compiled ??= compileEngine();
  if (!globalThis.Go) {
    const root = execFileSync('go', ['env', 'GOROOT'], { encoding: 'utf8' }).trim();
    vm.runInThisContext(readFileSync(path.join(root, 'lib/wasm/wasm_exec.js'), 'utf8'));
  }
  const go = new globalThis.Go();
  let door = null;
  WebAssembly.instantiate(compiled, go.importObject).then((instance) => {
    go.run(instance);
    door = globalThis.needlesight;
    told({ event: 'ready' });
  }).catch((error) => told({ event: 'failed', text: String(error) }));
  const answer = (n, method, request, link) => {
    if (!link) return { n, response: door.call(method, request) };
    const [response, ...frames] = door.peer(request, link.rows, link.frame);
    return { n, response, frames };
  };
  return { ask: (...question) => told(answer(...question)), end: () => {} };
}
useEngine(realEngine);
