// A count as the thumb makes it: whole units, and the part of one left over. No screen, no store: only what a tap or a slide does to it.

/**
 * @typedef {object} Count
 * @property {number} whole
 * @property {number} part                 steps of the fraction taken
 * @property {number} of                   steps in a unit: 3, 4 or 8; 20 for a free slide
 * @property {[number, number][]} past     what stood before each tap and slide, for undo
 */

/** A free slide is drawn and felt in twentieths; the engine is told that no step was set. */
export const FREE = 20;

/** @param {number} denominator 3, 4, 8, or 0 for a free slide @returns {Count} */
export const begin = (denominator) => ({ whole: 0, part: 0, of: denominator || FREE, past: [] });

/** @param {Count} count @param {number} whole @param {number} part @returns {Count} */
function become(count, whole, part) {
  if (whole === count.whole && part === count.part) return count;
  return { ...count, whole, part, past: [...count.past.slice(-199), [count.whole, count.part]] };
}

/** One more unit. @param {Count} count @returns {Count} */
export const more = (count) => (count.whole < 999 ? become(count, count.whole + 1, count.part) : count);

/** The part left over: from 0 to a whole unit, which is then one more. @param {Count} count @param {number} part @returns {Count} */
export function leave(count, part) {
  const within = Math.max(0, Math.min(count.of, part));
  return within === count.of ? become(count, Math.min(999, count.whole + 1), 0) : become(count, count.whole, within);
}

/** What stood before the last tap or slide. @param {Count} count @returns {Count} */
export function undo(count) {
  const last = count.past.at(-1);
  return last ? { ...count, whole: last[0], part: last[1], past: count.past.slice(0, -1) } : count;
}

/** Units in all, as the reading keeps it. @param {Count} count */
export const valueOf = (count) => count.whole + count.part / count.of;
/** @param {Count} count */
export const shareOf = (count) => count.part / count.of;
/** @param {Count} count */
export const isEmpty = (count) => count.whole === 0 && count.part === 0;

/** A kept value as it was counted: wholes and steps. @param {number} value @param {number | null} denominator @returns {{whole: number, part: number, of: number}} */
export function fromValue(value, denominator) {
  const of = denominator || FREE;
  const steps = Math.round(value * of);
  return { whole: Math.floor(steps / of), part: steps % of, of };
}

/** How far a thumb slides for one step of the fraction, px. @param {Count} count */
const slide = (count) => (count.of > 8 ? 12 : count.of > 4 ? 30 : 46);

/** The step of the fraction a slide has reached; a slide alone never makes a whole unit. @param {Count} count @param {number} from the step it began at @param {number} up px */
export const slid = (count, from, up) => Math.max(0, Math.min(count.of - 1, from + Math.round(up / slide(count))));
