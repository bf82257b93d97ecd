// The sums of the board: what a thumb does to a picture, without a thumb or a picture.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import * as g from '../../app/board/geometry.js';

const glass = { width: 390, height: 600 };
const picture = { width: 2048, height: 1536 };
const close = (a, b, what, by = 1e-9) => assert.ok(Math.hypot(a[0] - b[0], a[1] - b[1]) <= by, `${what}: ${a} is not ${b}`);

/** Numbers that look like chance and are the same every time (a linear congruence; Knuth, TAOCP 2, 3.3.4; from memory). */
function* chance(seed = 7) {
  for (let x = BigInt(seed); ;) {
    x = (x * 6364136223846793005n + 1442695040888963407n) & ((1n << 64n) - 1n);
    yield Number(x >> 11n) / 2 ** 53;
  }
}

test('a place goes to the glass and comes back', () => {
  const next = chance();
  for (let i = 0; i < 500; i++) {
    const view = { scale: .05 + 30 * next.next().value, x: -4000 * next.next().value, y: 800 * next.next().value };
    const at = [2048 * next.next().value, 1536 * next.next().value];
    close(g.toPicture(view, g.toGlass(view, at)), at, 'there and back');
  }
  close(g.toGlass({ scale: 2, x: 10, y: 20 }, [3, 4]), [16, 28], 'by hand: 2 * 3 + 10, 2 * 4 + 20');
});

test('the whole picture lies in the middle of the glass and touches two of its sides', () => {
  const view = g.fitted(glass, picture);
  close(g.toGlass(view, [0, 0]), [0, (600 - 1536 * 390 / 2048) / 2], 'upper left corner');
  close(g.toGlass(view, [2048, 1536]), [390, (600 + 1536 * 390 / 2048) / 2], 'lower right corner');
  const tall = g.fitted(glass, { width: 100, height: 4000 });
  close(g.toGlass(tall, [50, 4000]), [195, 600], 'a tall one touches above and below');
});

test('zooming leaves what is under the finger there, and ends at the whole picture and at squares of 32 px', () => {
  let view = g.zoomed(g.fitted(glass, picture), [195, 300], 6, glass, picture);
  const at = [200, 310];
  const held = g.toPicture(view, at);
  for (const factor of [1.5, 1.2, .8, 2]) {
    view = g.zoomed(view, at, factor, glass, picture);
    close(g.toGlass(view, held), at, `after a factor of ${factor}`, 1e-6);
  }
  assert.equal(g.zoomed(view, at, 1e6, glass, picture).scale, 32);
  const least = g.zoomed(view, at, 1e-6, glass, picture);
  assert.deepEqual(least, g.fitted(glass, picture));
});

test('a picture slides no further than a margin inside the glass, and not at all when all of it is seen', () => {
  const whole = g.fitted(glass, picture);
  assert.deepEqual(g.held(g.slid(whole, 300, -200), glass, picture), whole);
  const near = g.zoomed(whole, [195, 300], 8, glass, picture);
  const right = g.held(g.slid(near, 1e5, 1e5), glass, picture);
  assert.ok(right.x > 0 && right.x < 195, `its left edge comes in as far as ${right.x}`);
  const left = g.held(g.slid(near, -1e5, -1e5), glass, picture);
  const [x, y] = g.toGlass(left, [2048, 1536]);
  assert.ok(x < 390 && x > 195 && y < 600 && y > 300, `its lower right corner comes in as far as ${x}, ${y}`);
});

test('two fingers keep what they lie on: each stays on its place of the picture when they only stretch and slide', () => {
  const view = { scale: .5, x: -30, y: 40 };
  const from = [[100, 200], [220, 360]];
  const under = from.map((at) => g.toPicture(view, at));
  // The same two fingers, twice as far apart and 25 px further right.
  const to = [[65, 120], [305, 440]];
  const next = g.pinched(view, from, to);
  assert.equal(next.scale, 1);
  close(g.toGlass(next, under[0]), to[0], 'first finger');
  close(g.toGlass(next, under[1]), to[1], 'second finger');
  assert.deepEqual(g.pinched(view, from, from), view);
  assert.ok(Number.isFinite(g.pinched(view, [[5, 5], [5, 5]], [[9, 9], [30, 9]]).scale), 'two fingers on one place do not divide by nothing');
});

test('a zoom that is seen goes about one place all the way', () => {
  const a = g.fitted(glass, picture);
  const b = g.zoomed(a, [195, 300], 4, glass, picture);
  const held = g.toPicture(a, [195, 300]);
  assert.deepEqual(g.between(a, b, 0), a);
  for (const share of [.1, .35, .8]) close(g.toGlass(g.between(a, b, share), held), [195, 300], `at ${share}`, 1e-6);
  close(g.toGlass(g.between(a, b, 1), held), [195, 300], 'at the end', 1e-6);
  close([g.between({ scale: 1, x: 0, y: 0 }, { scale: 1, x: 10, y: 20 }, .5).x, 0], [5, 0], 'a slide with no zoom');
});

