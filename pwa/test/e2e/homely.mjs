// What a person knows of the way home in this app: pairing, what is said of it at the top of every screen, pictures.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { strFromU8, unzipSync } from 'fflate';
import * as app from './app.mjs';
import { folder } from './harness.mjs';

/** @typedef {import('./person.mjs').Person} Person  @typedef {import('./home.mjs').Home} Home */

/** The place at the top of every screen that tells of home. */
export const sign = '[data-testid=home]';

/** Types a code from the terminal. @param {Person} person  @param {string} code  @param {string} name */
export async function pair(person, code, name) {
  if (!(await person.js('return location.hash')).startsWith('#/pair')) await person.to('#/pair');
  await person.type('input[name=code]', code);
  await person.type('input[name=device]', name);
  await person.tap('[data-testid=pair]');
  await person.until(async () => (await about(person)).paired, 'the device to be paired');
}

/** What the bench knows of home. @param {Person} person @returns {Promise<any>} */
export const about = (person) => app.ask(person, 'view', { name: 'home' });

/** Waits until everything is home, and the screen says so. @param {Person} person  @param {number} [ms] */
export async function allHome(person, ms = 30_000) {
  let seen;
  await person.until(async () => { seen = await about(person); return seen.state === 'home'; }, 'all to be home', ms).catch((error) => { throw new Error(`${error.message}\n--- home: ${JSON.stringify(seen)}`, { cause: error }); });
  await person.see(`${sign}[data-state=home]`);
}

/** Waits until this waits, and what the screen says of it. @param {Person} person  @param {string} state @returns {Promise<string>} */
export async function said(person, state) {
  return person.see(`${sign}[data-state=${state}]`);
}

/** A picture from the gallery. @param {Person} person  @param {string} project */
export async function addPicture(person, project) {
  await person.to(`#/pictures/${project}`);
  await person.see('h1');
  await (await person.driver.findElement({ css: 'input[name=picture]' })).sendKeys(fileURLToPath(new URL('../../app/icons/icon-512.png', import.meta.url)));
  await person.tap('[data-testid=keep-picture]');
  await seesPicture(person);
}

/** Waits until a picture is on the screen, drawn. @param {Person} person */
export async function seesPicture(person) {
  await person.until(() => person.js(`const picture = document.querySelector('[data-picture] img'); return Boolean(picture?.complete && picture.naturalWidth > 0)`), 'a picture to be drawn');
}

/** Each change of a file of ours, as one line that tells it from every other. @param {Uint8Array} zip @returns {string[]} */
function lines(zip) {
  const files = unzipSync(zip);
  return Object.keys(files).filter((name) => /^changes(-\d+)?\.json$/.test(name))
    .flatMap((name) => JSON.parse(strFromU8(files[name])).changes)
    .map((one) => JSON.stringify([one.kind, one.id, one.field, one.stamp, one.base, one.value], sorted)).sort();
}

/** Objects by their keys: in which order they stand means nothing. @param {string} _  @param {any} value */
const sorted = (_, value) => (value && typeof value === 'object' && !Array.isArray(value) ? Object.fromEntries(Object.entries(value).sort(([a], [b]) => (a < b ? -1 : 1))) : value);

/** Every change on a device. @param {Person} person */
export async function onDevice(person) {
  const base64 = await person.later(`const { ask } = await import(args[0]); const { blob } = await ask('export', {}); const bytes = new Uint8Array(await blob.arrayBuffer());
    let text = ''; for (let n = 0; n < bytes.length; n += 8192) text += String.fromCharCode(...bytes.subarray(n, n + 8192)); return btoa(text);`, await app.bench(person));
  return lines(new Uint8Array(Buffer.from(base64, 'base64')));
}

/** Every change at home. @param {Home} home */
export async function atHome(home) {
  const file = join(folder(), 'all.zip');
  await home.command('export', file);
  return lines(readFileSync(file));
}

/** Nothing is on one side alone. @param {string[]} device  @param {string[]} home */
export function same(device, home) {
  const [here, there] = [new Set(device), new Set(home)];
  const [lost, unknown] = [device.filter((one) => !there.has(one)), home.filter((one) => !here.has(one))];
  assert.ok(!lost.length && !unknown.length, `${lost.length} changes are on this side alone and ${unknown.length} on the other:\n${[...lost.slice(0, 3), '--', ...unknown.slice(0, 3)].join('\n')}`);
}
