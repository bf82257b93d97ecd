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
