// After felting: the form on the scales and under the ruler. What it comes to is said before it is kept.
import { html, nothing } from '../lib/lit-html.js';
import { amount, shareOf } from '../amount.js';
import { ask } from '../ask.js';
import { shapes, sizesOf } from '../bench/fields-forms.js';
import { densityLine, learning } from '../draw/hand.js';
import { formIcon } from '../draw/solids.js';
import { styled } from '../forms-style.js';
import { latest } from '../latest.js';
import { cap, day, sentence, words } from '../words.js';
import '../words-forms.js';
import { dense, density2, grams as gramsText } from '../words-wool.js';
import { lengthTrouble } from './keypad.js';
import { stepper } from './stepper.js';

const w = words.weigh;
const zones = [{ from: 0, to: 0.05, name: 'loose' }, { from: 0.05, to: 0.125, name: 'soft' }, { from: 0.125, to: 0.175, name: 'medium' }, { from: 0.175, to: 0.4, name: 'firm' }, { from: 0.4, to: 1.31, name: 'too-firm' }].map((zone) => ({ ...zone, text: w.zones[zone.name] }));

/** @typedef {{grams: number, shape: string, sizes: Record<string, number>, start_mm: number | null, finish_mm: number | null}} Whole  @typedef {{density: number, called: string, factor: number | null}} Comes */

