// What a person knows of this app: where things are, and how the usual is done. Texts come from the app's own words.
import assert from 'node:assert/strict';
import { words } from '../../app/words.js';
import '../../app/words-more.js';

export { words };
/** @typedef {import('./person.mjs').Person} Person */

export const pad = '[data-testid=pad]';
export const figure = '[data-testid=count]';
export const keep = '[data-testid=keep]';
const glyphs = ['', '¼', '½', '¾'];

/** A count in quarters, as the pad shows it: 2.75 is 2¾. @param {number} value */
export function shown(value) {
  const whole = Math.floor(value);
  const rest = glyphs[Math.round((value - whole) * 4)];
  return `${whole || !rest ? whole : ''}${rest}`;
}

/** The height of one step of a quarter's slide on the pad, px. */
const rung = 46;
/** What a finger moves before a slide begins, px. */
const still = 12;

/** Counts with the thumb: a tap for each unit, a slide for the quarters, and keeps it. @param {Person} person  @param {number} value */
export async function count(person, value) {
  await tally(person, value);
  await keepAnd(person);
}

/** @param {Person} person  @param {number} value */
export async function tally(person, value) {
  const whole = Math.floor(value);
  const quarters = Math.round((value - whole) * 4);
  if (whole) await person.tap(pad, whole);
  if (quarters) await person.slide(pad, quarters * rung + still);
  await person.see({ css: figure, text: shown(value) });
}

/** Keeps what is entered, and waits for the next part. @param {Person} person */
export async function keepAnd(person) {
  const before = await person.see('h1');
  await person.tap(keep);
  await person.until(async () => (await person.see('h1')) !== before, `another part after ${before}`);
}

/** The part that is being measured. @param {Person} person */
export const part = async (person) => (await person.see('h1')).toLowerCase();

/** Measures each part that the pad or the ruler asks for, whose value is known; the others are skipped. @param {Person} person  @param {Record<string, number>} values  @param {(person: Person, value: number) => Promise<void>} one */
export async function measureAll(person, values, one) {
  const left = new Set(Object.keys(values));
  for (let turn = 0; left.size; turn++) {
    assert.ok(turn < 40, `never asked for ${[...left]}`);
    const name = await part(person);
    if (left.delete(name)) { await one(person, values[name]); continue; }
    await person.tap({ css: 'button', text: words.pad.skip });
    await person.until(async () => (await part(person)) !== name, `another part after ${name}`);
  }
}

/** Types on the app's own keypad. @param {Person} person  @param {string} digits */
export async function keyIn(person, digits) {
  for (const digit of digits) await person.tap(`[data-key="${digit === '.' ? 'decimal' : `digit ${digit}`}"]`);
}

/** One ruler reading in millimetres. @param {Person} person  @param {number} mm */
export async function ruler(person, mm) {
  await keyIn(person, String(mm));
  await keepAnd(person);
}

/** Chooses the unit, and from which side one looks. @param {Person} person  @param {string} unit  @param {'side' | 'front' | 'top'} view */
export async function holdNeedle(person, unit, view) {
  await person.see({ css: 'h1', text: words.pad.choose });
  await person.tap({ css: 'button', text: words.pad.views[view] });
  await person.tap({ css: 'label', text: new RegExp(`^${unit}$`, 'i') });
  await person.tap('[data-testid=start]');
}

/** The first time, how to hold the needle is shown. @param {Person} person */
export async function takeCare(person) {
  await person.tap({ css: 'a, button', text: words.care.understood });
}

/** Each verdict card on the screen: its part, its verdict and what it says. @param {Person} person @returns {Promise<{name: string, verdict: string, text: string}[]>} */
export const verdicts = (person) => person.js(`return [...document.querySelectorAll('[data-verdict]')].map((card) => ({ name: card.querySelector('h2').innerText.trim(), verdict: card.dataset.verdict, text: card.innerText.replace(/\\s+/g, ' ') }))`);

/** The address of the module that asks the bench, for what only a test asks. @param {Person} person */
export async function bench(person) {
  return person.later(`const found = performance.getEntriesByType('resource').map((e) => e.name).find((name) => /\\/ask(\\.[0-9a-f]+)?\\.js$/.test(name)); return found`);
}

/** Asks the bench as a screen does. @param {Person} person  @param {string} method  @param {unknown} [params] @returns {Promise<any>} */
export async function ask(person, method, params = {}) {
  const module = await bench(person);
  const answer = await person.later('const [module, method, params] = args; const { ask } = await import(module); return ask(method, params).then((ok) => ({ ok }), (error) => ({ code: error.code, text: error.text }))', module, method, params);
  if (answer.code) throw Object.assign(new Error(`${method}: ${answer.code} ${answer.text}`), { code: answer.code });
  return answer.ok;
}
