// The order of the work, to tick off with woolly fingers: which form first, what is joined to what, with which needle.
import { html, nothing } from '../lib/lit-html.js';
import { ask } from '../ask.js';
import { formIcon, solidPicture } from '../draw/solids.js';
import { tick as feel } from '../feel.js';
import { styled } from '../forms-style.js';
import { icon } from '../icons.js';
import { cap, say, words } from '../words.js';
import '../words-more.js';
import '../words-forms.js';

const w = words.order;

/** @typedef {{stage: string, form: string | null, name: string, kind: string, count: number, core_text: string | null, gauge: string, done: boolean}} Step */

/** The stages that stand together. @type {[string, string[]][]} */
const parts = [['make', ['roll', 'felt']], ['join', ['join']], ['whole', ['shape', 'coat', 'smooth', 'finish']]];

/** @param {import('../app.js').Stage} stage @returns {import('../app.js').Screen} */
export function open(stage) {
  const [project] = stage.path;
  let piece = stage.query.get('piece') ?? '';
  /** @type {any} */
  let seen = null;
  /** The last that was ticked or taken back. @type {Step | null} */
  let last = null;

  async function load() {
    const first = !seen;
    [seen] = await Promise.all([ask('view', { name: 'order', project, ...(piece ? { piece } : {}) }), styled]);
    piece = seen.piece?.id ?? '';
    // The only piece there is will be meant.
    if (first && !piece && seen.pieces.length === 1) { piece = seen.pieces[0].id; await load(); }
  }

  /** @param {Step} step */
  const textOf = (step) => w.steps[step.stage](w.of(step.name, step.count));
  /** @param {Step} step */
  const idOf = (step) => `${step.stage}-${step.form ?? 'all'}`;

  /** @param {Step} step  @param {boolean} done */
  async function tick(step, done) {
    try {
      await ask('tick', { project, piece: piece || null, form: step.form, stage: step.stage, done });
      last = { ...step, done };
      feel(done ? 'keep' : 'undo', seen.settings);
      say((done ? w.ticked : w.unticked)(textOf(step)));
    } catch (error) { stage.trouble(error); }
    stage.draw();
  }

  function undo() { if (last) tick(last, !last.done); }

  /** @param {string} id */
  async function choose(id) {
    piece = id;
    last = null;
    history.replaceState(null, '', id ? `#/order/${project}?piece=${id}` : `#/order/${project}`);
    try { await load(); } catch (error) { stage.trouble(error); }
    stage.draw();
  }

  function view() {
    if (!seen.steps.length) return html`<div class="head"><h1 tabindex="-1">${w.title}</h1></div><div class="stack narrow"><div class="card stack hollow">${formIcon('order', 56)}<h2>${w.empty}</h2><p class="sub">${w.empty_hint}</p></div><a class="btn go full" href=${`#/forms/${project}`}>${w.to_forms}</a></div>`;
    return html`<div class="head"><h1 tabindex="-1">${w.title}</h1><p class="sub">${w.sub(seen.name)}</p></div>
      <div class="stack order-screen" @keydown=${onTick}>${whose()}${progress()}<div class="columns"><div class="stack">${part(parts[0])}</div><div class="stack">${parts.slice(1).map(part)}${finished()}<p class="sub small order-key">${w.gauge_key}</p></div></div></div>${foot()}`;
  }

  function whose() {
    if (!seen.pieces.length) return nothing;
    const all = [{ id: '', name: w.whole }, ...seen.pieces];
    if (all.length <= 3) return html`<div class="seg" role="group" aria-label=${w.whose}>${all.map((one) => html`<button aria-pressed=${one.id === piece} @click=${() => choose(one.id)}>${one.name}</button>`)}</div>`;
    return html`<label class="field"><span class="unseen">${w.whose}</span><select @change=${(/** @type {Event} */ event) => choose(/** @type {HTMLSelectElement} */ (event.target).value)}>${all.map((one) => html`<option value=${one.id} ?selected=${one.id === piece}>${one.name}</option>`)}</select></label>`;
  }

  const nextStep = () => /** @type {Step | undefined} */ (seen.steps.find((/** @type {Step} */ step) => !step.done));

  function progress() {
    const next = nextStep();
    return html`<div class="order-progress" role="status"><p><b data-testid="done">${w.done(seen.done, seen.steps.length)}</b>${next ? html` <span class="sub">${w.next(textOf(next).toLowerCase())}</span>` : nothing}</p><progress max=${seen.steps.length} .value=${seen.done} aria-label=${w.progress}></progress></div>`;
  }

  /** @param {[string, string[]]} part */
  function part([name, stages]) {
    const steps = seen.steps.filter((/** @type {Step} */ step) => stages.includes(step.stage));
    if (!steps.length) return nothing;
    const { title, text } = w.stages[name];
    const cautions = [...w.cautions[name], ...(name === 'make' && seen.wire ? w.cautions.wire : [])];
    return html`<section class="card flush order-part" data-part=${name}><div class="order-head"><h2>${title}</h2><p class="sub small">${text}</p>
      ${cautions.map((caution) => html`<p class="reminder small">${icon('look', 18)}<span>${caution}</span></p>`)}</div>
      <ul>${steps.map(row)}</ul></section>`;
  }

  /** @param {Step} step */
  function row(step) {
    const now = nextStep();
    const hint = [step.stage === 'roll' ? (step.core_text ? w.core(step.core_text, step.count) : '') : w.hints[step.stage]].filter(Boolean).join(' ');
    return html`<li class=${`order-row${step.done ? ' done' : ''}${now && idOf(now) === idOf(step) ? ' now' : ''}`} data-step=${idOf(step)}><label class="tick order-tick"><input type="checkbox" .checked=${step.done} @change=${(/** @type {Event} */ event) => tick(step, /** @type {HTMLInputElement} */ (event.target).checked)}>
      <span class="order-words"><b>${textOf(step)}</b>${hint ? html`<span class="sub small">${hint}</span>` : nothing}</span>${step.kind && step.stage !== 'felt' ? solidPicture(step.kind, 48) : nothing}<span class="gauge" title=${w.gauge(step.gauge)}><span class="unseen">${w.gauge(step.gauge)}</span><span aria-hidden="true">${icon('needle', 18)}${step.gauge}</span></span></label>
      ${step.stage === 'roll' ? html`<a class="order-lay" href=${`#/lay/${project}/${step.form}`} aria-label=${w.to_lay(step.name)}>${formIcon('lay', 24)}<span aria-hidden="true">${w.lay}</span></a>` : nothing}</li>`;
  }

  function finished() {
    if (nextStep()) return nothing;
    return html`<section class="card look stack"><h2>${w.all_done}</h2><p>${w.all_done_hint}</p>${piece ? html`<a class="btn go full" href=${`#/piece/${project}/${piece}`}>${w.to_check}</a>` : nothing}</section>`;
  }

  function foot() {
    return html`<div class="foot pair"><button class="btn" data-testid="undo" ?disabled=${!last} @click=${undo}>${icon('undo', 22)}${words.undo}</button>${piece ? html`<a class="btn go" href=${`#/piece/${project}/${piece}`}>${w.to_check}</a>` : html`<a class="btn go" href=${`#/project/${project}`}>${w.to_project}</a>`}</div>`;
  }

  /** Up and down from tick to tick; u takes the last one back. @param {KeyboardEvent} event */
  function key(event) {
    if (event.key === 'u') { undo(); return true; }
    if (event.key !== 'ArrowDown' && event.key !== 'ArrowUp') return false;
    const ticks = [...document.querySelectorAll('.order-tick input')];
    const here = ticks.indexOf(/** @type {Element} */ (document.activeElement));
    const to = ticks.at(here < 0 ? 0 : event.key === 'ArrowDown' ? (here + 1 < ticks.length ? here + 1 : here) : here > 0 ? here - 1 : 0);
    /** @type {HTMLElement | undefined} */ (to)?.focus();
    return true;
  }

  /** The frame leaves the keys of what is entered alone, and a tick is such a thing. @param {KeyboardEvent} event */
  function onTick(event) {
    if (/** @type {Element} */ (event.target).matches('.order-tick input') && !event.ctrlKey && !event.metaKey && !event.altKey && key(event)) event.preventDefault();
  }

  return { title: w.title, get back() { return { href: piece ? `#/piece/${project}/${piece}` : `#/project/${project}`, text: seen?.piece?.name ?? seen?.name ?? words.back }; }, load, view, key };
}
