import assert from 'node:assert/strict';
import { test } from 'node:test';
import { everything, freshStore, methods, refused, store, told, view } from './bench.mjs';

const { joinTabs, leaveTabs } = await import('../../app/bench/events.js');
const { keep } = await import('../../app/bench/change.js');

/** A project with one sitting of its subject. */
async function begun() {
  await freshStore();
  const { id: project } = await methods.newProject({ name: 'Otter', animal: 'otter' });
  const { parts, unit } = await view('pad', { project });
  const { id: sitting } = await methods.startSitting({ project, method: 'sight', unit, view: 'side', denominator: 4 });
  return { project, parts, unit, sitting };
}

test('a new project has the suggested parts, a unit, and every change in the outbox', async () => {
  const { project, parts, unit } = await begun();
  const all = await everything();
  assert.equal(parts.find((p) => p.id === unit).name, 'head length');
  assert.ok(parts.length > 8);
  assert.equal(all.outbox.length, all.changes.length);
  assert.equal(all.counter, all.changes.length);
  const [record] = all.records.filter((rec) => rec.kind === 'project');
  assert.equal(record.project, project);
  assert.equal(record.fields.name[0], 'Otter');
  assert.deepEqual(record.fields.name[1][1], all.device);
});

test('a reading is kept with its outbox row, or not at all', async () => {
  const { parts, sitting } = await begun();
  const { id } = await methods.keepReading({ sitting, part: parts[1].id, value: 2.75, denominator: 4 });
  const before = await everything();
  assert.ok(before.records.some((rec) => rec.id === id));
  assert.ok(before.outbox.some((row) => row[2] === id && row[3] === 'fact'));
  const real = IDBObjectStore.prototype.put;
  IDBObjectStore.prototype.put = function put(...args) {
    if (this.name === 'outbox') throw new DOMException('no', 'DataError');
    return real.apply(this, args);
  };
  try {
    await refused(() => methods.keepReading({ sitting, part: parts[1].id, value: 3, denominator: 4 }));
  } finally { IDBObjectStore.prototype.put = real; }
  assert.deepEqual(await everything(), before);
});

test('a sitting begins with its first reading, or not at all', async () => {
  const { project, parts, unit } = await begun();
  const before = await everything();
  const hold = { project, method: 'sight', unit, unit_name: 'head length', view: 'side', denominator: 4, arm_mm: 600 };
  const read = { part: parts[1].id, name: parts[1].name, value: 2.5, denominator: 4 };
  for (const [wrong, code] of [[{ part: 'nothing' }, 'no-such-record'], [{ value: 0 }, 'value-zero'], [{ part: null }, 'no-such-record']]) {
    assert.equal((await refused(() => methods.firstReading({ hold, ...read, ...wrong }))).code, code);
  }
  const real = IDBObjectStore.prototype.put;
  let writes = 0;
  IDBObjectStore.prototype.put = function put(...args) {
    if (this.name === 'records' && ++writes === 3) throw new DOMException('full', 'QuotaExceededError');
    return real.apply(this, args);
  };
  try {
    assert.equal((await refused(() => methods.firstReading({ hold, ...read }))).code, 'store-full');
  } finally { IDBObjectStore.prototype.put = real; }
  assert.deepEqual(await everything(), before);
  const first = await methods.firstReading({ hold, ...read });
  assert.deepEqual([first.part, first.unit], [parts[1].id, unit]);
  const pad = await view('pad', { project, sitting: first.sitting });
  assert.deepEqual(pad.parts.flatMap((p) => p.here.map((r) => [p.id, r.value])), [[unit, 1], [parts[1].id, 2.5]]);
  assert.deepEqual([pad.sitting.unit, pad.sitting.denominator, pad.sitting.view], [unit, 4, 'side']);
});

