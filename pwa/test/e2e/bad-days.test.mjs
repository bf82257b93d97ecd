// Bad days: each gets a clear sentence, and nothing that was entered is lost.
import assert from 'node:assert/strict';
import { truncateSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, test } from 'node:test';
import { strFromU8, strToU8, unzipSync, zipSync } from 'fflate';
import { sentences } from '../../app/words.js';
import * as app from './app.mjs';
import { words } from './app.mjs';
import { cdp } from './cdp.mjs';
import { browser, browsers, folder, serve } from './harness.mjs';

// Both browsers at once: each has a core to itself.
describe('bad days', { concurrency: true }, () => {
  for (const kind of browsers) test(kind, async (t) => {
    const [server, window] = await Promise.all([serve(), browser(kind)]);
    t.after(() => Promise.all([window.close(), server.stop()]));
    const person = await window.open(`${server.url}manifest.webmanifest`);
    if (kind === 'chromium') await person.cdp('Storage.overrideQuotaForOrigin', { origin: new URL(server.url).origin, quotaSize: room });
    await person.driver.get(server.url);
    await person.see({ css: 'h1', text: words.projects.title });
    await app.ask(person, 'setting', { name: 'cautioned', value: true });
    const { otter } = await app.ask(person, 'addDemo');

    await t.test('numbers that cannot be are refused in a sentence, and what was typed stays', () => nonsense(person, otter));
    await t.test('markup typed as a name is shown as it was typed, and never run', () => markup(person));
    await t.test('two tabs at once: no stamp twice, and each sees what the other did', () => twoTabs(person, server.url, otter));
    await t.test('files that are not ours, cut off, damaged, too new or huge: a sentence each, and nothing is taken in', () => files(person));
    // WebKit's driver has no way to a worker or to the quota; what the bench does then is tested without a browser in test/unit.
    if (kind === 'chromium') {
      await t.test('the engine crashes: it is started again and the question asked again', () => engineCrash(person, otter));
      await t.test('the engine hangs: it is ended, and the question asked again', () => engineHang(person, otter));
      await t.test('the bench dies: it is started again, and all is there', () => benchDeath(person, otter));
      await t.test('the phone is full: it is said, the count stays under the thumb, and is kept once there is room', () => full(person, server.url, otter));
    }
    assert.deepEqual((await person.faults()).filter((fault) => !/meant by the test/.test(fault)), []);
  });
});

/** @param {import('./person.mjs').Person} person  @param {string} project */
async function nonsense(person, project) {
  await person.to(`#/ruler?project=${project}&of=subject`);
  await person.see('[data-testid=typed]');
  const before = await app.part(person);
  await person.tap(app.keep);
  await person.reads(words.ruler.nothing_yet);
  await app.keyIn(person, '0');
  await person.tap(app.keep);
  await person.reads(/Type|more than|nothing/);
  assert.equal(await app.part(person), before, 'a length of nothing is not kept');
  await person.tap('[data-key=back]');
  await person.tap({ css: '.keypad button', text: words.ruler.units.in });
  await app.keyIn(person, '999999');
  await person.tap(app.keep);
  await person.see('.wrong');
  assert.match((await person.see('[data-testid=typed]')), /999999/);
  assert.equal(await app.part(person), before, 'twenty-five kilometres are not kept');

  await person.to(`#/count?project=${project}&of=subject&unit=${(await app.ask(person, 'view', { name: 'project', id: project })).unit}`);
  await person.see('h1');
  if ((await person.see('h1')) === words.pad.choose) await person.tap('[data-testid=start]');
  await person.tap(app.keep);
  await person.reads(words.pad.nothing_yet);
  await person.tap({ css: '.note button', text: words.close });

  await person.to('#/new');
  await person.type('input[name=size]', '-5 cm');
  await person.tap('[data-testid=start]');
  await person.see({ css: '.wrong', text: /\w/ });
  assert.equal(await person.js('return document.querySelector("input[name=size]").value'), '-5 cm');
  await app.ask(person, 'draft', { key: 'new', value: null });
}

/** @param {import('./person.mjs').Person} person */
async function markup(person) {
  const name = '<img src=x onerror=alert(1)><b>Fox</b> ${7*7} &amp;';
  await person.to('#/');
  await person.see({ css: 'h1', text: words.projects.title });
  await person.to('#/new');
  await person.type('input[name=name]', name);
  await person.tap('[data-testid=start]');
  await person.see({ css: 'h1', text: name });
  await person.tap({ css: 'button', text: words.project.rename });
  assert.equal(await person.js('return document.querySelector("dialog input[name=name]").value'), name);
  await person.tap({ css: 'dialog button', text: words.cancel });
  await person.tap({ css: 'button', text: words.project.bin });
  await person.reads(words.project.binned(name));
  await person.to('#/bin');
  await person.see({ css: 'main b', text: name });
  assert.equal(await person.js('return document.querySelectorAll("main img, main b b").length'), 0);
}

