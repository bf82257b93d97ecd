// The half of the engine that looks at pictures and works out forms, as it is built from the sources, in this thread.
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import vm from 'node:vm';

const { cut } = await import('../../app/bench/pixels.js');

/** Compiles it, or takes what a test that starts this process has compiled; gives what starts it. */
export function realPictures() {
  const root = fileURLToPath(new URL('../../../', import.meta.url));
  const dir = mkdtempSync(path.join(tmpdir(), 'needlesight-'));
  const out = process.env.NEEDLESIGHT_PICTURES || path.join(dir, 'pictures.wasm');
  try {
    if (!process.env.NEEDLESIGHT_PICTURES) execFileSync('go', ['build', '-o', out, './pwa/engine/wasm/pictures'], { cwd: root, env: { ...process.env, GOOS: 'js', GOARCH: 'wasm' } });
    const compiled = new WebAssembly.Module(readFileSync(out));
    if (!globalThis.Go) vm.runInThisContext(readFileSync(path.join(execFileSync('go', ['env', 'GOROOT'], { encoding: 'utf8' }).trim(), 'lib/wasm/wasm_exec.js'), 'utf8'));
    return (told) => {
      const go = new globalThis.Go();
      let door = null;
      WebAssembly.instantiate(compiled, go.importObject).then((instance) => { go.run(instance); door = globalThis.needlesightPictures; told({ event: 'ready' }); }).catch((error) => told({ event: 'failed', text: String(error) }));
      const held = new Map();
      const ask = (n, { method, request, pictures: named, fresh }) => {
        for (const [name, picture] of Object.entries(fresh)) held.set(name, picture);
        const given = Object.fromEntries(Object.entries(named).map(([name, picture]) => [name, 'held' in picture ? (picture.crop ? cut(held.get(picture.held), picture.crop) : held.get(picture.held)) : picture]));
        const [response, bytes] = door.call(method, request, given);
        told({ n, response, bytes });
      };
      return { ask, end: () => {} };
    };
  } finally { rmSync(dir, { recursive: true }); }
}
