// Out to a file and in from one. A file holds every change ever made of what is in it, and its pictures; taking it in twice, or an
// old one, does no harm, and nothing here is overwritten: two answers stay two. What is in a file is told in data/FILES.md.
import { fail } from './codes.js';
import { call } from './engine.js';
import { minute, newId, today } from './ids.js';
import { foresee, takeIn } from './intake.js';
import { inMB, limits } from './limits.js';
import { asChange, flatOf, recordKey } from './merge.js';
import { bare, get, list, put, sha256 } from './pictures-store.js';
import { progress } from './progress.js';
import { changesOf, everyChange, read } from './store.js';
import { fromZip, listZip, newZip } from './zip.js';

/** @typedef {import('./merge.js').Change} Change  @typedef {import('./store.js').Rec} Rec  @typedef {import('./store.js').Flat} Flat  @typedef {import('./store.js').Changes} Changes  @typedef {import('./intake.js').Outlook} Outlook */

/** No honest counter of changes comes near this; one that did would leave no room for further changes. */
const farthest = 2 ** 52;

/**
 * What was looked at and may be taken in.
 * @typedef {{hash: string, type: string, thumb: boolean, entry: import('./zip.js').Entry}} Coming
 * @type {{token: string, changes: Flat[], file: Blob, pictures: Coming[]} | null}
 */
let held = null;

/**
 * One project, or everything. With `soon` nothing is made that would take long: then only how large its pictures are is told.
 * @param {{project?: string | null, soon?: boolean}} what
 * @returns {Promise<{name: string, blob: Blob | null, changes: number, pictures: number, missing: number, bytes: number}>}
 *   `pictures` are in it, `missing` are referred to but not on this device, `bytes` of pictures
 */
export async function exportFile({ project = null, soon = false }) {
  const { parts, changes, hashes, called } = await written(project);
  if (!changes) fail('nothing-to-export');
  const here = new Map((await list()).map((picture) => [picture.hash, picture]));
  const going = [...hashes].filter((hash) => here.has(hash)).sort();
  const bytes = going.reduce((n, hash) => n + (here.get(hash)?.size ?? 0), 0);
  const name = `needlesight-${slug(called)}-${today()}.zip`;
  if (bytes > limits.pictures) fail('pictures-too-big', { limit_mb: inMB(limits.pictures) });
  if (soon && bytes > limits.soon) return { name, blob: null, changes, pictures: going.length, missing: hashes.size - going.length, bytes };
  const far = progress('export');
  const zip = await newZip();
  /** @type {string[]} */
  const sums = [];
  for (const [i, part] of parts.entries()) {
    const text = new Uint8Array(await part.arrayBuffer());
    const file = i ? `changes-${i + 1}.json` : 'changes.json';
    sums.push(`${await sha256(text)}  ${file}\n`);
    zip.add(file, text, true);
  }
  let [pictures, done] = [0, 0];
  for (const hash of going) {
    // One that was let go of meanwhile is missing, like those that were not here.
    const found = await get(hash, { look: false });
    if (!found) continue;
    zip.add(`pictures/${hash}`, new Uint8Array(found.bytes), false);
    sums.push(`${hash}  pictures/${hash}\n`);
    pictures += 1;
    far((done += found.bytes.byteLength) / bytes);
  }
  zip.add('SHA256SUMS', new TextEncoder().encode(sums.join('')), true);
  return { name, blob: zip.done(), changes, pictures, missing: hashes.size - pictures, bytes };
}

