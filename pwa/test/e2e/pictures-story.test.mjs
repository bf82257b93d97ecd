// The whole job on pictures in one go, with no network: a photo taken in, its scale from the card that lies in it, three parts measured,
// the outline found by one tap and mended by hand, the sheet made and measured on paper; and all of it there after the browser was killed.
// What comes out is held against how the photo was rendered (testdata/photos/cow.json) and against what another program makes of the PDF.
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { readFileSync, readdirSync, statSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, test } from 'node:test';
import { fileURLToPath } from 'node:url';
import webdriver from 'selenium-webdriver';
import { fromPieces } from '../../app/journal.js';
import * as app from './app.mjs';
import { browser, browsers, folder, serve } from './harness.mjs';
import { byKeys, byThumb, choose, drag, drawn, lookingInstalled, maskOf, photo, sharing, tapAt, words } from './pictures.mjs';

const { Key } = webdriver;
const cow = fileURLToPath(new URL('../../engine/testdata/photos/cow.png', import.meta.url));
const truth = JSON.parse(readFileSync(cow.replace('.png', '.json'), 'utf8'));
const mask = maskOf(readFileSync(cow.replace('.png', '.mask.png')));

/** @typedef {import('./person.mjs').Person} Person  @typedef {import('./pictures.mjs').Point} Point  @typedef {Awaited<ReturnType<typeof browser>>} Window */

/** A px on the cloth, mm, by the camera the photo was rendered with; x to the right, y up. @param {Point} at @returns {Point} */
function onCloth([x, y]) {
  const [a, b, c] = truth.plane_homography_px_to_mm.map((/** @type {number[]} */ row) => row[0] * x + row[1] * y + row[2]);
  return [a / c, b / c];
}
/** @param {Point[]} ends */
const apart = ([a, b]) => Math.hypot(...onCloth(a).map((n, i) => n - onCloth(b)[i]));

/** How far along the animal a point of the cloth lies: it was turned by so many degrees. */
const lies = (truth.animal.turn_deg * Math.PI) / 180;
const along = (/** @type {Point} */ [x, y]) => x * Math.cos(lies) + y * Math.sin(lies);

/**
 * What is measured: the px of the ends, and how long it is, mm. The body from the tip of the tail to the nose, along the animal: both lie in its
 * middle, so half its thickness above the cloth, and the length is the mesh's own. Of the others, the length on the cloth.
 */
const off = truth.animal.thickness_above_plane_mm / 2;
/** @type {{name: string, ends: Point[], mm: number, off: number}[]} */
const parts = [
  { name: 'body length', ends: [[155, 644], [832, 679]], mm: truth.animal.length_mm, off },
  { name: 'leg', ends: [[545, 640], [586, 770]], mm: 0, off: 0 },
  { name: 'back', ends: [[215, 400], [700, 425]], mm: 0, off: 0 },
].map((part) => ({ ...part, mm: part.mm || apart(/** @type {Point[]} */ (part.ends)) }));

const finished = 120; // mm that the body is to be long

// Both browsers at once: each has a core to itself.
describe('pictures, from the photo to the paper', { concurrency: true }, () => {
  for (const kind of browsers) test(`${kind}, ${kind === 'chromium' ? 'by thumb' : 'by keys where there are keys'}`, async (t) => {
    const [server, window] = await Promise.all([serve(), browser(kind)]);
    t.after(() => Promise.all([window.close(), server.stop()]));
    let person = await window.open(server.url);
    await person.see({ css: 'h1', text: words.projects.title });
    await lookingInstalled(person);

    // No network from here on: the server's process is gone.
    await server.stop();
    await person.driver.navigate().refresh();
    await person.see({ css: 'h1', text: words.projects.title });
    const { id: project } = await app.ask(person, 'newProject', { name: 'Cow', animal: 'other', parts: parts.map(({ name }) => ({ name, axis: 'length' })) });
    const picture = await takenIn(person, project);
    await scaled(person, picture);
    await measured(person, picture, project);
    await traced(person, picture);
    const pdf = await printed(person, window, project);
    const before = await photo(person, picture);
    onPaper(t, pdf, before);
    assert.deepEqual(await person.faults(), []);

    // The phone dies.
    await window.kill();
    person = await window.open(server.url);
    await allThere(person, project, before);
    assert.deepEqual(await person.faults(), []);
  });
});

