import assert from 'node:assert/strict';
import { test } from 'node:test';
import { createHash } from 'node:crypto';
import { strToU8, unzipSync, zipSync } from 'fflate';
import { everything, freshStore, methods, refused, store, told, view } from './bench.mjs';

const { limits } = await import('../../app/bench/limits.js');
const { takeIn } = await import('../../app/bench/intake.js');
const { call } = await import('../../app/bench/engine.js');

const file = (changes, more = {}) => strToU8(JSON.stringify({ format: 'needlesight-changes', version: 1, made: '2026-11-25T10:00', changes, ...more }));
const sorted = (list) => [...list].sort((a, b) => (JSON.stringify(a) < JSON.stringify(b) ? -1 : 1));
const changesNow = async () => (await everything()).changes.map(({ kind, id, field, counter, device, value, base }) => ({ kind, id, field, value, stamp: [counter, device], base }));
const flat = ({ kind, id, field, value, stamp, base }) => [kind, id, field, ...stamp, value, base];
/** The records but for the order of their fields. */
const recordsNow = async () => sorted((await everything()).records.map((rec) => ({ ...rec, fields: Object.fromEntries(Object.entries(rec.fields).sort()) })));

/** What is saved to a file. */
async function saved(what) {
  const { blob, ...more } = await methods.export(what);
  return { ...more, bytes: new Uint8Array(await blob.arrayBuffer()) };
}
const sumOf = (data) => createHash('sha256').update(data).digest('hex');
/** A zip with the sums of what is in it. */
const zipped = (files) => zipSync({ ...files, SHA256SUMS: strToU8(Object.entries(files).map(([name, data]) => `${sumOf(data)}  ${name}\n`).join('')) });

async function take(bytes) {
  const seen = await methods.importPreview({ bytes });
  return { seen, ...await methods.importApply({ token: seen.token }) };
}

test('everything written to a file and taken in elsewhere is the same there', async () => {
  await freshStore();
  await methods.addDemo({});
  const { id } = await methods.newProject({ name: 'Hare <b>&', animal: 'hare' });
  await methods.bin({ kind: 'project', id, binned: true });
  const { id: loose } = await methods.loosePart({ name: 'loose' });
  const { id: sitting } = await methods.startSitting({ method: 'sight', unit: loose });
  await methods.keepReading({ sitting, part: loose, value: 1 });
  const [changes, records] = [sorted(await changesNow()), await recordsNow()];
  const { name, bytes } = await saved({ project: null });
  assert.match(name, /^needlesight-all-\d{4}-\d\d-\d\d\.zip$/);

  await freshStore();
  const { seen, fresh } = await take(bytes);
  assert.equal(fresh, changes.length);
  assert.ok(seen.projects.every((p) => p.status === 'new'));
  assert.deepEqual(sorted(await changesNow()), changes);
  assert.deepEqual(await recordsNow(), records);
  const all = await everything();
  assert.equal(all.outbox.length, all.changes.length);
  assert.equal(all.counter, Math.max(...all.changes.map((change) => change.counter)));

  const again = await take(bytes);
  assert.equal(again.fresh, 0);
  assert.ok(again.seen.projects.every((p) => p.status === 'same'));
  assert.deepEqual(await everything(), all);
});

test('one project alone goes into its file', async () => {
  await freshStore();
  const { otter, owl } = await methods.addDemo({});
  const { name, bytes } = await saved({ project: otter });
  assert.match(name, /^needlesight-otter-/);
  assert.ok(!new TextDecoder().decode(unzipSync(bytes)['changes.json']).includes(owl));
  assert.deepEqual(Object.keys(unzipSync(bytes)), ['changes.json', 'SHA256SUMS']);
});

