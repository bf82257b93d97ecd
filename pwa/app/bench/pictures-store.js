// The pictures that are on this device: their bytes under the SHA-256 of them, and what is known of each. Records name a picture
// as sha256:HEX; here the bare HEX is the key, and either is taken.
import { binDays, daysIn } from './bin.js';
import { fail } from './codes.js';
import { today } from './ids.js';
import { jot, read, together, write } from './store.js';

/**
 * @typedef {import('./store.js').Picture} Picture
 * @typedef {import('./store.js').Rec} Rec
 */

/** @param {string} hash */
export const bare = (hash) => hash.replace(/^sha256:/, '');

/** The hash of bytes, in hex. @param {BufferSource} bytes */
export async function sha256(bytes) {
  return Array.from(new Uint8Array(await crypto.subtle.digest('SHA-256', bytes)), (byte) => byte.toString(16).padStart(2, '0')).join('');
}

/**
 * Keeps a picture; returns when it is on the disk. What is not of that hash is refused. When there is no room, full pictures that
 * home has too make room.
 * @param {string} hash  @param {Uint8Array | ArrayBuffer} bytes  @param {string} type  @param {boolean} thumb  @param {{home?: boolean, day?: string}} [more] whether home has it, since it came from there
 */
export async function put(hash, bytes, type, thumb, { home = false, day = today() } = {}) {
  const key = bare(hash);
  // A copy of exactly these bytes: a view upon more would take the rest into the store.
  const own = /** @type {ArrayBuffer} */ (bytes instanceof ArrayBuffer ? bytes : bytes.slice().buffer);
  if (await sha256(own) !== key) fail('picture-damaged', { hash: key });
  /** @type {Picture} */
  const picture = { hash: key, size: own.byteLength, type, thumb: thumb ? 1 : 0, home: home ? 1 : 0, used: day };
  const keep = () => write(['pictures', 'bytes'], async (tx) => {
    const before = await tx.objectStore('pictures').get(key);
    const writes = together();
    writes.add(tx.objectStore('pictures').put({ ...picture, thumb: picture.thumb || (before?.thumb ?? 0), home: picture.home || (before?.home ?? 0) }));
    if (!before) writes.add(tx.objectStore('bytes').put(own, key));
    await writes.done();
  });
  try {
    await keep();
  } catch (error) {
    if (/** @type {{code?: string}} */ (error).code !== 'store-full' || await letGo(own.byteLength * 2) === 0) throw error;
    await keep();
  }
}

/** The bytes of a picture, or null when it is not here. @param {string} hash  @param {{day?: string, look?: boolean}} [more] whether somebody looks at it @returns {Promise<{bytes: ArrayBuffer, type: string} | null>} */
export async function get(hash, { day = today(), look = true } = {}) {
  const key = bare(hash);
  const { picture, bytes } = await read(['pictures', 'bytes'], async (tx) => {
    const [picture, bytes] = await Promise.all([tx.objectStore('pictures').get(key), tx.objectStore('bytes').get(key)]);
    return { picture, bytes };
  });
  if (!picture || !bytes) return null;
  if (look && picture.used !== day) await mark([key], (one) => { one.used = day; });
  return { bytes, type: picture.type };
}

/** What is known of every picture that is here. @returns {Promise<Picture[]>} */
export const list = () => read(['pictures'], (tx) => tx.objectStore('pictures').getAll());

/** @param {string[]} keys  @param {(picture: Picture) => void} how */
async function mark(keys, how) {
  await jot(['pictures'], async (tx) => {
    const pictures = tx.objectStore('pictures');
    await Promise.all(keys.map(async (key) => {
      const picture = await pictures.get(key);
      if (!picture) return;
      how(picture);
      await pictures.put(picture);
    }));
  });
}

/** Takes out pictures that were put in for a record that did not come to be; those that another refers to stay. @param {string[]} hashes */
export const unput = (hashes) => write(['records', 'pictures', 'bytes'], async (tx) => {
  const wanted = new Set((await referring(tx)).flatMap(({ hashes }) => hashes));
  await Promise.all(hashes.map(bare).filter((hash) => !wanted.has(hash)).map((hash) => drop(tx, hash)));
});

/** Notes which pictures home has, or has no longer. A note that is lost is only asked for again. @param {string[]} hashes  @param {boolean} [home] */
export const markHome = (hashes, home = true) => mark(hashes.map(bare), (picture) => { picture.home = home ? 1 : 0; });

