// Pictures between this device and home: up what home does not have, in pieces that go on where they were cut; down the small ones of
// all, and the whole ones of projects that are taken along. Small ones first, two at a time.
import { askHome, askJSON } from './api.js';
import { Trouble, asError, fail } from './codes.js';
import { changed } from './events.js';
import { picturesChanged, standing } from './home.js';
import { alongIn, bare, get, letGo, list, markHome, put, referring } from './pictures-store.js';
import { read } from './store.js';

/**
 * @typedef {import('./known-home.js').Home} Home
 * @typedef {{hash: string, size: number, thumb: 0 | 1}} Up
 * @typedef {{hash: string, type: string, thumb: boolean, size: number, project: string}} Down
 */

const piece = 256 * 1024;
const atOnce = 2;
/** When it is tried again after something did not go, in ms: first, and at most. */
export const times = { again: 2000, longest: 300_000 };
/** What is left free when pictures are fetched that nobody asked for, in bytes. */
const spare = 200e6;

/** @type {Home | null} */
let home = null;
/** Ends what is under way. @type {AbortController | null} */
let going = null;
let wanted = false;
let failures = 0;
/** @type {any} */
let timer = 0;

/** Home has answered: looks what is to be brought and fetched. @param {Home} to */
export function begin(to) { home = to; look(); }

/** Home is gone. */
export function stop() {
  home = null;
  going?.abort();
  going = null;
  clearTimeout(timer);
  standing.bringing = standing.fetching = null;
}

/** There may be something to bring or to fetch. */
export function look() {
  failures = 0;
  again();
}

function again() {
  picturesChanged();
  wanted = true;
  if (home && !going) go(home);
}

/** @param {Home} to */
async function go(to) {
  const mine = new AbortController();
  going = mine;
  clearTimeout(timer);
  let all = true;
  while (wanted && !mine.signal.aborted) {
    wanted = false;
    try {
      all = await bringAll(to, mine.signal);
      all = await fetchAll(to, mine.signal) && all;
      if (all) failures = 0;
    } catch (error) { all = false; if (!mine.signal.aborted) console.warn(asError(error).code); }
  }
  if (going !== mine) return;
  going = null;
  standing.fetching = null;
  if (all) standing.bringing = null;
  picturesChanged();
  if (!all) timer = setTimeout(again, Math.min(times.longest, times.again * 2 ** failures++));
}

/** Does something with each, some at a time; tells whether all of it went. @template T @param {T[]} many  @param {AbortSignal} signal  @param {(one: T) => Promise<boolean>} work */
async function each(many, signal, work) {
  const left = [...many];
  let all = true;
  await Promise.all(Array.from({ length: atOnce }, async () => {
    for (let one = left.shift(); one !== undefined && !signal.aborted; one = left.shift()) all = await work(one) && all;
  }));
  return all && !signal.aborted;
}

/** Which of these home does not have. @param {Home} home  @param {string[]} hashes @returns {Promise<Set<string>>} */
async function missingAt(home, hashes) {
  /** @type {Set<string>} */
  const missing = new Set();
  for (let i = 0; i < hashes.length; i += 1000) {
    const answer = await askJSON(home, 'pictures/missing', { method: 'POST', json: { hashes: hashes.slice(i, i + 1000) } });
    for (const hash of answer.missing) missing.add(bare(hash));
  }
  return missing;
}

/** @param {Home} to  @param {AbortSignal} signal */
async function bringAll(to, signal) {
  const here = (await list()).filter((one) => !one.home);
  const missing = await missingAt(to, here.map(({ hash }) => hash));
  if (here.length > missing.size) await markHome(here.map(({ hash }) => hash).filter((hash) => !missing.has(hash)));
  const up = here.filter(({ hash }) => missing.has(hash)).sort((a, b) => b.thumb - a.thumb || a.size - b.size);
  const of = up.reduce((sum, { size }) => sum + size, 0);
  standing.bringing = up.length ? { up: up.length, of, left: of, why: null, busy: true } : null;
  picturesChanged();
  return each(up, signal, async (one) => {
    try {
      await bring(to, one, signal);
      await markHome([one.hash]);
      picturesChanged();
      return true;
    } catch (error) {
      const { code } = asError(error);
      if (standing.bringing && (code === 'wire-full' || code === 'picture-too-large')) standing.bringing.why = code;
      return false;
    }
  });
}

