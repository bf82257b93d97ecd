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

/** A point on a picture or not far beside it, in px from the outer corner of its first pixel. @typedef {[number, number]} Point */

/** @param {unknown} value  @param {string} at @returns {number} */
function coordinate(value, at) {
  if (typeof value !== 'number' || !Number.isFinite(value)) fail('value-not-number', { at });
  if (value < -65535 || value > 131070) fail('point-outside', { at });
  return value;
}

/** So many points. @param {any} value  @param {number} n  @param {string} at @returns {Point[]} */
export function points(value, n, at) {
  if (!Array.isArray(value) || value.length !== n) fail('points-number', { at, n });
  return value.map((point) => {
    if (!Array.isArray(point) || point.length !== 2) fail('points-number', { at, n: 2 });
    return [coordinate(point[0], at), coordinate(point[1], at)];
  });
}

/** What may be left out. @template T @param {T | null | undefined} value  @param {(value: T) => T} rule @returns {T | null} */
const perhaps = (value, rule) => (value === null || value === undefined ? null : rule(value));

/** How sure a point on a picture is, px. @param {unknown} value  @param {string} at @returns {number} */
export function pinU(value, at = 'pin_px') {
  const px = measure(value, { at });
  if (px > 65535) fail('value-not-allowed', { at, value: px });
  return px;
}

/** How far something stands off the plane, towards the lens, mm. @param {unknown} value  @param {string} at @returns {number} */
export function off(value, at = 'off_mm') {
  if (typeof value !== 'number' || !Number.isFinite(value)) fail('value-not-number', { at });
  if (Math.abs(value) > biggest) fail('value-too-big', { at, biggest });
  return value;
}

/**
 * What gives a picture its scale, as the engine takes it (photo.Plane).
 * @typedef {{kind: 'rectangle', corners: Point[], width_mm: number, height_mm: number, name?: 'id-1' | 'other', corner_px?: number, distance_mm?: number}
 *   | {kind: 'length', ends: Point[], mm: number, typed?: string, end_px?: number, distance_mm?: number}} Plane
 * @param {any} value  @param {string} at @returns {Plane | null}
 */
export function plane(value, at = 'plane') {
  if (value === null) return null;
  const kind = oneOf(value?.kind, ['rectangle', 'length'], at);
  const distance = perhaps(value.distance_mm, (mm) => measure(mm, { at }));
  const more = distance === null ? {} : { distance_mm: distance };
  const u = perhaps(kind === 'rectangle' ? value.corner_px : value.end_px, (px) => pinU(px, at));
  if (kind === 'length') {
    const typed = perhaps(value.typed, (text) => words(text, at));
    return { kind, ends: apart(points(value.ends, 2, at), at), mm: measure(value.mm, { at }), ...(typed === null ? {} : { typed }), ...(u === null ? {} : { end_px: u }), ...more };
  }
  const name = perhaps(value.name, (said) => oneOf(said, ['id-1', 'other'], at));
  const corners = apart(points(value.corners, 4, at), at);
  return { kind, corners, width_mm: measure(value.width_mm, { at }), height_mm: measure(value.height_mm, { at }), ...(name === null ? {} : { name }), ...(u === null ? {} : { corner_px: u }), ...more };
}

/** No two of these in one place. @param {Point[]} all  @param {string} at */
export function apart(all, at) {
  if (new Set(all.map(String)).size < all.length) fail('points-same', { at });
  return all;
}

/** The most that an outline may hold: points, and bytes of its JSON. */
const most = { points: 600, bytes: 8192 };

/**
 * An outline as it is kept: of each ring its points one after the other, to a tenth of a px, or as near to that as there is room for.
 * @param {any} value rings as lists of points, or as they are kept  @param {string} [at] @returns {number[][]}
 */
export function rings(value, at = 'rings') {
  if (!Array.isArray(value) || value.length === 0) fail('ring-short', { at });
  const flat = value.map((ring) => (Array.isArray(ring) ? ring.flat() : []).map((x) => coordinate(x, at)));
  for (const ring of flat) if (ring.length < 6 || ring.length % 2) fail('ring-short', { at });
  const n = flat.reduce((all, ring) => all + ring.length / 2, 0);
  if (n > most.points) fail('outline-too-long', { at, n, most: most.points });
  const kept = [10, 2, 1].map((steps) => flat.map((ring) => ring.map((x) => (Math.round(x * steps) || 0) / steps)));
  return kept.find((rings) => JSON.stringify(rings).length <= most.bytes) ?? fail('outline-too-long', { at, n, most: most.points });
}

/** The subject, or a piece. @param {unknown} value  @param {string} at */
const whom = (value, at) => (value === 'subject' ? value : id(value, at));

/** How a sitting may be begun by itself; one on a photo begins with its first pins. */
export const methods = /** @type {const} */ (['sight', 'marks', 'ruler']);
export const sides = /** @type {const} */ (['side', 'front', 'top', 'other']);

/** What may be set, by kind and field. @type {Record<string, Record<string, (value: any, at: string) => any>>} */
export const settable = {
  project: { name, animal: words, size, unit: idOrNull, tolerance: (value, at) => value === null ? null : tolerance(value, at) },
  part: { name, axis: (value, at) => oneOf(value, ['length', 'width'], at), order, nailed: yesNo, as: idOrNull },
  place: { name, part: id, from: words },
  piece: { name },
  picture: { name: words, view: (value, at) => value === null ? null : oneOf(value, sides, at), of: whom, whose: words, drawn: yesNo, plane },
  outline: { name: words },
};
