// Prints the figures that the budgets are about, measured in Chromium, offline, with pages and workers slowed four times:
//   node pwa/test/bench/run.mjs [--json FILE] [--store | --home | --first | --pictures]
// With --store only what the phone's own store does, with --home only the way from one device to another, with --first only the first visit,
// with --pictures only what looks at pictures.
// Ends with 1 when a goal is missed.
import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { readFileSync, writeFileSync } from 'node:fs';
import { setTimeout as wait } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import * as app from '../e2e/app.mjs';
import { cdp } from '../e2e/cdp.mjs';
import { browser, phone, serve } from '../e2e/harness.mjs';
import { until } from '../e2e/processes.mjs';
import { bringHome } from './bring-home.mjs';
import { fromHome } from './from-home.mjs';
import { pictures } from './pictures.mjs';
import { seed } from './seed.mjs';
import { wire } from './wire.mjs';

const runs = 9;
const animals = 1000;
const readings = 50;
const file = process.argv.includes('--json') ? process.argv[process.argv.indexOf('--json') + 1] : '';

/** @type {{name: string, unit: string, median: number, high: number, n: number, goal: number | null, judged: 'median' | 'p95', met: boolean | null, note: string}[]} */
const figures = [];
const at = (/** @type {number[]} */ values, /** @type {number} */ share) => [...values].sort((a, b) => a - b)[Math.max(0, Math.ceil(values.length * share) - 1)];

/** @param {string} name  @param {string} unit  @param {number[]} values  @param {number | null} goal  @param {{judged?: 'median' | 'p95', note?: string}} [more] */
function figure(name, unit, values, goal, { judged = 'median', note = '' } = {}) {
  const [median, high] = [at(values, 0.5), at(values, 0.95)];
  const met = goal === null ? null : (judged === 'p95' ? high : median) <= goal;
  figures.push({ name, unit, median, high, n: values.length, goal, judged, met, note });
  const show = (/** @type {number} */ n) => `${n < 10 ? n.toFixed(1) : Math.round(n)} ${unit}`.padStart(9);
  console.log(`${met === null ? '      ' : met ? 'ok    ' : 'MISSED'} ${name.padEnd(66)} ${show(median)}  p95 ${show(high)}  ${goal === null ? 'no goal ' : `goal ${show(goal)}${judged === 'p95' ? ' at p95' : ''}`}  n=${values.length}${note ? `  ${note}` : ''}`);
}

/** How much of the machine others use, 0 to 1. */
async function others() {
  const now = () => { const [user, nice, system, idle, io, ...rest] = readFileSync('/proc/stat', 'utf8').split('\n')[0].split(/ +/).slice(1).map(Number); return { idle: idle + io, all: user + nice + system + idle + io + rest.slice(0, 3).reduce((a, b) => a + b, 0) }; };
  const before = now();
  await wait(1500);
  const after = now();
  return 1 - (after.idle - before.idle) / (after.all - before.all);
}

/** What the page notes of itself from its first moment. */
const notes = `
  window.bench = {};
  const painted = (then) => requestAnimationFrame(() => { const c = new MessageChannel(); c.port1.onmessage = () => then(performance.now()); c.port2.postMessage(0); });
  bench.painted = painted;
  new MutationObserver(() => {
    if (bench.seen || !document.querySelector('[data-testid=pad]')) return;
    bench.seen = true;
    painted((now) => { bench.pad = now; });
    const ask = performance.getEntriesByType('resource').map((e) => e.name).find((name) => /\\/ask(\\.[0-9a-f]+)?\\.js$/.test(name));
    import(ask).then(({ ask, on }) => {
      const ready = () => { bench.engine ??= performance.now(); };
      on('engine', (engine) => { if (engine.ready) ready(); });
      setTimeout(() => ask('warm').then(ready), 1500); // in case it was ready before anyone listened
    });
  }).observe(document, { childList: true, subtree: true });
`;
const loop = '(() => { const t = performance.now(); let x = 0; for (let i = 0; i < 4e7; i++) x = (x * 31 + i) | 0; return performance.now() - t + (x & 0); })()';

