// What the keypad lets be typed, and what the marks on the glass do under a thumb.
import test from 'node:test';
import assert from 'node:assert/strict';
import { denominatorOf, keyFor, press, settled, unfinished } from '../../app/typed.js';
import { begin, drags, fit, gapOf, moveTo, nearest, nudge } from '../../app/span.js';

/** Types keys as a keyboard has them. @param {string[]} keys */
const typed = (...keys) => keys.reduce((text, key) => press(text, /** @type {any} */ (keyFor(key) ?? key)), '');

test('a mixed fraction, by the keys of the pad and by those of a keyboard', () => {
  assert.equal(typed('1', ' ', '3', 'over 16'), '1 3/16');
  assert.equal(typed('1', ' ', '3', '/', '1', '6'), '1 3/16');
  assert.equal(typed('2', '0', 'over 16'), '20/16');
  assert.equal(typed('3', 'over 8', 'over 16'), '3/16', 'another lower number takes the place of the first');
});

test('keys that do not fit leave the text as it is', () => {
  assert.equal(press('', 'and'), '');
  assert.equal(press('', 'over 4'), '');
  assert.equal(press('', 'slash'), '');
  assert.equal(press('3.5', 'decimal'), '3.5');
  assert.equal(press('3.5', 'and'), '3.5');
  assert.equal(press('3.5', 'over 4'), '3.5');
  assert.equal(press('1 3/16', 'and'), '1 3/16');
  assert.equal(press('1 ', 'and'), '1 ');
  assert.equal(press('123456', 'digit 7'), '123456');
  assert.equal(keyFor('x'), null);
});

test('nothing typed begins with a row of noughts', () => {
  assert.equal(typed('0', '0', '5'), '5');
  assert.equal(typed('.', '5'), '0.5');
  assert.equal(typed('1', ' ', '0', '3', '/', '4'), '1 3/4');
});

test('rubbing out takes the lower number of a fraction at once, else one sign', () => {
  assert.equal(press('1 3/16', 'back'), '1 3');
  assert.equal(press('1 3', 'back'), '1 ');
  assert.equal(press('1 ', 'back'), '1');
  assert.equal(press('', 'back'), '');
  assert.equal(press('1 3/16', 'clear'), '');
});

test('what is unfinished is known, and what is settled', () => {
  for (const text of ['1 ', '1 3', '1 3/']) assert.ok(unfinished(text), text);
  for (const text of ['1', '3.', '3/4', '1 3/4', '']) assert.ok(!unfinished(text), text);
  assert.equal(settled('3.'), '3');
  assert.equal(denominatorOf('1 3/16'), 16);
  assert.equal(denominatorOf('3.5'), 0);
});

test('marks keep their order and stay on the rail, whatever is asked of them', () => {
  const span = begin(600);
  assert.ok(span.upper >= 0 && span.lower <= 600 && gapOf(span) > 0);
  assert.equal(moveTo(span, 'lower', -50).lower, span.upper + 4);
  assert.equal(moveTo(span, 'upper', 9999).upper, span.lower - 4);
  assert.equal(moveTo(span, 'lower', 9999).lower, 600);
  assert.equal(moveTo(span, 'upper', -9).upper, 0);
  assert.equal(moveTo(span, 'lower', span.lower), span, 'no move, no new span');
  assert.equal(gapOf(nudge(span, 'lower', 1)), gapOf(span) + 1);
  assert.equal(gapOf(nudge(span, 'upper', 1)), gapOf(span) - 1);
  const small = fit({ upper: 300, lower: 580, height: 200 });
  assert.ok(small.upper < small.lower && small.lower <= 200);
  assert.equal(nearest(span, span.upper + 1), 'upper');
});

test('a mark goes as far as the finger, not to it; on the rail a tap brings the nearer one', () => {
  let span = begin(600);
  const zone = { setPointerCapture() {}, getBoundingClientRect: () => ({ top: 100 }) };
  const at = (/** @type {number} */ clientY, pointerId = 1) => /** @type {any} */ ({ clientY, pointerId, button: 0, currentTarget: zone });
  let ends = 0;
  const does = { now: () => span, take: (/** @type {any} */ next) => { span = next; }, end: () => { ends += 1; } };
  const before = span.lower;
  const lower = drags({ ...does, mark: 'lower' });
  lower.down(at(500)); lower.move(at(503)); assert.equal(span.lower, before, 'a finger that trembles moves nothing');
  lower.down(at(300, 2)); lower.move(at(900, 2)); assert.equal(span.lower, before, 'a second finger is ignored');
  lower.move(at(540)); lower.up(at(540));
  assert.equal(span.lower, before + 40);
  assert.equal(ends, 1);
  lower.down(at(400)); lower.up(at(400));
  assert.equal(span.lower, before + 40, 'a tap in the zone moves nothing');
  const rail = drags(does);
  rail.down(at(100 + span.lower + 30)); rail.up(at(100 + span.lower + 30));
  assert.equal(span.lower, before + 70);
});