/** What is to be written, as it stands at one moment: texts of so many bytes at most, how many changes, which pictures they name. @param {string | null} project */
async function written(project) {
  const made = minute();
  /** @type {Blob[]} */
  const parts = [];
  /** @type {Set<string>} */
  const hashes = new Set();
  /** @type {string[]} */
  let texts = [];
  let [changes, length] = [0, 0];
  const away = () => {
    parts.push(new Blob([`{"format":"needlesight-changes","version":1,"made":${JSON.stringify(made)},"changes":[`, texts.join(','), ']}']));
    [texts, length] = [[], 0];
  };
  const add = (/** @type {Changes} */ one) => {
    for (const flat of flatOf(one)) {
      const text = JSON.stringify(asChange(flat));
      for (const [, hash] of text.matchAll(/"sha256:([0-9a-f]{64})"/g)) hashes.add(hash);
      texts.push(text);
      changes += 1;
      if ((length += text.length) > limits.part) away();
    }
  };
  const called = await read(['records', 'changes'], async (tx) => {
    // It may be run twice.
    [parts.length, changes, length, texts] = [0, 0, 0, []];
    hashes.clear();
    if (project === null) { await everyChange(tx, (some) => { for (const one of some) add(one); }); return 'all'; }
    /** @type {Rec[]} */
    const records = await tx.objectStore('records').index('project').getAll(project);
    const home = records.find((rec) => rec.kind === 'project') ?? fail('no-such-record', { kind: 'project', id: project });
    for (const rec of records) add({ kind: rec.kind, id: rec.id, list: changesOf(rec, await tx.objectStore('changes').get([rec.kind, rec.id])) });
    return String(home.fields.name?.[0] ?? '');
  });
  if (texts.length) away();
  return { parts, changes, hashes, called };
}

/** @param {string} name */
const slug = (name) => name.toLowerCase().normalize('NFKD').replace(/[^a-z0-9]+/g, '-').replace(/^-+|-+$/g, '').slice(0, 40) || 'project';

/**
 * Looks at a file and says what taking it in would do; writes nothing. A file is best given itself: it is read piece by piece.
 * @param {{file?: Blob, bytes?: Uint8Array | ArrayBuffer}} what
 * @returns {Promise<Preview>}
 * @typedef {object} Preview
 * @property {string} token        for importApply
 * @property {string} made         when the file was written, by its own clock
 * @property {number} changes      in the file
 * @property {number} fresh        of those, not known here
 * @property {number} pictures     in the file, and not here yet
 * @property {PreviewProject[]} projects
 * @typedef {{id: string | null, name: string, demo: boolean, status: 'new' | 'same' | 'newer-here' | 'newer-in-file' | 'apart', fresh: number, parts: number, readings: number, two_answers: number}} PreviewProject
 *   id null: what belongs to no project; two_answers: fields that will ask to be chosen between
 */
export async function importPreview({ file, bytes }) {
  held = null;
  const blob = file ?? new Blob([/** @type {Uint8Array<ArrayBuffer>} */ (bytes)]);
  if (blob.size > limits.file) fail('file-too-big', { size: blob.size, limit: limits.file, limit_mb: inMB(limits.file) });
  if (blob.size === 0) fail('file-empty');
  const far = progress('preview');
  const { texts, entries } = await unpack(blob, far);
  /** @type {Flat[]} */
  const changes = [];
  let made = '';
  for (const text of texts) {
    const part = await changesIn(text);
    made = part.made;
    for (const change of part.changes) changes.push(change);
    far(0.5);
  }
  if (changes.some((change) => change[3] > farthest)) fail('file-far-ahead');
  const outlook = await foresee(changes);
  const pictures = await missing(changes, entries);
  held = { token: newId(), changes, file: blob, pictures };
  return { token: held.token, made, changes: changes.length, fresh: outlook.weighed.reduce((n, one) => n + one.fresh.length, 0), pictures: pictures.length, projects: await projectsIn(outlook) };
}

/**
 * Takes in the file that was looked at, and no other: first the pictures, then all changes or none.
 * @param {{token: string}} what @returns {Promise<{fresh: number, pictures: number}>}
 */
export async function importApply({ token }) {
  const { changes, file, pictures } = held?.token === token ? held : fail('import-forgotten');
  const far = progress('import');
  const all = pictures.reduce((n, { entry }) => n + entry.size, 0);
  // A change costs about as much as so many bytes of a picture.
  const [whole, begun] = [all + changes.length * 2000 || 1, { bytes: 0 }];
  for (const { hash, type, thumb, entry } of pictures) {
    await put(hash, await fromZip(file, entry), type, thumb);
    far((begun.bytes += entry.size) / whole);
  }
  const { fresh } = await takeIn(changes, { far: (share) => far((all + share * (whole - all)) / whole) });
  held = null;
  return { fresh, pictures: pictures.length };
}