/** @param {Person} person  @param {string} project */
async function takenIn(person, project) {
  await choose(person, project, cow);
  await person.tap({ css: 'dialog .seg button', text: words.gallery.views.side });
  await person.tap('[data-testid=keep-picture]');
  await person.see('[data-picture]', 30_000);
  const { pictures: [one] } = await app.ask(person, 'view', { name: 'pictures', project });
  assert.deepEqual([one.view, one.width, one.height], ['side', truth.width_px, truth.height_px]);
  return one.id;
}

/** The card is found by itself; how far away the phone was is known. @param {Person} person  @param {string} picture */
async function scaled(person, picture) {
  await person.to(`#/photo/${picture}`);
  await person.tap('[data-testid=set-scale]');
  await person.tap('[data-testid=understood]');
  await person.until(() => person.js(`return document.querySelectorAll('[data-handle]').length === 4`), 'the card to be found', 60_000);
  await person.tap('[data-testid=more]');
  await person.type('dialog input[name=distance]', '60 cm');
  await person.tap({ css: 'dialog button', text: words.close });
  await person.until(async () => (await app.ask(person, 'drafts', { key: `plane:${picture}` }))?.typed.distance.mm === 600, 'the distance to be known');
  if (person.kind === 'webkit') await person.press('k'); else await person.tap('[data-testid=keep][aria-disabled=false]');
  await person.see('[data-testid=off]');
  const { plane } = (await photo(person, picture)).picture;
  const [spread] = [plane.corners.map((/** @type {Point} */ at) => Math.min(...truth.card.corners_px.map((/** @type {Point} */ other) => Math.hypot(at[0] - other[0], at[1] - other[1]))))];
  const mean = spread.reduce((/** @type {number} */ sum, /** @type {number} */ one) => sum + one, 0) / 4;
  assert.ok(mean <= 1.5, `the corners are ${mean.toFixed(2)} px off on average`);
}

/** @param {Person} person  @param {string} picture  @param {string} project */
async function measured(person, picture, project) {
  for (const { name, ends, off } of parts) {
    await person.see({ css: 'h1', text: new RegExp(`^${name}$`, 'i') });
    await (person.kind === 'webkit' ? byKeys : byThumb)(person, picture, ends);
    if (off) {
      await person.tap('[data-testid=off]');
      await person.type('dialog input[name=off]', `${off} mm`);
      await person.press(Key.ENTER);
      await person.see({ css: '[data-testid=off][aria-pressed=true]' });
    }
    if (person.kind === 'webkit' && !off) await person.press('k'); else await person.tap('[data-testid=keep][aria-disabled=false]');
    await person.until(async () => (await photo(person, picture)).readings.some((/** @type {any} */ one) => one.name === name), `${name} to be kept`);
  }
  const { readings } = await photo(person, picture);
  assert.equal(new Set(readings.map((/** @type {any} */ one) => one.sitting)).size, 1, 'the pins of a photo are one sitting');
  for (const { name, mm } of parts) {
    const got = readings.find((/** @type {any} */ one) => one.name === name);
    assert.ok(Math.abs(got.mm / mm - 1) < 0.01, `${name}: ${got.mm} mm of ${mm} mm`);
    assert.ok(Math.abs(got.mm - mm) < 3 * Math.hypot(got.u_mm, 0.005 * mm), `${name}: ${got.mm} ± ${got.u_mm} mm of ${mm} mm`);
  }
  // They are the proportions of the animal, too.
  const { parts: known } = await app.ask(person, 'view', { name: 'project', id: project });
  assert.ok(known.every((/** @type {any} */ part) => part.n_readings !== 0), JSON.stringify(known));
}

