// What a picture says of itself before it is made pixels: its type and size, which way up it was taken, whether it is all there. Only as
// much of the file is read as that takes.
import { fail } from './codes.js';

/**
 * @typedef {object} Header
 * @property {string} type         as image/jpeg
 * @property {number} width        as it is stored, not as it is to be seen; 0 when only the browser can tell
 * @property {number} height
 * @property {number} turned       1 to 8, as EXIF counts how it must be turned; 1 when it is upright, or when the browser turns it
 * @property {Blob} plain          the picture without all that says where, when and with what it was taken
 * @property {boolean} moving      it is several pictures, of which the first is taken
 * @property {boolean} cmyk        it is in the colours of a printing press
 */

/** A file as bytes at places, read a window at a time. */
class Bytes {
  /** @param {Blob} file */
  constructor(file) { this.file = file; this.from = 0; this.window = new Uint8Array(); }

  /** What there is from a place on: some bytes at least, fewer at the end of the file. @param {number} at  @param {number} [least] @returns {Promise<Uint8Array>} */
  async read(at, least = 1) {
    const have = at - this.from;
    if (have < 0 || have + Math.min(least, this.file.size - at) > this.window.length) {
      try { this.window = new Uint8Array(await this.file.slice(at, at + Math.max(least, 1 << 18)).arrayBuffer()); } catch (error) { fail('picture-not-read', {}, error); }
      this.from = at;
    }
    return this.window.subarray(at - this.from);
  }
}

const text = (/** @type {Uint8Array} */ bytes, /** @type {number} */ from, /** @type {number} */ n) => String.fromCharCode(...bytes.subarray(from, from + n));
const number = (/** @type {Uint8Array} */ bytes, /** @type {number} */ at, /** @type {number} */ n, little = false) => {
  let value = 0;
  for (let i = 0; i < n; i++) value = value * 256 + (bytes[little ? at + n - 1 - i : at + i] ?? 0);
  return value;
};

/** @param {Blob} file @returns {Promise<Header>} */
export async function headerOf(file) {
  if (!(file instanceof Blob)) fail('picture-not-read');
  if (file.size === 0) fail('file-empty');
  const bytes = new Bytes(file);
  const head = await bytes.read(0, 64);
  const none = { width: 0, height: 0, turned: 1, plain: file, moving: false, cmyk: false };
  if (number(head, 0, 3) === 0xffd8ff) return jpeg(bytes);
  if (text(head, 0, 8) === '\x89PNG\r\n\x1a\n') return { ...none, type: 'image/png', ...await png(bytes) };
  if (text(head, 0, 4) === 'RIFF' && text(head, 8, 4) === 'WEBP') return { ...none, type: 'image/webp', ...webp(head, file.size) };
  if (/^GIF8[79]a/.test(text(head, 0, 6))) return { ...none, type: 'image/gif', width: number(head, 6, 2, true), height: number(head, 8, 2, true), moving: await loops(bytes) };
  if (text(head, 4, 4) === 'ftyp') return { ...none, type: /^avi[fs]/.test(text(head, 8, 4)) ? 'image/avif' : 'image/heic' };
  if (text(head, 0, 2) === 'BM') return { ...none, type: 'image/bmp' };
  return fail('picture-not-read');
}

/** The size of a PNG, and whether it is one that moves; one without its end is refused. @param {Bytes} bytes */
async function png(bytes) {
  const head = await bytes.read(0, 33);
  const { size } = bytes.file;
  if (text(head, 12, 4) !== 'IHDR') fail('picture-not-read');
  const [width, height] = [number(head, 16, 4), number(head, 20, 4)];
  // What says that it moves comes before the picture itself.
  let moving = false;
  for (let at = 8; at < size;) {
    const chunk = await bytes.read(at, 12);
    const kind = text(chunk, 4, 4);
    if (kind === 'acTL') moving = number(chunk, 8, 4) > 1;
    if (kind === 'IDAT') break;
    at += 12 + number(chunk, 0, 4);
  }
  const end = await bytes.read(Math.max(0, size - 4096), 1);
  if (!text(end, 0, end.length).includes('IEND')) fail('picture-cut-off');
  return { width, height, moving };
}