/** @param {import('./person.mjs').Person} person  @param {string} url  @param {string} project */
async function twoTabs(person, url, project) {
  const [first] = await person.driver.getAllWindowHandles();
  const { name } = await app.ask(person, 'view', { name: 'project', id: project });
  await person.to(`#/project/${project}`);
  await person.see({ css: 'h1', text: name });
  await person.driver.switchTo().newWindow('tab');
  await person.driver.get(`${url}#/project/${project}`);
  await person.see({ css: 'h1', text: name });
  const second = await person.driver.getWindowHandle();

  // Both write at once, forty times each, without waiting for one another.
  const seen = await app.ask(person, 'view', { name: 'project', id: project });
  const { id: sitting } = await app.ask(person, 'startSitting', { project, method: 'sight', unit: seen.unit, view: 'side', denominator: 4 });
  const write = `const [module, sitting, part, from] = arguments; window.written = import(module).then(({ ask }) => Promise.all(Array.from({ length: 40 }, (_, i) => ask('keepReading', { sitting, part, value: from + i / 4, denominator: 4 }))))`;
  const module = await app.bench(person);
  const part = seen.parts[1].id;
  await person.js(write.replace('window.written', 'window.written = null; window.written'), module, sitting, part, 1);
  await person.driver.switchTo().window(first);
  await person.js(write, module, sitting, part, 20);
  await person.later('await window.written');
  await person.driver.switchTo().window(second);
  await person.later('await window.written');
  const { changes } = await exported(person);
  const stamps = changes.map((change) => change.stamp.join(' '));
  assert.equal(new Set(stamps).size, stamps.length, 'no stamp is given twice');
  assert.equal(changes.filter((change) => change.kind === 'reading' && change.value?.sitting === sitting).length, 80);

  // A new name given in one tab is seen in the other, by itself.
  await person.tap({ css: 'button', text: words.project.rename });
  await person.type('dialog input[name=name]', 'River otter');
  await person.tap({ css: 'dialog button', text: words.keep });
  await person.see({ css: 'h1', text: 'River otter' });
  await person.driver.close();
  await person.driver.switchTo().window(first);
  await person.see({ css: 'h1', text: 'River otter' });
}

/** Everything in the store, as the app's own file has it. @param {import('./person.mjs').Person} person @returns {Promise<{changes: any[]}>} */
async function exported(person) {
  const base64 = await person.later(`const { ask } = await import(args[0]); const { blob } = await ask('export', {}); const bytes = new Uint8Array(await blob.arrayBuffer()); let text = ''; for (const byte of bytes) text += String.fromCharCode(byte); return btoa(text);`, await app.bench(person));
  return JSON.parse(strFromU8(unzipSync(new Uint8Array(Buffer.from(base64, 'base64')))['changes.json']));
}

/** @param {import('./person.mjs').Person} person */
async function files(person) {
  const at = folder();
  const ours = await exported(person);
  const text = JSON.stringify(ours);
  const zip = zipSync({ 'changes.json': strToU8(text) });
  const damaged = zipSync({ 'changes.json': strToU8(text), SHA256SUMS: strToU8(`${'0'.repeat(64)}  changes.json\n`) });
  /** @type {[name: string, content: string | Uint8Array, code: string][]} */
  const bad = [
    ['empty.zip', '', 'file-empty'],
    ['notes.txt', 'Dear diary, today I felted an otter.', 'file-not-ours'],
    ['noise.bin', Uint8Array.from({ length: 5000 }, (_, i) => (i * 197 + 31) % 256), 'file-not-ours'],
    ['other.json', '{"format":"something-else","version":1,"rows":[]}', 'file-not-ours'],
    ['other.zip', zipSync({ 'word/document.xml': strToU8('<a/>') }), 'file-not-ours'],
    ['cut.zip', zip.slice(0, zip.length >> 1), 'file-cut-off'],
    ['cut.json', text.slice(0, text.length >> 1), 'file-cut-off'],
    ['damaged.zip', damaged, 'file-damaged'],
    ['newer.json', JSON.stringify({ ...ours, version: 99 }), 'file-newer'],
  ];
  const before = (await exported(person)).changes.length;
  await person.to('#/files');
  for (const [name, content, code] of bad) {
    writeFileSync(join(at, name), content);
    await choose(person, join(at, name));
    await person.reads(sentences[code].split('{text}')[0].trim());
    await person.tap({ css: '#incoming button', text: words.close });
  }
  const huge = join(at, 'huge.zip');
  writeFileSync(huge, '');
  truncateSync(huge, 200 * 1024 * 1024);
  await choose(person, huge);
  await person.reads(sentences['file-too-big']);
  await person.tap({ css: '#incoming button', text: words.close });
  // One bad change in a good file: it is named, and none of it is taken in.
  ours.changes[17] = { ...ours.changes[17], stamp: [-1, 'nobody'] };
  writeFileSync(join(at, 'bad.json'), JSON.stringify(ours));
  await choose(person, join(at, 'bad.json'));
  await person.reads(/change 1[78]/i);
  await person.tap({ css: '#incoming button', text: words.close });
  assert.equal((await exported(person)).changes.length, before);
}

