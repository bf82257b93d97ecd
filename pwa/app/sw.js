// The service worker: the app is installed whole or not at all, served from here without asking the network, and a new version is
// used only when the person says so. What no count needs (`later`: the engine of the pictures) is fetched after that. The build
// writes `built` before this: the version, and the address of every file.

const scope = /** @type {any} */ (self);
/** @type {{version: string, files: string[], later: string[]}} */
const { version, files, later } = scope.built ?? { version: '', files: [], later: [] };
const prefix = 'needlesight-';
const mine = prefix + version;
const home = new URL('./', scope.location.href).href;
const here = (/** @type {string} */ file) => new URL(file, home).href;
const urls = new Set(files.map(here));
const rest = new Set(later.map(here));

scope.addEventListener('install', (/** @type {any} */ event) => event.waitUntil(install()));
scope.addEventListener('activate', (/** @type {any} */ event) => event.waitUntil(activate()));
scope.addEventListener('fetch', (/** @type {any} */ event) => { if (event.request.method === 'GET') answer(event); });
scope.addEventListener('message', (/** @type {any} */ event) => { 
  if (event.data === 'use-new-version') scope.skipWaiting();
  if (event.data === 'bring-the-rest') event.waitUntil(bringTheRest());
});

/** All files, or none: a version of which a piece is missing is thrown away, and the old one stays. */
async function install() {
  const cache = await caches.open(mine);
  try {
    const older = await Promise.all((await others()).map((name) => caches.open(name)));
    await Promise.all([...urls].map(async (url) => cache.put(url, await fileAt(url, older))));
  } catch (error) {
    await caches.delete(mine);
    throw error;
  }
  // Who had the rest before the update has it after it, if it can be had; a first visit does not wait for it.
  if ((await others()).length > 0) await fetchTheRest();
}

/** @type {Promise<void> | null} */
let bringing = null;

/** Fetches what is still missing of the rest, once at a time, and tells every page whether all of it is here now. A page asks for it when it is opened. */
function bringTheRest() {
  return bringing ??= fetchTheRest().then(tellPages).finally(() => { bringing = null; });
}

/** @returns {Promise<boolean>} whether all is here */
async function fetchTheRest() {
  const [cache, older] = [await caches.open(mine), await Promise.all((await others()).map((name) => caches.open(name)))];
  const each = await Promise.all([...rest].map(async (url) => {
    try {
      if (!await cache.match(url)) await cache.put(url, await fileAt(url, older));
      return true;
    } catch { return false; } // no network, no room, or a newer version is out: the next opening tries again
  }));
  return each.every(Boolean);
}

/** @param {boolean} whole */
async function tellPages(whole) {
  for (const page of await scope.clients.matchAll({ type: 'window', includeUncontrolled: true })) page.postMessage({ event: 'rest', here: whole });
}

/** The caches of other versions of this app. */
async function others() {
  return (await caches.keys()).filter((name) => name.startsWith(prefix) && name !== mine);
}

/** A file whose name says what is in it is copied from an older version that has it; any other is fetched. @param {string} url  @param {Cache[]} older */
async function fileAt(url, older) {
  const lasting = /\.[0-9a-f]{10}\.\w+$/.test(url);
  if (lasting) for (const cache of older) {
    const there = await cache.match(url);
    if (there) return there;
  }
  const got = await fetch(url, { cache: lasting ? 'default' : 'reload' });
  if (!got.ok || got.redirected) throw new Error(`${url} answered ${got.status}`);
  return got;
}

/** From now on this version: the old ones go, and the pages that are open are this one's. */
async function activate() {
  for (const name of await others()) await caches.delete(name);
  await scope.clients.claim();
}

/** @param {any} event */
function answer(event) {
  const url = new URL(event.request.url);
  url.hash = '';
  url.search = '';
  if (!url.href.startsWith(home)) return;
  const page = event.request.mode === 'navigate' || url.href === `${home}index.html`;
  const wanted = page ? home : url.href;
  if (urls.has(wanted) || rest.has(wanted)) event.respondWith(kept(wanted, event.request));
}

/** @param {string} url  @param {Request} request */
async function kept(url, request) {
  const cache = await caches.open(mine);
  // What belongs to the rest may not be here yet, and a browser short of room may have thrown a file away: then the network is all there is.
  return (await cache.match(url)) ?? fetch(request);
}
