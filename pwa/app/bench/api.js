// Asking home by HTTP, wherever it answers.
import { Trouble, fail } from './codes.js';
import { places } from './known-home.js';

/**
 * @typedef {import('./known-home.js').Home} Home
 * @typedef {{method?: string, json?: unknown, body?: BodyInit, headers?: Record<string, string>, ms?: number, fine?: number[]}} Question
 */

/** Where home answered last. */
let found = '';

/** Where home was found by another way. @param {string} origin */
export function foundAt(origin) { found = origin; }

/**
 * Asks home, and gives its answer if it is a good one or its status is among `fine`; else throws what home says is wrong.
 * @param {Home | null} home  @param {string} path below /api/  @param {Question} [question] @returns {Promise<Response>}
 */
export async function askHome(home, path, { method = 'GET', json, body, headers = {}, ms = 15_000, fine = [] } = {}) {
  const all = places(home);
  const order = all.includes(found) ? [found, ...all.filter((origin) => origin !== found)] : all;
  const request = {
    method, body: json === undefined ? body : JSON.stringify(json), cache: /** @type {const} */ ('no-store'), redirect: /** @type {const} */ ('error'), credentials: /** @type {const} */ ('omit'),
    headers: { ...headers, ...(json === undefined ? {} : { 'Content-Type': 'application/json' }), ...(home ? { Authorization: `Bearer ${home.token}` } : {}) },
  };
  for (const origin of order) {
    const answer = await fetch(`${origin}/api/${path}`, { ...request, signal: AbortSignal.timeout(ms) }).catch(() => null);
    if (!answer) continue;
    if (answer.ok || fine.includes(answer.status)) { found = origin; return answer; }
    const told = await answer.json().catch(() => null);
    // Whoever answers otherwise is not home: the page of a café's network, say.
    if (typeof told?.error?.code !== 'string') continue;
    throw new Trouble(told.error.code, { text: told.error.text });
  }
  return fail('home-not-found');
}

/** The same, when the answer is JSON. @param {Home | null} home  @param {string} path  @param {Question} [question] @returns {Promise<any>} */
export async function askJSON(home, path, question) {
  const answer = await askHome(home, path, question);
  return answer.json().catch((error) => fail('home-not-found', {}, error));
}
