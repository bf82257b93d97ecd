// Looking at pictures: what goes to the worker that does it, when it is started, ended and started again.
import assert from 'node:assert/strict';
import { createHash } from 'node:crypto';
import { test } from 'node:test';
import { deflateSync } from 'node:zlib';
import { freshStore, methods, refused } from './bench.mjs';
import { realPictures } from './pictures-engine.mjs';

const { usePhotoEngine } = await import('../../app/bench/photo-engine.js');
const { cut } = await import('../../app/bench/pixels.js');
const pictures = await import('../../app/bench/pictures-store.js');

/** A worker that notes what it is asked, and does as it is told: each start takes the next of `lives`. */
function workers(...lives) {
  const seen = { started: 0, ended: 0, asked: [] };
  usePhotoEngine((tell) => {
    const life = lives[Math.min(seen.started, lives.length - 1)];
    seen.started += 1;
    queueMicrotask(() => tell({ event: 'ready' }));
    return {
      ask: (n, question) => {
        seen.asked.push(question);
        const answer = life(question);
        if (answer === 'dies') queueMicrotask(() => tell({ event: 'ended', text: 'exit' }));
        else if (answer !== null) queueMicrotask(() => tell({ n, response: JSON.stringify(answer), bytes: null }));
      },
      end: () => { seen.ended += 1; },
    };
  }, { load: 500, answer: 60 });
  return seen;
}
const works = () => ({ fine: true });
const hangs = () => null;
const dies = () => 'dies';

const hashOf = (data) => createHash('sha256').update(data).digest('hex');
async function kept(fill) {
  const data = new Uint8Array(100).fill(fill);
  await pictures.put(hashOf(data), data, 'image/jpeg', false);
  return hashOf(data);
}
const pixels = (width, height) => ({ width, height, rgba: new Uint8Array(4 * width * height).map((_, i) => i) });
const one = (hash, more = {}) => methods.look({ method: 'find-rectangle', request: { image: 'a' }, pictures: { a: { hash, pixels: pixels(4, 3), ...more } } });

test('the pixels of a picture go over once; those of the two looked at last are held', async () => {
  await freshStore();
  const seen = workers(works);
  const [a, b, c] = [await kept(1), await kept(2), await kept(3)];
  assert.deepEqual(await one(a), { fine: true });
  await one(`sha256:${a}`, { crop: [1, 1, 2, 2] });
  await one(b);
  await one(a);
  await one(c);
  await one(b);
  assert.equal(seen.started, 1);
  assert.deepEqual(seen.asked.map(({ fresh }) => Object.keys(fresh)), [[a], [], [b], [], [c], [b]]);
  assert.deepEqual(seen.asked.map(({ keep }) => keep), [[a], [a], [a, b], [b, a], [a, c], [c, b]]);
  assert.deepEqual(seen.asked[1].pictures, { a: { held: a, crop: [1, 1, 2, 2] } });
  assert.equal(seen.asked[0].request, '{"image":"a"}');
});

test('the worker gets the file where it can make pixels itself, or where the file is what is wanted', async () => {
  await freshStore();
  const seen = workers(works);
  const a = await kept(1);
  assert.equal((await refused(() => one(a, { pixels: undefined }))).code, 'picture-no-canvas');
  assert.equal((await refused(() => one(a, { pixels: undefined }))).params.hash, a);
  Object.assign(globalThis, { OffscreenCanvas: class {}, createImageBitmap: () => {} });
  try { await one(a, { pixels: undefined }); } finally { delete globalThis.OffscreenCanvas; delete globalThis.createImageBitmap; }
  assert.deepEqual(seen.asked[0].fresh[a], { file: new Uint8Array(100).fill(1), type: 'image/jpeg' });
  await methods.look({ method: 'sheet', request: {}, pictures: { a: { hash: a }, b: { file: new Blob([new Uint8Array([7, 7])], { type: 'image/png' }) }, c: { file: new Uint8Array([8]).buffer } } });
  const { pictures: given, fresh } = seen.asked[1];
  assert.deepEqual(fresh, {});
  assert.deepEqual(given, { a: { file: new Uint8Array(100).fill(1), type: 'image/jpeg' }, b: { file: new Uint8Array([7, 7]), type: 'image/png' }, c: { file: new Uint8Array([8]), type: 'image/jpeg' } });
  assert.equal((await refused(() => methods.look({ method: 'sheet', request: {}, pictures: { a: { hash: hashOf('none') } } }))).code, 'picture-not-here');
});

test('one that dies or hangs is started again, and gets the picture again; twice is enough', async () => {
  await freshStore();
  const a = await kept(1);
  for (const life of [dies, hangs]) {
    const seen = workers(life, works);
    assert.deepEqual(await one(a), { fine: true });
    assert.equal(seen.started, 2);
    assert.deepEqual(seen.asked.map(({ fresh }) => fresh[a].rgba.length), [48, 48]);
    const both = workers(life);
    assert.equal((await refused(() => one(a))).code, 'engine-stopped');
    assert.deepEqual([both.started, both.asked.length], [2, 2]);
  }
});