/** Slows a browser's renderers until stopped. @param {number} pid  @param {number} share */
async function slowed(pid, share) {
  const child = spawn(process.execPath, [fileURLToPath(new URL('slow.mjs', import.meta.url)), String(pid), String(share)], { stdio: ['ignore', 'inherit', 'inherit', 'ipc'] });
  await once(child, 'spawn');
  await wait(150);
  return async () => { child.kill('SIGTERM'); await once(child, 'exit'); };
}

/** What an unchanging sum takes in the page and in the bench's worker. @param {import('../e2e/person.mjs').Person} person  @param {Awaited<ReturnType<typeof cdp>>} debug */
async function sums(person, debug) {
  const worker = await until(() => debug.find('worker', /\/bench\/bench\./), 'the bench');
  const best = async (/** @type {() => Promise<number>} */ run) => { let least = Infinity; for (let i = 0; i < 3; i++) least = Math.min(least, await run()); return least; };
  return [await best(() => person.js(`return ${loop}`)), await best(() => debug.evaluate(worker, loop))];
}

/** The share at which page and worker are four times slower, and by how much they then are. @param {import('../e2e/person.mjs').Person} person  @param {number} pid */
async function calibrate(person, pid) {
  const debug = await cdp(await person.debuggerAddress());
  const plain = await sums(person, debug);
  let share = 3;
  let factors = [1, 1];
  for (let attempt = 0; attempt < 4; attempt++) {
    const stop = await slowed(pid, share);
    factors = (await sums(person, debug)).map((ms, i) => ms / plain[i]);
    await stop();
    const factor = (factors[0] + factors[1]) / 2;
    if (Math.abs(factor - 4) < 0.15) break;
    if (attempt < 3) share *= 3 / (factor - 1);
  }
  debug.close();
  console.log(`slowed by ${factors[0].toFixed(2)} in the page and ${factors[1].toFixed(2)} in the worker (asked for: 4)`);
  return { share, factors };
}

/** Waits until a count no longer grows. @param {() => number} count */
async function still(count) {
  for (let last = -1; last !== count();) { last = count(); await wait(500); }
}

/** How hard the app in the program was compressed. */
const quality = () => JSON.parse(readFileSync(fileURLToPath(new URL('../../dist/files.json', import.meta.url)), 'utf8')).quality;

/** What comes once the app is installed: no count waits for it. */
function later() {
  const { files } = JSON.parse(readFileSync(fileURLToPath(new URL('../../dist/files.json', import.meta.url)), 'utf8'));
  return new RegExp(files.filter((/** @type {{later?: boolean}} */ file) => file.later).map((/** @type {{path: string}} */ file) => `/${file.path.replaceAll('.', '\\.')}$`).join('|'));
}

/**
 * Everything over the wire until the app is installed and its engine ready; what a page needs before the pad can be used; and all that a
 * phone has in the end, with what looks at pictures.
 */
async function firstVisit() {
  const server = await serve();
  const port = Number(new URL(server.url).port);
  const window = await browser('chromium', { size: phone });
  try {
    for (const part of /** @type {const} */ (['app', 'pad', 'all'])) {
      // Without the service worker and the engine, all that comes is what the pad itself waits for.
      const between = await wire(port, { app: later(), pad: /sw\.js|\.wasm|engine-worker/, all: undefined }[part]);
      const sum = () => between.came.reduce((all, { bytes }) => all + bytes, 0) / 1000;
      const person = await window.open('about:blank');
      await person.driver.get(`${between.url}#/count`);
      if (part !== 'pad') {
        await person.installed();
        await app.takeCare(person);
        await person.tap(app.pad);
        await person.reads(/± 0/); // the engine has answered
        await still(() => between.came.length);
        if (part === 'app') figure('first visit, over the wire until the app is installed', 'kB', [sum()], 1300, { note: `brotli ${quality()}` });
        else figure('over the wire in all, with what looks at pictures', 'kB', [sum()], null);
      } else {
        await app.takeCare(person); // the first time the cautions are shown: they are part of it
        await person.see(app.pad);
        figure('first visit, over the wire before the pad is usable', 'kB', [sum()], 80);
      }
      await window.kill();
      between.close();
    }
  } finally { await Promise.all([window.close(), server.stop()]); }
}

