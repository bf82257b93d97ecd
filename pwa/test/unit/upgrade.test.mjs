import assert from 'node:assert/strict';
import { test } from 'node:test';
import { everything, freshStore, methods, refused, store, view } from './bench.mjs';

const { rowsAfter, homeState } = await import('../../app/bench/outbox.js');

let n = 0;
const id = (kind, i) => kind + String(i).padStart(15, 'a').replace(/\d/g, (digit) => 'bcdefghijk'[digit]);

/** A store as version 1 of the app made it, with so many records of which each name was changed twice. */
async function oldStore(count) {
  const name = `old-${process.pid}-${++n}`;
  const device = 'dddddddddddddddd';
  const db = await new Promise((done, failed) => {
    const request = indexedDB.open(name, 1);
    request.onupgradeneeded = () => {
      const made = request.result;
      const records = made.createObjectStore('records', { keyPath: ['kind', 'id'] });
      records.createIndex('project', 'project');
      records.createIndex('kind', ['kind', 'gone']);
      records.createIndex('live', ['project', 'kind', 'gone']);
      made.createObjectStore('changes', { keyPath: ['kind', 'id', 'field', 'counter', 'device'] });
      made.createObjectStore('outbox', { autoIncrement: true });
      made.createObjectStore('meta');
      made.createObjectStore('drafts');
    };
    request.onsuccess = () => done(request.result);
    request.onerror = () => failed(request.error);
  });
  const tx = db.transaction(['records', 'changes', 'outbox', 'meta', 'drafts'], 'readwrite');
  const changes = [];
  let counter = 0;
  for (let i = 0; i < count; i++) {
    const of = id('p', i);
    const first = [++counter, device];
    const second = [++counter, device];
    const third = [++counter, 'eeeeeeeeeeeeeeee'];
    changes.push(
      { kind: 'project', id: of, field: 'name', counter: first[0], device, value: `Animal ${i}`, base: null },
      { kind: 'project', id: of, field: 'name', counter: second[0], device, value: `Beast ${i}`, base: first },
      { kind: 'project', id: of, field: 'name', counter: third[0], device: third[1], value: `Creature ${i}`, base: first },
    );
    tx.objectStore('records').put({ kind: 'project', id: of, project: of, gone: 0, fields: { name: [`Creature ${i}`, third, first] }, apart: { name: [[`Beast ${i}`, second]] } });
  }
  // One in the bin, a sitting without a project, and one that was struck.
  for (const [kind, of, project, gone, field, value] of count ? [['project', id('q', 1), id('q', 1), 1, 'binned', '2999-01-01'], ['sitting', id('s', 0), '', 0, 'fact', { of: 'subject' }], ['sitting', id('s', 1), '', 1, 'struck', true]] : []) {
    changes.push({ kind, id: of, field, counter: ++counter, device, value, base: null });
    tx.objectStore('records').put({ kind, id: of, project, gone, fields: { [field]: [value, [counter, device], null] }, apart: {} });
  }
  for (const change of changes) {
    tx.objectStore('changes').put(change);
    tx.objectStore('outbox').put([change.kind, change.id, change.field, change.counter, change.device]);
  }
  tx.objectStore('meta').put(device, 'device');
  tx.objectStore('meta').put(counter, 'counter');
  tx.objectStore('meta').put({ unit: 'in' }, 'settings');
  tx.objectStore('drafts').put({ whole: 3 }, 'sight::subject');
  await new Promise((done, failed) => { tx.oncomplete = done; tx.onabort = () => failed(tx.error); });
  db.close();
  return { name, device, counter, changes };
}

const byKey = (list) => list.map((change) => JSON.stringify([change.kind, change.id, change.field, change.counter, change.device, change.value, change.base])).sort();

/** What an upgraded store must hold. */
async function holds({ device, counter, changes }) {
  const all = await everything();
  assert.deepEqual(byKey(all.changes), byKey(changes));
  assert.deepEqual([all.device, all.counter, all.row, all.waiting], [device, counter, changes.length, changes.length]);
  assert.deepEqual(all.outbox.map(([number]) => number), changes.map((_, i) => i + 1));
  assert.deepEqual(all.outbox.map((row) => JSON.stringify(row.slice(1))).sort(), byKey(changes));
  assert.equal(all.records.length, new Set(changes.map((change) => `${change.kind} ${change.id}`)).size);
  assert.deepEqual((await view('bin')).items.map((item) => item.id), [id('q', 1)]);
  assert.equal((await view('projects')).loose, 1);
  assert.deepEqual(all.records[0].fields.name[0], 'Creature 0');
  assert.deepEqual((await methods.settings()).unit, 'in');
  assert.deepEqual(await methods.drafts({ key: 'sight::subject' }), { whole: 3 });
}

test('a store of version 1 with a thousand records keeps everything', async () => {
  const old = await oldStore(1000);
  await store.useDatabase(old.name);
  await holds(old);
  assert.deepEqual(await homeState(), { device: old.device, epoch: '', seen: 0, waiting: 3003 });
  // And it goes on from there.
  const first = id('p', 0);
  await methods.choose({ kind: 'project', id: first, field: 'name', value: 'Beast 0' });
  const { rows } = await rowsAfter(3003, 10);
  assert.deepEqual(rows.map((row) => [row[0], row[3], row[4], row[6]]), [[3004, 'name', 3004, 'Beast 0'], [3005, 'name', 3005, 'Beast 0']]);
  assert.equal((await view('projects')).projects.length, 1000);
});

test('an upgrade that is cut off leaves the old store, and the next one does it', async () => {
  for (const stop of [1, 40]) {
    const old = await oldStore(100);
    let left = stop;
    const real = IDBObjectStore.prototype.put;
    IDBObjectStore.prototype.put = function put(...args) {
      if (this.name === 'changes' && --left === 0) this.transaction.abort();
      return real.apply(this, args);
    };
    try {
      await store.useDatabase(old.name);
      assert.equal((await refused(() => view('projects'))).code, 'store-gone');
    } finally { IDBObjectStore.prototype.put = real; }
    assert.ok(left <= 0, 'it was cut off');
    assert.deepEqual((await indexedDB.databases()).find(({ name }) => name === old.name).version, 1);
    await holds(old);
  }
});

test('an empty store of version 1, and none at all, become one of version 2', async () => {
  const old = await oldStore(0);
  await store.useDatabase(old.name);
  assert.deepEqual((await everything()).outbox, []);
  await freshStore();
  await methods.newProject({ name: 'Otter', animal: 'otter' });
  const all = await everything();
  assert.equal(all.waiting, all.changes.length);
  assert.equal(all.row, all.changes.length);
});
