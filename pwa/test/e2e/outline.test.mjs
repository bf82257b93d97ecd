// An outline by one tap, by a line that snaps, by hand and by keys; kept through a killed browser; and the piece's photo over it.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { describe, test } from 'node:test';
import '../../app/words-pictures.js';
import * as app from './app.mjs';
import { words } from './app.mjs';
import { browser, browsers, serve } from './harness.mjs';

/** @typedef {import('./person.mjs').Person} Person  @typedef {[number, number]} Point */

const w = /** @type {any} */ (words).outline;
const photo = new URL('../../engine/testdata/photos/', import.meta.url);
const cow = JSON.parse(readFileSync(new URL('cow.json', photo), 'utf8'));
const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const card = { kind: 'rectangle', corners: cow.card.corners_px, width_mm: 85.6, height_mm: 53.98, name: 'id-1' };

/** An animal, a piece of it, and the photo of a felted cow as a picture of either. @param {Person} person */
async function begun(person) {
  await person.see('h1');
  const { id, parts } = await app.ask(person, 'newProject', { name: 'Cow', animal: 'other', parts: [{ name: 'Head', unit: true }, { name: 'Body' }] });
  await app.ask(person, 'set', { kind: 'project', id, field: 'size', value: { part: parts[1], mm: 180, typed: '18 cm' } });
  const piece = await app.ask(person, 'addPiece', { project: id, name: 'Piece 1' });
  const bytes = readFileSync(new URL('cow.png', photo)).toString('base64');
  const add = (/** @type {object} */ more) => app.bench(person).then((module) => person.later(`const [module, text, what] = args; const { ask } = await import(module);
    return ask('addPicture', { ...what, file: new Blob([Uint8Array.from(atob(text), (c) => c.charCodeAt(0))], { type: 'image/png' }) })`, module, bytes, { project: id, view: 'side', ...more }));
  const [subject, wool] = [await add({ name: 'Cow' }), await add({ name: 'Wool', of: piece.id })];
  for (const { id: picture } of [subject, wool]) await app.ask(person, 'set', { kind: 'picture', id: picture, field: 'plane', value: card });
  await app.ask(person, 'keepPins', { picture: subject.id, part: parts[1], pins: [[205, 430], [835, 470]], pin_px: 1 });
  return { subject: subject.id, wool: wool.id };
}

/** Where a point of the picture lies on the screen. @param {Person} person  @param {Point} at @returns {Promise<Point>} */
const onScreen = (person, at) => person.js(`const glass = document.querySelector('.board-glass'); const box = glass.getBoundingClientRect(); const [scale, x, y] = glass.dataset.view.split(' ').map(Number);
  return [Math.round(box.left + x + arguments[0][0] * scale), Math.round(box.top + y + arguments[0][1] * scale)]`, at);

/** @param {Person} person  @param {Point[]} line  @param {number} [ms] between two places */
async function draw(person, line, ms = 25) {
  const [first, ...rest] = await Promise.all(line.map((at) => onScreen(person, at)));
  await person.finger([{ type: 'pointerMove', duration: 0, x: first[0], y: first[1] }, { type: 'pointerDown', button: 0 }, ...rest.map(([x, y]) => ({ type: 'pointerMove', duration: ms, x, y })), { type: 'pause', duration: 60 }, { type: 'pointerUp', button: 0 }]);
}

/** @param {Person} person  @param {Point} at */
async function tapOn(person, at) {
  const [x, y] = await onScreen(person, at);
  await person.finger([{ type: 'pointerMove', duration: 0, x, y }, { type: 'pointerDown', button: 0 }, { type: 'pause', duration: 12 }, { type: 'pointerUp', button: 0 }, { type: 'pause', duration: 400 }]);
}

const figures = (/** @type {Person} */ person) => person.js(`return document.querySelector('[data-testid=figures]').textContent`);
/** What the screen says it encloses, in cm². @param {Person} person */
const area = async (person) => Number(/([\d.]+) cm²/.exec(await figures(person))?.[1] ?? 0);
const hint = (/** @type {Person} */ person) => person.see('[data-testid=hint]');

/** @param {Person} person  @param {string} picture */
async function opens(person, picture) {
  await person.to(`#/outline/${picture}`);
  await person.see('[data-mode=find]');
  await person.until(() => person.js(`return Boolean(document.querySelector('.board-glass')?.dataset.view)`), 'the picture to be seen');
}

/** What axe-core finds on this screen. @param {Person} person */
async function faultsOf(person) {
  await person.js(`if (!window.axe) { ${axe} }`);
  const found = await person.later(`return (await axe.run(document, { preload: false, resultTypes: ['violations'], runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'], rules: { 'color-contrast-enhanced': { enabled: true } } })).violations.map(({ id, nodes }) => id + ' ' + nodes.map((n) => n.target).join(', '))`);
  assert.deepEqual(found, []);
}