/**
 * From the icon to a pad that counts, offline. The page and the service worker that serves it are begun anew each time; the browser
 * itself is there already, as it mostly is on a phone, or is started for it too.
 * @param {Awaited<ReturnType<typeof browser>>} window  @param {string} url  @param {number} share
 */
async function start(window, url, share) {
  let person = await fresh(window);
  let stop = await slowed(window.browserProcesses()[0], share);
  const warm = [];
  for (let run = 0; run <= runs; run++) {
    await person.driver.get('about:blank');
    await person.cdp('ServiceWorker.stopAllWorkers');
    await wait(200);
    warm.push(await started(person, url));
  }
  await stop();
  await window.kill();
  figure('icon to usable pad', 'ms', warm.slice(1).map(({ pad }) => pad), 1000);
  figure('icon to engine ready', 'ms', warm.slice(1).map(({ engine }) => engine), 2500);
  const cold = [];
  for (let run = 0; run < 3; run++) {
    person = await fresh(window);
    stop = await slowed(window.browserProcesses()[0], share);
    cold.push(await started(person, url));
    await stop();
    await window.kill();
  }
  figure('icon to usable pad, in a browser just started', 'ms', cold.map(({ pad }) => pad), null);
}

/** @param {Awaited<ReturnType<typeof browser>>} window */
async function fresh(window) {
  const person = await window.open('about:blank');
  await person.cdp('Page.addScriptToEvaluateOnNewDocument', { source: notes });
  await person.cdp('ServiceWorker.enable');
  return person;
}

/** @param {import('../e2e/person.mjs').Person} person  @param {string} url @returns {Promise<{pad: number, engine: number}>} */
async function started(person, url) {
  await person.driver.get(`${url}#/count`);
  await person.until(() => person.js('return window.bench?.engine && bench.pad'), 'pad and engine');
  return person.js('return bench');
}

/** From the thumb's lifting to the painted count. @param {import('../e2e/person.mjs').Person} person */
async function taps(person) {
  await person.to('#/count');
  await person.see(app.pad);
  await person.js(`window.taps = []; const figure = () => document.querySelector('[data-testid=count]').textContent;
    addEventListener('pointerup', (event) => { const before = figure(), from = event.timeStamp;
      requestAnimationFrame(() => { const c = new MessageChannel(); c.port1.onmessage = () => { if (event.target.closest('[data-testid=pad]') && figure() !== before) window.taps.push(performance.now() - from); }; c.port2.postMessage(0); }); }, true);`);
  // Twenty counts of ten, each kept, as a thumb is quick: a tap every 170 ms.
  const { x, y } = await person.spot(app.pad, true);
  const one = [{ type: 'pointerDown', button: 0 }, { type: 'pause', duration: 30 }, { type: 'pointerUp', button: 0 }, { type: 'pause', duration: 140 }];
  for (let count = 0; count < 20; count++) {
    await person.finger([{ type: 'pointerMove', duration: 0, x, y }, ...Array.from({ length: 10 }, () => one).flat()]);
    await person.see({ css: app.figure, text: '10' });
    await app.keepAnd(person);
  }
  figure('tap to painted count', 'ms', await person.js('return window.taps'), 50, { judged: 'p95' });
}

/** How long a screen takes from its link to its picture. @param {import('../e2e/person.mjs').Person} person  @param {string} hash  @param {string} shown a test of the page, in JavaScript */
const opened = (person, hash, shown) => person.later(`const [hash] = args; const shown = () => ${shown};
  const painted = () => new Promise((done) => requestAnimationFrame(() => { const c = new MessageChannel(); c.port1.onmessage = () => done(performance.now()); c.port2.postMessage(0); }));
  const from = performance.now(); location.hash = hash;
  await new Promise((done) => { const look = () => { if (shown()) { watch.disconnect(); done(); } }; const watch = new MutationObserver(look); watch.observe(document, { childList: true, subtree: true, attributes: true, characterData: true }); });
  return (await painted()) - from;`, hash);

