// Pictures of every screen, at both sizes, light and dark: node pwa/test/shots/run.mjs DIR
// Without DIR, only the pictures that the README and the manifest show, into pwa/app/screenshots.
import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import * as app from '../e2e/app.mjs';
import { browser, desk, phone, serve } from '../e2e/harness.mjs';
import { openHome } from '../e2e/home.mjs';
import { addPicture, allHome, pair } from '../e2e/homely.mjs';
import { filled, show } from '../e2e/screens.mjs';

const here = (/** @type {string} */ path) => fileURLToPath(new URL(path, import.meta.url));
const [dir] = process.argv.slice(2);
const server = await serve();
const window = await browser('chromium');

/** @typedef {import('../e2e/person.mjs').Person} Person */

/** @param {Person} person  @param {string} to */
async function shoot(person, to) {
  writeFileSync(to, Buffer.from(await person.driver.takeScreenshot(), 'base64'));
  console.log(to);
}

/** @param {Person} person  @param {Record<string, string>} screens */
async function all(person, screens) {
  mkdirSync(dir, { recursive: true });
  for (const [size, at] of Object.entries({ phone, desk })) {
    await person.resize(at);
    for (const look of ['light', 'dark']) {
      await person.look(/** @type {'light' | 'dark'} */ (look));
      for (const [name, hash] of Object.entries(screens)) {
        await show(person, hash);
        await shoot(person, join(dir, `${name.replace(/[^a-z]+/g, '-')}-${size}-${look}.png`));
      }
    }
  }
}

/** The pad in the middle of a count, and a verdict: what the README and the app's manifest show. @param {Person} person  @param {Record<string, string>} screens */
async function chosen(person, screens) {
  const place = here('../../app/screenshots/');
  mkdirSync(place, { recursive: true });
  await person.look('light');
  await person.resize(phone);
  await show(person, screens.count);
  await app.tally(person, 3.25);
  await person.driver.sleep(400);
  await shoot(person, join(place, 'pad.png'));
  await show(person, screens.verdict);
  await shoot(person, join(place, 'verdict.png'));
  await person.resize(desk);
  await show(person, screens.verdict);
  await shoot(person, join(place, 'verdict-wide.png'));
}

const iphone = 'Mozilla/5.0 (iPhone; CPU iPhone OS 18_0 like Mac OS X) AppleWebKit/605.1.15 (KHTML, like Gecko) Version/18.0 Mobile/15E148 Safari/604.1';

/** The way home on a phone, as the README shows it: whom to trust, pairing, all home. @param {string} place a folder  @param {('light' | 'dark')[]} looks */
async function wayHome(place, looks) {
  mkdirSync(place, { recursive: true });
  const home = await openHome();
  const [stranger, known] = await Promise.all([browser('chromium', { known: { host: home.host, authority: null } }), browser('chromium', { known: { host: home.host, authority: await home.authority() } })]);
  /** @param {Person} person  @param {string} name */
  const inLooks = async (person, name) => {
    for (const look of looks) {
      await person.look(look);
      await shoot(person, join(place, `${name}${looks.length > 1 ? `-${look}` : ''}.png`));
    }
  };
  try {
    const untrusting = await stranger.open('about:blank');
    await untrusting.cdp('Emulation.setUserAgentOverride', { userAgent: iphone });
    await untrusting.driver.get(home.welcome);
    await untrusting.see('[data-when=untrusted]');
    await inLooks(untrusting, 'welcome');
    const person = await known.open(`${home.url}#/pair`);
    await show(person, '#/pair');
    const code = await home.code();
    await person.type('input[name=code]', code);
    await person.type('input[name=device]', 'Phone');
    await person.js('document.activeElement.blur()');
    await inLooks(person, 'pairing');
    const { otter } = await app.ask(person, 'addDemo', {});
    await pair(person, code, 'Phone');
    await addPicture(person, otter);
    await allHome(person);
    await show(person, '#/home');
    await person.tap({ css: '.note button', text: app.words.close });
    await inLooks(person, 'home');
  } finally {
    await Promise.all([stranger.close(), known.close(), home.stop()]);
  }
}

try {
  const person = await window.open(server.url);
  await person.see({ css: 'h1', text: app.words.projects.title });
  const screens = await filled(person);
  await (dir ? all(person, screens) : chosen(person, screens));
  await wayHome(dir ?? here('../../app/screenshots/'), dir ? ['light', 'dark'] : ['light']);
} finally {
  await Promise.all([window.close(), server.stop()]);
}
