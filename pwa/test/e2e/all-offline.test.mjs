// Once all of it is on the device, every screen opens with no home at all.
import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { browser, browsers, serve } from './harness.mjs';
import { filled, show } from './screens.mjs';

describe('with the server stopped', { concurrency: true }, () => {
  for (const kind of browsers) test(`${kind}: every screen opens`, async (t) => {
    const [server, window] = await Promise.all([serve(), browser(kind)]);
    t.after(() => Promise.all([window.close(), server.stop()]));
    const person = await window.open(server.url);
    await person.installed();
    const screens = await filled(person);
    await person.to('#/settings');
    await person.reads(/work with no network too/, 60_000);
    await server.stop();
    for (const [name, hash] of Object.entries(screens)) {
      await show(person, hash);
      const said = await person.js(`return document.querySelector('main h1').textContent + ' ' + (document.querySelector('main .card.bad')?.textContent ?? '')`);
      assert.doesNotMatch(said, /would not open/, name);
    }
  });
});
