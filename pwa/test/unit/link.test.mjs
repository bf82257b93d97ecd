// Bringing things home: the bench as it is, against the program as it is, over real sockets that are cut. What the two say to each other is
// tried in sync/peer; here it is tried that the phone's own store, clock and connection do what that asks for.
import assert from 'node:assert/strict';
import { execFile, execFileSync, fork, spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { connect, createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, describe, test } from 'node:test';
import { setTimeout as wait } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { promisify } from 'node:util';
import { strFromU8, unzipSync } from 'fflate';

import './libs.mjs';

const { canonical, lines } = await import('../../app/bench/link-rows.js');
const { clock } = await import('../../app/bench/link-clock.js');
const { together } = await import('../../app/bench/link-run.js');

const root = fileURLToPath(new URL('../../../', import.meta.url));
const dir = mkdtempSync(join(tmpdir(), 'needlesight-link-'));
const binary = join(dir, 'needlesight');
const env = { ...process.env, NEEDLESIGHT_ENGINE: join(dir, 'engine.wasm') };
/** @type {Set<import('node:child_process').ChildProcess>} */
const children = new Set();

before(() => {
  execFileSync('go', ['build', '-o', binary, '.'], { cwd: root });
  execFileSync('go', ['build', '-o', env.NEEDLESIGHT_ENGINE, './pwa/engine/wasm'], { cwd: root, env: { ...process.env, GOOS: 'js', GOARCH: 'wasm' } });
});
after(() => {
  for (const child of children) child.kill('SIGKILL');
  rmSync(dir, { recursive: true, force: true });
});

/** Asks until it is so. */
async function until(ask, what, ms = 30_000) {
  for (const end = Date.now() + ms; ;) {
    const last = await ask();
    if (last === true) return;
    if (Date.now() > end) throw new Error(`waited for ${what}: ${JSON.stringify(last)}`);
    await wait(20);
  }
}

async function freePort() {
  const server = createServer().listen(0, '127.0.0.1');
  await once(server, 'listening');
  const { port } = server.address();
  server.close();
  return port;
}

let homes = 0;
/** The program, serving this computer alone. */
async function openHome() {
  const data = join(dir, `home-${++homes}`);
  const port = await freePort();
  const command = async (...args) => (await promisify(execFile)(binary, [...args, '--data', data])).stdout;
  let child;
  const start = async () => {
    child = spawn(binary, ['serve', '--here', '--keep', '0', '--port', String(port), '--data', data], { stdio: ['ignore', 'pipe', 'pipe'] });
    children.add(child);
    await until(() => fetch(`http://localhost:${port}/api/home`).then((answer) => answer.ok, () => false), 'home to answer');
  };
  const end = async (signal) => {
    const gone = once(child, 'exit');
    child.kill(signal);
    await gone;
    children.delete(child);
  };
  await start();
  return { port, command, start, stop: () => end('SIGTERM'), kill: () => end('SIGKILL'), code: async () => /Code:\s*([\d ]+)/.exec(await command('pair'))[1] };
}

/** A way to home that is cut after so many bytes, each time others. */
async function openProxy(to, random) {
  let calm = false;
  const sockets = new Set();
  const server = createServer((near) => {
    const far = connect(to, 'localhost');
    let left = calm ? Infinity : 200 + Math.floor(random() * 4000);
    for (const [from, other] of [[near, far], [far, near]]) {
      sockets.add(from);
      from.on('error', () => {});
      from.on('close', () => { sockets.delete(from); other.destroy(); });
      from.on('data', (bytes) => {
        other.write(bytes.subarray(0, left)); // the last of it may be half a message
        left -= bytes.length;
        if (left <= 0) { near.destroy(); far.destroy(); cuts.n += 1; }
      });
    }
  }).listen(0, '127.0.0.1');
  const cuts = { n: 0 };
  await once(server, 'listening');
  return { port: server.address().port, cuts, calm: () => { calm = true; for (const one of sockets) one.destroy(); }, close: () => { server.close(); for (const one of sockets) one.destroy(); } };
}

/** A device. @param {{port: number}} home  @param {number} [through] the port of a proxy */
async function openDevice(home, through = 0, more = '') {
  const child = fork(fileURLToPath(new URL('device.mjs', import.meta.url)), [String(home.port), String(through), more], { env, serialization: 'advanced' });
  children.add(child);
  child.on('exit', (code, signal) => { for (const failed of asked.values()) failed({ error: { code: 'exit', message: `the device's process ended: ${code} ${signal}` } }); });
  const asked = new Map();
  let n = 0;
  child.on('message', (said) => { if (said.n) { asked.get(said.n)(said); asked.delete(said.n); } });
  await once(child, 'message');
  const ask = (method, params = {}, tab = 'one') => new Promise((done, failed) => {
    asked.set(++n, ({ ok, error }) => { if (error) failed(Object.assign(new Error(error.message), { code: error.code })); else done(ok); });
    child.send({ n, tab, method, params });
  });
  const home_ = (tab) => ask('view', { name: 'home' }, tab);
  return {
    ask, home: home_,
    pair: async (name) => ask('pair', { code: await home.code(), name }),
    is: (state, tab) => until(async () => { const seen = await home_(tab); return seen.state === state || seen; }, `the device to be ${state}`),
    changes: async () => linesOf(await ask('exported')),
    close: async () => { if (!children.delete(child)) return; const gone = once(child, 'exit'); child.disconnect(); await gone; },
  };
}

/** Each change of a file, as a line that tells it from every other. */
function linesOf(zip) {
  const files = unzipSync(new Uint8Array(zip));
  return Object.keys(files).filter((name) => /^changes(-\d+)?\.json$/.test(name)).flatMap((name) => JSON.parse(strFromU8(files[name])).changes)
    .map((one) => JSON.stringify([one.kind, one.id, one.field, one.stamp, one.base, canonical(one.value)])).sort();
}

/** Nothing is on one side alone. */
function equal(some, others) {
  const [here, there] = [new Set(some), new Set(others)];
  assert.deepEqual([some.filter((one) => !there.has(one)).slice(0, 3), others.filter((one) => !here.has(one)).slice(0, 3)], [[], []]);
  assert.ok(some.length > 10 && some.length === others.length);
}

async function atHome(home) {
  const file = join(dir, `export-${Math.random()}.zip`);
  await home.command('export', file);
  return linesOf(readFileSync(file));
}

/** A project with some readings. */
async function count(device, name, readings, tab) {
  const { id: project } = await device.ask('newProject', { name, animal: 'otter' }, tab);
  const { parts, unit } = await device.ask('view', { name: 'pad', project }, tab);
  const { id: sitting } = await device.ask('startSitting', { project, method: 'sight', unit, view: 'side', denominator: 4 }, tab);
  await Promise.all(Array.from({ length: readings }, (_, i) => device.ask('keepReading', { sitting, part: parts[1].id, value: 1 + i / 4, denominator: 4 }, tab)));
  return project;
}

const names = async (device) => (await device.ask('view', { name: 'projects' })).projects.map(({ name }) => name).sort();

describe('the way home', { concurrency: 4 }, () => {
test('a device is paired, brings what it has, and another has it; then both hear of each other at once', async (t) => {
  const home = await openHome();
  const [phone, tablet] = await Promise.all([openDevice(home), openDevice(home)]);
  t.after(() => Promise.all([phone.close(), tablet.close(), home.stop()]));
  assert.equal((await phone.home()).state, 'none');
  for (const [code, said] of [['123 456 789', 'code-mistyped'], ['', 'code-mistyped']]) await assert.rejects(phone.ask('pair', { code, name: 'Phone' }), { code: said });
  await assert.rejects(phone.ask('pair', { code: await home.code(), name: ' ' }), { code: 'name-empty' });
  await assert.rejects(phone.ask('devices'), { code: 'not-paired' });
  const project = await count(phone, 'Otter <&>', 40);
  assert.deepEqual(await phone.pair('Phone'), { home: { name: 'this computer' } });
  await phone.is('home');
  await tablet.pair('Tablet');
  await tablet.is('home');
  const { changes, waiting } = { changes: await phone.changes(), waiting: (await phone.ask('state')).waiting };
  assert.equal(waiting, 0);
  assert.ok(changes.length > 100);
  equal(await tablet.changes(), changes);
  equal(await atHome(home), changes);

  await tablet.ask('set', { kind: 'project', id: project, field: 'name', value: 'Otter\u2028 é🦦'.normalize('NFC').replace('\u2028', '') });
  await until(async () => (await names(phone))[0] === 'Otter é🦦' || names(phone), 'the name to come over');
  const { devices } = await phone.ask('devices');
  const other = devices.find(({ name }) => name === 'Tablet');
  assert.deepEqual([devices.length, devices.find(({ name }) => name === 'Phone').you, other.you, other.here], [2, true, false, true]);
  assert.ok((await phone.ask('renameDevice', { id: other.id, name: 'Pad' })).devices.some(({ id, name }) => id === other.id && name === 'Pad'));
  const code = await phone.ask('newCode');
  assert.match(code.code, /^\d{9}$/);
  assert.ok(code.qr.length > 20);
});

test('home is killed and started again, and nothing is lost or said to be home that is not', async (t) => {
  const home = await openHome();
  const [phone, tablet] = await Promise.all([openDevice(home), openDevice(home)]);
  t.after(() => Promise.all([phone.close(), tablet.close(), home.stop()]));
  await phone.pair('Phone');
  await tablet.pair('Tablet');
  for (let round = 0; round < 2; round++) {
    const counting = count(phone, `Otter ${round}`, 60);
    await wait(10 + 40 * round);
    await home.kill();
    await counting;
    await count(tablet, `Owl ${round}`, 20);
    await until(async () => { const { state, why } = await phone.home(); return (state === 'waiting' && why === 'not-found') || [state, why]; }, 'home to be missed');
    assert.ok((await phone.home()).changes > 0);
    await home.start();
    await Promise.all([phone.ask('tryNow'), tablet.ask('tryNow')]);
  }
  await Promise.all([phone.is('home'), tablet.is('home')]);
  await until(async () => (await names(phone)).length === 4 && (await names(tablet)).length === 4, 'all of it on both');
  await Promise.all([phone.is('home'), tablet.is('home')]);
  const all = await phone.changes();
  equal(await tablet.changes(), all);
  equal(await atHome(home), all);
});

test('a connection that is cut at any byte comes to the same', async (t) => {
  let seed = 20261125;
  const random = () => { seed = (seed * 1103515245 + 12345) % 2 ** 31; return seed / 2 ** 31; };
  const home = await openHome();
  const proxy = await openProxy(home.port, random);
  const [phone, tablet] = await Promise.all([openDevice(home, proxy.port), openDevice(home, proxy.port)]);
  t.after(async () => { await Promise.all([phone.close(), tablet.close()]); proxy.close(); await home.stop(); });
  await Promise.all([phone.pair('Phone'), tablet.pair('Tablet')]);
  let rounds = 0;
  for (; rounds < 6 || proxy.cuts.n < 6; rounds++) {
    await Promise.all([count(phone, `Otter ${rounds}`, 20), count(tablet, `Owl ${rounds}`, 20)]);
    await Promise.all([phone.ask('tryNow'), tablet.ask('tryNow')]);
  }
  proxy.calm();
  await Promise.all([phone.ask('tryNow'), tablet.ask('tryNow')]);
  await Promise.all([phone.is('home'), tablet.is('home')]);
  await until(async () => (await names(phone)).length === 2 * rounds && (await names(tablet)).length === 2 * rounds, 'all of it on both');
  await Promise.all([phone.is('home'), tablet.is('home')]);
  t.diagnostic(`${proxy.cuts.n} cuts`);
  const all = await phone.changes();
  equal(await tablet.changes(), all);
  equal(await atHome(home), all);
});

test('an old backup is put back: everything comes home again, from whoever has it', async (t) => {
  const home = await openHome();
  const [phone, tablet] = await Promise.all([openDevice(home), openDevice(home)]);
  t.after(() => Promise.all([phone.close(), tablet.close(), home.stop()]));
  await phone.pair('Phone');
  await tablet.pair('Tablet');
  await count(phone, 'Otter', 10);
  await phone.is('home');
  const backup = join(dir, 'old.zip');
  await home.command('backup', backup);
  await count(phone, 'Owl', 10);
  await phone.is('home');
  await until(async () => (await names(tablet)).length === 2, 'both animals on the tablet');
  const all = await phone.changes();
  await phone.close();
  await home.stop();
  await home.command('restore', backup, '--overwrite');
  await home.start();
  await tablet.ask('tryNow');
  await until(async () => { const now = await atHome(home); return now.length === all.length || now.length; }, 'home to have it all again');
  await tablet.is('home');
  equal(await atHome(home), all);
  equal(await tablet.changes(), all);
});

test('a device that is struck off is told, keeps what it has, brings nothing more, and can be paired anew', async (t) => {
  const home = await openHome();
  const [phone, tablet] = await Promise.all([openDevice(home), openDevice(home)]);
  t.after(() => Promise.all([phone.close(), tablet.close(), home.stop()]));
  await phone.pair('Phone');
  await tablet.pair('Tablet');
  await count(tablet, 'Otter', 3);
  await tablet.is('home');
  await phone.ask('strikeDevice', { id: (await tablet.home()).device.id });
  await tablet.is('stopped');
  const told = await tablet.home();
  assert.deepEqual([told.struck, told.why, told.paired], [true, 'wire-struck', true]);
  await count(tablet, 'Owl', 3);
  await tablet.ask('tryNow');
  await tablet.is('stopped');
  assert.deepEqual(await names(tablet), ['Otter', 'Owl']);
  await assert.rejects(tablet.ask('devices'), { code: 'wire-struck' });
  assert.ok(!(await atHome(home)).some((line) => line.includes('"Owl"')));
  await tablet.pair('Tablet again');
  await tablet.is('home');
  equal(await atHome(home), await tablet.changes());
  assert.equal((await tablet.home()).struck, false);
});

test('a device that is paired anew is in the list once, and what it was before is struck off', async (t) => {
  const home = await openHome();
  const phone = await openDevice(home);
  t.after(() => Promise.all([phone.close(), home.stop()]));
  await phone.pair('Phone');
  await phone.is('home');
  await phone.pair('Phone again');
  await phone.is('home');
  const { devices } = await phone.ask('devices');
  assert.deepEqual(devices.map(({ name, struck, you }) => [name, Boolean(struck), you]).sort(), [['Phone again', false, true], ['Phone', true, false]]);
  assert.equal((await phone.home()).struck, false);
});

test('one tab brings what every tab enters, all tabs say the same, and when it is closed another goes on', async (t) => {
  const home = await openHome();
  const phone = await openDevice(home);
  t.after(() => Promise.all([phone.close(), home.stop()]));
  await phone.pair('Phone');
  await phone.is('home', 'one');
  await phone.is('home', 'two');
  await count(phone, 'Otter', 10, 'two');
  await until(async () => (await atHome(home)).length === (await phone.changes()).length, 'what the second tab entered');
  await phone.is('home', 'two');
  assert.deepEqual((await phone.ask('devices', {}, 'two')).devices.map(({ here }) => here), [true]);
  await phone.ask('closeTab', {}, 'one');
  await count(phone, 'Owl', 10, 'two');
  await phone.is('home', 'two');
  assert.equal((await atHome(home)).length, (await phone.changes()).length);
});

test('a picture added in a tab that does not lead is brought, and what one tab is paired with or forgets, all are', async (t) => {
  const home = await openHome();
  const phone = await openDevice(home);
  t.after(() => Promise.all([phone.close(), home.stop()]));
  assert.equal((await phone.home('two')).state, 'none');
  await phone.pair('Phone');
  await phone.is('home', 'one');
  await phone.ask('woke', { visible: true, event: 'visibilitychange' }, 'two');
  await phone.is('home', 'two');
  const { id: project } = await phone.ask('newProject', { name: 'Otter', animal: 'otter' }, 'two');
  const shrunk = { full: new Uint8Array(5000).fill(7).buffer, thumb: new Uint8Array(500).fill(8).buffer, type: 'image/jpeg', width: 40, height: 30 };
  await phone.ask('addPicture', { project, shrunk }, 'two');
  await until(async () => (await phone.ask('view', { name: 'pictures', project }, 'two')).pictures[0].home, 'the picture to be home');
  await phone.is('home', 'two');
  assert.deepEqual(await phone.ask('unpair', {}, 'two'), { told: true });
  for (const tab of ['one', 'two']) await phone.is('none', tab);
  await assert.rejects(phone.ask('devices'), { code: 'not-paired' });
  assert.equal((await phone.ask('view', { name: 'pictures', project })).pictures.length, 1);
  await phone.pair('Phone once more');
  await phone.is('home', 'one');
});

test('a tab that is asleep and holds the lock is overtaken by one that is looked at', async (t) => {
  const home = await openHome();
  const phone = await openDevice(home);
  t.after(() => Promise.all([phone.close(), home.stop()]));
  await phone.pair('Phone');
  await phone.is('home', 'one');
  await phone.ask('sleep', {}, 'one');
  await count(phone, 'Otter', 10, 'two');
  await phone.ask('woke', { visible: true, event: 'visibilitychange' }, 'two');
  await phone.is('home', 'two');
  await until(async () => (await atHome(home)).length === (await phone.changes()).length, 'what the second tab entered');
  await until(async () => (await phone.ask('devices', {}, 'two')).devices[0].here, 'one connection');
});

test('where there are no locks, the tab that is looked at does it', async (t) => {
  const home = await openHome();
  const phone = await openDevice(home, 0, 'no-locks');
  t.after(() => Promise.all([phone.close(), home.stop()]));
  await phone.pair('Phone');
  await phone.is('home', 'one');
  await phone.ask('woke', { visible: false, event: 'visibilitychange' }, 'one');
  await phone.is('away', 'one');
  await phone.ask('woke', { visible: true, event: 'visibilitychange' }, 'two');
  await count(phone, 'Otter', 10, 'two');
  await phone.is('home', 'two');
  assert.equal((await atHome(home)).length, (await phone.changes()).length);
});

test('a phone without room says so, loses nothing, and takes what home has once there is room', async (t) => {
  const home = await openHome();
  const [phone, tablet] = await Promise.all([openDevice(home), openDevice(home)]);
  t.after(() => Promise.all([phone.close(), tablet.close(), home.stop()]));
  await Promise.all([phone.pair('Phone'), tablet.pair('Tablet')]);
  await Promise.all([phone.is('home'), tablet.is('home')]);
  await tablet.ask('fill', true);
  await count(phone, 'Otter', 10);
  await tablet.is('stopped');
  assert.equal((await tablet.home()).why, 'store-full');
  assert.deepEqual(await names(tablet), []);
  await tablet.ask('fill', false);
  await tablet.ask('tryNow');
  await tablet.is('home');
  await until(async () => (await names(tablet)).length === 1, 'the animal');
  equal(await tablet.changes(), await phone.changes());
});

test('pictures go home in pieces and come down small; whole ones when they are taken along or looked at', async (t) => {
  const home = await openHome();
  const [phone, tablet] = await Promise.all([openDevice(home), openDevice(home)]);
  t.after(() => Promise.all([phone.close(), tablet.close(), home.stop()]));
  await Promise.all([phone.pair('Phone'), tablet.pair('Tablet')]);
  const { id: project } = await phone.ask('newProject', { name: 'Otter', animal: 'otter' });
  await phone.is('home');
  await home.stop();
  const bytes = (n) => { const some = new Uint8Array(n); for (let i = 0; i < n; i++) some[i] = (i * 2654435761) >>> 13; return some.buffer; };
  const shrunk = { full: bytes(700_001), thumb: bytes(9_000), type: 'image/jpeg', width: 4000, height: 3000 };
  await phone.ask('addPicture', { project, shrunk, view: 'side', name: 'from the left' });
  const seen = await phone.home();
  assert.equal(seen.pictures, 1);
  assert.notEqual(seen.state, 'home');
  await home.start();
  await phone.ask('tryNow');
  await phone.is('home');
  assert.equal((await phone.home()).pictures, 0);
  await tablet.ask('tryNow');
  const shown = async () => (await tablet.ask('view', { name: 'pictures', project })).pictures[0];
  await until(async () => Boolean(await shown()), 'the picture to be known');
  await until(async () => (await tablet.home()).room.thumbs === 9_000 || tablet.home(), 'the small picture');
  const one = await shown();
  assert.deepEqual([one.name, one.view, one.width, one.here], ['from the left', 'side', 4000, false]);
  const got = await tablet.ask('pictureBytes', { hash: one.full });
  assert.deepEqual(Buffer.from(got.bytes), Buffer.from(shrunk.full));
  assert.equal((await shown()).here, true);

  await tablet.ask('along', { project, on: true });
  await phone.ask('addPicture', { project, shrunk: { ...shrunk, full: bytes(300_000) } });
  await until(async () => { const { pictures } = await tablet.ask('view', { name: 'pictures', project }); return pictures.length === 2 && pictures.every(({ here }) => here) || (await tablet.ask('tryNow'), pictures); }, 'the whole second picture');
  assert.match(await home.command('verify'), /\w/);
});

test('what a device gave under a name that home knows already gets a new name, and both answers are there', async (t) => {
  const home = await openHome();
  const [phone, tablet] = await Promise.all([openDevice(home), openDevice(home)]);
  t.after(() => Promise.all([phone.close(), tablet.close(), home.stop()]));
  await phone.pair('Phone');
  await count(phone, 'Otter', 5);
  await phone.is('home');
  const { device } = await phone.ask('state');
  await tablet.ask('meta', { key: 'device', value: device }); // as if its store were the phone's, from before
  await count(tablet, 'Owl', 5);
  await tablet.pair('Tablet');
  await until(async () => (await names(tablet)).length === 2 || names(tablet), 'both animals');
  await tablet.is('home');
  assert.notEqual((await tablet.ask('state')).device, device);
  await until(async () => (await names(phone)).length === 2, 'both animals on the phone too');
  const all = await tablet.changes();
  equal(await atHome(home), all);
});
});

test('values are written in the one way in which they are sent', () => {
  // sync/PROTOCOL.md, What is kept.
  for (const [value, text] of [
    [{ b: 1, a: [], _: { z: null, y: true } }, '{"_":{"y":true,"z":null},"a":[],"b":1}'],
    ['<&>\u2028\u2029', '"\\u003c\\u0026\\u003e\\u2028\\u2029"'], ['é🦦"\\/\n\u0001', '"é🦦\\"\\\\/\\n\\u0001"'],
    [-0, '0'], [1e21, '1e+21'], [1e-7, '1e-7'], [123456789012345680000, '123456789012345680000'], [0.1 + 0.2, '0.30000000000000004'], [null, 'null'],
  ]) assert.equal(canonical(value), text);
  assert.equal(lines([[7, 'part', 'id', 'name', 41, 'device', 'a\tb\n', null], [8, 'part', 'id', 'fact', 42, 'device', 1, [41, 'other']]]),
    '7\tpart\tid\tname\t41\tdevice\t"a\\tb\\n"\t\t\n8\tpart\tid\tfact\t42\tdevice\t1\t41\tother\n');
});

test('the clock never goes back, and counts the time asleep', () => {
  const from = clock({ steady: 1000, wall: 5_000_000 });
  assert.equal(clock({ steady: 1100, wall: 5_000_100 }) - from, 100);
  assert.equal(clock({ steady: 1200, wall: 1_000_000 }) - from, 200, 'the wall clock was put back');
  assert.equal(clock({ steady: 1250, wall: 9_000_000 }) - from, 8_000_200, 'eight million milliseconds of sleep');
  assert.equal(clock({ steady: 1260, wall: 9_000_010 }) - from, 8_000_210);
});

test('what is to be kept goes together into one transaction, but for what must stand alone', () => {
  const keep = (number, more) => ({ number, epoch: '', again: false, changes: [], seen: number, acked: 0, refused: [], ...more });
  const change = ['part', 'id', 'name', 1, 'device', 'x', null];
  const some = [keep(1, { changes: [change], acked: 4 }), keep(2, { changes: [change, change], refused: [[5, 'change-value']], acked: 5 }), keep(3, { epoch: 'another', again: true }), keep(4)];
  assert.deepEqual(together(some), { keep: { epoch: '', again: false, changes: [change, change, change], seen: 2, acked: 5, refused: [[5, 'change-value']] }, number: 2, rest: some.slice(2) });
  assert.deepEqual([together(some.slice(2)).number, together(some.slice(2)).rest.length], [3, 1]);
  const big = [keep(1, { changes: Array(4000).fill(change) }), keep(2, { changes: Array(4000).fill(change) })];
  assert.equal(together(big).number, 1);
});
