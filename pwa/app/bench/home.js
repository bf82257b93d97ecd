// How things stand with home, told truly: to this page, and to the other tabs.
import { emit } from './events.js';
import { minute } from './ids.js';
import { lastHeard, noteHeard } from './known-home.js';
import { clock } from './link-clock.js';
import { homeState, refusedByHome } from './outbox.js';
import { list, room } from './pictures-store.js';
import { none } from './wake.js';

/**
 * @typedef {import('./wake.js').Status} Status
 * @typedef {import('./known-home.js').Home} Home
 * What is known here and now. `told` is what the tab that leads said; `share` passes on what this one says, when it leads.
 * @typedef {object} Standing
 * @property {Home | null} home
 * @property {import('./link-run.js').Standing | null} link
 * @property {Status | null} told
 * @property {(status: Status) => void} share
 * @property {string | null} fault   the code of what stopped the link here
 * @property {boolean} full          the store here is full
 * @property {string | null} again   since when home is being given everything anew
 * @property {{seen: number}} began  what was here when home answered
 * @property {Status['refused'] | null} refused
 * @property {{up: number, of: number, left: number, why: string | null, busy: boolean} | null} bringing  pictures on their way home: pieces of `of` bytes, `left` still to go
 * @property {{left: number, of: number} | null} fetching  pictures on their way here
 */

/** @type {Standing} */
export const standing = { home: null, link: null, told: null, share: () => {}, fault: null, full: false, again: null, began: { seen: 0 }, refused: null, bringing: null, fetching: null };

/** How long between two tellings at least, in ms. */
const pause = 250;
/** @type {any} */
let timer = 0;
let last = -pause;
let heard = '';
/** @type {{n: number, room: Status['room']} | null} */
let pictures = null;

/** What the pictures here take is counted anew. */
export function picturesChanged() { pictures = null; now(); }

/** Tells how things stand, soon. @param {boolean} [again] even if nothing seems to have changed */
export function now(again = false) {
  if (again) said = '';
  if (timer) return;
  timer = setTimeout(say, Math.max(0, last + pause - performance.now()));
}

let said = '';
async function say() {
  timer = 0;
  last = performance.now();
  try {
    const what = await status();
    const text = JSON.stringify(what);
    if (text === said) return;
    said = text;
    standing.share(what);
    emit('home', what);
  } catch (error) { console.error(error); }
}

/** How things stand. @returns {Promise<Status>} */
export async function status() {
  const { home, link, told } = standing;
  if (!home) return none;
  if (!link && told) return told;
  const [store, waitingPictures, refused, since] = await Promise.all([homeState(), picturesToBring(), refusedNow(), hearing(link)]);
  const changes = Math.max(store.waiting, link?.waiting ?? 0);
  const to = { changes, pictures: waitingPictures.n };
  const fetch = link && link.phase === 'joined' ? Math.max(0, link.last - link.seen) : null;
  const struck = Boolean(home.struck) || link?.code === 'wire-struck';
  const { state, why } = stateOf(link, to, fetch ?? 0, struck);
  return {
    paired: true, struck, name: home.name, device: { id: home.id, name: home.called }, state, why, ...to,
    share: shareOf(state, link, changes), fetch, since, next_try_s: link?.phase === 'apart' && link.next >= 0 ? Math.max(0, Math.ceil((link.next - clock()) / 1000)) : null,
    refused, again: afterRestore(state), room: waitingPictures.room,
  };
}

/** @param {import('./link-run.js').Standing | null} link  @param {{changes: number, pictures: number}} to  @param {number} fetch  @param {boolean} struck @returns {{state: Status['state'], why: string | null}} */
function stateOf(link, to, fetch, struck) {
  const left = to.changes + to.pictures > 0;
  if (struck) return { state: 'stopped', why: 'wire-struck' };
  if (standing.full) return { state: 'stopped', why: 'store-full' };
  if (link?.phase === 'joined') {
    if (to.pictures && !to.changes && !fetch && standing.bringing?.why) return { state: 'stopped', why: standing.bringing.why };
    if (left || link.again) return { state: 'bringing', why: null };
    return { state: fetch || standing.fetching?.left ? 'fetching' : 'home', why: null };
  }
  const why = whyNot(link);
  if (why && needsAPerson.has(why)) return { state: 'stopped', why };
  return { state: left ? 'waiting' : 'away', why };
}

const needsAPerson = new Set(['wire-full', 'wire-too-old', 'wire-too-new', 'store-gone', 'store-newer', 'engine-missing']);

/** Why there is no connection, as far as it can be known. @param {import('./link-run.js').Standing | null} link */
function whyNot(link) {
  if (globalThis.navigator?.onLine === false && !isHere()) return 'offline';
  if (standing.fault) return standing.fault;
  if (!link) return null;
  if (link.code && link.code !== 'wire-silent') return link.code;
  return link.missed ? 'not-found' : null;
}

/** Whether home is this very computer, which needs no network. */
const isHere = () => /^(localhost|127\.0\.0\.1|\[::1\])$/.test(globalThis.location?.hostname ?? '');

/** @param {Status['state']} state  @param {import('./link-run.js').Standing | null} link  @param {number} changes */
function shareOf(state, link, changes) {
  const part = (/** @type {number} */ done, /** @type {number} */ of) => of > 0 ? Math.min(1, Math.max(0, done / of)) : null;
  if (!link) return null;
  if (state === 'bringing') {
    if (changes) return part(link.brought, link.brought + changes);
    const up = standing.bringing;
    return up ? part(up.of - up.left, up.of) : null;
  }
  if (state !== 'fetching') return null;
  if (link.last > link.seen) return part(link.seen - standing.began.seen, link.last - standing.began.seen);
  const down = standing.fetching;
  return down ? part(down.of - down.left, down.of) : null;
}

/** That home was restored is said until everything is there again. @param {Status['state']} state */
function afterRestore(state) {
  if (state === 'home') standing.again = null;
  return standing.again !== null || standing.link?.again === true;
}

async function picturesToBring() {
  if (!pictures) {
    const [all, taken] = await Promise.all([list(), room()]);
    pictures = { n: all.filter(({ home, thumb }) => !home && !thumb).length || (all.some(({ home }) => !home) ? 1 : 0), room: taken };
  }
  return pictures;
}

async function refusedNow() {
  standing.refused ??= (await refusedByHome()).map(({ kind, id, field, code }) => ({ kind, id, field, code }));
  return standing.refused;
}

/** The minute in which home was last heard. @param {import('./link-run.js').Standing | null} link */
async function hearing(link) {
  if (link?.phase === 'joined') {
    const at = minute();
    if (at !== heard) { heard = at; await noteHeard(at); }
    return at;
  }
  return await lastHeard();
}
