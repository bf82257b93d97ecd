// A photo with a card in it, measured by thumb and by keyboard: the figures are held against how the photo was rendered.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { describe, test } from 'node:test';
import webdriver from 'selenium-webdriver';
import * as app from './app.mjs';
import { browser, browsers, desk, serve } from './harness.mjs';

const { Key } = webdriver;
const photo = new URL('../../engine/testdata/photos/cow.png', import.meta.url);
/** Where the card and the camera were when the photo was rendered. */
const truth = JSON.parse(readFileSync(new URL('cow.json', photo), 'utf8'));

/** @typedef {import('./person.mjs').Person} Person  @typedef {[number, number]} Point */

// Both browsers at once: each has a core to itself.
describe('measuring on a photo', { concurrency: 2 }, () => {
  for (const kind of browsers) {
    test(`${kind}: the card gives the scale, a thumb the lengths`, async (t) => {
      const [server, window] = await Promise.all([serve(), browser(kind)]);
      t.after(() => Promise.all([window.close(), server.stop()]));
      const person = await window.open(server.url);
      const { picture } = await begun(person);
      await scale(person, picture);
      await byThumb(person, picture);
      await takenBack(person, picture);
      assert.deepEqual(await person.faults(), []);
    });
    test(`${kind}: the same by keys alone, to the px`, async (t) => {
      const [server, window] = await Promise.all([serve(), browser(kind, { size: desk })]);
      t.after(() => Promise.all([window.close(), server.stop()]));
      const person = await window.open(server.url);
      const { picture, parts } = await begun(person);
      await byKeys(person, picture, parts);
      assert.deepEqual(await person.faults(), []);
    });
  }
});

/** An animal with two parts and a photo. @param {Person} person */
async function begun(person) {
  await person.see('h1');
  const { id: project } = await app.ask(person, 'newProject', { name: 'Cow', animal: 'other', parts: [{ name: 'body length', axis: 'length' }, { name: 'leg', axis: 'length' }] });
  const { parts } = await app.ask(person, 'view', { name: 'project', id: project });
  const picture = await person.later(`const [module, project, text] = args; const { ask } = await import(module);
    const file = new Blob([Uint8Array.from(atob(text), (c) => c.charCodeAt(0))], { type: 'image/png' });
    return (await ask('addPicture', { project, file, view: 'side', name: 'Side' })).id`, await app.bench(person), project, readFileSync(photo).toString('base64'));
  return { picture, parts };
}

/** @param {Person} person  @param {string} picture */
const view = (person, picture) => app.ask(person, 'view', { name: 'photo', id: picture });

/** The card is found by itself; its corners are the ones it was rendered with. @param {Person} person  @param {string} picture */
async function scale(person, picture) {
  await person.to(`#/plane/${picture}`);
  await person.tap('[data-testid=understood]');
  await person.tap('[data-testid=keep][aria-disabled=false]');
  await person.see('[data-testid=figure]');
  const { plane } = (await view(person, picture)).picture;
  const found = plane.corners.map((/** @type {Point} */ at) => Math.min(...truth.card.corners_px.map((/** @type {Point} */ other) => Math.hypot(at[0] - other[0], at[1] - other[1]))));
  const mean = found.reduce((sum, one) => sum + one, 0) / 4;
  assert.ok(mean <= 1.5, `the corners are ${mean.toFixed(2)} px off on average`);
}

/** Where a px of the picture is on the page. @param {Person} person  @param {Point} at @returns {Promise<Point>} */
const onPage = (person, [x, y]) => person.js(`const canvas = document.querySelector('.board-glass'); const box = canvas.getBoundingClientRect(); const [scale, left, top] = canvas.dataset.view.split(' ').map(Number);
  return [Math.round(box.left + left + arguments[0] * scale), Math.round(box.top + top + arguments[1] * scale)]`, x, y);

/** @param {Person} person  @param {Point} at in the picture */
async function tapAt(person, at) {
  await person.until(() => person.js(`return Boolean(document.querySelector('.board-glass')?.dataset.view)`), 'the picture to be drawn');
  const [x, y] = await onPage(person, at);
  await person.finger([{ type: 'pointerMove', duration: 0, x, y }, { type: 'pointerDown', button: 0 }, { type: 'pause', duration: 20 }, { type: 'pointerUp', button: 0 }]);
}

/** The pins there are, by what a screen reader calls them. @param {Person} person  @param {number} n */
const pins = (person, n) => person.until(async () => (await person.js('return document.querySelectorAll("[data-handle]").length')) === n, `${n} pins`);

