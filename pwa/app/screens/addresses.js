// The addresses under which kept pictures are shown on a page, and given back when it is left.
import { ask } from '../ask.js';
import { sentence } from '../words.js';

/** @param {() => void} draw when one has come, or cannot be had */
export function addresses(draw) {
  /** @type {Map<string, string>} */
  const shown = new Map();
  /** Why one is not shown. @type {Map<string, string>} */
  const missing = new Map();
  /** @type {Set<string>} */
  const asked = new Set();
  let left = false;

  /** Has a picture ready to show. @param {string} hash */
  async function fetch(hash) {
    if (shown.has(hash) || asked.has(hash)) return;
    asked.add(hash);
    try {
      const { bytes, type } = await ask('pictureBytes', { hash });
      if (left) return;
      shown.set(hash, URL.createObjectURL(new Blob([bytes], { type })));
      missing.delete(hash);
    } catch (error) { missing.set(hash, sentence(error)); } finally { asked.delete(hash); }
    if (!left) draw();
  }

  return {
    fetch,
    /** @param {string} hash */
    of: (hash) => shown.get(hash),
    /** @param {string} hash */
    why: (hash) => missing.get(hash),
    leave() {
      left = true;
      for (const address of shown.values()) URL.revokeObjectURL(address);
      shown.clear();
    },
  };
}