describe('outlines, and a piece over them', { concurrency: true }, () => {
  for (const kind of browsers) test(kind, async (t) => {
    const [server, window] = await Promise.all([serve(), browser(kind)]);
    t.after(() => Promise.all([window.close(), server.stop()]));
    let person = await window.open(server.url);
    const { subject, wool } = await begun(person);

    // By one tap: the cow is 107 cm² by its own mask, at the scale of the photo's plane (testdata/photos/cow.json).
    const truth = cow.mask_area_px * cow.mm_per_px_in_plane_at_image_centre ** 2 / 100;
    await opens(person, subject);
    await tapOn(person, [500, 520]);
    await person.until(async () => Math.abs(await area(person) / truth - 1) < 0.03, `about ${truth} cm²`, 60_000);
    await faultsOf(person);

    // Mended by hand: a hump on its back, undone and done again, also after the browser was killed.
    await person.tap('[data-mode=draw]');
    const found = await area(person);
    await draw(person, [[430, 430], [440, 300], [520, 290], [540, 432]], 60);
    await person.until(async () => await area(person) > found + 5, 'a hump');
    const humped = await area(person);
    await person.driver.sleep(600); // the draft is written a moment later
    await window.kill();
    person = await window.open(server.url);
    await opens(person, subject);
    await person.until(async () => await area(person) === humped, 'the hump to be there again');
    await person.tap('[data-testid=undo]');
    await person.until(async () => await area(person) === found, 'the hump to be undone');
    await person.tap('[data-testid=undo]');
    await person.until(async () => await figures(person) === '', 'nothing to be left');
    await person.press('rr');
    await person.until(async () => await area(person) === humped, 'all of it to be done again');
    await person.press('u');
    await person.until(async () => await area(person) === found, 'the hump to be undone once more');

    // Point by point, by keys alone: chosen, moved, taken out.
    await person.press('p');
    await person.press('\uE00F'); // page down: the next point
    await person.until(() => person.js(`return Boolean(document.querySelector('[data-nudge=up]'))`), 'a point to be chosen');
    const before = await figures(person);
    await person.chord('\uE008', '\uE013'); // shift and arrow up: ten points of the picture
    await person.until(async () => await figures(person) !== before, 'the point to be moved');
    await faultsOf(person);
    await person.press('u');
    await person.until(async () => await figures(person) === before, 'the point to be where it was');

    // A hole, drawn as a loop inside; then kept.
    await person.press('d');
    await draw(person, [[380, 500], [440, 500], [440, 560], [380, 560], [381, 504]], 60);
    await person.until(() => person.js(`return document.querySelectorAll('.ring-row').length > 1`), 'a hole in the list');
    await person.tap('[data-testid=keep]');
    await person.until(async () => (await person.js('return location.hash')).startsWith('#/photo/'), 'the outline to be kept');
    await person.miss('[data-mode=find]');
    const kept = await app.ask(person, 'view', { name: 'photo', id: subject });
    assert.equal(kept.outlines.length, 1);
    assert.ok(kept.outlines[0].rings.length >= 2);
    assert.deepEqual(Object.keys(await app.ask(person, 'drafts', {})).filter((key) => key.startsWith('outline:')), [], 'no draft is left');

    // A line that snaps: drawn some 10 px beside the back, it lies on the back.
    await opens(person, wool);
    await person.tap('[data-mode=snap]');
    await draw(person, Array.from({ length: 16 }, (_, i) => /** @type {Point} */ ([260 + i * 20, 405 + (i % 2 ? 12 : -8)])), 60);
    await person.until(async () => (await hint(person)).includes(w.go_on_or_close.slice(0, 12)), 'the line to be laid', 20_000);
    await person.tap('[data-testid=undo]');
    await person.tap('[data-mode=find]');
    await person.tap('[data-testid=find]');
    await person.until(async () => Math.abs(await area(person) / truth - 1) < 0.03, 'the piece to be found without a tap', 60_000);
    await person.tap('[data-testid=keep]');
    await person.until(async () => (await person.js('return location.hash')).startsWith('#/photo/'), 'the piece’s outline to be kept');

    // Over the outline: the engine brings them together, a hand moves them apart, and that can be undone.
    await person.to(`#/overlay/${wool}`);
    await person.see('[data-testid=together]');
    const fit = () => person.js(`return Number(/^(\\d+)/.exec(document.querySelector('[data-testid=fit]').textContent)?.[1] ?? -1)`);
    await person.tap('[data-testid=together]');
    await person.until(() => person.js(`return document.getElementById('say').textContent === arguments[0]`, /** @type {any} */ (words).overlay.together_now), 'the two to be brought together', 60_000);
    let best = -1;
    await person.until(async () => { const now = await fit(); const same = now === best; best = now; return same && now > 80; }, 'them to lie on each other', 20_000);
    await person.tap('[data-way=hand]');
    for (let i = 0; i < 12; i++) await person.tap('[data-move=up]');
    await person.until(async () => { const now = await fit(); return now > 0 && now < best; }, 'them to lie apart', 20_000);
    await faultsOf(person);
    await person.until(async () => { await person.driver.sleep(400); if (await fit() === best) return true; await person.press('u'); return false; }, 'it to be undone', 30_000);
    assert.deepEqual(await person.faults(), []);
  });
});
