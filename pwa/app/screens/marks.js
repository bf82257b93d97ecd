// Marks on the glass: the phone itself as the sight rule. Two marks on the edge of the screen are slid by the thumb of the hand that holds it.
import { html, nothing } from '../lib/lit-html.js';
import { ask, on } from '../ask.js';
import { glassPicture } from '../draw/glass.js';
import { rail } from '../draw/rail.js';
import { tick } from '../feel.js';
import { icon } from '../icons.js';
import { latest } from '../latest.js';
import { begin, drags, fit, gapOf, heightOf, nudge } from '../span.js';
import { cap, num, words } from '../words.js';
import '../words-more.js';
import { stayAwake } from './awake.js';
import { sheet } from './sheet.js';
import { sittingOf } from './sitting.js';

const w = words.marks;

/** @typedef {import('../span.js').Span} Span  @typedef {import('../span.js').Mark} Mark */

/** @param {import('../app.js').Stage} stage @returns {import('../app.js').Screen} */
export function open(stage) {
  /** @type {Span | null} */
  let span = null;
  let doubt = '';
  let unitText = '';
  let drafted = 0;
  const letGo = stayAwake();
  const sitting = sittingOf(stage, 'marks', { entry: () => span, restore: (/** @type {Span} */ left) => { if (left?.height > 0) span = left; }, clear: () => { unitText = ''; } });
  const me = sitting.me;
  const help = sheet(stage, 'help', () => w.help, helpText);

  async function load() {
    const first = !me.seen;
    await sitting.load();
    if (first) requestAnimationFrame(() => { measure(); firstTime(); });
    estimate(null);
  }

  /** How to hold the phone is shown once, and then from the help mark. */
  async function firstTime() {
    try {
      if (await ask('drafts', { key: 'seen:marks' })) return;
      await ask('draft', { key: 'seen:marks', value: true });
      help.open();
    } catch (error) { stage.trouble(error); }
  }

  /** The rail is as long as the screen leaves room for; the marks stay on it. */
  function measure() {
    const height = document.querySelector('.rail')?.clientHeight ?? 0;
    if (!height || height === span?.height) return;
    span = span ? fit({ ...span, height }) : begin(height);
    stage.draw();
    estimate(null);
  }

  /** How sure the span is, and what it comes to in the part that was measured first; the screen does not wait for it. */
  const estimate = latest(async () => {
    if (!span || !me.seen) return;
    const { settings } = me.seen;
    try {
      const answer = await ask('engine', { method: 'marks', request: { gap_px: gapOf(span), arm_mm: settings.arm_mm } });
      doubt = w.doubt(num(answer.u, answer.u < 10 ? 1 : 0));
    } catch { doubt = ''; }
    stage.draw();
    try { unitText = await inUnits(gapOf(span), settings.arm_mm); } catch { unitText = ''; }
    stage.draw();
  });

  /** @param {number} gap @param {number} arm_mm */
  async function inUnits(gap, arm_mm) {
    const unit = me.items.find((item) => !item.place && item.here.length);
    if (!unit || !me.at || me.at.place || me.at.id === unit.id) return '';
    const readings = [...unit.here.map((one) => ({ id: one.id, sitting: 'now', part: unit.id, value: one.value })), { id: 'now', sitting: 'now', part: me.at.id || 'now', value: gap }];
    const { ratios } = await ask('engine', { method: 'proportions', request: { sittings: [{ id: 'now', method: 'marks', arm_mm }], readings, ratios: [{ of: me.at.id || 'now', to: unit.id }] } });
    return ratios[0]?.ratio ? w.in_units(num(ratios[0].ratio, 2), num(ratios[0].u, 2), unit.name) : '';
  }

  /** @param {Span} next @param {boolean} [feel] */
  function take(next, feel = false) {
    if (next === span) { if (feel) tick('refuse', me.seen.settings); return; }
    span = next;
    if (feel) tick('fraction', me.seen.settings);
    stage.draw();
    estimate(null);
    clearTimeout(drafted);
    drafted = window.setTimeout(sitting.save, 120);
  }

  const finger = (/** @type {Mark} */ mark) => drags({ mark, now: () => span ?? begin(300), take, end: sitting.save });
  const fingers = { upper: finger('upper'), lower: finger('lower'), rail: drags({ now: () => span ?? begin(300), take, end: sitting.save }) };
  const step = (/** @type {Mark} */ mark, /** @type {number} */ down) => { if (span) take(nudge(span, mark, down), true); };

  function keep() {
    if (span) sitting.keep({ value: gapOf(span), typed: null, text: words.entry.points(num(gapOf(span), 0)) });
  }

  const left = () => me.seen?.settings.hand === 'left';

  function view() {
    return html`<div class=${`pad-screen marks-screen${left() ? ' left' : ''}`}>
      ${me.at ? sighting() : sitting.over()}
      <aside class="pad-side">${sitting.list()}</aside>${sitting.sheets()}${help.view()}
    </div>`;
  }

  function sighting() {
    const gap = span ? gapOf(span) : 0;
    const first = !sitting.any();
    return html`<div class="pad-main marks-main">
      <div class="marks-body">
        ${sitting.head(html`<button class="text" data-testid="help" aria-label=${w.help} @click=${help.open}>${icon('help', 30)}</button>`)}
        ${sitting.viewChoice()}
        <div class="marks-figure"><span class="count" data-testid="gap">${num(gap, 0)}</span><span class="sub">${w.points}${doubt ? html`<br>${doubt}` : nothing}</span></div>
        <p class="marks-units">${unitText}</p>
        ${zone('upper', first ? w.upper_first : w.upper)}
        ${zone('lower', first ? w.lower_first : w.lower)}
        ${sitting.foot(keep, !span)}
      </div>
      <div class="rail" data-testid="rail" @pointerdown=${fingers.rail.down} @pointermove=${fingers.rail.move} @pointerup=${fingers.rail.up} @pointercancel=${fingers.rail.cancel} @contextmenu=${(/** @type {Event} */ event) => event.preventDefault()}>${span ? rail(span, left()) : nothing}</div>
    </div>`;
  }

  function helpText() {
    return html`${glassPicture(left(), w.help_picture)}<ol class="numbered">${w.steps.map((step, at) => html`<li><b>${w.numbers[at]}</b><span>${step}</span></li>`)}</ol>
      <p class="sub">${w.care} <a href=${`#/care?back=${encodeURIComponent(location.hash)}`}>${w.care_more}</a></p>
      <div class="sheet-foot"><button class="btn go full" data-testid="understood" @click=${help.close}>${w.understood}</button></div>`;
  }

  /** A wide place for the thumb, away from its mark, with two buttons for the last point. @param {Mark} mark @param {string} hint */
  function zone(mark, hint) {
    const does = fingers[mark];
    return html`<div class=${`zone ${mark}`}>
      <div class="zone-pad" data-testid=${mark} role="slider" tabindex="0" aria-orientation="vertical" aria-label=${w.names[mark]} aria-valuemin="0" aria-valuemax=${span?.height ?? 0} aria-valuenow=${span ? heightOf(span, mark) : 0} aria-valuetext=${w.apart(num(span ? gapOf(span) : 0, 0))}
        @pointerdown=${does.down} @pointermove=${does.move} @pointerup=${does.up} @pointercancel=${does.cancel} @contextmenu=${(/** @type {Event} */ event) => event.preventDefault()}><b>${w.names[mark]}</b><span class="sub">${hint}</span></div>
      <div class="nudges"><button class="btn" data-testid=${`${mark}-up`} aria-label=${w.nudge_up[mark]} @click=${() => step(mark, -1)}>${icon('up', 22)}</button>
        <button class="btn" data-testid=${`${mark}-down`} aria-label=${w.nudge_down[mark]} @click=${() => step(mark, 1)}>${icon('down', 22)}</button></div>
    </div>`;
  }

  /** @param {KeyboardEvent} event */
  function key(event) {
    const at = /** @type {HTMLElement} */ (event.target);
    if (!me.at || document.querySelector('dialog[open]')) return false;
    const mark = at.dataset?.testid === 'upper' ? 'upper' : 'lower';
    const far = event.shiftKey ? 10 : 1;
    switch (event.key) {
      case 'ArrowUp': case 'ArrowRight': step(mark, -far); return true;
      case 'ArrowDown': case 'ArrowLeft': step(mark, far); return true;
      case 'PageUp': step(mark, -10); return true;
      case 'PageDown': step(mark, 10); return true;
      case 'Enter': if (at.closest?.('button, a')) return false; keep(); return true;
      case 'k': keep(); return true;
      case 'n': sitting.skip(); return true;
      case 'p': sitting.parts.open(); return true;
      default: return false;
    }
  }

  addEventListener('resize', measure);
  const off = on('engine', () => estimate(null));
  return {
    get title() { return me.at ? cap(me.at.name) : w.title; },
    get back() { return sitting.back(); },
    entry: true, load, view, key,
    leave() { letGo(); off(); removeEventListener('resize', measure); clearTimeout(drafted); },
  };
}
