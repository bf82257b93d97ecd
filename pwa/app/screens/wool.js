// The wool a project takes: as heaps, by wool, by form; what is in the bag, what is to be bought, and whose hand it is worked out for.
import { html, nothing } from '../lib/lit-html.js';
import { allowances, amount, stepped } from '../amount.js';
import { ask } from '../ask.js';
import { gramRule, needBar, onScales, roundUp } from '../draw/pile.js';
import { formIcon } from '../draw/solids.js';
import { styled } from '../forms-style.js';
import { copy, handOver } from '../handed.js';
import { icon } from '../icons.js';
import { cap, listed, sentence, words } from '../words.js';
import { grams, gramsBetween } from '../words-wool.js';
import '../words-forms.js';
import { sheet } from './sheet.js';
import { stepper } from './stepper.js';

const w = words.wool;

/**
 * @typedef {import('../draw/pile.js').Range & {text: string}} Grams
 * @typedef {import('../bench/solids.js').Wool & {need: Grams, buy_g: number | null, packs: number | null, cost: number | null}} Line
 */

/** @param {import('../app.js').Stage} stage @returns {import('../app.js').Screen} */
export function open(stage) {
  const project = stage.path[0];
  const draft = `wool:${project}`;
  /** @type {any} */
  let seen = null;
  let makers = 1;
  let allowance = 0.2;
  const list = sheet(stage, 'shopping', () => w.list, shopping);

  async function load() {
    if (!seen) {
      const [before] = await Promise.all([ask('drafts', { key: draft }).catch(() => null), styled]);
      makers = Number.isInteger(before?.makers) ? before.makers : 1;
      allowance = allowances.includes(before?.allowance) ? before.allowance : 0.2;
    }
    seen = await ask('view', { name: 'wool', project, makers, allowance });
  }

  /** @param {{makers?: number, allowance?: number}} next */
  async function change(next) {
    makers = next.makers ?? makers;
    allowance = next.allowance ?? allowance;
    stage.draw();
    const mine = JSON.stringify([makers, allowance]);
    try {
      const view = await ask('view', { name: 'wool', project, makers, allowance });
      if (mine === JSON.stringify([makers, allowance])) seen = view;
      await ask('draft', { key: draft, value: { makers, allowance } });
    } catch (error) { stage.trouble(error); }
    stage.draw();
  }

  /** @param {string} typed */
  function typeMakers(typed) {
    const n = amount(typed);
    if (n === null || !Number.isInteger(n) || n < 1 || n > 200) { stage.tell(words.class.wrong.makers); stage.draw(); return; }
    change({ makers: n });
  }

  /** All forms that have none get this wool. @param {import('../bench/solids.js').Wool} wool */
  async function give(wool) {
    const [field, ids] = wool.use === 'core' ? ['core', seen.without] : ['coat', seen.bare];
    try {
      for (const id of ids) await ask('set', { kind: 'form', id, field, value: field === 'core' ? wool.id : [{ wool: wool.id, parts: 1 }] });
      stage.tell(w.given(wool.name, ids.length), { text: words.undo, run: () => takeBack(ids, field) });
    } catch (error) { stage.trouble(error); }
  }

  /** @param {string[]} ids  @param {string} field */
  async function takeBack(ids, field) {
    try { for (const id of ids) await ask('set', { kind: 'form', id, field, value: field === 'core' ? null : [] }); } catch (error) { stage.trouble(error); }
  }

  function view() {
    return html`<div class="head"><h1 tabindex="-1">${w.title}</h1><p class="sub">${w.sub(seen.name, seen.size_text)}</p></div>
      ${!seen.forms.length ? empty() : html`<div class="columns"><div class="stack">${whole()}${along()}</div><div class="stack">${choose()}${bare()}${forms()}${cross()}${used()}${hand()}</div></div>`}${list.view()}`;
  }

  function empty() {
    return html`<div class="stack narrow"><div class="card stack hollow">${formIcon('wool', 56)}<h2>${seen.sized ? w.empty : w.no_size}</h2><p class="sub">${seen.sized ? w.empty_hint : w.no_size_hint}</p></div>
      <a class="btn go full" href=${seen.sized ? `#/forms/${project}` : `#/project/${project}`}>${seen.sized ? w.to_forms : w.to_animal}</a>${links()}</div>`;
  }

  /** The colour of the wool of a kind that is needed most. @param {'core' | 'coat'} use */
  const colour = (use) => {
    const fit = /** @type {Line[]} */ (seen.wools).filter((line) => line.use === use);
    return fit.reduce((most, line) => (line.need.best > (most?.need.best ?? 0) ? line : most), /** @type {Line | null} */ (null))?.colour ?? null;
  };

  function whole() {
    if (seen.trouble) return html`<section class="card bad"><h2>${w.title}</h2><p>${sentence(seen.trouble)}</p></section>`;
    const all = gramsBetween(seen.all);
    return html`<section class="card stack"><h2>${w.takes(seen.name)}</h2>
      ${seen.all.high > 0 ? onScales([{ range: seen.core, colour: colour('core') }, { range: seen.coat, colour: colour('coat') }], all, w.picture(all)) : nothing}
      <dl class="two-figures"><div><dt>${w.core}</dt><dd class="big" data-testid="core">${gramsBetween(seen.core)}</dd></div><div><dt>${w.coat}</dt><dd class="big" data-testid="coat">${seen.coat.high ? gramsBetween(seen.coat) : w.no_coat}</dd></div></dl>
      <p class="sub small">${w.range_why}</p>${seen.wanting ? html`<p class="reminder">${icon('look', 20)}<span>${w.wanting(seen.wanting)}</span></p>` : nothing}</section>`;
  }

  function along() {
    const lines = /** @type {Line[]} */ (seen.wools);
    const edge = roundUp(lines.reduce((most, line) => (line.need.high > most ? line.need.high : most), 0));
    const step = (/** @type {string} */ name) => ({ less: w.less(name), more: w.more(name) });
    return html`<section class="card stack along"><h2>${w.along}</h2>
      ${stepper({ id: 'makers', name: w.makers, text: w.makers_text(makers), less: () => change({ makers: makers - 1 }), more: () => change({ makers: makers + 1 }), least: makers <= 1, most: makers >= 200, type: typeMakers, labels: step(w.makers) })}
      ${stepper({ id: 'allowance', name: w.allowance, text: w.allowance_text(allowance), less: () => change({ allowance: stepped(allowances, allowance, -1) }), more: () => change({ allowance: stepped(allowances, allowance, 1) }), least: allowance <= 0, most: allowance >= 2, labels: step(w.allowance) })}
      ${lines.length ? html`<ul class="wool-lines">${lines.map((line) => row(line, edge))}</ul><div>${gramRule(edge, w.g, w.step)}<p class="sub small">${w.key}</p></div>${cost()}
        <div class="pair"><button class="btn go" data-testid="share-list" @click=${list.open}>${w.list}</button><a class="btn" href=${`#/bag?back=${encodeURIComponent(location.hash)}`}>${w.bag}</a></div>`
      : html`<a class="btn full" href=${`#/bag?back=${encodeURIComponent(location.hash)}`}>${w.bag}</a>`}</section>`;
  }

  /** What is to be bought, as a shop has it. @param {Line} line */
  const bought = (line) => (line.packs && line.pack_g ? w.packs(line.packs, line.pack_g) : grams(line.buy_g ?? 0));

  /** @param {Line} line  @param {number} edge */
  function row(line, edge) {
    const bag = line.stock_g === null ? w.bag_unknown : w.in_bag(line.stock_g);
    return html`<li data-wool=${line.id}><div class="wool-name"><span class="swatch" .style=${line.colour ? `background:${line.colour}` : ''}></span><b>${line.name}</b><span class="end figure">${gramsBetween(line.need)}</span></div>
      ${needBar(line.need, line.stock_g, edge, line.colour, w.bar(line.name, gramsBetween(line.need), bag))}
      <p class="wool-facts"><span class="sub">${[bag, line.buy_g && line.stock_g ? w.short(line.buy_g) : ''].filter(Boolean).join(', ')}</span>${line.buy_g === null ? nothing : line.buy_g ? html`<span class="end"><b>${w.buy(bought(line))}</b><span class="sub">, ${line.cost === null ? w.no_price : w.costs(line.cost)}</span></span>` : html`<span class="end enough">${icon('right', 20)}${w.enough}</span>`}</p></li>`;
  }

  function cost() {
    if (seen.cost === null) return html`<p class="sub small">${w.cost_partly}</p>`;
    return seen.cost ? html`<p class="row"><span>${w.cost}</span><b class="end big">${w.costs(seen.cost)}</b></p>` : seen.wools.some((/** @type {Line} */ line) => line.buy_g) ? nothing : html`<p class="sub">${w.cost_none}</p>`;
  }

  /** The list as it is handed on: plain text, one line for each wool. */
  function listText() {
    const lines = /** @type {Line[]} */ (seen.wools);
    const more = (/** @type {Line} */ line) => [line.packs && line.stock_g && line.buy_g ? w.short(line.buy_g) : '', line.cost ? w.costs(line.cost) : ''].filter(Boolean).join(', ');
    const have = lines.filter((line) => line.buy_g === 0).map((line) => line.name);
    return [
      w.list_title(seen.name, makers, allowance), '',
      ...lines.filter((line) => line.buy_g).map((line) => w.list_buy(line.name, bought(line), more(line))),
      ...lines.filter((line) => line.buy_g === null).map((line) => w.list_ask(line.name, gramsBetween(line.need))),
      ...(have.length ? [w.list_have(listed(have))] : []), ...(seen.cost ? [w.list_cost(seen.cost)] : []),
    ].join('\n').replaceAll('\u00a0', ' ');
  }

  function shopping() {
    return html`<pre class="list-text" data-testid="list-text" tabindex="0">${listText()}</pre>
      <div class=${'share' in navigator ? 'pair' : ''}>${'share' in navigator ? html`<button class="btn go" @click=${() => pass(() => handOver(w.list, listText()))}>${icon('up', 20)}${w.share}</button>` : nothing}
      <button class=${'share' in navigator ? 'btn' : 'btn go full'} data-testid="copy-list" @click=${() => pass(() => copy(listText()))}>${w.copy}</button></div>`;
  }

  /** @param {() => Promise<'shared' | 'copied' | 'left'>} how */
  async function pass(how) {
    try {
      const done = await how();
      if (done !== 'left') stage.tell(done === 'shared' ? w.shared : w.copied);
    } catch { stage.tell(w.not_copied); }
  }

  function choose() {
    if (!seen.without.length) return nothing;
    const cores = seen.bag.filter((/** @type {Line} */ wool) => wool.use === 'core');
    return html`<section class="card look stack"><h2>${w.without(seen.without.length, seen.forms.length)}</h2><p>${cores.length ? w.without_hint : w.no_core}</p>
      ${cores.length ? html`<div class="stack">${cores.map((/** @type {Line} */ wool) => giveButton(wool))}</div>` : html`<a class="btn go full" href=${`#/bag?back=${encodeURIComponent(location.hash)}`}>${w.to_bag}</a>`}</section>`;
  }

  function bare() {
    const coats = seen.bag.filter((/** @type {Line} */ wool) => wool.use === 'coat');
    if (!seen.bare.length || !coats.length || seen.bare.length < seen.forms.length) return nothing;
    return html`<section class="card stack"><h2>${w.bare(seen.bare.length, seen.forms.length)}</h2><p class="sub">${w.bare_hint}</p><div class="stack">${coats.map(giveButton)}</div></section>`;
  }

  /** @param {Line} wool */
  const giveButton = (wool) => html`<button class="btn full give" data-give=${wool.id} @click=${() => give(wool)}><span class="swatch" .style=${wool.colour ? `background:${wool.colour}` : ''}></span>${w.give(wool.name)}</button>`;

  function forms() {
    return html`<section class="card flush"><h2 class="card-title">${w.forms}</h2><ul>${seen.forms.map((/** @type {any} */ form) => html`<li class="form-line"><a class="item" href=${`#/form/${project}/${form.id}`}><span><b>${cap(form.name)}</b><br><span class="sub small">${form.trouble ? sentence(form.trouble) : form.core_text ? amounts(form) : w.form_none}</span></span></a>
      ${form.core_text ? html`<a class="btn" href=${`#/weigh/${project}/${form.id}`} aria-label=${w.weigh_label(form.name)}>${w.weigh}</a>` : nothing}</li>`)}</ul></section>`;
  }

  /** What one of a form takes; a range is not broken at the end of a line. @param {any} form */
  const amounts = (form) => [w.form_core(form.core_text), form.coat_text ? w.form_coat(form.coat_text) : '', form.count > 1 ? w.each(form.count) : ''].filter(Boolean).map((text, i) => html`${i ? ', ' : ''}<span class="nowrap">${text}</span>`);

  function cross() {
    if (!seen.cross) return nothing;
    const { share, apart } = seen.cross;
    const off = w.off(share);
    const near = off === w.off(1);
    return html`<section class=${apart ? 'card look stack' : 'card stack'} data-testid="cross"><h2>${near ? w.cross.as_much : share > 1 ? w.cross.more(off) : w.cross.less(off)}</h2><p>${apart ? (share > 1 ? w.cross.apart_more : w.cross.apart_less) : w.cross.near}</p><p class="sub small">${w.cross.by}</p>
      ${apart ? html`<a class="btn full" href=${`#/forms/${project}`}>${w.look_forms}</a>` : nothing}</section>`;
  }

  function used() {
    if (!seen.used) return nothing;
    const { n, grams: took, planned_g } = seen.used;
    const edge = roundUp(took > planned_g ? took : planned_g);
    const bar = (/** @type {number} */ g) => needBar({ low: g, best: g, high: g }, null, edge, null, grams(g));
    return html`<section class="card stack" data-testid="used"><h2>${w.used}</h2><div class="used-bars"><span>${w.planned_row}</span>${bar(planned_g)}<span>${w.used_row}</span>${bar(took)}</div><p>${w.used_text(n, took, planned_g)}</p></section>`;
  }

  function hand() {
    return html`<section class="card stack"><h2>${w.hand}</h2><p data-testid="whose">${seen.hand.n ? w.hand_yours(seen.hand.mean, seen.hand.n) : w.hand_default(seen.hand.default)}</p></section>${links()}`;
  }

  function links() {
    return html`<ul class="list"><li><a class="item" href=${`#/hand?back=${encodeURIComponent(location.hash)}`}>${formIcon('scales', 26)}<span>${w.to_hand}</span></a></li>
      <li><a class="item" href=${`#/class/${project}`}>${formIcon('class', 26)}<span>${w.class}</span></a></li><li><a class="item" href=${`#/forms/${project}`}>${formIcon('forms', 26)}<span>${w.to_forms}</span></a></li></ul>`;
  }

  return { title: w.title, get back() { return { href: `#/forms/${project}`, text: seen?.name ?? words.back }; }, load, view };
}
