// A number under the thumb: one button for less, one for more, and where it makes sense it can be typed as well.
import { html } from '../lib/lit-html.js';
import { icon } from '../icons.js';

/**
 * @param {object} one
 * @param {string} one.name      what is stepped, as it is read
 * @param {string} [one.hint]
 * @param {string} one.text      how much it is now
 * @param {() => void} one.less
 * @param {() => void} one.more
 * @param {boolean} [one.least]  there is no less
 * @param {boolean} [one.most]   there is no more
 * @param {(typed: string) => void} [one.type]
 * @param {{less: string, more: string}} one.labels
 * @param {string} [one.id]
 */
export function stepper({ name, hint = '', text, less, more, least = false, most = false, type, labels, id = '' }) {
  /** What is refused is gone again. @param {HTMLInputElement} input */
  const typed = (input) => { const said = input.value; input.value = text; type?.(said); };
  return html`<div class="stepper" role="group" aria-label=${name} data-stepper=${id}><span class="stepper-name"><b>${name}</b>${hint ? html`<span class="sub small">${hint}</span>` : ''}</span>
    <button class="btn square" aria-label=${labels.less} ?disabled=${least} @click=${less}>${icon('minus', 24)}</button>
    ${type ? html`<input type="text" class="stepper-value" inputmode="numeric" autocomplete="off" aria-label=${name} .value=${text} @change=${(/** @type {Event} */ event) => typed(/** @type {HTMLInputElement} */ (event.target))} @focus=${(/** @type {Event} */ event) => /** @type {HTMLInputElement} */ (event.target).select()}>`
      : html`<output class="stepper-value">${text}</output>`}
    <button class="btn square" aria-label=${labels.more} ?disabled=${most} @click=${more}>${icon('plus', 24)}</button></div>`;
}