test('with no project, unit and part are made with the first reading, and each further part with its own', async () => {
  await freshStore();
  await methods.draft({ key: 'sight::subject', value: { whole: 2 } });
  const first = await methods.firstReading({ hold: { project: null, method: 'sight', unit: null, unit_name: 'the unit', denominator: 4 }, part: null, name: 'length 1', value: 2, denominator: 4, draft: 'sight::subject' });
  assert.equal(await methods.drafts({ key: 'sight::subject' }), null);
  const next = await methods.keepReading({ sitting: first.sitting, part: null, name: 'length 2', value: 3, denominator: 4 });
  await methods.keepReading({ sitting: first.sitting, part: next.part, name: 'length 2', value: 3.5, denominator: 4 });
  const [seen] = (await view('loose')).sittings;
  assert.deepEqual([seen.unit_name, seen.readings.map((r) => [r.name, r.value])], ['the unit', [['the unit', 1], ['length 1', 2], ['length 2', 3], ['length 2', 3.5]]]);
  assert.equal((await everything()).records.filter((rec) => rec.kind === 'part').length, 3);
  const ruled = await methods.firstReading({ hold: { project: null, method: 'ruler' }, part: null, name: 'leg', value: 40, typed: '40' });
  assert.equal(ruled.unit, null);
});

test('a change that asks for what is not there leaves nothing', async () => {
  const { parts, sitting } = await begun();
  const before = await everything();
  const cases = [
    [() => methods.keepReading({ sitting, part: parts[0].id, value: 0 }), 'value-zero'],
    [() => methods.keepReading({ sitting, part: parts[0].id, value: -1 }), 'value-negative'],
    [() => methods.keepReading({ sitting, part: parts[0].id, value: NaN }), 'value-not-number'],
    [() => methods.keepReading({ sitting, part: parts[0].id, value: '3' }), 'value-not-number'],
    [() => methods.keepReading({ sitting, part: parts[0].id, value: 1e9 }), 'value-too-big'],
    [() => methods.keepReading({ sitting, part: 'nothing', value: 1 }), 'no-such-record'],
    [() => methods.keepReading({ sitting: 'nothing', part: parts[0].id, value: 1 }), 'no-such-record'],
    [() => methods.newProject({ name: '  ' }), 'name-empty'],
    [() => methods.newProject({ name: 'x'.repeat(201) }), 'name-too-long'],
    [() => methods.newProject({ name: 'a\u0000b' }), 'name-control'],
    [() => methods.set({ kind: 'reading', id: sitting, field: 'fact', value: {} }), 'no-such-field'],
    [() => methods.set({ kind: 'part', id: parts[0].id, field: 'as', value: parts[0].id }), 'part-of-itself'],
    [() => methods.set({ kind: 'part', id: parts[0].id, field: 'axis', value: 'round' }), 'value-not-allowed'],
    [() => methods.choose({ kind: 'part', id: parts[0].id, field: 'name', value: 'x' }), 'nothing-apart'],
    [() => methods.set({ kind: '__proto__', id: parts[0].id, field: 'name', value: 'x' }), 'no-such-field'],
    [() => methods.view({ name: 'constructor' }), 'no-such-method'],
  ];
  for (const [run, code] of cases) assert.equal((await refused(async () => run())).code, code);
  assert.deepEqual(await everything(), before);
});

test('a place may lie at the very start of its part', async () => {
  const { project, parts, sitting } = await begun();
  const { id: place } = await methods.addPlace({ project, name: 'nose', part: parts[0].id, from: 'tip' });
  await methods.keepReading({ sitting, part: parts[0].id, place, value: 0, denominator: 4 });
  assert.equal((await view('pad', { project, sitting })).places[0].here[0].value, 0);
});

test('many changes at once never share a stamp, and the last one stands', async () => {
  const { project } = await begun();
  await Promise.all(Array.from({ length: 60 }, (_, i) => methods.set({ kind: 'project', id: project, field: 'name', value: `name ${i}` })));
  const { changes, records } = await everything();
  const stamps = changes.map((change) => `${change.counter} ${change.device}`);
  assert.equal(new Set(stamps).size, stamps.length);
  const names = changes.filter((change) => change.id === project && change.field === 'name').sort((a, b) => a.counter - b.counter);
  assert.equal(names.length, 61);
  names.slice(1).forEach((change, i) => assert.deepEqual(change.base, [names[i].counter, names[i].device]));
  assert.equal(records.find((rec) => rec.id === project).fields.name[0], names.at(-1).value);
});

