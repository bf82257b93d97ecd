// Out to a file and in from one: until there is a home, the only rescue for a lost phone. A file holds every change ever made of
// what is in it; taking it in twice, or an old one, does no harm, and nothing here is overwritten: two answers stay two.
import { Trouble, fail } from './codes.js';
import { call } from './engine.js';
import { minute, newId, today } from './ids.js';
import { inMB, limits } from './limits.js';
import { foresee, takeIn } from './intake.js';
import { asChange, flatOf, recordKey } from './merge.js';
import { changesOf, everyChange, read } from './store.js';

/** @typedef {import('./merge.js').Change} Change  @typedef {import('./store.js').Rec} Rec  @typedef {import('./store.js').Flat} Flat  @typedef {import('./intake.js').Outlook} Outlook */

/** No honest counter of changes comes near this; one that did would leave no room for further changes. */
const farthest = 2 ** 52;

/** @type {{token: string, changes: Flat[]} | null} */
let held = null;

/** One project, or everything. @param {{project?: string | null}} what @returns {Promise<{name: string, bytes: Uint8Array, changes: number}>} */
export async function exportFile({ project = null }) {
  const { changes, called } = await read(['records', 'changes'], async (tx) => {
    /** @type {Change[]} */
    const changes = [];
    if (project === null) {
      await everyChange(tx, (some) => { for (const one of some) changes.push(...flatOf(one).map(asChange)); });
      return { changes, called: 'all' };
    }
    /** @type {Rec[]} */
    const records = await tx.objectStore('records').index('project').getAll(project);
    const home = records.find((rec) => rec.kind === 'project') ?? fail('no-such-record', { kind: 'project', id: project });
    for (const rec of records) changes.push(...flatOf({ kind: rec.kind, id: rec.id, list: changesOf(rec, await tx.objectStore('changes').get([rec.kind, rec.id])) }).map(asChange));
    return { changes, called: String(home.fields.name?.[0] ?? '') };
  });
  if (!changes.length) fail('nothing-to-export');
  const text = new TextEncoder().encode(JSON.stringify({ format: 'needlesight-changes', version: 1, made: minute(), changes }));
  const { zipSync, strToU8 } = await import('../lib/fflate.js');
  const bytes = zipSync({ 'changes.json': text, SHA256SUMS: strToU8(`${await sha256(text)}  changes.json\n`) }, { level: 6 });
  return { name: `needlesight-${slug(called)}-${today()}.zip`, bytes, changes: changes.length };
}

/** @param {string} name */
const slug = (name) => name.toLowerCase().normalize('NFKD').replace(/[^a-z0-9]+/g, '-').replace(/^-+|-+$/g, '').slice(0, 40) || 'project';

/** @param {Uint8Array} bytes */
async function sha256(bytes) {
  const digest = await crypto.subtle.digest('SHA-256', /** @type {Uint8Array<ArrayBuffer>} */ (bytes));
  return Array.from(new Uint8Array(digest), (byte) => byte.toString(16).padStart(2, '0')).join('');
}

/**
 * Looks at a file and says what taking it in would do; writes nothing. A file is best given itself, so that one that is too
 * big is never read.
 * @param {{file?: Blob, bytes?: Uint8Array | ArrayBuffer}} what
 * @returns {Promise<Preview>}
 * @typedef {object} Preview
 * @property {string} token        for importApply
 * @property {string} made         when the file was written, by its own clock
 * @property {number} changes      in the file
 * @property {number} fresh        of those, not known here
 * @property {PreviewProject[]} projects
 * @typedef {{id: string | null, name: string, demo: boolean, status: 'new' | 'same' | 'newer-here' | 'newer-in-file' | 'apart', fresh: number, parts: number, readings: number, two_answers: number}} PreviewProject
 *   id null: what belongs to no project; two_answers: fields that will ask to be chosen between
 */
export async function importPreview({ file, bytes }) {
  held = null;
  const size = file?.size ?? bytes?.byteLength ?? 0;
  if (size > limits.file) fail('file-too-big', { size, limit: limits.file, limit_mb: inMB(limits.file) });
  if (size === 0) fail('file-empty');
  const raw = file ? new Uint8Array(await file.arrayBuffer()) : new Uint8Array(/** @type {ArrayBuffer} */ (bytes));
  const { made, changes } = await changesIn(await unpack(raw));
  if (changes.some((change) => change[3] > farthest)) fail('file-far-ahead');
  const outlook = await foresee(changes);
  held = { token: newId(), changes };
  return { token: held.token, made, changes: changes.length, fresh: outlook.weighed.reduce((n, one) => n + one.fresh.length, 0), projects: await projectsIn(outlook) };
}

/** Takes in the file that was looked at, and no other. @param {{token: string}} what */
export async function importApply({ token }) {
  const { changes } = held?.token === token ? held : fail('import-forgotten');
  const done = await takeIn(changes);
  held = null;
  return done;
}

/** The text of changes.json, whether the file is a zip with it or itself. @param {Uint8Array} raw @returns {Promise<string>} */
async function unpack(raw) {
  const zip = raw[0] === 0x50 && raw[1] === 0x4b;
  const bytes = zip ? await unzip(raw) : raw;
  if (bytes.byteLength > limits.unpacked) fail('file-unpacks-too-big', { limit_mb: inMB(limits.unpacked) });
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch (error) {
    return fail('file-not-ours', {}, error);
  }
}

