// Forms as a maker uses them: proposed from the demo's outline, taken piece by piece, moved by finger and keys, bound to a part, and the wire inside.
import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import webdriver from 'selenium-webdriver';
import { words } from '../../app/words.js';
import '../../app/words-more.js';
import '../../app/words-forms.js';
import * as app from './app.mjs';
import { browser, browsers, serve } from './harness.mjs';

const { Key } = webdriver;
const { forms, form: one, wire } = /** @type {any} */ (words);

/** @typedef {import('./person.mjs').Person} Person */

describe('forms', { concurrency: 2 }, () => {
  for (const kind of browsers) test(`${kind}: forms are proposed from an outline and taken one by one, moved, bound to a part, turned into others; the wire follows`, async (t) => {
    const [server, window] = await Promise.all([serve(), browser(kind)]);
    t.after(() => Promise.all([window.close(), server.stop()]));
    const person = await window.open(server.url);
    await person.tap('[data-testid=demo]');
    await person.see({ css: 'h1', text: 'Otter' });
    const otter = (await person.js('return location.hash')).split('/')[2];
    await person.see({ css: '[data-testid=forms]', text: new RegExp(forms.row_none) });
    await person.tap('[data-testid=forms]');
    await proposed(person, otter);
    const [body] = await kept(person, otter);
    await person.tap({ css: '.form-row a', text: /^1 Body/ });
    await moved(person, otter, body.id);
    await bound(person, body.id);
    await drawn(person, body.id);
    await binned(person, otter);
    await wired(person, otter);
    await person.to(`#/project/${otter}`);
    await person.see({ css: '[data-testid=forms]', text: / g core/ });
    assert.deepEqual(await person.faults(), []);
  });
});

/** @param {Person} person  @param {string} project @returns {Promise<any[]>} */
const kept = async (person, project) => (await app.ask(person, 'view', { name: 'forms', project })).forms;
/** @param {Person} person  @param {string} id @returns {Promise<any>} */
const look = async (person, id) => (await app.ask(person, 'view', { name: 'form', id })).form;

/** Asked first which way the head looks; then one is taken, one left, and the rest taken at once. @param {Person} person  @param {string} otter */
async function proposed(person, otter) {
  await person.see('[data-testid=propose]');
  // The demo's maker has said it; somebody else has not yet.
  const { side_outlines: [outline] } = await app.ask(person, 'view', { name: 'forms', project: otter });
  await app.ask(person, 'set', { kind: 'outline', id: outline, field: 'facing', value: null });
  await person.see({ css: '[data-testid=facing] h2', text: forms.facing_ask });
  await person.miss('[data-testid=propose]');
  await person.tap('[data-facing=left]');
  await person.tap('[data-testid=propose]');
  await person.see({ css: '[data-testid=proposed] h2', text: 'Body' });
  const of = Number(/of (\d+)/.exec(await person.see('[data-testid=proposed]'))?.[1]);
  await person.tap('[data-testid=accept]');
  await person.see({ css: '[data-testid=proposed] span', text: forms.nth(2, of) });
  assert.deepEqual((await kept(person, otter)).map(({ name, stands }) => [name, stands]), [['Body', 'body']]);
  await person.tap('[data-testid=skip]');
  await person.see({ css: '[data-testid=proposed] span', text: forms.nth(3, of) });
  await person.tap('[data-testid=accept-all]');
  await person.see('[data-testid=core]');
  assert.equal((await kept(person, otter)).length, of - 1);
  // Each is drawn over the animal, and leads to itself.
  assert.equal(await person.js("return document.querySelectorAll('.animal-forms a[data-form]').length"), of - 1);
}

/** By finger, back again, by the knob, by buttons and by keys. @param {Person} person  @param {string} otter  @param {string} id */
async function moved(person, otter, id) {
  await person.tap('[data-mode=place]');
  await person.see('.place-drawing');
  const place = async () => (await look(person, id)).place;
  const until = (/** @type {(now: any) => boolean} */ so, /** @type {string} */ what) => person.until(async () => so(await place()), what);
  const first = await place();
  await person.slide('.place-drawing', 20, 30);
  await until((now) => now.x > first.x + 5 && now.y > first.y + 5 && now.turn === first.turn, 'it to have moved');
  await person.tap({ css: '.place-tools button', text: one.place.undo });
  await until((now) => now.x === first.x && now.y === first.y, 'it to be back');
  await person.slide('.turn-knob', -40);
  await until((now) => now.turn < first.turn - 0.1, 'it to have turned');
  const turned = await place();
  await person.tap({ css: '.place-tools button', text: one.place.onward }, 3);
  await until((now) => Math.abs(now.x - turned.x - 1.5) < 0.06 && now.y === turned.y, 'three steps of half a millimetre');
  await person.press(Key.ARROW_UP, Key.ARROW_UP);
  await until((now) => Math.abs(now.y - turned.y - 1) < 0.06, 'two steps up');
  await person.tap({ css: '.forms-tabs button', text: forms.sides.front });
  await person.tap({ css: '.place-tools button', text: one.place.apart }, 4);
  await until((now) => now.front_x === 2, 'it to lie apart');
  assert.equal((await kept(person, otter))[0].place.front_x, 2);
  await person.tap('[data-mode=sizes]');
}

