// Rows of the outbox as the engine reads them: a line each, its parts between tabs.

/** @typedef {import('./store.js').Flat} Flat */

const odd = /[<>&\u2028\u2029]/;
const everyOdd = new RegExp(odd, 'g');
const escaped = (/** @type {string} */ sign) => `\\u${sign.charCodeAt(0).toString(16).padStart(4, '0')}`;

/** The same with the names of every object in order. @param {any} value @returns {any} */
function ordered(value) {
  if (typeof value !== 'object' || value === null) return value;
  if (Array.isArray(value)) return value.map(ordered);
  return Object.fromEntries(Object.keys(value).sort().map((name) => [name, ordered(value[name])]));
}

/** A value as JSON in the one way in which it is sent. What this leaves, the engine puts right. @param {unknown} value */
export function canonical(value) {
  const text = JSON.stringify(ordered(value));
  return odd.test(text) ? text.replace(everyOdd, escaped) : text;
}

/** @param {[number, ...Flat][]} rows */
export function lines(rows) {
  let text = '';
  for (const [n, kind, id, field, counter, device, value, base] of rows) {
    text += `${n}\t${kind}\t${id}\t${field}\t${counter}\t${device}\t${canonical(value)}\t${base ? `${base[0]}\t${base[1]}` : '\t'}\n`;
  }
  return text;
}