test('two tabs at once never make the same stamp, and hear of each other', async () => {
  const { project } = await begun();
  const tab = await import('../../app/bench/table.js?tab=2');
  const its = await import('../../app/bench/store.js?tab=2');
  const events = await import('../../app/bench/events.js?tab=2');
  assert.notEqual(its, store);
  await its.useDatabase((await indexedDB.databases()).at(-1).name);
  const heard = [];
  events.toPage((event, data) => heard.push({ event, data }));
  events.joinTabs();
  joinTabs();
  try {
    await Promise.all(Array.from({ length: 40 }, (_, i) => (i % 2 ? methods : tab.methods).addPiece({ project, name: `piece ${i}` })));
    const { changes, counter } = await everything();
    const stamps = changes.map((change) => `${change.counter} ${change.device}`);
    assert.equal(new Set(stamps).size, stamps.length);
    assert.equal(new Set(changes.map((change) => change.device)).size, 1);
    assert.equal(counter, changes.length);
    assert.equal((await view('pad', { project })).pieces.length, 40);
    const before = heard.length;
    await methods.set({ kind: 'project', id: project, field: 'name', value: 'Seen there' });
    for (let i = 0; i < 50 && heard.length === before; i++) await new Promise((done) => setTimeout(done, 10));
    assert.deepEqual(heard.at(-1), { event: 'changed', data: { projects: [project], kinds: ['project'] } });
  } finally { leaveTabs(); events.leaveTabs(); await its.close(); }
});

test('no room left: said so, and nothing is kept', async () => {
  const { parts, sitting } = await begun();
  const before = await everything();
  const real = IDBObjectStore.prototype.put;
  IDBObjectStore.prototype.put = function put(...args) {
    if (this.name === 'records') throw new DOMException('full', 'QuotaExceededError');
    return real.apply(this, args);
  };
  try {
    assert.equal((await refused(() => methods.keepReading({ sitting, part: parts[0].id, value: 3 }))).code, 'store-full');
  } finally { IDBObjectStore.prototype.put = real; }
  assert.deepEqual(await everything(), before);
  assert.equal(told.filter(({ event }) => event === 'kept').at(-1).data.pending, false);
});

test('a store that dies under the tab is opened again, once', async () => {
  const { project } = await begun();
  const real = IDBDatabase.prototype.transaction;
  let deaths = 1;
  IDBDatabase.prototype.transaction = function transaction(...args) {
    if (deaths-- > 0) throw new DOMException('The database connection is closing.', 'InvalidStateError');
    return real.apply(this, args);
  };
  try {
    await methods.set({ kind: 'project', id: project, field: 'name', value: 'Alive' });
    assert.equal((await view('pad', { project })).name, 'Alive');
    deaths = 2;
    assert.equal((await refused(() => methods.set({ kind: 'project', id: project, field: 'name', value: 'No' }))).code, 'store-gone');
  } finally { IDBDatabase.prototype.transaction = real; }
  assert.equal((await view('pad', { project })).name, 'Alive');
});

test('a store made by a newer version says so', async () => {
  await freshStore();
  const opened = await new Promise((done, failed) => {
    const request = indexedDB.open('newer', 99);
    request.onsuccess = () => done(request.result);
    request.onerror = () => failed(request.error);
  });
  opened.close();
  await store.useDatabase('newer');
  assert.equal((await refused(() => view('projects'))).code, 'store-newer');
});

