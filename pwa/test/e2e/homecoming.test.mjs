// From the welcome page to everything at home, with the real program and its real certificate, in both browsers: trust, pairing, a day
// at the fair with no network, home again, a second device, two answers, an old backup, a device that is struck off.
import assert from 'node:assert/strict';
import { join } from 'node:path';
import { describe, test } from 'node:test';
import { setTimeout as wait } from 'node:timers/promises';
import * as app from './app.mjs';
import { words } from './app.mjs';
import { browser, folder } from './harness.mjs';
import { fingerprint, openHome, trustingBrowsers } from './home.mjs';
import { about, addPicture, allHome, atHome, onDevice, pair, said, same, seesPicture } from './homely.mjs';
import { animal, begin, countAnimal } from './story.mjs';

/** @typedef {import('./person.mjs').Person} Person  @typedef {import('./home.mjs').Home} Home */

describe('coming home', { concurrency: true }, () => {
  for (const kind of trustingBrowsers()) test(kind, async (t) => {
    const home = await openHome();
    const closing = [home.stop];
    t.after(() => Promise.all(closing.map((close) => close())));
    const authority = await home.authority();
    /** A browser of its own. @param {string} url  @param {string | null} [trusted] */
    const opened = async (url, trusted = authority) => {
      const window = await browser(kind, { known: { host: home.host, authority: trusted } });
      closing.push(window.close);
      return { person: await window.open(url), close: window.close };
    };

    await t.test('the welcome page gives the authority’s file, and knows who does not trust yet', async () => welcomes(home, await opened(home.welcome, null)));
    const { person: phone } = await opened(home.welcome);
    await t.test('it hands a device that trusts home over to the app, which installs and is paired', () => handsOver(home, phone));
    const backup = join(folder(), 'early.zip');
    await t.test('a day with no network: counting, a picture, reloads; it says what waits, and once home is there it is brought without a tap', () => dayAway(home, phone));
    const { person: tablet } = await opened(home.local);
    await t.test('a second device shows the readings and the picture', () => secondDevice(home, tablet));
    await home.command('backup', backup);
    await t.test('home is killed again and again while hundreds of readings are brought: none is lost', (t) => killed(home, phone, t));
    await t.test('one name given differently on both, apart: both answers on both, and one choice settles it', () => apart(home, phone, tablet));
    await t.test('an old backup is put back: the devices bring everything again, and it is said', () => restored(home, phone, tablet, backup));
    await t.test('a device that is struck off is told, keeps what it has, and home takes nothing more from it', () => struck(home, phone, tablet));
    assert.deepEqual([...await phone.faults(), ...await tablet.faults()], []);
    assert.doesNotMatch(home.output(), /panic|goroutine/);
  });
});

/** What the welcome page has found out about the device. @param {Person} person */
const verdict = (person) => person.until(() => person.js(`const state = document.querySelector('[data-when]:not([hidden])').dataset.when; return ['checking', 'unknown'].includes(state) ? null : state`), 'the welcome page to know');

/** @param {Home} home  @param {{person: Person, close: () => Promise<void>}} stranger */
async function welcomes(home, { person, close }) {
  const file = await fetch(`${home.welcome}needlesight-home.crt`);
  assert.equal(file.headers.get('Content-Type'), 'application/x-x509-ca-cert');
  const sum = fingerprint(new Uint8Array(await file.arrayBuffer()));
  assert.equal((await person.see('.fingerprint')).replaceAll(' ', ':'), sum, 'the page shows the fingerprint of the file');
  assert.ok(home.output().replace(/\s+/g, ':').includes(sum), 'and so does the terminal');
  assert.equal(await verdict(person), 'untrusted');
  await person.miss('#open');
  assert.equal((await fetch(`${home.welcome}api/home`)).status, 404, 'nothing but the page is there over plain HTTP');
  await close();
}

/** @param {Home} home  @param {Person} person */
async function handsOver(home, person) {
  assert.equal(await verdict(person), 'trusted');
  await person.tap('#open');
  await person.see('input[name=code]');
  assert.equal(await person.js('return location.href'), `${home.url}#/pair`);
  assert.equal(await person.js('return isSecureContext'), true);
  await person.installed();
  await pair(person, await home.code(), 'Phone');
  await allHome(person);
}

/** @param {Home} home  @param {Person} person */
async function dayAway(home, person) {
  await home.stop();
  await person.to('#/');
  await begin(person);
  await countAnimal(person);
  const [{ id }] = (await app.ask(person, 'view', { name: 'projects' })).projects;
  await addPicture(person, id);
  await person.driver.navigate().refresh();
  await seesPicture(person);
  const sign = await said(person, 'waiting');
  const waits = await about(person);
  assert.equal(sign, words.way.short.waiting(waits.changes, waits.pictures));
  assert.ok(waits.changes > Object.keys(animal).length, `${waits.changes} changes wait`);
  assert.equal(waits.pictures, 1);
  await person.driver.navigate().refresh();
  assert.equal((await about(person)).changes, waits.changes, 'the same waits after a reload');

  await home.start();
  await allHome(person, 70_000); // it may have to wait for its next try
  same(await onDevice(person), await atHome(home));
}

/** @param {Home} home  @param {Person} person */
async function secondDevice(home, person) {
  await person.see({ css: 'h1', text: words.projects.title });
  await pair(person, await home.code(), 'Tablet');
  await allHome(person);
  await person.to('#/');
  await person.tap({ css: 'a', text: /^Marten/ });
  await person.reads(/2\.5 ± 0\.\d+/);
  const [{ id }] = (await app.ask(person, 'view', { name: 'projects' })).projects;
  await person.to(`#/pictures/${id}`);
  await seesPicture(person);
}

