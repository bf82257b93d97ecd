// Pins and outlines on pictures: what is kept, what refused, and what the screens are told of it.
import assert from 'node:assert/strict';
import { createHash } from 'node:crypto';
import { test } from 'node:test';
import { everything, freshStore, methods, refused, store, view } from './bench.mjs';

const { keep } = await import('../../app/bench/change.js');
const { made } = await import('../../app/bench/intents.js');
const { newId } = await import('../../app/bench/ids.js');

const hashOf = (text) => createHash('sha256').update(text).digest('hex');

/** An otter with three parts, a piece, and a picture of 2000 x 1500 px. */
async function otter(more = {}) {
  await freshStore();
  const { id: project, parts } = await methods.newProject({ name: 'Otter', animal: 'otter', parts: [{ name: 'Head' }, { name: 'Body' }, { name: 'Chest', axis: 'width' }] });
  const { id: piece } = await methods.addPiece({ project, name: 'Piece 1' });
  const { id: eye } = await methods.addPlace({ project, name: 'Eye', part: parts[0], from: 'nose' });
  return { project, parts, piece, eye, picture: await picture(project, { view: 'side', ...more }) };
}

async function picture(project, fields = {}) {
  const id = newId();
  const fact = { full: `sha256:${hashOf(`full ${id}`)}`, thumb: `sha256:${hashOf(`thumb ${id}`)}`, type: 'image/jpeg', width: 2000, height: 1500, bytes: 9, made: '2026-11-28T10:00' };
  await keep(async () => made('picture', id, { project, fact, view: null, name: '', ...fields }));
  return id;
}
const fact = async (kind, id) => (await store.record(kind, id)).fields.fact[0];
const pins = [[100, 100], [400, 500]];
const card = { kind: 'rectangle', corners: [[0, 0], [856, 0], [856, 539.8], [0, 539.8]], width_mm: 85.6, height_mm: 53.98, name: 'id-1' };

test('pins on one picture form a sitting, that says what the picture says', async () => {
  const { project, parts: [head, body], picture } = await otter();
  const one = await methods.keepPins({ picture, part: head, pins, pin_px: 0.7 });
  const two = await methods.keepPins({ picture, part: body, pins: [[0, 0], [1000, 0]], pin_px: 0.7, off_mm: 12 });
  assert.equal(two.sitting, one.sitting);
  const { made: when, ...sitting } = await fact('sitting', one.sitting);
  assert.deepEqual(sitting, { of: 'subject', method: 'photo', unit: null, view: 'side', denominator: null, arm_mm: null, picture });
  assert.match(when, /^\d{4}-\d\d-\d\dT\d\d:\d\d$/);
  assert.deepEqual(await fact('reading', one.id), { sitting: one.sitting, part: head, place: null, value: 500, denominator: null, typed: null, pins, pin_px: 0.7, off_mm: null });
  assert.equal((await fact('reading', two.id)).off_mm, 12);
  // Told to be seen from elsewhere, or struck out: the next pins begin another sitting.
  await methods.set({ kind: 'picture', id: picture, field: 'view', value: 'front' });
  const three = await methods.keepPins({ picture, part: head, pins });
  assert.notEqual(three.sitting, one.sitting);
  assert.equal((await fact('sitting', three.sitting)).view, 'front');
  await methods.strike({ kind: 'sitting', id: three.sitting, struck: true });
  const four = await methods.keepPins({ picture, part: head, pins });
  assert.ok(![one.sitting, three.sitting].includes(four.sitting));
  assert.equal((await view('project', { id: project })).sittings.length, 3);
});

test('a kept check closes the sitting on a picture of a piece', async () => {
  const { project, parts: [head, body], piece, picture: subject } = await otter();
  const own = await picture(project, { view: 'side', of: piece });
  await methods.keepPins({ picture: subject, part: head, pins });
  await methods.keepPins({ picture: subject, part: body, pins: [[0, 0], [1000, 0]] });
  const one = await methods.keepPins({ picture: own, part: head, pins });
  assert.equal((await fact('sitting', one.sitting)).of, piece);
  assert.equal((await methods.keepPins({ picture: own, part: body, pins })).sitting, one.sitting);
  await methods.keepCheck({ piece, scale: { mode: 'keep', part: head } });
  const after = await methods.keepPins({ picture: own, part: body, pins });
  assert.notEqual(after.sitting, one.sitting);
});