/** @param {import('../app.js').Stage} stage @returns {import('../app.js').Screen} */
export function open(stage) {
  const [project, form] = stage.path;
  const draft = `weigh:${form}`;
  /** @type {any} */
  let seen = null;
  /** @type {any[]} */
  let weighed = [];
  /** @type {any} */
  let density = null;
  let shape = '';
  /** How many that are alike lie on the scales. */
  let together = 1;
  /** @type {Record<string, string>} */
  let typed = {};
  /** What each length that was typed is, and what is wrong with it. @type {Record<string, {mm: number | null, wrong: string}>} */
  let lengths = {};
  /** @type {{whole: Whole | null, comes: Comes | null, refused: {code?: string} | null}} */
  let now = { whole: null, comes: null, refused: null };
  let wrong = '';
  let busy = false;

  async function load() {
    const first = !seen;
    const [one, hand, before] = await Promise.all([ask('view', { name: 'form', id: form }), ask('view', { name: 'hand' }), first ? ask('drafts', { key: draft }).catch(() => null) : null, styled]);
    seen = one;
    density = hand.density;
    weighed = hand.weighings.filter((/** @type {any} */ other) => other.form === form);
    if (!first) return;
    shape = before?.shape || (sizesOf[/** @type {'ball'} */ (seen.form.kind)].length ? seen.form.kind : 'rounded');
    typed = before?.typed ?? {};
    together = before?.together ?? 1;
    await work();
  }

  const names = () => sizesOf[/** @type {'ball'} */ (shape)];
  const needed = () => names().filter((name) => !(shape === 'egg' && name === 'depth'));

  /** Reads all lengths, then asks what they come to; what was typed over meanwhile is forgotten. */
  async function work() {
    const asked = JSON.stringify([shape, together, typed]);
    const values = { ...typed };
    const fields = [...names(), 'start', 'finish'].filter((name) => values[name]?.trim());
    const read = Object.fromEntries(await Promise.all(fields.map(async (name) => {
      try { return [name, { mm: (await ask('engine', { method: 'parse-length', request: { text: values[name], unit: seen.settings.unit } })).mm, wrong: '' }]; } catch (error) { return [name, { mm: null, wrong: lengthTrouble(error) }]; }
    })));
    if (asked !== JSON.stringify([shape, together, typed])) return;
    lengths = read;
    const whole = wholeOf(values);
    let [comes, refused] = /** @type {[Comes | null, any]} */ ([null, null]);
    if (whole) try { comes = await ask('tryWeighing', whole); } catch (error) { refused = error; }
    if (asked === JSON.stringify([shape, together, typed])) now = { whole, comes, refused };
  }

  const understand = latest(async (/** @type {unknown} */ _) => { await work(); stage.draw(); });

  /** All of it, once nothing is missing. @param {Record<string, string>} asked @returns {Whole | null} */
  function wholeOf(asked) {
    const grams = amount(asked.grams ?? '');
    if (grams === null || !(grams > 0) || needed().some((name) => !lengths[name]?.mm)) return null;
    const [start, finish] = [lengths.start?.mm ?? null, lengths.finish?.mm ?? null];
    const both = start !== null && finish !== null;
    return { grams: shareOf(grams, together), shape, sizes: Object.fromEntries(names().filter((name) => lengths[name]?.mm).map((name) => [name, Number(lengths[name].mm)])), start_mm: both ? start : null, finish_mm: both ? finish : null };
  }

  /** @param {string} name */
  const put = (name) => (/** @type {Event} */ event) => { typed[name] = /** @type {HTMLInputElement} */ (event.target).value; changed(); };
  function changed() {
    wrong = '';
    ask('draft', { key: draft, value: { shape, together, typed } }).catch(stage.trouble);
    understand(null);
  }

  /** @param {number} n */
  function pieces(n) { together = n; changed(); stage.draw(); }

  /** Why it cannot be kept yet, in a sentence; nothing where it can. */
  function why() {
    const grams = amount(typed.grams ?? '');
    if (grams !== null && Number.isNaN(grams)) return w.wrong_number;
    if (grams !== null && grams <= 0) return w.zero;
    const bad = Object.values(lengths).find((one) => one.wrong);
    if (bad) return bad.wrong;
    const missing = [...(grams === null ? [w.grams] : []), ...needed().filter((name) => !lengths[name]?.mm).map((name) => words.sizes[name])];
    if (missing.length) return w.still(missing);
    return Boolean(lengths.start?.mm) !== Boolean(lengths.finish?.mm) ? w.both : '';
  }

  /** @param {Event} event */
  async function keep(event) {
    event.preventDefault();
    if (busy) return;
    await work();
    wrong = why();
    if (wrong || now.refused || !now.whole) { stage.draw(); return; }
    busy = true;
    try {
      const { comes, whole } = now;
      await ask('weigh', { form, ...whole });
      typed = {};
      together = 1;
      lengths = {};
      now = { whole: null, comes: null, refused: null };
      await ask('draft', { key: draft, value: null });
      stage.tell(w.kept(cap(seen.form.name), comes ? dense(comes.density) : ''), { text: w.all, run: () => { location.hash = `#/hand?back=${encodeURIComponent(`#/weigh/${project}/${form}`)}`; } });
    } catch (error) { wrong = sentence(error); } finally { busy = false; stage.draw(); }
  }

  /** @param {string} id  @param {boolean} struck */
  async function strike(id, struck) {
    try {
      await ask('strike', { kind: 'weighing', id, struck });
      if (struck) stage.tell(w.struck, { text: words.put_back, run: () => strike(id, false) });
    } catch (error) { stage.trouble(error); }
  }

  function view() {
    return html`<div class="head"><h1 tabindex="-1">${w.title(cap(seen.form.name))}</h1><p class="sub">${w.sub}</p></div>
      <form class="columns weigh-screen" @submit=${keep} novalidate><div class="stack">${scales()}${sizes()}${start()}</div><div class="stack">${result()}${list()}</div></form>`;
  }

  function scales() {
    return html`<section class="card stack"><label class="field weight">${w.grams}<span class="weight-row"><input type="text" inputmode="decimal" enterkeyhint="next" autocomplete="off" name="grams" placeholder="0" aria-label=${w.grams_label} .value=${typed.grams ?? ''} @input=${put('grams')}><span class="typed-unit">${w.unit}</span></span></label>
      ${stepper({ id: 'together', name: w.together, text: w.together_text(together), less: () => pieces(together - 1), more: () => pieces(together + 1), least: together <= 1, most: together >= 50, labels: { less: w.together_less, more: w.together_more } })}
      <p class="sub small">${together > 1 && now.whole ? w.each(now.whole.grams) : w.scale_hint}</p><p class="sub small">${seen.form.core_text ? w.planned_core(seen.form.core_text) : w.no_plan}</p></section>`;
  }

  function sizes() {
    const planned = Object.fromEntries(seen.form.sizes.map((/** @type {any} */ size) => [size.name, size.text ?? '']));
    return html`<section class="card stack"><h2>${w.sizes}</h2><p class="sub">${w.sizes_hint}</p>
      <label class="field">${w.shape}<select name="shape" @change=${(/** @type {Event} */ event) => { shape = /** @type {HTMLSelectElement} */ (event.target).value; changed(); }}>
        ${shapes.filter((kind) => sizesOf[kind].length).map((kind) => html`<option value=${kind} ?selected=${kind === shape}>${kind === seen.form.kind ? w.as_planned(words.shapes[kind]) : words.shapes[kind]}</option>`)}</select></label>
      <div class="size-fields">${names().map((name) => field(name, words.sizes[name], planned[name] || (name === 'depth' && shape === 'egg' ? w.as_width : '')))}</div></section>`;
  }

  /** @param {string} name  @param {string} label  @param {string} placeholder */
  const field = (name, label, placeholder) => html`<div><label class="field">${label}<input type="text" inputmode="decimal" autocomplete="off" name=${name} placeholder=${placeholder} .value=${typed[name] ?? ''} @input=${put(name)}></label>${lengths[name]?.wrong ? html`<p class="wrong" role="alert">${lengths[name].wrong}</p>` : nothing}</div>`;

  function start() {
    return html`<section class="card stack"><h2>${w.start}</h2><p class="sub">${w.start_hint}</p><div class="size-fields">${field('start', w.rolled, '')}${field('finish', w.felted, '')}</div>
      ${now.comes?.factor ? html`<p>${cap(w.factor(now.comes.factor))}</p>` : nothing}</section>`;
  }

  function result() {
    const { comes, refused } = now;
    const called = comes ? w.called[comes.called] : '';
    return html`<section class=${refused ? 'card bad stack' : comes && ['loose', 'too-firm'].includes(comes.called) ? 'card look stack weigh-result' : 'card stack weigh-result'} data-testid="comes-to" aria-live="polite">
      ${refused ? html`<h2>${refused.code === 'too-dense' ? w.too_dense : w.refused}</h2><p>${sentence(refused)}</p>`
      : comes ? html`<p class="big">${w.comes(comes.density)}</p><p>${cap(called)}</p>${densityLine(comes.density, comes.called, zones, w.line(comes.density, called))}`
      : html`<p class="sub">${wrong ? nothing : w.waiting}</p>`}
      ${wrong ? html`<p class="wrong" role="alert">${wrong}</p>` : nothing}
      <button class="btn go full" data-testid="keep-weighing" ?disabled=${busy}>${w.keep}</button></section>`;
  }

  function list() {
    return html`<section class="card flush"><h2 class="card-title">${w.done}</h2>${weighed.length ? html`<ul>${weighed.map(row)}</ul>` : html`<p class="card-line sub">${w.none}</p>`}
      ${density.n ? html`<div class="card-line">${learning(density, { text: density2, label: words.hand.chart(words.hand.density, density.n, dense(density.mean), dense(density.default)) })}<p>${w.now(density.mean, density.n)}</p><p class="sub small">${words.hand.key(density2(density.default))}</p></div>` : nothing}
      <div class="card-line"><a class="btn full" href=${`#/hand?back=${encodeURIComponent(location.hash)}`}>${formIcon('scales', 20)}${w.all}</a></div></section>`;
  }

  /** @param {any} one */
  function row(one) {
    const text = w.row(gramsText(one.grams), one.density ? dense(one.density) : w.struck_row);
    return html`<li><div class=${one.struck ? 'item still struck-out' : 'item still'} data-weighing=${one.id}><span><span class="reading-value nowrap">${text}</span><br><span class="sub small">${[day(one.made), one.start_text ? w.was(one.start_text, one.finish_text) : ''].filter(Boolean).join(', ')}</span></span>
      <button type="button" class="btn end" aria-label=${one.struck ? w.back_label(text) : w.strike_label(text)} @click=${() => strike(one.id, !one.struck)}>${one.struck ? words.put_back : w.strike}</button></div></li>`;
  }

  return { get title() { return seen ? w.title(cap(seen.form.name)) : ''; }, get back() { return { href: `#/form/${project}/${form}`, text: seen ? cap(seen.form.name) : words.back }; }, load, view };
}
