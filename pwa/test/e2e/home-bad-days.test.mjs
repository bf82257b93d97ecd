// Bad days at home: the disk is full, the folder cannot be written, somebody speaks nonsense. Each is said plainly, harms nobody else,
// and is over when its cause is gone.
import assert from 'node:assert/strict';
import { mkdirSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, test } from 'node:test';
import * as app from './app.mjs';
import { words } from './app.mjs';
import { browser, browsers, folder } from './harness.mjs';
import { mounting, openHome, runsOut } from './home.mjs';

describe('bad days at home', { concurrency: true }, () => {
  test('a data folder that cannot be written to is said in a sentence, at once', { skip: mounting() }, async () => {
    const data = join(folder(), 'home');
    mkdirSync(data);
    const { code, text } = await runsOut(data, ['mount --bind "$0" "$0"', 'mount -o remount,bind,ro "$0"']);
    assert.equal(code, 1);
    assert.match(text, /needlesight: .*(cannot be written|cannot be made|read-only)/i);
    assert.doesNotMatch(text, /goroutine|panic/);
  });

  for (const kind of browsers) test(`${kind}: what a page sends that is no message is answered with why, and harms nobody`, async (t) => {
    const home = await openHome();
    const window = await browser(kind, { known: { host: home.host, authority: await home.authority() } });
    t.after(() => Promise.all([window.close(), home.stop()]));
    const person = await window.open(home.url);
    await person.see({ css: 'h1', text: words.projects.title });
    const paired = await asked(person, 'POST', '/api/pair', { code: await home.code(), name: 'Nonsense' });
    assert.equal(paired.status, 200, JSON.stringify(paired));
    const token = paired.body.token;
    for (const [what, frame] of /** @type {[string, string | number[]][]} */ ([
      ['nothing', []], ['a text', 'Dear home, here are my readings.'], ['a kind that is none', [250, 1, 2, 3]], ['a push before the greeting', [3, 1, 0]],
      ['a greeting cut off', [1, 1]], ['noise', Array.from({ length: 5000 }, (_, i) => (i * 197 + 31) % 256)],
    ])) assert.match(await spoken(person, token, frame), /wire-message/, what);
    // More than any message may be: the line is cut, and no answer is owed.
    assert.match(await spoken(person, token, 300_000), /closed/);
    assert.match(await spoken(person, 'nobody', [1, 1]), /wire-struck/, 'a token that is nobody’s');
    assert.equal((await asked(person, 'GET', '/api/devices', null, token)).status, 200, 'home still answers');
    for (const [method, path, status] of /** @type {[string, string, number][]} */ ([
      ['GET', '/api/devices', 401], ['GET', '/api/pictures/sha256:00', 401], ['POST', '/api/code', 401], ['GET', '/api/nothing', 404], ['GET', '/control/devices', 404],
    ])) assert.equal((await asked(person, method, path, method === 'POST' ? {} : null, null)).status, status, `${method} ${path}`);
    const wrong = await asked(person, 'POST', '/api/pair', { code: '123-456-788', name: 'Guess' });
    assert.equal(wrong.status, 400);
    assert.equal(wrong.body.error.code, 'code-mistyped');
    assert.doesNotMatch(home.output(), /panic|goroutine/);
    assert.ok(!home.output().includes(token), 'no token is written down');
  });
});

/** Asks home as the page does. @param {import('./person.mjs').Person} person  @param {string} method  @param {string} path  @param {object | null} body  @param {string | null} [token] @returns {Promise<{status: number, body: any}>} */
function asked(person, method, path, body, token = null) {
  return person.later(`const [method, path, body, token] = args;
    const answer = await fetch(path, { method, body: body && JSON.stringify(body), headers: { ...(token && { Authorization: 'Bearer ' + token }), ...(body && { 'Content-Type': 'application/json' }) } });
    const text = await answer.text(); let json = null; try { json = JSON.parse(text); } catch {} return { status: answer.status, body: json ?? text };`, method, path, body, token);
}

/** Opens the line to home, says one thing, and tells what came back as text until it was closed. @param {import('./person.mjs').Person} person  @param {string} token  @param {string | number[] | number} frame text, bytes, or how many of them */
function spoken(person, token, frame) {
  return person.later(`const [token, frame] = args;
    return new Promise((done) => {
      const line = new WebSocket('wss://' + location.host + '/api/sync', ['needlesight.1', 'token.' + token]);
      line.binaryType = 'arraybuffer';
      let heard = '';
      line.onopen = () => line.send(typeof frame === 'string' ? frame : typeof frame === 'number' ? new Uint8Array(frame) : new Uint8Array(frame));
      line.onmessage = (m) => { heard += typeof m.data === 'string' ? m.data : String.fromCharCode(...new Uint8Array(m.data)); };
      line.onclose = () => done(heard + ' closed');
      setTimeout(() => done(heard + ' open'), 12000);
    });`, token, frame);
}