test('a new part comes with its pins or not at all; a place lies along its part', async () => {
  const { project, parts: [head], picture, eye } = await otter();
  const { part, id } = await methods.keepPins({ picture, name: ' Tail ', axis: 'length', pins });
  assert.equal((await store.record('part', part)).fields.name[0], 'Tail');
  assert.equal((await fact('reading', id)).part, part);
  const before = (await everything()).changes.length;
  assert.equal((await refused(() => methods.keepPins({ picture, name: 'Ear', pins: [[0, 0], [9000, 0]] }))).code, 'point-outside');
  assert.equal((await refused(() => methods.keepPins({ picture, name: ' ', pins }))).code, 'name-empty');
  assert.equal((await everything()).changes.length, before);
  // Without its part on this picture the distance; with it, along it.
  const bare = await methods.keepPins({ picture, place: eye, pins: [[100, 100], [130, 140]] });
  assert.deepEqual([(await fact('reading', bare.id)).part, (await fact('reading', bare.id)).value], [head, 50]);
  await methods.keepPins({ picture, part: head, pins: [[100, 100], [500, 100]] });
  const along = await methods.keepPins({ picture, place: eye, pins: [[100, 100], [130, 140]] });
  assert.equal((await fact('reading', along.id)).value, 30);
  assert.equal((await fact('reading', (await methods.keepPins({ picture, place: eye, pins: [[100, 100], [100, 100]] })).id)).value, 0);
  assert.deepEqual((await view('photo', { id: picture })).places.map(({ name, n }) => [name, n]), [['Eye', 3]]);
  assert.equal((await view('project', { id: project })).places.length, 1);
});

test('pins that were moved take the place of those before, in one go', async () => {
  const { parts: [head], picture } = await otter();
  const { id } = await methods.keepPins({ picture, part: head, pins });
  await methods.draft({ key: 'pins', value: { half: true } });
  const moved = await methods.keepPins({ picture, part: head, pins: [[100, 100], [700, 900]], instead: id, draft: 'pins' });
  const { readings } = await view('photo', { id: picture });
  assert.deepEqual(readings.map((r) => [r.id, r.px, r.struck]), [[id, 500, true], [moved.id, 1000, false]]);
  assert.equal(await methods.drafts({ key: 'pins' }), null);
});

test('what cannot be pins is refused before anything is written', async () => {
  const { project, parts: [head], picture, piece } = await otter();
  const { changes } = await everything();
  const codes = async (...all) => Promise.all(all.map(async (what) => (await refused(() => methods.keepPins({ picture, part: head, ...what }))).code));
  assert.deepEqual(await codes({ pins: null }, { pins: [[1, 2]] }, { pins: [[1, 2], [3]] }, { pins: [[1, 2], [3, NaN]] }, { pins: [[1, 2], [1, 2]] }, { pins: [[1, 2], [3, -751]] }, { pins: [[1, 2], [3, 1e9]] }),
    ['points-number', 'points-number', 'points-number', 'value-not-number', 'points-same', 'point-outside', 'point-outside']);
  assert.deepEqual(await codes({ pins, pin_px: 0 }, { pins, pin_px: 'x' }, { pins, off_mm: Infinity }, { pins, part: 'nobodynobodynob2' }, { pins, part: null }, { pins, instead: 'nobodynobodynob2' }, { pins, picture: 'nobodynobodynob2' }),
    ['value-zero', 'value-not-number', 'value-not-number', 'no-such-record', 'name-empty', 'no-such-record', 'no-such-record']);
  const { id: elsewhere } = await methods.newProject({ name: 'Owl', animal: 'barn owl', parts: [] });
  const strange = await picture2(elsewhere, piece);
  assert.equal((await refused(() => methods.keepPins({ picture: strange, part: head, pins }))).code, 'part-elsewhere');
  assert.equal((await refused(() => methods.startSitting({ project, method: 'photo' }))).code, 'value-not-allowed');
  assert.equal((await refused(() => methods.set({ kind: 'picture', id: strange, field: 'of', value: piece }))).code, 'part-elsewhere');
  assert.deepEqual((await everything()).changes.filter(({ kind }) => kind === 'reading' || kind === 'sitting'), changes.filter(({ kind }) => kind === 'reading' || kind === 'sitting'));
});
const picture2 = (project, of) => picture(project, { of });

