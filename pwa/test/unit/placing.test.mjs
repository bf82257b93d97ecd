// A photo under the hand: it lies where fingers and pins put it.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import * as p from '../../app/placing.js';

/** @param {readonly number[]} a  @param {readonly number[]} b */
const near = (a, b) => a.forEach((x, i) => assert.ok(Math.abs(x - b[i]) < 1e-9, `${a} is not ${b}`));
const somewhere = { scale: 1.7, turn: 0.4, x: 12, y: -5 };

test('what is laid down is lifted again', () => {
  near(p.laid({ scale: 2, turn: Math.PI / 2, x: 10, y: 0 }, [3, 1]), [8, 6]);
  near(p.lifted(somewhere, p.laid(somewhere, [31, 47])), [31, 47]);
});

test('a turn and a new size leave the place they are about where it is', () => {
  const next = p.turned(somewhere, [40, 50], 0.3, 1.2);
  near(p.laid(next, p.lifted(somewhere, [40, 50])), [40, 50]);
  near([next.scale, next.turn], [1.7 * 1.2, 0.7]);
});

test('two fingers keep under them what was under them, but where the size is known only the middle and the turn', () => {
  const from = /** @type {[p.Point, p.Point]} */ ([[0, 0], [100, 0]]);
  const to = /** @type {[p.Point, p.Point]} */ ([[20, 10], [20, 210]]);
  const free = p.byFingers(somewhere, from, to, false);
  from.forEach((at, i) => near(p.laid(free, p.lifted(somewhere, at)), to[i]));
  const sized = p.byFingers(somewhere, from, to, true);
  near(p.laid(sized, p.lifted(somewhere, [50, 0])), [20, 110]);
  near([sized.scale, sized.turn], [1.7, 0.4 + Math.PI / 2]);
});

test('two pins meet two others; where the size is known they share the rest', () => {
  const fixed = /** @type {[p.Point, p.Point]} */ ([[10, 10], [10, 60]]);
  const moving = /** @type {[p.Point, p.Point]} */ ([[0, 0], [100, 0]]);
  const free = /** @type {p.Place} */ (p.byPins(fixed, moving, false));
  moving.forEach((at, i) => near(p.laid(free, at), fixed[i]));
  const sized = /** @type {p.Place} */ (p.byPins(fixed, moving, true));
  near(p.laid(sized, [50, 0]), [10, 35]);
  near(p.laid(sized, [0, 0]), [10, -15]);
  assert.equal(p.byPins(fixed, [[5, 5], [5, 5]], false), null);
});

test('to begin with, box lies on box; and any place is told to the engine as two pins', () => {
  const [fixed, moving] = [{ left: 100, top: 100, right: 300, bottom: 200 }, { left: 0, top: 0, right: 50, bottom: 50 }];
  near(p.laid(p.onto(fixed, moving, false), [0, 25]), [100, 150]);
  near(p.laid(p.onto(fixed, moving, true), [25, 25]), [200, 150]);
  const pins = p.asPins(somewhere, moving);
  const again = /** @type {p.Place} */ (p.byPins(pins.fixed, pins.moving, false));
  near([again.scale, again.turn, again.x, again.y], [1.7, 0.4, 12, -5]);
});
