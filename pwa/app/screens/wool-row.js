// The row of forms and wool on an animal's screen: its grams come once they are known, and the screen does not wait for them.
import { html, nothing } from '../lib/lit-html.js';
import { ask } from '../ask.js';
import { words } from '../words.js';
import '../words-forms.js';

const w = words.forms;
/** How long the screen has to itself before the second half of the engine is asked, ms. */
const REST = 250;

/** @param {import('../app.js').Stage} stage  @param {string} project */
export function woolRow(stage, project) {
  /** @type {{core: string, coat: string} | null} */
  let grams = null;
  let timer = 0;
  let left = false;

  /** After the screen's own load: the number of forms is known by then. @param {number} forms */
  function load(forms) {
    clearTimeout(timer);
    if (forms) timer = window.setTimeout(weigh, REST); else grams = null;
  }

  async function weigh() {
    try {
      const { total, forms } = await ask('view', { name: 'forms', project });
      const coated = forms.some((/** @type {any} */ form) => form.coat.length);
      grams = total && { core: w.row_core(total.core.text), coat: coated ? w.row_coat(total.coat.text) : '' };
    } catch { grams = null; } // the screen of forms says what is wrong with them
    if (!left) stage.draw();
  }

  /** @param {number} forms */
  const view = (forms) => html`<li><a class="item" href=${`#/forms/${project}`} data-testid="forms"><b class="nowrap">${w.row}</b><span class="end">${!forms ? w.row_none : grams ? html`${grams.core}${grams.coat ? html`<br><span class="sub small">${grams.coat}</span>` : nothing}` : w.row_count(forms)}</span></a></li>`;

  return { load, view, leave() { left = true; clearTimeout(timer); } };
}
