// One size of a form: typed, or as long as a part, which it then follows.
import { html, nothing } from '../lib/lit-html.js';
import { ask } from '../ask.js';
import { cap, sentence, words } from '../words.js';
import '../words-forms.js';
import { sheet } from './sheet.js';

const w = words.form;

/** @typedef {import('../bench/fields-forms.js').SizeName} SizeName  @typedef {import('../bench/solids.js').SizeView} SizeView */

/** The sizes of a form as they are kept. @param {SizeView[]} sizes @returns {Record<string, any>} */
export function keptSizes(sizes) {
  const kept = sizes.map((size) => {
    if (size.part) return [size.name, { part: size.part, ...(size.times ? { times: size.times } : {}) }];
    return size.mm === null ? null : [size.name, { mm: size.mm, ...(size.typed ? { typed: size.typed } : {}) }];
  });
  return Object.fromEntries(kept.filter((one) => one !== null));
}

/** A length as it was typed, in mm. @param {string} text @returns {Promise<number>} */
export async function typedLength(text) {
  const { unit } = await ask('settings', {});
  return (await ask('engine', { method: 'parse-length', request: { text, unit } })).mm;
}

/** @param {import('../app.js').Stage} stage  @param {() => any} seen what the view of the form says */
export function sizeSheet(stage, seen) {
  /** @type {{name: SizeName, way: 'typed' | 'bound', typed: string, part: string, times: string, wrong: string} | null} */
  let me = null;
  const panel = sheet(stage, 'form-size', () => words.sizes[me?.name ?? 'length'], content);

  /** @param {SizeName} name */
  function open(name) {
    const { form } = seen();
    const size = form.sizes.find((/** @type {SizeView} */ one) => one.name === name);
    me = { name, way: size.part ? 'bound' : 'typed', typed: size.part ? '' : size.typed ?? size.text ?? '', part: size.part ?? '', times: size.times ? String(size.times) : '', wrong: '' };
    panel.open();
  }

  /** @param {unknown} value the size, or null for none */
  async function keep(value) {
    const { form } = seen();
    const { [/** @type {string} */ (me?.name)]: before, ...others } = keptSizes(form.sizes);
    void before;
    await ask('set', { kind: 'form', id: form.id, field: 'sizes', value: value === null ? others : { ...others, [/** @type {string} */ (me?.name)]: value } });
    panel.close();
  }

  /** @param {() => Promise<void>} act */
  async function tried(act) {
    try { await act(); } catch (error) { if (me) me.wrong = sentence(error); stage.draw(); }
  }

  /** @param {Event} event */
  function save(event) {
    event.preventDefault();
    if (!me) return;
    const { way, typed, part, times } = me;
    tried(async () => {
      if (way === 'typed') { await keep(typed.trim() ? { mm: await typedLength(typed), typed: typed.trim() } : null); return; }
      const factor = times.trim() ? Number(times.replace(',', '.')) : 1;
      await keep({ part, ...(factor === 1 ? {} : { times: factor }) });
    });
  }

  /** @param {'typed' | 'times' | 'part'} field */
  const put = (field) => (/** @type {Event} */ event) => { if (me) { me[field] = /** @type {HTMLInputElement} */ (event.target).value; me.wrong = ''; stage.draw(); } };

  function content() {
    if (!me) return nothing;
    const { way, name } = me;
    const parts = seen().parts.filter((/** @type {any} */ part) => part.mm || part.id === me?.part);
    const optional = name === 'depth' && seen().form.kind === 'egg';
    return html`<form class="stack wide-gap" @submit=${save}>
      <div class="seg" role="group" aria-label=${w.ways_label}>${(/** @type {const} */ (['typed', 'bound'])).map((one) => html`<button type="button" aria-pressed=${way === one} @click=${() => { if (me) { me.way = one; me.part ||= parts[0]?.id ?? ''; me.wrong = ''; stage.draw(); } }}>${w[one]}</button>`)}</div>
      ${way === 'typed' ? html`<label class="field">${words.sizes[name]}<input type="text" name="size" autocomplete="off" inputmode="text" placeholder=${w.length_example[/** @type {'mm'} */ (seen().settings.unit)] ?? w.length_example.mm} .value=${me.typed} @input=${put('typed')}></label>`
      : parts.length ? html`<label class="field">${w.which}<select name="part" @change=${put('part')}>${parts.map((/** @type {any} */ part) => html`<option value=${part.id} ?selected=${part.id === me?.part}>${cap(part.name)}${part.mm_text ? `, ${part.mm_text}` : ''}</option>`)}</select></label>
        <label class="field">${w.times}<span class="sub small">${w.times_hint}</span><input type="text" name="times" inputmode="decimal" autocomplete="off" placeholder="1" .value=${me.times} @input=${put('times')}></label>` : html`<p class="sub">${w.no_parts}</p>`}
      <p class="wrong" role="alert">${me.wrong}</p>
      ${optional ? html`<button type="button" class="btn full" @click=${() => tried(() => keep(null))}>${w.same_as_width}</button>` : nothing}
      <button class="btn go full" type="submit" ?disabled=${way === 'bound' && !me.part}>${words.keep}</button></form>`;
  }

  return { open, view: panel.view };
}
