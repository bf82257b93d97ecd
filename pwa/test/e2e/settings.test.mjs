// What is set on this phone holds everywhere, and after a reload.
import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import * as app from './app.mjs';
import { words } from './app.mjs';
import { browser, browsers, serve } from './harness.mjs';

const w = words.settings;

// Both browsers at once: each has a core to itself.
describe('settings', { concurrency: true }, () => {
  for (const kind of browsers) test(`${kind}: units, hand, look, sound and the step of a count do what they say`, async (t) => {
    const [server, window] = await Promise.all([serve(), browser(kind)]);
    t.after(() => Promise.all([window.close(), server.stop()]));
    const person = await window.open(server.url);
    await person.tap('[data-testid=demo]');
    await person.see({ css: 'h1', text: 'Otter' });
    await app.ask(person, 'setting', { name: 'cautioned', value: true });

    const tail = async () => {
      await person.to('#/');
      await person.tap({ css: 'a', text: /^Otter/ });
      await person.tap({ css: 'a', text: /^First otter/ });
      await person.see('[data-verdict=add]');
      return (await app.verdicts(person)).find((card) => /^tail/i.test(card.name))?.text ?? '';
    };
    assert.match(await tail(), /add 15\.2 mm/);
    await set(person, w.unit, w.units.in);
    assert.match(await tail(), /add 5\/8 in/); // 15.2 mm is 9.6 sixteenths of an inch
    await set(person, w.unit, w.units.cm);
    assert.match(await tail(), /add 1\.52 cm/);

    const pad = async () => {
      await person.to('#/count');
      await person.see(app.pad);
      return person.js(`const box = (css) => document.querySelector(css).getBoundingClientRect(); const { x, width } = box('.ladder'); return { ladder: x + width / 2, middle: innerWidth / 2, ground: getComputedStyle(document.body).backgroundColor, rungs: [...document.querySelectorAll('.ladder text')].map((t) => t.textContent).join(' ') }`);
    };
    const right = await pad();
    assert.ok(right.ladder > right.middle, 'the ladder is under the right thumb');
    assert.equal(right.rungs, '0 ¼ ½ ¾ 1');
    await set(person, w.hand, w.hands.left);
    await set(person, w.denominator, w.denominators[3]);
    await set(person, w.theme, w.themes.dark);
    const left = await pad();
    assert.ok(left.ladder < left.middle, 'the ladder is under the left thumb');
    assert.equal(left.rungs, '0 ⅓ ⅔ 1');
    assert.ok(brightness(left.ground) < 0.2 && brightness(right.ground) > 0.7, `dark ${left.ground}, light ${right.ground}`);

    assert.equal(await tones(person), 2, 'two taps sound');
    await person.to('#/settings');
    await person.tap({ css: 'label', text: w.sound });
    await person.see({ css: 'h1', text: w.title });
    await pad();
    assert.equal(await tones(person), 0, 'no tap sounds');

    await person.driver.navigate().refresh();
    const again = await pad();
    assert.deepEqual(again, left);
    assert.equal(await tones(person), 0);
    await person.to('#/settings');
    for (const [label, choice] of [[w.unit, w.units.cm], [w.hand, w.hands.left], [w.theme, w.themes.dark], [w.denominator, w.denominators[3]]]) await person.see({ css: `[aria-label="${label}"] button[aria-pressed=true]`, text: choice });
    assert.deepEqual(await person.faults(), []);
  });
});

/** @param {import('./person.mjs').Person} person  @param {string} label  @param {string} choice */
async function set(person, label, choice) {
  await person.to('#/settings');
  await person.tap({ css: `[aria-label="${label}"] button`, text: choice });
  await person.see({ css: `[aria-label="${label}"] button[aria-pressed=true]`, text: choice });
}

/** How many tones two taps on the pad make. @param {import('./person.mjs').Person} person */
async function tones(person) {
  await person.js(`window.tones = 0; const kind = window.AudioContext; if (!kind.real) { kind.real = kind.prototype.createOscillator; kind.prototype.createOscillator = function () { window.tones += 1; return kind.real.call(this); }; }`);
  await person.tap(app.pad, 2);
  await person.until(async () => /[1-9]/.test(await person.see(app.figure)), 'the taps to be counted');
  return person.js('return window.tones');
}

/** From 0, black, to 1, white. @param {string} colour */
function brightness(colour) {
  const [r, g, b] = (colour.match(/[\d.]+/g) ?? []).map(Number);
  return (0.2126 * r + 0.7152 * g + 0.0722 * b) / 255;
}
