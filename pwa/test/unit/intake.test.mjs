// Taking a picture in: what its header says, how it is drawn, and that it is kept whole or not at all.
import assert from 'node:assert/strict';
import { createHash } from 'node:crypto';
import { test } from 'node:test';
import { everything, freshStore, methods, refused, told } from './bench.mjs';

const { headerOf } = await import('../../app/bench/header.js');
const { shrink } = await import('../../app/bench/shrink.js');
const store = await import('../../app/bench/pictures-store.js');

const be = (n, size = 2) => Array.from({ length: size }, (_, i) => (n >>> (8 * (size - 1 - i))) & 255);
const le = (n, size = 2) => be(n, size).reverse();
const ascii = (text) => [...text].map((c) => c.charCodeAt(0));
const segment = (marker, data) => [0xff, marker, ...be(data.length + 2), ...data];

/** EXIF that says how a picture is turned and where it was taken: 52 degrees north (JEITA CP-3451, 4.6). */
function exif(turned, little = false) {
  const n = little ? le : be;
  const entry = (tag, type, count, value) => [...n(tag), ...n(type), ...n(count, 4), ...value];
  const ifd = [...n(2), ...entry(274, 3, 1, [...n(turned), 0, 0]), ...entry(0x8825, 4, 1, n(38, 4)), ...n(0, 4)];
  const gps = [...n(1), ...entry(1, 2, 2, ascii('N\0\0\0')), ...n(0, 4)];
  return [...ascii('Exif\0\0'), ...ascii(little ? 'II' : 'MM'), ...n(42), ...n(8, 4), ...ifd, ...gps, ...ascii('GPS 52 north, Otter Lane')];
}

/** A JPEG as far as its header goes (ITU-T T.81, annex B). */
function jpeg({ width = 4000, height = 3000, turned, little, components = 3, data = [1, 2, 0xff, 0, 0xff, 0xd0, 9], after = [0xff, 0xd9], before = [], sof = 0xc0 } = {}) {
  return new Uint8Array([0xff, 0xd8, ...segment(0xe0, ascii('JFIF\0.......')), ...(turned === undefined ? [] : segment(0xe1, exif(turned, little))), ...segment(0xe1, ascii('http://ns.adobe.com/xap/1.0/ Otter Lane')), ...segment(0xe2, ascii('ICC_PROFILE')),
    ...segment(0xed, ascii('Photoshop Otter Lane')), ...segment(0xfe, ascii('by Otter Lane')), ...before, ...segment(sof, [8, ...be(height), ...be(width), components, ...Array(3 * components).fill(1)]), ...segment(0xda, [components, ...Array(2 * components).fill(0), 0, 63, 0]), ...data, ...after]);
}
const chunk = (type, data) => [...be(data.length, 4), ...ascii(type), ...data, 0, 0, 0, 0];
const png = (width, height, more = [], end = chunk('IEND', [])) => new Uint8Array([137, 80, 78, 71, 13, 10, 26, 10, ...chunk('IHDR', [...be(width, 4), ...be(height, 4), 8, 2, 0, 0, 0]), ...more, ...chunk('IDAT', Array(500).fill(7)), ...end]);
const webp = (...parts) => { const body = [...ascii('WEBP'), ...parts.flatMap(([kind, data]) => [...ascii(kind), ...le(data.length, 4), ...data])]; return new Uint8Array([...ascii('RIFF'), ...le(body.length, 4), ...body]); };
const blob = (bytes) => new Blob([bytes]);
const header = async (bytes) => { const { plain, ...rest } = await headerOf(blob(bytes)); return rest; };

