// Which fields a person may set, and what may stand in them: told at once, before anything is written. The same rules are
// kept again, for changes from elsewhere, by the code that checks files.
import { fail } from './codes.js';

const encoder = new TextEncoder();
const biggest = 1e7;

/** A name: trimmed, 1 to 200 bytes, nothing that cannot be seen. @param {unknown} value  @param {string} [at] @returns {string} */
export function name(value, at = 'name') {
  const text = words(value, at);
  if (text === '') fail('name-empty', { at });
  return text;
}

/** A text that may be empty. @param {unknown} value  @param {string} [at] @returns {string} */
export function words(value, at = 'text') {
  const text = String(value ?? '').normalize('NFC').trim();
  if (/[\p{Cc}\u2028\u2029\u202a-\u202e\u2066-\u2069]/u.test(text)) fail('name-control', { at });
  if (/\p{Cs}/u.test(text)) fail('name-control', { at });
  if (encoder.encode(text).length > 200) fail('name-too-long', { at });
  return text;
}

/** A count, or a length in mm. @param {unknown} value  @param {{zero?: boolean, at?: string}} [options] a place may be at the very start @returns {number} */
export function measure(value, { zero = false, at = 'value' } = {}) {
  if (typeof value !== 'number' || !Number.isFinite(value)) fail('value-not-number', { at });
  if (value < 0) fail('value-negative', { at });
  if (value === 0 && !zero) fail('value-zero', { at });
  if (value > biggest) fail('value-too-big', { at, biggest });
  return value;
}

/** @template T @param {T} value  @param {readonly T[]} allowed  @param {string} at @returns {T} */
export function oneOf(value, allowed, at) {
  if (!allowed.includes(value)) fail('value-not-allowed', { at, value, allowed });
  return value;
}

/** @param {unknown} value  @param {string} at @returns {number} */
export function tolerance(value, at = 'tolerance') {
  if (typeof value !== 'number' || !(value > 0 && value < 1)) fail('tolerance-range', { at });
  return value;
}

/** From the eye to the needle or the glass, in mm: what an arm can be, as the engine takes it. @param {unknown} value  @param {string} at @returns {number} */
export function arm(value, at = 'arm_mm') {
  const mm = measure(value, { at });
  if (mm < 100 || mm > 2000) fail('value-not-allowed', { at, value: mm, low: 100, high: 2000 });
  return mm;
}

/** @param {unknown} value  @param {string} at @returns {boolean} */
function yesNo(value, at) { return oneOf(/** @type {boolean} */ (value), [true, false], at); }

/** @param {unknown} value  @param {string} at @returns {string} */
export function id(value, at) {
  if (typeof value !== 'string' || !/^[a-z2-7]{16}$/.test(value)) fail('value-not-allowed', { at });
  return value;
}

/** @param {unknown} value  @param {string} at */
const idOrNull = (value, at) => value === null ? null : id(value, at);

/** @param {any} value  @param {string} at */
function size(value, at) {
  if (value === null) return null;
  return { part: id(value?.part, at), mm: measure(value?.mm, { at }), typed: words(value?.typed, at) };
}

/** @param {unknown} value  @param {string} at */
function order(value, at) {
  if (typeof value !== 'number' || !Number.isFinite(value) || Math.abs(value) > biggest) fail('value-not-number', { at });
  return value;
}

export const methods = /** @type {const} */ (['sight', 'marks', 'ruler']);
export const sides = /** @type {const} */ (['side', 'front', 'top', 'other']);

/** What may be set, by kind and field. @type {Record<string, Record<string, (value: any, at: string) => any>>} */
export const settable = {
  project: { name, animal: words, size, unit: idOrNull, tolerance: (value, at) => value === null ? null : tolerance(value, at) },
  part: { name, axis: (value, at) => oneOf(value, ['length', 'width'], at), order, nailed: yesNo, as: idOrNull },
  place: { name, part: id, from: words },
  piece: { name },
  picture: { name: words, view: (value, at) => value === null ? null : oneOf(value, sides, at) },
};
