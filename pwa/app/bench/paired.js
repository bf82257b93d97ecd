// Whether this device is paired, told without loading anything that only a paired one needs.
import { knownHome, none } from './known-home.js';

/** @typedef {import('./known-home.js').Status} Status */

/** How things stand with home. @returns {Promise<Status>} */
export async function home() {
  if (!await knownHome()) return none;
  return (await import('./link.js')).view();
}

/** Begins to bring things home, if there is a home. */
export async function beginIfPaired() {
  if (await knownHome()) await (await import('./link.js')).begin();
}