test('what was changed here and there is told before, and both answers stay', async () => {
  await freshStore();
  const { id: project } = await methods.newProject({ name: 'Otter', animal: 'otter' });
  const { id: still } = await methods.newProject({ name: 'Still', animal: 'other' });
  const before = (await saved({ project: null })).bytes;
  await methods.set({ kind: 'project', id: project, field: 'name', value: 'Sea otter' });
  const there = (await saved({ project: null })).bytes;

  await freshStore();
  await take(before);
  const device = (await everything()).device;
  const newer = await methods.importPreview({ bytes: there });
  assert.deepEqual(Object.fromEntries(newer.projects.map((p) => [p.name, p.status])), { 'Sea otter': 'newer-in-file', Still: 'same' });
  await methods.set({ kind: 'project', id: project, field: 'name', value: 'River otter' });
  await methods.set({ kind: 'project', id: still, field: 'name', value: 'Stiller' });
  const older = await methods.importPreview({ bytes: before });
  assert.deepEqual(Object.fromEntries(older.projects.map((p) => [p.id, p.status])), { [project]: 'newer-here', [still]: 'newer-here' });
  const both = await methods.importPreview({ bytes: there });
  const told = both.projects.find((p) => p.id === project);
  assert.ok(['Sea otter', 'River otter'].includes(told.name));
  assert.deepEqual({ ...told, name: '' }, { id: project, name: '', demo: false, status: 'apart', fresh: 1, parts: 13, readings: 0, two_answers: 1 });
  await methods.importApply({ token: both.token });
  const seen = await view('project', { id: project });
  assert.deepEqual(seen.apart.map(({ field, answers }) => [field, answers.map((a) => a.value).sort()]), [['name', ['River otter', 'Sea otter']]]);
  await methods.choose({ kind: 'project', id: project, field: 'name', value: 'Sea otter' });
  const after = await view('project', { id: project });
  assert.deepEqual([after.name, after.apart], ['Sea otter', []]);
  // Nothing is ever taken out, and the choice holds for whoever merges all of it.
  const changes = await changesNow();
  assert.ok(changes.some((c) => c.value === 'River otter' && c.stamp[1] === device));
  const merged = (await call('merge', { changes })).fields.find((f) => f.kind === 'project' && f.id === project && f.field === 'name');
  assert.deepEqual([merged.value, merged.apart], ['Sea otter', []]);
});

test('whatever is done here and taken in, the records are what merging all changes gives', async () => {
  let seed = 20261125;
  const random = (n) => { seed = (seed * 1103515245 + 12345) % 2147483648; return Math.floor((seed / 2147483648) * n); };
  for (let round = 0; round < 12; round++) {
    await freshStore();
    const { id: project } = await methods.newProject({ name: 'a', animal: 'other' });
    const foreign = [];
    for (let step = 0; step < 25; step++) {
      const changes = await changesNow();
      const names = [...changes, ...foreign].filter((c) => c.id === project && c.field === 'name');
      const what = random(5);
      if (what < 2) await methods.set({ kind: 'project', id: project, field: 'name', value: 'abc'[random(3)] });
      else if (what < 4) {
        const base = names[random(names.length)];
        const value = 'abc'[random(3)];
        const stamp = [base.stamp[0] + 1 + random(3), `${'bcd'[random(3)]}aaaaaaaaaaaaaaa`];
        if (names.some((c) => String(c.stamp) === String(stamp))) continue;
        foreign.push({ kind: 'project', id: project, field: 'name', value, stamp, base: base.stamp });
        if (random(2)) { await takeIn(foreign.map(flat)); foreign.length = 0; }
      } else {
        const { apart } = await view('project', { id: project });
        if (apart.length) await methods.choose({ kind: 'project', id: project, field: 'name', value: apart[0].answers[random(apart[0].answers.length)].value });
      }
      const { records } = await everything();
      const rec = records.find((one) => one.id === project);
      const { fields: [field] } = await call('merge', { changes: (await changesNow()).filter((c) => c.id === project && c.field === 'name') });
      assert.deepEqual(rec.fields.name, [field.value, field.stamp, field.base], `round ${round}, step ${step}`);
      assert.deepEqual(sorted((rec.apart.name ?? []).map(([value]) => value)), sorted(field.apart.map(({ value }) => value)), `round ${round}, step ${step}`);
    }
  }
});

