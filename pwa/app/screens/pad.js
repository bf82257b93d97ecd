// The counting pad: one unit a tap, the part left over by a slide, the next part by itself. It waits for nothing but the thumb.
import { html, nothing } from '../lib/lit-html.js';
import { ask, on } from '../ask.js';
import { aloud, tick } from '../feel.js';
import { FREE, begin, isEmpty, leave, more, shareOf, slid, undo, valueOf } from '../count.js';
import { gestures } from '../gestures.js';
import { icon } from '../icons.js';
import { afterPaint } from '../painted.js';
import { ladder } from '../draw/ladder.js';
import { needleLine } from '../draw/needle.js';
import { cap, counted, fraction, num, say, words } from '../words.js';
import { stayAwake } from './awake.js';
import { sittingOf } from './sitting.js';

const w = words.pad;

/** @typedef {import('../count.js').Count} Count */

/** @param {import('../app.js').Stage} stage @returns {import('../app.js').Screen} */
export function open(stage) {
  let count = begin(4);
  let restored = false;
  let slideFrom = 0;
  let doubt = '';
  let asked = 0;
  let resting = 0;
  /** What the last tap still owes: its sound, and its place on the disk. */
  let settle = () => {};
  const letGo = stayAwake();
  const sitting = sittingOf(stage, 'sight', {
    entry: () => count, restore: (left) => { if (left.of) { count = left; restored = true; } }, clear: () => { count = begin(settings().denominator); doubt = ''; },
  });
  const me = sitting.me;
  const settings = () => me.seen.settings;
  const unitName = () => me.unit?.name ?? '';
  const left = () => settings().hand === 'left';

  async function load() {
    const first = !me.seen;
    await sitting.load();
    if (first && !restored) count = begin(settings().denominator);
    if (!settings().cautioned) location.hash = `#/care?back=${encodeURIComponent(location.hash)}`;
    else if (first) weigh();
  }

  /** How sure the count is, from the engine when it has come; the pad does not wait for it. */
  async function weigh() {
    const mine = ++asked;
    const { whole, part, of: steps } = count;
    if (isEmpty(count)) return;
    try {
      const request = steps === FREE ? { whole, slide: shareOf(count) } : { whole, numerator: part, denominator: steps };
      const answer = await ask('engine', { method: 'sight', request });
      if (mine !== asked) return;
      doubt = w.doubt(num(answer.u, 2), unitName());
      stage.draw();
    } catch { doubt = ''; }
  }

  /** @param {Count} next @param {import('../feel.js').Tick} kind */
  function take(next, kind) {
    if (next === count) { tick('refuse', settings()); return; }
    count = next;
    doubt = '';
    stage.draw();
    settle = afterPaint(() => { tick(kind, settings()); if (settings().speech) aloud(spoken()); sitting.save(); });
    // Asked once the thumb rests: between two taps only the count itself is to be painted.
    asked++;
    clearTimeout(resting);
    resting = window.setTimeout(weigh, 220);
  }

  const spoken = () => w.spoken(count.whole, fraction(count.part, count.of));
  const oneMore = () => { if (me.at) take(more(count), 'unit'); };
  const oneBack = () => take(undo(count), 'undo');
  const stepUp = () => take(leave(count, count.part + 1), 'fraction');
  const stepDown = () => take(leave(count, count.part - 1), 'fraction');
  const sayIt = () => { say(spoken()); if (!aloud(spoken())) stage.tell(w.no_voice(spoken())); };

  const fingers = gestures({
    tap: oneMore, hold: oneBack,
    start() { slideFrom = count.part; },
    slide(up) {
      const part = slid(count, slideFrom, up);
      if (part !== count.part) take(leave(count, part), 'fraction');
    },
    end() {},
  });

  function keep() {
    settle();
    if (isEmpty(count) && !me.at?.place) { tick('refuse', settings()); stage.tell(w.nothing_yet); return; }
    sitting.keep({ value: valueOf(count), text: counted(count), denominator: settings().denominator });
  }

  function view() {
    if (!settings().cautioned) return nothing;
    if (me.picking) return choose();
    return html`<div class=${`pad-screen${left() ? ' left' : ''}`}>
      ${me.at ? counting() : sitting.over()}
      <aside class="pad-side stack">${sitting.list()}</aside>
    </div>${sitting.sheets()}`;
  }

  function counting() {
    const rest = fraction(count.part, count.of);
    return html`<div class="pad-main">
      ${sitting.head(html`<a class="text" href=${`#/care?back=${encodeURIComponent(location.hash)}`} aria-label=${w.help_label}>${icon('help', 30)}</a>`)}
      <div class="pad-figure"><span class="count" id="pad-now" data-testid="count">${count.of === FREE ? counted(count) : html`${count.whole || count.part === 0 ? count.whole : ''}<span class="left-over">${rest}</span>`}</span><span class="sub">${doubt}</span></div>
      ${needleLine(count.whole, shareOf(count), w.line(count.whole, rest))}
      <button class="pad" data-testid="pad" aria-describedby="pad-now" @pointerdown=${fingers.down} @pointermove=${fingers.move} @pointerup=${fingers.up} @pointercancel=${fingers.cancel}
        @click=${(/** @type {MouseEvent} */ event) => { if (event.detail === 0) oneMore(); }} @contextmenu=${(/** @type {Event} */ event) => event.preventDefault()}>
        <span class="pad-words"><b>${w.tap(unitName())}</b><span class="sub">${w.slide}</span><span class="sub">${w.hold}</span></span>
        ${ladder(count, left())}
      </button>
      <div class="pad-small">
        <button class="btn" aria-label=${w.less_fraction} @click=${stepDown}>${icon('minus', 18)}${w.step(count.of)}</button>
        <button class="btn" aria-label=${w.more_fraction} @click=${stepUp}>${icon('plus', 18)}${w.step(count.of)}</button>
        <button class="btn" @click=${sayIt}>${icon('speak', 20)}${w.say}</button>
      </div>
      ${sitting.foot(keep, false, html`<button class="btn" data-testid="undo" @click=${oneBack}>${icon('undo', 20)}${words.undo}</button>`)}
    </div>`;
  }

  /** Before the first count: which part the thumb marks, and from which side one looks. */
  function choose() {
    return html`<div class="stack narrow">
      <div class="head"><h1 tabindex="-1">${w.choose}</h1><p class="sub">${w.choose_hint}</p></div>
      <div class="seen-from"><b aria-hidden="true">${w.view_label}</b><div class="seg" role="group" aria-label=${w.view_label}>${(/** @type {const} */ (['side', 'front', 'top', 'other'])).map((one) => html`<button aria-pressed=${me.view === one} @click=${() => { me.view = me.view === one ? null : one; stage.draw(); }}>${w.views[one]}</button>`)}</div></div>
      ${me.seen.parts.length ? html`<ul class="list">${me.seen.parts.map((/** @type {any} */ part) => html`<li><label class="tick"><input type="radio" name="unit" .checked=${me.unit?.id === part.id} @change=${() => { me.unit = part; stage.draw(); }}><span>${cap(part.name)}</span></label></li>`)}</ul>`
      : html`<div class="card"><p>${w.no_parts}</p><a class="btn full" href=${`#/parts/${sitting.project}`}>${w.add_parts}</a></div>`}
      <div class="foot"><button class="btn go full" data-testid="start" ?disabled=${!me.unit} @click=${start}>${me.unit ? w.start(me.unit.name) : w.start_none}</button></div>
    </div>`;
  }

  function start() {
    me.picking = false;
    sitting.goTo(me.at && me.at.id !== me.unit?.id ? me.at : sitting.nextAfter(null));
  }

  /** @param {KeyboardEvent} event */
  function key(event) {
    if (me.picking || !me.at || document.querySelector('dialog[open]')) return false;
    const onButton = /** @type {HTMLElement} */ (event.target).closest?.('button, a');
    switch (event.key) {
      case ' ': case 'Enter':
        if (onButton) return false;
        if (event.key === ' ') oneMore(); else keep();
        return true;
      case '+': oneMore(); return true;
      case 'ArrowUp': stepUp(); return true;
      case 'ArrowDown': stepDown(); return true;
      case 'Backspace': case 'u': oneBack(); return true;
      case 'k': keep(); return true;
      case 's': sayIt(); return true;
      case 'n': sitting.skip(); return true;
      case 'p': sitting.parts.open(); return true;
      default: return false;
    }
  }

  const off = on('engine', () => { if (me.seen) weigh(); });
  return {
    get title() { return cap(me.at?.name ?? w.title); },
    get back() { return sitting.back(); },
    entry: true, load, view, key,
    leave() { settle(); letGo(); off(); clearTimeout(resting); },
  };
}
