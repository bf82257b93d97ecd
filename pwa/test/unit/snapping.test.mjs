// A line that follows an edge while the finger only goes roughly along it.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { parted, snapping, target } from '../../app/snapping.js';

/** @typedef {import('../../app/rings.js').Point} Point */

const R = 300;
/** A round edge, and what an engine would find on it between two places near it. @param {Point} from  @param {Point} to @returns {Point[]} */
function arc(from, to) {
  const [a, b] = [Math.atan2(from[1], from[0]), Math.atan2(to[1], to[0])];
  const turn = Math.atan2(Math.sin(b - a), Math.cos(b - a));
  const steps = Math.max(1, Math.round(Math.abs(turn) * R));
  return Array.from({ length: steps }, (_, i) => /** @type {Point} */ ([R * Math.cos(a + turn * (i + 1) / steps), R * Math.sin(a + turn * (i + 1) / steps)]));
}
/** A finger's way three quarters round, up to 25 px beside the edge. @param {number} n @returns {Point[]} */
const finger = (n) => Array.from({ length: n }, (_, i) => {
  const a = 1.5 * Math.PI * i / (n - 1);
  const r = i === 0 || i === n - 1 ? R : R + 25 * Math.sin(7 * a);
  return [r * Math.cos(a), r * Math.sin(a)];
});
const lengths = { reach: 200, settle: 140, loose: 40 };
const rest = () => new Promise((resolve) => { setTimeout(resolve, 1); });

/** @param {(from: Point, to: Point) => Promise<Point[]>} path */
function counting(path) {
  const seen = { now: 0, most: 0, all: 0 };
  const line = snapping({
    changed() {},
    async path(from, to) {
      seen.all++;
      seen.most = Math.max(seen.most, ++seen.now);
      try { return await path(from, to); } finally { seen.now--; }
    },
  });
  return { line, seen };
}

/** @param {Point[]} path */
const worst = (path) => Math.max(...path.map(([x, y]) => Math.abs(Math.hypot(x, y) - R)));

for (const [how, wait] of /** @type {const} */ ([['quick answers', 0], ['answers slower than the whole stroke', 30]])) {
  test(`the line lies on the edge all along, with ${how}, and one question at a time`, async () => {
    const { line, seen } = counting(async (from, to) => { if (wait) await new Promise((resolve) => { setTimeout(resolve, wait); }); return arc(from, to); });
    const trail = finger(240);
    line.start(trail[0], lengths);
    for (const at of trail.slice(1)) { line.move(at); if (!wait) await rest(); }
    const path = /** @type {Point[]} */ (await line.end());
    assert.ok(worst(path) < 1e-6, `${worst(path)} px off`);
    assert.deepEqual(path[0], trail[0]);
    assert.ok(Math.hypot(path[path.length - 1][0] - trail[239][0], path[path.length - 1][1] - trail[239][1]) < 1, 'to where the finger went up');
    const turns = path.map(([x, y]) => Math.atan2(y, x)).map((a, i, all) => (i ? Math.atan2(Math.sin(a - all[i - 1]), Math.cos(a - all[i - 1])) : 0));
    assert.ok(Math.abs(turns.reduce((sum, a) => sum + a, 0) - 1.5 * Math.PI) < 0.01, 'all the way, and no shorter one');
    assert.equal(seen.most, 1);
    assert.equal(line.shown, null);
  });
}

test('what is settled stays as it is while the finger goes on; only the end is loose', async () => {
  const { line } = counting(async (from, to) => arc(from, to));
  const trail = finger(240);
  line.start(trail[0], lengths);
  let before = /** @type {Point[]} */ ([]);
  for (const at of trail.slice(1)) {
    line.move(at);
    await rest();
    const { settled } = /** @type {NonNullable<typeof line.shown>} */ (line.shown);
    assert.deepEqual(settled.slice(0, before.length), before);
    before = settled;
  }
  assert.ok(before.length > 500, `${before.length} points are settled`);
});

test('without an engine the line is kept as it was drawn, and why is known', async () => {
  const { line, seen } = counting(async () => { throw new Error('gone'); });
  const trail = finger(50);
  line.start(trail[0], lengths);
  for (const at of trail.slice(1)) line.move(at);
  const path = await line.end();
  assert.deepEqual(path, trail);
  assert.match(String(line.trouble), /gone/);
  assert.ok(seen.all >= 1);
});

test('a stroke begun before the last one was settled takes its place; a tap is one point', async () => {
  const { line } = counting(async (from, to) => { await new Promise((resolve) => { setTimeout(resolve, 5); }); return arc(from, to); });
  const [a, b] = [finger(30), finger(60).slice(30)];
  line.start(a[0], lengths);
  for (const at of a.slice(1)) line.move(at);
  const first = line.end();
  line.start(b[0], lengths);
  for (const at of b.slice(1)) line.move(at);
  assert.equal(await first, null);
  assert.deepEqual((await line.end())?.[0], b[0]);
  line.start([1, 2], lengths);
  assert.deepEqual(await line.end(), [[1, 2]]);
});

test('a jump of the finger is gone in steps, and a path is parted by its length', () => {
  assert.deepEqual(target([[0, 0], [10, 0], [20, 0], [500, 0]], 1, [0, 0], 100), { index: 2, to: [20, 0] });
  assert.deepEqual(target([[0, 0], [500, 0]], 1, [0, 0], 100), { index: 0, to: [100, 0] });
  assert.deepEqual(parted([[0, 0], [10, 0], [20, 0], [30, 0]], 15), [[[0, 0], [10, 0]], [[10, 0], [20, 0], [30, 0]]]);
  assert.deepEqual(parted([[0, 0], [10, 0]], 15), [[], [[0, 0], [10, 0]]]);
});
