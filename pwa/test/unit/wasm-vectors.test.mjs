// The engine as the phone has it: built to WebAssembly, loaded with the toolchain's own glue, and held byte by byte against the
// same door built natively. What a vector should answer is in the vector; here it is only told once more.
import assert from 'node:assert/strict';
import { execFile, execFileSync, spawn } from 'node:child_process';
import { createHash } from 'node:crypto';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { promisify } from 'node:util';
import { brotliCompressSync, constants, gzipSync } from 'node:zlib';

const root = new URL('../../../', import.meta.url).pathname;
const door = './pwa/engine/wasm';
// As pwa/build compiles it.
const wasmFlags = ['-trimpath', '-buildvcs=false', '-ldflags=-s -w', '-gcflags=encoding/json=-l', '-gcflags=fmt=-l', '-gcflags=reflect=-l'];
const js = { ...process.env, GOOS: 'js', GOARCH: 'wasm' };
// Of the 1.3 MB that a first visit may take in all, and of what a phone gives a page. Go's runtime with JSON alone takes 685,000.
// It was 900,000 before lengths on photos came: they take 37,000, of which 28,000 were saved elsewhere.
const budget = { brotli: 910_000, memory: 8 * 1024 * 1024 };
const dir = mkdtempSync(join(tmpdir(), 'needlesight-wasm-'));
after(() => rmSync(dir, { recursive: true, force: true }));

/** @type {Buffer} */ let wasm;
/** @type {WebAssembly.Instance} */ let instance;
let memoryAtStart = 0;

before(async () => {
  const goroot = execFileSync('go', ['env', 'GOROOT'], { encoding: 'utf8' }).trim();
  execFileSync('go', ['build', ...wasmFlags, '-o', join(dir, 'engine.wasm'), door], { cwd: root, env: js });
  execFileSync('go', ['build', '-o', join(dir, 'native'), door], { cwd: root });
  createRequire(import.meta.url)(join(goroot, 'lib/wasm/wasm_exec.js'));
  wasm = readFileSync(join(dir, 'engine.wasm'));
  const go = new globalThis.Go();
  go.exit = (code) => { throw new Error(`the engine ended with ${code}`); };
  ({ instance } = await WebAssembly.instantiate(wasm, go.importObject));
  memoryAtStart = instance.exports.mem.buffer.byteLength;
  go.run(instance);
});

/** @param {Buffer} file */
const packed = (file) => brotliCompressSync(file, { params: { [constants.BROTLI_PARAM_QUALITY]: 11, [constants.BROTLI_PARAM_LGWIN]: 24, [constants.BROTLI_PARAM_SIZE_HINT]: file.length } }).length;

/** @param {string} method  @param {string} request */
const call = (method, request) => globalThis.needlesight.call(method, request);

/** What the native door answers to each call. @param {[string, string][]} calls @returns {Promise<string[]>} */
function natively(calls) {
  return new Promise((resolve, reject) => {
    const child = spawn(join(dir, 'native'), ['lines'], { stdio: ['pipe', 'pipe', 'inherit'] });
    /** @type {Buffer[]} */
    const parts = [];
    child.stdout.on('data', (part) => parts.push(part));
    child.on('error', reject);
    child.on('close', (code) => code === 0 ? resolve(Buffer.concat(parts).toString().split('\n').slice(0, -1)) : reject(new Error(`the native door ended with ${code}`)));
    child.stdin.end(calls.map((one) => JSON.stringify(one)).join('\n'));
  });
}

/** @param {string} file */
const vectors = (file) => JSON.parse(readFileSync(join(root, file), 'utf8'));

/** Calls both doors, and wants the same bytes of each. @param {[string, string][]} calls */
async function bothDoors(calls) {
  const native = await natively(calls);
  assert.equal(native.length, calls.length);
  return calls.map(([method, request], i) => {
    const answer = call(method, request);
    assert.equal(answer, native[i], `${method} ${request.slice(0, 300)}`);
    return answer;
  });
}

