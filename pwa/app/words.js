// Every text a person reads, in one place, in plain words. Numbers go through Intl.

const locale = typeof navigator === 'undefined' ? 'en' : navigator.language;
const numbers = new Map();

/** A number as people here write it. @param {number} value  @param {number} [digits] at most this many decimals */
export function num(value, digits = 2) {
  if (!numbers.has(digits)) numbers.set(digits, new Intl.NumberFormat(locale, { maximumFractionDigits: digits }));
  return numbers.get(digits).format(value);
}
/** A share, 0.036 as 3.6 %. @param {number} share  @param {number} [digits] */
export const percent = (share, digits = 0) => new Intl.NumberFormat(locale, { style: 'percent', maximumFractionDigits: digits }).format(share);
/** A day as people here write it. @param {string} iso */
export function day(iso) {
  const when = new Date(iso);
  return Number.isNaN(when.getTime()) ? iso : new Intl.DateTimeFormat(locale, { day: 'numeric', month: 'short', year: 'numeric' }).format(when);
}
/** How many of something. @param {number} n  @param {string} one  @param {string} many */
export const count = (n, one, many) => `${num(n, 0)} ${n === 1 ? one : many}`;
/** A list of names: a, b and c. @param {string[]} names */
export const listed = (names) => new Intl.ListFormat(locale === 'en' ? 'en' : 'en', { type: 'conjunction' }).format(names);

const glyphs = /** @type {Record<string, string>} */ ({ '1/2': '½', '1/3': '⅓', '2/3': '⅔', '1/4': '¼', '3/4': '¾', '1/8': '⅛', '3/8': '⅜', '5/8': '⅝', '7/8': '⅞' });
const lower = /** @type {Record<string, string>} */ ({ '2/4': '1/2', '2/8': '1/4', '4/8': '1/2', '6/8': '3/4' });
/** The fraction left over, as one sign. @param {number} part  @param {number} of */
export function fraction(part, of) {
  if (part === 0) return '';
  const key = `${part}/${of}`;
  return glyphs[lower[key] ?? key] ?? key;
}

/** Says something to a screen reader, politely. @param {string} text */
export function say(text) {
  const at = document.getElementById('say');
  if (at) at.textContent = text;
}

export const words = {
  close: 'Close', cancel: 'Cancel', done: 'Done', keep: 'Keep', undo: 'Undo', back: 'Back', again: 'Try again', show: 'Show', hide: 'Hide', put_back: 'Put back',
  dock: { label: 'Places', projects: 'Animals', count: 'Count', marks: 'Marks', ratio: 'Ratio', more: 'More' },
  kept: { here: 'kept on this phone', pending: 'keeping', trouble: 'not kept: look here' },
  update: { ready: 'A new version is ready.', use: 'Use it now' },
  failed: { title: 'This page would not open', again: 'Open it again' },
};

/** What a person is told for each error code: what is wrong, where, and what helps. The engine's own sentence (with its place) is shown when it says more. */
export const sentences = /** @type {Record<string, string>} */ ({
});

/** The sentence for an error of any kind. @param {unknown} error @returns {string} */
export function sentence(error) {
  const { code, text } = /** @type {{code?: string, text?: string}} */ (error ?? {});
  if (code && sentences[code]) return sentences[code].replace('{text}', text ?? '');
  return text || 'Something went wrong that the app did not expect. What you entered is kept; please try again.';
}
