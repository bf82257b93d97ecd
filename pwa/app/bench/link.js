// Brings things home: in one tab of all that are open, which holds a lock for it; the others hear from it how it goes. Where a browser
// has no such locks, in the tab that is being looked at.
import { asError } from './codes.js';
import { now as homeNow, standing, status } from './home.js';
import { knownHome, renewHome } from './known-home.js';
import { askJSON } from './api.js';
import { minute } from './ids.js';
import { run } from './link-run.js';
import { offerAgain, homeState, onWaiting } from './outbox.js';
import * as pictures from './picture-link.js';
import { onWoke, page } from './wake.js';

/** @typedef {import('./known-home.js').Home} Home */

const lock = 'needlesight-link';
/** How long the tab that leads may be silent before another takes over; until an engine that died is tried again; until it begins after the first picture; in ms. */
export const times = { silence: 4000, again: 1000, longest: 60_000, later: 400 };

/** @type {BroadcastChannel | null} */
let tabs = null;
/** @type {BroadcastChannel | null} */
let elsewhere = null;
/** @type {Awaited<ReturnType<typeof run>> | null} */
let running = null;
/** Ends the wait for the lock, or lets go of it. @type {(() => void) | null} */
let letGo = null;
let leading = false;
/** Counts what was begun, so that what is over does nothing more. */
let turn = 0;
let failures = 0;
/** @type {any} */
let retry = 0;
/** @type {any} */
let silence = 0;

/** Begins if this device is paired; if it has begun, takes up what is new about home. */
export async function begin() {
  const home = await knownHome();
  standing.home = home;
  homeNow();
  if (!home || tabs || letGo) return;
  join();
  offerAgain().catch((error) => console.error(error));
  await wait();
}

/** How things stand with home. A page asks for it as soon as it shows anything: what is to be done begins a little later. */
export async function view() {
  standing.home = await knownHome();
  if (standing.home && !letGo) setTimeout(() => { begin().catch((error) => console.error(error)); }, times.later);
  return status();
}

/** The other tabs are told that this device was paired or unpaired; called when this one has ended. */
export function over() {
  if (typeof BroadcastChannel === 'undefined') return;
  const channel = new BroadcastChannel(lock);
  channel.postMessage({ over: true });
  channel.close();
}

/** Ends: nothing more is brought or fetched. */
export async function end() {
  turn += 1;
  clearTimeout(silence);
  silence = 0;
  stopLeading();
  letGo?.();
  letGo = null;
  leading = false;
  tabs?.close();
  elsewhere?.close();
  tabs = elsewhere = null;
  onWaiting(() => {});
  standing.link = null;
  standing.told = null;
}

/** Listens to the other tabs, to the page, and to what is entered here. */
function join() {
  onWoke(({ visible, event }) => woken(visible, event));
  onWaiting((waiting) => { if (leading) running?.waiting(waiting); });
  if (typeof BroadcastChannel === 'undefined') return;
  tabs = new BroadcastChannel(lock);
  tabs.onmessage = ({ data }) => heard(data);
  elsewhere = new BroadcastChannel('needlesight');
  elsewhere.onmessage = async ({ data }) => {
    if (!leading) return;
    if (data.kinds.some((/** @type {string} */ kind) => kind === 'picture' || kind === 'project')) pictures.look();
    running?.waiting((await homeState()).waiting);
  };
}

/** @param {{status?: any, ask?: string, over?: boolean}} data */
function heard({ status, ask, over }) {
  if (over) { end().then(begin); return; } // another tab paired or unpaired
  if (status && !leading) {
    clearTimeout(silence);
    silence = 0;
    standing.told = status;
    homeNow();
  }
  if (ask && leading) {
    if (ask === 'try') tryHere();
    homeNow(true);
  }
}

/** Waits until this tab is to lead, and leads until it is over. @param {boolean} [steal] */
async function wait(steal = false) {
  const mine = ++turn;
  const locks = globalThis.navigator?.locks;
  if (!locks) {
    letGo = () => {};
    if (page.visible) lead();
    return;
  }
  const given = new AbortController();
  /** @type {() => void} */
  let release = () => {};
  const held = new Promise((resolve) => { release = () => resolve(null); });
  letGo = () => { given.abort(); release(); };
  locks.request(lock, steal ? { steal: true } : { signal: given.signal }, async () => {
    if (mine !== turn) return;
    lead();
    await held;
  }).catch((/** @type {unknown} */ error) => {
    // Another tab took it, because this one was asleep: here it is only followed.
    if (mine === turn && /** @type {Error} */ (error).name === 'AbortError') { stopLeading(); leading = false; standing.link = null; wait(); }
  });
  tabs?.postMessage({ ask: 'status' });
}