for (const file of ['pwa/engine/testdata/vectors.json', 'pwa/engine/wasm/testdata/vectors.json']) {
  test(`${file}: the same answers in wasm, natively and as told`, async () => {
    const list = vectors(file);
    assert.ok(list.length > 0);
    const answers = await bothDoors(list.map((one) => [one.method, JSON.stringify(one.request)]));
    for (const [i, { method, request, response, error }] of list.entries()) {
      assert.deepEqual(JSON.parse(answers[i]), error ? { error } : response, `${method} ${JSON.stringify(request)}`);
    }
  });
}

test('every request cut off at any place, or with a byte changed, is answered or refused alike', async () => {
  const calls = [];
  for (const { method, request } of [...vectors('pwa/engine/testdata/vectors.json').slice(0, 400), ...vectors('pwa/engine/wasm/testdata/vectors.json')]) {
    const text = JSON.stringify(request);
    for (const at of [1, text.length >> 2, text.length >> 1, text.length - 1]) {
      calls.push([method, text.slice(0, at)], [method, `${text.slice(0, at)}9${text.slice(at + 1)}`]);
    }
  }
  for (const answer of await bothDoors(calls)) JSON.parse(answer);
});

test('garbage is refused, never thrown', async () => {
  const list = '['.repeat(100_000);
  const requests = ['', ' ', 'null', '{}', '[]', '0', '"x"', 'undefined', '{', '{"changes":null}', '{"changes":{}}', '{"changes":[null]}', '{"__proto__":{}}', '\u0000', '\ud800', '"\\ud800"', '🦦', '1e999', list,
    `{"changes":${list}`, `{"changes":[${'{"a":'.repeat(9000)}1${'}'.repeat(9000)}]}`, 'x'.repeat(5 << 20)];
  const methods = ['merge', 'check-changes', 'compare', 'proportions', 'sight', 'parse-length', 'ratio', '', 'MERGE', '__proto__', 'constructor', '\u0000', 'x'.repeat(10_000)];
  const answers = await bothDoors(methods.flatMap((method) => requests.map((request) => /** @type {[string, string]} */ ([method, request]))));
  for (const answer of answers) {
    const told = JSON.parse(answer);
    if (!told.error) continue;
    assert.deepEqual(Object.keys(told.error), ['code', 'text', 'at']);
    assert.match(told.error.code, /^[a-z]+(-[a-z]+)*$/);
    assert.notEqual(told.error.code, 'engine-crashed');
    assert.ok(told.error.text.length > 0 && told.error.text.length < 1000, told.error.text);
  }
});

test('a call with anything but two texts is refused', () => {
  const door = globalThis.needlesight;
  for (const args of [[], ['merge'], ['merge', {}], [1, 2], [null, null], [undefined, '{}'], ['merge', '{}', 1], [Symbol('merge'), '{}'], [new String('merge'), '{}'], [() => {}, [1]]]) {
    assert.equal(JSON.parse(door.call(...args)).error.code, 'wrong-type');
  }
  assert.equal(call('merge', '{"changes":[]}'), '{"fields":[]}', 'and the door is still open');
});

test('the end of the sync refuses what is not an event of it, and never throws', () => {
  const { peer } = globalThis.needlesight;
  for (const args of [[], ['{}'], [{}, '', null], ['{}', 1, null], [null, null, null], ['{}', '', null, 1]]) assert.equal(JSON.parse(peer(...args)[0]).error.code, 'wrong-type');
  for (const [event, rows, frame, code] of [['', '', null, 'changes-not-json'], ['[', '', null, 'changes-not-json'], ['{"do":"dance"}', '', null, 'unknown-method'], ['x'.repeat(1 << 20), '', {}, 'changes-not-json'], ['{"do":"tick","now":1e999}', '', null, 'changes-not-json']]) {
    assert.equal(JSON.parse(peer(event, rows, frame)[0]).error.code, code);
  }
  assert.deepEqual(peer('{"do":"tick","now":1}', '', null), ['{"gone":true}']);
  assert.equal(JSON.parse(peer('{"do":"start","now":1,"device":"otterotterotter2"}', '', null)[0]).status.phase, 'apart');
  const dials = JSON.parse(peer('{"do":"tick","now":2}', '', null)[0]);
  assert.equal(dials.dial, 1);
  const [, hello] = peer('{"do":"connected","now":3,"conn":1}', '', null);
  assert.ok(hello instanceof Uint8Array && hello[0] === 1);
  const [out, bye] = peer('{"do":"frame","now":4,"conn":1}', '', new Uint8Array([99, 1, 2]));
  assert.deepEqual([JSON.parse(out).close, bye[0]], [true, 9]);
});

