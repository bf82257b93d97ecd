// A keypad for numbers as a hand writes them, in reach of one thumb; the system's keyboard stays away.
import { html, nothing } from '../lib/lit-html.js';
import { icon } from '../icons.js';
import { decimalSign } from '../typed.js';
import { sentence, words } from '../words.js';

const w = words.keypad;

/** The keys stay unfocused under a finger, so that Enter on a keyboard goes on meaning what it meant. @param {Event} event */
const still = (event) => event.preventDefault();

/** What is wrong with a length, in a sentence; its place is marked where it was typed, so it is not counted out. @param {unknown} error */
export function lengthTrouble(error) {
  const { code, text } = /** @type {{code?: string, text?: string}} */ (error);
  if (code === 'out-of-range') return w.out_of_range;
  return code === 'not-a-length' && text ? text.replace(/ \(character \d+\)/, '') : sentence(error);
}

/**
 * @param {object} pad
 * @param {{id: string, text: string}[]} pad.units
 * @param {string} pad.unit
 * @param {(unit: string) => void} pad.setUnit
 * @param {string} pad.unitLabel
 * @param {number[]} pad.fractions       lower numbers of the fractions there are keys for; none where one writes decimals
 * @param {boolean} pad.left             for the left hand
 * @param {(key: import('../typed.js').Key) => void} pad.press
 * @param {{text: string, run: () => void}} [pad.go]   a key of the screen's own, lowest under the thumb
 */
export function keypad({ units, unit, setUnit, unitLabel, fractions, left, press, go }) {
  const key = (/** @type {import('../typed.js').Key} */ name, /** @type {unknown} */ face, label = '', kind = '') => html`<button class=${`key ${kind}`} data-key=${name} @mousedown=${still} @click=${() => press(name)}>${face}${label ? html` <span class="unseen">${label}</span>` : nothing}</button>`;
  const digit = (/** @type {number} */ n) => key(`digit ${n}`, n);
  const side = fractions.length || go ? html`<div class="side-keys">
    ${fractions.length ? key('and', html`<span class="gap-face" aria-hidden="true">1<i></i>½</span>`, w.and, 'tool') : nothing}${key('clear', w.clear, '', 'tool')}
    ${go ? html`<button class="key go" data-key="go" @mousedown=${still} @click=${go.run}>${go.text}</button>` : nothing}</div>` : nothing;
  return html`<div class=${`keypad${left ? ' left' : ''}`} role="group" aria-label=${w.label}>
    <div class="seg" role="group" aria-label=${unitLabel}>${units.map((one) => html`<button aria-pressed=${one.id === unit} @mousedown=${still} @click=${() => setUnit(one.id)}>${one.text}</button>`)}</div>
    ${fractions.length ? html`<div class="overs" role="group" aria-label=${w.over_label}>${fractions.map((of) => key(`over ${of}`, html`<i>/</i>${of}`, w.over(of)))}</div>` : nothing}
    <div class="keys"><div class="digits">${[1, 2, 3, 4, 5, 6, 7, 8, 9].map(digit)}${key('decimal', decimalSign, w.decimal)}${digit(0)}${key('back', icon('erase', 28), w.back, 'tool')}</div>${side}</div>
  </div>`;
}