test('what is not ours, cut off, damaged or too big is told, and nothing is kept', async () => {
  await freshStore();
  await methods.addDemo({});
  const { bytes } = await saved({ project: null });
  await freshStore();
  await methods.newProject({ name: 'Mine', animal: 'dog' });
  const before = await everything();
  const text = new TextDecoder().decode(unzipSync(bytes)['changes.json']);
  const good = JSON.parse(text).changes;
  const sitting = good.find((c) => c.kind === 'sitting' && c.field === 'fact');
  const bad = (i, change) => file(good.map((c, at) => (at === i ? { ...c, ...change } : c)));
  const flipped = Uint8Array.from(unzipSync(bytes)['changes.json'], (byte, i) => (i === text.indexOf('"Otter"') + 1 ? 0x6f : byte));
  const cases = {
    'file-empty': new Uint8Array(0),
    'file-not-ours': strToU8('This is a letter.'),
    'file-not-ours ': new Uint8Array([0xff, 0xd8, 0xff, 0xe0, 1, 2, 3]),
    'file-not-ours  ': strToU8('{"format":"something else","changes":[]}'),
    'file-not-ours   ': strToU8('null'),
    'file-not-ours    ': zipSync({ 'letter.txt': strToU8('hello') }),
    'file-cut-off': bytes.slice(0, bytes.length - 40),
    'file-cut-off ': bytes.slice(0, Math.floor(bytes.length / 2)),
    'file-cut-off  ': strToU8(text.slice(0, text.length / 2)),
    'file-damaged': zipSync({ 'changes.json': flipped, SHA256SUMS: unzipSync(bytes).SHA256SUMS }),
    'file-newer': file([], { version: 2 }),
    'file-unpacks-too-big': zipSync({ 'changes.json': new Uint8Array(limits.unpacked + 1) }, { level: 9 }),
    'file-far-ahead': file([{ kind: 'project', id: 'a'.repeat(16), field: 'name', value: 'x', stamp: [2 ** 53 - 1, 'b'.repeat(16)], base: null }]),
    'changes-request': file({ not: 'a list' }),
    'change-kind': bad(3, { kind: 'robot' }),
    'change-field': bad(3, { field: 'soul' }),
    'change-id': bad(3, { id: '../../etc' }),
    'change-stamp': bad(3, { stamp: [1.5, 'b'.repeat(16)] }),
    'change-value': bad(good.findIndex((c) => c.field === 'order'), { value: 'first' }),
    'change-fact-twice': file([...good, { ...sitting, value: { ...sitting.value, made: '2020-01-01T00:00' }, stamp: [9999, 'b'.repeat(16)] }]),
  };
  for (const [code, content] of Object.entries(cases)) {
    const error = await refused(() => methods.importPreview({ bytes: content }));
    assert.equal(error.code, code.trim(), `${code}: ${error.message}`);
  }
  assert.match((await refused(() => methods.importPreview({ bytes: cases['change-value'] }))).text, /change \d+ \(order of part/);
  // Two gigabytes, or two hundred megabytes of text, are never read: the size alone refuses them.
  const unread = () => assert.fail('it was read');
  assert.equal((await refused(() => methods.importPreview({ file: { size: limits.file + 1, slice: unread, arrayBuffer: unread } }))).code, 'file-too-big');
  const huge = { size: 200 * 1024 * 1024, slice: (from, to) => new Blob(['{"']).slice(from, to), arrayBuffer: unread };
  assert.equal((await refused(() => methods.importPreview({ file: huge }))).code, 'file-too-big');
  assert.deepEqual(await everything(), before);
});

test('a zip that lies about its size unpacks no more than it says', async () => {
  await freshStore();
  const zip = zipSync({ 'changes.json': new Uint8Array(8 * 1024 * 1024) }, { level: 9 });
  const size = zip.lastIndexOf(0x50); // the end record; the entry before it holds the size at 24
  const entry = zip.findIndex((_, i) => zip[i] === 0x50 && zip[i + 1] === 0x4b && zip[i + 2] === 1 && zip[i + 3] === 2);
  assert.ok(entry > 0 && size > entry);
  new DataView(zip.buffer, zip.byteOffset).setUint32(entry + 24, 100, true);
  assert.match((await refused(() => methods.importPreview({ bytes: zip }))).code, /^file-(cut-off|not-ours)$/);
});

test('a change that bears a stamp of ours and says another thing is refused', async () => {
  await freshStore();
  const { id } = await methods.newProject({ name: 'Mine', animal: 'dog' });
  const before = await everything();
  const mine = (await changesNow()).find((c) => c.id === id && c.field === 'name');
  const error = await refused(() => methods.importPreview({ bytes: file([{ ...mine, value: 'Yours' }]) }));
  assert.equal(error.code, 'change-same-stamp');
  assert.deepEqual(await everything(), before);
});

test('only the file that was looked at is taken in', async () => {
  await freshStore();
  await methods.addDemo({});
  const { bytes } = await saved({ project: null });
  await freshStore();
  const first = await methods.importPreview({ bytes });
  assert.equal((await refused(() => methods.importApply({ token: 'another' }))).code, 'import-forgotten');
  await refused(() => methods.importPreview({ bytes: strToU8('no') }));
  assert.equal((await refused(() => methods.importApply({ token: first.token }))).code, 'import-forgotten');
  assert.equal((await everything()).changes.length, 0);
  const second = await methods.importPreview({ bytes });
  const entering = methods.newProject({ name: 'Meanwhile', animal: 'cat' });
  await Promise.all([methods.importApply({ token: second.token }), entering]);
  assert.deepEqual((await view('projects')).projects.map((p) => p.name).sort(), ['Barn owl', 'Meanwhile', 'Otter']);
  await assert.rejects(methods.importApply({ token: second.token }));
});

test('there must be something to write', async () => {
  await freshStore();
  assert.equal((await refused(() => methods.export({}))).code, 'nothing-to-export');
});

const { keep } = await import('../../app/bench/change.js');
const { made } = await import('../../app/bench/intents.js');
const { newId } = await import('../../app/bench/ids.js');
const pictures = await import('../../app/bench/pictures-store.js');

/** A project with one picture, big and small. */
async function pictured() {
  const { id: project } = await methods.newProject({ name: 'Otter', animal: 'otter' });
  const [full, thumb] = [new Uint8Array(300_000).map((_, i) => i * 7), new Uint8Array(900).fill(3)];
  await pictures.put(sumOf(full), full, 'image/jpeg', false);
  await pictures.put(sumOf(thumb), thumb, 'image/jpeg', true);
  const fact = { full: `sha256:${sumOf(full)}`, thumb: `sha256:${sumOf(thumb)}`, type: 'image/jpeg', width: 4, height: 3, bytes: full.length, made: '2026-01-01T10:00' };
  const id = newId();
  await keep(async () => made('picture', id, { project, fact, view: 'side', name: '' }));
  return { project, id, full, thumb };
}

test('pictures go into the file, and come out of it whole', async () => {
  await freshStore();
  const { project, full, thumb } = await pictured();
  const { bytes, pictures: count, missing } = await saved({ project });
  assert.deepEqual([count, missing], [2, 0]);
  const files = unzipSync(bytes);
  const names = [`pictures/${sumOf(full)}`, `pictures/${sumOf(thumb)}`].sort();
  assert.deepEqual(Object.keys(files), ['changes.json', ...names, 'SHA256SUMS']);
  assert.deepEqual(new TextDecoder().decode(files.SHA256SUMS).split('\n').filter(Boolean), ['changes.json', ...names].map((name) => `${sumOf(files[name])}  ${name}`));
  await freshStore();
  const { seen, fresh, pictures: taken } = await take(bytes);
  assert.deepEqual([seen.pictures, taken, fresh], [2, 2, seen.changes]);
  assert.deepEqual(new Uint8Array((await pictures.get(sumOf(full))).bytes), full);
  assert.deepEqual((await pictures.list()).map(({ thumb: small, home, size }) => [small, home, size]).sort(), [[0, 0, full.length], [1, 0, thumb.length]]);
  const again = await methods.importPreview({ bytes });
  assert.deepEqual([again.pictures, again.fresh], [0, 0]);
});

test('a picture that is not here is told, and comes with a later file', async () => {
  await freshStore();
  const { project, full } = await pictured();
  const whole = (await saved({ project })).bytes;
  await store.write(['pictures', 'bytes'], async (tx) => { await tx.objectStore('pictures').delete(sumOf(full)); await tx.objectStore('bytes').delete(sumOf(full)); });
  const part = await saved({ project });
  assert.deepEqual([part.pictures, part.missing], [1, 1]);
  await freshStore();
  await take(part.bytes);
  assert.equal(await pictures.get(sumOf(full)), null);
  const { seen, fresh, pictures: taken } = await take(whole);
  assert.deepEqual([seen.fresh, seen.pictures, fresh, taken], [0, 1, 0, 1]);
  assert.ok(await pictures.get(sumOf(full)));
});

test('what would take long is not made before it is asked for', async () => {
  await freshStore();
  await pictured();
  const before = limits.soon;
  limits.soon = 1000;
  try {
    const { blob, bytes } = await methods.export({ soon: true });
    assert.deepEqual([blob, bytes], [null, 300_900]);
    assert.ok((await methods.export({})).blob);
    limits.soon = before;
    assert.ok((await methods.export({ soon: true })).blob);
  } finally { limits.soon = before; }
});

test('a large file holds its changes in several texts, and they are taken in together', async () => {
  await freshStore();
  await methods.addDemo({});
  const before = limits.part;
  limits.part = 8000;
  let bytes;
  try { ({ bytes } = await saved({})); } finally { limits.part = before; }
  const names = Object.keys(unzipSync(bytes));
  assert.ok(names.length > 4 && names[0] === 'changes.json' && names[1] === 'changes-2.json', `${names}`);
  const changes = sorted(await changesNow());
  await freshStore();
  await take(bytes);
  assert.deepEqual(sorted(await changesNow()), changes);
});

test('two texts that contradict one another are refused whole', async () => {
  await freshStore();
  const change = (value, stamp) => ({ kind: 'project', id: 'p'.repeat(16), field: 'name', value, stamp, base: null });
  const bytes = zipped({ 'changes.json': file([change('a', [1, 'b'.repeat(16)])]), 'changes-2.json': file([change('c', [1, 'b'.repeat(16)])]) });
  assert.equal((await refused(() => methods.importPreview({ bytes }))).code, 'change-same-stamp');
  assert.equal((await everything()).changes.length, 0);
});

test('no trick of a zip gets in', async () => {
  await freshStore();
  const changes = file([{ kind: 'project', id: 'p'.repeat(16), field: 'name', value: 'x', stamp: [1, 'b'.repeat(16)], base: null }]);
  const good = { 'changes.json': changes };
  const other = new Uint8Array([1, 2, 3]);
  const twice = zipped({ 'changes.json': changes, 'changes-2.json': changes });
  // The second name is made the first, in the file's own head and in the list at the end.
  const doubled = Uint8Array.from(twice);
  const text = new TextDecoder('latin1').decode(twice);
  for (let at = text.indexOf('changes-2.json'); at >= 0; at = text.indexOf('changes-2.json', at + 1)) doubled.set(strToU8('changes.json\0\0'), at);
  const cases = {
    'file-not-ours': zipped({ ...good, '../evil.json': other }),
    'file-not-ours ': zipped({ ...good, '/etc/passwd': other }),
    'file-not-ours  ': zipped({ ...good, 'pictures/../../x': other }),
    'file-not-ours   ': zipped({ ...good, 'notes.txt': other }),
    'file-not-ours    ': doubled,
    'file-not-ours     ': zipSync(good),
    'file-damaged': zipped({ ...good, [`pictures/${'a'.repeat(64)}`]: other }),
    'file-damaged ': zipSync({ ...good, [`pictures/${sumOf(other)}`]: other, SHA256SUMS: strToU8(`${sumOf(changes)}  changes.json\n`) }),
    'file-damaged  ': zipSync({ ...good, SHA256SUMS: strToU8(`${sumOf(other)}  changes.json\n`) }),
    'file-damaged   ': zipSync({ ...good, SHA256SUMS: strToU8(`${sumOf(changes)}  changes.json\n${sumOf(other)}  pictures/${sumOf(other)}\n`) }),
  };
  for (const [code, bytes] of Object.entries(cases)) assert.equal((await refused(() => methods.importPreview({ bytes }))).code, code.trim(), code);
  const whole = zipped({ ...good, [`pictures/${sumOf(other)}`]: other });
  for (let cut = 1; cut < whole.length; cut += 7) {
    assert.match((await refused(() => methods.importPreview({ bytes: whole.slice(0, cut) }))).code, /^file-(cut-off|not-ours|damaged)$/, `cut at ${cut}`);
  }
  // Any byte that is not what it was is found, or changes nothing that is read.
  for (let at = 0; at < whole.length; at += 3) {
    const bent = Uint8Array.from(whole, (byte, i) => (i === at ? byte ^ 0x55 : byte));
    const seen = await methods.importPreview({ bytes: bent }).catch((error) => error.code);
    assert.ok(typeof seen === 'string' ? /^(file|change|changes)-/.test(seen) : seen.fresh === 1 && seen.changes === 1, `bent at ${at}: ${JSON.stringify(seen)}`);
  }
  assert.equal((await methods.importPreview({ bytes: whole })).fresh, 1);
  assert.equal((await everything()).changes.length, 0);
});

test('how far it is, is told; and it can be stopped, which leaves everything as it was', async () => {
  const id = (n) => n.toString(32).padStart(16, '0').replace(/[0189]/g, (digit) => 'wxyz'['0189'.indexOf(digit)]);
  const changes = Array.from({ length: 5000 }, (_, i) => ({ kind: 'part', id: id(i), field: 'name', value: `part ${i}`, stamp: [i + 1, 'b'.repeat(16)], base: null }));
  await freshStore();
  await methods.newProject({ name: 'Mine', animal: 'dog' });
  const before = await everything();
  const { token } = await methods.importPreview({ bytes: file(changes) });
  told.length = 0;
  const taking = methods.importApply({ token });
  const stopped = refused(() => taking);
  while (!told.some(({ event }) => event === 'progress')) await new Promise((done) => setTimeout(done, 1));
  await methods.stop({});
  assert.equal((await stopped).code, 'stopped');
  assert.deepEqual(await everything(), before);
  assert.equal(told.filter(({ event }) => event === 'kept').at(-1).data.pending, false);
  told.length = 0;
  assert.equal((await methods.importApply({ token })).fresh, 5000);
  const shares = told.filter(({ event, data }) => event === 'progress' && data.what === 'import').map(({ data }) => data.share);
  assert.ok(shares.length && shares.every((share, i) => share > 0 && share <= 1 && (!i || share >= shares[i - 1])), `${shares}`);
});
