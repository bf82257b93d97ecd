import assert from 'node:assert/strict';
import { test } from 'node:test';
import { everything, freshStore, methods, refused, store } from './bench.mjs';

const { offerAgain, applyKeep, homeState, onWaiting, refusedByHome, rowsAfter } = await import('../../app/bench/outbox.js');
const { keep } = await import('../../app/bench/change.js');
const { call } = await import('../../app/bench/engine.js');

const nothing = { epoch: '', again: false, changes: [], seen: 0, acked: 0, refused: [] };
const id = (letter) => letter.repeat(16);
const sorted = (list) => list.map((one) => JSON.stringify(one)).sort();
const flatOf = ({ kind, id: of, field, counter, device, value, base }) => [kind, of, field, counter, device, value, base];
const asChange = ([kind, of, field, counter, device, value, base]) => ({ kind, id: of, field, value, stamp: [counter, device], base });
const allChanges = async () => (await everything()).changes.map(flatOf);

function randomOf(seed) {
  let state = seed;
  return (n) => { state = (state * 1103515245 + 12345) % 2147483648; return Math.floor((state / 2147483648) * n); };
}

/** Every record in the store must be what the engine's merge makes of all changes there are. */
async function recordsAreMerged(note) {
  const all = await everything();
  const { fields } = await call('merge', { changes: all.changes.map(flatOf).map(asChange) });
  const want = new Map();
  for (const one of fields) {
    const rec = want.get(`${one.kind} ${one.id}`) ?? { fields: {}, apart: {} };
    rec.fields[one.field] = [one.value, one.stamp, one.base];
    if (one.apart.length) rec.apart[one.field] = sorted(one.apart.map(({ value }) => value));
    want.set(`${one.kind} ${one.id}`, rec);
  }
  assert.equal(all.records.length, want.size, note);
  for (const rec of all.records) {
    const { fields: said, apart } = want.get(`${rec.kind} ${rec.id}`);
    assert.deepEqual(Object.fromEntries(Object.entries(rec.fields).sort()), Object.fromEntries(Object.entries(said).sort()), note);
    assert.deepEqual(Object.fromEntries(Object.entries(rec.apart).map(([field, others]) => [field, sorted(others.map(([value]) => value))])), apart, note);
    assert.equal(rec.project, rec.kind === 'project' ? rec.id : rec.fields.project?.[0] ?? '', note);
    assert.equal(rec.gone, rec.fields.binned?.[0] ? 1 : 0, note);
  }
  assert.equal(all.waiting, all.outbox.length, note);
  assert.ok(all.changes.every(({ counter }) => counter <= all.counter), note);
}

/** What three devices did, each in sight of some of what the others did. */
function story(random, steps) {
  const phones = 'xyz'.split('').map((letter) => ({ device: id(letter), known: [], highest: 0 }));
  const places = [['project', id('p'), 'name'], ['part', id('q'), 'name'], ['part', id('q'), 'nailed'], ['part', id('r'), 'project'], ['part', id('r'), 'binned']];
  const values = { name: ['a', 'b', 'c'], nailed: [true, false], project: [id('p'), null], binned: ['2026-01-01', null] };
  const all = [];
  for (let step = 0; step < steps; step++) {
    const phone = phones[random(3)];
    if (random(4) === 0) {
      for (const change of all) if (random(2) && !phone.known.includes(change)) { phone.known.push(change); phone.highest = Math.max(phone.highest, change[3]); }
      continue;
    }
    const [kind, of, field] = places[random(places.length)];
    const seen = phone.known.filter((change) => change[1] === of && change[2] === field);
    const base = seen.length ? seen[random(seen.length)] : null;
    const change = [kind, of, field, ++phone.highest, phone.device, values[field][random(values[field].length)], base && [base[3], base[4]]];
    all.push(change);
    phone.known.push(change);
  }
  return all;
}

