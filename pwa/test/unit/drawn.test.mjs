// What is said to be drawn to scale is: the checks closing in, and the three slips of a sight rule.
import './libs.mjs';
import assert from 'node:assert/strict';
import test from 'node:test';

const { closing, reach } = await import('../../app/draw/closing.js');
const { armSlip, depthSlip, holdPicture, tiltSlip } = await import('../../app/draw/hold.js');

/** A template as text. */
const text = (part) => (Array.isArray(part) ? part.map(text).join('') : part?.strings ? part.strings.map((piece, at) => piece + (at < part.values.length ? text(part.values[at]) : '')).join('') : typeof part === 'symbol' ? '' : String(part ?? ''));
const numbers = (string) => string.match(/-?\d+(\.\d+)?/g).map(Number);
/** The needles and parts: the thick strokes, as the points they run through. */
const rods = (picture) => [...text(picture).matchAll(/<path d="?([^"\s][^"]*?)"? stroke="?[^ "]+"? stroke-width="5"/g)].map((found) => numbers(found[1]));
const near = (a, b, within = 1e-6) => assert.ok(Math.abs(a - b) <= within, `${a} is not ${b}`);

test('each check stands as far from the middle as it is off', () => {
  const points = [{ number: 1, off: -0.3, off_u: 0.05, verdict: 'add' }, { number: 2, off: -0.15, off_u: 0.02, verdict: 'add' }, { number: 3, off: 0.075, off_u: 0, verdict: 'take-in' }];
  const drawn = text(closing(points, 0.5, 0.04, ''));
  const x = [...drawn.matchAll(/<circle cx="?([\d.]+)/g)].map((found) => Number(found[1]));
  const middle = Number(/M([\d.]+) 0V/.exec(drawn)[1]);
  assert.equal(x.length, 3);
  near((x[0] - middle) / (x[1] - middle), 2);
  near((x[2] - middle) / (x[1] - middle), -0.5);
  const [left, , right] = numbers(/<path d="?(M[^"]*?)"? stroke="?var\(--woad\)/.exec(drawn)[1]);
  near((right - left) / (x[0] - middle), 4 * 0.05 / -0.3);
  const band = Number(/<rect [^>]*width="?([\d.]+)/.exec(drawn)[1]);
  near(band / 2 / (middle - x[1]), 0.04 / 0.15);
});

test('the edge of the scale leaves room for the farthest check and for the tolerance', () => {
  for (const [most, tolerance] of [[0, 0.04], [0.03, 0.1], [0.34, 0.04], [0.97, 0.02], [7, 0.04]]) {
    assert.ok(reach(most, tolerance) >= most && reach(most, tolerance) >= 2 * tolerance, `${most} ${tolerance}`);
  }
});

// The figures are those of plane geometry (intercept theorem, cosine): 2 cm in 60 cm is 3.3 %, 20 degrees 6.0 %, 5 cm in 60 cm 9.1 %.
test('a bent arm is drawn to scale', () => {
  const [[, top, bottom]] = rods(armSlip(600, 20, ''));
  near((bottom - top) / 60, 1 - 20 / 600);
});

test('a leaning needle keeps its length and stands lower by the cosine', () => {
  const [[x1, y1, x2, y2]] = rods(tiltSlip(Math.PI / 9, ''));
  near(Math.hypot(x2 - x1, y2 - y1), 60);
  near((y1 - y2) / 60, 1 - 0.0603, 1e-4);
});

test('a nearer part hides more than its own length behind it', () => {
  const all = rods(depthSlip(600, 50, ''));
  const part = all.at(-1);
  const behind = all.find((one) => one.length === 6);
  near((behind[5] - behind[2]) / (part[2] - part[1]), 1 + 0.0909, 1e-4);
});

test('the hand is mirrored for the left, its numbers are not', () => {
  const [right, left] = [text(holdPicture(false, 'a')), text(holdPicture(true, 'a'))];
  assert.ok(left.includes('scale(-1 1)') && !right.includes('scale(-1 1)'));
  const at = (drawn) => [...drawn.matchAll(/<text x="?(\d+)/g)].map((found) => Number(found[1]));
  assert.deepEqual(at(left), at(right).map((x) => 340 - x));
});
