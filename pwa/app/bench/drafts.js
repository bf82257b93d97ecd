// What the thumb is entering, written at once so that it survives a killed tab. Never synced, never exported.
import { fail } from './codes.js';
import { jot, read } from './store.js';

/** Keeps a draft, or drops it when the value is null. @param {{key: string, value: unknown}} what */
export async function draft({ key, value }) {
  if (JSON.stringify(value ?? null).length > 16384) fail('draft-too-big');
  await jot(['drafts'], async (tx) => {
    const drafts = tx.objectStore('drafts');
    await (value === null || value === undefined ? drafts.delete(String(key)) : drafts.put(value, String(key)));
  });
}

/** The draft under this key, or null; all of them by their keys when no key is given. @param {{key?: string}} [what] @returns {Promise<any>} */
export async function drafts({ key } = {}) {
  return read(['drafts'], async (tx) => {
    const store = tx.objectStore('drafts');
    if (key !== undefined) return await store.get(String(key)) ?? null;
    const [keys, values] = await Promise.all([store.getAllKeys(), store.getAll()]);
    return Object.fromEntries(keys.map((one, i) => [String(one), values[i]]));
  });
}