test('an outline is kept as its rings, to a tenth of a px, and changed and named', async () => {
  const { project, picture } = await otter();
  const ring = [[100.04, 100.06], [900, 100], [900, 700.55], [100, 700]];
  const { id } = await methods.keepOutline({ picture, rings: [ring, [[200, 200], [300, 200], [300, 300]]], name: 'Body' });
  const kept = await store.record('outline', id);
  assert.deepEqual(kept.fields.rings[0], [[100, 100.1, 900, 100, 900, 700.6, 100, 700], [200, 200, 300, 200, 300, 300]]);
  assert.deepEqual([kept.project, kept.fields.picture[0], kept.fields.name[0]], [project, picture, 'Body']);
  await methods.draft({ key: 'outline', value: 1 });
  await methods.keepOutline({ picture, id, rings: [[[0, 0], [10, 0], [10, 10]]], draft: 'outline' });
  assert.equal(await methods.drafts({ key: 'outline' }), null);
  await methods.set({ kind: 'outline', id, field: 'name', value: 'All of it' });
  const { outlines } = await view('photo', { id: picture });
  assert.deepEqual(outlines.map(({ name, rings }) => [name, rings]), [['All of it', [[[0, 0], [10, 0], [10, 10]]]]]);
  assert.equal((await view('history', { kind: 'outline', id })).fields.find(({ field }) => field === 'rings').changes.length, 2);
  for (const [rings, code] of [[[], 'ring-short'], [[[[0, 0], [1, 1]]], 'ring-short'], [[[0, 0, 1, 1, 2]], 'ring-short'], [[[[0, 0], [1, 0], [1, NaN]]], 'value-not-number'], [null, 'ring-short'],
    [[Array.from({ length: 601 }, (_, i) => [i, i % 7])], 'outline-too-long'], [[[[0, 0], [3001, 0], [1, 1]]], 'point-outside']]) {
    assert.equal((await refused(() => methods.keepOutline({ picture, rings }))).code, code, JSON.stringify(rings));
  }
  assert.equal((await refused(() => methods.keepOutline({ picture: 'nobodynobodynob2', rings: [ring] }))).code, 'no-such-record');
});

test('six hundred points of a large picture have room in one value', async () => {
  const { picture } = await otter();
  const ring = Array.from({ length: 600 }, (_, i) => [1000.123 + 900.7 * Math.cos(i / 95.5), 1100.77 + 300.3 * Math.sin(i / 95.5)]);
  const { id } = await methods.keepOutline({ picture, rings: [ring] });
  const rings = (await store.record('outline', id)).fields.rings[0];
  assert.ok(JSON.stringify(rings).length <= 8192);
  assert.equal(rings[0].length, 1200);
  ring.flat().forEach((x, i) => assert.ok(Math.abs(x - rings[0][i]) <= 0.25 + 1e-9));
});

test('an outline comes to mm by the card, and beside a part without it', async () => {
  const { parts: [head], picture } = await otter();
  const square = [[[100, 100], [500, 100], [500, 400], [100, 400]], [[200, 200], [300, 200], [300, 300], [200, 300]]];
  await methods.keepOutline({ picture, rings: square });
  assert.equal((await view('photo', { id: picture })).outlines[0].text, '');
  await methods.keepPins({ picture, part: head, pins: [[0, 0], [250, 0]] });
  assert.equal((await view('photo', { id: picture })).outlines[0].text, '2 × head');
  assert.deepEqual((await view('outline', { picture, rings: square })).in_part, { name: 'Head', ratio: 2 });
  await methods.set({ kind: 'picture', id: picture, field: 'plane', value: { kind: 'length', ends: [[0, 0], [0, 1000]], mm: 100 } });
  const { text, area_mm2, long_mm } = (await view('photo', { id: picture })).outlines[0];
  assert.equal(text, '50 mm long, 11 cm²');
  assert.ok(Math.abs(area_mm2 - 1100) < 1e-9 && Math.abs(long_mm - 50) < 1e-9);
});

