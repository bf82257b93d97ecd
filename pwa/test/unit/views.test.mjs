import assert from 'node:assert/strict';
import { test } from 'node:test';
import { everything, freshStore, methods, refused, useEngine, realEngine, view } from './bench.mjs';

/** The demo, and its pieces. */
async function demo() {
  await freshStore();
  const { otter, owl } = await methods.addDemo({});
  const piece = async (id) => (await view('pad', { project: id })).pieces[0].id;
  return { otter, owl, otterPiece: await piece(otter), owlPiece: await piece(owl) };
}
const by = (list, name) => list.find((one) => one.name === name);
const near = (value, expected, within, what) => assert.ok(Math.abs(value - expected) <= within, `${what ?? ''} ${value} is not ${expected} +- ${within}`);

test('the otter: its tail is to be added to and its neck taken in, and nothing else', async () => {
  const { otter, otterPiece } = await demo();
  const seen = await view('verdict', { project: otter, piece: otterPiece });
  assert.deepEqual([seen.scale.mode, seen.scale.name, seen.mm_nominal], ['size', 'whole length', false]);
  const verdicts = Object.fromEntries(seen.parts.map((p) => [p.name, p.verdict]));
  assert.deepEqual(verdicts, {
    'head length': 'right', 'whole length': 'unknown', 'body length': 'right', tail: 'add', foreleg: 'right', 'hind leg': 'right',
    'body depth': 'right', 'head width': 'right', 'neck width': 'take-in', 'body width': 'right',
  });
  // 18 cm over 7 1/2 heads is 24 mm a head: a tail of 2 3/4 is 66 mm, and 51 are there; a neck of 7/8 x 3/4 is 15.8 mm, and 20.5 are there.
  const [tail, neck] = [by(seen.parts, 'tail'), by(seen.parts, 'neck width')];
  near(tail.target_mm, 66, 1, 'tail target');
  near(tail.amount_mm, 15, 1, 'tail');
  near(neck.target_mm, 15.75, 0.8, 'neck target');
  near(neck.amount_mm, 4.75, 0.8, 'neck');
  assert.match(tail.amount_text, /^1[45](\.\d)? mm$/);
  assert.equal(tail.each_side_text, null);
  assert.match(neck.each_side_text, /^2(\.\d)? mm$/);
  for (const strip of [tail.strip, neck.strip]) for (const share of [strip.target, strip.piece]) assert.ok(share > 0 && share <= 1);
  assert.ok(tail.strip.target === 1 && tail.strip.piece < 1 && neck.strip.piece === 1 && neck.strip.target < 1);
  near(tail.strip.target / tail.strip.unit, 2.75, 0.05, 'tail in heads');
});

test('every way to fix the scale names the same two, and says what it would cost', async () => {
  const { otter, otterPiece } = await demo();
  const head = by((await view('pad', { project: otter })).parts, 'head length').id;
  for (const scale of [{ mode: 'size' }, { mode: 'keep', part: head }, { mode: 'least-work' }]) {
    const seen = await view('verdict', { project: otter, piece: otterPiece, scale });
    assert.equal(seen.scale.mode, scale.mode);
    assert.deepEqual(seen.parts.filter((p) => ['add', 'take-in'].includes(p.verdict)).map((p) => [p.name, p.verdict]), [['tail', 'add'], ['neck width', 'take-in']], scale.mode);
    assert.deepEqual(seen.modes.map((m) => [m.mode, m.on, m.why]), ['size', 'keep', 'least-work'].map((mode) => [mode, mode === scale.mode, '']));
    assert.ok(seen.modes.every((m) => /\d+(\.\d)? mm/.test(m.work_text)), JSON.stringify(seen.modes));
  }
});

test('the sum can be opened, in names and not in ids', async () => {
  const { otter, otterPiece } = await demo();
  await methods.setting({ name: 'unit', value: 'in' });
  const seen = await view('verdict', { project: otter, piece: otterPiece });
  const { lines } = await view('workings', { project: otter, piece: otterPiece, part: by(seen.parts, 'neck width').part });
  await methods.setting({ name: 'unit', value: 'mm' });
  assert.ok(lines.length > 0);
  assert.doesNotMatch(lines.join(' '), /[a-z2-7]{16}/);
  assert.match(lines.join(' '), /16 in/);
  assert.match(lines.join(' '), /too wide/);
});