test('the header of each kind says its size, and how it is turned', async () => {
  assert.deepEqual(await header(jpeg()), { type: 'image/jpeg', width: 4000, height: 3000, turned: 1, moving: false, cmyk: false });
  for (let turned = 1; turned <= 8; turned++) for (const little of [false, true]) assert.equal((await header(jpeg({ turned, little }))).turned, turned);
  assert.equal((await header(jpeg({ turned: 9 }))).turned, 1);
  assert.equal((await header(jpeg({ sof: 0xc2 }))).width, 4000, 'a progressive one');
  assert.equal((await header(jpeg({ components: 4 }))).cmyk, true);
  assert.equal((await header(jpeg({ before: segment(0xc4, [0, ...Array(16).fill(0)]) }))).height, 3000, 'a table is no size');
  assert.deepEqual(await header(png(30000, 20)), { type: 'image/png', width: 30000, height: 20, turned: 1, moving: false, cmyk: false });
  assert.equal((await header(png(3, 2, chunk('acTL', [...be(5, 4), ...be(0, 4)])))).moving, true);
  assert.equal((await header(png(3, 2, chunk('acTL', [...be(1, 4), ...be(0, 4)])))).moving, false);
  const frame = [0, 0, 0, 0x9d, 1, 0x2a, ...le(640), ...le(480), 0, 0, 0, 0];
  assert.deepEqual(await header(webp(['VP8 ', frame])), { type: 'image/webp', width: 640, height: 480, turned: 1, moving: false, cmyk: false });
  assert.equal((await header(webp(['VP8L', [0x2f, ...le((640 - 1) | ((480 - 1) << 14), 4), 0, 0]]))).height, 480);
  assert.deepEqual(await header(webp(['VP8X', [2, 0, 0, 0, ...le(1999, 3), ...le(999, 3)]], ['ANIM', [0, 0]])), { type: 'image/webp', width: 2000, height: 1000, turned: 1, moving: true, cmyk: false });
  assert.equal((await header(new Uint8Array([...ascii('GIF89a'), ...le(20), ...le(10), 0, 0, 0, ...ascii('!..NETSCAPE2.0')]))).moving, true);
  assert.equal((await header(new Uint8Array([0, 0, 0, 24, ...ascii('ftypheic'), 0, 0, 0, 0]))).type, 'image/heic');
});

test('what is no picture, or not all of one, is refused with the reason', async () => {
  const cases = [
    ['', 'file-empty'], ['My notes about the otter, called otter.jpg', 'picture-not-read'], ['<svg xmlns="http://www.w3.org/2000/svg"/>', 'picture-not-read'],
    [jpeg({ after: [] }), 'picture-cut-off'], [jpeg({ after: [0xff] }), 'picture-cut-off'], [jpeg().subarray(0, 30), 'picture-cut-off'], [jpeg().subarray(0, 3), 'picture-cut-off'],
    [jpeg({ after: [0xff, 0xc4, 0, 9, 1, 2] }), 'picture-cut-off'], [jpeg({ width: 0 }), 'picture-not-read'],
    [png(4, 3, [], []), 'picture-cut-off'], [webp(['VP8 ', Array(40).fill(0)]).subarray(0, 30), 'picture-cut-off'], [webp(['XXXX', [0, 0]]), 'picture-not-read'],
  ];
  for (const [bytes, code] of cases) assert.equal((await refused(() => headerOf(blob(bytes)))).code, code, String(bytes).slice(0, 40));
  assert.equal((await refused(() => headerOf('otter.jpg'))).code, 'picture-not-read');
  // Several scans, a restart, a stuffed byte at the edge of what is read at once, and what other programs write behind the end.
  const long = [...Array((1 << 18) + 40).fill(3)];
  for (let i = (1 << 18) - 260; i < (1 << 18) + 20; i += 2) { long[i] = 0xff; long[i + 1] = 0; }
  assert.equal((await header(jpeg({ data: long, after: [0xff, 0xc4, 0, 4, 1, 2, 0xff, 0xda, 0, 3, 1, 5, 5, 0xff, 0xff, 0xd9, ...ascii('and a film behind it')] }))).width, 4000);
});

test('nothing of where, when and with what it was taken goes to be drawn', async () => {
  const { plain } = await headerOf(blob(jpeg({ turned: 6 })));
  const left = Buffer.from(await plain.arrayBuffer());
  assert.ok(!/Otter Lane|Exif|GPS/.test(left.toString('latin1')));
  assert.ok(left.includes('ICC_PROFILE') && left.includes('JFIF'), 'what the colours need stays');
  assert.deepEqual((await header(left)), { type: 'image/jpeg', width: 4000, height: 3000, turned: 1, moving: false, cmyk: false });
});

