import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { test } from 'node:test';
import vm from 'node:vm';

const source = readFileSync(new URL('../../app/sw.js', import.meta.url), 'utf8');
const home = 'http://localhost:8787/';

/** A browser's side of a service worker, with a server that can lose files. */
function browser() {
  const shelves = new Map();
  const fetched = [];
  const files = new Map();
  const caches = {
    open: async (name) => {
      if (!shelves.has(name)) shelves.set(name, new Map());
      const shelf = shelves.get(name);
      return { put: async (url, got) => { shelf.set(url, got); }, match: async (url) => shelf.get(url) };
    },
    keys: async () => [...shelves.keys()], delete: async (name) => shelves.delete(name),
  };
  const hanging = new Set();
  const fetch = async (what) => {
    const url = typeof what === 'string' ? what : what.url;
    fetched.push(url);
    if (hanging.has(url)) return new Promise(() => {});
    return { ok: files.has(url), status: files.has(url) ? 200 : 404, redirected: false, text: files.get(url) };
  };
  /** A version of the worker. */
  const worker = (version, list, later = []) => {
    const on = {};
    const told = [];
    let skipped = false;
    const page = { postMessage: (data) => { told.push(JSON.stringify(data)); } };
    const self = { built: { version, files: list, later }, location: { href: `${home}sw.js` }, addEventListener: (name, run) => { on[name] = run; }, skipWaiting: () => { skipped = true; }, clients: { claim: async () => {}, matchAll: async () => [page] } };
    vm.runInNewContext(source, { self, caches, fetch, URL, Error, Promise, Set });
    const run = async (name, event = {}) => { let wait; on[name]({ ...event, waitUntil: (p) => { wait = p; }, respondWith: (p) => { wait = p; } }); return wait; };
    return { run, told, rest: () => run('message', { data: 'bring-the-rest' }), skipped: () => skipped, get: (path, mode = 'no-cors', method = 'GET') => run('fetch', { request: { url: new URL(path, home).href, mode, method } }) };
  };
  const serve = (entries) => { for (const [path, text] of Object.entries(entries)) files.set(new URL(path, home).href, text); };
  return { worker, serve, shelves, fetched, files, hanging };
}

const first = { './': 'page 1', './app.0123456789.js': 'app', './engine.aaaaaaaaaa.wasm': 'engine' };
const second = { './': 'page 2', './app.9876543210.js': 'app two', './engine.aaaaaaaaaa.wasm': 'engine' };

test('the app is installed whole, or not at all', async () => {
  const { worker, serve, shelves, files } = browser();
  serve(first);
  files.delete(`${home}engine.aaaaaaaaaa.wasm`);
  await assert.rejects(worker('1', Object.keys(first)).run('install'), /answered 404/);
  assert.equal(shelves.size, 0);
  serve(first);
  await worker('1', Object.keys(first)).run('install');
  assert.equal(shelves.get('needlesight-1').size, 3);
});

test('pages and files come from the cache, with or without what follows the address', async () => {
  const { worker, serve, fetched } = browser();
  serve(first);
  const one = worker('1', Object.keys(first));
  await one.run('install');
  fetched.length = 0;
  assert.equal((await one.get('./', 'navigate')).text, 'page 1');
  assert.equal((await one.get('./?from=home', 'navigate')).text, 'page 1');
  assert.equal((await one.get('./index.html')).text, 'page 1');
  assert.equal((await one.get('./app.0123456789.js')).text, 'app');
  assert.deepEqual(fetched, []);
  assert.equal(await one.get('./elsewhere.json'), undefined);
  assert.equal(await one.get('https://example.org/', 'navigate'), undefined);
  assert.equal(await one.get('./', 'navigate', 'POST'), undefined);
});

test('a new version waits to be asked for, copies what has not changed, and then clears the old one', async () => {
  const { worker, serve, shelves, fetched } = browser();
  serve(first);
  const one = worker('1', Object.keys(first));
  await one.run('install');
  await one.run('activate');
  serve(second);
  fetched.length = 0;
  const two = worker('2', Object.keys(second));
  await two.run('install');
  assert.deepEqual(fetched.map((url) => url.slice(home.length)).sort(), ['', 'app.9876543210.js']);
  assert.equal(two.skipped(), false);
  assert.deepEqual([...shelves.keys()], ['needlesight-1', 'needlesight-2']);
  assert.equal((await one.get('./', 'navigate')).text, 'page 1');
  await two.run('message', { data: 'something else' });
  assert.equal(two.skipped(), false);
  await two.run('message', { data: 'use-new-version' });
  assert.equal(two.skipped(), true);
  shelves.set('another app', new Map());
  await two.run('activate');
  assert.deepEqual([...shelves.keys()], ['needlesight-2', 'another app']);
  assert.equal((await two.get('./', 'navigate')).text, 'page 2');
});

