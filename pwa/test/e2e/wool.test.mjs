// Wool from the bag into the forms, onto the scales and out to a class, in both browsers.
import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import * as app from './app.mjs';
import { browser, browsers, serve } from './harness.mjs';
import { formed } from '../../app/words-forms.js';

/** The one animal and its two forms. @param {import('./person.mjs').Person} person */
async function hare(person) {
  const ask = (/** @type {string} */ method, /** @type {unknown} */ params) => app.ask(person, method, params);
  const { id: project } = await ask('newProject', { name: 'Hare', animal: 'hare', parts: [] });
  const { ids } = await ask('addForms', { project, forms: [{ name: 'head', shape: 'ball', sizes: { width: { mm: 40, typed: '40 mm' } } }, { name: 'body', shape: 'egg', sizes: { length: { mm: 80, typed: '80 mm' }, width: { mm: 50, typed: '50 mm' } } }] });
  return { project, head: ids[0], ask };
}

describe('wool', { concurrency: true }, () => {
  for (const kind of browsers) test(kind, async (t) => {
    const [server, window] = await Promise.all([serve(), browser(kind)]);
    t.after(() => Promise.all([window.close(), server.stop()]));
    const person = await window.open(server.url);
    await person.see('h1');
    const { project, head, ask } = await hare(person);

    await ask('view', { name: 'hand' }); // the half of the engine that is loaded when it is first asked

    // Nothing in the bag: it is put in from the screen that misses it, and what cannot be is refused.
    await person.to(`#/wool/${project}`);
    await person.see({ css: 'h2', text: formed.wool.without(2, 2) });
    await person.tap({ css: 'a', text: formed.wool.to_bag });
    await person.tap('[data-testid=add-core]');
    await person.type('input[name=name]', 'Mountain sheep');
    await person.type('input[name=stock_g]', '-5');
    await person.tap('[data-testid=keep-wool]');
    await person.reads(formed.bag.wrong.stock_g);
    assert.equal((await ask('view', { name: 'bag' })).wools.length, 0);
    for (const [name, typed] of [['stock_g', '10'], ['pack_g', '50'], ['price', '6,5'], ['price_g', '100'], ['square', '0.9']]) await person.type(`input[name=${name}]`, typed);
    await person.tap('[data-testid=keep-wool]');
    await person.see({ css: 'button.item', text: /Mountain sheep/ });
    const [wool] = (await ask('view', { name: 'bag' })).wools;
    assert.deepEqual([wool.stock_g, wool.pack_g, wool.price, wool.price_g, wool.layer_g_m2], [10, 50, 6.5, 100, 90]);

    // All forms get it at once, and the list says what to buy.
    await person.to(`#/wool/${project}`);
    await person.tap(`[data-give="${wool.id}"]`);
    await person.see(`[data-wool="${wool.id}"]`);
    await person.tap({ css: '[data-stepper=makers] button', text: formed.wool.more(formed.wool.makers) }, 3);
    await person.until(async () => (await ask('drafts', { key: `wool:${project}` }))?.makers === 4, 'four makers');
    await person.tap('[data-testid=share-list]');
    assert.match(await person.see('[data-testid=list-text]'), /4 makers.*\n*.*Mountain sheep: \d+ packs? of 50/s);

    // Weighed: refused where it is denser than wool, kept where it can be, struck out and put back.
    await person.to(`#/weigh/${project}/${head}`);
    await person.type('input[name=grams]', '500');
    await person.type('input[name=width]', '38');
    await person.see({ css: '[data-testid=comes-to] h2', text: formed.weigh.too_dense });
    await person.type('input[name=grams]', '4,3');
    await person.see({ css: '[data-testid=comes-to] p', text: /0[.,]15/ });
    await person.tap('[data-testid=keep-weighing]');
    await person.tap({ css: 'button', text: formed.weigh.strike });
    await person.tap({ css: '[data-weighing] button', text: /^Put back/ });
    await person.until(async () => (await ask('view', { name: 'hand' })).density.n === 1, 'one piece that counts');
    await person.to('#/hand');
    await person.see({ css: 'p', text: new RegExp(formed.hand.from(1)) });

    // A class: quick taps are all counted, impossible numbers refused, missing needles said.
    await person.to(`#/class/${project}`);
    await person.tap('[data-testid=add-class]');
    const group = async () => (await ask('view', { name: 'group', project })).group;
    await person.see('[data-testid=setup]');
    await person.js(`for (let n = 0; n < 4; n++) document.querySelector('[data-stepper=makers] button:last-child').click()`);
    await person.until(async () => (await group()).makers === 12, 'twelve makers');
    for (const wrong of ['0', '10000']) {
      await person.type('[data-stepper=makers] input', wrong);
      await person.press('\uE004');
      await person.reads(formed.class.wrong.makers);
      assert.equal((await group()).makers, 12);
    }
    await person.tap('[data-testid=give-out]');
    await person.see('[data-testid=one-in]');
    const { out } = await group();
    assert.equal(out, 3 * (1 + 2) * 12);
    await person.tap('[data-testid=all-in]');
    await person.tap('[data-testid=one-less]', 2);
    await person.see({ css: 'h2', text: formed.class.missing(2) });
    await person.until(async () => (await group()).missing === 2, 'two that are missing');
    await person.tap('[data-testid=make-handout]');
    await person.see('[data-testid=save-handout]', 60_000);
    assert.deepEqual(await person.faults(), []);
  });
});