/** One tap finds it; a belly that sags is drawn on by hand. @param {Person} person  @param {string} picture */
async function traced(person, picture) {
  await person.to(`#/outline/${picture}`);
  await person.see('[data-mode=find]');
  await drawn(person);
  await tapAt(person, [500, 520]);
  const figures = async () => Number(/([\d.]+) cm²/.exec(await person.js(`return document.querySelector('[data-testid=figures]').textContent`))?.[1] ?? 0);
  const found = await person.until(figures, 'the piece to be found', 60_000);
  const iou = sharing(await drafted(person, `outline:${picture}:new`), mask);
  assert.ok(iou >= 0.985, `one tap shares ${iou.toFixed(4)} with the truth`);
  if (person.kind === 'webkit') await person.press('d'); else await person.tap('[data-mode=draw]');
  await drag(person, [[350, 610], [360, 700], [480, 700], [490, 610]], 70);
  await person.until(async () => await figures() > found + 3, 'the belly to sag');
  if (person.kind === 'webkit') await person.press('k'); else await person.tap('[data-testid=keep]');
  await person.until(async () => (await person.js('return location.hash')).startsWith('#/photo/'), 'the outline to be kept');
}

/** The outline as it is held for a phone that dies. @param {Person} person  @param {string} key @returns {Promise<Point[][]>} */
async function drafted(person, key) {
  const head = await person.until(() => app.ask(person, 'drafts', { key }), 'what was found to be held');
  const pieces = await Promise.all(Array.from({ length: head.pieces }, (_, i) => app.ask(person, 'drafts', { key: `${key}:${i}` })));
  return fromPieces(pieces, head).now.rings;
}

/** The finished size is given, the sheet is made, and saved. @param {Person} person  @param {Window} window  @param {string} project */
async function printed(person, window, project) {
  // WebKitGTK saves nothing without a person who says where: there what would be saved is looked at.
  await person.js(`const make = URL.createObjectURL; URL.createObjectURL = (blob) => { if (blob.type === 'application/pdf') window.pdf = blob; return make.call(URL, blob); }`);
  await person.to(`#/print/${project}`);
  await person.tap('[data-testid=set-size]');
  await person.type('dialog input[name=size]', `${finished} mm`);
  await person.choose('dialog select[name=part]', 'body length');
  await person.tap('dialog button[type=submit]');
  await person.tap({ css: '.seg button', text: words.print.papers.A4 });
  await person.until(async () => /^\d+ pages? of A4$/.test(await person.see('[data-testid=pages]')), 'the sheet to be made', 60_000);
  const file = join(folder(), 'sheet.pdf');
  if (window.kind === 'chromium') {
    await person.tap('[data-testid=save]');
    const name = await person.until(async () => readdirSync(window.downloads).find((one) => one.endsWith('.pdf') && statSync(join(window.downloads, one)).size > 0), 'the PDF to be saved');
    return join(window.downloads, name);
  }
  const base64 = await person.later(`const bytes = new Uint8Array(await window.pdf.arrayBuffer()); let text = ''; for (let n = 0; n < bytes.length; n += 8192) text += String.fromCharCode(...bytes.subarray(n, n + 8192)); return btoa(text)`);
  writeFileSync(file, Buffer.from(base64, 'base64'));
  return file;
}

/** @param {Person} person  @param {string} project  @param {any} before */
async function allThere(person, project, before) {
  await person.see({ css: 'h1', text: words.projects.title });
  await person.to(`#/pictures/${project}`);
  await person.until(() => person.js(`const picture = document.querySelector('[data-picture] img'); return Boolean(picture?.complete && picture.naturalWidth > 0)`), 'the picture to be drawn');
  assert.deepEqual(await photo(person, before.picture.id), before);
  const hash = await person.later(`const { ask } = await import(args[0]); const { bytes } = await ask('pictureBytes', { hash: args[1] });
    return [...new Uint8Array(await crypto.subtle.digest('SHA-256', bytes))].map((n) => n.toString(16).padStart(2, '0')).join('')`, await app.bench(person), before.picture.full);
  assert.equal(hash, before.picture.full, 'every byte of it');
  await person.to(`#/outline/${before.picture.id}/${before.outlines[0].id}`);
  await person.until(() => person.js(`return document.querySelectorAll('[data-handle]').length > 0`), 'the outline to be there, to be mended on');
}

const dpi = 600;
const dots = dpi / 25.4;