test('the owl: its eyes sit too high on a face that is right', async () => {
  const { owl, owlPiece } = await demo();
  const seen = await view('verdict', { project: owl, piece: owlPiece });
  assert.deepEqual(seen.parts.filter((p) => p.verdict !== 'right').map((p) => [p.name, p.verdict]), []);
  assert.deepEqual(seen.places.map((p) => [p.name, p.verdict]).sort(), [['beak tip', 'right'], ['eyes', 'move']]);
  const eyes = by(seen.places, 'eyes');
  assert.equal(eyes.toward, 'end');
  near(eyes.at_subject, 0.45, 0.01);
  near(eyes.at_piece, 0.3, 0.01);
  assert.equal(seen.mm_nominal, true);
  near(eyes.off, 0.15, 0.01);
  // A body of 3 3/4 heads at 14 cm, a head of 3 and a face of 2 1/2 eye spacings: the face is 31 mm, and 0.15 of it is 4.7 mm.
  near(eyes.move_mm, 4.7, 0.6);
});

test('the otter as a project: ratios, millimetres at its size, and what is still to do', async () => {
  const { otter } = await demo();
  const seen = await view('project', { id: otter });
  assert.equal(seen.trouble, null);
  assert.equal(seen.unit_name, 'head length');
  near(by(seen.parts, 'whole length').in_unit.ratio, 7.5, 0.01);
  near(by(seen.parts, 'tail').mm, 66, 1);
  assert.equal(by(seen.parts, 'whole length').mm_text, '180 mm');
  assert.equal(seen.groups.length, 1);
  assert.deepEqual([seen.joins, seen.disagree, seen.apart], [[], [], []]);
  assert.deepEqual(seen.reminders, ['one-view']);
  assert.deepEqual(by(seen.parts, 'body width').views, ['front', 'top']);
  assert.ok(by(seen.parts, 'tail').one_view_only && !by(seen.parts, 'body width').one_view_only);
  assert.ok(seen.strips.every((s) => s.share > 0 && s.share <= 1) && seen.strips.some((s) => s.share === 1));
  const tails = await view('project', { id: otter, unit: by(seen.parts, 'tail').id });
  near(by(tails.parts, 'whole length').in_unit.ratio, 7.5 / 2.75, 0.05);
});

test('a new project says what to begin with, and a part read apart what would join it', async () => {
  await freshStore();
  const { id: project, parts: ids } = await methods.newProject({ name: 'Hare', animal: 'other', parts: ['a', 'b', 'c', 'd'].map((name) => ({ name })) });
  const empty = await view('project', { id: project });
  assert.deepEqual([empty.next.why, empty.trouble, empty.strips], ['first', null, []]);
  const sitting = async (unit, part, value) => {
    const { id } = await methods.startSitting({ project, method: 'sight', unit, view: 'side' });
    return methods.keepReading({ sitting: id, part, value, denominator: 4 });
  };
  await sitting(ids[0], ids[1], 2);
  await sitting(ids[2], ids[3], 1.25);
  const apart = await view('project', { id: project });
  assert.equal(apart.groups.length, 2);
  assert.equal(apart.next.why, 'join');
  assert.deepEqual(apart.reminders, ['no-front', 'one-view']);
  // Two holds that agree and a third in which one of three parts is far out.
  const hold = async (...values) => {
    const { id } = await methods.startSitting({ project, method: 'sight', unit: ids[0], view: 'side' });
    const kept = [];
    for (const [i, value] of values.entries()) kept.push((await methods.keepReading({ sitting: id, part: ids[i + 1], value, denominator: 4 })).id);
    return kept;
  };
  await hold(2, 3, 4);
  await hold(2, 3.25, 4);
  const [, wrong] = await hold(2, 6, 4);
  const odd = await view('project', { id: project });
  assert.deepEqual(odd.disagree.map((d) => [d.reading, d.name]), [[wrong, 'c']]);
  assert.ok(by(odd.parts, 'c').disagree && !by(odd.parts, 'b').disagree);
  assert.ok((await view('readings', { project })).sittings.flatMap((s) => s.readings).find((r) => r.id === wrong).disagrees > 2);
  await methods.strike({ kind: 'reading', id: wrong, struck: true });
  assert.deepEqual((await view('project', { id: project })).disagree, []);
});

