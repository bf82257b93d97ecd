// The maker's hand: how dense she felts and how much larger she rolls, as her own weighed pieces say.
import { html, nothing } from '../lib/lit-html.js';
import { ask } from '../ask.js';
import { learning } from '../draw/hand.js';
import { formIcon } from '../draw/solids.js';
import { styled } from '../forms-style.js';
import { cap, day, words } from '../words.js';
import '../words-forms.js';
import { dense, density2, grams } from '../words-wool.js';

const w = words.hand;
const v = words.weigh;

/** @param {import('../app.js').Stage} stage @returns {import('../app.js').Screen} */
export function open(stage) {
  const from = stage.query.get('back') ?? '';
  /** @type {any} */
  let seen = null;

  async function load() { [seen] = await Promise.all([ask('view', { name: 'hand' }), styled]); }

  /** @param {string} id  @param {boolean} struck */
  async function strike(id, struck) {
    try {
      await ask('strike', { kind: 'weighing', id, struck });
      if (struck) stage.tell(v.struck, { text: words.put_back, run: () => strike(id, false) });
    } catch (error) { stage.trouble(error); }
  }

  function view() {
    const { density, factor } = seen;
    return html`<div class="head"><h1 tabindex="-1">${w.title}</h1><p class="sub">${w.sub}</p></div>
      ${seen.weighings.length ? html`<div class="columns"><div class="stack">${learned(density, w.density, dense, density2, w.firm)}${learned(factor, w.factor, w.factor_now, density2, factor.n ? '' : w.factor_few)}</div><div class="stack">${list()}</div></div>`
      : html`<div class="stack narrow"><div class="card stack hollow">${formIcon('scales', 56)}<h2>${w.empty}</h2><p class="sub">${w.empty_hint}</p></div>${learned(density, w.density, dense, density2, w.firm)}</div>`}`;
  }

  /** @param {any} one  @param {string} title  @param {(n: number) => string} text  @param {(n: number) => string} short  @param {string} more */
  function learned(one, title, text, short, more) {
    return html`<section class="card stack"><div><h2>${title}</h2><p class="big">${text(one.mean)}</p><p class="sub">${w.from(one.n)}${one.n ? html`<br>${w.between(short(one.low), short(one.high))}` : nothing}</p></div>
      ${learning(one, { text: short, label: w.chart(title, one.n, text(one.mean), text(one.default)) })}<p class="sub small">${one.n ? w.key(short(one.default)) : w.key_none(short(one.default))}</p>${more ? html`<p class="sub small">${more}</p>` : nothing}</section>`;
  }

  function list() {
    return html`<section class="card flush"><h2 class="card-title">${w.list}</h2><ul>${seen.weighings.toReversed().map(row)}</ul></section>`;
  }

  /** @param {any} one */
  function row(one) {
    const text = v.row(grams(one.grams), one.density ? dense(one.density) : v.struck_row);
    return html`<li><div class=${one.struck ? 'item still struck-out' : 'item still'} data-weighing=${one.id}><span><b>${cap(one.form_name) || w.gone}</b><br><span class="reading-value nowrap">${text}</span><br><span class="sub small">${[one.project_name, one.firm && one.firm !== 'medium' ? w.meant[one.firm] : '', day(one.made), one.start_text ? v.was(one.start_text, one.finish_text) : ''].filter(Boolean).join(', ')}</span></span>
      <button class="btn end" aria-label=${one.struck ? v.back_label(text) : v.strike_label(text)} @click=${() => strike(one.id, !one.struck)}>${one.struck ? words.put_back : v.strike}</button></div></li>`;
  }

  return { title: w.title, get back() { return from.startsWith('#/') ? { href: from, text: words.back } : { href: '#/settings', text: words.dock.more }; }, load, view };
}