/** How long a length on the cloth is, by the camera the photo was rendered with. @param {Point[]} ends */
function trueLength(ends) {
  const m = truth.plane_homography_px_to_mm;
  const [a, b] = ends.map(([x, y]) => { const d = m[2][0] * x + m[2][1] * y + m[2][2]; return [(m[0][0] * x + m[0][1] * y + m[0][2]) / d, (m[1][0] * x + m[1][1] * y + m[1][2]) / d]; });
  return Math.hypot(a[0] - b[0], a[1] - b[1]);
}

/** Two taps and a drag by the knob, and the length is right. @param {Person} person  @param {string} picture */
async function byThumb(person, picture) {
  await person.see({ css: 'h1', text: 'Body length' });
  await tapAt(person, [230, 420]);
  await pins(person, 1);
  await tapAt(person, [690, 560]);
  await pins(person, 2);
  // The one set last is chosen: its knob hangs 62 px below it, and the pin goes as the thumb does.
  const [x, y] = await onPage(person, [690, 560]);
  const steps = Array.from({ length: 8 }, (_, i) => ({ type: 'pointerMove', duration: 16, x: x - 2 * (i + 1), y: y + 62 - 5 * (i + 1) }));
  await person.finger([{ type: 'pointerMove', duration: 0, x, y: y + 62 }, { type: 'pointerDown', button: 0 }, ...steps, { type: 'pause', duration: 60 }, { type: 'pointerUp', button: 0 }]);
  await person.tap('[data-testid=keep][aria-disabled=false]');
  await person.see({ css: 'h1', text: 'Leg' });
  const { readings } = await view(person, picture);
  assert.equal(readings.length, 1);
  const [{ pins: [a, b], mm }] = readings;
  assert.ok(Math.hypot(a[0] - 230, a[1] - 420) < 4, `the first pin is where the thumb was: ${a}`);
  const size = Number(await person.js(`return document.querySelector('.board-glass').dataset.view.split(' ')[0]`));
  assert.ok(Math.hypot(b[0] - (690 - 16 / size), b[1] - (560 - 40 / size)) < 4, `the second went with it: ${b}`);
  const right = trueLength([a, b]);
  assert.ok(Math.abs(mm / right - 1) < .005, `${mm} mm of ${right} mm`);
}

/** The glass has the focus; Enter puts a pin in its middle, arrows step one by a px. @param {Person} person  @param {string} picture  @param {any[]} parts */
async function byKeys(person, picture, parts) {
  await person.to(`#/photo/${picture}`);
  await person.see({ css: 'h1', text: 'Body length' });
  await person.until(() => person.js(`return Boolean(document.querySelector('.board-glass')?.dataset.view)`), 'the picture to be drawn');
  await person.tabTo('Measure on the picture');
  await person.press(Key.ENTER);
  await pins(person, 1);
  await person.press(Key.ARROW_RIGHT, Key.ARROW_RIGHT); // nothing is chosen: the picture slides, when it is larger than the glass
  await person.press('+', '+', '+');
  await person.driver.sleep(700);
  await person.press(Key.ARROW_DOWN, Key.ARROW_DOWN);
  await person.press(Key.ENTER);
  await pins(person, 2);
  const before = await drafted(person, picture);
  await person.press(Key.ARROW_RIGHT);
  await person.chord(Key.SHIFT, Key.ARROW_UP);
  await person.until(async () => (await drafted(person, picture))[1][0] === before[1][0] + 1, 'the pin to be a px further right');
  assert.deepEqual(await drafted(person, picture), [before[0], [before[1][0] + 1, before[1][1] - 10]], 'and ten further up, and the other where it was');
  await person.press('k');
  await person.until(async () => (await view(person, picture)).readings.some((/** @type {any} */ one) => one.part === parts[0].id), 'the length to be kept');
  await person.see({ css: 'h1', text: 'Leg' });
  await person.press('u');
  await person.until(async () => (await view(person, picture)).readings[0].struck, 'the length to be struck out');
}

/** The pins as they are held for a phone that dies. @param {Person} person  @param {string} picture @returns {Promise<Point[]>} */
async function drafted(person, picture) {
  await person.driver.sleep(250);
  return (await app.ask(person, 'drafts', { key: `photo:${picture}` })).pins.map((/** @type {{at: Point}} */ { at }) => at);
}

/** Undo strikes out what was kept last and has its pins again. @param {Person} person  @param {string} picture */
async function takenBack(person, picture) {
  await person.tap('[data-testid=undo][aria-disabled=false]');
  await person.until(async () => (await view(person, picture)).readings[0].struck, 'the length to be struck out');
  await pins(person, 2);
}
