// Where forms lie in a drawing: placed and turned, seen from the front, moved by a finger; and profiles that a hand draws.
import './libs.mjs';
import assert from 'node:assert/strict';
import { test } from 'node:test';

const forms = await import('../../app/draw/forms.js');
const { knobAt, placing } = await import('../../app/draw/form-place.js');
const { foldedAt } = await import('../../app/draw/wire.js');
const profile = await import('../../app/profile.js');

const near = (got, wanted, off = 1e-9) => assert.ok(Math.abs(got - wanted) <= off, `${got}, not ${wanted}`);
const nearPoint = (got, wanted, off = 1e-9) => { near(got[0], wanted[0], off); near(got[1], wanted[1], off); };
/** An egg as the engine draws it from the side: root at 0, axis along x. */
const egg = (long, wide, n = 96) => [Array.from({ length: n }, (_, i) => { const turn = 2 * Math.PI * i / n; return [long / 2 * (1 - Math.cos(turn)), wide / 2 * Math.sin(turn)]; })];
const solid = (long, wide, deep, place, more = {}) => ({ kind: 'egg', side_mm: egg(long, wide), width_mm: wide, depth_mm: deep, place, count: 1, mirrored: false, ...more });
const cone = (long, wide) => [[[0, -wide / 2], [long, 0], [0, wide / 2]]];

test('a form is turned about its root, anticlockwise with y up, and moved there', () => {
  nearPoint(forms.placedPoint([10, 0], { x: 5, y: 7, turn: Math.PI / 2 }), [5, 17]);
  nearPoint(forms.placedPoint([0, 4], { x: 5, y: 7, turn: Math.PI / 2 }), [1, 7]);
  nearPoint(forms.middleOf(egg(40, 20), { x: 100, y: 50, turn: Math.PI }), [80, 50], 0.05);
});

test('turned by a button a form stays where its middle is', () => {
  const [rings, place] = [egg(60, 20), { x: 12, y: 30, turn: 0.4 }];
  const next = forms.turned(rings, place, 1.1);
  near(next.turn, 1.5);
  nearPoint(forms.middleOf(rings, next), forms.middleOf(rings, place));
  nearPoint(forms.middleOf(rings, forms.centred(rings, place, [77, 8])), [77, 8]);
});

test('a place is kept to a tenth of a mm and within half a turn', () => {
  assert.deepEqual(forms.settled({ x: 1.2345, y: -0.04, turn: 7, front_x: -3 }), { x: 1.2, y: 0, turn: 0.717, front_x: 0 });
  assert.deepEqual(forms.settled({ x: 1, y: 2, turn: -0.2 }), { x: 1, y: 2, turn: -0.2 });
});

test('from the front a lying egg shows its section, and a standing one its whole length', () => {
  const lying = forms.boxOf([forms.frontShape(solid(60, 20, 16, { x: 0, y: 40, turn: 0 }))]);
  near(lying.high - lying.low, 20, 0.2);
  near(lying.right - lying.left, 16, 0.2);
  near((lying.high + lying.low) / 2, 40, 0.01);
  const standing = forms.frontShape(solid(60, 20, 16, { x: 0, y: 5, turn: Math.PI / 2 }));
  const box = forms.boxOf([standing]);
  near(box.low, 5, 0.01);
  near(box.high, 65, 0.01);
  near(box.right - box.left, 16, 0.2);
  // It is an ellipse, as the shadow of an ellipsoid is: no waves between its sections.
  for (const [x, y] of standing) near(Math.abs(x), 8 * Math.sqrt(Math.max(0, 1 - ((y - 35) / 30) ** 2)), 0.35);
});

test('at a slant it is as high as the ellipse’s own shadow', () => {
  // The half height of an ellipse of half axes a, b turned by t is sqrt(a2 sin2 t + b2 cos2 t).
  for (const turn of [0.3, -0.8, 2.2]) {
    const box = forms.boxOf([forms.frontShape(solid(60, 20, 16, { x: 0, y: 0, turn }))]);
    near((box.high - box.low) / 2, Math.hypot(30 * Math.sin(turn), 10 * Math.cos(turn)), 0.25);
  }
});

test('a block has straight sides from the front, and what lies left and right is drawn twice', () => {
  const block = { kind: 'block', side_mm: [[[0, -10], [40, -10], [40, 10], [0, 10]]], width_mm: 20, depth_mm: 12, place: { x: 0, y: 50, turn: 0, front_x: 15 }, count: 2, mirrored: true };
  const rings = forms.frontRings(block, 100);
  assert.equal(rings.length, 2);
  const boxes = rings.map((ring) => forms.boxOf([ring]));
  assert.deepEqual(boxes.map(({ left, right }) => [left, right]), [[109, 121], [79, 91]]);
  near(boxes[0].high - boxes[0].low, 20, 1e-6);
  assert.equal(forms.frontRings({ ...block, place: { x: 0, y: 50, turn: 0 } }, 100).length, 1, 'in the middle they lie on one another');
  assert.deepEqual(forms.frontRings({ ...block, place: null }, 100), []);
});