function lead() {
  leading = true;
  standing.share = (status) => tabs?.postMessage({ status });
  clearTimeout(silence);
  standing.told = null;
  start();
}

/** The engine has room for one of these: another is begun when this one is over. @type {Promise<void> | null} */
let starting = null;

async function start() {
  clearTimeout(retry);
  while (starting) await starting;
  if (running || !leading) return;
  starting = startOnce().finally(() => { starting = null; });
  await starting;
}

async function startOnce() {
  const mine = turn;
  try {
    const home = await knownHome();
    if (!home || mine !== turn || !leading) return;
    standing.home = home;
    if (home.struck) { standing.link = null; homeNow(); return; } // it calls again only when a person asks
    const began = await run(home, { told: (link) => { if (mine === turn && leading) stands(home, link); }, kept, full, died: (error) => { if (mine === turn) again(error); } });
    if (mine === turn && leading) running = began; else began.stop();
  } catch (error) { if (mine === turn) again(error); }
}

/** The engine or the store gave way: it is begun anew from what the store holds. @param {unknown} error null when all is well and only the device's name changed */
function again(error) {
  if (error) console.error(error);
  pictures.stop();
  running?.stop();
  running = null;
  standing.link = null;
  standing.fault = error ? asError(error).code : null;
  failures = error ? failures + 1 : 0;
  clearTimeout(retry);
  retry = setTimeout(start, error ? Math.min(times.longest, times.again * 2 ** (failures - 1)) : 0);
  homeNow();
}

function stopLeading() {
  clearTimeout(retry);
  standing.share = () => {};
  pictures.stop();
  running?.stop();
  running = null;
}

/** @param {Home} home  @param {import('./link-run.js').Standing} link */
function stands(home, link) {
  const before = standing.link;
  standing.link = link;
  if (link.phase === 'joined') {
    standing.fault = null;
    failures = 0;
    if (before?.phase !== 'joined') joined(home, link);
  } else if (before?.phase === 'joined') pictures.stop();
  if (link.code === 'wire-struck' && before?.code !== 'wire-struck') struck(home, true);
  homeNow();
}

/** Home has answered: it may have moved, and it may want pictures. @param {Home} home  @param {import('./link-run.js').Standing} link */
async function joined(home, link) {
  standing.began = { seen: link.seen };
  pictures.begin(home);
  if (home.struck) struck(home, false);
  const itself = await askJSON(home, 'home').catch(() => null);
  if (!itself) return;
  const { name, origins, addresses, house_port } = itself;
  const now = await renewHome(home.token, { name, origins, addresses, house_port }).catch(() => null);
  if (now) { Object.assign(home, now); standing.home = home; homeNow(); }
}

/** @param {Home} home  @param {boolean} is */
async function struck(home, is) {
  home.struck = is;
  await renewHome(home.token, { struck: is }).catch(() => {});
  homeNow();
}

/** The store could not take what home said. */
function full() {
  standing.full = true;
  homeNow();
}

/** What home caused in the store. @param {import('./outbox.js').Keep} keep */
function kept(keep) {
  standing.full = false;
  if (keep.refused.length || keep.again) standing.refused = null;
  if (keep.again) { standing.again = minute(); pictures.look(); }
  if (keep.changes.some(([kind]) => kind === 'picture' || kind === 'project')) pictures.look();
}

/** @param {boolean} visible  @param {string} event */
function woken(visible, event) {
  if (!letGo) { if (visible) begin(); return; } // it may have been paired in another tab
  if (!globalThis.navigator?.locks && visible !== leading) {
    if (visible) lead(); else { stopLeading(); leading = false; standing.link = null; }
  }
  if (visible && event !== 'offline') nudge('wake'); else homeNow();
}

/** A person asks to try now, in whichever tab. */
export async function tryNow() {
  await begin();
  if (leading) await tryHere(); else nudge('try');
  return {};
}

/** Asks the tab that leads; if it is silent, this one takes over. @param {'wake' | 'try'} ask */
function nudge(ask) {
  if (leading) { running?.woke(); pictures.look(); return; }
  tabs?.postMessage({ ask: ask === 'try' ? 'try' : 'status' });
  if (silence || !letGo || !globalThis.navigator?.locks) return;
  silence = setTimeout(() => { silence = 0; if (!leading && letGo) { letGo(); wait(true); } }, times.silence);
}

async function tryHere() {
  pictures.look();
  if (running) { running.woke(); return; }
  if (standing.home?.struck) standing.home = await renewHome(standing.home.token, { struck: false }) ?? null;
  failures = 0;
  await start();
}