test('a draft is there for the next tab, and goes with the reading it became', async () => {
  const { project, parts, sitting } = await begun();
  const key = `sight:${project}:subject`;
  await methods.draft({ key, value: { whole: 3 } });
  await store.close();
  assert.deepEqual(await methods.drafts({ key }), { whole: 3 });
  assert.deepEqual(await methods.drafts({}), { [key]: { whole: 3 } });
  await methods.keepReading({ sitting, part: parts[1].id, value: 3, draft: key });
  assert.equal(await methods.drafts({ key }), null);
  await methods.draft({ key, value: { whole: 1 } });
  await methods.draft({ key, value: null });
  assert.equal(await methods.drafts({ key }), null);
  assert.equal((await refused(() => methods.draft({ key, value: 'x'.repeat(20000) }))).code, 'draft-too-big');
});

test('settings have defaults, keep what is chosen, and refuse nonsense', async () => {
  await freshStore();
  const { unit, tolerance, denominator } = await methods.settings();
  assert.deepEqual([unit, tolerance, denominator], ['mm', 0.04, 4]);
  await methods.setting({ name: 'unit', value: 'in' });
  assert.equal((await methods.settings()).unit, 'in');
  assert.equal((await refused(() => methods.setting({ name: 'unit', value: 'furlong' }))).code, 'value-not-allowed');
  assert.equal((await refused(() => methods.setting({ name: 'tolerance', value: 0 }))).code, 'tolerance-range');
  assert.equal((await refused(() => methods.setting({ name: 'toString', value: 1 }))).code, 'no-such-field');
});

test('setting what already stands is no change', async () => {
  const { project } = await begun();
  const { counter } = await everything();
  await methods.set({ kind: 'project', id: project, field: 'name', value: 'Otter' });
  await methods.bin({ kind: 'project', id: project, binned: false });
  assert.equal((await everything()).counter, counter);
});

test('the bin takes and gives back', async () => {
  const { project, parts } = await begun();
  await methods.bin({ kind: 'part', id: parts[2].id, binned: true });
  assert.ok(!(await view('pad', { project })).parts.some((p) => p.id === parts[2].id));
  await methods.bin({ kind: 'project', id: project, binned: true });
  assert.equal((await view('projects')).projects.length, 0);
  assert.deepEqual((await view('bin')).items.map((item) => item.kind), ['project']);
  await methods.bin({ kind: 'project', id: project, binned: false });
  assert.deepEqual((await view('bin')).items.map(({ kind, id, project_name }) => [kind, id, project_name]), [['part', parts[2].id, 'Otter']]);
});

test('what was measured loose is given to a project, part by part', async () => {
  const { project, parts } = await begun();
  const { id: unit } = await methods.loosePart({ name: 'unit' });
  const { id: sitting } = await methods.startSitting({ method: 'sight', unit, denominator: 4 });
  const { id: long } = await methods.loosePart({ name: 'long bit' });
  const { id: other } = await methods.loosePart({ name: 'another' });
  await methods.keepReading({ sitting, part: long, value: 2.5, denominator: 4 });
  await methods.keepReading({ sitting, part: other, value: 0.5, denominator: 4 });
  const [seen] = (await view('loose')).sittings;
  assert.deepEqual([seen.unit_name, seen.readings.map((r) => r.name)], ['unit', ['long bit', 'another']]);
  assert.equal((await view('projects')).loose, 1);
  const head = parts.find((p) => p.name === 'head length').id;
  const body = parts.find((p) => p.name === 'body length').id;
  assert.equal((await refused(() => methods.give({ sitting, project, as: { [unit]: long } }))).code, 'part-elsewhere');
  assert.deepEqual(await methods.give({ sitting, project, as: { [unit]: head, [long]: body } }), { sittings: [sitting] });
  assert.equal((await view('loose')).sittings.length, 0);
  const pad = await view('pad', { project, sitting });
  assert.equal(pad.unit, head);
  assert.equal(pad.parts.find((p) => p.id === body).here[0].value, 2.5);
  assert.equal(pad.parts.at(-1).name, 'another');
  assert.equal(pad.parts.length, parts.length + 1);
});

