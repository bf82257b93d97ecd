// What the keypad has typed: a number as a hand writes it, whole, decimal or with a fraction. It is text; what it means the engine says.

/** The sign people here put before decimals. */
export const decimalSign = new Intl.NumberFormat(typeof navigator === 'undefined' ? 'en' : navigator.language).formatToParts(1.5).find((part) => part.type === 'decimal')?.value === ',' ? ',' : '.';

/** Everything that can still become a number: 35, 3.5, 20/16, 1 3/16, and each of them half typed. */
const begun = /^(?:\d{0,6}|\d{1,6}[.,]\d{0,3}|\d{1,6} (?:\d{1,3}(?:\/\d{0,2})?)?|\d{1,3}\/\d{0,2})$/;

/** @typedef {'back' | 'clear' | 'and' | 'decimal' | 'slash' | `over ${number}` | `digit ${string}`} Key */

/** The text after a key, the same text when the key does not fit there. @param {string} text @param {Key} key @returns {string} */
export function press(text, key) {
  const [what, which] = key.split(' ');
  switch (what) {
    case 'clear': return '';
    case 'back': return text.replace(/(?:\/\d*|.)$/, '');
    case 'and': return fits(text, `${text} `);
    case 'decimal': return fits(text, `${text || '0'}${decimalSign}`);
    case 'slash': return fits(text, `${text}/`);
    case 'over': return /\d/.test(text) ? fits(text, `${text.replace(/\/\d*$/, '')}/${which}`) : text;
    default: return fits(text, `${text}${which}`.replace(/(^| )0(?=\d)/, '$1'));
  }
}

/** @param {string} text @param {string} longer */
const fits = (text, longer) => (begun.test(longer) ? longer : text);

/** The key of the keypad that a key of a keyboard stands for. @param {string} key @returns {Key | null} */
export function keyFor(key) {
  if (/^\d$/.test(key)) return `digit ${key}`;
  return /** @type {Record<string, Key>} */ ({ '.': 'decimal', ',': 'decimal', '/': 'slash', ' ': 'and', Backspace: 'back', Delete: 'clear' })[key] ?? null;
}

/** Something is still to come: 1, a gap, and no fraction yet. @param {string} text */
export const unfinished = (text) => /[ /]$|^\d+ \d+$/.test(text);
/** The text as it is kept: without a sign that nothing follows. @param {string} text */
export const settled = (text) => text.replace(/[.,]$/, '');
/** The fraction's lower number, if there is one: 16 of 1 3/16. @param {string} text */
export const denominatorOf = (text) => Number(/\/(\d+)$/.exec(text)?.[1] ?? 0);

/** A pairing code as it is read aloud: three groups of three digits; whatever else was typed is left out. @param {string} text */
export const grouped = (text) => text.replace(/\D/g, '').slice(0, 9).replace(/(\d{3})(?=\d)/g, '$1 ');
