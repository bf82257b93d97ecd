// A new version is offered between entries, never during one, and used only when the person says so.
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { describe, test } from 'node:test';
import { fileURLToPath } from 'node:url';
import * as app from './app.mjs';
import { words } from './app.mjs';
import { browser, browsers, folder, serve } from './harness.mjs';
import { story } from './story.mjs';

const root = fileURLToPath(new URL('../../..', import.meta.url));
/** @param {string} dir  @param {...string} more */
const build = (dir, ...more) => execFileSync('go', ['run', './pwa/build', '-out', dir, ...more], { cwd: root, stdio: 'pipe' });

// Both browsers at once: each has a core to itself.
describe('a new version', { concurrency: true }, () => {
  for (const kind of browsers) test(`${kind}: an update waits while something is entered, and takes nothing away`, async (t) => {
    const dir = folder();
    build(dir);
    const [server, window] = await Promise.all([serve(dir), browser(kind)]);
    t.after(() => Promise.all([window.close(), server.stop()]));
    let person = await window.open(server.url);
    await person.see({ css: 'h1', text: words.projects.title });
    await person.installed();
    await app.ask(person, 'setting', { name: 'cautioned', value: true });
    await person.driver.navigate().refresh(); // from here on the page is served by its worker
    const { otter } = await app.ask(person, 'addDemo');
    const before = await version(person);

    const seen = await app.ask(person, 'view', { name: 'project', id: otter });
    await person.to(`#/count?project=${otter}&of=subject&unit=${seen.unit}&part=${seen.parts[2].id}`);
    await person.tap(app.pad, 2);
    // Not minified, every file is another one: for the phone that is a new version.
    build(dir, '-raw');
    await person.later('await (await navigator.serviceWorker.getRegistration()).update()');
    await person.until(() => person.later('return Boolean((await navigator.serviceWorker.getRegistration()).waiting)'), 'the new version to wait');
    await person.tap(app.pad);
    await person.see({ css: app.figure, text: '3' });
    await person.miss({ text: words.update.ready });
    assert.equal(await version(person), before);

    await person.tap({ css: 'header a', text: seen.name });
    await person.see({ css: 'p', text: words.update.ready });
    assert.equal(await version(person), before, 'nothing happens by itself');
    await person.tap({ css: 'button', text: words.update.use });
    await person.until(async () => (await version(person)) !== before, 'the new version');
    await person.to(`#/count?project=${otter}&of=subject&unit=${seen.unit}&part=${seen.parts[2].id}`);
    await person.see({ css: app.figure, text: '3' });
    await person.miss({ text: words.update.ready });
    assert.deepEqual(await person.faults(), []);
  });

  test('chromium: the whole story with the app as it was written, not minified', { skip: !browsers.includes('chromium') && 'chromium is not among E2E_BROWSERS' }, async (t) => {
    const dir = folder();
    build(dir, '-raw');
    const [server, window] = await Promise.all([serve(dir), browser('chromium')]);
    t.after(() => Promise.all([window.close(), server.stop()]));
    await story(window, server);
  });
});

/** Which build the page is of: the name of its first script tells. @param {import('./person.mjs').Person} person @returns {Promise<string>} */
const version = (person) => person.js('return document.querySelector("script[type=module]").src');
