// Bad days with pictures: what is none, half of one, far too small or too large, lies on its side or moves; and no room left. Each gets its
// sentence on the screen, nothing that was kept is lost, and the app goes on.
import assert from 'node:assert/strict';
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, test } from 'node:test';
import { sentences } from '../../app/words.js';
import * as app from './app.mjs';
import { browser, browsers, folder, serve } from './harness.mjs';
import { gif, movingWebp, png, secret, segments, tagged } from './picture-files.mjs';
import { choose, words } from './pictures.mjs';

/** @typedef {import('./person.mjs').Person} Person  @typedef {[number, number, number]} Colour */

const g = words.gallery;
/** The corners of the upright picture: left and right above, left and right below. @type {Colour[]} */
const corners = [[200, 30, 30], [30, 160, 30], [30, 30, 200], [220, 200, 40]];
const upright = { width: 96, height: 64 };

// Both browsers at once: each has a core to itself.
describe('bad days with pictures', { concurrency: true }, () => {
  for (const kind of browsers) test(kind, async (t) => {
    const [server, window] = await Promise.all([serve(), browser(kind)]);
    t.after(() => Promise.all([window.close(), server.stop()]));
    const person = await window.open(`${server.url}manifest.webmanifest`);
    if (kind === 'chromium') await person.cdp('Storage.overrideQuotaForOrigin', { origin: new URL(server.url).origin, quotaSize: room });
    await person.driver.get(server.url);
    await person.see({ css: 'h1', text: words.projects.title });
    const { id: project } = await app.ask(person, 'newProject', { name: 'Hare', animal: 'hare' });
    const at = folder();
    const file = (/** @type {string} */ name, /** @type {string | Uint8Array} */ content) => { writeFileSync(join(at, name), content); return join(at, name); };
    const jpeg = await painted(person, 'image/jpeg', 1);

    await t.test('what is no picture, or not all of one, is refused', async () => {
      await refuses(person, project, file('notes.jpg', 'Dear diary, today I felted a hare.'), sentences['picture-not-read']);
      await refuses(person, project, file('empty.jpg', ''), sentences['file-empty']);
      await refuses(person, project, file('cut.jpg', (await noise(person, 600, 400)).subarray(0, 60_000)), sentences['picture-cut-off']);
      await refuses(person, project, file('dot.png', png(1, 1)), sentences['picture-too-small']);
      await refuses(person, project, file('line.png', png(30_000, 2)), sentences['picture-too-small']);
    });
    for (const turned of kind === 'chromium' ? [1, 2, 3, 4, 5, 6, 7, 8] : [6, 7]) await t.test(`turned as EXIF has it, ${turned}: what is kept stands upright, and says nothing of where it was taken`, async () => {
      const id = await takes(person, project, file(`turned-${turned}.jpg`, tagged(await painted(person, 'image/jpeg', turned), turned)));
      await looks(person, id, upright, corners);
      await saysNothing(person, id);
    });
    await t.test('the colours of a printing press', async () => {
      const id = await takes(person, project, new URL('fixtures/cmyk.jpg', import.meta.url).pathname, 'picture-cmyk');
      await looks(person, id, { width: 64, height: 48 }, [[200, 30, 30], [30, 30, 200], [200, 30, 30], [30, 30, 200]], 60);
    });
    await t.test('of one that moves the first is kept', async () => {
      const id = await takes(person, project, file('moves.gif', gif([corners[0], corners[1], corners[2]], 40)), 'picture-moving');
      await looks(person, id, { width: 40, height: 40 }, Array(4).fill(corners[0]));
    });
    if (kind === 'chromium') {
      await t.test('of a WebP that moves, too', async () => {
        const stills = [await painted(person, 'image/webp', 1), await painted(person, 'image/webp', 3)];
        const id = await takes(person, project, file('moves.webp', movingWebp(stills, upright.width, upright.height)), 'picture-moving');
        await looks(person, id, upright, corners);
      });
      await t.test('a side of 30,000 px: made small while a phone can hold it, refused beyond that', async () => {
        const id = await takes(person, project, file('long.png', png(30_000, 2000)));
        const { picture } = await app.ask(person, 'view', { name: 'photo', id });
        assert.deepEqual([picture.width, picture.height], [2048, 137]);
        await refuses(person, project, file('huge.png', png(30_000, 30_000)), sentences['picture-too-many-pixels']);
      });
      await t.test('no room: it is said, what was chosen stays, and is kept once there is room', () => full(person, server.url, project, file));
    }
    // All that was taken in is there, and the next good one is taken, too.
    const before = (await app.ask(person, 'view', { name: 'pictures', project })).pictures;
    const last = await takes(person, project, file('good.jpg', jpeg));
    await looks(person, last, upright, corners);
    const { pictures } = await app.ask(person, 'view', { name: 'pictures', project });
    assert.deepEqual(pictures.slice(1).map((/** @type {any} */ one) => one.id), before.map((/** @type {any} */ one) => one.id));
    for (const one of pictures) assert.ok((await bytes(person, one.full)).length > 0 && (await bytes(person, one.thumb)).length > 0);
    assert.deepEqual((await person.faults()).filter((fault) => !/blob:|createImageBitmap|decode/.test(fault)), []);
  });
});

