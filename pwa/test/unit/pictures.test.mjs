import assert from 'node:assert/strict';
import { createHash } from 'node:crypto';
import { test } from 'node:test';
import { everything, freshStore, methods, refused, store, view } from './bench.mjs';

const { keep } = await import('../../app/bench/change.js');
const { made } = await import('../../app/bench/intents.js');
const { newId } = await import('../../app/bench/ids.js');
const pictures = await import('../../app/bench/pictures-store.js');
const { applyKeep, homeState } = await import('../../app/bench/outbox.js');

const bytes = (n, fill) => new Uint8Array(n).fill(fill);
/** By another implementation than the browser's. */
const hashOf = (data) => createHash('sha256').update(data).digest('hex');

/** A picture of a project, with its thumbnail, both kept. */
async function picture(project, fill, { home = false, day = '2026-01-01', size = 1000 } = {}) {
  const [full, thumb] = [bytes(size, fill), bytes(10, fill)];
  await pictures.put(hashOf(full), full, 'image/jpeg', false, { home, day });
  await pictures.put(hashOf(thumb), thumb, 'image/jpeg', true, { home, day });
  const id = newId();
  const fact = { full: `sha256:${hashOf(full)}`, thumb: `sha256:${hashOf(thumb)}`, type: 'image/jpeg', width: 4, height: 3, bytes: size, made: '2026-01-01T10:00' };
  await keep(async () => made('picture', id, { project, fact, view: null, name: '' }));
  return { id, full: hashOf(full), thumb: hashOf(thumb) };
}
const here = async () => (await pictures.list()).map(({ hash }) => hash).sort();

test('a picture is kept under the hash of its bytes, and nothing else is', async () => {
  await freshStore();
  const data = bytes(3000, 7);
  await pictures.put(`sha256:${hashOf(data)}`, data, 'image/jpeg', false, { day: '2026-01-01' });
  const got = await pictures.get(hashOf(data), { day: '2026-02-02' });
  assert.deepEqual([new Uint8Array(got.bytes), got.type], [data, 'image/jpeg']);
  assert.deepEqual(await pictures.list(), [{ hash: hashOf(data), size: 3000, type: 'image/jpeg', thumb: 0, home: 0, used: '2026-02-02' }]);
  assert.equal(await pictures.get(hashOf(bytes(1, 1))), null);
  assert.equal((await refused(() => pictures.put(hashOf(data), bytes(3000, 8), 'image/jpeg', false))).code, 'picture-damaged');
  // A part of a larger buffer is kept alone.
  const view = new Uint8Array(bytes(100, 5).buffer, 10, 20);
  await pictures.put(hashOf(view), view, 'image/png', true);
  assert.equal((await pictures.get(hashOf(view))).bytes.byteLength, 20);
  assert.equal((await pictures.room()).full, 3000);
  assert.equal((await pictures.room()).thumbs, 20);
});

test('only full pictures that home has, of projects that stay, are let go of, the longest unseen first', async () => {
  await freshStore();
  const { id: mine } = await methods.newProject({ name: 'Otter', animal: 'otter', parts: [] });
  const { id: other } = await methods.newProject({ name: 'Owl', animal: 'barn owl', parts: [] });
  await store.write(['meta'], async (tx) => { await tx.objectStore('meta').put({ [other]: false }, 'along'); });
  const own = await picture(mine, 1, { home: true });
  const away = await picture(other, 2);
  const old = await picture(other, 3, { home: true, day: '2026-01-02' });
  const older = await picture(other, 4, { home: true, day: '2026-01-01' });
  const all = await here();
  assert.equal(await pictures.letGo(1), 1000);
  assert.deepEqual(await here(), all.filter((hash) => hash !== older.full));
  assert.equal(await pictures.letGo(1e9), 1000);
  assert.deepEqual(await here(), [own.full, own.thumb, away.full, away.thumb, old.thumb, older.thumb].sort());
  await pictures.markHome([`sha256:${away.full}`]);
  assert.equal(await pictures.letGo(1e9), 1000);
  assert.equal(await pictures.get(away.full), null);
  assert.equal(await pictures.letGo(1e9), 0);
});

