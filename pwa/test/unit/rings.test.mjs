// What a finger does to an outline, and that all of it can be undone, also after the browser was killed.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import * as journal from '../../app/journal.js';
import * as rings from '../../app/rings.js';

/** A square of so many px, with a point every `step` px. @param {number} left  @param {number} side  @param {number} [step] @returns {rings.Ring} */
function square(left, side, step = side) {
  const along = Array.from({ length: side / step }, (_, i) => i * step);
  return /** @type {rings.Ring} */ ([
    ...along.map((d) => [left + d, left]), ...along.map((d) => [left + side, left + d]),
    ...along.map((d) => [left + side - d, left + side]), ...along.map((d) => [left, left + side - d]),
  ]);
}
/** The shoelace rule, on its own here: what a ring encloses. @param {rings.Ring} ring */
const area = (ring) => Math.abs(ring.reduce((sum, [x, y], i) => sum + x * ring[(i + 1) % ring.length][1] - ring[(i + 1) % ring.length][0] * y, 0)) / 2;
const drawn = (/** @type {rings.Ring[]} */ ...all) => ({ rings: all, open: [] });

test('the nearest place on an edge, the nearest ring, inside and outside, holes', () => {
  const both = [square(0, 100), square(30, 40)];
  assert.deepEqual(rings.nearestEdge(both, [50, -3]), { ring: 0, edge: 0, share: 0.5, at: [50, 0], off: 3 });
  assert.equal(rings.nearestEdge([], [1, 1]), null);
  assert.deepEqual([[10, 10], [50, 50], [150, 50]].map((at) => rings.inside(both, /** @type {rings.Point} */ (at))), [true, false, false]);
  assert.deepEqual([0, 1].map((ring) => rings.isHole(both, ring)), [false, true]);
  assert.deepEqual([[10, 10], [50, 50], [150, 50]].map((at) => rings.ringAt(both, /** @type {rings.Point} */ (at))), [0, 1, -1]);
});

test('points are added on an edge, moved and taken out', () => {
  const one = drawn(square(0, 100));
  const added = rings.withPoint(one, /** @type {rings.OnEdge} */ (rings.nearestEdge(one.rings, [100, 40])));
  assert.deepEqual(added.rings[0], [[0, 0], [100, 0], [100, 40], [100, 100], [0, 100]]);
  const all = [0, 1, 2, 3, 4];
  assert.deepEqual(rings.movedPoint(added, 0, 2, [120.04, 40], all).rings[0], [[0, 0], [100, 0], [120, 40], [100, 100], [0, 100]]);
  assert.deepEqual(rings.withoutPoint(added, 0, 2, all), one);
  assert.deepEqual(rings.withoutPoint(drawn([[0, 0], [9, 0], [9, 9]]), 0, 1, [0, 1, 2]).rings, [], 'two points are no ring');
  assert.deepEqual(one.rings[0], square(0, 100), 'what was there before is left alone');
});

test('points too close to be shown go along with the one that is moved, the less the farther they are', () => {
  const fine = drawn(square(0, 100, 10));
  const shown = rings.shownPoints(fine.rings[0], 50);
  assert.deepEqual(shown.map((i) => fine.rings[0][i]), [[0, 0], [50, 0], [100, 0], [100, 50], [100, 100], [50, 100], [0, 100], [0, 50]]);
  const moved = rings.movedPoint(fine, 0, 5, [50, -20], shown).rings[0];
  assert.deepEqual(moved.slice(0, 11).map(([, y]) => y), [0, -4, -8, -12, -16, -20, -16, -12, -8, -4, 0]);
  assert.deepEqual(moved.slice(11), fine.rings[0].slice(11));
  const round = rings.movedPoint(fine, 0, 0, [-10, -10], shown).rings[0];
  assert.deepEqual([round[39], round[0], round[1]], [[-8, 2], [-10, -10], [2, -8]], 'over the end of the list as well');
  assert.equal(rings.withoutPoint(fine, 0, 5, shown).rings[0].length, 31, 'and are taken out with it');
});

