// The whole story, as one maker lives it: from the first visit to an app that was killed with no network and has everything.
import assert from 'node:assert/strict';
import * as app from './app.mjs';
import { words } from './app.mjs';
import { cap } from '../../app/words.js';

/** The animal of the story, counted in head lengths, and the wool: the same but for a tail that is a quarter too short. */
export const animal = { 'body length': 2.5, 'body depth': 1, leg: 1.25, tail: 2, 'head width': 0.75, 'body width': 1 };
export const wool = { ...animal, tail: 1.5 };
const bodyMm = 60;
/** What the wool's tail lacks, mm, worked out by hand: (2 - 1.5) / 2.5 of the body's 60 mm. */
const short = ((animal.tail - wool.tail) / animal['body length']) * bodyMm;

/**
 * @param {{open: (url: string) => Promise<import('./person.mjs').Person>, kill: () => Promise<void>}} browser
 * @param {import('./harness.mjs').Server} server
 */
export async function story(browser, server) {
  let person = await browser.open(server.url);
  await person.see({ css: 'h1', text: words.projects.title });
  await person.installed();

  // No network from here on: the server's process is gone.
  await server.stop();
  await person.driver.navigate().refresh();
  await begin(person);
  await countAnimal(person);
  await countWool(person);
  await layRuler(person);
  await readVerdict(person);
  await countHalf(person);
  assert.deepEqual(await person.faults(), []);

  // The phone dies.
  await browser.kill();
  person = await browser.open(server.url);
  await findAllThere(person);
  assert.deepEqual(await person.faults(), []);
  return person;
}

/** @param {import('./person.mjs').Person} person */
export async function begin(person) {
  await person.tap({ css: 'a', text: words.projects.add_first });
  await person.tap({ css: 'label', text: cap(words.fresh.kinds.other) });
  await person.type('input[name=name]', 'Marten');
  await person.tap('[data-testid=start]');
  await person.see({ css: 'h1', text: 'Marten' });
  await person.reads(words.project.nothing_measured);
}

/** @param {import('./person.mjs').Person} person */
export async function countAnimal(person) {
  await person.tap('[data-testid=count]');
  await app.takeCare(person);
  await app.holdNeedle(person, 'head length', 'side');
  await app.part(person);
  // A slip of the thumb: one too many, taken back by a long hold.
  await person.tap(app.pad, 2);
  await person.see({ css: app.figure, text: '2' });
  await person.hold(app.pad);
  await person.see({ css: app.figure, text: '1' });
  await person.tap({ css: 'button', text: words.undo });
  await person.see({ css: app.figure, text: '0' });
  await app.measureAll(person, animal, app.count);
  await person.see({ css: 'h1', text: words.pad.over });
  await person.tap('[data-testid=finish]');
  await person.see({ css: 'h1', text: 'Marten' });
  await person.reads(/2\.5 ± 0\.\d+/);
}

/** @param {import('./person.mjs').Person} person */
export async function countWool(person) {
  await person.tap('[data-testid=add-piece]');
  await person.see({ css: 'h1', text: words.project.piece_name(1) });
  await person.tap('[data-testid=count-piece]');
  await app.holdNeedle(person, 'head length', 'side');
  await app.measureAll(person, wool, app.count);
  await person.see({ css: 'h1', text: words.pad.over });
  await person.tap('[data-testid=finish]');
}

/** @param {import('./person.mjs').Person} person */
async function layRuler(person) {
  await person.tap({ css: 'a', text: words.verdict.ruler });
  await app.measureAll(person, { 'body length': bodyMm }, app.ruler);
  await person.tap('[data-testid=parts]');
  await person.tap('[data-testid=done]');
}

/** The maker is happy with the body: everything else is judged against it. @param {import('./person.mjs').Person} person */
async function keepBody(person) {
  await person.tap({ css: '.seg button', text: new RegExp(`^(${words.verdict.keep_part}|${words.verdict.keep_this('')})`) });
  await person.tap({ css: '.card button', text: /^body length$/i });
  await bodyKept(person);
}

/** @param {import('./person.mjs').Person} person */
const bodyKept = (person) => person.see({ css: 'button[aria-pressed=true]', text: new RegExp(`^${words.verdict.keep_this('body length')}`) });

/** @param {import('./person.mjs').Person} person */
async function readVerdict(person) {
  await keepBody(person);
  await person.see({ css: 'h1', text: words.verdict.to_change(1) });
  const [tail, ...others] = (await app.verdicts(person)).filter((card) => ['add', 'take-in'].includes(card.verdict));
  assert.equal(others.length, 0, 'only the tail is out');
  assert.equal(tail.name.toLowerCase(), 'tail');
  assert.equal(tail.verdict, 'add');
  assert.ok(tail.text.includes(`add ${short} mm`), tail.text);
  await person.tap({ css: '[data-verdict=add] button', text: new RegExp(`^${words.verdict.show_sum}`) });
  await person.reads(/= 48 mm/);
}

/** @param {import('./person.mjs').Person} person */
async function countHalf(person) {
  await person.tap('[data-testid=count-piece]');
  await app.holdNeedle(person, 'head length', 'front');
  await app.tally(person, 3.25);
  // What is entered is drafted within a moment, not when it is kept: no key, no wait.
}

/** @param {import('./person.mjs').Person} person */
async function findAllThere(person) {
  await person.tap({ css: 'a', text: /^Marten/ });
  await person.reads(/2\.5 ± 0\.\d+/);
  await person.tap({ css: 'a', text: new RegExp(`^${words.project.piece_name(1)}`) });
  await bodyKept(person); // the scale she chose is still the one
  const tail = (await app.verdicts(person)).find((card) => card.name.toLowerCase() === 'tail');
  assert.ok(tail?.text.includes(`add ${short} mm`), tail?.text);
  await person.tap('[data-testid=count-piece]');
  await person.see({ css: app.figure, text: app.shown(3.25) });
}