test('after a kept check, a new reading of a part stands for the old ones', async () => {
  const { otter, otterPiece } = await demo();
  const first = await view('verdict', { project: otter, piece: otterPiece });
  await methods.keepCheck({ piece: otterPiece, scale: first.scale_used, tolerance: first.tolerance });
  const { id: sitting } = await methods.startSitting({ project: otter, of: otterPiece, method: 'ruler' });
  await methods.keepReading({ sitting, part: by(first.parts, 'tail').part, value: 66, typed: '66 mm' });
  const second = await view('verdict', { project: otter, piece: otterPiece });
  assert.deepEqual(second.parts.filter((p) => ['add', 'take-in'].includes(p.verdict)).map((p) => p.name), ['neck width']);
  assert.equal(second.checks, 1);
  const old = (await view('readings', { project: otter, of: otterPiece })).sittings.flatMap((s) => s.readings).filter((r) => r.replaced);
  assert.deepEqual(old.map((r) => [r.name, r.value]), [['tail', 51]]);
  await methods.keepCheck({ piece: otterPiece, scale: second.scale_used });
  const seen = await view('checks', { project: otter, piece: otterPiece });
  assert.deepEqual(seen.checks.map((c) => [c.number, c.out]), [[1, 2], [2, 1]]);
  const tail = by(seen.parts, 'tail').points;
  assert.ok(Math.abs(tail[0].off) > 0.15 && Math.abs(tail[1].off) < 0.04);
  assert.ok(seen.most > 0.2);
});

test('a part given to another counts as that one', async () => {
  const { otter, otterPiece } = await demo();
  const { ids: [brush] } = await methods.addParts({ project: otter, parts: [{ name: 'brush' }] });
  const tail = by((await view('pad', { project: otter })).parts, 'tail').id;
  const { id: sitting } = await methods.startSitting({ project: otter, of: otterPiece, method: 'ruler' });
  await methods.keepReading({ sitting, part: brush, value: 51 });
  await methods.set({ kind: 'part', id: brush, field: 'as', value: tail });
  const seen = await view('verdict', { project: otter, piece: otterPiece });
  assert.equal(by(seen.parts, 'brush'), undefined);
  assert.equal(by(seen.parts, 'tail').verdict, 'add');
});

test('a piece with no reading is told how to begin, and needs no engine', async () => {
  const { otter } = await demo();
  const { id: piece } = await methods.addPiece({ project: otter, name: 'Second' });
  const seen = await view('verdict', { project: otter, piece });
  assert.ok(seen.parts.length && seen.parts.every((p) => p.verdict === 'unknown' && p.why === 'not-read-on-piece'));
  assert.equal((await refused(() => view('verdict', { project: otter, piece: 'nothing' }))).code, 'no-such-record');
});

test('with no engine, a project still shows all that was entered', async () => {
  const { otter } = await demo();
  useEngine((told) => { queueMicrotask(() => told({ event: 'failed', text: 'no file' })); return { ask() {}, end() {} }; });
  try {
    const seen = await view('project', { id: otter });
    assert.equal(seen.trouble.code, 'engine-missing');
    assert.equal(by(seen.parts, 'tail').readings[0].value, 2.75);
    assert.equal((await view('readings', { project: otter })).trouble.code, 'engine-missing');
    assert.equal((await view('projects')).projects.length, 2);
  } finally { useEngine(realEngine); }
});

test('names that look like markup come back as they were typed', async () => {
  await freshStore();
  const name = '<img src=x onerror=alert(1)> & "quoted" \u2019';
  const { id } = await methods.newProject({ name, animal: 'other' });
  assert.equal((await view('project', { id })).name, name);
  assert.equal((await view('projects')).projects[0].name, name);
});

test('the demo may be put in the bin and added again', async () => {
  const { otter } = await demo();
  await methods.bin({ kind: 'project', id: otter, binned: true });
  const again = await methods.addDemo({});
  assert.notEqual(again.otter, otter);
  const seen = await view('projects');
  assert.deepEqual(seen.projects.map((p) => [p.name, p.demo]).sort(), [['Barn owl', true], ['Barn owl', true], ['Otter', true]]);
  assert.equal((await everything()).records.filter((rec) => rec.kind === 'project').length, 4);
});