/** How much room pictures take here, in bytes, and how much the browser gives in all. @returns {Promise<{thumbs: number, full: number, quota: number | null}>} */
export async function room() {
  const [all, estimate] = await Promise.all([list(), globalThis.navigator?.storage?.estimate?.()]);
  const sum = (/** @type {0 | 1} */ thumb) => all.reduce((n, one) => n + (one.thumb === thumb ? one.size : 0), 0);
  return { thumbs: sum(1), full: sum(0), quota: estimate?.quota ?? null };
}

/** Whether projects are taken along: what a person said, else those that were made on this device. @param {any} tx @returns {Promise<(project: Rec | undefined) => boolean>} */
export async function alongIn(tx) {
  const meta = tx.objectStore('meta');
  const [chosen, device, before] = await Promise.all([meta.get('along'), meta.get('device'), meta.get('devices')]);
  const own = new Set([device, ...before ?? []]);
  return (project) => {
    if (!project) return false;
    const said = chosen?.[project.id];
    if (typeof said === 'boolean') return said;
    const stamp = project.fields.made?.[1] ?? project.fields.name?.[1];
    return own.has(stamp?.[1]);
  };
}

/** Every record of a picture, with its project. @param {any} tx @returns {Promise<{rec: Rec, project: Rec | undefined, hashes: string[]}[]>} */
export async function referring(tx) {
  const records = tx.objectStore('records');
  /** @type {Rec[]} */
  const recs = await records.getAll(IDBKeyRange.bound(['picture'], ['picture', []]));
  const ids = [...new Set(recs.map((rec) => rec.project))].filter(Boolean);
  const projects = new Map(await Promise.all(ids.map(async (id) => /** @type {[string, Rec | undefined]} */ ([id, await records.get(['project', id])]))));
  return recs.map((rec) => ({ rec, project: projects.get(rec.project), hashes: [rec.fields.fact?.[0]?.full, rec.fields.fact?.[0]?.thumb].filter((hash) => typeof hash === 'string').map(bare) }));
}

/**
 * Lets go of full pictures until there is so much room more: only of those that home has, of projects that are not taken along,
 * first of those that were not looked at for longest.
 * @param {number} needed  in bytes @returns {Promise<number>} how many bytes were let go of
 */
export async function letGo(needed) {
  return write(['records', 'meta', 'pictures', 'bytes'], async (tx) => {
    const [along, all, references] = await Promise.all([alongIn(tx), tx.objectStore('pictures').getAll(), referring(tx)]);
    const held = new Set(references.filter(({ project }) => along(project)).flatMap(({ hashes }) => hashes));
    const loose = /** @type {Picture[]} */ (all).filter((one) => !one.thumb && one.home && !held.has(one.hash)).sort((a, b) => a.used < b.used ? -1 : a.used > b.used ? 1 : b.size - a.size);
    let freed = 0;
    for (const { hash, size } of loose) {
      if (freed >= needed) break;
      await drop(tx, hash);
      freed += size;
    }
    return freed;
  });
}

/** @param {any} tx  @param {string} hash */
const drop = (tx, hash) => Promise.all([tx.objectStore('pictures').delete(hash), tx.objectStore('bytes').delete(hash)]);

/**
 * Drops the pictures to which only things refer that the bin no longer shows, and those to which nothing refers. While home may still
 * say that such a thing was put back there, nothing is dropped that home does not have: not before all changes are home.
 * @param {{day?: string}} [when] @returns {Promise<number>} how many were dropped
 */
export async function tidy({ day = today() } = {}) {
  return write(['records', 'meta', 'pictures', 'bytes'], async (tx) => {
    const meta = tx.objectStore('meta');
    const [all, references, home, waiting] = await Promise.all([tx.objectStore('pictures').getAll(), referring(tx), meta.get('home'), meta.get('waiting')]);
    const over = (/** @type {Rec | undefined} */ rec) => Boolean(rec && isOver(rec, day));
    const wanted = new Set(references.filter(({ rec, project }) => !over(rec) && !over(project)).flatMap(({ hashes }) => hashes));
    // One that has just come may be waiting for its record.
    const gone = /** @type {Picture[]} */ (all).filter((one) => !wanted.has(one.hash) && one.used < day && (one.home || !home || !waiting));
    for (const { hash } of gone) await drop(tx, hash);
    return gone.length;
  });
}

/** Whether everything that is said of it has it in the bin, for longer than the bin shows it. @param {Rec} rec  @param {string} day */
function isOver(rec, day) {
  const said = [rec.fields.binned?.[0] ?? null, ...(rec.apart.binned ?? []).map(([value]) => value)];
  return said.every((value) => typeof value === 'string' && daysIn(value, day) > binDays);
}