test('the scale of a picture is checked when it is set', async () => {
  const { picture } = await otter();
  const set = (value) => methods.set({ kind: 'picture', id: picture, field: 'plane', value });
  await set(card);
  assert.deepEqual((await view('photo', { id: picture })).picture.plane, card);
  for (const [value, code] of [[{ ...card, corners: card.corners.slice(1) }, 'points-number'], [{ ...card, corners: [[0, 0], [0, 0], [1, 1], [2, 0]] }, 'points-same'], [{ ...card, width_mm: 0 }, 'value-zero'],
    [{ ...card, name: 'id-9' }, 'value-not-allowed'], [{ kind: 'circle' }, 'value-not-allowed'], [{ kind: 'length', ends: [[0, 0], [1, 1]], mm: -1 }, 'value-negative'], [7, 'value-not-allowed']]) assert.equal((await refused(() => set(value))).code, code, JSON.stringify(value));
  await set(null);
  assert.equal((await view('photo', { id: picture })).picture.plane, null);
});

test('a picture in the bin takes its outlines out of sight, and its readings stay', async () => {
  const { project, parts: [head, body], picture } = await otter();
  await methods.keepPins({ picture, part: head, pins });
  await methods.keepPins({ picture, part: body, pins: [[0, 0], [1000, 0]] });
  const { id } = await methods.keepOutline({ picture, rings: [[[0, 0], [10, 0], [10, 10]]], name: 'Body' });
  const other = await methods.keepOutline({ picture, rings: [[[0, 0], [10, 0], [10, 10]]], name: 'Old' });
  await methods.bin({ kind: 'outline', id: other.id, binned: true });
  assert.deepEqual((await view('photo', { id: picture })).outlines.map((one) => one.id), [id]);
  assert.deepEqual((await view('bin')).items.map(({ kind, name }) => [kind, name]), [['outline', 'Old']]);
  await methods.bin({ kind: 'picture', id: picture, binned: true });
  assert.deepEqual((await view('bin')).items.map(({ kind }) => kind), ['picture']);
  assert.deepEqual((await view('pictures', { project })).pictures, []);
  const { parts } = await view('project', { id: project });
  assert.deepEqual(parts.map(({ n }) => n), [1, 1, 0]);
  await methods.bin({ kind: 'picture', id: picture, binned: false });
  assert.deepEqual((await view('photo', { id: picture })).outlines.map((one) => one.id), [id]);
});

test('the pictures of a project say what they show, what is missing, and how much room all take', async () => {
  const { project, parts: [head], piece, picture: side } = await otter();
  let seen = await view('pictures', { project });
  assert.deepEqual(seen.missing, ['front']);
  assert.equal(seen.room, 0);
  const wool = await picture(project, { of: piece, view: 'front', whose: 'my own', drawn: true });
  await methods.set({ kind: 'picture', id: side, field: 'plane', value: card });
  await methods.keepPins({ picture: side, part: head, pins });
  await methods.keepOutline({ picture: side, rings: [[[0, 0], [10, 0], [10, 10]]] });
  seen = await view('pictures', { project });
  assert.deepEqual(seen.pictures.map(({ id, of, whose, drawn, plane, outlines, pins: n }) => [id, of, whose, drawn, plane, outlines, n]),
    [[wool, piece, 'my own', true, false, 0, 0], [side, 'subject', '', false, true, 1, 1]]);
  assert.deepEqual(seen.missing, ['front'], 'a front view of the wool is none of the animal');
  assert.deepEqual((await view('pictures', { project, of: piece })).pictures.map(({ id }) => id), [wool]);
  assert.deepEqual(seen.pieces.map(({ name }) => name), ['Piece 1']);
  assert.ok((await view('project', { id: project })).reminders.includes('no-front'));
  await picture(project, { view: 'front' });
  assert.deepEqual((await view('pictures', { project })).missing, []);
  assert.deepEqual((await view('project', { id: project })).reminders.filter((one) => one.startsWith('no-')), []);
});

test('all of it goes into a file and comes out of it as it was', async () => {
  const { project, parts: [head], picture } = await otter({ whose: 'my own', drawn: true });
  await methods.set({ kind: 'picture', id: picture, field: 'plane', value: card });
  await methods.keepPins({ picture, part: head, pins, pin_px: 0.7, off_mm: 3 });
  await methods.keepOutline({ picture, rings: [[[0, 0], [10, 0], [10, 10]]], name: 'Body' });
  const before = await view('photo', { id: picture });
  const { blob } = await methods.export({ project });
  await freshStore();
  const { token } = await methods.importPreview({ file: blob });
  await methods.importApply({ token });
  const after = await view('photo', { id: picture });
  assert.deepEqual(after, before);
});