/** A store of a thousand animals. @param {import('../e2e/person.mjs').Person} person */
async function fill(person) {
  const text = JSON.stringify(seed(animals, readings));
  console.log(`taking in ${animals} animals with ${readings} readings each, a file of ${(text.length / 1e6).toFixed(1)} MB`);
  await person.js('window.seed = []');
  for (let i = 0; i < text.length; i += 4e6) await person.js('seed.push(arguments[0])', text.slice(i, i + 4e6));
  const module = await app.bench(person);
  await person.driver.manage().setTimeouts({ script: 600_000 });
  const { preview, apply } = await person.later(`const { ask } = await import(args[0]); const from = performance.now();
    const { token } = await ask('importPreview', { file: new Blob(seed) }); const looked = performance.now(); seed = null;
    await ask('importApply', { token }); return { preview: looked - from, apply: performance.now() - looked };`, module);
  figure(`a file of ${animals} animals looked at (not slowed)`, 'ms', [preview], null);
  figure(`a file of ${animals} animals taken in (not slowed)`, 'ms', [apply], 15_000);
}

/** @param {import('../e2e/person.mjs').Person} person */
async function screens(person) {
  const list = [];
  const any = [];
  const { projects } = await app.ask(person, 'view', { name: 'projects' });
  for (let run = 0; run < runs; run++) {
    await person.to('#/settings');
    list.push(await opened(person, '#/', 'document.querySelectorAll(".project-item").length > 20'));
    const { id, name } = projects[(run * 379) % projects.length];
    any.push(await opened(person, `#/project/${id}`, `document.querySelector('main h1')?.innerText === ${JSON.stringify(name)} && document.querySelectorAll('main .hero svg').length > 1`));
  }
  figure(`list of ${animals} animals opens`, 'ms', list, 300);
  figure(`any one of ${animals} animals opens, with its proportions`, 'ms', any, 200);
}

/** Forty parts with four hundred readings, solved in wasm. @param {import('../e2e/person.mjs').Person} person  @param {string} name  @param {number | null} goal */
async function engine(person, name, goal) {
  const request = { sittings: Array.from({ length: 20 }, (_, i) => ({ id: `s${i}`, method: 'sight' })), readings: [], ratios: Array.from({ length: 39 }, (_, i) => ({ of: `p${i + 1}`, to: 'p0' })) };
  for (let r = 0; r < 400; r++) request.readings.push(/** @type {never} */ ({ id: `r${r}`, sitting: `s${r % 20}`, part: `p${(r * 7 + (r % 20)) % 40}`, value: 1 + ((r * 13) % 29) / 8, u: 0.08 }));
  const debug = await cdp(await person.debuggerAddress());
  const worker = await until(() => debug.find('worker', /engine-worker/), 'the engine');
  const times = await debug.evaluate(worker, `(() => { const request = ${JSON.stringify(JSON.stringify(request))}; const times = []; for (let i = 0; i < 40; i++) { const from = performance.now(); const answer = needlesight.call('proportions', request); if (!answer.startsWith('{"ratios"')) throw new Error(answer.slice(0, 200)); times.push(performance.now() - from); } return times; })()`);
  debug.close();
  figure(name, 'ms', times, goal);
}

/** @param {import('../e2e/person.mjs').Person} person  @param {string} name */
async function writes(person, name) {
  const { projects } = await app.ask(person, 'view', { name: 'projects' });
  const module = await app.bench(person);
  const times = await person.later(`const [module, project] = args; const { ask } = await import(module); const seen = await ask('view', { name: 'project', id: project });
    const { id: sitting } = await ask('startSitting', { project, method: 'sight', unit: seen.unit, view: 'side', denominator: 4 }); const times = [];
    for (let i = 0; i < 40; i++) { const from = performance.now(); await ask('keepReading', { sitting, part: seen.parts[1].id, value: 2 + i / 4, denominator: 4 }); times.push(performance.now() - from); } return times;`, module, projects[0].id);
  figure(name, 'ms', times, null);
}

