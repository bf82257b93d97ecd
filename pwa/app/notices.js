// The licences of the libraries inside, and the app's own version, from the list that the build makes.

/**
 * @typedef {{name: string, version: string, licence: string, text: string}} Library
 * @typedef {{version: string, own: string, libraries: Library[]}} Notices
 */

/** @returns {Promise<Notices | null>} null when the build left no list */
export async function notices() {
  const answer = await fetch(new URL('./notices.json', import.meta.url));
  return answer.ok ? answer.json() : null;
}

/** The version of the app, or nothing when it is not known. @returns {Promise<string>} */
export async function versionOf() {
  try { return (await notices())?.version ?? ''; } catch { return ''; }
}
