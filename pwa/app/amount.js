// Numbers that a hand types or steps: grams, prices, how many.

/** A typed number: null where nothing is typed, NaN where it is none. A comma before decimals is as good as a point. @param {string} text @returns {number | null} */
export function amount(text) {
  const tidy = text.trim().replace(',', '.');
  if (!tidy) return null;
  return /^[-−]?(\d+\.?\d*|\.\d+)$/.test(tidy) ? Number(tidy.replace('−', '-')) : NaN;
}

/** A kept number as it would be typed. @param {number | null | undefined} n */
export const typedAs = (n) => (n === null || n === undefined ? '' : String(Math.round(n * 1000) / 1000));

/** The next of these values up or down from one; the value itself at the end. @param {readonly number[]} values going up  @param {number} from  @param {1 | -1} way */
export function stepped(values, from, way) {
  const beyond = way > 0 ? values.find((one) => one > from + 1e-9) : values.findLast((one) => one < from - 1e-9);
  return beyond ?? from;
}

/** The shares of wool one may take along beyond the need. */
export const allowances = [0, 0.05, 0.1, 0.15, 0.2, 0.25, 0.3, 0.4, 0.5, 0.75, 1, 1.5, 2];

/** What a square of one layer, 10 by 10 cm, weighs where a square metre weighs so much; and the other way. @param {number | null} g_m2 */
export const squareOf = (g_m2) => (g_m2 === null ? null : g_m2 / 100);
/** @param {number | null} square g */
export const layerOf = (square) => (square === null ? null : Math.round(square * 1000) / 10);

/** The weight of one, where several that are alike lie on the scales together. @param {number} all g  @param {number} n */
export const shareOf = (all, n) => all / n;