test('it can be stopped in the middle, and starts again when it is next asked', async () => {
  await freshStore();
  const a = await kept(1);
  const seen = workers(hangs, works);
  const asking = refused(() => one(a));
  while (!seen.asked.length) await new Promise((done) => { setTimeout(done, 1); });
  await methods.lookStop();
  assert.equal((await asking).code, 'stopped');
  assert.deepEqual([seen.started, seen.ended], [1, 1]);
  assert.deepEqual(await one(a), { fine: true });
  assert.equal(seen.started, 2);
  await methods.lookStop();
  await methods.lookStop();
});

test('what it refuses keeps its code, sentence and place', async () => {
  workers(() => ({ error: { code: 'picture-not-read', text: 'No picture.', at: 'a' } }));
  const { code, text, at } = await refused(() => methods.look({ method: 'sheet', request: {}, pictures: {} }));
  assert.deepEqual({ code, text, at }, { code: 'picture-not-read', text: 'No picture.', at: 'a' });
});

test('a piece of a picture is cut out by rows, and what lies beside the picture is left out', () => {
  const whole = pixels(5, 4);
  const first = (x, y) => 4 * (5 * y + x);
  const piece = cut(whole, [1, 2, 3, 2]);
  assert.deepEqual([piece.width, piece.height], [3, 2]);
  assert.deepEqual([0, 12].map((i) => piece.rgba[i]), [first(1, 2), first(1, 3)]);
  assert.deepEqual(cut(whole, [-3, -2, 100, 100]), whole);
  const corner = cut(whole, [3.6, 2.5, 9, 9]);
  assert.deepEqual([corner.width, corner.height, corner.rgba[0]], [1, 1, first(4, 3)]);
  for (const crop of [[5, 0, 3, 3], [0, 0, 0, 3], [-9, 0, 3, 3], [NaN, 0, 1, 1]]) assert.throws(() => cut(whole, crop), { code: 'point-outside' });
});

/** A black PNG, by RFC 2083. */
function png(width, height) {
  const table = Array.from({ length: 256 }, (_, n) => { let c = n; for (let k = 0; k < 8; k++) c = c & 1 ? 0xedb88320 ^ (c >>> 1) : c >>> 1; return c >>> 0; });
  const crc = (bytes) => { let c = 0xffffffff; for (const byte of bytes) c = table[(c ^ byte) & 255] ^ (c >>> 8); return (c ^ 0xffffffff) >>> 0; };
  const chunk = (type, data) => { const body = Buffer.concat([Buffer.from(type), data]); const out = Buffer.alloc(body.length + 8); out.writeUInt32BE(data.length); body.copy(out, 4); out.writeUInt32BE(crc(body), body.length + 4); return out; };
  const head = Buffer.alloc(13);
  head.writeUInt32BE(width); head.writeUInt32BE(height, 4); head.set([8, 2, 0, 0, 0], 8);
  return new Uint8Array(Buffer.concat([Buffer.from([137, 80, 78, 71, 13, 10, 26, 10]), chunk('IHDR', head), chunk('IDAT', deflateSync(Buffer.alloc(height * (1 + 3 * width)))), chunk('IEND', Buffer.alloc(0))]));
}

test('the real one answers, with a file beside its answer', async () => {
  await freshStore();
  usePhotoEngine(realPictures(), { load: 60_000, answer: 60_000 });
  const ring = [[0, 0], [50, 0.1], [100, 0], [100, 100], [0, 100]];
  const { rings } = await methods.look({ method: 'simplify-outline', request: { rings: [ring], tolerance: 1, max_points: 600 } });
  assert.equal(rings[0].length, 4);
  const file = png(60, 40);
  await pictures.put(hashOf(file), file, 'image/png', false);
  const sheet = { paper: 'A4', title: 'Otter', views: [{ name: 'Side', what: 'photo', image: 'side', photo: { left_mm: 0, top_mm: 0, width_mm: 60, height_mm: 40 } }] };
  const { bytes, pages } = await methods.look({ method: 'sheet', request: sheet, pictures: { side: { hash: hashOf(file) } } });
  assert.equal(Buffer.from(bytes.subarray(0, 5)).toString(), '%PDF-');
  assert.ok(pages >= 1);
  const missing = await refused(() => methods.look({ method: 'sheet', request: sheet, pictures: {} }));
  assert.equal(missing.code, 'picture-missing');
  assert.equal((await refused(() => methods.look({ method: 'no-such', request: {}, pictures: {} }))).code, 'unknown-method');
});