/** Ten thousand records from home and for home, and a file of a thousand animals. @param {import('../e2e/person.mjs').Person} person */
async function store(person) {
  const runs = [];
  for (let run = 0; run < 3; run++) runs.push(await fromHome(person));
  figure('10,000 records taken from home, on the disk, and read for home (not slowed)', 'ms', runs.map(({ taken, read }) => taken + read), 2000);
  figure('10,000 records taken from home, on the disk (not slowed)', 'ms', runs.map(({ taken }) => taken), null);
  figure('10,000 records put into the outbox again (not slowed)', 'ms', runs.map(({ again }) => again), null);
  figure('10,000 records read for home (not slowed)', 'ms', runs.map(({ read }) => read), null);
  figure('60,000 changes acked in 30 transactions (not slowed)', 'ms', runs.map(({ acked }) => acked), null);
}

/** Ten thousand records all the way from one device to another. */
async function allTheWay() {
  const runs = [];
  for (let run = 0; run < 3; run++) runs.push(await bringHome());
  figure('10,000 new records brought home from a browser, all acked (not slowed)', 'ms', runs.map(({ brought }) => brought), 3000);
  figure('10,000 records taken by an empty second browser, on its disk (not slowed)', 'ms', runs.map(({ taken }) => taken), 3000);
}

/** What the store does, alone. */
async function storeAlone() {
  const server = await serve();
  const window = await browser('chromium', { size: phone });
  try {
    const person = await window.open(server.url);
    await person.see('h1');
    await app.ask(person, 'setting', { name: 'cautioned', value: true });
    await app.ask(person, 'addDemo');
    await app.ask(person, 'warm');
    await writes(person, 'one reading kept, on the disk (not slowed)');
    await store(person);
    await fill(person);
    await writes(person, `one reading kept among ${animals} animals, on the disk (not slowed)`);
  } finally { await Promise.all([window.close(), server.stop()]); }
}

async function offline() {
  const server = await serve();
  const window = await browser('chromium', { size: phone });
  try {
    let person = await window.open(server.url);
    await person.see('h1');
    await person.installed();
    await app.ask(person, 'setting', { name: 'cautioned', value: true });
    await app.ask(person, 'addDemo');
    const { share } = await calibrate(person, window.browserProcesses()[0]);
    await server.stop();
    await window.kill();
    await start(window, server.url, share);

    person = await window.open(server.url);
    await person.see('h1');
    await app.ask(person, 'warm');
    await engine(person, 'engine in wasm: 40 parts, 400 readings (not slowed)', 25);
    await writes(person, 'one reading kept, on the disk (not slowed)');
    await store(person);
    await fill(person);
    const stop = await slowed(window.browserProcesses()[0], share);
    await taps(person);
    await screens(person);
    await writes(person, 'one reading kept, on the disk');
    await engine(person, 'engine in wasm: 40 parts, 400 readings', null);
    await stop();
  } finally { await Promise.all([window.close(), server.stop()]); }
}

const busy = await others();
if (busy > 0.1) console.log(`other programs use ${Math.round(busy * 100)} % of this machine: what follows is slower than it would be`);
if (process.argv.includes('--store')) await storeAlone();
else if (process.argv.includes('--home')) await allTheWay();
else if (process.argv.includes('--first')) await firstVisit();
else if (process.argv.includes('--pictures')) await pictures({ figure, slowed, calibrate });
else {
  await firstVisit();
  await offline();
  await pictures({ figure, slowed, calibrate });
  await allTheWay();
}
if (file) writeFileSync(file, `${JSON.stringify(figures, null, 1)}\n`);
const missed = figures.filter(({ met }) => met === false);
console.log(missed.length ? `${missed.length} of ${figures.filter(({ met }) => met !== null).length} goals missed` : 'every goal is met');
process.exitCode = missed.length ? 1 : 0;
