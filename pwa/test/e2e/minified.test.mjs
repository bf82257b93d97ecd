// The app minified and the app as it was written are the same app: every page that links lead to holds the same elements, texts and
// attributes at the same places. What the minifier may break without a word is listed in pwa/build; this is for what nobody has met yet.
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { test } from 'node:test';
import { fileURLToPath } from 'node:url';
import { parse } from 'acorn';
import { ask, words } from './app.mjs';
import { browser, browsers, folder, serve } from './harness.mjs';

const root = fileURLToPath(new URL('../../..', import.meta.url));
const enough = 60;

test('chromium: minified, every page is as it was written', { skip: !browsers.includes('chromium') && 'chromium is not among E2E_BROWSERS' }, async (t) => {
  const plain = folder(), minified = folder();
  for (const [dir, more] of [[plain, ['-raw']], [minified, []]]) execFileSync('go', ['run', './pwa/build', '-strict', '-out', dir, ...more], { cwd: root, stdio: 'pipe' });
  const [written, made] = await Promise.all([pages(t, plain), pages(t, minified)]);
  assert.ok(written.size >= 15, `only ${written.size} pages were found: ${[...written.keys()]}`);
  assert.deepEqual([...made.keys()], [...written.keys()]);
  for (const [page, lines] of written) assert.deepEqual(made.get(page), lines, `${page} is not the same when minified`);
});

/** Every node of a syntax tree, and whether it stands in a function. @param {any} tree  @param {boolean} [inside] @returns {Generator<[any, boolean]>} */
function* nodes(tree, inside = false) {
  if (!tree || typeof tree !== 'object') return;
  if (typeof tree.type === 'string') yield [tree, inside];
  for (const [key, value] of Object.entries(tree)) {
    if (key === 'property' && !tree.computed || key === 'key' && !tree.computed) continue;
    for (const one of Array.isArray(value) ? value : [value]) yield* nodes(one, inside || /Function/.test(tree.type));
  }
}

/** The names that a pattern declares. @param {any} pattern @returns {string[]} */
const declared = (pattern) => [...nodes(pattern)].flatMap(([node]) => (node.type === 'Identifier' ? [node.name] : []));

/** Names that are used, in one declaration, before they are declared in it: the minifier joins declarations, and may turn them round. @param {string} text */
function tooEarly(text) {
  const found = [];
  for (const [node] of nodes(parse(text, { ecmaVersion: 'latest', sourceType: 'module' }))) {
    if (node.type !== 'VariableDeclaration' || node.kind === 'var') continue;
    for (const [i, { init }] of node.declarations.entries()) {
      const later = new Set(node.declarations.slice(i + 1).flatMap((/** @type {any} */ one) => declared(one.id)));
      for (const [used, inside] of nodes(init)) if (!inside && used.type === 'Identifier' && later.has(used.name)) found.push(used.name);
    }
  }
  return found;
}

test('minified, nothing is used before it is declared', () => {
  assert.deepEqual(tooEarly('const {c} = f(a), a = 1;'), ['a']);
  assert.deepEqual(tooEarly('const a = 1, c = f(() => b, {b: a}, a.b), b = 2;'), []);
  const dir = folder();
  execFileSync('go', ['run', './pwa/build', '-strict', '-out', dir], { cwd: root, stdio: 'pipe' });
  const files = readdirSync(dir, { recursive: true }).map(String).filter((name) => name.endsWith('.js') && !name.includes('lib/'));
  assert.ok(files.length > 40, `${files.length} files`);
  const found = files.flatMap((name) => tooEarly(readFileSync(join(dir, name), 'utf8')).map((used) => `${name}: ${used}`));
  assert.deepEqual(found, [], 'the minifier turned declarations round: write the one that is used apart from the one that takes things out of an object');
});

/** Every page of a build that links lead to, from an app with the demo in it. @param {import('node:test').TestContext} t  @param {string} dir */
async function pages(t, dir) {
  const [server, window] = await Promise.all([serve(dir), browser('chromium')]);
  t.after(() => Promise.all([window.close(), server.stop()]));
  const person = await window.open(server.url);
  await person.see({ css: 'h1', text: words.projects.title });
  await ask(person, 'addDemo', {});
  await ask(person, 'setting', { name: 'cautioned', value: true });
  const ids = new Map();
  /** Random names become their number, in the order in which they are met. @param {string} text */
  const steady = (text) => text.replaceAll(/%[0-9A-F]{2}/g, decodeURIComponent).replace(/\b[a-z2-7]{16}\b/g, (id) => { if (!ids.has(id)) ids.set(id, `id${ids.size}`); return ids.get(id); });
  /** Pages of one shape are one page, but for those that show a whole animal. @param {string} href */
  const shape = (href) => (/^#\/(project|piece)\//.test(href) ? href : href.replace(/id\d+/g, 'ID').replace(/back=.*/, 'back'));
  const seen = new Map();
  const waiting = ['#/'];
  while (waiting.length && seen.size < enough) {
    const href = /** @type {string} */ (waiting.shift());
    const page = shape(steady(href));
    if (seen.has(page)) continue;
    await person.driver.get('about:blank'); // so that what is seen next is not the page before
    await person.driver.get(server.url + href);
    await person.until(() => person.js("return document.querySelector('main h1') !== null"), `${page} to open`);
    await ask(person, 'engine', { method: 'sight', request: { whole: 1 } }); // answered after what the page itself asked
    const { lines, links } = await person.later(look);
    seen.set(page, lines.map(steady));
    waiting.push(...links);
  }
  assert.deepEqual(await person.faults(), []);
  return seen;
}

/** Waits until the page is still, and writes down every element. Hashes in names, hours and amounts of storage may differ. */
const look = `
  const write = () => [...document.body.querySelectorAll('*')].map((e) => {
    const box = e.getBoundingClientRect();
    const own = [...e.childNodes].filter((n) => n.nodeType === 3).map((n) => n.data.trim().replace(/\\s+/g, ' ')).join('|');
    const attributes = [...e.attributes].map((a) => a.name + '=' + a.value).join(' ');
    return [e.localName, attributes, own, [box.x, box.y + scrollY, box.width, box.height].map(Math.round)].join(' ~ ')
      .replace(/\\.[0-9a-f]{10}\\./g, '.').replace(/blob:[^ ]*/, 'blob').replace(/\\b\\d\\d?:\\d\\d\\b/g, 'HH:MM').replace(/\\d+([.,]\\d+)?.?(byte|bytes|B|kB|KB|MB|GB)\\b/g, 'SIZE').replace(/#lit[^#]*#|lit\\$\\d+\\$/g, 'LIT');
  });
  let lines = [], same = 0;
  for (let i = 0; i < 200 && same < 4; i++) {
    await new Promise((done) => { setTimeout(done, 50); });
    const now = write();
    same = document.querySelector('main h1') && now.join() === lines.join() ? same + 1 : 0;
    lines = now;
  }
  if (same < 4) throw new Error(location.href + ' never came to rest');
  return { lines, links: [...document.querySelectorAll('a[href^="#/"]')].map((a) => a.getAttribute('href')) };
`;