/** A browser that notes what it is asked: it gives what is as large as asked for, or as `natural`. */
function browser(natural) {
  const seen = { opened: [], drawn: [], closed: 0 };
  const open = async (_, width, height) => { seen.opened.push([width, height]); if (!natural) throw new Error('cannot'); return { width: width || natural[0], height: height || natural[1], close: () => { seen.closed += 1; } }; };
  const canvas = (width, height) => {
    const context = { canvas: { width, height }, fillRect() {}, setTransform: (...to) => { seen.turn = to; }, drawImage: (picture, x, y, w, h) => seen.drawn.push({ canvas: [width, height], turn: seen.turn, w, h }) };
    return { context, jpeg: async (quality) => new Blob([`${width}x${height} at ${quality}`], { type: 'image/jpeg' }) };
  };
  return { seen, open, canvas };
}

test('a picture is opened as large as it is, made small and turned in one drawing, and let go of', async () => {
  const { seen, ...how } = browser([4000, 3000]);
  const { full, thumb, type, width, height, notes } = await shrink(blob(jpeg({ turned: 6 })), how);
  assert.deepEqual([type, width, height, notes], ['image/jpeg', 1536, 2048, []]);
  assert.deepEqual(seen.opened, [[0, 0]]);
  assert.deepEqual(seen.drawn, [{ canvas: [1536, 2048], turn: [0, 1, -1, 0, 1536, 0], w: 2048, h: 1536 }, { canvas: [240, 320], turn: [1, 0, 0, 1, 0, 0], w: 240, h: 320 }]);
  assert.ok(seen.closed >= 1);
  assert.deepEqual([full, thumb].map((bytes) => Buffer.from(bytes).toString()), ['1536x2048 at 0.9', '240x320 at 0.8']);
});

test('one of more than sixteen million pixels is made small while it is opened', async () => {
  const { seen, ...how } = browser([6000, 4000]);
  const { width, height } = await shrink(blob(jpeg({ width: 6000, height: 4000 })), how);
  assert.deepEqual([width, height, seen.opened], [2048, 1365, [[2048, 1365]]]);
});

/** Where the corners of a picture come to lie, by how it is turned: which corner of the upright one is its first row's first pixel, which its first row's last (EXIF, tag 274). */
const corners = { 1: ['left top', 'right top'], 2: ['right top', 'left top'], 3: ['right bottom', 'left bottom'], 4: ['left bottom', 'right bottom'], 5: ['left top', 'left bottom'], 6: ['right top', 'right bottom'], 7: ['right bottom', 'right top'], 8: ['left bottom', 'left top'] };

test('each of the eight ways to be turned ends upright', async () => {
  for (const [turned, want] of Object.entries(corners)) {
    const { seen, ...how } = browser([300, 200]);
    await shrink(blob(jpeg({ width: 300, height: 200, turned: Number(turned) })), how);
    const { canvas: [width, height], turn: [a, b, c, d, e, f] } = seen.drawn[0];
    assert.deepEqual([width, height], turned > 4 ? [200, 300] : [300, 200]);
    const at = (x, y) => `${[a * x + c * y + e].map((u) => (u === 0 ? 'left' : u === width ? 'right' : u))} ${[b * x + d * y + f].map((v) => (v === 0 ? 'top' : v === height ? 'bottom' : v))}`;
    assert.deepEqual([at(0, 0), at(300, 0)], want, `turned ${turned}`);
  }
});