test('a crash in a call is told and the door stays open, as wasm too', async () => {
  const goroot = execFileSync('go', ['env', 'GOROOT'], { encoding: 'utf8' }).trim();
  const { stdout } = await promisify(execFile)('go', ['test', '-count=1', '-run=TestCrashIsTold', '-v', `-exec=${join(goroot, 'lib/wasm/go_js_wasm_exec')}`, door], { cwd: root, env: js });
  assert.match(stdout, /--- PASS: TestCrashIsTold/);
});

test('a file of twenty thousand changes is checked in a few seconds and little memory', (t) => {
  const letters = 'abcdefghijklmnopqrstuvwxyz234567';
  const id = (/** @type {number} */ n) => [15, 10, 5, 0].reduce((text, shift) => text + letters[(n >> shift) & 31], 'aaaaaaaaaaaa');
  const fact = { sitting: id(1), part: id(2), place: null, value: 3.25, denominator: 4, typed: null };
  const changes = Array.from({ length: 20_000 }, (_, n) => ({ kind: 'reading', id: id(n), field: 'fact', value: fact, stamp: [n + 1, id(0)], base: null }));
  const file = JSON.stringify({ format: 'needlesight-changes', version: 1, made: '2026-11-25T10:00', changes });
  const start = performance.now();
  assert.equal(call('check-changes', file), '{"count":20000}');
  const seconds = (performance.now() - start) / 1000;
  const memory = instance.exports.mem.buffer.byteLength;
  t.diagnostic(`${(file.length / 1e6).toFixed(1)} MB checked in ${seconds.toFixed(1)} s, memory then ${(memory / 2 ** 20).toFixed(0)} MiB`);
  assert.ok(seconds < 30, `${seconds} s`);
  assert.ok(memory < 512 * 2 ** 20, `${memory} bytes`);
});

test('it is small enough for a phone', (t) => {
  const brotli = packed(wasm);
  t.diagnostic(`engine.wasm: ${wasm.length} bytes, gzip -9 ${gzipSync(wasm, { level: 9 }).length}, brotli 11 ${brotli}; memory at the start ${memoryAtStart} bytes`);
  assert.ok(memoryAtStart > 0 && memoryAtStart < budget.memory, `${memoryAtStart} bytes of memory before anything is asked; at most ${budget.memory}`);
  assert.ok(brotli <= budget.brotli, `${brotli} bytes with brotli; at most ${budget.brotli}`);
});

// The second half, which looks at pictures.
// Fetched after the app is installed. It was 1,540,000 with the sheet's fonts, 190,000, and its PDF library.
const pictureBudget = { brotli: 1_650_000, memory: 16 * 1024 * 1024 };
const beside = 'pwa/engine/pictures/testdata';
/** @type {Promise<{wasm: Buffer, memory: number, call: (method: string, request: string, pictures: Record<string, any>) => [string, Uint8Array | null]}>} */
let second;
const pictures = () => second ??= (async () => {
  execFileSync('go', ['build', ...wasmFlags, '-o', join(dir, 'pictures.wasm'), `${door}/pictures`], { cwd: root, env: js });
  execFileSync('go', ['build', '-o', join(dir, 'native-pictures'), `${door}/pictures`], { cwd: root });
  const file = readFileSync(join(dir, 'pictures.wasm'));
  const go = new globalThis.Go();
  go.exit = (code) => { throw new Error(`the pictures' engine ended with ${code}`); };
  const { instance: its } = await WebAssembly.instantiate(file, go.importObject);
  const memory = its.exports.mem.buffer.byteLength;
  go.run(its);
  return { wasm: file, memory, call: globalThis.needlesightPictures.call };
})();