test('a stroke that begins and ends at the outline replaces the stretch between', () => {
  const ring = square(0, 100, 10);
  const ear = /** @type {rings.Point[]} */ ([[40, 1], [40, -30], [60, -30], [60, -1]]);
  for (const stroke of [ear, ear.toReversed()]) {
    const mended = rings.mended(ring, stroke);
    assert.ok(Math.abs(area(mended) - (100 * 100 + 20 * 30)) < 25, `an ear more: ${area(mended)}`);
    assert.ok(rings.inside([mended], [50, -20]) && rings.inside([mended], [50, 50]));
  }
  const bite = rings.mended(ring, [[100, 30], [70, 30], [70, 60], [100, 60]]);
  assert.equal(area(bite), 100 * 100 - 30 * 30);
  const over = rings.mended(ring, [[0, 20], [-20, 0], [0, -20], [20, 0]]);
  assert.ok(rings.inside([over], [-5, -5]) && rings.inside([over], [50, 50]), 'over the place where the list begins');
  const anew = rings.mended(ring, [[50, 0], [110, -10], [110, 110], [-10, 110], [-10, -10], [48, -2]]);
  assert.ok(area(anew) > 110 * 110, 'drawn nearly all round, the rest goes and not the new line');
});

test('strokes become a line, a longer line, a ring, or mend what they touch', () => {
  const reach = 6;
  const first = rings.laid(rings.nothingDrawn, [[0, 0], [100, 0]], reach);
  assert.deepEqual([first.did, first.drawn.open], ['begun', [[0, 0], [100, 0]]]);
  const second = rings.laid(first.drawn, [[101, 2], [100, 100]], reach);
  assert.deepEqual([second.did, second.drawn.open.length], ['longer', 4]);
  const other = rings.laid(first.drawn, [[2, 3], [0, 100]], reach);
  assert.deepEqual(other.drawn.open, [[100, 0], [0, 0], [2, 3], [0, 100]], 'from whichever end is nearer');
  const third = rings.laid(second.drawn, [[98, 101], [0, 100], [0, 3]], reach);
  assert.deepEqual([third.did, third.ring, third.drawn.open.length, third.drawn.rings.length], ['closed', 0, 0, 1]);
  const hole = rings.laid(third.drawn, [[40, 40], [60, 40], [60, 60], [40, 60], [40, 42]], reach);
  assert.deepEqual([hole.did, rings.isHole(hole.drawn.rings, 1)], ['closed', true]);
  const nearEdge = rings.laid(third.drawn, [[40, 5], [60, 5], [60, 30], [40, 30], [40, 6]], reach);
  assert.equal(nearEdge.did, 'closed', 'a loop close to the outline is a hole of its own');
  const mended = rings.laid(hole.drawn, [[60, 45], [80, 45], [80, 55], [60, 55]], reach);
  assert.deepEqual([mended.did, mended.ring, mended.drawn.rings.length], ['mended', 1, 2]);
  const half = rings.laid(third.drawn, [[50, 0], [50, -30]], reach);
  const both = rings.laid(half.drawn, [[50, -30], [80, -30], [80, -1]], reach);
  assert.deepEqual([half.did, both.did, both.drawn.open.length], ['begun', 'mended', 0], 'a mend in two strokes');
  assert.deepEqual(rings.closed({ rings: [], open: [[0, 0], [1, 1]] }).rings, [], 'two points are no ring');
});

test('a ring begun beside the edge closes on the edge, without the way there and back', () => {
  const edge = square(0, 100, 5);
  const begun = /** @type {rings.Ring} */ ([[50, -30], [50, -15], [50.5, -1], ...edge.slice(11), ...edge.slice(0, 10), [50, -1.2], [50.4, -20], [50, -30]]);
  const left = rings.withoutSpur(begun, 48, 2);
  assert.ok(left.every(([, y]) => y > -1.5), JSON.stringify(left.filter(([, y]) => y < -1.5)));
  assert.ok(Math.abs(area(left) - 100 * 100) < 30, String(area(left)));
  assert.deepEqual(rings.withoutSpur(edge, 48, 2), edge, 'one without it stays');
});

