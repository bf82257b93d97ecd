import assert from 'node:assert/strict';
import { test } from 'node:test';
import { freshStore, methods, refused, store, view } from './bench.mjs';

const { applyKeep } = await import('../../app/bench/outbox.js');
const { noteMakers } = await import('../../app/bench/makers.js');

const nothing = { epoch: '', again: false, changes: [], seen: 0, acked: 0, refused: [] };
const x = 'x'.repeat(16);

test('a history tells every value, who set it, which holds, which stands apart and which home did not take', async () => {
  await freshStore();
  const { id: project, parts } = await methods.newProject({ name: 'Otter', animal: 'otter', parts: [{ name: 'head' }, { name: 'tail' }] });
  const device = await store.read(['meta'], (tx) => tx.objectStore('meta').get('device'));
  await methods.set({ kind: 'project', id: project, field: 'name', value: 'Sea otter' });
  await methods.set({ kind: 'project', id: project, field: 'unit', value: parts[1] });
  const first = await store.read(['changes'], (tx) => tx.objectStore('changes').get(['project', project]));
  const [, counter] = first.list[0];
  await applyKeep({ ...nothing, changes: [['project', project, 'name', 900, x, 'River otter', [counter, device]]], seen: 1 });
  await store.write(['meta'], async (tx) => { await tx.objectStore('meta').put([{ kind: 'project', id: project, field: 'animal', counter: 2, device, code: 'change-value' }], 'refused'); });
  const seen = await view('history', { kind: 'project', id: project });
  assert.equal(seen.name, 'River otter');
  const of = (field) => seen.fields.find((one) => one.field === field).changes;
  assert.deepEqual(of('name').map(({ value, by, now, apart }) => [value, by, now, apart]), [
    ['River otter', null, true, false], ['Sea otter', 'this device', false, true], ['Otter', 'this device', false, false],
  ]);
  assert.equal(of('unit')[0].text, 'tail');
  assert.equal(of('animal')[0].refused, 'change-value');
  assert.equal(seen.fields[0].field, 'name', 'what was changed last comes first');
  await noteMakers([{ name: 'Tablet', makes: [x] }, { name: 'Old', makes: null }]);
  assert.equal((await view('history', { kind: 'project', id: project })).fields[0].changes[0].by, 'Tablet');
  assert.equal((await refused(() => view('history', { kind: 'project', id: 'nothing' }))).code, 'no-such-record');
});

test('what a device did under an earlier id is its own', async () => {
  await freshStore();
  const { id } = await methods.newProject({ name: 'Otter', animal: 'otter', parts: [] });
  const device = await store.read(['meta'], (tx) => tx.objectStore('meta').get('device'));
  await applyKeep({ ...nothing, changes: [['project', 'p'.repeat(16), 'name', 900, device, 'Lost', null]], seen: 1 });
  assert.notEqual(await store.read(['meta'], (tx) => tx.objectStore('meta').get('device')), device);
  assert.ok((await view('history', { kind: 'project', id })).fields.every(({ changes }) => changes.every(({ by }) => by === 'this device')));
});
