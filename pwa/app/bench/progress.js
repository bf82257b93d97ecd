// How far something long is, told to the page a few times a second; and the way to stop it.
import { fail } from './codes.js';
import { emit } from './events.js';

let stopping = false;
let told = 0;

/** Begins something long. @param {string} what  @returns {(share: number) => void} hears how much is done, 0 to 1; throws when it is to stop */
export function progress(what) {
  stopping = false;
  told = 0;
  return (share) => {
    if (stopping) { stopping = false; fail('stopped'); }
    const now = performance.now();
    if (now - told < 120 && share < 1) return;
    told = now;
    emit('progress', { what, share });
  };
}

/** Stops what is under way, if it still can be. */
export async function stop() { stopping = true; }