/** A picture that the browser itself writes: four corners, stored so that it stands upright when it is turned so. @param {Person} person  @param {string} type  @param {number} turned @returns {Promise<Buffer>} */
async function painted(person, type, turned) {
  const base64 = await person.later(`const [type, turned, { width, height }, corners] = args;
    // Which side of the upright picture the first row and the first column are (EXIF, tag 274).
    const [row, column] = ['top left', 'top right', 'bottom right', 'bottom left', 'left top', 'right top', 'right bottom', 'left bottom'][turned - 1].split(' ');
    const [w, h] = turned > 4 ? [height, width] : [width, height];
    const from = (side, x, y) => ({ top: [, y], bottom: [, height - 1 - y], left: [x], right: [width - 1 - x] })[side];
    const pixels = new ImageData(w, h);
    for (let y = 0; y < h; y++) for (let x = 0; x < w; x++) {
      const of = (side, n) => (side === 'top' || side === 'left' ? n : (side === 'bottom' ? height : width) - 1 - n);
      const [a, b] = [of(row, y), of(column, x)];
      const [X, Y] = turned > 4 ? [a, b] : [b, a];
      pixels.data.set([...corners[(Y < height / 2 ? 0 : 2) + (X < width / 2 ? 0 : 1)], 255], 4 * (y * w + x));
    }
    const canvas = Object.assign(document.createElement('canvas'), { width: w, height: h });
    canvas.getContext('2d').putImageData(pixels, 0, 0);
    const blob = await new Promise((done) => canvas.toBlob(done, type, 0.95));
    if (blob.type !== type) throw new Error('written as ' + blob.type);
    return btoa(String.fromCharCode(...new Uint8Array(await blob.arrayBuffer())));`, type, turned, upright, corners);
  return Buffer.from(base64, 'base64');
}

/** A JPEG that nothing makes smaller. @param {Person} person  @param {number} width  @param {number} height @returns {Promise<Buffer>} */
async function noise(person, width, height) {
  const base64 = await person.later(`const [width, height] = args; const canvas = Object.assign(document.createElement('canvas'), { width, height }); const context = canvas.getContext('2d');
    const pixels = new ImageData(width, height); for (let n = 0; n < pixels.data.length; n += 65536) crypto.getRandomValues(pixels.data.subarray(n, n + 65536)); for (let n = 3; n < pixels.data.length; n += 4) pixels.data[n] = 255;
    context.putImageData(pixels, 0, 0);
    const bytes = new Uint8Array(await (await new Promise((done) => canvas.toBlob(done, 'image/jpeg', 0.95))).arrayBuffer());
    let text = ''; for (let n = 0; n < bytes.length; n += 8192) text += String.fromCharCode(...bytes.subarray(n, n + 8192)); return btoa(text);`, width, height);
  return Buffer.from(base64, 'base64');
}

/** How many pictures there are. @param {Person} person  @param {string} project @returns {Promise<number>} */
const count = async (person, project) => (await app.ask(person, 'view', { name: 'pictures', project })).pictures.length;

/** It is chosen; the sentence is on the screen at once, it cannot be kept, and nothing was taken in. @param {Person} person  @param {string} project  @param {string} path  @param {string} sentence */
async function refuses(person, project, path, sentence) {
  const before = await count(person, project);
  await choose(person, project, path);
  await person.until(async () => (await person.js(`return document.querySelector('dialog .wrong')?.innerText ?? ''`)).includes(sentence.split('{text}')[0].trim()), `the sentence: ${sentence}`, 30_000);
  assert.equal(await person.js(`return document.querySelector('[data-testid=keep-picture]').disabled`), true);
  await person.tap({ css: 'dialog button', text: words.close });
  assert.equal(await count(person, project), before, path);
}

