// What a person knows of pictures in this app: how one is taken in, where its px are on the screen, how a pin is set by thumb and by keys.
import { inflateSync } from 'node:zlib';
import webdriver from 'selenium-webdriver';
import { until } from './processes.mjs';
import * as app from './app.mjs';
import { words as all } from '../../app/words.js';
import '../../app/words-pictures.js';

const { Key } = webdriver;
/** @type {any} what the app says */
export const words = all;

/** @typedef {import('./person.mjs').Person} Person  @typedef {[number, number]} Point */

/** Waits until what looks at pictures is on this device, too. @param {Person} person */
export async function lookingInstalled(person) {
  await person.installed();
  const here = () => person.later(`for (const name of await caches.keys()) for (const { url } of await (await caches.open(name)).keys()) if (/\\/pictures\\.[0-9a-f]+\\.wasm$/.test(url)) return true; return false`);
  await until(here, 'the engine that looks at pictures to be installed', 60_000);
}

/** What a picture's screen knows. @param {Person} person  @param {string} picture */
export const photo = (person, picture) => app.ask(person, 'view', { name: 'photo', id: picture });

/** Chooses a file in the gallery, as the system's own window would give it. @param {Person} person  @param {string} project  @param {string} file */
export async function choose(person, project, file) {
  await person.to(`#/pictures/${project}`);
  await person.see('h1');
  await (await person.driver.findElement({ css: 'input[name=picture]' })).sendKeys(file);
  await person.see('[data-testid=keep-picture]');
}

/** @param {Person} person */
export const drawn = (person) => person.until(() => person.js(`return Boolean(document.querySelector('.board-glass')?.dataset.view)`), 'the picture to be drawn');

/** Where a px of the picture is on the page. @param {Person} person  @param {Point} at @returns {Promise<Point>} */
export const onPage = (person, [x, y]) => person.js(`const canvas = document.querySelector('.board-glass'); const box = canvas.getBoundingClientRect(); const [scale, left, top] = canvas.dataset.view.split(' ').map(Number);
  return [Math.round(box.left + left + arguments[0] * scale), Math.round(box.top + top + arguments[1] * scale)]`, x, y);

/** @param {Person} person  @param {Point} at in the picture */
export async function tapAt(person, at) {
  const [x, y] = await onPage(person, at);
  await person.finger([{ type: 'pointerMove', duration: 0, x, y }, { type: 'pointerDown', button: 0 }, { type: 'pause', duration: 20 }, { type: 'pointerUp', button: 0 }, { type: 'pause', duration: 400 }]);
}

/** A finger that draws. @param {Person} person  @param {Point[]} line in the picture  @param {number} [ms] between two places */
export async function drag(person, line, ms = 40) {
  const [first, ...rest] = await Promise.all(line.map((at) => onPage(person, at)));
  await person.finger([{ type: 'pointerMove', duration: 0, x: first[0], y: first[1] }, { type: 'pointerDown', button: 0 }, ...rest.map(([x, y]) => ({ type: 'pointerMove', duration: ms, x, y })), { type: 'pause', duration: 60 }, { type: 'pointerUp', button: 0 }]);
}

/** The pins that are not kept yet, as they are held for a phone that dies. @param {Person} person  @param {string} picture  @param {number} n @returns {Promise<Point[]>} */
export const pins = (person, picture, n) => person.until(async () => {
  const [draft, shown] = [await app.ask(person, 'drafts', { key: `photo:${picture}` }), await person.js('return document.querySelectorAll("[data-handle]").length')];
  return shown === n && draft?.pins.length === n ? draft.pins.map((/** @type {any} */ { at }) => at) : null;
}, `${n} pins`);

/** How many px right and down a pin must go. @param {Person} person  @param {string} picture  @param {number} i  @param {number} n of pins  @param {Point} to @returns {Promise<Point>} */
async function way(person, picture, i, n, to) {
  const at = (await pins(person, picture, n))[i];
  return [Math.round(to[0] - at[0]), Math.round(to[1] - at[1])];
}

/** Two pins by thumb: tapped, and stepped to the px with the four buttons. @param {Person} person  @param {string} picture  @param {Point[]} ends */
export async function byThumb(person, picture, ends) {
  await drawn(person);
  for (let i = 0; i < 2; i++) { await tapAt(person, ends[i]); await pins(person, picture, i + 1); }
  for (const i of [1, 0]) { // the one set last is chosen
    if (i === 0) await tapAt(person, ends[0]);
    const [right, down] = await way(person, picture, i, 2, ends[i]);
    if (right) await person.tap(`[data-nudge=${right > 0 ? 'onward' : 'left'}]`, Math.abs(right));
    if (down) await person.tap(`[data-nudge=${down > 0 ? 'down' : 'up'}]`, Math.abs(down));
    await there(person, picture, i, ends[i]);
  }
}