test('a drawing is to scale, as large as fits, and a finger is found again in mm', () => {
  const fit = forms.fitted({ left: 0, right: 180, low: 0, high: 40 }, { width: 362, most: 300, pad: 26 });
  near(fit.scale, (362 - 52) / 180);
  near(fit.height, 40 * fit.scale + 52);
  nearPoint(fit.to([0, 0]), [26, fit.height - 26]);
  for (const at of [[3, 4], [180, 40], [-7, 99]]) nearPoint(fit.from(fit.to(at)), at);
  // The drawing is shown at twice its size, and lies away from the corner of the screen.
  const rect = /** @type {DOMRect} */ ({ left: 100, top: 50, width: 724, height: 2 * fit.height });
  const [x, y] = fit.to([90, 20]);
  nearPoint(forms.under(fit, { clientX: 100 + 2 * x, clientY: 50 + 2 * y }, rect), [90, 20]);
  near(forms.oneScale([[{ left: 0, right: 180, low: 0, high: 40 }, 362, 300], [{ left: 0, right: 20, low: 0, high: 40 }, 362, 300]]), fit.scale);
});

test('the bar is a round length that fits', () => {
  for (const scale of [0.05, 0.4, 1.7, 6, 25]) {
    const mm = forms.barOf({ scale, width: 362 });
    assert.ok([1, 2, 5].includes(Number((mm / 10 ** Math.floor(Math.log10(mm) + 1e-9)).toFixed(6))), `${mm} mm`);
    assert.ok(mm * scale <= 362 * 0.28 && mm * scale > 362 * 0.1);
  }
});

test('no number hides another, and small forms are not hidden by theirs', () => {
  const fit = forms.fitted({ left: 0, right: 180, low: 0, high: 40 }, { width: 362, most: 300, pad: 26 });
  const leg = (x) => forms.placed(cone(12, 6), { x, y: 12, turn: -Math.PI / 2 });
  const spots = forms.numbersAt([forms.placed(egg(120, 26), { x: 50, y: 25, turn: 0 }), leg(70), leg(74), leg(130), leg(136)], fit);
  spots.forEach((a, i) => spots.slice(i + 1).forEach((b) => assert.ok(Math.hypot(a[0] - b[0], a[1] - b[1]) >= 18, `${a} and ${b}`)));
  for (const spot of spots.slice(1)) assert.ok(spot[1] > fit.to([0, 0])[1], 'below its leg');
  nearPoint(spots[0], fit.to([110, 25]), 1);
});

/** A finger on a drawing that is shown at its own size. */
function finger(fit) {
  const drawing = { getBoundingClientRect: () => ({ left: 0, top: 0, width: fit.width, height: fit.height }) };
  const box = { querySelector: () => drawing, setPointerCapture() {} };
  return (x, y) => ({ pointerId: 1, button: 0, clientX: x, clientY: y, currentTarget: box });
}
const animal = { side: [[[0, 0], [100, 0], [100, 60], [0, 60]]], front: [] };

test('a finger moves a form by as much as it goes, and a tap puts its middle there', () => {
  const on = placing();
  const form = solid(40, 20, 20, { x: 20, y: 30, turn: 0 });
  const fit = on.fit({ animal, others: [], form, from: 'side', width: 400, most: 300 });
  const at = finger(fit);
  const [x, y] = fit.to([40, 30]);
  assert.equal(on.down(at(x, y), form, 'side'), true);
  assert.equal(on.move(at(x + 2, y)), null, 'not yet: a finger trembles');
  const moved = on.move(at(x + 10 * fit.scale, y - 5 * fit.scale));
  assert.deepEqual(moved, { x: 30, y: 35, turn: 0 });
  assert.deepEqual(on.up(at(x, y), { ...form, place: moved }, 'side'), { place: moved, changed: true });
  on.down(at(...fit.to([70, 20])), form, 'side');
  nearPoint(forms.middleOf(form.side_mm, on.up(at(0, 0), form, 'side').place), [70, 20], 0.1);
  // A second finger is nobody's.
  on.down(at(x, y), form, 'side');
  assert.equal(on.down({ ...at(x, y), pointerId: 2 }, form, 'side'), false);
  on.cancel();
  assert.equal(on.move(at(x + 50, y)), null);
});

test('the knob beyond the tip turns it', () => {
  const on = placing();
  const form = solid(40, 20, 20, { x: 20, y: 30, turn: 0 });
  const fit = on.fit({ animal, others: [], form, from: 'side', width: 400, most: 300 });
  const at = finger(fit);
  const [kx, ky] = knobAt(form, fit);
  assert.ok(kx > fit.to([60, 30])[0]);
  on.down(at(kx, ky), form, 'side');
  const [mx, my] = fit.to([40, 30]);
  const place = on.move(at(mx, my - (kx - mx))); // a quarter of the way round
  near(place.turn, Math.PI / 2, 0.002);
  nearPoint(forms.middleOf(form.side_mm, place), [40, 30], 0.1);
});

