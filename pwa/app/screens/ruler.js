// Ruler entry: millimetres, centimetres or inches on a keypad of its own, with what was understood of it under it.
import { html, nothing } from '../lib/lit-html.js';
import { ask, on } from '../ask.js';
import { rulePicture } from '../draw/rule.js';
import { tick } from '../feel.js';
import { icon } from '../icons.js';
import { keyFor, press, settled, unfinished } from '../typed.js';
import { cap, say, words } from '../words.js';
import '../words-more.js';
import { stayAwake } from './awake.js';
import { keypad, lengthTrouble } from './keypad.js';
import { sittingOf } from './sitting.js';

const w = words.ruler;

/** @param {import('../app.js').Stage} stage @returns {import('../app.js').Screen} */
export function open(stage) {
  let text = '';
  let unit = '';
  /** @type {{mm: number | null, said: string, wrong: string, place: number | null}} */
  const none = { mm: null, said: '', wrong: '', place: null };
  let understood = none;
  let asked = 0;
  const letGo = stayAwake();
  const sitting = sittingOf(stage, 'ruler', {
    entry: () => ({ text, unit }), restore: (left) => { text = left.text ?? ''; unit = left.unit ?? unit; },
    clear: () => { text = ''; understood = none; },
  });
  const me = sitting.me;

  async function load() {
    const first = !me.seen;
    await sitting.load();
    unit ||= me.seen.settings.unit;
    if (first && text) understand().then(stage.draw);
  }

  /** What the engine makes of what was typed so far. */
  async function understand() {
    const mine = ++asked;
    if (!text || unfinished(text)) { understood = none; return; }
    /** @type {typeof understood} */
    let now = none;
    try {
      const length = await ask('engine', { method: 'parse-length', request: { text: settled(text), unit, zero: Boolean(me.at?.place) } });
      const other = unit === 'mm' ? 'cm' : 'mm';
      const { texts } = await ask('engine', { method: 'format-length', request: { mm: [length.mm], unit: other } });
      now = { mm: length.mm, said: texts[0], wrong: '', place: null };
    } catch (error) {
      const { at } = /** @type {{at?: string}} */ (error);
      now = { mm: null, said: '', wrong: lengthTrouble(error), place: at?.startsWith('text:') ? Number(at.slice(5)) : null };
    }
    if (mine === asked) understood = now;
  }

  /** @param {import('../typed.js').Key} key */
  function type(key) {
    const next = press(text, key);
    tick(next === text ? 'refuse' : 'fraction', me.seen.settings);
    if (next === text) return;
    text = next;
    changed();
  }

  /** @param {string} other */
  function setUnit(other) {
    unit = other;
    changed();
  }

  function changed() {
    understood = none;
    stage.draw();
    say(text ? `${text} ${unit}` : '');
    sitting.save();
    understand().then(stage.draw);
  }

  async function keep() {
    if (!text) { tick('refuse', me.seen.settings); stage.tell(w.nothing_yet); return; }
    if (unfinished(text)) { tick('refuse', me.seen.settings); stage.tell(w.unfinished); return; }
    if (understood.mm === null) await understand();
    const { mm } = understood;
    if (mm === null) { tick('refuse', me.seen.settings); stage.draw(); return; }
    const typed = `${settled(text)} ${unit}`;
    await sitting.keep({ value: mm, typed, text: typed });
  }

  const left = () => me.seen?.settings.hand === 'left';
  const units = ['mm', 'cm', 'in'].map((id) => ({ id, text: w.units[/** @type {'mm'} */ (id)] }));
  const fractions = () => (unit !== 'in' ? [] : me.seen.settings.inch === 32 ? [2, 4, 8, 16, 32] : [2, 4, 8, 16]);

  function view() {
    return html`<div class=${`pad-screen ruler-screen${left() ? ' left' : ''}`}>
      ${me.at ? measuring() : sitting.over()}
      <aside class="pad-side">${sitting.list()}</aside>${sitting.sheets()}
    </div>`;
  }

  function measuring() {
    return html`<div class="pad-main">
      ${sitting.head(html`<a class="text" href=${`#/care?back=${encodeURIComponent(location.hash)}`} aria-label=${w.help_label}>${icon('help', 30)}</a>`)}
      <div class="typed" data-testid="typed">${readout()}<span class="typed-unit">${w.units[/** @type {'mm'} */ (unit)]}</span></div>
      <div class="understood" data-testid="understood">${understood.wrong ? html`<p class="wrong">${understood.wrong}</p>`
        : html`<p class="sub">${understood.said ? w.same_as(understood.said) : unfinished(text) ? w.go_on : text ? nothing : w.hint}</p>`}</div>
      <div class="rule-room">${rulePicture(understood.mm, unit, me.seen.settings.inch, understood.mm === null ? w.rule_empty : w.rule_label(`${settled(text)} ${unit}`))}</div>
      ${keypad({ units, unit, setUnit, unitLabel: w.unit_label, fractions: fractions(), left: left(), press: type })}
      ${sitting.foot(keep)}
    </div>`;
  }

  /** What was typed, huge; where it cannot be read, the place is marked. */
  function readout() {
    if (!text) return html`<span class="count faint">0</span>`;
    const kind = text.length > 8 ? 'count longer' : text.length > 5 ? 'count long' : 'count';
    if (understood.place === null) return html`<span class=${kind}>${text}</span>`;
    return html`<span class=${kind}>${text.slice(0, understood.place)}<mark>${text.slice(understood.place) || ' '}</mark></span>`;
  }

  /** @param {KeyboardEvent} event */
  function key(event) {
    const at = /** @type {HTMLElement} */ (event.target);
    if (!me.at || document.querySelector('dialog[open]')) return false;
    const onButton = at.closest?.('button, a');
    if (event.key === 'Enter') { if (onButton) return false; keep(); return true; }
    if (event.key === ' ' && onButton) return false;
    const typed = keyFor(event.key);
    if (typed) { type(typed); return true; }
    switch (event.key) {
      case 'n': sitting.skip(); return true;
      case 'p': sitting.parts.open(); return true;
      case 'm': setUnit('mm'); return true;
      case 'c': setUnit('cm'); return true;
      case 'i': setUnit('in'); return true;
      default: return false;
    }
  }

  const off = on('engine', () => { if (text && understood.mm === null) understand().then(stage.draw); });
  return {
    get title() { return me.at ? cap(me.at.name) : w.title; },
    get back() { return sitting.back(); },
    entry: true, load, view, key,
    leave() { letGo(); off(); },
  };
}