/** A size typed, refused, and bound to the tail. @param {Person} person  @param {string} id */
async function bound(person, id) {
  await person.tap('[data-size=length]');
  await person.type('input[name=size]', 'long');
  await person.tap({ css: 'dialog button', text: words.keep });
  await person.until(() => person.js("return document.querySelector('dialog .wrong')?.textContent.length > 10"), 'what is wrong with it');
  await person.type('input[name=size]', '3 1/2 in');
  await person.tap({ css: 'dialog button', text: words.keep });
  await person.until(async () => Math.abs((await look(person, id)).length_mm - 88.9) < 1e-6, 'three inches and a half');
  await person.miss('dialog');
  await person.tap('[data-size=length]');
  await person.tap({ css: 'dialog button', text: one.bound });
  await person.js(`const select = document.querySelector('select[name=part]'); select.value = [...select.options].find((o) => /^Tail/.test(o.textContent)).value; select.dispatchEvent(new Event('change', { bubbles: true }))`);
  await person.type('input[name=times]', '1.5');
  await person.tap({ css: 'dialog button', text: words.keep });
  await person.until(async () => (await look(person, id)).sizes[0].times === 1.5, 'it to follow the tail');
  const { sizes: [length] } = await look(person, id);
  assert.equal(length.part_name, 'tail');
  await person.see({ css: '[data-size=length] .bound', text: one.as_part('tail', 1.5) });
}

/** Waits until what is drawn there stays. @param {Person} person  @param {string} css */
const calm = (person, css) => person.later(`let last = '';
  for (let same = 0, n = 0; same < 20 && n < 400; n++) {
    await new Promise(requestAnimationFrame);
    const now = document.querySelector(args[0]).outerHTML;
    same = now === last ? same + 1 : 0;
    last = now;
  }`, css);

/** Turned by hand: what it looked like is where its profile begins. @param {Person} person  @param {string} id */
async function drawn(person, id) {
  const before = await look(person, id);
  await person.tap('[data-testid=kind]');
  await person.tap('[data-solid=turned]');
  await person.see('.points-drawing');
  const now = await look(person, id);
  assert.ok(Math.abs(now.volume_mm3 / before.volume_mm3 - 1) < 0.08, `${now.volume_mm3} of ${before.volume_mm3} mm3`);
  await person.slide('[data-point="4"] circle:last-child', 20);
  await person.until(async () => (await look(person, id)).volume_mm3 > 1.1 * now.volume_mm3, 'it to be thicker');
  await calm(person, '.points-card'); // its drawing takes the room that it now needs
  await person.tap({ css: '.points-card button', text: one.add_point });
  await person.until(async () => (await look(person, id)).rings[0].length === now.rings[0].length + 2, 'a point more');
  await person.tap('[data-testid=kind]');
  await person.tap('[data-solid=egg]');
  await person.miss('.points-drawing');
  assert.equal((await look(person, id)).rings, null);
}

/** @param {Person} person  @param {string} otter */
async function binned(person, otter) {
  const { length } = await kept(person, otter);
  await person.tap('[data-testid=bin]');
  await person.see({ css: 'h1', text: forms.title });
  assert.equal((await kept(person, otter)).length, length - 1);
  await person.tap({ css: '.note button', text: words.undo });
  await person.until(async () => (await kept(person, otter)).length === length, 'it to be back');
}

/** @param {Person} person  @param {string} otter */
async function wired(person, otter) {
  await person.to(`#/wire/${otter}`);
  await person.see('[data-testid=wire-total]');
  const seen = await app.ask(person, 'view', { name: 'wire', project: otter });
  assert.equal(await person.see('[data-testid=wire-total]'), seen.total_text);
  await person.see({ css: 'main', text: /AWG, not SWG/ });
  await person.reads(wire.cautions[0]);
}
