// The same by keys alone: no finger, no mouse. At every stop of Tab one must see where one is.
import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import webdriver from 'selenium-webdriver';
import { cap } from '../../app/words.js';
import * as app from './app.mjs';
import { words } from './app.mjs';
import { browser, browsers, desk, serve } from './harness.mjs';

const { Key } = webdriver;

// Both browsers at once: each has a core to itself.
describe('by keyboard', { concurrency: true }, () => {
  for (const kind of browsers) test(`${kind}: an animal is begun, counted and looked at by keyboard alone, and the focus is always seen`, async (t) => {
    const [server, window] = await Promise.all([serve(), browser(kind, { size: desk })]);
    t.after(() => Promise.all([window.close(), server.stop()]));
    const person = await window.open(server.url);
    await person.see({ css: 'h1', text: words.projects.title });
    await skipLink(person);
    await begin(person);
    await choose(person);
    await count(person);
    assert.deepEqual(await person.faults(), []);
  });
});

/** @param {import('./person.mjs').Person} person */
async function skipLink(person) {
  // A screen that opens has the focus on its heading; the skip link is the first thing before it.
  for (let n = 0; n < 20 && await person.js('return document.activeElement.id') !== 'skip'; n++) await person.chord(Key.SHIFT, Key.TAB);
  assert.equal(await person.js('return document.activeElement.id'), 'skip');
  assert.ok((await person.focus()).visible, 'the skip link is seen when it has the focus');
  const { y } = await person.js('return document.activeElement.getBoundingClientRect()');
  assert.ok(y >= 0, 'and lies on the screen');
  await person.press(Key.ENTER);
  assert.equal(await person.js('return document.activeElement.id'), 'main');
  // The next stop is in the main part, past what is on top.
  await person.press(Key.TAB);
  assert.ok(await person.js('return document.getElementById("main").contains(document.activeElement)'));
}

/** @param {import('./person.mjs').Person} person */
async function begin(person) {
  await person.tabTo(words.projects.add_first);
  await person.press(Key.ENTER);
  await person.see({ css: 'h1', text: words.fresh.title });
  await person.tabTo('kind');
  const kinds = await person.js('return document.querySelectorAll("input[name=kind]").length');
  for (let n = 0; n < kinds && !(await person.focus()).names.includes(cap(words.fresh.kinds.other)); n++) await person.press(Key.ARROW_DOWN);
  assert.ok((await person.focus()).names.includes(cap(words.fresh.kinds.other)));
  await person.tabTo('name');
  await person.press('Marten');
  await person.tabTo('start');
  await person.press(Key.ENTER);
  await person.see({ css: 'h1', text: 'Marten' });
}

/** @param {import('./person.mjs').Person} person */
async function choose(person) {
  await person.tabTo('count');
  await person.press(Key.ENTER);
  await person.see('[data-testid=understood]');
  await person.tabTo('understood');
  await person.press(Key.ENTER);
  await person.see({ css: 'h1', text: words.pad.choose });
  await person.tabTo(words.pad.views.side);
  await person.press(Key.SPACE);
  await person.tabTo('unit');
  await person.press(Key.SPACE);
  await person.until(async () => (await person.focus()).names.includes('Head length'), 'the unit to be the first in the list');
  await person.tabTo('start');
  await person.press(Key.ENTER);
}

/** Space counts, arrows take the fraction, Backspace takes back, Enter keeps, n goes on. @param {import('./person.mjs').Person} person */
async function count(person) {
  await person.see(app.pad);
  assert.equal(await app.part(person), 'body length');
  await person.press(Key.SPACE, Key.SPACE, Key.SPACE);
  await person.see({ css: app.figure, text: '3' });
  await person.press(Key.BACK_SPACE);
  await person.see({ css: app.figure, text: '2' });
  await person.press(Key.ARROW_UP, Key.ARROW_UP);
  await person.see({ css: app.figure, text: '2½' });
  await person.press(Key.ENTER);
  await person.until(async () => (await app.part(person)) === 'body depth', 'the next part by itself');
  await person.press('n');
  await person.until(async () => (await app.part(person)) === 'leg', 'the part to be skipped');
  // The pad is a button too: with the focus on it, Enter and Space are a tap.
  await person.tabTo('pad');
  await person.press(Key.ENTER);
  await person.see({ css: app.figure, text: '1' });
  await person.press(Key.SPACE);
  await person.see({ css: app.figure, text: '2' });
  await person.press('k');
  await person.until(async () => (await app.part(person)) === 'tail', 'the next part by itself');
  await person.tabTo(words.done);
  await person.press(Key.ENTER);
  await person.see({ css: 'h1', text: 'Marten' });
  await person.reads(/2\.5 ± 0\.\d+/);
}