test('pictures: the same answers and files in wasm, natively and as told', async () => {
  const { call: look } = await pictures();
  const list = vectors(`${beside}/vectors.json`);
  assert.ok(list.length > 10);
  const given = list.map((one) => Object.fromEntries(Object.entries(one.pictures ?? {}).map(([name, file]) => [name, readFileSync(join(root, beside, file))])));
  const input = list.map((one, i) => JSON.stringify([one.method, JSON.stringify(one.request), Object.fromEntries(Object.entries(given[i]).map(([name, file]) => [name, { file: file.toString('base64') }]))])).join('\n');
  const native = execFileSync(join(dir, 'native-pictures'), ['lines'], { input, encoding: 'utf8', maxBuffer: 1 << 28 }).split('\n').slice(0, -1).map((line) => JSON.parse(line));
  assert.equal(native.length, list.length);
  for (const [i, { method, request, response, error, file }] of list.entries()) {
    const [text, bytes] = look(method, JSON.stringify(request), Object.fromEntries(Object.entries(given[i]).map(([name, one]) => [name, { file: new Uint8Array(one), type: 'image/png' }])));
    assert.equal(text, native[i][0], `${method} ${JSON.stringify(request)}`);
    assert.deepEqual(JSON.parse(text), error ? { error } : response, `${method} ${JSON.stringify(request)}`);
    assert.equal(bytes === null ? null : Buffer.from(bytes).toString('base64'), native[i][1], method);
    assert.equal(bytes === null ? undefined : createHash('sha256').update(bytes).digest('hex'), file, method);
  }
});

test('pictures: pixels are taken as they are, and whatever is no picture is refused, never thrown', async () => {
  const { call: look } = await pictures();
  const request = '{"image":"a"}';
  const code = (/** @type {any[]} */ ...args) => { const [text, bytes] = look(...args); assert.equal(bytes, null); return JSON.parse(text).error?.code; };
  assert.equal(code('find-rectangle', request, { a: { width: 2, height: 2, rgba: new Uint8ClampedArray(16) } }), 'no-card-found');
  for (const [a, want] of [
    [undefined, 'picture-missing'], [null, 'picture-missing'], [3, 'picture-missing'], [{}, 'picture-not-read'],
    [{ width: 2, height: 2, rgba: new Uint8Array(15) }, 'picture-not-read'], [{ width: 2, height: 2, rgba: 'text' }, 'picture-not-read'], [{ width: 2.5, height: 2, rgba: new Uint8Array(20) }, 'picture-not-read'],
    [{ width: -2, height: NaN, rgba: new Uint8Array(16) }, 'picture-not-read'], [{ width: 30000, height: 1, rgba: new Uint8Array(120000) }, 'picture-too-big'], [{ width: 1e300, height: '2', rgba: null }, 'picture-not-read'],
    [{ file: new Uint8Array(0) }, 'picture-not-read'], [{ file: new TextEncoder().encode('wool') }, 'picture-not-read'],
  ]) assert.equal(code('find-rectangle', request, { a }), want);
  for (const args of [[], ['find-rectangle', request], [1, 2, 3], ['find-rectangle', request, null], ['find-rectangle', request, 'a'], [Symbol('x'), request, {}]]) assert.equal(code(...args), 'wrong-type');
  assert.equal(code('find-rectangle', request, Object.create({ a: {} })), 'picture-missing');
  assert.equal(code('sight', '{}', {}), 'unknown-method');
});

test('pictures: it is small enough to come after the first visit', async (t) => {
  const { wasm: file, memory } = await pictures();
  const brotli = packed(file);
  t.diagnostic(`pictures.wasm: ${file.length} bytes, brotli 11 ${brotli}; memory at the start ${memory} bytes`);
  assert.ok(memory > 0 && memory < pictureBudget.memory, `${memory} bytes of memory before anything is asked; at most ${pictureBudget.memory}`);
  assert.ok(brotli <= pictureBudget.brotli, `${brotli} bytes with brotli; at most ${pictureBudget.brotli}`);
});
