// What the outline's screen makes of a finger and a zoom.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import * as tools from '../../app/outline-tools.js';

const ring = /** @type {import('../../app/rings.js').Ring} */ ([[0, 0], [50, 0], [100, 0], [100, 50], [100, 100], [50, 100], [0, 100], [0, 50]]);
const drawn = { rings: [ring], open: [] };

test('the crop holds both ends with room about them, and stays on the picture', () => {
  assert.deepEqual(tools.crop([100, 200], [180, 150], { width: 1000, height: 1400 }), [40, 90, 200, 170]);
  assert.deepEqual(tools.crop([5, 1390], [80, 1395], { width: 1000, height: 1400 }), [0, 1330, 140, 70]);
  for (const scale of [0.1, 0.35, 1, 4, 20]) {
    const { reach, settle, loose } = tools.lengths(scale);
    const [, , width, height] = tools.crop([1000, 1000], [1000 + reach, 1000 + reach], { width: 4000, height: 4000 });
    assert.ok(width <= 321 && height <= 321, `a question at ${scale} searches ${width} by ${height} px`);
    assert.ok(loose < settle && settle < reach);
  }
});

test('points are shown as far apart as a thumb needs, and the chosen one always', () => {
  const far = tools.handlesOf(drawn, 0.3, null, (n) => `Point ${n}`);
  assert.deepEqual(far.handles.map(({ id, label }) => [id, label]), [['0:0', 'Point 1'], ['0:2', 'Point 2'], ['0:4', 'Point 3'], ['0:6', 'Point 4']]);
  assert.equal(tools.handlesOf(drawn, 2, null, String).handles.length, 8);
  assert.ok(tools.handlesOf(drawn, 0.3, '0:3', String).handles.some(({ id }) => id === '0:3'));
});

test('a tap on the line means the line, but not beside the point that is chosen', () => {
  const { shown } = tools.handlesOf(drawn, 0.3, null, String);
  assert.equal(tools.edgeAt(drawn, [70, 3], 1, null, shown)?.edge, 1);
  assert.equal(tools.edgeAt(drawn, [70, 30], 1, null, shown), null);
  assert.equal(tools.edgeAt(drawn, [70, 3], 1, '0:2', shown), null);
  assert.equal(tools.edgeAt(drawn, [3, 30], 1, '0:2', shown)?.edge, 7);
  assert.equal(tools.edgeAt(drawn, [3, 30], 1, '0:0', shown), null, 'over the end of the list as well');
});

test('a point added after another lies half way to the next one shown', () => {
  const all = [[0, 1, 2, 3, 4, 5, 6, 7]];
  assert.deepEqual(tools.afterPoint(drawn, '0:1', all), { ring: 0, edge: 1, share: 0.5, off: 0, at: [75, 0] });
  assert.deepEqual(tools.afterPoint(drawn, '0:7', all).at, [0, 25]);
  assert.deepEqual(tools.afterPoint({ rings: [[[0, 0], [10, 0], [100, 0], [50, 90]]], open: [] }, '0:0', [[0, 2, 3]]).at, [50, 0]);
});