test('odd sizes are refused or shrunk, with a word about it', async () => {
  const code = async (bytes, natural = [10, 10]) => (await refused(() => shrink(blob(bytes), browser(natural)))).code;
  assert.equal(await code(jpeg({ width: 1, height: 1 })), 'picture-too-small');
  assert.equal(await code(png(30000, 20)), 'picture-too-small', 'it would be one px high');
  assert.equal(await code(png(30000, 30000)), 'picture-too-many-pixels');
  assert.equal(await code(jpeg({ width: 12000, height: 9000 })), 'picture-too-many-pixels');
  assert.equal(await code(new Uint8Array([0, 0, 0, 24, ...ascii('ftypheic'), 0, 0, 0, 0]), null), 'picture-heic');
  assert.equal(await code(jpeg(), null), 'picture-not-read');
  const { seen, ...how } = browser([0, 0]);
  const { width, height } = await shrink(blob(png(30000, 1000)), how).catch(() => ({}));
  assert.deepEqual(seen.opened, [[2048, 0]]);
  assert.deepEqual([width, height], [undefined, undefined], 'a browser that gives nothing keeps nothing');
  assert.deepEqual((await shrink(blob(jpeg({ components: 4 })), browser([4000, 3000]))).notes, ['picture-cmyk']);
  assert.deepEqual((await shrink(blob(png(30, 20, chunk('acTL', [...be(5, 4), ...be(0, 4)]))), browser([30, 20]))).notes, ['picture-moving']);
  assert.equal((await refused(() => shrink(blob(jpeg())))).code, 'picture-no-canvas', 'where nothing can be drawn the page does it');
});

const shrunk = (fill) => ({ full: new Uint8Array(3000).fill(fill).buffer, thumb: new Uint8Array(30).fill(fill).buffer, type: 'image/jpeg', width: 40, height: 30 });
const hashOf = (data) => createHash('sha256').update(new Uint8Array(data)).digest('hex');

test('a picture is kept under its hashes, and how far it is is told', async () => {
  await freshStore();
  const { id: project } = await methods.newProject({ name: 'Otter', animal: 'otter', parts: [] });
  const { id, notes } = await methods.addPicture({ project, shrunk: shrunk(1), view: 'side', name: ' On the bank ', whose: 'my own', drawn: true });
  assert.deepEqual(notes, []);
  const { pictures, room } = await methods.view({ name: 'pictures', project });
  assert.deepEqual(pictures.map((one) => [one.id, one.name, one.whose, one.drawn, one.of, one.full]), [[id, 'On the bank', 'my own', true, 'subject', hashOf(shrunk(1).full)]]);
  assert.equal(room, 3030);
  assert.equal(told.filter(({ event }) => event === 'progress').at(-1).data.share, 1);
});

test('a full store keeps nothing by half, and loses nothing', async () => {
  await freshStore();
  const { id: project } = await methods.newProject({ name: 'Otter', animal: 'otter', parts: [] });
  await methods.addPicture({ project, shrunk: shrunk(1) });
  const { put } = IDBObjectStore.prototype;
  for (const full of ['bytes 3000', 'bytes 30', 'records']) {
    const before = await everything();
    IDBObjectStore.prototype.put = function spied(...args) {
      if (full === 'records' ? this.name === 'records' : this.name === 'bytes' && args[0].byteLength === Number(full.slice(6))) throw new DOMException('full', 'QuotaExceededError');
      return put.apply(this, args);
    };
    try { assert.equal((await refused(() => methods.addPicture({ project, shrunk: shrunk(2) }))).code, 'store-full', full); } finally { IDBObjectStore.prototype.put = put; }
    assert.deepEqual((await everything()).changes, before.changes);
    assert.deepEqual((await store.list()).map(({ size }) => size).sort(), [30, 3000], full);
  }
  // The same bytes again, and it fails: those that are there already stay.
  IDBObjectStore.prototype.put = function spied(...args) { if (this.name === 'records') throw new DOMException('full', 'QuotaExceededError'); return put.apply(this, args); };
  try { await refused(() => methods.addPicture({ project, shrunk: shrunk(1) })); } finally { IDBObjectStore.prototype.put = put; }
  assert.equal((await store.list()).length, 2);
  assert.equal((await methods.addPicture({ project, shrunk: shrunk(2) })).notes.length, 0);
});