test('a stroke loses the points that crowd, and keeps its ends', () => {
  const stroke = Array.from({ length: 101 }, (_, i) => /** @type {rings.Point} */ ([i * 0.5, 0]));
  const thin = rings.thinned(stroke, 4);
  assert.deepEqual([thin[0], thin.at(-1)], [[0, 0], [50, 0]]);
  assert.ok(thin.length < 15);
  assert.deepEqual(rings.thinned([[1, 1]], 4), [[1, 1]]);
});

/** Numbers that look thrown but are the same every time (mulberry32, from memory). @param {number} seed */
function thrown(seed) {
  let a = seed;
  return () => { a = (a + 0x6D2B79F5) | 0; let t = Math.imul(a ^ (a >>> 15), 1 | a); t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t; return ((t ^ (t >>> 14)) >>> 0) / 2 ** 32; };
}

/** Something a hand might do. @param {rings.Drawn} now  @param {() => number} dice @returns {rings.Drawn} */
function anything(now, dice) {
  const at = () => /** @type {rings.Point} */ ([Math.round(dice() * 2000), Math.round(dice() * 2000)]);
  const ring = Math.floor(dice() * now.rings.length);
  const line = now.rings[ring];
  switch (line ? Math.floor(dice() * 6) : 0) {
    case 0: return rings.laid(now, Array.from({ length: 2 + Math.floor(dice() * 30) }, at), 30).drawn;
    case 1: return rings.movedPoint(now, ring, 0, at(), rings.shownPoints(line, 300));
    case 2: return rings.withoutPoint(now, ring, 0, rings.shownPoints(line, 10));
    case 3: return rings.withPoint(now, /** @type {rings.OnEdge} */ (rings.nearestEdge(now.rings, at())));
    case 4: return rings.closed(now);
    default: return rings.laid(now, [line[0], at(), line[line.length >> 1]], 30).drawn;
  }
}

test('every step is undone and done again, after 400 of them, and after the journal was read from its drafts', () => {
  const dice = thrown(4);
  let book = journal.begin();
  const states = [book.now];
  while (states.length < 400) {
    const next = journal.done(book, anything(book.now, dice));
    if (next === book) continue;
    book = next;
    states.push(book.now);
  }
  const pieces = journal.toPieces(book);
  assert.ok(pieces.length > 1 && pieces.every((piece) => JSON.stringify(piece).length < 16384), 'each fits into a draft');
  for (let read of [book, journal.fromPieces(pieces, book)]) {
    assert.deepEqual(read.now, states[399]);
    for (let at = 398; at >= 0; at--) { read = journal.undo(read); assert.deepEqual(read.now, states[at]); }
    assert.equal(journal.undo(read), read);
    for (let at = 1; at < 400; at++) { read = journal.redo(read); assert.deepEqual(read.now, states[at]); }
    assert.equal(journal.redo(read), read);
  }
});

test('what is done after an undo takes the place of what was undone; nothing goes below what was kept', () => {
  const kept = { rings: [square(0, 100)], open: [] };
  let book = journal.begin(kept);
  assert.equal(journal.canUndo(book), false);
  book = journal.undo(journal.done(book, rings.withoutRing(book.now, 0)));
  book = journal.done(book, rings.withPoint(book.now, { ring: 0, edge: 0, share: 0.5, at: [50, 0], off: 0 }));
  assert.equal(journal.canRedo(book), false);
  assert.equal(book.now.rings[0].length, 5);
  const read = journal.fromPieces(journal.toPieces(book), book);
  assert.deepEqual(journal.undo(journal.undo(journal.undo(read))).now, kept);
});

test('a piece of the journal that was not written any more takes only the last steps with it', () => {
  let book = journal.begin();
  for (let i = 0; i < 900; i++) book = journal.done(book, { rings: [...book.now.rings.slice(-1).map((ring) => ring.slice(0, 3)), square(i, 10)], open: [] });
  const pieces = journal.toPieces(book);
  const read = journal.fromPieces(pieces.slice(0, -1), book);
  assert.ok(pieces.length > 2 && read.at < 900 && read.at > 300, `${read.at} steps are left`);
  assert.deepEqual(journal.undo(read).now, journal.fromPieces(pieces, { at: read.at - 1, floor: 0 }).now);
  assert.deepEqual(journal.fromPieces([], { at: 5, floor: 1 }).now, rings.nothingDrawn);
});
