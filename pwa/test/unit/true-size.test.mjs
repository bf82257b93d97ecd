// What is printed, or shown on the glass, at true size; and the demo's pictures, of which everything is known since they were made by numbers.
import { freshStore, methods, view } from './bench.mjs';
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { test } from 'node:test';

const near = (value, expected, within, what = '') => assert.ok(Math.abs(value - expected) <= within, `${what} ${value} is not ${expected} +- ${within}`);
const by = (list, name) => list.find((one) => one.name === name);
const apply = (m, [x, y]) => { const w = m[6] * x + m[7] * y + m[8]; return [(m[0] * x + m[1] * y + m[2]) / w, (m[3] * x + m[4] * y + m[5]) / w]; };
const apart = ([a, b], [c, d]) => Math.hypot(a - c, b - d);

/** The demo with its pictures, which a browser would fetch. */
async function demo() {
  await freshStore();
  const before = globalThis.fetch;
  globalThis.fetch = /** @type {any} */ (async (url) => new Response(readFileSync(url)));
  try { return await methods.addDemo({}); } finally { globalThis.fetch = before; }
}

test('the demo comes with its pictures, measured and traced, and without them where they cannot be fetched', async () => {
  const { otter, owl } = await demo();
  const seen = await view('pictures', { project: otter });
  assert.deepEqual(seen.pictures.map(({ view: side, whose, plane, outlines, pins }) => [side, whose, plane, outlines, pins]), [['side', 'needlesight demo', true, 1, 7], ['front', 'needlesight demo', false, 0, 3]]);
  assert.deepEqual([seen.missing, (await view('pictures', { project: owl })).missing], [[], []]);
  for (const { full } of seen.pictures) assert.ok((await methods.pictureBytes({ hash: full })).bytes.length > 20_000);
  await freshStore();
  const bare = await methods.addDemo({}); // node fetches no files
  assert.equal((await view('pictures', { project: bare.otter })).pictures.length, 0);
});

test('what is measured on the demo’s pictures agrees with what was counted with the needle', async () => {
  const { otter, owl } = await demo();
  for (const [id, piece] of [[otter, 'First otter'], [owl, 'First owl']]) {
    const seen = await view('project', { id });
    assert.equal(seen.trouble, null);
    assert.deepEqual(seen.disagree.map((one) => one.name), [], 'no reading contradicts another');
    const verdict = await view('verdict', { project: id, piece: seen.pieces.find((one) => one.name === piece).id });
    assert.deepEqual(verdict.parts.filter((p) => ['add', 'take-in'].includes(p.verdict)).map((p) => p.name), id === otter ? ['tail', 'neck width'] : []);
  }
  // 18 cm over 7 1/2 heads: a head of 24 mm, a tail of 2 3/4 heads.
  const parts = (await view('project', { id: otter })).parts;
  near(by(parts, 'head length').mm, 24, 0.4);
  near(by(parts, 'tail').mm, 66, 1);
});

test('a picture with a card in it is laid straight at the finished size: the card is as much smaller as the animal', async () => {
  const { otter } = await demo();
  const seen = await view('print', { project: otter });
  const side = seen.pictures.find((one) => one.view === 'side');
  const { picture, readings } = await view('photo', { id: side.id });
  assert.deepEqual([side.why, side.by, side.photo], ['', 'plane', null]);
  const at = (point) => apply(side.rectify.matrix, point);
  const corners = picture.plane.corners.map(at);
  const [long, short] = [apart(corners[0], corners[1]), apart(corners[1], corners[2])];
  // ISO/IEC 7810: an ID-1 card is 85.60 by 53.98 mm.
  near(long / short, 85.6 / 53.98, 0.002);
  const whole = readings.find((one) => one.name === 'whole length').pins.map(at);
  near(apart(...whole), 180, 2, 'the otter from nose to tail on the sheet, mm');
  // As it was taken: what is right of something in the photo is right of it here, and no mirror.
  const [middle, right, down] = [[600, 400], [610, 400], [600, 410]].map(at);
  near(right[1] - middle[1], 0, 0.01);
  assert.ok(right[0] > middle[0] && down[1] > middle[1]);
  // Its outline lies within what is made straight of it.
  const { left_mm, top_mm, width_mm, height_mm } = side.rectify;
  for (const [x, y] of side.rings_mm.flat()) assert.ok(x > left_mm && x < left_mm + width_mm && y > top_mm && y < top_mm + height_mm);
});

test('a card that lies turned, or is gone round the other way, turns nothing and mirrors nothing', async () => {
  const { otter } = await demo();
  const before = (await view('print', { project: otter })).pictures.find((one) => one.view === 'side');
  const { picture } = await view('photo', { id: before.id });
  const [a, b, c, d] = picture.plane.corners;
  for (const corners of [[c, d, a, b], [b, a, d, c]]) {
    await methods.set({ kind: 'picture', id: before.id, field: 'plane', value: { ...picture.plane, corners } });
    const after = (await view('print', { project: otter })).pictures.find((one) => one.id === before.id);
    for (const [p, q] of [[[200, 300], [900, 250]], [[600, 100], [640, 700]]]) {
      const [from, to] = [p, q].map((point) => [apply(before.rectify.matrix, point), apply(after.rectify.matrix, point)]);
      near(to[0][0] - from[0][0], to[1][0] - from[1][0], 0.05);
      near(to[0][1] - from[0][1], to[1][1] - from[1][1], 0.05);
    }
  }
});

test('a picture without a card is sized by what was measured on it; one with nothing says so', async () => {
  const { otter, owl } = await demo();
  const front = (await view('print', { project: owl })).pictures.find((one) => one.view === 'front');
  assert.deepEqual([front.why, front.by, front.rectify], ['', 'part', null]);
  const { readings } = await view('photo', { id: front.id });
  const [from, to] = readings.find((one) => one.name === 'body height').pins;
  near((apart(from, to) * front.photo.width_mm) / front.width, 140, 2, 'the owl on the sheet, mm');
  await methods.set({ kind: 'project', id: otter, field: 'size', value: null });
  assert.deepEqual((await view('print', { project: otter })).pictures.map((one) => one.why), ['no-size', 'no-size']);
});

test('the sums of a measured glass', async () => {
  Object.assign(globalThis, { devicePixelRatio: 3 });
  const { card, cardOn, farOff, fromSlider, stepped, sureness, toSlider } = await import('../../app/draw/true-glass.js');
  // GUM 4.3.7: a rectangle of half width a has the standard uncertainty a / sqrt(3); two of them here, over the card's long edge.
  near(sureness(85.6), Math.sqrt(0.35 ** 2 / 3 + 0.13 ** 2 / 3) / 85.6, 1e-12);
  assert.deepEqual(farOff(0.0025), { share: 0.005, mm: 1 });
  near(stepped(6, 1) * card.long, 6 * card.long + 1 / 3, 1e-9, 'a step is one px of the device');
  for (const size of [1.5, 3.78, 6.2, 14]) near(fromSlider(toSlider(size)) / size, 1, 0.002);
  assert.deepEqual([cardOn(6, { width: 390, height: 640 }), cardOn(6, { width: 390, height: 400 }), cardOn(4, { width: 1200, height: 500 })].map(({ by: edge, width, height }) => [edge, width < height]), [[85.6, true], [53.98, true], [85.6, false]]);
});