/** @param {import('./person.mjs').Person} person  @param {string} path */
async function choose(person, path) {
  await person.see({ css: 'label', text: words.files.choose });
  await (await person.driver.findElement({ css: 'input[name=file]' })).sendKeys(path);
  await person.see('#incoming');
}

/** @param {import('./person.mjs').Person} person  @param {RegExp} url @param {(session: string, debug: Awaited<ReturnType<typeof cdp>>) => Promise<unknown>} does */
async function inWorker(person, url, does) {
  const debug = await cdp(await person.debuggerAddress());
  try {
    const session = await person.until(async () => debug.find('worker', url), `a worker ${url}`);
    await does(session, debug);
  } finally { debug.close(); }
}

const ofEngine = /engine-worker/;
const throws = "setTimeout(() => { throw new Error('meant by the test'); })";

/** @param {import('./person.mjs').Person} person  @param {string} project */
async function engineCrash(person, project) {
  await person.to(`#/project/${project}`);
  await person.reads(/± 0\.\d/);
  await inWorker(person, ofEngine, (session, debug) => debug.evaluate(session, `needlesight.call = () => { ${throws}; return new Promise(() => {}); }; 0`));
  await person.to('#/');
  await person.see({ css: 'h1', text: words.projects.title });
  await person.to(`#/project/${project}`);
  await person.reads(/± 0\.\d/);
}

/** @param {import('./person.mjs').Person} person  @param {string} project */
async function engineHang(person, project) {
  await inWorker(person, ofEngine, (session, debug) => debug.evaluate(session, 'needlesight.call = () => { for (;;) ; }; 0'));
  await person.to('#/');
  await person.see({ css: 'h1', text: words.projects.title });
  await person.to(`#/project/${project}`);
  // Ten seconds are the bench's patience.
  await person.reads(/± 0\.\d/, 25_000);
}

/** @param {import('./person.mjs').Person} person  @param {string} project */
async function benchDeath(person, project) {
  await inWorker(person, /\/bench\/bench\./, (session, debug) => debug.evaluate(session, `${throws}; 0`));
  await person.to('#/');
  await person.see({ css: 'h1', text: words.projects.title });
  await person.to(`#/project/${project}`);
  await person.reads(/± 0\.\d/);
}

/** The phone has no more room than this. Chromium goes by what it once knew for a while, so it is told before anything is kept. */
const room = 12e6;

/** @param {import('./person.mjs').Person} person  @param {string} url  @param {string} project */
async function full(person, url, project) {
  const seen = await app.ask(person, 'view', { name: 'project', id: project });
  await person.to(`#/count?project=${project}&of=subject&unit=${seen.unit}&part=${seen.parts[2].id}`);
  await person.see(app.pad);
  const at = await app.part(person);
  // What is fetched after the app is installed takes room, and gives it back when there is not enough: it is filled until it stays full.
  const full = await person.later(`const { ask } = await import(args[0]);
    const noise = (length) => String.fromCharCode(...crypto.getRandomValues(new Uint16Array(length)).map((v) => 0x4000 + (v & 0x3fff)));
    let n = 0;
    let code = 'never';
    for (let calm = 0; calm < 4 && n < 4000;) {
      const before = n;
      for (const length of [16000, 1000, 50]) { try { for (; n < 4000; n++) await ask('draft', { key: 'fill ' + n, value: noise(length) }); } catch (error) { code = error.code; } }
      calm = n === before ? calm + 1 : 0;
      await new Promise((done) => setTimeout(done, 500));
    }
    return code;`, await app.bench(person));
  assert.equal(full, 'store-full');
  await person.tap(app.pad, 3);
  await person.see({ css: app.figure, text: '3' });
  await person.tap(app.keep);
  await person.reads(sentences['store-full']);
  assert.equal(await app.part(person), at, 'the part is still the one being counted');
  assert.equal(await person.see(app.figure), '3', 'the count is still under the thumb');
  await person.cdp('Storage.overrideQuotaForOrigin', { origin: new URL(url).origin });
  await person.tap(app.keep);
  await person.until(async () => (await app.part(person)) !== at, 'the count to be kept once there is room');
}
