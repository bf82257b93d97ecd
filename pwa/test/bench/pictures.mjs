// What pictures take in Chromium: a photo of twelve megapixels taken in, the edge that follows a finger, an outline found by one tap, a sheet made.
import assert from 'node:assert/strict';
import { readFileSync, writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import * as app from '../e2e/app.mjs';
import { browser, phone, serve } from '../e2e/harness.mjs';
import { drag, drawn, lookingInstalled } from '../e2e/pictures.mjs';
import { commandLine, descendants } from '../e2e/processes.mjs';

const runs = 5;
const cow = readFileSync(fileURLToPath(new URL('../../engine/testdata/photos/cow.png', import.meta.url))).toString('base64');

/**
 * @typedef {import('../e2e/person.mjs').Person} Person  @typedef {[number, number]} Point
 * @typedef {object} Bench
 * @property {(name: string, unit: string, values: number[], goal: number | null, more?: {judged?: 'median' | 'p95', note?: string}) => void} figure
 * @property {(pid: number, share: number) => Promise<() => Promise<void>>} slowed
 * @property {(person: Person, pid: number) => Promise<{share: number}>} calibrate
 */

/** What the page notes from its first moment: how long each question to look at a picture takes, from asking to the answer, and each frame. */
const notes = `
  window.looks = []; window.frames = [];
  const post = Worker.prototype.postMessage;
  Worker.prototype.postMessage = function (message, ...more) {
    if (message?.method === 'look') {
      const from = performance.now();
      const hear = ({ data }) => { if (data.n === message.n) { this.removeEventListener('message', hear); window.looks.push([message.params.method, performance.now() - from]); } };
      this.addEventListener('message', hear);
    }
    return post.call(this, message, ...more);
  };
  let last = 0;
  const frame = (now) => { if (last) window.frames.push(now - last); last = now; requestAnimationFrame(frame); };
  requestAnimationFrame(frame);
`;

/** @param {Bench} bench */
export async function pictures(bench) {
  const server = await serve();
  const window = await browser('chromium', { size: phone });
  try {
    const person = await window.open('about:blank');
    await person.cdp('Page.addScriptToEvaluateOnNewDocument', { source: notes });
    await person.driver.get(server.url);
    await person.see('h1');
    await lookingInstalled(person);
    await person.driver.manage().setTimeouts({ script: 600_000 });
    const pid = window.browserProcesses()[0];
    const { share } = await bench.calibrate(person, pid);
    const module = await app.bench(person);
    const { id: project, parts } = await named(person);
    const asked = { ...bench, person, module, project, pid, share };
    await outline(asked);
    const [side, front] = await takenIn(asked);
    await liveWire(asked, side);
    await sheet(asked, parts, [side, front]);
    await person.until(async () => (await person.faults()).length === 0, 'no faults');
  } finally { await Promise.all([window.close(), server.stop()]); }
}

/** @typedef {Bench & {person: Person, module: string, project: string, pid: number, share: number}} Asked */

/** @param {Person} person */
async function named(person) {
  const { id, parts } = await app.ask(person, 'newProject', { name: 'Cow', animal: 'other', parts: [{ name: 'body length', axis: 'length' }, { name: 'leg', axis: 'length' }] });
  return { id, parts };
}

/** One tap on a piece of a thousand by fourteen hundred px, card and all. @param {Asked} asked */
async function outline({ figure, person, module, project }) {
  const { first, times } = await person.later(`const [module, project, text, runs] = args; const { ask } = await import(module);
    const { id } = await ask('addPicture', { project, view: 'top', file: new Blob([Uint8Array.from(atob(text), (c) => c.charCodeAt(0))], { type: 'image/png' }) });
    const { picture } = await ask('view', { name: 'photo', id });
    const find = async () => { const from = performance.now(); const { rings_px } = await ask('look', { method: 'outline-photo', request: { image: 'photo', scale: 'id-1', tap: [500, 520], max_points: 600 }, pictures: { photo: { hash: picture.full } } }); if (!rings_px.length) throw new Error('nothing found'); return performance.now() - from; };
    const first = await find(); const times = []; for (let i = 0; i < runs; i++) times.push(await find()); return { first, times };`, module, project, cow, runs);
  figure('outline by one tap, 1000 x 1400 px with a card (not slowed)', 'ms', times, 800);
  figure('outline by one tap, the first: engine and pixels are fetched for it (not slowed)', 'ms', [first], null);
}

/** The photo of twelve megapixels, with the grain of a camera; drawn in the page. */
const camera = `
  const picture = await createImageBitmap(new Blob([Uint8Array.from(atob(text), (c) => c.charCodeAt(0))], { type: 'image/png' }));
  const canvas = new OffscreenCanvas(4000, 3000); const context = canvas.getContext('2d');
  context.drawImage(picture, 0, 300, 1000, 750, 0, 0, 4000, 3000);
  const grain = new ImageData(500, 500); crypto.getRandomValues(grain.data.subarray(0, 65536)); for (let n = 65536; n < grain.data.length; n++) grain.data[n] = (grain.data[n - 65536] * 5 + n * 13 + (n >> 7)) & 255; for (let n = 3; n < grain.data.length; n += 4) grain.data[n] = 26;
  const tile = new OffscreenCanvas(500, 500); tile.getContext('2d').putImageData(grain, 0, 0);
  for (let y = 0; y < 3000; y += 500) for (let x = 0; x < 4000; x += 500) context.drawImage(tile, x, y);`;

/** Twelve megapixels, from the file to the store. @param {Asked} asked @returns {Promise<string[]>} the pictures taken in */
async function takenIn({ figure, slowed, person, module, project, pid, share }) {
  const size = await person.later(`const [text, runs] = args; ${camera}
    window.photos = []; for (let i = 0; i < runs; i++) window.photos.push(new File([await canvas.convertToBlob({ type: 'image/jpeg', quality: 0.86 + i / 100 })], 'photo.jpg', { type: 'image/jpeg' }));
    canvas.width = canvas.height = tile.width = 0; picture.close(); return window.photos[0].size;`, cow, runs + 3);
  const take = (/** @type {number} */ i) => person.later(`const [module, project, i] = args; const { ask } = await import(module); const from = performance.now();
    const { id } = await ask('addPicture', { project, view: i ? 'front' : 'side', file: window.photos[i] }); return { id, ms: performance.now() - from };`, module, project, i);
  const note = `a JPEG of ${(size / 1e6).toFixed(1)} MB`;
  const all = [];
  const memory = [];
  for (let i = 0; i < 3; i++) {
    const held = peak(pid);
    all.push(await take(i));
    memory.push(held());
  }
  figure('photo of 12 megapixels taken in (not slowed)', 'ms', all.map(({ ms }) => ms), null, { note });
  figure('memory that the pages hold more while it is taken in', 'MB', memory.map(({ pages }) => pages), 150, { judged: 'p95' });
  figure('memory that the whole browser holds more', 'MB', memory.map(({ browser }) => browser), null);
  const stop = await slowed(pid, share);
  const slow = [];
  for (let i = 0; i < runs; i++) slow.push(await take(3 + i));
  await stop();
  figure('photo of 12 megapixels taken in', 'ms', slow.map(({ ms }) => ms), 1500, { note });
  await person.js('window.photos = null');
  return all.slice(0, 2).map(({ id }) => id);
}

/** The most memory that processes hold from now on, over what they hold now, MB: the kernel notes the most of each, and begins anew when told so (proc(5), clear_refs). @param {number} pid */
function peak(pid) {
  const line = (/** @type {number} */ of, /** @type {string} */ name) => { try { return Number(new RegExp(`^${name}:\\s+(\\d+) kB`, 'm').exec(readFileSync(`/proc/${of}/status`, 'utf8'))?.[1] ?? 0) / 1000; } catch { return 0; } };
  const before = new Map([pid, ...descendants(pid)].map((of) => { writeFileSync(`/proc/${of}/clear_refs`, '5'); return [of, line(of, 'VmRSS')]; }));
  return () => {
    const more = [...before].map(([of, rss]) => ({ page: /--type=renderer/.test(commandLine(of).join(' ')), mb: Math.max(0, line(of, 'VmHWM') - rss) }));
    const sum = (/** @type {typeof more} */ list) => list.reduce((all, { mb }) => all + mb, 0);
    return { pages: sum(more.filter(({ page }) => page)), browser: sum(more) };
  };
}

/** The animal's back on the photo as it is kept, 2048 px wide. @type {Point[]} */
const back = Array.from({ length: 48 }, (_, i) => /** @type {Point} */ ([(230 + i * 8) * 2.048, (408 - 300 + (i % 3) * 4) * 2.048]));

/** A finger follows the back; each answer is the edge to where it is. @param {Asked} asked  @param {string} picture */
async function liveWire({ figure, slowed, person, pid, share }, picture) {
  await person.to(`#/outline/${picture}`);
  await person.tap('[data-mode=snap]');
  await drawn(person);
  const follow = async () => { await person.js('window.looks = []; window.frames = []'); await drag(person, back, 33); return person.js(`return { looks: window.looks.filter(([method]) => method === 'snap-path').map(([, ms]) => ms), frames: window.frames }`); };
  await follow(); // engine and pixels are there from now on
  await person.press('u');
  const plain = await follow();
  await person.press('u');
  const stop = await slowed(pid, share);
  const looks = [];
  const frames = [];
  for (let i = 0; i < 4; i++) { const one = await follow(); looks.push(...one.looks); frames.push(...one.frames); await person.press('u'); }
  await stop();
  figure('the edge to where the finger is, on a photo of 2048 px (not slowed)', 'ms', plain.looks, null);
  assert.ok(looks.length >= 20, `${looks.length} answers`);
  figure('the edge to where the finger is, on a photo of 2048 px', 'ms', looks, 33);
  figure('a frame while the finger draws', 'ms', frames, 33);
}

/** Two views, photo and outline, on six pages. @param {Asked} asked  @param {string[]} parts  @param {string[]} ids */
async function sheet({ figure, slowed, person, module, project, pid, share }, parts, ids) {
  const make = () => person.later(`const [module, ids] = args; const { ask } = await import(module);
    const seen = await Promise.all(ids.map((id) => ask('view', { name: 'photo', id })));
    const ring = (wide, high) => [Array.from({ length: 300 }, (_, i) => { const a = i * Math.PI / 150; return [wide / 2 * (1 + 0.9 * Math.cos(a)), high / 2 * (1 + 0.8 * Math.sin(a) + 0.05 * Math.sin(9 * a))]; })];
    const views = seen.map(({ picture }, i) => { const wide = i ? 300 : 370, high = wide * picture.height / picture.width; return { name: i ? 'Front' : 'Side', what: 'both', image: 'picture-' + i, photo: { left_mm: 0, top_mm: 0, width_mm: wide, height_mm: high }, rings_mm: ring(wide, high) }; });
    const from = performance.now();
    const { bytes, pages } = await ask('look', { method: 'sheet', request: { paper: 'A4', title: 'Cow', views, parts: [{ part: 'Body', units: '1', size: '330 mm' }], cautions: ['Eyes on the needle.'] }, pictures: Object.fromEntries(seen.map(({ picture }, i) => ['picture-' + i, { hash: picture.full }])) });
    return { ms: performance.now() - from, pages, size: bytes.byteLength };`, module, ids);
  const plain = [];
  for (let i = 0; i < runs; i++) plain.push(await make());
  const stop = await slowed(pid, share);
  const slow = [];
  for (let i = 0; i < 3; i++) slow.push(await make());
  await stop();
  const note = `${plain[0].pages} pages`;
  assert.ok(plain[0].pages >= 6, note);
  figure('sheet of two views, photo and outline (not slowed)', 'ms', plain.map(({ ms }) => ms), 3000, { note });
  figure('sheet of two views, photo and outline', 'ms', slow.map(({ ms }) => ms), 3000, { note });
  figure('size of its PDF', 'kB', plain.map(({ size }) => size / 1000), 5000, { note });
}
