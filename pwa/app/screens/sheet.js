// A sheet that comes up from below and holds the focus until it is closed.
import { html, nothing } from '../lib/lit-html.js';
import { words } from '../words.js';

/**
 * @param {import('../app.js').Stage} stage
 * @param {string} name      of the sheet, for its id
 * @param {() => string} title
 * @param {() => unknown} content   drawn only while it is open
 */
export function sheet(stage, name, title, content) {
  let open = false;
  const element = () => /** @type {HTMLDialogElement | null} */ (document.getElementById(`sheet-${name}`));
  return {
    get isOpen() { return open; },
    open() {
      open = true;
      stage.draw();
      if (!element()?.open) element()?.showModal();
    },
    close() { element()?.close(); },
    view: () => html`<dialog id=${`sheet-${name}`} aria-labelledby=${`sheet-${name}-title`} @close=${() => { open = false; stage.draw(); }}
      @click=${(/** @type {MouseEvent} */ event) => { if (event.target === event.currentTarget) element()?.close(); }}>${open ? html`<div class="stack sheet">
        <div class="row sheet-head"><h2 id=${`sheet-${name}-title`}>${title()}</h2><button class="btn quiet end" @click=${() => element()?.close()}>${words.close}</button></div>
        ${content()}</div>` : nothing}</dialog>`,
  };
}