test('the settings keep how large a px of this glass is', async () => {
  await freshStore();
  const glass = { px_per_mm: 6.3, u_share: 0.004, dpr: 2, width: 390, height: 844 };
  assert.deepEqual((await methods.setting({ name: 'glass', value: glass })).glass, glass);
  assert.deepEqual((await methods.settings()).glass, glass);
  for (const wrong of [{ ...glass, px_per_mm: 0 }, { ...glass, px_per_mm: '6' }, { ...glass, u_share: 1 }, {}, 6]) assert.match((await refused(() => methods.setting({ name: 'glass', value: wrong }))).code, /^value-/);
  assert.equal((await methods.setting({ name: 'glass', value: null })).glass, null);
});

test('a place is counted from the end of its part that its first pin is at', async () => {
  const { parts: [head], picture, eye } = await otter();
  await methods.keepPins({ picture, part: head, pins: [[500, 100], [100, 100]] });
  const { id } = await methods.keepPins({ picture, place: eye, pins: [[104, 96], [130, 140]] });
  assert.equal((await fact('reading', id)).value, 30);
});

/** An otter and a piece, each with a photo that has a card in it: ten px to a mm. */
async function byCard() {
  const it = await otter();
  const own = await picture(it.project, { view: 'side', of: it.piece, plane: card });
  await methods.set({ kind: 'picture', id: it.picture, field: 'plane', value: card });
  const [head, body] = it.parts;
  for (const [on, h, b] of [[it.picture, 400, 1000], [own, 440, 900]]) {
    await methods.keepPins({ picture: on, part: head, pins: [[100, 700], [100 + h, 700]], pin_px: 0.5 });
    await methods.keepPins({ picture: on, part: body, pins: [[100, 800], [100 + b, 800]], pin_px: 0.5 });
  }
  return { ...it, own, head, body };
}

test('with a card in it a photo tells mm, and its part of the size', async () => {
  const { project, picture, own, head, body } = await byCard();
  const seen = await view('photo', { id: picture });
  assert.deepEqual(seen.readings.map((r) => [r.name, r.text, Math.round(r.px)]), [['Head', '40 mm', 400], ['Body', '100 mm', 1000]]);
  assert.ok(Math.abs(seen.scale.mm_per_px - 0.1) < 1e-9 && seen.scale.u_share > 0 && seen.scale.u_share < 0.1);
  assert.match(seen.scale.text, /^1 px = 0.1 mm ± /);
  assert.equal(seen.finished_mm_per_px, null, 'no finished size is set');
  assert.equal(seen.step, (await view('project', { id: project })).parts[2].id);
  await methods.set({ kind: 'project', id: project, field: 'size', value: { part: body, mm: 50, typed: '50 mm' } });
  const sized = await view('photo', { id: picture });
  assert.ok(Math.abs(sized.finished_mm_per_px - 0.05) < 1e-9 && Math.abs(sized.to_size - 0.5) < 1e-6);
  assert.ok(Math.abs((await view('photo', { id: own })).finished_mm_per_px - 0.1) < 1e-9, 'a piece is as large as it is');
  const { parts } = await view('project', { id: project });
  assert.deepEqual(parts.map(({ mm_text }) => mm_text), ['20 mm', '50 mm', null]);
  assert.ok(Math.abs(parts[0].in_unit.ratio / parts[1].in_unit.ratio - 0.4) < 1e-9);
  assert.equal(parts.find((p) => p.id === head).readings[0].method, 'photo');
  const [sitting] = (await view('readings', { project })).sittings;
  assert.deepEqual([sitting.method, sitting.picture.id, sitting.readings.map((r) => r.text)], ['photo', picture, ['40 mm', '100 mm']]);
  await methods.set({ kind: 'picture', id: picture, field: 'plane', value: null });
  assert.deepEqual((await view('readings', { project })).sittings[0].readings.map((r) => [r.text, r.value]), [[null, 400], [null, 1000]]);
});

