// A photo made straight: its plane is never seen in a mirror, and what is made of it holds the piece.
import './libs.mjs';
import assert from 'node:assert/strict';
import { test } from 'node:test';

const { cornersIn, inPlane, partOf } = await import('../../app/straight.js');
const { begin, planOf } = await import('../../app/overlay-plan.js');
const { laid } = await import('../../app/placing.js');

test('a point goes through a homography', () => {
  assert.deepEqual(inPlane([2, 0, 1, 0, 3, 2, 0, 0, 1], [5, 7]), [11, 23]);
  assert.deepEqual(inPlane([1, 0, 0, 0, 1, 0, 0.1, 0, 1], [10, 4]), [5, 2]);
});

test('corners run in the plane as they run in the photo', () => {
  const size = { width_mm: 80, height_mm: 50 };
  assert.deepEqual(cornersIn({ ...size, corners: [[10, 10], [90, 10], [90, 60], [10, 60]] }), [[0, 0], [80, 0], [80, 50], [0, 50]]);
  assert.deepEqual(cornersIn({ ...size, corners: [[10, 60], [90, 60], [90, 10], [10, 10]] }), [[0, 0], [80, 0], [80, -50], [0, -50]]);
});

test('the part that is made holds the piece with room about it, or the middle of the photo', () => {
  const half = [0.5, 0, 0, 0, 0.5, 0, 0, 0, 1];
  assert.deepEqual(partOf(half, [[[100, 50], [200, 50], [200, 90]]], { width: 1000, height: 1000 }), { left_mm: 75, top_mm: 25, width_mm: 150, height_mm: 90 });
  assert.deepEqual(partOf(half, null, { width: 1000, height: 800 }), { left_mm: 50, top_mm: 40, width_mm: 400, height_mm: 320 });
});

const seen = {
  finished_mm_per_px: 0.5, picture: { width: 400, height: 400 }, outlines: [{ id: 'p', rings: [[[100, 100], [300, 100], [300, 200]]] }],
  subject_outlines: [{ id: 'a', finished_mm_per_px: 0.25, rings: [[[0, 0], [800, 0], [800, 400]]] }, { id: 'b', finished_mm_per_px: null, rings: [[[0, 0], [80, 0], [80, 40]]] }],
};

test('both are told in mm of the finished size where both are known, else in px', () => {
  const sized = planOf(seen, 'a', null);
  assert.deepEqual([sized?.sized, sized?.subject, sized?.piece], [true, [[[0, 0], [200, 0], [200, 100]]], [[[50, 50], [150, 50], [150, 100]]]]);
  const free = planOf(seen, 'b', null);
  assert.deepEqual([free?.sized, free?.subject[0][1], free?.piece?.[0][1]], [false, [80, 0], [300, 100]]);
  assert.notEqual(sized?.basis, free?.basis);
  assert.equal(planOf({ ...seen, subject_outlines: [] }, '', null), null);
});

test('to begin with, the piece lies in the middle of the outline, at its size where that is known, turned as the photo is', () => {
  const plan = /** @type {NonNullable<ReturnType<typeof planOf>>} */ (planOf(seen, 'a', null));
  assert.deepEqual(laid(begin(plan), [100, 75]), [100, 50]);
  const straight = { unit: 1, origin: /** @type {[number, number]} */ ([-10, -10]), width: 300, height: 300, turn: Math.PI / 2, image: /** @type {any} */ (null), rings: [/** @type {[number, number][]} */ ([[50, 50], [150, 50], [150, 100]])] };
  const place = begin(/** @type {NonNullable<ReturnType<typeof planOf>>} */ (planOf(seen, 'a', straight)));
  const [x, y] = laid(place, [150, 75]);
  assert.ok(Math.abs(x - 100) < 1e-9 && Math.abs(y - 100) < 1e-9, `${x}, ${y}`);
  const free = begin(/** @type {NonNullable<ReturnType<typeof planOf>>} */ (planOf(seen, 'b', straight)));
  assert.equal(free.scale, 80 / 200);
});
