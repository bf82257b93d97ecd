// The home this device is paired with, as the store knows it.
import { Trouble } from './codes.js';
import { jot, read, write } from './store.js';

/**
 * What home tells of itself.
 * @typedef {{name: string, origins: string[], addresses: string[], house_port: number, epoch?: string, version?: string}} Itself
 * A home: the device's id and name there, its token, and where home is. `struck` when home said that this device is struck off.
 * @typedef {{id: string, token: string, called: string, name: string, origins: string[], addresses: string[], house_port: number, paired: string, struck?: boolean}} Home
 */

/** @returns {Promise<Home | null>} */
export const knownHome = async () => await read(['meta'], (tx) => tx.objectStore('meta').get('home')) ?? null;

/** @param {Home} home */
export const keepHome = (home) => write(['meta'], (tx) => tx.objectStore('meta').put(home, 'home'));

/** Forgets home: its token, its name, where it is. What was entered or fetched stays. */
export const forgetHome = () => write(['meta'], async (tx) => { await tx.objectStore('meta').delete('home'); await tx.objectStore('meta').delete('heard'); });

/** Changes what is known of this home, unless it is known no more. @param {string} token  @param {Partial<Home>} news @returns {Promise<Home | null>} */
export function renewHome(token, news) {
  return write(['meta'], async (tx) => {
    const meta = tx.objectStore('meta');
    const home = await meta.get('home');
    if (home?.token !== token) return null;
    const now = { ...home, ...news };
    await meta.put(now, 'home');
    return now;
  });
}

/** When home was last heard, by the clock of this device. @returns {Promise<string | null>} */
export const lastHeard = async () => await read(['meta'], (tx) => tx.objectStore('meta').get('heard')) ?? null;

/** @param {string} minute */
export const noteHeard = (minute) => jot(['meta'], (tx) => tx.objectStore('meta').put(minute, 'heard'));

/** Where home can be found, the place this app came from first. @param {Home | null} home @returns {string[]} origins */
export function places(home) {
  const own = globalThis.location.origin;
  if (!home?.house_port || !own.startsWith('https:')) return [own];
  const others = home.addresses.map((address) => `https://${address.includes(':') ? `[${address}]` : address}:${home.house_port}`);
  return [...new Set([own, ...others])];
}

/** @returns {Promise<Home>} */
export async function needHome() {
  const home = await knownHome();
  if (!home) throw new Trouble('not-paired');
  return home;
}

/**
 * How things stand with home.
 * @typedef {object} Status
 * @property {boolean} paired
 * @property {boolean} struck              home takes nothing more from this device
 * @property {string | null} name          of home
 * @property {{id: string, name: string} | null} device  this one, as home knows it
 * @property {'none' | 'home' | 'waiting' | 'away' | 'bringing' | 'fetching' | 'stopped'} state
 *   not paired; all home; not connected, with or without something to bring; bringing; fetching; a person is needed
 * @property {string | null} why           a code with a sentence; 'offline' or 'not-found' while home is not found
 * @property {number} changes              to be brought home
 * @property {number} pictures             to be brought home
 * @property {number | null} share         0 to 1, of what is being brought or fetched
 * @property {number | null} fetch         changes that home has and this device not yet
 * @property {string | null} since         the minute in which home was last heard
 * @property {number | null} next_try_s
 * @property {{kind: string, id: string, field: string, code: string}[]} refused  what home did not take
 * @property {boolean} again               home was put back to an older state, and is being given everything anew
 * @property {{thumbs: number, full: number, quota: number | null}} room  bytes that pictures take here
 */

/** @type {Status} */
export const none = Object.freeze({
  paired: false, struck: false, name: null, device: null, state: 'none', why: null, changes: 0, pictures: 0, share: null, fetch: null, since: null, next_try_s: null,
  refused: [], again: false, room: { thumbs: 0, full: 0, quota: null },
});
