// The settings of this device. They are the device's own: never synced, never exported.
import { fail } from './codes.js';
import { changed } from './events.js';
import { arm, measure, oneOf, tolerance } from './fields.js';
import { read, write } from './store.js';

/**
 * @typedef {object} Settings
 * @property {'mm' | 'cm' | 'in'} unit        how lengths are shown
 * @property {16 | 32} inch                   inches are shown to this fraction
 * @property {0 | 2 | 3 | 4 | 8} denominator  the step of a count: halves, thirds, quarters, eighths, or 0 for a slide
 * @property {number} tolerance               what is near enough, when the project has no tolerance of its own
 * @property {number} cost                    what taking away costs when adding costs 1
 * @property {'left' | 'right'} hand
 * @property {boolean} sound
 * @property {boolean} vibration
 * @property {boolean} speech
 * @property {'system' | 'light' | 'dark'} theme
 * @property {number} arm_mm                  from the eye to the needle, arm at full stretch
 * @property {Glass | null} glass              how large a px of this device's glass is, once that was measured
 * @property {boolean} told_of_home           the suggestion to bring things home was put away
 * @property {boolean} cautioned              the cautions for holding the needle have been shown
 */

/**
 * A glass that was measured: CSS px to a mm and the standard uncertainty of that as a share, at this many device px to a CSS px and this size
 * of the screen in CSS px. Where those are others now, it must be measured anew.
 * @typedef {{px_per_mm: number, u_share: number, dpr: number, width: number, height: number}} Glass
 */

/** @type {Settings} */
export const defaults = {
  unit: 'mm', inch: 16, denominator: 4, tolerance: 0.04, cost: 3, hand: 'right', sound: true, vibration: true, speech: false, theme: 'system', arm_mm: 600, glass: null, told_of_home: false, cautioned: false,
};

/** @param {any} value  @param {string} at */
const yesNo = (value, at) => oneOf(value, [true, false], at);

/** @param {any} value  @param {string} at @returns {Glass | null} */
function glass(value, at) {
  if (value === null) return null;
  const within = (/** @type {unknown} */ x, /** @type {number} */ low, /** @type {number} */ high) => {
    const real = measure(x, { at, zero: true });
    if (real < low || real > high) fail('value-not-allowed', { at, value: real, low, high });
    return real;
  };
  // From a wall of televisions to a watch.
  return { px_per_mm: within(value?.px_per_mm, 0.5, 40), u_share: within(value?.u_share, 0, 0.5), dpr: within(value?.dpr, 0.1, 20), width: within(value?.width, 1, 1e5), height: within(value?.height, 1, 1e5) };
}

/** @type {Record<keyof Settings, (value: any, at: string) => unknown>} */
const rules = {
  unit: (value, at) => oneOf(value, ['mm', 'cm', 'in'], at),
  inch: (value, at) => oneOf(value, [16, 32], at),
  denominator: (value, at) => oneOf(value, [0, 2, 3, 4, 8], at),
  tolerance,
  cost: (value, at) => { if (measure(value, { at }) < 1 || value > 100) fail('value-not-allowed', { at, value }); return value; },
  hand: (value, at) => oneOf(value, ['left', 'right'], at),
  sound: yesNo, vibration: yesNo, speech: yesNo, cautioned: yesNo, told_of_home: yesNo,
  theme: (value, at) => oneOf(value, ['system', 'light', 'dark'], at),
  arm_mm: arm, glass,
};

/** @returns {Promise<Settings>} */
export async function settings() {
  const own = await read(['meta'], (tx) => tx.objectStore('meta').get('settings'));
  return { ...defaults, ...own };
}

/** @param {{name: string, value: unknown}} what  @returns {Promise<Settings>} */
export async function setting({ name, value }) {
  if (!Object.hasOwn(rules, name)) fail('no-such-field', { kind: 'setting', field: name });
  const good = rules[/** @type {keyof Settings} */ (name)](value, name);
  const now = await write(['meta'], async (tx) => {
    const meta = tx.objectStore('meta');
    const own = { ...await meta.get('settings'), [name]: good };
    await meta.put(own, 'settings');
    return { ...defaults, ...own };
  });
  changed([], ['setting']);
  return now;
}
