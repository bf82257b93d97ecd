// The lay, the glass, the sheet and the order of the work, as a maker uses them; the PDF is measured in what another program makes of it.
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { readFileSync, readdirSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { describe, test } from 'node:test';
import webdriver from 'selenium-webdriver';
import { words } from '../../app/words.js';
import '../../app/words-pictures.js';
import '../../app/words-forms.js';
import * as app from './app.mjs';
import { browser, browsers, serve } from './harness.mjs';

const { Key } = webdriver;
const { lay, order, print } = /** @type {any} */ (words);

/** @typedef {import('./person.mjs').Person} Person */

describe('lays', { concurrency: 2 }, () => {
  for (const kind of browsers) test(`${kind}: a lay is seen, held against the glass and printed at true size; the work is ticked off`, async (t) => {
    const [server, window] = await Promise.all([serve(), browser(kind)]);
    t.after(() => Promise.all([window.close(), server.stop()]));
    const person = await window.open(server.url);
    await person.see({ css: 'h1', text: words.projects.title });
    const { otter } = await app.ask(person, 'addDemo', {});
    const { ids: [leg, tail] } = await app.ask(person, 'addForms', { project: otter, forms: [
      { name: 'leg', shape: 'cylinder', sizes: { length: { mm: 48 }, width: { mm: 16 } }, stands: 'leg', count: 2, mirrored: true },
      { name: 'tail', shape: 'cone', sizes: { length: { mm: 62, typed: '62 mm' } } },
    ] });
    // The half of the engine that knows forms is fetched and made ready once, which takes a busy machine its time.
    await app.ask(person, 'view', { name: 'lay', form: leg });
    await missing(person, otter, tail);
    await theLay(person, otter, tail);
    await onGlass(person, otter, tail);
    await onPaper(person, window, otter, leg);
    await ordered(person, otter, leg);
    assert.deepEqual(await person.faults(), []);
  });
});

/** What a form lacks is said, with the way to it. @param {Person} person  @param {string} otter  @param {string} tail */
async function missing(person, otter, tail) {
  await person.to(`#/lay/${otter}/${tail}`);
  await person.see({ css: 'h2', text: lay.missing });
  await person.see({ css: 'a', text: lay.to_form });
  await app.ask(person, 'set', { kind: 'form', id: tail, field: 'sizes', value: { length: { mm: 62, typed: '62 mm' }, width: { mm: 17 } } });
}

/** One layer more makes it shorter; it stays so. @param {Person} person  @param {string} otter  @param {string} tail */
async function theLay(person, otter, tail) {
  await person.see({ css: '[data-testid=rolled]', text: '83 × 23' });
  const label = () => person.js("return document.querySelector('.lay-drawing').getAttribute('aria-label')");
  const before = await label();
  assert.match(before, /83 mm along the form/);
  await person.tap({ css: 'button', text: lay.more });
  await person.until(async () => (await label()) !== before, 'the lay to be another');
  const { layers, lay: laid } = await app.ask(person, 'view', { name: 'lay', form: tail });
  assert.equal(layers.chosen, laid.layers);
  await person.to('#/');
  await person.to(`#/lay/${otter}/${tail}`);
  await person.see({ css: 'button', text: lay.usual });
}

/** The rolled core as large as it is to be, on a glass that is measured. @param {Person} person  @param {string} otter  @param {string} tail */
async function onGlass(person, otter, tail) {
  const now = await person.js('return { dpr: devicePixelRatio, width: Math.min(screen.width, screen.height), height: Math.max(screen.width, screen.height) }');
  await app.ask(person, 'setting', { name: 'glass', value: { px_per_mm: 3, u_share: 0.0025, ...now } });
  await person.to(`#/lay/${otter}/${tail}`);
  await person.tap('[data-testid=glass]');
  await person.see({ css: '.seg button', text: lay.true_roll });
  // The cone stands upright on a phone: from its root to its tip it is 62 mm x 4/3 = 82.7 mm long, which at 3 px a mm is 248 px.
  const long = () => person.js(`const c = document.querySelector('.glass-canvas'), k = c.getContext('2d'), [w, h] = [c.width, c.height];
    const data = k.getImageData(0, 0, w, h).data, back = data.slice((h / 2 * w + w - 12) * 4 | 0, ((h / 2 * w + w - 12) * 4 | 0) + 3).join();
    let [x0, x1, y0, y1] = [w, 0, h, 0];
    for (let y = 0; y < h; y++) for (let x = 60 * devicePixelRatio; x < w - 60 * devicePixelRatio; x++) { const i = (y * w + x) * 4; if (Math.abs(data[i] - data[(h - 3) * w * 4 + (w >> 1) * 4]) + Math.abs(data[i + 2] - data[(h - 3) * w * 4 + (w >> 1) * 4 + 2]) > 24) { x0 = Math.min(x0, x); x1 = Math.max(x1, x); y0 = Math.min(y0, y); y1 = Math.max(y1, y); } }
    return Math.max(x1 - x0, y1 - y0) / devicePixelRatio`);
  await person.until(async () => { const px = await long(); return Math.abs(px - 248) < 4 && px; }, 'the rolled core to be 248 px long');
  await person.tap({ css: '.seg button', text: lay.true_lay });
  await person.until(() => person.js(`return document.querySelector('.seg [aria-pressed=true]').innerText.trim() === ${JSON.stringify(lay.true_lay)}`), 'the lay to be shown');
}

/** @param {Person} person  @param {Awaited<ReturnType<typeof browser>>} window  @param {string} otter  @param {string} leg */
async function onPaper(person, window, otter, leg) {
  await person.to(`#/print/${otter}?form=${leg}`);
  await person.tap({ css: '.seg button', text: print.papers.A4 });
  await person.see({ css: 'figcaption b', text: lay.sheet_lay('leg') });
  await person.until(() => person.js("return document.querySelectorAll('.page-map').length === 2"), 'a map of the lay and of the rolled core', 60_000);
  if (window.kind !== 'chromium') return; // WebKitGTK saves nothing without a person who says where
  await person.tap('[data-testid=save]');
  const name = await person.until(async () => readdirSync(window.downloads).find((file) => file.endsWith('.pdf') && statSync(join(window.downloads, file)).size > 0), 'the PDF to be saved');
  const { lay: { pieces: [piece] } } = await app.ask(person, 'view', { name: 'lay', form: leg });
  const pdf = join(window.downloads, name);
  const text = execFileSync('pdftotext', ['-layout', pdf, '-'], { encoding: 'utf8' }).split('\f');
  const page = text.findIndex((one, i) => i > 0 && one.includes(lay.roll)) + 1;
  assert.ok(page > 1, 'the lay is on a page of its own');
  const dpi = 300;
  const [across, down] = sizeOn(pdf, page, dpi, piece);
  assert.ok(Math.abs(across - piece.length_mm) < 0.3 && Math.abs(down - piece.width_mm) < 0.3, `${across} x ${down} mm on paper, ${piece.length_mm} x ${piece.width_mm} to be laid`);
}

/** How large a rectangular lay is on a page, mm: between the lines that are as long as it. @param {string} pdf  @param {number} page  @param {number} dpi  @param {{length_mm: number, width_mm: number}} piece */
function sizeOn(pdf, page, dpi, piece) {
  const out = pdf.replace(/\.pdf$/, '');
  execFileSync('pdftoppm', ['-r', String(dpi), '-gray', '-f', String(page), '-l', String(page), '-singlefile', pdf, out]);
  const file = readFileSync(`${out}.pgm`);
  const [head, width, height] = /** @type {RegExpExecArray} */ (/^P5\s+(\d+)\s+(\d+)\s+255\s/.exec(file.subarray(0, 40).toString('latin1'))).map((one, i) => (i ? Number(one) : one.length));
  const dark = (/** @type {number} */ x, /** @type {number} */ y) => file[head + y * width + x] < 110;
  const px = dpi / 25.4;
  const upright = lines(width, height, (i, j) => dark(i, j), piece.width_mm * px * 0.97);
  const lying = lines(height, width, (i, j) => dark(j, i), piece.length_mm * px * 0.97);
  return [(upright[1] - upright[0]) / px, (lying[2] - lying[1]) / px];
}

/** The middles of the lines that are at least so long. @param {number} n  @param {number} along  @param {(i: number, j: number) => boolean} dark  @param {number} least */
function lines(n, along, dark, least) {
  /** @type {number[][]} */
  const found = [];
  for (let i = 0; i < n; i++) {
    let [most, now] = [0, 0];
    for (let j = 0; j < along; j++) { now = dark(i, j) ? now + 1 : 0; most = Math.max(most, now); }
    if (most < least) continue;
    if (found.at(-1)?.at(-1) === i - 1) found.at(-1)?.push(i); else found.push([i]);
  }
  return found.map((rows) => (rows[0] + /** @type {number} */ (rows.at(-1)) + 1) / 2);
}

/** A tap anywhere on the row ticks it; it is taken back; keys do the same; each piece has its own. @param {Person} person  @param {string} otter  @param {string} leg */
async function ordered(person, otter, leg) {
  const { pieces: [piece] } = await app.ask(person, 'view', { name: 'project', id: otter });
  await person.to(`#/piece/${otter}/${piece.id}`);
  await person.tap({ css: 'a', text: words.verdict.order });
  await person.see({ css: '[data-testid=done]', text: order.done(0, 8) });
  await person.tap(`[data-step=roll-${leg}] .order-words`);
  await person.see({ css: '[data-testid=done]', text: order.done(1, 8) });
  await person.tap('[data-testid=undo]');
  await person.see({ css: '[data-testid=done]', text: order.done(0, 8) });
  const press = (/** @type {string[]} */ ...keys) => person.driver.actions().sendKeys(...keys).perform();
  await person.js('document.activeElement.blur()');
  await press(Key.ARROW_DOWN);
  await press(Key.ARROW_DOWN);
  await press(Key.SPACE);
  await person.see({ css: '[data-testid=done]', text: order.done(1, 8) });
  const { steps } = await app.ask(person, 'view', { name: 'order', project: otter, piece: piece.id });
  assert.deepEqual(steps.map((/** @type {any} */ step) => step.done).indexOf(true), 1);
  const low = await person.js("return [...document.querySelectorAll('.order-tick')].map((row) => row.getBoundingClientRect().height)");
  assert.ok(Math.min(...low) >= 56, `rows for woolly fingers: ${low}`);
  await person.tap({ css: '.seg button', text: order.whole });
  await person.see({ css: '[data-testid=done]', text: order.done(0, 8) });
}