/** Dark things on a page that hang together, each by its box in mm and its dots. @param {string} pdf  @param {number} page @returns {{wide: number, high: number, dots: Point[]}[]} */
function darkOn(pdf, page) {
  const out = join(folder(), 'page');
  execFileSync('pdftoppm', ['-r', String(dpi), '-gray', '-f', String(page), '-l', String(page), '-singlefile', pdf, out]);
  const file = readFileSync(`${out}.pgm`);
  const head = /^P5\s+(\d+)\s+(\d+)\s+255\s/.exec(file.toString('latin1', 0, 40)) ?? assert.fail('no picture of the page');
  const [width, height] = [Number(head[1]), Number(head[2])];
  const grey = file.subarray(head[0].length);
  const seen = new Uint8Array(width * height);
  const found = [];
  for (let start = 0; start < grey.length; start++) {
    if (seen[start] || grey[start] > 100) continue;
    const [all, stack] = [[], [start]];
    seen[start] = 1;
    while (stack.length) {
      const at = /** @type {number} */ (stack.pop());
      all.push(at);
      for (const next of [at - 1, at + 1, at - width - 1, at - width, at - width + 1, at + width - 1, at + width, at + width + 1]) {
        if (next >= 0 && next < grey.length && !seen[next] && grey[next] <= 100) { seen[next] = 1; stack.push(next); }
      }
    }
    if (all.length > 500) found.push(boxed(all.map((at) => /** @type {Point} */ ([at % width, Math.floor(at / width)]))));
  }
  return found;
}

/** @param {Point[]} dark */
function boxed(dark) {
  const span = (/** @type {0 | 1} */ i) => { let [low, high] = [Infinity, -Infinity]; for (const one of dark) { low = Math.min(low, one[i]); high = Math.max(high, one[i]); } return (high + 1 - low) / dots; };
  return { wide: span(0), high: span(1), dots: dark };
}

/** How far apart the ends of points are along the animal. @param {Point[]} points  @param {(at: Point) => Point} [to] */
function extent(points, to = (at) => at) {
  let [low, high] = [Infinity, -Infinity];
  for (const one of points) { const at = along(to(one)); low = Math.min(low, at); high = Math.max(high, at); }
  return high - low;
}

/**
 * The bars are as long as they say on every page; and the outline is on the paper as long as the camera and the finished size have it: as much longer
 * than 120 mm as it is longer on the cloth than the two pins are apart. The 0.2 mm are the sheet's; where the pins were to be and where
 * they are is apart from that, and told.
 * @param {import('node:test').TestContext} t  @param {string} pdf  @param {any} seen
 */
function onPaper(t, pdf, seen) {
  const pages = Number(/^Pages:\s+(\d+)$/m.exec(execFileSync('pdfinfo', [pdf], { encoding: 'utf8' }))?.[1]);
  assert.ok(pages >= 2);
  let outline = null;
  for (let page = 1; page <= pages; page++) {
    const dark = darkOn(pdf, page);
    const bars = dark.filter(({ wide, high }) => high > 2.8 && high < 3.6 && wide > 80).map(({ wide }) => wide);
    assert.ok(bars.some((wide) => Math.abs(wide - 100) <= 0.1) && bars.some((wide) => Math.abs(wide - 101.6) <= 0.1), `page ${page}: bars of ${bars} mm`);
    outline = dark.find(({ wide, high }) => wide > 80 && high > 30) ?? outline;
  }
  assert.ok(outline, 'an outline is on a page');
  const pin = seen.readings.find((/** @type {any} */ one) => one.name === parts[0].name);
  const long = extent(seen.outlines[0].rings.flat(), onCloth);
  const line = 0.35; // how wide the outline's own line is, half of it at either end
  const got = extent(outline.dots.map(([x, y]) => [x / dots, -y / dots])) - line;
  const want = (finished * long) / apart(pin.pins);
  t.diagnostic(`on paper the outline is ${got.toFixed(2)} mm long; by the camera and the pins ${want.toFixed(2)} mm, by the camera and where the pins were to be ${((finished * long) / apart(parts[0].ends)).toFixed(2)} mm`);
  assert.ok(Math.abs(got - want) <= 0.2, `${got} mm on paper, ${want} mm by the camera`);
}