/** @param {Uint8Array} raw */
async function unzip(raw) {
  const { unzipSync, strFromU8 } = await import('../lib/fflate.js');
  const wanted = ['changes.json', 'SHA256SUMS'];
  let files;
  try {
    // What the zip says of its own size is checked first, and is then all that is ever unpacked.
    files = unzipSync(raw, { filter: ({ name, originalSize }) => {
      if (!wanted.includes(name)) return false;
      if (originalSize > limits.unpacked) fail('file-unpacks-too-big', { limit_mb: inMB(limits.unpacked) });
      return true;
    } });
  } catch (error) {
    if (error instanceof Trouble) throw error;
    return fail('file-cut-off', {}, error);
  }
  const bytes = files['changes.json'] ?? fail('file-not-ours');
  const sum = files.SHA256SUMS && strFromU8(files.SHA256SUMS).match(/^([0-9a-f]{64}) [ *]changes\.json$/m)?.[1];
  if (sum && sum !== await sha256(bytes)) fail('file-damaged');
  return bytes;
}

/** The changes in a text, every one of them checked. @param {string} text @returns {Promise<{made: string, changes: Flat[]}>} */
async function changesIn(text) {
  let file;
  try {
    file = JSON.parse(text);
  } catch (error) {
    // Ours begins like this; what does not was never ours, what does was cut off.
    return fail(/^\{\s*"format"\s*:\s*"needlesight-changes"/.test(text.trimStart()) ? 'file-cut-off' : 'file-not-ours', {}, error);
  }
  if (file?.format !== 'needlesight-changes') fail('file-not-ours');
  if (typeof file.version === 'number' && file.version > 1) fail('file-newer', { version: file.version });
  await call(/** @type {any} */ ('check-changes'), file, 180_000);
  /** @type {Change[]} */
  const changes = file.changes;
  return { made: file.made, changes: changes.map(({ kind, id, field, value, stamp, base }) => /** @type {Flat} */ ([kind, id, field, ...stamp, value, base])) };
}

/** What would come of each project. @param {Outlook} outlook @returns {Promise<PreviewProject[]>} */
async function projectsIn({ weighed, fields }) {
  const homes = new Map(weighed.map((one) => [recordKey(one), one.kind === 'project' ? one.id : saidOf(one, 'project') ?? '']));
  const ids = new Set(homes.values());
  const { here, more } = await hereOf(ids, homes);
  const tally = counter();
  for (const one of weighed) {
    const home = homes.get(recordKey(one)) ?? '';
    tally.add(`${one.kind} ${home}`);
    tally.add(`fresh ${home}`, one.fresh.length);
    if (home === '' && one.here.length) here.add('');
    if (one.here.length + one.fresh.length > one.came.length) more.add(home);
  }
  for (const one of fields) if (one.state.apart.length) tally.add(`apart ${homes.get(recordKey(one))}`);
  const projects = new Map(weighed.filter((one) => one.kind === 'project').map((one) => [one.id, one]));
  return [...ids].map((id) => {
    const n = tally.of(`fresh ${id}`);
    const project = projects.get(id);
    return {
      id: id || null, name: String(project && saidOf(project, 'name') || ''), demo: Boolean(project && saidOf(project, 'demo') === true),
      status: /** @type {PreviewProject['status']} */ (n && !here.has(id) ? 'new' : n === 0 ? (more.has(id) ? 'newer-here' : 'same') : more.has(id) ? 'apart' : 'newer-in-file'),
      fresh: n, parts: tally.of(`part ${id}`), readings: tally.of(`reading ${id}`), two_answers: tally.of(`apart ${id}`),
    };
  });
}

/** What a field will say: the highest stamp wins. @param {import('./merge.js').Weighed} one  @param {string} field @returns {any} */
function saidOf({ here, came }, field) {
  let said = null;
  for (const list of [here, came]) for (const change of list) if (change[0] === field && (!said || later(change, said))) said = change;
  return said?.[3];
}

/** @param {import('./store.js').Packed} a  @param {import('./store.js').Packed} b */
const later = (a, b) => a[1] > b[1] || (a[1] === b[1] && a[2] > b[2]);

/** How many of each. */
function counter() {
  /** @type {Map<string, number>} */
  const counts = new Map();
  return { add: (/** @type {string} */ key, n = 1) => { counts.set(key, (counts.get(key) ?? 0) + n); }, of: (/** @type {string} */ key) => counts.get(key) ?? 0 };
}

/** Which of these projects are here, and which hold records that the file does not. @param {Set<string>} ids  @param {Map<string, string>} inFile */
async function hereOf(ids, inFile) {
  return read(['records'], async (tx) => {
    const here = new Set();
    const more = new Set();
    await Promise.all([...ids].map(async (id) => {
      const keys = await tx.objectStore('records').index('project').getAllKeys(id);
      for (const key of keys.map((/** @type {any} */ one) => one.join(' '))) {
        if (key === `project ${id}`) here.add(id);
        if (!inFile.has(key)) more.add(id);
      }
    }));
    return { here, more };
  });
}