/** The size of a WebP by its first part, https://developers.google.com/speed/webp/docs/riff_container. @param {Uint8Array} head  @param {number} size */
function webp(head, size) {
  if (number(head, 4, 4, true) + 8 > size) fail('picture-cut-off');
  const kind = text(head, 12, 4);
  if (kind === 'VP8X') return { width: number(head, 24, 3, true) + 1, height: number(head, 27, 3, true) + 1, moving: Boolean(head[20] & 2) };
  if (kind === 'VP8L') return { width: (number(head, 21, 2, true) & 0x3fff) + 1, height: ((number(head, 22, 3, true) >> 6) & 0x3fff) + 1 };
  if (kind === 'VP8 ') return { width: number(head, 26, 2, true) & 0x3fff, height: number(head, 28, 2, true) & 0x3fff };
  return fail('picture-not-read');
}

/** Whether a GIF says that it goes on. @param {Bytes} bytes */
async function loops(bytes) {
  const head = await bytes.read(0, 2048);
  return text(head, 0, Math.min(head.length, 2048)).includes('NETSCAPE2.0');
}

/** Segments of a JPEG that the colours need: of all others nothing is taken along. */
const needed = (/** @type {number} */ marker) => marker < 0xe0 || marker > 0xef ? marker !== 0xfe : marker === 0xe0 || marker === 0xe2 || marker === 0xee;

/** A JPEG's header, segment by segment (ITU-T T.81, annex B). @param {Bytes} bytes @returns {Promise<Header>} */
async function jpeg(bytes) {
  const { file } = bytes;
  const header = { type: 'image/jpeg', width: 0, height: 0, turned: 1, plain: file, moving: false, cmyk: false };
  /** @type {BlobPart[]} */
  const kept = [file.slice(0, 2)];
  for (let at = 2; ;) {
    const segment = await bytes.read(at, 20);
    if (segment.length < 4) fail('picture-cut-off');
    const marker = segment[1];
    if (segment[0] !== 0xff) fail('picture-not-read');
    if (marker === 0xff) { at += 1; continue; }
    const end = at + 2 + number(segment, 2, 2);
    if (marker >= 0xc0 && marker <= 0xcf && ![0xc4, 0xc8, 0xcc].includes(marker)) Object.assign(header, { height: number(segment, 5, 2), width: number(segment, 7, 2), cmyk: segment[9] === 4 });
    if (marker === 0xe1 && text(segment, 4, 6) === 'Exif\0\0') header.turned = turnedIn((await bytes.read(at, end - at)).subarray(10, end - at));
    if (marker === 0xda) { kept.push(file.slice(at)); if (!await closes(file) && !await ends(bytes, end)) fail('picture-cut-off'); break; }
    if (needed(marker)) kept.push(file.slice(at, end));
    at = end;
  }
  if (!header.width || !header.height) fail('picture-not-read');
  return { ...header, plain: new Blob(kept, { type: 'image/jpeg' }) };
}

/** How a picture must be turned, by its EXIF (JEITA CP-3451, 4.6.4, tag 274). @param {Uint8Array} tiff */
function turnedIn(tiff) {
  const little = text(tiff, 0, 2) === 'II';
  const first = number(tiff, 4, 4, little);
  const entries = number(tiff, first, 2, little);
  for (let i = 0; i < Math.min(entries, 200); i++) {
    const entry = first + 2 + 12 * i;
    if (number(tiff, entry, 2, little) !== 274) continue;
    const turned = number(tiff, entry + 8, 2, little);
    return turned >= 1 && turned <= 8 ? turned : 1;
  }
  return 1;
}

/** Whether a file ends as most JPEGs do, with the mark of the end: then it need not be gone through. @param {Blob} file */
async function closes(file) {
  const last = new Uint8Array(await file.slice(-2).arrayBuffer());
  return last[0] === 0xff && last[1] === 0xd9;
}

/** Whether what follows the first scan's header comes to the end of the picture; other data may follow that. @param {Bytes} bytes  @param {number} at */
async function ends(bytes, at) {
  for (;;) {
    const window = await bytes.read(at, 4);
    if (window.length < 2) return false;
    let i = window.indexOf(0xff);
    // Stuffed bytes and restarts belong to the scan.
    while (i >= 0 && i + 1 < window.length && (window[i + 1] === 0 || (window[i + 1] >= 0xd0 && window[i + 1] <= 0xd7))) i = window.indexOf(0xff, i + 2);
    if (i < 0) { at += window.length; continue; }
    if (i + 1 >= window.length) { at += i; if (at + 1 >= bytes.file.size) return false; continue; }
    const marker = window[i + 1];
    if (marker === 0xd9) return true;
    if (marker === 0xff) { at += i + 1; continue; }
    const segment = await bytes.read(at + i, 4);
    if (segment.length < 4) return false;
    at += i + 2 + number(segment, 2, 2);
  }
}