test('whatever three devices did, in any order and with what is entered here meanwhile, the records are what merging all changes gives', async () => {
  for (let seed = 1; seed <= 25; seed++) {
    const random = randomOf(seed * 7919);
    await freshStore();
    const { id: project } = await methods.newProject({ name: 'Mine', animal: 'other', parts: [{ name: 'tail' }] });
    const all = story(random, 60);
    const bag = [...all, ...all.filter(() => random(3) === 0)].map((change) => [random(1e6), change]).sort(([a], [b]) => a - b).map(([, change]) => change);
    let seen = 0;
    while (bag.length) {
      const changes = bag.splice(0, 1 + random(12));
      const mine = (await everything()).records.find((rec) => rec.kind === 'part' && rec.id === id('q'));
      await Promise.all([
        applyKeep({ ...nothing, changes, seen: seen += changes.length }),
        ...(random(2) ? [methods.set({ kind: 'project', id: project, field: 'name', value: `name ${random(3)}` })] : []),
        ...(random(2) && mine ? [methods.set({ kind: 'part', id: id('q'), field: 'name', value: 'abc'[random(3)] })] : []),
      ]);
    }
    const known = new Set((await allChanges()).map(String));
    assert.ok(all.every((change) => known.has(String(change))), `seed ${seed}: all are kept`);
    await recordsAreMerged(`seed ${seed}`);
    const { outbox, device } = await everything();
    assert.ok(outbox.every((row) => row[5] === device), `seed ${seed}: what came from home does not go back`);
    assert.equal((await homeState()).seen, seen);
  }
});

test('rows of the outbox come by number, in order, and leave it when home has them', async () => {
  await freshStore();
  const waiting = [];
  onWaiting((n) => waiting.push(n));
  const edits = (n, from = 0) => Array.from({ length: n }, (_, i) => ({ kind: 'project', id: id('p'), field: 'name', value: `n${from + i}` }));
  await keep(async () => edits(3));
  await keep(async () => edits(1203, 3));
  for (let i = 0; i < 40; i++) await keep(async () => edits(1, 1206 + i));
  assert.deepEqual([waiting[0], waiting[1], waiting.at(-1)], [3, 1206, 1246]);
  onWaiting(() => {});
  const rows = async (after, most) => (await rowsAfter(after, most)).rows;
  const all = await rows(0, 1e6);
  assert.deepEqual(all.map(([n, , , , , , value]) => [n, value]), Array.from({ length: 1246 }, (_, i) => [i + 1, `n${i}`]));
  assert.deepEqual(all[9], [10, 'project', id('p'), 'name', 10, (await homeState()).device, 'n9', [9, (await homeState()).device]]);
  for (const [after, most] of [[0, 1], [0, 500], [2, 3], [3, 2000], [499, 10], [700, 7], [1205, 3], [1210, 100], [1245, 5], [1246, 5], [9999, 5]]) {
    assert.deepEqual(await rows(after, most), all.slice(after, after + most), `after ${after}, ${most}`);
  }
  for (const acked of [1, 3, 250, 1206, 1207, 1246]) {
    const { waiting: left } = await applyKeep({ ...nothing, acked, seen: acked });
    assert.equal(left, 1246 - acked);
    assert.deepEqual(await rows(0, 1e6), all.slice(acked), `acked ${acked}`);
    assert.deepEqual(await rows(acked, 1e6), all.slice(acked));
  }
  await keep(async () => edits(1, 5000));
  assert.deepEqual((await rows(0, 10)).map(([n]) => n), [1247], 'no number is given twice');
  assert.deepEqual(await homeState(), { device: (await everything()).device, epoch: '', seen: 1246, waiting: 1 });
});

test('a home that was restored gets everything again, in new rows', async () => {
  await freshStore();
  await methods.addDemo({});
  const { row } = await everything();
  await applyKeep({ ...nothing, epoch: id('e'), seen: row, acked: row - 5 });
  await applyKeep({ ...nothing, changes: [['project', id('p'), 'name', 5, id('x'), 'From afar', null]], seen: row + 1 });
  const before = await everything();
  assert.equal(before.outbox.length, 5);
  const { waiting } = await applyKeep({ ...nothing, epoch: id('f'), again: true, seen: 0 });
  const after = await everything();
  assert.equal(waiting, after.changes.length);
  assert.deepEqual(sorted(after.outbox.map(([, ...change]) => change)), sorted(after.changes.map(flatOf)));
  assert.deepEqual(after.outbox.map(([n]) => n), after.outbox.map((_, i) => before.row + 1 + i));
  assert.deepEqual(after.records, before.records);
  assert.deepEqual(await homeState(), { device: after.device, epoch: id('f'), seen: 0, waiting });
  const lengths = await store.read(['outbox'], async (tx) => (await tx.objectStore('outbox').getAll()).map(({ changes }) => changes.length));
  assert.ok(lengths.slice(0, -1).every((n) => n === 500) && lengths.at(-1) <= 500, `${lengths}`);
});