test('a glass that grows keeps its middle, and one place is slid into sight no further than needed', () => {
  const view = g.zoomed(g.fitted(glass, picture), [195, 300], 8, glass, picture);
  const middle = g.toPicture(view, [195, 300]);
  const wide = { width: 800, height: 500 };
  close(g.toGlass(g.regrown(view, glass, wide, picture), middle), [400, 250], 'the middle', 1e-6);
  const there = g.toPicture(view, [500, 300]);
  close(g.toGlass(g.showing(view, there, glass, 40), there), [350, 300], 'slid to 40 px from the edge', 1e-6);
  assert.deepEqual(g.showing(view, middle, glass, 40), view);
});

test('the nearest handle within reach is meant, and none beyond it', () => {
  const view = { scale: .5, x: 0, y: 0 };
  const handles = [{ id: 'a', at: [100, 100] }, { id: 'b', at: [140, 100] }];
  assert.equal(g.nearest(handles, view, [57, 50], 28)?.id, 'a');
  assert.equal(g.nearest(handles, view, [63, 50], 28)?.id, 'b');
  assert.equal(g.nearest(handles, view, [150, 50], 28), null);
});

test('a thumb never covers what it drags, and held by its grip a handle goes exactly as the thumb does', () => {
  const handle = [200, 300];
  const grip = g.gripOf(handle, glass, 'right');
  assert.ok(g.apart(grip, handle) > 48, 'the grip is a thumb away');
  const finger = [grip[0] + 37, grip[1] - 81];
  close(g.dragged(finger, grip, handle, true), [237, 219], 'by the grip');
  // Touched itself, it comes out above the thumb.
  const out = g.dragged([203, 200], [203, 302], handle, true);
  assert.ok(out[1] <= 200 - 60, `it is at ${out}, the thumb at 203, 200`);
  // A mouse covers nothing.
  close(g.dragged([203, 200], [203, 302], handle, false), [200, 198], 'by mouse');
  for (const at of [[5, 595], [385, 595], [195, 5]]) {
    for (const hand of ['left', 'right']) {
      const [x, y] = g.gripOf(at, glass, hand);
      assert.ok(x >= 0 && x <= 390 && y >= 0 && y <= 600, `the grip of ${at} is on the glass: ${x}, ${y}`);
    }
  }
});

test('the loupe is on the glass, beside the thumb and off what it magnifies, wherever both are', () => {
  for (const hand of ['left', 'right']) {
    let seat = null;
    for (let x = 0; x <= 390; x += 10) {
      for (let y = 0; y <= 600; y += 10) {
        const finger = [x, y];
        for (const at of [[x, y - 62], [x, y]]) {
          const place = g.loupeAt(finger, at, glass, hand, seat);
          seat = place.seat;
          const [cx, cy] = place.at;
          assert.ok(cx >= g.LOUPE && cx <= 390 - g.LOUPE && cy >= g.LOUPE && cy <= 600 - g.LOUPE, `on the glass: ${cx}, ${cy}`);
          assert.ok(g.apart(place.at, finger) >= g.LOUPE + 20, `a thumb at ${finger} lies under the loupe at ${place.at}`);
          assert.ok(g.apart(place.at, at) >= g.LOUPE, `the loupe at ${place.at} covers ${at}`);
        }
      }
    }
  }
});

test('the loupe is on the side where the hand is not, and keeps its side while it can', () => {
  assert.ok(g.loupeAt([200, 300], [200, 238], glass, 'right').at[0] < 200, 'a right hand comes from the right');
  assert.ok(g.loupeAt([200, 300], [200, 238], glass, 'left').at[0] > 200, 'a left hand from the left');
  assert.ok(g.loupeAt([20, 300], [20, 238], glass, 'right').at[0] > 20 + g.LOUPE, 'at the edge it goes to the other side');
  const other = g.loupeAt([20, 300], [20, 238], glass, 'right').seat;
  assert.equal(g.loupeAt([120, 300], [120, 238], glass, 'right', other).seat, other, 'and does not jump back at once');
});

test('near an edge the picture is pulled away from it, elsewhere not', () => {
  assert.deepEqual(g.pulled([200, 300], glass), [0, 0]);
  assert.ok(g.pulled([5, 300], glass)[0] > 0 && g.pulled([388, 300], glass)[0] < 0 && g.pulled([200, 598], glass)[1] < 0);
});

test('how sure a pin is: to the pixel when it is seen large, to the thumb when it is seen small', () => {
  assert.ok(Math.abs(g.pinU(10) - .2887) < 1e-4, 'half-width 0.5 over the root of 3 (GUM 4.3.7)');
  assert.equal(g.pinU(.2), 7.5);
  assert.ok(Math.abs(g.pinU(1.5 / (1 / Math.sqrt(12))) - 1 / Math.sqrt(12)) < 1e-12);
});
