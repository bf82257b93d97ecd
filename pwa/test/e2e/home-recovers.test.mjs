// Bad days that pass: the disk of home is full, a clock is years off, the phone was emptied. Each is said, and comes right by itself once
// its cause is gone.
import assert from 'node:assert/strict';
import { rmSync, statfsSync, writeFileSync } from 'node:fs';
import { describe, test } from 'node:test';
import * as app from './app.mjs';
import { words } from './app.mjs';
import { cdp } from './cdp.mjs';
import { browser, browsers } from './harness.mjs';
import { mounting, openHome } from './home.mjs';
import { about, allHome, atHome, onDevice, pair, same } from './homely.mjs';

/** Room on the disk of home that is too little, bytes: the store leaves 128 MiB free for all else. */
const left = 100e6;

/** @typedef {import('./person.mjs').Person} Person  @typedef {import('./home.mjs').Home} Home */

describe('what comes right again', { concurrency: true }, () => {
  test('chromium: the disk of home is full: it is said, and all is brought once there is room', { skip: !browsers.includes('chromium') || mounting() }, async (t) => {
    const home = await openHome({ mounts: ['mkdir -p "$0"', 'mount -t tmpfs -o size=200m none "$0"'] });
    const window = await browser('chromium', { known: { host: home.host, authority: await home.authority() } });
    t.after(() => Promise.all([window.close(), home.stop()]));
    const person = await window.open(home.url);
    await person.see({ css: 'h1', text: words.projects.title });
    await pair(person, await home.code(), 'Phone');
    await allHome(person);

    const filler = `${home.folder()}/filler`;
    const { bavail, bsize } = statfsSync(home.folder());
    writeFileSync(filler, Buffer.alloc(bavail * bsize - left));
    await app.ask(person, 'newProject', { name: 'Hare', animal: 'hare' });
    const told = await person.until(async () => { const seen = await about(person); return seen.why === 'wire-full' ? seen : null; }, 'the phone to be told that home is full', 60_000);
    assert.ok(told.changes > 0, 'what home did not take still waits');
    await person.to('#/home');
    await person.reads(words.way.why['wire-full']);

    rmSync(filler);
    await person.js('dispatchEvent(new Event("online"))'); // otherwise it would call again in a minute
    await allHome(person, 90_000);
    same(await onDevice(person), await atHome(home));
  });

  test('chromium: a phone whose clock is years off brings everything home all the same', { skip: !browsers.includes('chromium') }, async (t) => {
    const home = await openHome();
    const window = await browser('chromium', { known: { host: home.host, authority: await home.authority() } });
    t.after(() => Promise.all([window.close(), home.stop()]));
    const person = await window.open(home.url);
    await person.see({ css: 'h1', text: words.projects.title });
    await pair(person, await home.code(), 'Phone');
    await allHome(person);
    for (const years of [-30, 30]) {
      await shiftClocks(person, years);
      await app.ask(person, 'newProject', { name: `Hare of ${years}`, animal: 'hare' });
      await allHome(person);
    }
    same(await onDevice(person), await atHome(home));
  });

  for (const kind of browsers) test(`${kind}: a phone that was emptied and is paired again gets everything back`, async (t) => {
    const home = await openHome();
    const known = { host: home.host, authority: await home.authority() };
    const lost = await browser(kind, { known });
    t.after(() => Promise.all([lost.close(), home.stop()]));
    const person = await lost.open(home.url);
    await person.see({ css: 'h1', text: words.projects.title });
    await app.ask(person, 'addDemo');
    await pair(person, await home.code(), 'Phone');
    await allHome(person);
    const before = await onDevice(person);
    await person.later(`const { serviceWorker } = navigator; for (const one of await serviceWorker.getRegistrations()) await one.unregister();
      for (const name of await caches.keys()) await caches.delete(name);`);
    await lost.close();

    const emptied = await browser(kind, { known });
    t.after(emptied.close);
    const again = await emptied.open(home.url);
    await again.reads(words.projects.empty);
    await pair(again, await home.code(), 'Phone again');
    await allHome(again);
    same(before, await onDevice(again));
    same(await onDevice(again), before);
  });
});

/** Moves the clocks of the page and of its workers. @param {Person} person  @param {number} years from now */
async function shiftClocks(person, years) {
  const move = `(() => { const Real = globalThis.RealDate ??= Date; const by = ${years} * 31557600000;
    globalThis.Date = class extends Real { constructor(...a) { a.length ? super(...a) : super(Real.now() + by); } static now() { return Real.now() + by; } }; return new Date().getFullYear(); })()`;
  await person.js(`return ${move}`);
  const debug = await cdp(await person.debuggerAddress());
  try {
    const worker = await person.until(async () => debug.find('worker', /\/bench\/bench\./), 'the bench');
    const year = await debug.evaluate(worker, move);
    assert.ok(Math.abs(year - new Date().getFullYear() - years) <= 1, `the bench lives in ${year}`);
  } finally { debug.close(); }
}