/** Two pins by keys alone: each is put in the middle of the glass, and stepped from there. @param {Person} person  @param {string} picture  @param {Point[]} ends */
export async function byKeys(person, picture, ends) {
  await drawn(person);
  for (let n = 0; n < 12 && !(await person.focus()).names.includes(words.photo.title); n++) await person.press(Key.TAB);
  for (let i = 0; i < 2; i++) {
    await person.press(Key.ENTER);
    const [right, down] = await way(person, picture, i, i + 1, ends[i]);
    if (i === 0) await person.press(Key.PAGE_DOWN); // the pin set last is chosen once both are there
    await steps(person, right, Key.ARROW_LEFT, Key.ARROW_RIGHT);
    await steps(person, down, Key.ARROW_UP, Key.ARROW_DOWN);
    await there(person, picture, i, ends[i]);
    if (i === 0) await person.press(Key.ESCAPE);
  }
}

/** Ten px at a time with Shift, then one. @param {Person} person  @param {number} by  @param {string} less  @param {string} more */
async function steps(person, by, less, more) {
  const key = by < 0 ? less : more;
  for (let tens = Math.floor(Math.abs(by) / 10); tens > 0; tens--) await person.chord(Key.SHIFT, key);
  for (let ones = Math.abs(by) % 10; ones > 0; ones--) await person.press(key);
}

/** @param {Person} person  @param {string} picture  @param {number} i  @param {Point} to */
const there = (person, picture, i, to) => person.until(async () => {
  const draft = await app.ask(person, 'drafts', { key: `photo:${picture}` });
  const at = draft?.pins[i]?.at;
  return at && Math.hypot(at[0] - to[0], at[1] - to[1]) < 1;
}, `pin ${i + 1} to be at ${to}`);

/** Which px of a PNG with one bit a px are white (ISO/IEC 15948, 7.3 and 9). @param {Buffer} file @returns {{width: number, height: number, on: (x: number, y: number) => boolean}} */
export function maskOf(file) {
  const [width, height] = [file.readUInt32BE(16), file.readUInt32BE(20)];
  if (file[24] !== 1 || file[25] !== 0 || file[28] !== 0) throw new Error('not a picture of one bit a px');
  const parts = [];
  for (let at = 8; at < file.length; at += 12 + file.readUInt32BE(at)) if (file.toString('latin1', at + 4, at + 8) === 'IDAT') parts.push(file.subarray(at + 8, at + 8 + file.readUInt32BE(at)));
  const [raw, row] = [inflateSync(Buffer.concat(parts)), Math.ceil(width / 8)];
  const rows = Buffer.alloc(row * height);
  for (let y = 0; y < height; y++) for (let x = 0; x < row; x++) {
    const left = x ? rows[y * row + x - 1] : 0;
    const up = y ? rows[(y - 1) * row + x] : 0;
    rows[y * row + x] = raw[y * (row + 1) + 1 + x] + guess(raw[y * (row + 1)], left, up, x && y ? rows[(y - 1) * row + x - 1] : 0);
  }
  return { width, height, on: (x, y) => ((rows[y * row + (x >> 3)] >> (7 - (x & 7))) & 1) === 1 };
}

/** What a filter of a PNG guesses a byte to be. @param {number} filter  @param {number} left  @param {number} up  @param {number} corner */
function guess(filter, left, up, corner) {
  if (filter < 4) return [0, left, up, (left + up) >> 1][filter];
  const off = [left, up, corner].map((one) => Math.abs(left + up - corner - one));
  return off[0] <= off[1] && off[0] <= off[2] ? left : off[1] <= off[2] ? up : corner;
}

/** Which share of an outline and of a mask both have: intersection over union, at the px's middles. @param {Point[][]} rings  @param {ReturnType<typeof maskOf>} mask */
export function sharing(rings, { width, height, on }) {
  let [both, either] = [0, 0];
  for (let y = 0; y < height; y++) {
    const cuts = rings.flatMap((ring) => ring.flatMap(([ax, ay], i) => {
      const [bx, by] = ring[(i + 1) % ring.length];
      return (ay > y + 0.5) !== (by > y + 0.5) ? [((bx - ax) * (y + 0.5 - ay)) / (by - ay) + ax] : [];
    })).sort((a, b) => a - b);
    for (let x = 0, n = 0; x < width; x++) {
      while (n < cuts.length && cuts[n] <= x + 0.5) n++;
      if (n % 2 === 1 && on(x, y)) both++;
      if (n % 2 === 1 || on(x, y)) either++;
    }
  }
  return both / either;
}