/** @param {Home} home  @param {Person} person  @param {import('node:test').TestContext} t */
async function killed(home, person, t) {
  const [{ id: project }] = (await app.ask(person, 'view', { name: 'projects' })).projects;
  const seen = await app.ask(person, 'view', { name: 'project', id: project });
  const waited = [];
  let patience = 100; // ms; what is found out each time brings it nearer to the moment in which things are on their way
  await home.kill();
  for (let round = 0; round < 5; round++) {
    await takeIn(person, 1500 * round, 1500);
    await read(person, seen, 40);
    await home.start();
    await app.ask(person, 'tryNow');
    await wait(patience);
    await home.kill();
    const left = (await about(person)).changes;
    waited.push(`${left} after ${Math.round(patience)} ms`);
    patience *= left ? 1.6 : 0.5;
  }
  t.diagnostic(`when home was killed there waited ${waited.join(', ')}`);
  await home.start();
  await app.ask(person, 'tryNow');
  await allHome(person, 70_000);
  same(await onDevice(person), await atHome(home));
  assert.match(await home.command('verify'), /all is well/i);
}

/** Takes in a file with so many names of parts: more than goes in one push. @param {Person} person  @param {number} first  @param {number} many */
async function takeIn(person, first, many) {
  const ids = Array.from({ length: many }, (_, n) => first + n).map((i) => `strand${[...i.toString().padStart(10, '0')].map((digit) => 'abcdefghij'[Number(digit)]).join('')}`);
  const changes = ids.map((id, i) => ({ kind: 'part', id, field: 'name', value: `strand ${first + i} of wool`, stamp: [first + i + 1, 'anotherphoneabcd'], base: null }));
  await person.later(`const { ask } = await import(args[0]);
    const { token } = await ask('importPreview', { bytes: new TextEncoder().encode(args[1]) }); await ask('importApply', { token })`, await app.bench(person), JSON.stringify({ format: 'needlesight-changes', version: 1, made: '2026-11-25', changes }));
}

/** Reads one part so many times. @param {Person} person  @param {any} seen the view of the project  @param {number} times */
async function read(person, seen, times) {
  const { id: sitting } = await app.ask(person, 'startSitting', { project: seen.id, of: 'subject', method: 'sight', unit: seen.unit, view: 'side', denominator: 4 });
  await person.later(`const [module, sitting, part, times] = args; const { ask } = await import(module); await Promise.all(Array.from({ length: times }, (_, i) => ask('keepReading', { sitting, part, value: 2 + i / 100, denominator: 4 })))`, await app.bench(person), sitting, seen.parts[1].id, times);
}

/** @param {Home} home  @param {Person} phone  @param {Person} tablet */
async function apart(home, phone, tablet) {
  const [{ id }] = (await app.ask(phone, 'view', { name: 'projects' })).projects;
  await app.ask(tablet, 'tryNow');
  await allHome(tablet, 70_000);
  await home.stop();
  for (const [person, name] of /** @type {[Person, string][]} */ ([[phone, 'Pine marten'], [tablet, 'Stone marten']])) {
    await person.to(`#/project/${id}`);
    await person.see({ css: 'h1', text: 'Marten' });
    await app.ask(person, 'set', { kind: 'project', id, field: 'name', value: name });
  }
  await home.start();
  for (const person of [phone, tablet]) await app.ask(person, 'tryNow');
  for (const person of [phone, tablet]) {
    for (const name of ['Pine marten', 'Stone marten']) await person.see({ css: '.card button', text: name }, 70_000);
  }
  await phone.tap({ css: '.card button', text: 'Stone marten' });
  for (const person of [phone, tablet]) {
    await person.miss({ css: '.card button', text: 'Pine marten' });
    await person.see({ css: 'h1', text: 'Stone marten' });
    await allHome(person);
  }
  same(await onDevice(phone), await onDevice(tablet));
}

/** @param {Home} home  @param {Person} phone  @param {Person} tablet  @param {string} backup */
async function restored(home, phone, tablet, backup) {
  const [{ id }] = (await app.ask(phone, 'view', { name: 'projects' })).projects;
  await addPicture(phone, id); // which the backup does not have
  await allHome(phone);
  await home.stop();
  await assert.rejects(home.command('restore', backup), 'what is there is not overwritten unless told');
  await home.command('restore', backup, '--overwrite');
  await home.start();
  for (const person of [phone, tablet]) await app.ask(person, 'tryNow');
  await phone.until(async () => (await about(phone)).again || (await about(tablet)).again, 'it to be said that home was put back', 70_000);
  for (const person of [phone, tablet]) await allHome(person, 70_000);
  same(await onDevice(phone), await atHome(home));
  same(await onDevice(tablet), await atHome(home));
  assert.match(await home.command('verify'), /all is well/i, 'every picture that a record refers to is there again');
}

/** @param {Home} home  @param {Person} phone  @param {Person} tablet */
async function struck(home, phone, tablet) {
  const before = await onDevice(tablet);
  const { device } = await about(tablet);
  await phone.to('#/devices');
  await phone.tap(`[data-device="${device.id}"] [data-testid=strike]`);
  await phone.tap('[data-testid=strike-yes]');
  await said(tablet, 'stopped');
  const told = await about(tablet);
  assert.equal(told.why, 'wire-struck');
  assert.equal(told.struck, true);
  same(await onDevice(tablet), before);
  await app.ask(tablet, 'newProject', { name: 'Wolverine', animal: 'other' });
  await app.ask(tablet, 'tryNow');
  await app.ask(phone, 'newProject', { name: 'Polecat', animal: 'other' });
  await allHome(phone);
  const there = (await atHome(home)).join('\n');
  assert.ok(there.includes('Polecat') && !there.includes('Wolverine'), 'home takes from the one and not from the other');
}