/** It is taken in, and what must be said of it is. @param {Person} person  @param {string} project  @param {string} path  @param {string} [note] @returns {Promise<string>} its id */
async function takes(person, project, path, note) {
  const before = await count(person, project);
  await choose(person, project, path);
  await person.tap('[data-testid=keep-picture]');
  await person.until(async () => (await count(person, project)) === before + 1, `${path} to be kept`, 60_000);
  await person.reads(note ? `${g.kept} ${sentences[note]}` : g.kept);
  return (await app.ask(person, 'view', { name: 'pictures', project })).pictures[0].id;
}

/** @param {Person} person  @param {string} hash @returns {Promise<Buffer>} */
async function bytes(person, hash) {
  const base64 = await person.later(`const { ask } = await import(args[0]); const { bytes } = await ask('pictureBytes', { hash: args[1] });
    let text = ''; for (let n = 0; n < bytes.length; n += 8192) text += String.fromCharCode(...bytes.subarray(n, n + 8192)); return btoa(text);`, await app.bench(person), hash);
  return Buffer.from(base64, 'base64');
}

/** The middles of the four corners of what is kept, and of its small one, have these colours. @param {Person} person  @param {string} id  @param {{width: number, height: number}} size  @param {Colour[]} want  @param {number} [off] */
async function looks(person, id, size, want, off = 24) {
  const { picture } = await app.ask(person, 'view', { name: 'photo', id });
  assert.deepEqual([picture.width, picture.height], [size.width, size.height]);
  for (const hash of [picture.full, picture.thumb]) {
    const seen = await person.later(`const { ask } = await import(args[0]); const { bytes, type } = await ask('pictureBytes', { hash: args[1] });
      const picture = await createImageBitmap(new Blob([bytes], { type })); const context = Object.assign(document.createElement('canvas'), picture).getContext('2d');
      context.canvas.width = picture.width; context.canvas.height = picture.height; context.drawImage(picture, 0, 0);
      return [[1, 1], [3, 1], [1, 3], [3, 3]].map(([x, y]) => [...context.getImageData(x * picture.width / 4, y * picture.height / 4, 1, 1).data].slice(0, 3))`, await app.bench(person), hash);
    for (const [i, colour] of want.entries()) assert.ok(colour.every((n, c) => Math.abs(n - seen[i][c]) <= off), `corner ${i} is ${seen[i]}, not ${colour}`);
  }
}

/** Neither of the two kept files has a place to say anything in, and neither says it. @param {Person} person  @param {string} id */
async function saysNothing(person, id) {
  const { picture } = await app.ask(person, 'view', { name: 'photo', id });
  for (const hash of [picture.full, picture.thumb]) {
    const file = await bytes(person, hash);
    assert.ok(!file.includes(secret) && !file.includes('Exif'));
    // Quantisation and Huffman tables, the frame, and at most JFIF's and the colours' own.
    assert.deepEqual(segments(file).filter((marker) => ![0xe0, 0xe2, 0xdb, 0xc0, 0xc2, 0xc4, 0xdd].includes(marker)), []);
  }
}

/** The phone has no more room than this. Chromium goes by what it once knew for a while, so it is told before anything is kept. */
const room = 12e6;

/** @param {Person} person  @param {string} url  @param {string} project  @param {(name: string, content: Uint8Array) => string} file */
async function full(person, url, project, file) {
  const large = file('large.jpg', await noise(person, 2000, 1500));
  const before = await count(person, project);
  await person.driver.manage().setTimeouts({ script: 180_000 });
  const filled = await person.later(`const { ask } = await import(args[0]); const piece = () => String.fromCharCode(...crypto.getRandomValues(new Uint16Array(16000)).map((v) => 0x4000 + (v & 0x3fff)));
    for (let n = 0; n < 250; n++) { try { await Promise.all([0, 1, 2, 3, 4, 5, 6, 7].map((m) => ask('draft', { key: 'fill ' + n + ' ' + m, value: piece() }))); } catch (error) { return error.code; } } return 'never';`, await app.bench(person));
  assert.equal(filled, 'store-full');
  const there = await count(person, project);
  assert.ok(there >= before);
  await choose(person, project, large);
  await person.tap('[data-testid=keep-picture]');
  await person.until(async () => (await person.js(`return document.querySelector('dialog .wrong')?.innerText ?? ''`)) === sentences['store-full'], 'the sentence of a full phone', 30_000);
  assert.equal(await count(person, project), there, 'not half of it either');
  await person.cdp('Storage.overrideQuotaForOrigin', { origin: new URL(url).origin });
  await person.tap('[data-testid=keep-picture]');
  await person.until(async () => (await count(person, project)) === there + 1, 'the picture to be kept once there is room', 30_000);
}
