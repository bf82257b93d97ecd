// What must be known of home before anything is loaded that only a paired device needs: whether there is one, and what the page tells of
// the world outside: it is looked at again, the network came or went.
import { read } from './store.js';

/** @typedef {{visible: boolean, event: string}} Wake */

/** @type {(wake: Wake) => void} */
let listener = () => {};
/** How the page was last told to be: seen or not. */
export const page = { visible: true };

/** Who brings things home hears of it. @param {typeof listener} f */
export function onWoke(f) { listener = f; }

/** @param {Wake} wake */
export async function woke(wake) {
  page.visible = wake.visible;
  listener(wake);
}

/** Whether this device is paired. @returns {Promise<boolean>} */
export const isPaired = async () => Boolean(await read(['meta'], (tx) => tx.objectStore('meta').get('home')));

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
