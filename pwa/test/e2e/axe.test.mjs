// Every screen in every look, gone over by axe-core. Contrast is held to 7:1, as outdoors it must be.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { describe, test } from 'node:test';
import * as app from './app.mjs';
import { words } from './app.mjs';
import '../../app/words-forms.js';
import { browser, browsers, desk, phone, serve } from './harness.mjs';
import { filled, show } from './screens.mjs';

const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

/** WebKit goes over the phone's screens only: the desk's are the same marks, laid out by the same rules. */
const sizes = { chromium: { phone, desk }, webkit: { phone } };

// Both browsers at once: each has a core to itself.
describe('axe-core finds nothing on any screen', { concurrency: true }, () => {
  for (const kind of browsers) test(kind, async (t) => {
    const [server, window] = await Promise.all([serve(), browser(kind)]);
    t.after(() => Promise.all([window.close(), server.stop()]));
    const person = await window.open(server.url);
    await person.see({ css: 'h1', text: words.projects.title });
    const empty = { projects: '#/', new: '#/new', loose: '#/loose', bin: '#/bin', files: '#/files', care: '#/care', count: '#/count' };
    const wrong = [...await inLooks(person, kind, empty, 'empty ')];
    const screens = await filled(person);
    wrong.push(...await inLooks(person, kind, screens, ''));
    wrong.push(...await opened(person, screens));
    assert.deepEqual(wrong, []);
    assert.deepEqual(await person.faults(), []);
  });
});

/** Each screen at each size: everything in the light, and what colours decide once more in the dark. @param {import('./person.mjs').Person} person  @param {'chromium' | 'webkit'} kind  @param {Record<string, string>} screens  @param {string} prefix */
async function inLooks(person, kind, screens, prefix) {
  const wrong = [];
  await person.js(`if (!window.axe) { ${axe} }`);
  for (const [at, size] of Object.entries(sizes[kind])) {
    await person.resize(size);
    for (const [name, hash] of Object.entries(screens)) {
      await person.look('light');
      await show(person, hash);
      for (const found of await goOver(person, everything)) wrong.push(`${prefix}${name}, ${at}: ${found}`);
      await person.look('dark');
      for (const found of await goOver(person, colours)) wrong.push(`${prefix}${name}, ${at}, dark: ${found}`);
    }
  }
  return wrong;
}

/** What a tap opens on them: dialogs, sheets, sums, sentences of trouble; on the phone. @param {import('./person.mjs').Person} person  @param {Record<string, string>} screens */
async function opened(person, screens) {
  /** @type {[what: string, screen: string, open: () => Promise<unknown>][]} */
  const states = [
    ['name and size', 'project', () => person.tap({ css: 'button', text: words.project.rename })],
    ['all parts', 'count', () => person.tap({ css: 'button', text: words.pad.parts })],
    ['half a count', 'count', () => app.tally(person, 3.25)],
    ['nothing counted', 'count, loose', () => person.tap(app.keep)],
    ['parts to measure', 'ruler', () => person.tap('[data-testid=parts]')],
    ['a number typed', 'ruler', () => app.keyIn(person, '35')],
    ['the twelve solids', 'forms', () => person.tap('[data-testid=add-form]')],
    ['a form proposed', 'forms', async () => { await person.tap('[data-testid=propose]'); await person.see('[data-testid=proposed]'); }],
    ['a size', 'form', () => person.tap('[data-size=length]')],
    ['a size as a part', 'form', async () => { await person.tap('[data-size=length]'); await person.tap({ css: 'dialog button', text: words.form.bound }); }],
    ['the sum', 'verdict', () => person.tap({ css: '[data-verdict=add] button', text: new RegExp(`^${words.verdict.show_sum}`) })],
    ['a part to keep', 'verdict', () => person.tap({ css: '.seg button', text: new RegExp(`^(${words.verdict.keep_part}|${words.verdict.keep_this('')})`) })],
    ['three lengths and the fourth', 'ratio', async () => { for (const digits of ['5', '2', '40']) { await app.keyIn(person, digits); await person.tap('[data-key=go]'); } await person.see('[data-testid=said]'); }],
    ['a part opened', 'parts', () => person.tap('.part-row button.item')],
    ['a struck reading', 'readings', () => person.tap({ css: 'button', text: new RegExp(`^${words.readings.strike}`) })],
  ];
  const wrong = [];
  await person.resize(phone);
  for (const [what, screen, open] of states) {
    await person.look('light');
    await show(person, '#/care');
    await show(person, screens[screen]);
    await open();
    for (const found of await goOver(person, everything)) wrong.push(`${screen}, ${what}: ${found}`);
    await person.look('dark');
    for (const found of await goOver(person, colours)) wrong.push(`${screen}, ${what}, dark: ${found}`);
  }
  return wrong;
}

const everything = { preload: false, runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'], rules: { 'color-contrast-enhanced': { enabled: true } } };
const colours = { preload: false, runOnly: { type: 'rule', values: ['color-contrast', 'color-contrast-enhanced', 'link-in-text-block'] } };

/** What lies under the dock at this moment of scrolling is looked at once more where a thumb would bring it. @param {import('./person.mjs').Person} person  @param {object} what @returns {Promise<string[]>} */
const goOver = (person, what) => person.later(`await Promise.all(document.getAnimations().filter((a) => a.effect.getComputedTiming().endTime < 5000).map((a) => a.finished.catch(() => {})));
  const run = async (at, options) => (await axe.run(at, { ...options, resultTypes: ['violations'] })).violations;
  const found = [];
  for (const { id, nodes } of await run(document, args[0])) for (const { target, any } of nodes) {
    if (id === 'target-size') {
      const place = document.querySelector(target[0]);
      place.scrollIntoView({ block: 'center' });
      const still = await run(place, { runOnly: { type: 'rule', values: ['target-size'] } });
      scrollTo(0, 0);
      if (!still.length) continue;
    }
    found.push(id + ': ' + target.join(' ') + ' (' + (any[0]?.message ?? '').slice(0, 160) + ')');
  }
  return found;`, what);
