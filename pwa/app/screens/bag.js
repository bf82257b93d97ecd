// The bag: the kinds of wool there are, with what is left of each and what it costs.
import { html, nothing } from '../lib/lit-html.js';
import { amount, layerOf, squareOf, typedAs } from '../amount.js';
import { ask } from '../ask.js';
import { styled } from '../forms-style.js';
import { icon } from '../icons.js';
import { sentence, words } from '../words.js';
import '../words-forms.js';
import { sheet } from './sheet.js';

const w = words.bag;

/** @typedef {import('../bench/solids.js').Wool} Wool  @typedef {'name' | 'stock_g' | 'pack_g' | 'price' | 'price_g' | 'square'} Typed */
const numbers = /** @type {const} */ (['stock_g', 'pack_g', 'price', 'price_g', 'square']);

/** @param {import('../app.js').Stage} stage @returns {import('../app.js').Screen} */
export function open(stage) {
  const from = stage.query.get('back') ?? '';
  /** @type {Wool[]} */
  let wools = [];
  /** What is open to be changed: an id where it is in the bag already. @type {{id: string, use: 'core' | 'coat', colour: string | null, typed: Record<Typed, string>, wrong: string, at: string} | null} */
  let me = null;
  let busy = false;
  const form = sheet(stage, 'wool', () => (me?.id ? me.typed.name || w.name : w.new_title[me?.use ?? 'core']), fields);

  async function load() { [{ wools }] = await Promise.all([ask('view', { name: 'bag' }), styled]); }

  /** @param {Wool | null} wool  @param {'core' | 'coat'} use */
  function begin(wool, use) {
    me = {
      id: wool?.id ?? '', use, colour: wool?.colour ?? (wool ? null : '#d9d2c3'), wrong: '', at: '',
      typed: { name: wool?.name ?? '', stock_g: typedAs(wool?.stock_g), pack_g: typedAs(wool?.pack_g), price: typedAs(wool?.price), price_g: typedAs(wool?.price_g), square: typedAs(squareOf(wool?.layer_g_m2 ?? null)) },
    };
    form.open();
  }

  /** What was typed as it would be kept; says what is wrong of it. @returns {Record<string, any> | null} */
  function read() {
    if (!me) return null;
    const values = Object.fromEntries(numbers.map((name) => [name, amount(/** @type {any} */ (me).typed[name])]));
    if (!me.typed.name.trim()) return wrong(w.wrong.name, 'name');
    const bad = numbers.find((name) => Number.isNaN(values[name]));
    if (bad) return wrong(w.wrong.number, bad);
    if ((values.price === null) !== (values.price_g === null)) return wrong(w.wrong.price_pair, values.price === null ? 'price' : 'price_g');
    const { square, ...rest } = values;
    return { name: me.typed.name.trim(), use: me.use, colour: me.colour, ...rest, layer_g_m2: layerOf(square) };
  }

  /** @param {string} text  @param {string} at @returns {null} */
  function wrong(text, at) {
    if (me) { me.wrong = text; me.at = at; }
    stage.draw();
    const field = /** @type {HTMLElement | null} */ (document.querySelector(`#sheet-wool [name="${at}"]`));
    field?.focus();
    field?.scrollIntoView({ block: 'center' });
    return null;
  }

  /** What the bench refused, in the words of this field. @param {unknown} error */
  function refused(error) {
    const { code, at = '' } = /** @type {{code?: string, at?: string}} */ (error);
    const field = at === 'layer_g_m2' ? 'square' : at;
    if (code === 'value-too-big') return wrong(w.wrong.big, field);
    return wrong(code?.startsWith('value-') || code === 'name-empty' ? w.wrong[/** @type {'name'} */ (at)] ?? sentence(error) : sentence(error), field);
  }

  /** @param {Event} event */
  async function keep(event) {
    event.preventDefault();
    const good = read();
    if (!good || !me || busy) return;
    busy = true;
    try {
      if (!me.id) await ask('addWool', good);
      else for (const [field, value] of Object.entries(good)) await ask('set', { kind: 'wool', id: me.id, field, value });
      form.close();
      me = null;
      stage.tell(w.kept(good.name));
    } catch (error) { refused(error); } finally { busy = false; }
  }

  async function bin() {
    if (!me) return;
    const { id, typed: { name } } = me;
    try {
      await ask('bin', { kind: 'wool', id, binned: true });
      form.close();
      stage.tell(w.binned(name), { text: words.undo, run: () => { ask('bin', { kind: 'wool', id, binned: false }).catch(stage.trouble); } });
    } catch (error) { stage.trouble(error); }
  }

  function view() {
    return html`<div class="head"><h1 tabindex="-1">${w.title}</h1><p class="sub">${w.sub}</p></div>
      ${wools.length ? html`<div class="columns bag-screen">${/** @type {const} */ (['core', 'coat']).map(part)}</div>`
      : html`<div class="stack narrow"><div class="card stack hollow">${wisp(null, 72)}<h2>${w.empty}</h2><p class="sub">${w.empty_hint}</p></div>
        <button class="btn go full" data-testid="add-core" @click=${() => begin(null, 'core')}>${icon('plus', 20)}${w.add_use.core}</button><button class="btn full" data-testid="add-coat" @click=${() => begin(null, 'coat')}>${icon('plus', 20)}${w.add_use.coat}</button></div>`}${form.view()}`;
  }

  /** @param {'core' | 'coat'} use */
  function part(use) {
    const mine = wools.filter((wool) => wool.use === use);
    return html`<section class="card flush"><div class="card-title"><h2>${w.uses[use]}</h2><p class="sub small">${w.uses_hint[use]}</p></div>
      ${mine.length ? html`<ul>${mine.map(row)}</ul>` : html`<p class="card-line">${w.none[use]}</p>`}
      <div class="card-line"><button class="btn full" data-testid=${`add-${use}`} @click=${() => begin(null, use)}>${icon('plus', 20)}${w.add_use[use]}</button></div></section>`;
  }

  /** @param {Wool} wool */
  function row(wool) {
    const facts = [w.price(wool.price, wool.price_g), wool.layer_g_m2 ? w.layer(wool.layer_g_m2) : ''].filter(Boolean).join(' · ');
    return html`<li><button class="item" data-wool=${wool.id} @click=${() => begin(wool, wool.use)}>${wisp(wool.colour, 44)}<span><b>${wool.name}</b><br><span class="sub small">${facts}</span></span><span class=${`end${wool.stock_g === 0 ? ' none-left' : ''}`}>${w.stock(wool.stock_g)}</span></button></li>`;
  }

  /** @param {Typed} name  @param {string} label  @param {unknown} [hint] */
  const number = (name, label, hint = nothing) => html`<div><label class="field">${label}<input type="text" inputmode="decimal" autocomplete="off" name=${name} .value=${me?.typed[name] ?? ''} aria-invalid=${me?.at === name ? 'true' : 'false'} @input=${put(name)}>${hint}</label>${me?.at === name ? html`<p class="wrong" role="alert">${me.wrong}</p>` : nothing}</div>`;
  /** @param {Typed} name */
  const put = (name) => (/** @type {Event} */ event) => { if (!me) return; me.typed[name] = /** @type {HTMLInputElement} */ (event.target).value; me.at = me.wrong = ''; stage.draw(); };
  /** @param {string | null} colour */
  const wear = (colour) => () => { if (me) { me.colour = colour; stage.draw(); } };

  function fields() {
    if (!me) return nothing;
    const { use, colour, typed } = me;
    const square = amount(typed.square);
    const layer = square !== null && square > 0 ? layerOf(square) : null;
    return html`<form class="stack wide-gap wool-form" @submit=${keep} novalidate>
      <label class="field">${w.name}<input type="text" name="name" maxlength="80" autocomplete="off" placeholder=${w.name_example[use]} .value=${typed.name} @input=${put('name')}></label>${me.at === 'name' ? html`<p class="wrong" role="alert">${me.wrong}</p>` : nothing}
      <div class="setting" role="group" aria-label=${w.use}><div class="seg">${/** @type {const} */ (['core', 'coat']).map((one) => html`<button type="button" aria-pressed=${use === one} @click=${() => { if (me) { me.use = one; stage.draw(); } }}>${w.uses[one]}</button>`)}</div></div>
      <div class="setting" role="group" aria-label=${w.colour}><b>${w.colour}</b>${swatches(w.undyed, w.colours, colour)}${swatches(w.dyed, w.dyes, colour)}
        <label class="own-colour"><input type="color" name="colour" .value=${colour ?? '#d9d2c3'} @input=${(/** @type {Event} */ event) => wear(/** @type {HTMLInputElement} */ (event.target).value)()}><span>${w.colour_other}</span></label></div>
      <p class="sub small">${w.optional}</p>
      <div class="pair">${number('stock_g', w.stock_label)}${number('pack_g', w.pack_label)}</div>
      <div class="pair">${number('price', w.price_label)}${number('price_g', w.price_g_label)}</div>
      ${number('square', w.square_label, html`<span class="sub small">${layer ? html`<b>${w.square_is(layer)}</b> ` : nothing}${w.square_hint}</span>`)}
      ${me.at && !['name', ...numbers].includes(me.at) || me.wrong && !me.at ? html`<p class="wrong" role="alert">${me.wrong}</p>` : nothing}
      <div class="sheet-foot"><button class="btn go full" data-testid="keep-wool" ?disabled=${busy}>${w.keep}</button></div>
      ${me.id ? html`<button type="button" class="text" data-testid="bin-wool" @click=${bin}>${w.bin}</button>` : nothing}</form>`;
  }

  /** @param {string} label  @param {[string, string][]} colours  @param {string | null} at */
  const swatches = (label, colours, at) => html`<div class="swatches" role="group" aria-label=${label}>${colours.map(([colour, name]) => html`<button type="button" class="swatch-button" aria-pressed=${at === colour} aria-label=${w.swatch(name)} title=${name} @click=${wear(colour)}><span class="swatch" .style=${`background:${colour}`}></span></button>`)}</div>`;

  /** A ball of it. @param {string | null} colour  @param {number} size */
  const wisp = (colour, size) => html`<svg class="wisp" width=${size} height=${size} viewBox="0 0 44 44" aria-hidden="true"><path d="M9 32a7 7 0 01-2-13 8 8 0 018-11 9 9 0 0115 1 8 8 0 018 11 7 7 0 01-3 13 8 8 0 01-12 3 8 8 0 01-14-4z" fill=${colour ?? 'var(--sunk)'} stroke="var(--edge)" stroke-width="2"/><path d="M15 22c0-5 8-5 8 0s-5 5-5 1M25 28c1-4 7-3 6 1" fill="none" stroke="#10171a" stroke-opacity=".32" stroke-width="2" stroke-linecap="round"/></svg>`;

  return { title: w.title, get back() { return from.startsWith('#/') ? { href: from, text: w.back } : { href: '#/settings', text: words.dock.more }; }, load, view };
}
