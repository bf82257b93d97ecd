// A lost phone: everything saved to a file, taken in on another one, and all figures are the same.
import assert from 'node:assert/strict';
import { readdirSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { describe, test } from 'node:test';
import { otter } from '../../app/demo/otter.js';
import * as app from './app.mjs';
import { words } from './app.mjs';
import { browser, browsers, serve } from './harness.mjs';

// Both browsers at once: each has a core to itself.
describe('a lost phone', { concurrency: true }, () => {
  for (const kind of browsers) test(`${kind}: what one phone saves another takes in, with the same figures`, async (t) => {
    const server = await serve();
    const phone = await browser(kind);
    t.after(() => Promise.all([phone.close(), server.stop()]));
    const before = await lived(phone, server.url);
    const file = await saved(phone, before.person);
    await phone.close();

    const other = await browser(kind);
    t.after(() => other.close());
    const person = await other.open(server.url);
    await person.reads(words.projects.empty);
    await takeIn(person, file);
    assert.deepEqual(await figures(person), before.figures);
    await takeInAgain(person, file);
    assert.deepEqual(await figures(person), before.figures);
    assert.deepEqual(await person.faults(), []);
  });
});

/** A phone with the demo on it, a check kept, a reading struck out and one animal in the bin. @param {Awaited<ReturnType<typeof browser>>} phone  @param {string} url */
async function lived(phone, url) {
  const person = await phone.open(url);
  await person.tap('[data-testid=demo]');
  await person.see({ css: 'h1', text: 'Otter' });
  await person.tap({ css: 'a', text: /^First otter/ });
  await person.tap('[data-testid=keep-check]');
  await person.reads(words.verdict.check_kept(1));
  const { projects } = await app.ask(person, 'view', { name: 'projects' });
  const { id: project } = projects.find((/** @type {any} */ one) => one.name === otter.name);
  const { sittings } = await app.ask(person, 'view', { name: 'readings', project, of: 'subject' });
  await app.ask(person, 'strike', { kind: 'reading', id: sittings[0].readings.at(-1).id, struck: true });
  const { id } = await app.ask(person, 'newProject', { name: 'Hare', animal: 'hare' });
  await app.ask(person, 'bin', { kind: 'project', id, binned: true });
  return { person, figures: await figures(person) };
}

/** Everything the app says of what is kept. @param {import('./person.mjs').Person} person */
async function figures(person) {
  const view = (/** @type {string} */ name, /** @type {object} */ more = {}) => app.ask(person, 'view', { name, ...more });
  const list = await view('projects');
  const said = [list, await view('bin')];
  for (const { id } of list.projects) {
    const project = await view('project', { id });
    said.push(project, await view('readings', { project: id, of: 'subject' }));
    for (const piece of project.pieces) said.push(await view('readings', { project: id, of: piece.id }), await view('verdict', { project: id, piece: piece.id }), await view('checks', { project: id, piece: piece.id }));
  }
  return JSON.parse(JSON.stringify(said));
}

/** @param {Awaited<ReturnType<typeof browser>>} phone  @param {import('./person.mjs').Person} person @returns {Promise<string>} the file */
async function saved(phone, person) {
  await person.tap({ css: 'header a', text: words.kept.here });
  await person.see({ css: 'h1', text: words.files.title });
  await person.tap('[data-testid=download]');
  const name = await person.until(async () => readdirSync(phone.downloads).find((one) => /^needlesight-all-.*\.zip$/.test(one) && statSync(join(phone.downloads, one)).size > 0), 'the file to be saved');
  return join(phone.downloads, name);
}

/** @param {import('./person.mjs').Person} person  @param {string} file */
async function choose(person, file) {
  await person.to('#/files');
  await person.see({ css: 'label', text: words.files.choose });
  await (await person.driver.findElement({ css: 'input[name=file]' })).sendKeys(file);
}

/** @param {import('./person.mjs').Person} person  @param {string} file */
async function takeIn(person, file) {
  await choose(person, file);
  await person.reads(words.files.status.new(otter.parts.length, otter.sittings.flatMap((sitting) => sitting.readings).length + otter.pictures.flatMap((picture) => picture.pins).length));
  // Looked at, and nothing is taken in yet.
  assert.equal((await app.ask(person, 'view', { name: 'projects' })).projects.length, 0);
  await person.tap('[data-testid=take]');
  await person.reads(/Taken in: \d+/);
  await person.to('#/');
  await person.see({ css: 'a', text: /^Otter/ });
}

/** The same file once more changes nothing, and says so. @param {import('./person.mjs').Person} person  @param {string} file */
async function takeInAgain(person, file) {
  await choose(person, file);
  await person.reads(words.files.nothing_new);
  await person.tap({ css: '#incoming button', text: words.close });
}