test('what stands off the card comes out at its finished size all the same: all around it reads as much too long as it does', async () => {
  const { project, picture, own, body } = await byCard();
  await methods.set({ kind: 'project', id: project, field: 'size', value: { part: body, mm: 50, typed: '50 mm' } });
  const far = { ...card, distance_mm: 600 };
  for (const [on, b] of [[picture, 1000], [own, 900]]) {
    await methods.set({ kind: 'picture', id: on, field: 'plane', value: far });
    const { readings } = await view('photo', { id: on });
    await methods.strike({ kind: 'reading', id: readings.find((r) => r.part === body).id, struck: true });
    await methods.keepPins({ picture: on, part: body, pins: [[100, 800], [100 + b, 800]], pin_px: 0.5, off_mm: 30 });
  }
  const seen = await view('photo', { id: picture });
  // 30 mm nearer than 600 mm: 100 mm on the plane are 95 mm of it, and those are to be 50 mm on paper.
  assert.ok(Math.abs(seen.readings.findLast((r) => r.part === body).mm - 95) < 1e-6);
  assert.ok(Math.abs(seen.to_size * 100 - 50) < 1e-6 && Math.abs(seen.finished_mm_per_px * 1000 - 50) < 1e-6, `${seen.to_size}`);
  const piece = await view('photo', { id: own });
  assert.ok(Math.abs(piece.to_size - 0.95) < 1e-6 && Math.abs(piece.finished_mm_per_px - 0.095) < 1e-6);
});

test('the piece on a photo with a card is held against the finished size, as by a ruler', async () => {
  const { project, piece, own, body } = await byCard();
  await methods.set({ kind: 'project', id: project, field: 'size', value: { part: body, mm: 100, typed: '100 mm' } });
  const by = await view('verdict', { project, piece });
  assert.equal(by.scale.mode, 'size');
  assert.equal(by.mm_nominal, false);
  assert.equal(by.modes.find(({ mode }) => mode === 'size').why, '');
  assert.deepEqual(by.parts.filter(({ verdict }) => verdict !== 'unknown').map(({ name, verdict, amount_text }) => [name, verdict, amount_text]), [['Head', 'take-in', '4 mm'], ['Body', 'add', '10 mm']]);
  const { id } = await methods.keepCheck({ piece, scale: by.scale_used });
  assert.deepEqual((await view('checks', { project, piece })).checks.map((c) => [c.id, c.out, c.trouble]), [[id, 2, '']]);
  assert.ok((await view('workings', { project, piece, part: body })).lines.length);
  // Without the card only shapes can be compared.
  await methods.set({ kind: 'picture', id: own, field: 'plane', value: null });
  const bare = await view('verdict', { project, piece });
  assert.deepEqual([bare.scale.mode, bare.mm_nominal], ['least-work', true]);
  assert.equal(bare.modes.find(({ mode }) => mode === 'size').why, 'no-millimetres');
});

test('what was set on one photo at two times has one scale', async () => {
  const { project, picture, parts: [head, body] } = await otter();
  await methods.keepPins({ picture, part: head, pins: [[0, 0], [400, 0]] });
  await methods.set({ kind: 'picture', id: picture, field: 'view', value: 'front' });
  await methods.keepPins({ picture, part: body, pins: [[0, 0], [1000, 0]] });
  const { parts, groups, sittings } = await view('project', { id: project });
  assert.equal(sittings.length, 2);
  assert.equal(groups.length, 1);
  assert.ok(Math.abs(parts[1].in_unit.ratio / parts[0].in_unit.ratio - 2.5) < 1e-9);
});

test('a known size that says nothing takes the pins nothing away', async () => {
  const { project, picture, parts: [head, body] } = await otter();
  await methods.set({ kind: 'picture', id: picture, field: 'plane', value: { ...card, corners: [[0, 0], [100, 0], [200, 0], [300, 0]] } });
  await methods.keepPins({ picture, part: head, pins: [[0, 0], [400, 0]] });
  await methods.keepPins({ picture, part: body, pins: [[0, 0], [1000, 0]] });
  const seen = await view('photo', { id: picture });
  assert.equal(seen.scale, null);
  assert.ok(seen.plane_trouble.text);
  const { parts, trouble } = await view('project', { id: project });
  assert.equal(trouble, null);
  assert.ok(Math.abs(parts[1].in_unit.ratio / parts[0].in_unit.ratio - 2.5) < 1e-9);
});

test('a reading whose record came with nothing of its pins still counts', async () => {
  const { project, picture, parts: [head, body] } = await otter();
  const { sitting } = await methods.keepPins({ picture, part: head, pins: [[0, 0], [400, 0]] });
  const id = newId();
  await keep(async () => made('reading', id, { project, fact: { sitting, part: body, place: null, value: 1000, denominator: null, typed: null } }));
  const { parts, trouble } = await view('project', { id: project });
  assert.equal(trouble, null);
  assert.ok(Math.abs(parts[1].in_unit.ratio / parts[0].in_unit.ratio - 2.5) < 1e-9);
});
