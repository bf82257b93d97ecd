// What may be set of forms, wools and classes. Apart from the other fields, so that counting does not wait for them.
import { fail } from './codes.js';
import { id, measure, name, oneOf, rings, words } from './fields.js';

export const shapes = /** @type {const} */ (['ball', 'egg', 'cylinder', 'rounded', 'cone', 'frustum', 'teardrop', 'disc', 'block', 'ring', 'ear', 'turned']);
export const stands = /** @type {const} */ (['body', 'head', 'neck', 'leg', 'tail', 'other']);
export const firmness = /** @type {const} */ (['soft', 'medium', 'firm']);
export const stages = /** @type {const} */ (['roll', 'felt', 'join', 'shape', 'coat', 'smooth', 'finish']);
/** The sizes that each kind of solid has. @type {Record<typeof shapes[number], SizeName[]>} */
export const sizesOf = {
  ball: ['width'], egg: ['length', 'width', 'depth'], cylinder: ['length', 'width'], rounded: ['length', 'width'], cone: ['length', 'width'], frustum: ['length', 'width', 'end'],
  teardrop: ['length', 'width'], disc: ['width', 'thickness'], block: ['length', 'width', 'depth'], ring: ['width', 'thickness'], ear: ['length', 'width', 'thickness'], turned: [],
};
const names = /** @type {const} */ (['length', 'width', 'depth', 'end', 'thickness']);

/** @typedef {typeof names[number]} SizeName  @typedef {{mm: number, typed?: string} | {part: string, times?: number}} Size  @typedef {Partial<Record<SizeName, Size | null>>} Sizes */

/** @param {unknown} value  @param {string} at  @param {number} low  @param {number} high */
function between(value, at, low, high) {
  if (typeof value !== 'number' || !Number.isFinite(value)) fail('value-not-number', { at });
  if (value < low || value > high) fail('value-not-allowed', { at, value, low, high });
  return value;
}

/** @param {number} low  @param {number} high  @returns {(value: any, at: string) => any} */
const whole = (low, high) => (value, at) => { if (!Number.isInteger(value)) fail('value-not-number', { at }); return between(value, at, low, high); };

/** @template T @param {(value: any, at: string) => T} rule @returns {(value: any, at: string) => T | null} */
const orNull = (rule) => (value, at) => (value === null ? null : rule(value, at));

/** @param {any} value  @param {string} at @returns {any[]} */
function listed(value, at) {
  if (!Array.isArray(value) || value.length > 100) fail('value-not-allowed', { at });
  return value;
}

/** @param {any} value  @param {string} at @returns {Sizes} */
export function sizes(value, at = 'sizes') {
  const given = Object.entries(value ?? {}).filter(([, size]) => size !== null && size !== undefined);
  return Object.fromEntries(given.map(([key, size]) => [oneOf(key, names, at), sizeIn(size, at)]));
}

/** @param {any} size  @param {string} at @returns {Size} */
function sizeIn(size, at) {
  if (size.part === undefined) return { mm: measure(size.mm, { at }), ...(size.typed === undefined ? {} : { typed: words(size.typed, at) }) };
  return { part: id(size.part, at), ...(size.times === undefined || size.times === null ? {} : { times: between(size.times, at, 0.001, 1000) }) };
}

/** @param {any} value  @param {string} at */
function place(value, at) {
  const number = (/** @type {unknown} */ n) => between(n, at, -1e7, 1e7);
  return { x: number(value.x), y: number(value.y), turn: between(value.turn, at, -10, 10), ...(typeof value.front_x === 'number' ? { front_x: number(value.front_x) } : {}) };
}

/** @param {any} value  @param {string} at */
export const coat = (value, at = 'coat') => listed(value, at).map((share) => ({ wool: id(share?.wool, at), parts: between(share?.parts, at, 0.01, 1000) }));
/** @param {any} value  @param {string} at */
export const needles = (value, at = 'needles') => listed(value, at).map((one) => ({ gauge: name(one?.gauge, at), each: between(one?.each, at, 0, 100) }));

/** @param {any} value  @param {string} at */
function colour(value, at) {
  if (!/^#[0-9a-f]{6}$/.test(String(value))) fail('value-not-allowed', { at, value });
  return String(value);
}

/** Mass, or a price. @param {any} value  @param {string} at */
const amount = (value, at) => measure(value, { zero: true, at });
/** So much wool at once, as the engine takes it. @param {any} value  @param {string} at */
const portion = (value, at) => between(measure(value, { at }), at, 0.1, 1e6);

/** @param {any} value  @param {string} at */
function yesNo(value, at) { return oneOf(value, [true, false], at); }

/** A date of the calendar. @param {any} value  @param {string} at */
function day(value, at) {
  const when = /^\d{4}-\d\d-\d\d$/.test(String(value)) ? new Date(`${value}T00:00Z`) : null;
  // The 30th of February is read as the 2nd of March.
  if (!when || Number.isNaN(when.getTime()) || !when.toISOString().startsWith(value)) fail('value-not-allowed', { at, value });
  return String(value);
}

/** What may be set, by kind and field. @type {Record<string, Record<string, (value: any, at: string) => any>>} */
export const settable = {
  outline: { facing: orNull((value, at) => oneOf(value, ['left', 'right'], at)) },
  form: {
    name, shape: (value, at) => oneOf(value, shapes, at), sizes, rings: orNull(rings), count: whole(1, 100), mirrored: yesNo, stands: (value, at) => oneOf(value, stands, at), place: orNull(place),
    firm: (value, at) => oneOf(value, firmness, at), core: orNull(id), coat, coat_mm: orNull((value, at) => between(value, at, 0.1, 100)), order: (value, at) => between(value, at, -1e7, 1e7),
  },
  wool: {
    name, use: (value, at) => oneOf(value, ['core', 'coat'], at), colour: orNull(colour), price: orNull(amount), price_g: orNull(portion), pack_g: orNull(portion), stock_g: orNull(amount), layer_g_m2: orNull((value, at) => between(value, at, 5, 2000)),
  },
  group: { name, day: orNull(day), makers: whole(1, 200), spare: whole(0, 50), allowance: (value, at) => between(value, at, 0, 2), needles, out: orNull(whole(0, 1e6)), back: orNull(whole(0, 1e6)) },
};

/** The good values of the fields that are given. @param {string} kind  @param {Record<string, any>} fields */
export function checked(kind, fields) {
  return Object.fromEntries(Object.entries(fields).filter(([, value]) => value !== undefined).map(([field, value]) => {
    const rule = settable[kind]?.[field] ?? fail('no-such-field', { kind, field });
    return [field, rule(value, field)];
  }));
}