test('a phone that is full makes room for a picture, or says that it has none', async () => {
  await freshStore();
  const { id: project } = await methods.newProject({ name: 'Owl', animal: 'barn owl', parts: [] });
  await store.write(['meta'], async (tx) => { await tx.objectStore('meta').put({ [project]: false }, 'along'); });
  const first = await picture(project, 1, { home: true });
  let full = true;
  const { put, delete: remove } = IDBObjectStore.prototype;
  IDBObjectStore.prototype.put = function spied(...args) {
    if (this.name === 'bytes' && full) throw new DOMException('full', 'QuotaExceededError');
    return put.apply(this, args);
  };
  IDBObjectStore.prototype.delete = function spied(...args) { if (this.name === 'bytes') full = false; return remove.apply(this, args); };
  try {
    const data = bytes(500, 9);
    await pictures.put(hashOf(data), data, 'image/jpeg', false);
    assert.equal(await pictures.get(first.full), null);
    assert.ok(await pictures.get(hashOf(data)));
    full = true;
    const more = bytes(500, 10);
    assert.equal((await refused(() => pictures.put(hashOf(more), more, 'image/jpeg', false))).code, 'store-full');
    assert.ok(!(await here()).includes(hashOf(more)));
  } finally { Object.assign(IDBObjectStore.prototype, { put, delete: remove }); }
});

test('the bin shows for thirty days; then pictures that only it refers to make room, and every change stays', async () => {
  await freshStore();
  const { id: project } = await methods.newProject({ name: 'Otter', animal: 'otter', parts: [] });
  const gone = await picture(project, 1);
  const stays = await picture(project, 2);
  const twice = await picture(project, 1);
  await keep(async () => [{ kind: 'picture', id: gone.id, field: 'binned', value: '2026-03-01' }]);
  const { changes } = await everything();
  assert.deepEqual((await view('bin', { day: '2026-03-31' })).items.map(({ id, kind }) => [id, kind]), [[gone.id, 'picture']]);
  assert.deepEqual((await view('bin', { day: '2026-04-01' })).items, []);
  // A clock that is behind shows it rather than not.
  assert.equal((await view('bin', { day: '2020-01-01' })).items.length, 1);
  assert.equal(await pictures.tidy({ day: '2026-04-01' }), 0, 'another picture has the same bytes');
  await keep(async () => [{ kind: 'picture', id: twice.id, field: 'binned', value: '2026-03-05' }]);
  assert.equal(await pictures.tidy({ day: '2026-04-01' }), 0);
  assert.equal(await pictures.tidy({ day: '2026-04-05' }), 2);
  assert.deepEqual(await here(), [stays.full, stays.thumb].sort());
  assert.equal((await everything()).changes.length, changes.length + 1);
  const { changes: count } = await methods.export({ project: null });
  assert.equal(count, changes.length + 1);
});

test('a whole project in the bin takes its pictures along; one with a home drops none that home may still want', async () => {
  await freshStore();
  const { id: project } = await methods.newProject({ name: 'Otter', animal: 'otter', parts: [] });
  const one = await picture(project, 1);
  await keep(async () => [{ kind: 'project', id: project, field: 'binned', value: '2026-03-01' }]);
  await store.write(['meta'], async (tx) => { await tx.objectStore('meta').put({ id: 'h' }, 'home'); });
  assert.equal(await pictures.tidy({ day: '2026-05-01' }), 0);
  await pictures.markHome([one.thumb]);
  assert.equal(await pictures.tidy({ day: '2026-05-01' }), 1);
  await applyKeep({ epoch: '', again: false, changes: [], seen: 9, acked: (await everything()).row, refused: [] });
  assert.equal((await homeState()).waiting, 0);
  assert.equal(await pictures.tidy({ day: '2026-05-01' }), 1);
  assert.deepEqual(await here(), []);
});

test('a picture that nothing refers to goes a day later, and a restored home is asked anew what it has', async () => {
  await freshStore();
  const data = bytes(50, 1);
  await pictures.put(hashOf(data), data, 'image/jpeg', false, { day: '2026-01-01', home: true });
  assert.equal(await pictures.tidy({ day: '2026-01-01' }), 0);
  await applyKeep({ epoch: 'eeeeeeeeeeeeeeee', again: true, changes: [], seen: 0, acked: 0, refused: [] });
  assert.equal((await pictures.list())[0].home, 0);
  assert.equal(await pictures.tidy({ day: '2026-01-02' }), 1);
});