/** Brings one picture. @param {Home} to  @param {Up} up  @param {AbortSignal} signal */
async function bring(to, { hash, size }, signal) {
  const picture = await get(hash, { look: false }) ?? fail('picture-not-here', { hash });
  const path = `pictures/${hash}`;
  const there = await askHome(to, path, { method: 'HEAD', fine: [404] });
  if (there.ok) return;
  let at = offsetIn(there) ?? 0;
  const progress = (/** @type {number} */ now) => { if (standing.bringing && !signal.aborted) standing.bringing.left -= Math.max(0, now - at); at = now; picturesChanged(); };
  for (let wrong = 0; !signal.aborted;) {
    const end = Math.min(size, at + piece);
    const answer = await askHome(to, path, {
      method: 'PATCH', body: picture.bytes.slice(at, end), ms: 60_000, fine: [409],
      headers: { 'Content-Type': 'application/octet-stream', 'Upload-Offset': String(at), 'Upload-Complete': end === size ? '?1' : '?0' },
    });
    if (answer.status === 201) { progress(size); return; }
    if (answer.status !== 409) { progress(offsetIn(answer) ?? end); wrong = 0; continue; }
    // Home has another part of it than was thought, or another device is bringing it.
    const told = (await answer.json().catch(() => null))?.error;
    const has = offsetIn(answer);
    if (told?.code === 'picture-busy' || has === null || has === at || ++wrong > 3) throw new Trouble(told?.code ?? 'picture-offset', { text: told?.text });
    progress(has);
  }
  fail('home-not-found');
}

/** @param {Response} answer */
function offsetIn(answer) {
  const text = answer.headers.get('Upload-Offset');
  return text !== null && /^\d+$/.test(text) ? Number(text) : null;
}

/** What is to be fetched: small ones of all, whole ones of what is taken along. @returns {Promise<Down[]>} */
async function toFetch() {
  const { references, along, here } = await read(['records', 'meta', 'pictures'], async (tx) => {
    const [references, along, here] = await Promise.all([referring(tx), alongIn(tx), tx.objectStore('pictures').getAllKeys()]);
    return { references, along, here: new Set(here) };
  });
  /** @type {Map<string, Down>} */
  const down = new Map();
  for (const { rec, project } of references) {
    const fact = rec.fields.fact?.[0];
    if (rec.gone || project?.gone || !fact?.thumb || !fact.full) continue;
    const [thumb, full] = [bare(fact.thumb), bare(fact.full)];
    if (!here.has(thumb)) down.set(thumb, { hash: thumb, type: 'image/jpeg', thumb: true, size: 30_000, project: rec.project });
    if (!here.has(full) && along(project)) down.set(full, { hash: full, type: fact.type, thumb: false, size: fact.bytes ?? 1e6, project: rec.project });
  }
  return [...down.values()].sort((a, b) => Number(b.thumb) - Number(a.thumb));
}

/** @param {Home} from  @param {AbortSignal} signal */
async function fetchAll(from, signal) {
  const wanted = await toFetch();
  // One that its own device has not brought home yet comes later; nothing here waits for it.
  const missing = await missingAt(from, wanted.map(({ hash }) => hash));
  const down = wanted.filter(({ hash }) => !missing.has(hash));
  const of = down.reduce((sum, { size }) => sum + size, 0);
  standing.fetching = down.length ? { left: of, of } : null;
  picturesChanged();
  /** @type {Set<string>} */
  const came = new Set();
  try {
    const all = await each(down, signal, async (one) => {
      try {
        const got = (one.thumb || await roomFor(one.size)) && await fetchOne(from, one);
        if (got) came.add(one.project);
        return got;
      } catch { return false; } finally { if (standing.fetching && !signal.aborted) standing.fetching.left -= one.size; }
    });
    return all && !missing.size;
  } finally {
    if (came.size) { changed(came, ['picture']); picturesChanged(); }
  }
}

/** @param {Home} from  @param {{hash: string, type: string, thumb: boolean}} what @returns {Promise<boolean>} false if home does not have it */
async function fetchOne(from, { hash, type, thumb }) {
  const answer = await askHome(from, `pictures/${hash}`, { ms: 120_000, fine: [404] });
  if (!answer.ok) return false;
  await put(hash, await answer.arrayBuffer(), type, thumb, { home: true });
  return true;
}

/** Whether there is room for what nobody asked for; others that home has make way. @param {number} size */
async function roomFor(size) {
  const { usage = 0, quota = Infinity } = await globalThis.navigator?.storage?.estimate?.() ?? {};
  const short = size + spare - (quota - usage);
  return short <= 0 || await letGo(short) >= short;
}

/** Fetches a picture now, since someone looks at it. @param {Home} from  @param {{hash: string, type: string, thumb: boolean}} what */
export async function fetchNow(from, what) {
  if (!await fetchOne(from, what)) throw new Trouble('no-picture');
  picturesChanged();
}