test('what was measured loose is given to a piece, and written anew there', async () => {
  const { project, parts } = await begun();
  const { id: piece } = await methods.addPiece({ project, name: 'Wool' });
  const { id: unit } = await methods.loosePart({ name: 'unit' });
  const { id: long } = await methods.loosePart({ name: 'long bit' });
  const { id: sitting } = await methods.startSitting({ method: 'sight', unit, denominator: 4 });
  await methods.keepReading({ sitting, part: long, value: 2.5, denominator: 4 });
  const { id: off } = await methods.keepReading({ sitting, part: long, value: 9, denominator: 4 });
  await methods.strike({ kind: 'reading', id: off, struck: true });
  assert.equal((await refused(() => methods.give({ sitting, project, of: 'aaaaaaaaaaaaaaaa' }))).code, 'no-such-record');
  const { sittings: [anew] } = await methods.give({ sitting, project, of: piece, as: { [unit]: parts[0].id, [long]: null } });
  const pad = await view('pad', { project, of: piece, sitting: anew });
  assert.equal(pad.unit, parts[0].id);
  assert.deepEqual(pad.parts.filter((p) => p.here.length).map((p) => [p.name, p.here.map((r) => r.value)]), [['long bit', [2.5]]]);
  assert.equal((await view('loose')).sittings.length, 0);
});

test('the pad offers the unit used last and the next part', async () => {
  const { project, parts, sitting, unit } = await begun();
  const first = await view('pad', { project, sitting });
  assert.equal(first.unit, unit);
  assert.ok(first.next && first.next !== unit);
  await methods.keepReading({ sitting, part: first.next, value: 2 });
  assert.notEqual((await view('pad', { project, sitting })).next, first.next);
  await methods.startSitting({ project, method: 'sight', unit: parts[3].id });
  assert.equal((await view('pad', { project })).unit, parts[3].id);
});

test('a thousand projects with fifty readings each: the list does not read the readings', { timeout: 240000 }, async () => {
  await freshStore();
  const id = (kind, n) => kind + String(n).padStart(15, 'a').replace(/\d/g, (digit) => 'bcdefghijk'[digit]);
  await keep(async () => Array.from({ length: 1000 }, (_, i) => [
    { kind: 'project', id: id('p', i), field: 'name', value: `Animal ${i}` }, { kind: 'project', id: id('p', i), field: 'made', value: '2026-01-01' },
  ]).flat());
  await store.write(['records'], async (tx) => {
    const records = tx.objectStore('records');
    const last = [];
    for (let i = 0; i < 1000; i++) for (let r = 0; r < 50; r++) {
      last[0] = records.put({ kind: 'reading', id: id('r', i * 50 + r), project: id('p', i), gone: 0, apart: {}, fields: { fact: [{ value: 1 }, [1, 'x'], null] } });
    }
    await last[0];
  });
  const first = await view('projects');
  assert.deepEqual([first.projects.length, first.projects[0].name], [1000, 'Animal 999']);
  await methods.bin({ kind: 'project', id: first.projects[1].id, binned: true });
  await methods.set({ kind: 'project', id: first.projects[2].id, field: 'name', value: 'Renamed' });
  await methods.newProject({ name: 'Newest', animal: 'fox' });
  const reads = [];
  const real = {};
  for (const name of ['getAll', 'getAllKeys', 'openCursor']) for (const on of [IDBIndex, IDBObjectStore]) {
    real[name + on.name] = on.prototype[name];
    on.prototype[name] = function spied(...args) { reads.push(`${name} of ${this.name}`); return real[name + on.name].apply(this, args); };
  }
  try {
    const seen = await view('projects');
    assert.deepEqual(reads, []);
    assert.deepEqual([seen.projects.length, seen.binned], [1000, 1]);
    assert.deepEqual(seen.projects.slice(0, 3).map((p) => p.name), ['Newest', 'Animal 999', 'Renamed']);
    await store.write(['meta'], async (tx) => { await tx.objectStore('meta').delete('shelf'); });
    assert.deepEqual(await view('projects'), seen);
  } finally {
    for (const name of ['getAll', 'getAllKeys', 'openCursor']) for (const on of [IDBIndex, IDBObjectStore]) on.prototype[name] = real[name + on.name];
  }
});
