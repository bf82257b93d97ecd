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

const fractionWords = /** @type {Record<string, string>} */ ({ '½': 'a half', '⅓': 'a third', '⅔': 'two thirds', '¼': 'a quarter', '¾': 'three quarters', '⅛': 'an eighth', '⅜': 'three eighths', '⅝': 'five eighths', '⅞': 'seven eighths' });
/** More than one of a part, as a unit of counting: head, heads. @param {string} name */
export function plural(name) {
  const low = name.toLowerCase();
  if (/ (across|width|length|height)$/.test(low) || /[^a-z]$/.test(low)) return `${low}s`.replace(/ acrosss$/, ' widths');
  if (/(s|x|ch|sh)$/.test(low)) return `${low}es`;
  return low.endsWith('f') ? `${low.slice(0, -1)}ves` : `${low}s`;
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
  pad: {
    title: 'Count', loose_name: 'no project', loose_unit: 'unit', loose_part: (/** @type {number} */ n) => `Length ${n}`,
    counted_in: (/** @type {string} */ unit) => `counted in ${plural(unit)}`,
    doubt: (/** @type {string} */ u, /** @type {string} */ unit) => `± ${u} ${plural(unit)}`,
    line: (/** @type {number} */ whole, /** @type {string} */ rest) => (rest ? `${count(whole, 'step', 'steps')} of the needle and ${rest}` : `${count(whole, 'step', 'steps')} of the needle`),
    spoken: (/** @type {number} */ whole, /** @type {string} */ rest) => (rest ? (whole ? `${whole} and ${fractionWords[rest] ?? rest}` : fractionWords[rest] ?? rest) : String(whole)),
    tap: (/** @type {string} */ unit) => `Tap: one more ${unit.toLowerCase()}`, slide: 'Slide up: the part that is left over', hold: 'Hold: undo',
    pad_label: (/** @type {string} */ unit, /** @type {string} */ now) => `Add one ${unit.toLowerCase()}. Now ${now}.`,
    less_fraction: 'One step of the fraction less', more_fraction: 'One step of the fraction more',
    step: (/** @type {number} */ of) => (of === 20 ? '1/20' : fraction(1, of)),
    say: 'Say', no_voice: (/** @type {string} */ text) => `${text}. There is no voice on this phone to say it.`,
    skip: 'Skip', keep_then: (/** @type {string} */ next) => `Keep, then ${next.toLowerCase()}`, keep_last: 'Keep, the last',
    kept: (/** @type {string} */ part, /** @type {string} */ text) => `${part} kept: ${text}`,
    nothing_yet: 'Nothing is counted yet. Tap once for each unit, or skip this part.',
    parts: 'Parts', not_yet: 'not counted in this hold', kept_times: (/** @type {number} */ n) => (n === 1 ? 'counted once' : `counted ${n} times`),
    strike: 'Strike out', strike_label: (/** @type {string} */ part, /** @type {string} */ text) => `Strike out ${part} ${text}`, struck: (/** @type {string} */ part) => `${part} struck out.`,
    help_label: 'How to hold the needle',
    over: 'All counted', over_counted: (/** @type {string} */ parts, /** @type {string} */ unit) => `${parts}, in ${plural(unit)}.`, over_none: 'No part was kept in this hold.',
    over_hint: 'A second count of the same parts halves the guesswork. Let the needle down, stretch the arm again and mark the unit afresh.',
    see_proportions: 'See the proportions', see_verdict: 'See what to change', see_loose: 'See what was counted', new_hold: 'New hold, new unit', other_unit: 'Another unit',
    choose: 'What does your thumb mark?', choose_hint: 'Hold the needle at arm’s length and mark one part with the thumb. A short one, like the head, is best: all others are counted in it.',
    view_label: 'Seen from', views: { side: 'Side', front: 'Front', top: 'Top', other: 'Other' },
    no_parts: 'This animal has no parts yet.', add_parts: 'Name its parts', start: (/** @type {string} */ unit) => `Count in ${plural(unit)}`, start_none: 'Choose the unit',
  },
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
