// Zip files, read piece by piece from a file that lies on the disk, and written so that no more than a piece is in memory.
import { fail } from './codes.js';

/**
 * A file in a zip, as the zip's own list says.
 * @typedef {{name: string, packed: number, size: number, at: number, stored: boolean}} Entry
 */

const [endMark, listMark, fileMark] = [0x06054b50, 0x02014b50, 0x04034b50];

/** @param {Blob} file  @param {number} from  @param {number} to */
const slice = async (file, from, to) => new DataView(await file.slice(from, to).arrayBuffer());

/**
 * What is in a zip. One that is more than a plain list of files (in several parts, beyond 4 GB, locked, with a name twice) is refused.
 * @param {Blob} file  @returns {Promise<Map<string, Entry>>}
 */
export async function listZip(file) {
  const tail = await slice(file, Math.max(0, file.size - 65557), file.size);
  let end = tail.byteLength - 22;
  while (end >= 0 && tail.getUint32(end, true) !== endMark) end -= 1;
  if (end < 0) fail('file-cut-off');
  const [count, size, at] = [tail.getUint16(end + 10, true), tail.getUint32(end + 12, true), tail.getUint32(end + 16, true)];
  if (count === 0xffff || at === 0xffffffff || tail.getUint16(end + 8, true) !== count) fail('file-not-ours');
  if (at + size > file.size) fail('file-cut-off');
  const list = await slice(file, at, at + size);
  /** @type {Map<string, Entry>} */
  const entries = new Map();
  let here = 0;
  for (let n = 0; n < count; n++) {
    if (here + 46 > size || list.getUint32(here, true) !== listMark) fail('file-cut-off');
    const [flags, method, packed, whole] = [list.getUint16(here + 8, true), list.getUint16(here + 10, true), list.getUint32(here + 20, true), list.getUint32(here + 24, true)];
    const [name, extra, comment] = [28, 30, 32].map((part) => list.getUint16(here + part, true));
    if (here + 46 + name > size) fail('file-cut-off');
    const called = new TextDecoder().decode(new Uint8Array(list.buffer, list.byteOffset + here + 46, name));
    const from = list.getUint32(here + 42, true);
    if (flags & 1 || (method !== 0 && method !== 8) || entries.has(called)) fail('file-not-ours');
    if (method === 0 && packed !== whole || from + packed > file.size) fail('file-cut-off');
    entries.set(called, { name: called, packed, size: whole, at: from, stored: method === 0 });
    here += 46 + name + extra + comment;
  }
  return entries;
}

/** One file out of a zip: as many bytes as the list says, or a fault. @param {Blob} file  @param {Entry} entry @returns {Promise<Uint8Array<ArrayBuffer>>} */
export async function fromZip(file, { packed, size, at, stored }) {
  const head = await slice(file, at, at + 30);
  if (head.byteLength < 30 || head.getUint32(0, true) !== fileMark) fail('file-cut-off');
  const from = at + 30 + head.getUint16(26, true) + head.getUint16(28, true);
  const bytes = new Uint8Array(await file.slice(from, from + packed).arrayBuffer());
  if (bytes.length !== packed) fail('file-cut-off');
  if (stored) return bytes;
  const { inflateSync } = await import('../lib/fflate.js');
  try {
    const out = inflateSync(bytes, { out: new Uint8Array(size) });
    if (out.length !== size) fail('file-cut-off');
    return /** @type {Uint8Array<ArrayBuffer>} */ (out);
  } catch (error) {
    return fail('file-cut-off', {}, error);
  }
}

const bite = 4 * 1024 * 1024;

/** Writes a zip, file by file; `done` gives the whole. What is written already is handed to the browser, which may put it on the disk. */
export async function newZip() {
  const { Zip, ZipDeflate, ZipPassThrough } = await import('../lib/fflate.js');
  /** @type {Blob[]} */
  const blobs = [];
  /** @type {Uint8Array<ArrayBuffer>[]} */
  let chunks = [];
  let held = 0;
  let wrong = /** @type {unknown} */ (null);
  const away = () => { blobs.push(new Blob(chunks)); chunks = []; held = 0; };
  const zip = new Zip((error, data) => {
    if (error) { wrong = error; return; }
    chunks.push(/** @type {Uint8Array<ArrayBuffer>} */ (data));
    held += data.length;
    if (held > bite) away();
  });
  return {
    /** @param {string} name  @param {Uint8Array} bytes  @param {boolean} packed whether it is worth packing */
    add(name, bytes, packed) {
      const file = packed ? new ZipDeflate(name, { level: 6 }) : new ZipPassThrough(name);
      zip.add(file);
      for (let i = 0; i < bytes.length; i += bite) file.push(bytes.subarray(i, i + bite), i + bite >= bytes.length);
      if (!bytes.length) file.push(bytes, true);
      if (wrong) throw wrong;
    },
    done() {
      zip.end();
      if (wrong) throw wrong;
      away();
      return new Blob(blobs, { type: 'application/zip' });
    },
  };
}