/** The texts of changes in a file, whether it is a zip with them or one itself, and the pictures in it. @param {Blob} blob  @param {(share: number) => void} far */
async function unpack(blob, far) {
  const mark = new Uint8Array(await blob.slice(0, 2).arrayBuffer());
  if (mark[0] !== 0x50 || mark[1] !== 0x4b) {
    if (blob.size > limits.unpacked) fail('file-too-big', { size: blob.size, limit: limits.unpacked, limit_mb: inMB(limits.unpacked) });
    return { texts: [textOf(new Uint8Array(await blob.arrayBuffer()))], entries: new Map() };
  }
  return unzip(blob, far);
}

/** @param {Uint8Array} bytes */
function textOf(bytes) {
  try {
    return new TextDecoder('utf-8', { fatal: true }).decode(bytes);
  } catch (error) {
    return fail('file-not-ours', {}, error);
  }
}

const [inFile, ofChanges] = [/^(changes(-[1-9]\d{0,5})?\.json|pictures\/[0-9a-f]{64}|SHA256SUMS)$/, /^changes(-\d+)?\.json$/];

/** Every file in a zip is looked at and must be what its sum says. @param {Blob} blob  @param {(share: number) => void} far */
async function unzip(blob, far) {
  const entries = await listZip(blob);
  const texts = [...entries.values()].filter(({ name }) => ofChanges.test(name)).sort((a, b) => a.name.length - b.name.length || (a.name < b.name ? -1 : 1));
  // What the zip says of its own size is checked first, and is then all that is ever unpacked.
  const unpacked = [...texts, ...[...entries.values()].filter(({ name }) => name === 'SHA256SUMS')].reduce((n, { size }) => n + size, 0);
  if (unpacked > limits.changes || texts.some(({ size }) => size > limits.unpacked)) fail('file-unpacks-too-big', { limit_mb: inMB(limits.unpacked) });
  if ([...entries.keys()].some((name) => !inFile.test(name)) || !entries.has('changes.json')) fail('file-not-ours');
  const sums = sumsIn(textOf(await fromZip(blob, entries.get('SHA256SUMS') ?? fail('file-not-ours'))));
  if (sums.size !== entries.size - 1) fail('file-damaged');
  const all = texts.map(({ size }) => size).reduce((a, b) => a + b, 0) + [...entries.values()].reduce((n, { name, size }) => n + (name.startsWith('pictures/') ? size : 0), 0);
  let looked = 0;
  /** @type {string[]} */
  const read = [];
  for (const entry of [...texts, ...[...entries.values()].filter(({ name }) => name.startsWith('pictures/'))]) {
    const picture = entry.name.startsWith('pictures/');
    if (picture && entry.size > limits.picture) fail('file-unpacks-too-big', { limit_mb: inMB(limits.picture) });
    const bytes = await fromZip(blob, entry);
    const sum = await sha256(bytes);
    if (sum !== sums.get(entry.name) || picture && entry.name !== `pictures/${sum}`) fail('file-damaged');
    if (!picture) read.push(textOf(bytes));
    far(((looked += entry.size) / (all || 1)) * 0.5);
  }
  return { texts: read, entries };
}

/** @param {string} text @returns {Map<string, string>} */
function sumsIn(text) {
  const lines = text.split('\n').filter(Boolean).map((line) => /^([0-9a-f]{64}) [ *](.+)$/.exec(line) ?? fail('file-damaged'));
  return new Map(lines.map(([, sum, name]) => [name, sum]));
}

/** The pictures in a file that its changes refer to and that are not here. @param {Flat[]} changes  @param {Map<string, import('./zip.js').Entry>} entries @returns {Promise<Coming[]>} */
async function missing(changes, entries) {
  const here = new Set((await list()).map(({ hash }) => hash));
  /** @type {Map<string, Coming>} */
  const coming = new Map();
  for (const [kind, , field, , , value] of changes) {
    if (kind !== 'picture' || field !== 'fact') continue;
    for (const [name, thumb] of /** @type {[string, boolean][]} */ ([[value.full, false], [value.thumb, true]])) {
      const hash = bare(name);
      const entry = entries.get(`pictures/${hash}`);
      if (entry && !here.has(hash)) coming.set(hash, { hash, type: value.type, thumb: thumb || (coming.get(hash)?.thumb ?? false), entry });
    }
  }
  return [...coming.values()].sort((a, b) => Number(b.thumb) - Number(a.thumb));
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