test('from the front a finger sets how far apart they lie; a tap there does nothing', () => {
  const on = placing();
  const form = solid(40, 20, 20, { x: 20, y: 30, turn: 0, front_x: 5 }, { count: 2, mirrored: true });
  const fit = on.fit({ animal: { side: [], front: animal.side }, others: [], form, from: 'front', width: 400, most: 300 });
  const at = finger(fit);
  on.down(at(100, 100), form, 'front');
  assert.deepEqual(on.move(at(100 + 4 * fit.scale, 100)), { x: 20, y: 30, turn: 0, front_x: 9 });
  on.cancel();
  on.down(at(100, 100), form, 'front');
  assert.equal(on.up(at(100, 100), form, 'front').changed, false);
  assert.equal(on.nudged(form, 'front', -1, 0, 20).front_x, 0, 'no farther together than on one another');
});

test('a profile taken from an outline is half of its run across, no thicker than the form by half', () => {
  // A wedge 100 long whose half thickness falls from 20 to 10, lying on a block that is much thicker.
  const outline = [[[0, -20], [100, -10], [100, 10], [0, 20]], [[-50, -80], [-1, -80], [-1, 80], [-50, 80]]];
  const place = { x: 0, y: 0, turn: 0 };
  const { points, along } = profile.profileAlong(outline, place, cone(100, 36));
  assert.equal(along, 0);
  assert.equal(points[0][0], 0);
  assert.equal(points.at(-1)[0], 100);
  for (const [x, r] of points) near(r, Math.min(20 - x / 10, 1.5 * Math.max(18 - 0.18 * x, 6)), 0.2);
  // Turned and moved it is the same.
  const turn = 2.3;
  const turned = outline.map((ring) => ring.map((at) => forms.placedPoint(at, { x: 7, y: -3, turn })));
  profile.profileAlong(turned, { x: 7, y: -3, turn }, cone(100, 36)).points.forEach(([x, r], i) => nearPoint([x, r], points[i], 0.11));
  assert.equal(profile.profileAlong(outline, { x: 0, y: 300, turn: 0 }, cone(100, 36)), null);
  assert.equal(profile.profileAlong([], place, cone(100, 36)), null);
  // One that begins before the outline does begins where it does, and says how far along that is.
  const late = profile.profileAlong([outline[0]], { x: -20, y: 0, turn: 0 }, cone(100, 60));
  near(late.along, 20, 6.3);
  assert.equal(late.points[0][0], 0);
});

test('a point of a profile stays between its neighbours and on its side of the axis', () => {
  const points = [[0, 5], [10, 8], [20, 6]];
  assert.deepEqual(profile.profileMoved(points, 1, [35, -4]), [[0, 5], [19, 0], [20, 6]]);
  assert.deepEqual(profile.profileMoved(points, 0, [3, 9]), [[0, 9], [10, 8], [20, 6]], 'the root stays');
  assert.deepEqual(profile.profileMoved(points, 2, [33.33, 2]), [[0, 5], [10, 8], [33.3, 2]]);
  assert.deepEqual(profile.pointAdded(points, 2, false), [[0, 5], [10, 8], [15, 7], [20, 6]], 'after the last one: before it');
  assert.equal(profile.pointAdded([[0, 1], [1.5, 1], [9, 1]], 0, false), null);
  assert.equal(profile.pointTaken(points, 1), null);
  assert.deepEqual(profile.pointTaken([[0, 1], [4, 2], [8, 3], [12, 0]], 0), [[0, 2], [4, 3], [8, 0]]);
});

test('a profile begins as the form looks, is made as long and wide as is typed, and is kept flat', () => {
  const points = profile.profileOf(egg(80, 30, 400));
  assert.deepEqual([points[0][0], points.at(-1)[0]], [0, 80]);
  for (const [x, r] of points) near(r, 15 * Math.sqrt(1 - (x / 40 - 1) ** 2), 0.15);
  assert.deepEqual(profile.profileOf([[[0, -9], [50, -4], [50, 4], [0, 9]]]).filter((_, i) => i % 8 === 0), [[0, 9], [50, 4]], 'ends that are cut off stay so');
  const larger = profile.scaledTo(points, { long: 120, wide: 20 });
  near(profile.measured(larger).long, 120, 0.1);
  near(profile.measured(larger).wide, 20, 0.2);
  assert.deepEqual(profile.pointsOf(profile.keptPoints(points)), points);
  assert.deepEqual(profile.pointsOf(null), []);
  assert.ok(profile.profileOf([]).length > 2);
  near(profile.measured(profile.leaf(30, 20)).long, 30, 0.1);
  near(profile.measured(profile.leaf(30, 20)).wide, 20, 0.1);
});

test('a wire is drawn as long as it lies inside, and folded back by 8 mm', () => {
  const line = foldedAt(60, 2);
  assert.equal(Math.max(...line.map(([x]) => x)), 60);
  assert.deepEqual(line.at(-1), [52, 2]);
  assert.deepEqual(foldedAt(10, 2).at(-1), [5, 2], 'a short one no farther than half');
});