test('a new version that cannot be had whole leaves the old one as it was', async () => {
  const { worker, serve, shelves } = browser();
  serve(first);
  const one = worker('1', Object.keys(first));
  await one.run('install');
  await assert.rejects(worker('2', [...Object.keys(second)]).run('install'));
  assert.deepEqual([...shelves.keys()], ['needlesight-1']);
  assert.equal((await one.get('./', 'navigate')).text, 'page 1');
});

const heavy = { './pictures.bbbbbbbbbb.wasm': 'pictures' };
const newer = { './pictures.cccccccccc.wasm': 'pictures two' };

test('the first install does not wait for the rest; a page asks for it, and is told when it is here', async () => {
  const { worker, serve, shelves, hanging } = browser();
  serve({ ...first, ...heavy });
  hanging.add(`${home}pictures.bbbbbbbbbb.wasm`);
  const one = worker('1', Object.keys(first), Object.keys(heavy));
  await one.run('install');
  await one.run('activate');
  assert.equal(shelves.get('needlesight-1').size, 3);
  hanging.clear();
  await Promise.all([one.rest(), one.rest()]);
  assert.deepEqual(one.told, ['{"event":"rest","here":true}']);
  assert.equal((await one.get('./pictures.bbbbbbbbbb.wasm')).text, 'pictures');
});

test('what could not be fetched is said, and tried again when the app is next opened', async () => {
  const { worker, serve, fetched } = browser();
  serve(first);
  const one = worker('1', Object.keys(first), Object.keys(heavy));
  await one.run('install');
  await one.rest();
  assert.deepEqual(one.told, ['{"event":"rest","here":false}']);
  assert.equal((await one.get('./pictures.bbbbbbbbbb.wasm')).status, 404, 'what is not here is asked of the network');
  serve(heavy);
  await one.rest();
  fetched.length = 0;
  await one.rest();
  assert.deepEqual(one.told.slice(1), ['{"event":"rest","here":true}', '{"event":"rest","here":true}']);
  assert.deepEqual(fetched, []);
  assert.equal((await one.get('./pictures.bbbbbbbbbb.wasm')).text, 'pictures');
});

test('an update brings its own rest with it, copies what has not changed, and comes without it rather than not at all', async () => {
  for (const [rest, served, name] of [[heavy, {}, 'the same'], [newer, newer, 'another'], [newer, {}, 'another that cannot be had']]) {
    const { worker, serve, shelves, fetched, files } = browser();
    serve({ ...first, ...heavy });
    const one = worker('1', Object.keys(first), Object.keys(heavy));
    await one.run('install');
    await one.rest();
    files.delete(`${home}pictures.bbbbbbbbbb.wasm`);
    serve({ ...second, ...served });
    fetched.length = 0;
    const two = worker('2', Object.keys(second), Object.keys(rest));
    await two.run('install');
    assert.equal((await one.get('./pictures.bbbbbbbbbb.wasm')).text, 'pictures', `${name}: the old version still has its own`);
    assert.equal(await one.get('./pictures.cccccccccc.wasm'), undefined, `${name}: and never the new one's`);
    fetched.length = 0;
    await two.run('activate');
    const whole = rest === heavy || served === newer;
    assert.equal(shelves.get('needlesight-2').size, whole ? 4 : 3, name);
    await two.rest();
    assert.deepEqual(two.told, [`{"event":"rest","here":${whole}}`], name);
    if (whole) assert.deepEqual(fetched, [], name);
    if (rest === newer) assert.equal(await two.get('./pictures.bbbbbbbbbb.wasm'), undefined, `${name}: the new version never answers with the old one's`);
  }
});

test('an update whose core cannot be had whole is none, whatever there is of the rest', async () => {
  const { worker, serve, shelves } = browser();
  serve({ ...first, ...heavy });
  const one = worker('1', Object.keys(first), Object.keys(heavy));
  await one.run('install');
  await one.rest();
  serve(newer);
  await assert.rejects(worker('2', Object.keys(second), Object.keys(newer)).run('install'));
  assert.deepEqual([...shelves.keys()], ['needlesight-1']);
  assert.equal(shelves.get('needlesight-1').size, 4);
});
