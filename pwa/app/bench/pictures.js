// pictures {project} -> {pictures: [{id, name, view, made, width, height, bytes, thumb, full, here, home}], along}, and what is done with them.
import { keep } from './change.js';
import { fail } from './codes.js';
import { changed } from './events.js';
import { oneOf, sides, words } from './fields.js';
import { minute, newId } from './ids.js';
import { made } from './intents.js';
import { knownHome } from './known-home.js';
import { fetchNow, look } from './picture-link.js';
import { alongIn, bare, get, put, referring, sha256 } from './pictures-store.js';
import { shrink } from './shrink.js';
import { read, write } from './store.js';

/**
 * A picture made small enough to keep, and a smaller one of it, with nothing in them of where and when they were taken.
 * @typedef {{full: ArrayBuffer, thumb: ArrayBuffer, type: string, width: number, height: number}} Shrunk
 * @typedef {{id: string, name: string, view: string | null, made: string, width: number, height: number, bytes: number, thumb: string, full: string, here: boolean, home: boolean}} Shown
 */

/** The pictures of a project, newest first; `here` when the whole one is on this device, `home` when home has both. @param {{project: string}} what @returns {Promise<{pictures: Shown[], along: boolean}>} */
export async function pictures({ project }) {
  return read(['records', 'meta', 'pictures'], async (tx) => {
    const [references, along, all, own] = await Promise.all([referring(tx), alongIn(tx), tx.objectStore('pictures').getAll(), tx.objectStore('records').get(['project', project])]);
    const known = new Map(/** @type {import('./store.js').Picture[]} */ (all).map((one) => [one.hash, one]));
    const recs = references.map(({ rec }) => rec).filter((rec) => rec.project === project && !rec.gone && rec.fields.fact?.[0]?.full);
    recs.sort((a, b) => b.fields.fact[1][0] - a.fields.fact[1][0]);
    return { along: along(own), pictures: recs.map((rec) => {
      const fact = rec.fields.fact[0];
      const [full, thumb] = [known.get(bare(fact.full)), known.get(bare(fact.thumb))];
      return {
        id: rec.id, name: rec.fields.name?.[0] ?? '', view: rec.fields.view?.[0] ?? null, made: fact.made, width: fact.width, height: fact.height, bytes: fact.bytes,
        thumb: bare(fact.thumb), full: bare(fact.full), here: Boolean(full), home: (full ? Boolean(full.home) : true) && (thumb ? Boolean(thumb.home) : true),
      };
    }) };
  });
}

/**
 * Keeps a picture of a project. Where the worker cannot shrink one (picture-no-canvas), the page does it (shrink.js of the app) and gives what came of it.
 * @param {{project: string, file?: Blob, shrunk?: Shrunk, view?: string | null, name?: string}} what @returns {Promise<{id: string}>}
 */
export async function addPicture({ project, file, shrunk, view = null, name = '' }) {
  if (view !== null) oneOf(view, sides, 'view');
  const called = words(name, 'name');
  const own = await read(['records'], (tx) => tx.objectStore('records').get(['project', project]));
  if (!own) fail('no-such-record', { kind: 'project', id: project });
  const { full, thumb, type, width, height } = shrunk ?? await shrink(/** @type {Blob} */ (file));
  const hashes = { full: await sha256(full), thumb: await sha256(thumb) };
  const id = newId();
  await put(hashes.full, full, type, false);
  await put(hashes.thumb, thumb, type, true);
  const fact = { full: `sha256:${hashes.full}`, thumb: `sha256:${hashes.thumb}`, type, width, height, bytes: full.byteLength, made: minute() };
  await keep(async () => made('picture', id, { project, fact, view, name: called }));
  look();
  return { id };
}

/** The bytes of a picture, from here or else from home. @param {{hash: string}} what @returns {Promise<{bytes: Uint8Array, type: string}>} */
export async function pictureBytes({ hash }) {
  const here = await get(hash) ?? await fetched(bare(hash));
  return { bytes: new Uint8Array(here.bytes), type: here.type };
}

/** @param {string} hash */
async function fetched(hash) {
  const home = await knownHome() ?? fail('picture-not-here', { hash });
  const references = await read(['records'], (tx) => referring(tx));
  const fact = references.find(({ hashes }) => hashes.includes(hash))?.rec.fields.fact[0];
  if (!fact) fail('picture-not-here', { hash });
  await fetchNow(home, { hash, type: fact.type, thumb: bare(fact.thumb) === hash });
  return await get(hash) ?? fail('picture-not-here', { hash });
}

/** Whether the whole pictures of a project are taken along on this device. @param {{project: string, on: boolean}} what */
export async function along({ project, on }) {
  await write(['meta'], async (tx) => {
    const meta = tx.objectStore('meta');
    await meta.put({ ...await meta.get('along'), [project]: Boolean(on) }, 'along');
  });
  changed([project], ['picture']);
  look();
  return { along: Boolean(on) };
}
