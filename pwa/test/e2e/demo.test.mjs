// The demo says what its makers put in: the otter's tail is too short and its neck too thick, the owl's eyes sit too high.
import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { otter } from '../../app/demo/otter.js';
import { owl } from '../../app/demo/owl.js';
import * as app from './app.mjs';
import { words } from './app.mjs';
import { browser, browsers, serve } from './harness.mjs';

/** The mean of a part's counts in one unit. @param {import('../../app/demo/demo.js').Plan} plan  @param {string} unit  @param {string} part */
function counted(plan, unit, part) {
  const values = plan.sittings.filter((sitting) => sitting.of === 'subject' && sitting.unit === unit).flatMap(({ readings }) => readings.filter(([name]) => name === part).map(([, value]) => value));
  return values.reduce((sum, value) => sum + value, 0) / values.length;
}
const ruled = new Map(otter.sittings.find((sitting) => sitting.method === 'ruler')?.readings);
const heads = (/** @type {string} */ part) => counted(otter, 'head length', part);
const mm = (/** @type {string} */ part) => /** @type {number} */ (ruled.get(part));

/**
 * How far each is out, mm, at a scale of so many mm to the head: a sum on the back of an envelope, with plain means instead of least squares.
 * @param {number} head
 */
const out = (head) => ({ tail: heads('tail') * head - mm('tail'), 'neck width': mm('neck width') - counted(otter, 'head width', 'neck width') * heads('head width') * head });

const scales = [
  { mode: 'size', button: new RegExp(`^${words.verdict.at_size(otter.size.typed)}`), head: otter.size.mm / heads(otter.size.part) },
  { mode: 'keep', button: null, head: mm('body length') / heads('body length') },
  { mode: 'least-work', button: new RegExp(`^${words.verdict.least_work}`), head: null },
];

// Both browsers at once: each has a core to itself.
describe('the demo', { concurrency: true }, () => {
  for (const kind of browsers) test(`${kind}: in the demo the verdict names the two wrong parts and the amounts, at each scale; and where the owl's eyes belong`, async (t) => {
    const [server, window] = await Promise.all([serve(), browser(kind)]);
    t.after(() => Promise.all([window.close(), server.stop()]));
    const person = await window.open(server.url);
    await person.tap('[data-testid=demo]');
    await person.see({ css: 'h1', text: otter.name });
    await person.tap({ css: 'a', text: /^First otter/ });
    for (const scale of scales) await verdictAt(person, scale);
    await owlPlaces(person);
    assert.deepEqual(await person.faults(), []);
  });
});

/** @param {import('./person.mjs').Person} person  @param {typeof scales[number]} scale */
async function verdictAt(person, { mode, button, head }) {
  if (button) await person.tap({ css: '.seg button', text: button });
  else {
    await person.tap({ css: '.seg button', text: new RegExp(`^(${words.verdict.keep_part}|${words.verdict.keep_this('')})`) });
    await person.tap({ css: '.card button', text: /^body length$/i });
  }
  await person.reads(words.verdict.scale_notes[/** @type {'size'} */ (mode)]);
  await person.see({ css: 'h1', text: words.verdict.to_change(2) });
  const cards = (await app.verdicts(person)).filter((card) => card.verdict === 'add' || card.verdict === 'take-in');
  assert.deepEqual(cards.map((card) => [card.name.split(',')[0].toLowerCase(), card.verdict]).sort(), [['neck width', 'take-in'], ['tail', 'add']], mode);
  for (const card of cards) {
    const name = /** @type {'tail'} */ (card.name.split(',')[0].toLowerCase());
    const [, amount] = /** @type {RegExpExecArray} */ (/(?:add|take in) ([\d.]+) mm/.exec(card.text) ?? assert.fail(`no amount: ${card.text}`));
    // What is told of the wool itself bears the same sum: the amount, half of it on each side of a width.
    if (name === 'neck width') {
      const [, side] = /** @type {RegExpExecArray} */ (/([\d.]+) mm on each side/.exec(card.text) ?? assert.fail(`not on each side: ${card.text}`));
      assert.ok(Math.abs(2 * Number(side) - Number(amount)) <= 0.15, `${side} on each side is half of ${amount}`);
    }
    if (head) assert.ok(Math.abs(Number(amount) - out(head)[name]) < 0.6, `${mode}: ${name} ${amount} mm, on the envelope ${out(head)[name]}`);
    else assert.ok(Number(amount) > 2, `${mode}: ${name} ${amount} mm`);
  }
}

/** @param {import('./person.mjs').Person} person */
async function owlPlaces(person) {
  await person.to('#/');
  await person.tap({ css: 'a', text: new RegExp(`^${owl.name}`) });
  await person.see({ css: 'h1', text: owl.name });
  await person.reads(/45% ± \d+% of the face height/);
  await person.tap({ css: 'a', text: /^First owl/ });
  await person.see('[data-verdict=move]');
  const places = (await app.verdicts(person)).filter((card) => /^(eyes|beak tip)$/i.test(card.name));
  const eyes = places.find((card) => /eyes/i.test(card.name));
  assert.equal(eyes?.verdict, 'move');
  // The face is 2½ eye spacings high; the eyes sit 1⅛ from its top, on the wool ¾: too near the top by 15 % of the face.
  assert.match(eyes?.text ?? '', /further from the top of the face\./);
  assert.equal(places.find((card) => /beak/i.test(card.name))?.verdict, 'right');
}
