// The wool of one form: how firm, its core, and its top coat as a blend by parts.
import { html, nothing } from '../lib/lit-html.js';
import { ask } from '../ask.js';
import { icon } from '../icons.js';
import { cap, sentence, words } from '../words.js';
import '../words-forms.js';
import { typedLength } from './form-size.js';

const w = words.form;

/** @typedef {{wool: string, parts: number}} Share */

/** @param {import('../app.js').Stage} stage  @param {() => any} seen what the view of the form says  @param {(field: string, value: unknown) => Promise<boolean>} put */
export function woolCard(stage, seen, put) {
  let thick = /** @type {string | null} */ (null);
  let wrong = '';

  /** @param {Share[]} coat  @param {string} wool  @param {1 | -1} by */
  function more(coat, wool, by) {
    const next = coat.map((share) => (share.wool === wool ? { wool, parts: by > 0 ? share.parts + 1 : share.parts - 1 } : share)).filter((share) => share.parts > 0);
    return put('coat', next);
  }

  async function thickness() {
    const text = (thick ?? '').trim();
    thick = null;
    try {
      await ask('set', { kind: 'form', id: seen().form.id, field: 'coat_mm', value: text ? await typedLength(text) : null });
      wrong = '';
    } catch (error) { wrong = sentence(error); }
    stage.draw();
  }

  const value = (/** @type {Event} */ event) => /** @type {HTMLInputElement} */ (event.target).value;

  function view() {
    const { form, wools } = seen();
    const cores = wools.filter((/** @type {any} */ wool) => wool.use === 'core' || wool.id === form.core);
    const coats = wools.filter((/** @type {any} */ wool) => wool.use === 'coat');
    const left = coats.filter((/** @type {any} */ wool) => !form.coat.some((/** @type {Share} */ share) => share.wool === wool.id));
    return html`<section class="card stack"><div class="row"><h2>${w.wool}</h2><a class="text end" href="#/bag">${w.bag}</a></div>
      <div class="stack"><b class="label">${w.firm}</b><div class="seg" role="group" aria-label=${w.firm}>${Object.keys(words.firmness).map((one) => html`<button aria-pressed=${form.firm === one} data-firm=${one} @click=${() => put('firm', one)}>${words.firmness[one]}</button>`)}</div><p class="sub small">${w.firm_hints[form.firm]}</p></div>
      ${wools.length ? html`<label class="field">${w.core}<select name="core" @change=${(/** @type {Event} */ event) => put('core', value(event) || null)}><option value="">${w.no_core}</option>${cores.map((/** @type {any} */ wool) => html`<option value=${wool.id} ?selected=${wool.id === form.core}>${wool.name}</option>`)}</select></label>
      <div class="stack"><b class="label">${w.coat}</b>${form.coat.length ? html`<ul class="plain">${form.coat.map((/** @type {Share} */ share) => blend(share, form.coat))}</ul>` : html`<p class="sub small">${coats.length ? w.no_coat : w.coat_none}</p>`}
        ${left.length ? html`<select name="coat" aria-label=${w.add_coat} @change=${(/** @type {Event} */ event) => { const wool = value(event); if (wool) put('coat', [...form.coat, { wool, parts: 1 }]); /** @type {HTMLSelectElement} */ (event.target).value = ''; }}><option value="">${w.add_coat}</option>${left.map((/** @type {any} */ wool) => html`<option value=${wool.id}>${wool.name}</option>`)}</select>` : nothing}
        ${form.coat.length ? html`<label class="field">${w.thick}<span class="sub small">${w.thick_default}</span><input type="text" name="coat-thick" autocomplete="off" placeholder=${w.thick_example[/** @type {'mm'} */ (seen().settings.unit)] ?? w.thick_example.mm} .value=${thick ?? form.coat_mm_text ?? ''} @input=${(/** @type {Event} */ event) => { thick = value(event); }} @change=${thickness}></label><p class="wrong" role="alert">${wrong}</p>` : nothing}</div>`
      : html`<div class="hollow-line"><p class="sub">${w.bag_empty}</p><a class="btn full" href="#/bag">${w.bag}</a></div>`}</section>`;
  }

  /** @param {Share} share  @param {Share[]} coat */
  function blend(share, coat) {
    const wool = seen().wools.find((/** @type {any} */ one) => one.id === share.wool);
    if (!wool) return nothing;
    return html`<li class="blend-row"><span class="swatch" .style=${wool.colour ? `background: ${wool.colour}` : ''}></span><span class="blend-name"><b>${cap(wool.name)}</b><br><span class="sub small">${w.parts(share.parts)}</span></span>
      <button class="btn" aria-label=${w.less_of(wool.name)} @click=${() => more(coat, share.wool, -1)}>${icon('minus', 20)}</button><button class="btn" aria-label=${w.more_of(wool.name)} @click=${() => more(coat, share.wool, 1)}>${icon('plus', 20)}</button></li>`;
  }

  return { view };
}