test('what home did not take is noted with why, stays here, and is forgotten when home takes it', async () => {
  await freshStore();
  await keep(async () => [{ kind: 'project', id: id('p'), field: 'name', value: 'a' }, { kind: 'project', id: id('p'), field: 'animal', value: 'b' }]);
  const { changes } = await everything();
  await applyKeep({ ...nothing, acked: 2, seen: 1, refused: [[2, 'change-value']] });
  const { device } = await homeState();
  assert.deepEqual(await refusedByHome(), [{ kind: 'project', id: id('p'), field: 'animal', counter: 2, device, code: 'change-value' }]);
  assert.deepEqual((await everything()).changes, changes);
  await applyKeep({ ...nothing, epoch: id('e'), again: true, seen: 0 });
  assert.deepEqual(await refusedByHome(), []);
  await applyKeep({ ...nothing, acked: 4, seen: 2, refused: [[4, 'change-field']] });
  assert.deepEqual((await refusedByHome()).map(({ field, code }) => [field, code]), [['animal', 'change-field']]);
});

test('what an older home did not know is brought again, once a day, until it is taken', async () => {
  await freshStore();
  await keep(async () => [{ kind: 'project', id: id('p'), field: 'name', value: 'a' }, { kind: 'project', id: id('p'), field: 'animal', value: 'b' }, { kind: 'project', id: id('p'), field: 'animal', value: 'c' }]);
  const { changes } = await everything();
  await applyKeep({ ...nothing, acked: 3, seen: 1, refused: [[1, 'change-fact-twice'], [2, 'change-kind'], [3, 'change-value']] });
  assert.equal(await offerAgain({ day: '2026-11-28' }), 2);
  const { outbox, waiting } = await everything();
  assert.deepEqual(outbox.map(([n, , , field, , , value]) => [n, field, value]), [[4, 'animal', 'b'], [5, 'animal', 'c']]);
  assert.equal(waiting, 2);
  assert.equal(await offerAgain({ day: '2026-11-28' }), 0, 'once a day');
  assert.equal(await offerAgain({ day: '2026-11-29' }), 0, 'they are in the outbox still');
  // It takes one of them now, and not the other.
  await applyKeep({ ...nothing, acked: 5, seen: 2, refused: [[5, 'change-value']] });
  assert.deepEqual((await refusedByHome()).map(({ counter, code, offered }) => [counter, code, offered]), [[1, 'change-fact-twice', undefined], [3, 'change-value', undefined]]);
  assert.equal(await offerAgain({ day: '2026-11-30' }), 1);
  await applyKeep({ ...nothing, acked: 6, seen: 3 });
  assert.deepEqual((await refusedByHome()).map(({ counter }) => counter), [1]);
  assert.equal(await offerAgain({ day: '2026-12-01' }), 0);
  assert.deepEqual((await everything()).changes, changes);
});

test('a change of this device that it does not know: the store went back, so the device takes another id', async () => {
  await freshStore();
  await methods.newProject({ name: 'Mine', animal: 'other', parts: [] });
  const { device } = await homeState();
  const { device: same } = await applyKeep({ ...nothing, changes: await allChanges(), seen: 1 });
  assert.equal(same, device, 'what is known tells nothing');
  const { device: other } = await applyKeep({ ...nothing, changes: [['project', id('p'), 'name', 77, device, 'Lost', null]], seen: 2 });
  assert.notEqual(other, device);
  assert.match(other, /^[a-z2-7]{16}$/);
  assert.equal((await homeState()).device, other);
  await methods.newProject({ name: 'Next', animal: 'other', parts: [] });
  const next = (await everything()).changes.filter((change) => change.device === other);
  assert.ok(next.length && next.every(({ counter }) => counter > 77));
});

