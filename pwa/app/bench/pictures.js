// pictures {project, of?: 'subject'|a piece} -> {
//   pictures: [{id, name, view, of, whose, drawn, plane: whether its scale is known, outlines: n, pins: n living readings, made, width, height, bytes, thumb, full, here, home}],
//   along, missing: ['front'|'side'] of which there is no picture of the subject, room: bytes that pictures take on this device, pieces: [{id, name}]
// }, and what is done with them.
import { pictureOf } from './book.js';
import { keep } from './change.js';
import { fail } from './codes.js';
import { changed } from './events.js';
import { id as anId, oneOf, sides, words } from './fields.js';
import { minute, newId } from './ids.js';
import { made, need } from './intents.js';
import { knownHome } from './known-home.js';
import { fetchNow, look } from './picture-link.js';
import { alongIn, bare, get, put, referring, sha256, unput } from './pictures-store.js';
import { progress } from './progress.js';
import { shrink } from './shrink.js';
import { read, write } from './store.js';

/**
 * A picture made small enough to keep, and a smaller one of it, with nothing in them of where and when they were taken.
 * @typedef {import('./store.js').Rec} Rec
 * @typedef {{full: ArrayBuffer, thumb: ArrayBuffer, type: string, width: number, height: number, notes?: string[]}} Shrunk
 */

/** The pictures of a project, newest first; `here` when the whole one is on this device, `home` when home has both. @param {{project: string, of?: string}} what */
export async function pictures({ project, of }) {
  return read(['records', 'meta', 'pictures'], async (tx) => {
    const [records, along, all] = await Promise.all([tx.objectStore('records').index('project').getAll(project), alongIn(tx), tx.objectStore('pictures').getAll()]);
    const known = new Map(/** @type {import('./store.js').Picture[]} */ (all).map((one) => [one.hash, one]));
    const own = records.filter((/** @type {Rec} */ rec) => rec.kind === 'picture' && !rec.gone && rec.fields.fact?.[0]?.full).map(pictureOf).sort((/** @type {any} */ a, /** @type {any} */ b) => b.stamp[0] - a.stamp[0]);
    const shown = /** @type {import('./book.js').BookPicture[]} */ (own).filter((one) => of === undefined || one.of === of);
    const views = new Set(own.filter((/** @type {any} */ one) => one.of === 'subject').map((/** @type {any} */ one) => one.view));
    return {
      along: along(records.find((/** @type {Rec} */ rec) => rec.kind === 'project')), missing: /** @type {('front' | 'side')[]} */ (['front', 'side']).filter((view) => !views.has(view)),
      room: all.reduce((/** @type {number} */ sum, /** @type {{size: number}} */ one) => sum + one.size, 0),
      pieces: records.filter((/** @type {Rec} */ rec) => rec.kind === 'piece' && !rec.gone).map((/** @type {Rec} */ rec) => ({ id: rec.id, name: String(rec.fields.name?.[0] ?? '') })),
      pictures: shown.map((one) => {
        const [full, thumb] = [known.get(one.full), known.get(one.thumb)];
        const { id, name, view, whose, drawn, made, width, height, bytes } = one;
        return {
          id, name, view, of: one.of, whose, drawn, plane: Boolean(one.plane), ...countsOn(records, id), made, width, height, bytes, thumb: one.thumb, full: one.full,
          here: Boolean(full), home: (full ? Boolean(full.home) : true) && (thumb ? Boolean(thumb.home) : true),
        };
      }),
    };
  });
}

/** How many outlines and pins lie on a picture. @param {Rec[]} records  @param {string} picture */
function countsOn(records, picture) {
  const living = records.filter((rec) => !rec.gone);
  const sittings = new Set(living.filter((rec) => rec.kind === 'sitting' && rec.fields.fact?.[0].picture === picture).map((rec) => rec.id));
  return {
    outlines: living.filter((rec) => rec.kind === 'outline' && rec.fields.picture?.[0] === picture).length,
    pins: living.filter((rec) => rec.kind === 'reading' && sittings.has(rec.fields.fact?.[0].sitting)).length,
  };
}

/**
 * Keeps a picture of a project: all of it or nothing. It says how far it is (progress 'picture') and can be stopped; `notes` are codes of
 * sentences about what was done to it. Where the worker cannot shrink one (picture-no-canvas), the page does it (shrink.js of the app) and gives what came of it.
 * @param {{project: string, file?: Blob, shrunk?: Shrunk, view?: string | null, name?: string, of?: string, whose?: string, drawn?: boolean}} what @returns {Promise<{id: string, notes: string[]}>}
 */
export async function addPicture({ project, file, shrunk, view = null, name = '', of = 'subject', whose = '', drawn = false }) {
  if (view !== null) oneOf(view, sides, 'view');
  const more = { name: words(name, 'name'), ...(of === 'subject' ? {} : { of: anId(of, 'of') }), ...(whose ? { whose: words(whose, 'whose') } : {}), ...(drawn ? { drawn: true } : {}) };
  const own = await read(['records'], (tx) => tx.objectStore('records').get(['project', project]));
  if (!own) fail('no-such-record', { kind: 'project', id: project });
  const far = progress('picture');
  const { full, thumb, type, width, height, notes = [] } = shrunk ?? await shrink(/** @type {Blob} */ (file), { far });
  const hashes = { full: await sha256(full), thumb: await sha256(thumb) };
  const id = newId();
  const fact = { full: `sha256:${hashes.full}`, thumb: `sha256:${hashes.thumb}`, type, width, height, bytes: full.byteLength, made: minute() };
  try {
    await put(hashes.full, full, type, false);
    await put(hashes.thumb, thumb, type, true);
    far(0.95);
    await keep(async (look) => {
      if (of !== 'subject' && (await need(look, 'piece', of)).project !== project) fail('part-elsewhere', { piece: of });
      return made('picture', id, { project, fact, view, ...more });
    });
  } catch (error) {
    await unput([hashes.full, hashes.thumb]).catch(() => {}); // what is left goes when the store is tidied
    throw error;
  }
  far(1);
  look();
  return { id, notes };
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
