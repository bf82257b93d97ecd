// The gallery, the sheet and the glass, as a maker uses them: a picture taken in, a PDF that two other programs read, a screen measured once.
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { readdirSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { describe, test } from 'node:test';
import { fileURLToPath } from 'node:url';
import { words } from '../../app/words.js';
import '../../app/words-pictures.js';
import * as app from './app.mjs';
import { browser, browsers, serve } from './harness.mjs';

const { gallery, glass, print } = /** @type {any} */ (words);
const photo = fileURLToPath(new URL('../../app/demo/otter-front.jpg', import.meta.url));

/** @typedef {import('./person.mjs').Person} Person */

describe('true size', { concurrency: true }, () => {
  for (const kind of browsers) test(`${kind}: a picture is asked about and taken in; the sheet is made and read by others; the glass is measured once`, async (t) => {
    const [server, window] = await Promise.all([serve(), browser(kind)]);
    t.after(() => Promise.all([window.close(), server.stop()]));
    const person = await window.open(server.url);
    await person.see({ css: 'h1', text: words.projects.title });
    const { otter } = await app.ask(person, 'addDemo', {});
    await takeIn(person, otter);
    await sheet(person, window, otter);
    await onGlass(person, otter);
    assert.deepEqual(await person.faults(), []);
  });
});

/** Of an animal without pictures both are asked for; what is said of the one that is chosen is kept with it. @param {Person} person  @param {string} otter */
async function takeIn(person, otter) {
  const { id: hare } = await app.ask(person, 'newProject', { name: 'Hare', animal: 'hare' });
  await person.to(`#/pictures/${hare}`);
  await person.see({ css: 'h2', text: gallery.missing.both });
  await (await person.driver.findElement({ css: 'input[name=picture]' })).sendKeys(photo);
  await person.tap({ css: 'dialog .seg button', text: gallery.views.front });
  await person.tap({ css: 'dialog .seg button', text: gallery.drawing });
  await person.type('input[name=whose]', 'a friend');
  await person.tap('[data-testid=keep-picture]');
  await person.see('[data-picture]');
  await person.see({ css: 'h2', text: gallery.missing.side });
  const { pictures, missing } = await app.ask(person, 'view', { name: 'pictures', project: hare });
  assert.deepEqual(pictures.map((/** @type {any} */ { view, drawn, whose, of }) => [view, drawn, whose, of]), [['front', true, 'a friend', 'subject']]);
  assert.deepEqual(missing, ['side']);
  // A tap on it is where one measures.
  await person.to(`#/pictures/${otter}`);
  await person.see({ css: '.shot-line .has', text: gallery.scale });
  await person.tap('[data-picture]');
  await person.until(() => person.js("return location.hash.startsWith('#/photo/')"), 'the picture to be open for measuring');
}

/** @param {Person} person  @param {Awaited<ReturnType<typeof browser>>} window  @param {string} otter */
async function sheet(person, window, otter) {
  await person.to(`#/print/${otter}`);
  await person.tap({ css: '.seg button', text: print.papers.A4 });
  const said = await person.until(async () => /^(\d+) pages of A4$/.exec(await person.see('[data-testid=pages]'))?.[1], 'the pages to be told', 60_000);
  await person.until(() => person.js("return document.querySelectorAll('.page-map').length === 2"), 'a map of each view');
  const [name, address] = await person.js("const link = document.querySelector('[data-testid=save]'); return [link.download, link.href]");
  assert.equal(name, 'Otter true size.pdf');
  assert.match(address, /^blob:/, 'made before it is asked for');
  if (window.kind !== 'chromium') return; // WebKitGTK saves nothing without a person who says where
  await person.tap('[data-testid=save]');
  const file = await person.until(async () => readdirSync(window.downloads).find((name) => name.endsWith('.pdf') && statSync(join(window.downloads, name)).size > 0), 'the PDF to be saved');
  const info = execFileSync('pdfinfo', [join(window.downloads, file)], { encoding: 'utf8' });
  assert.match(info, new RegExp(`^Pages:\\s+${said}$`, 'm'));
  assert.match(info, /^Page size:\s+595\.\d+ x 841\.\d+ pts \(A4\)$/m);
  assert.match(execFileSync('pdftotext', [join(window.downloads, file), '-'], { encoding: 'utf8' }), /100 mm[^]*Whole length/);
}

/** By keys: the drawn card is made larger, kept, and not asked for again until the screen is another one. @param {Person} person  @param {string} otter */
async function onGlass(person, otter) {
  await person.to(`#/glass/${otter}`);
  await person.see({ css: 'h1', text: glass.calibrate });
  const slider = () => person.js("return Number(document.querySelector('input[type=range]').value)");
  const before = await slider();
  await person.tap('[data-testid=plus]', 30);
  await person.until(async () => await slider() > before, 'the drawn card to be larger');
  await person.tap('[data-testid=fits]');
  await person.reads(glass.error('0.5%', '1 mm').slice(0, 8));
  const { glass: kept } = await app.ask(person, 'settings', {});
  const dpr = await person.js('return devicePixelRatio');
  const guess = await person.js("return matchMedia('(any-pointer: coarse)').matches ? 6.2 : 3.78");
  assert.ok(Math.abs(kept.px_per_mm - guess - 30 / dpr / 85.6) < 1e-6, `30 px of the device over the card's long edge: ${kept.px_per_mm}`);
  await person.until(() => person.js("const c = document.querySelector('.glass-canvas'); return c.width > 0 && new Set(c.getContext('2d').getImageData(0, c.height >> 1, c.width, 1).data).size > 3"), 'the outline to be drawn');
  await person.driver.navigate().refresh();
  await person.see({ css: '.seg button', text: glass.photo });
  await app.ask(person, 'setting', { name: 'glass', value: { ...kept, dpr: dpr + 1 } });
  await person.to('#/');
  await person.to(`#/glass/${otter}`);
  await person.reads(glass.changed);
}