test('two changes under one stamp: what home has stands, what was said here gets a stamp of its own', async () => {
  for (const refusedFirst of [false, true]) {
    await freshStore();
    await keep(async () => [{ kind: 'project', id: id('p'), field: 'name', value: 'Ours' }]);
    const { device } = await homeState();
    const theirs = ['project', id('p'), 'name', 1, device, 'Theirs', null];
    const refusal = { ...nothing, acked: 1, seen: 3, refused: [[1, 'change-same-stamp']] };
    const news = { ...nothing, changes: [theirs], seen: 4 };
    for (const keeping of refusedFirst ? [refusal, news] : [news, refusal]) await applyKeep(keeping);
    const { changes, outbox, device: now } = await everything();
    assert.notEqual(now, device);
    assert.deepEqual(changes.map(flatOf), [theirs, ['project', id('p'), 'name', 2, changes[1].device, 'Ours', null]]);
    assert.notEqual(changes[1].device, device);
    assert.deepEqual(outbox.map(([, ...change]) => change), [flatOf(changes[1])]);
    assert.deepEqual(await refusedByHome(), []);
    await recordsAreMerged(`refused first: ${refusedFirst}`);
  }
});

test('a fact that was written twice: what home has stands, and the sync goes on', async () => {
  await freshStore();
  const fact = (value) => ({ sitting: id('s'), part: id('q'), place: null, value, denominator: null, typed: null });
  await keep(async () => [{ kind: 'reading', id: id('r'), field: 'fact', value: fact(1) }]);
  await applyKeep({ ...nothing, changes: [['reading', id('r'), 'fact', 9, id('x'), fact(2), null], ['project', id('p'), 'name', 10, id('x'), 'Otter', null]], seen: 2 });
  const { records, changes } = await everything();
  assert.equal(changes.length, 3);
  assert.deepEqual(records.find(({ kind }) => kind === 'reading').fields.fact, [fact(2), [9, id('x')], null]);
});

test('cut off anywhere, nothing of it is kept', async () => {
  await freshStore();
  await methods.newProject({ name: 'Mine', animal: 'otter' });
  await applyKeep({ ...nothing, changes: [['project', id('p'), 'name', 500, id('x'), 'Afar', null]], seen: 1 });
  const more = async () => ({ ...await everything(), home: await homeState(), refused: await refusedByHome() });
  const before = await more();
  const keeping = { epoch: id('e'), again: true, acked: 4, refused: [[2, 'change-value']], seen: 0,
    changes: [['project', id('p'), 'name', 501, id('y'), 'Farther', null], ['part', id('q'), 'name', 502, id('y'), 'tail', null]] };
  const real = IDBObjectStore.prototype.put;
  let cuts = 0;
  for (let at = 1; ; at++) {
    let left = at;
    IDBObjectStore.prototype.put = function cut(...args) {
      if (--left === 0) throw new DOMException('full', 'QuotaExceededError');
      return real.apply(this, args);
    };
    try {
      await applyKeep(keeping);
      break;
    } catch (error) {
      assert.equal(error.code, 'store-full');
      cuts += 1;
    } finally { IDBObjectStore.prototype.put = real; }
    assert.deepEqual(await more(), before, `cut at ${at}`);
  }
  assert.ok(cuts > 8, `${cuts} places to be cut off at`);
  assert.equal((await homeState()).epoch, id('e'));
  await recordsAreMerged('after all');
});

test('an engine that is gone leaves the store as it was', async () => {
  const { useEngine, realEngine } = await import('./bench.mjs');
  await freshStore();
  await keep(async () => [{ kind: 'project', id: id('p'), field: 'name', value: 'Ours' }]);
  const before = await everything();
  useEngine((told) => { queueMicrotask(() => told({ event: 'failed', text: 'gone' })); return { ask: () => {}, end: () => {} }; });
  try {
    const error = await refused(() => applyKeep({ ...nothing, changes: [['project', id('p'), 'name', 9, id('x'), 'Theirs', null]], seen: 1 }));
    assert.equal(error.code, 'engine-missing');
    assert.deepEqual(await everything(), before);
    // New records need no engine.
    await applyKeep({ ...nothing, changes: [['project', id('q'), 'name', 9, id('x'), 'Theirs', null]], seen: 1 });
  } finally { useEngine(realEngine); }
  assert.equal((await everything()).records.length, 2);
});
