// The counting pad: one unit a tap, the part left over by a slide, the next part by itself. It waits for nothing but the thumb.
import { html, nothing } from '../lib/lit-html.js';
import { ask, on } from '../ask.js';
import { aloud, tick } from '../feel.js';
import { begin, isEmpty, leave, more, shareOf, undo, valueOf } from '../count.js';
import { gestures } from '../gestures.js';
import { icon } from '../icons.js';
import { ladder } from '../draw/ladder.js';
import { needleLine } from '../draw/needle.js';
import { fraction, listed, num, say, words } from '../words.js';
import { stayAwake } from './awake.js';

const w = words.pad;

/**
 * @typedef {import('../count.js').Count} Count
 * @typedef {{id: string, name: string, axis?: string}} Part
 * @typedef {{id: string, part: string, value: number, text: string}} Kept
 */

/** @param {import('../app.js').Stage} stage @returns {import('../app.js').Screen} */
export function open(stage) {
  const project = stage.query.get('project');
  const of = stage.query.get('of') ?? 'subject';
  const draftKey = `count:${project ?? 'loose'}:${of}`;
  /** @type {{name: string, settings: any, parts: Part[], unit: Part | null, at: Part | null, sitting: string | null, view: string | null, kept: Kept[], count: Count, slideFrom: number, doubt: string, choosing: boolean, parts_open: boolean, adding: boolean, busy: boolean}} */
  const me = { name: '', settings: null, parts: [], unit: null, at: null, sitting: null, view: null, kept: [], count: begin(4), slideFrom: 0, doubt: '', choosing: false, parts_open: false, adding: false, busy: false };
  let loaded = false;
  let asked = 0;
  const letGo = stayAwake();

  async function load() {
    if (loaded) return refreshParts();
    const [settings, seen, drafts] = await Promise.all([ask('settings', {}), project ? ask('view', { name: 'pad', project, of }) : null, ask('drafts', {})]);
    me.settings = settings;
    me.name = seen?.name ?? w.loose_name;
    me.parts = seen?.parts ?? [];
    me.count = begin(settings.denominator);
    const draft = drafts?.[draftKey];
    if (draft) restore(draft);
    else {
      me.unit = me.parts.find((part) => part.id === (stage.query.get('unit') ?? seen?.unit)) ?? null;
      me.at = me.parts.find((part) => part.id === stage.query.get('part')) ?? null;
      me.choosing = Boolean(project) && !(me.unit && me.at);
      if (!project) me.unit = { id: '', name: w.loose_unit };
      if (!me.choosing) me.at ??= nextAfter(null);
    }
    loaded = true;
    doubt();
  }

  async function refreshParts() {
    if (!project) return;
    const seen = await ask('view', { name: 'pad', project, of });
    me.parts = seen.parts;
  }

  /** What a killed tab had: the sitting, the part, the count under the thumb. @param {any} draft */
  function restore(draft) {
    if (!project) me.parts = draft.parts ?? [];
    const part = (/** @type {string} */ id) => me.parts.find((one) => one.id === id) ?? null;
    me.sitting = draft.sitting;
    me.unit = project ? part(draft.unit) : draft.unit;
    me.at = project ? part(draft.at) : draft.at;
    me.view = draft.view;
    me.kept = draft.kept ?? [];
    if (draft.count?.of) me.count = draft.count;
    me.choosing = !me.unit || !me.at;
  }

  /** Written after every tap, so that nothing is lost with the tab. */
  function draft() {
    const value = { sitting: me.sitting, unit: project ? me.unit?.id : me.unit, at: project ? me.at?.id : me.at, view: me.view, kept: me.kept, count: me.count, parts: project ? undefined : me.parts };
    ask('draft', { key: draftKey, value }).catch(stage.trouble);
  }

  /** The next part not yet counted in this sitting. @param {Part | null} part @returns {Part | null} */
  function nextAfter(part) {
    if (!project) return { id: '', name: w.loose_part(me.parts.length + 1) };
    const start = part ? me.parts.indexOf(part) + 1 : 0;
    const round = [...me.parts.slice(start), ...me.parts.slice(0, start)];
    return round.find((one) => one.id !== me.unit?.id && one.id !== part?.id && !me.kept.some((kept) => kept.part === one.id)) ?? null;
  }

  /** How sure the count is, from the engine when it has come; the pad does not wait for it. */
  async function doubt() {
    const mine = ++asked;
    const { whole, part, of: steps } = me.count;
    if (isEmpty(me.count)) { me.doubt = ''; return; }
    try {
      const request = me.settings.denominator === 0 ? { whole, slide: shareOf(me.count) } : { whole, numerator: part, denominator: steps };
      const answer = await ask('engine', { method: 'sight', request });
      if (mine !== asked) return;
      me.doubt = w.doubt(num(answer.u, 2), me.unit?.name ?? '');
      stage.draw();
    } catch { me.doubt = ''; }
  }

  /** @param {Count} next @param {import('../feel.js').Tick} kind */
  function take(next, kind) {
    if (next === me.count) { tick('refuse', me.settings); return; }
    me.count = next;
    me.doubt = '';
    stage.draw();
    tick(kind, me.settings);
    if (me.settings.speech) aloud(spoken());
    draft();
    doubt();
  }

  const spoken = () => w.spoken(me.count.whole, fraction(me.count.part, me.count.of));
  const oneMore = () => { if (me.at) take(more(me.count), 'unit'); };
  const oneBack = () => take(undo(me.count), 'undo');
  const sayIt = () => { say(spoken()); if (!aloud(spoken())) stage.tell(w.no_voice(spoken())); };

  const rung = 46; // px of slide to each step of the fraction; a free slide runs on the same length
  const fingers = gestures({
    tap: oneMore, hold: oneBack,
    start() { me.slideFrom = me.count.part; },
    slide(up) {
      const steps = Math.round(up / (me.count.of > 8 ? 12 : me.count.of > 4 ? 30 : rung));
      const part = Math.max(0, Math.min(me.count.of - 1, me.slideFrom + steps));
      if (part !== me.count.part) take(leave(me.count, part), 'fraction');
    },
    end() {},
  });

  async function keep() {
    const part = me.at;
    if (!part || me.busy) return;
    if (isEmpty(me.count)) { tick('refuse', me.settings); stage.tell(w.nothing_yet); return; }
    me.busy = true;
    try {
      await startSitting();
      await named(part);
      const value = valueOf(me.count);
      const denominator = me.settings.denominator;
      const { id } = await ask('keepReading', { sitting: me.sitting, part: part.id, value, denominator, typed: null });
      me.kept = [...me.kept, { id, part: part.id, value, text: shown() }];
      if (!project && !me.parts.includes(part)) me.parts = [...me.parts, part];
      tick('keep', me.settings);
      say(w.kept(part.name, shown()));
      goTo(nextAfter(part));
    } catch (error) { stage.trouble(error); } finally { me.busy = false; stage.draw(); }
  }

  async function startSitting() {
    if (me.sitting || !me.unit) return;
    await named(me.unit);
    const { id } = await ask('startSitting', { project, of, method: 'sight', unit: me.unit.id, view: me.view, denominator: me.settings.denominator, arm_mm: null });
    me.sitting = id;
    draft();
  }

  /** A length measured with no project becomes a loose part the first time it is kept. @param {Part} part */
  async function named(part) {
    if (!part.id) part.id = (await ask('loosePart', { name: part.name })).id;
  }

  /** @param {Part | null} part */
  function goTo(part) {
    me.at = part;
    me.count = begin(me.settings.denominator);
    me.doubt = '';
    me.parts_open = false;
    draft();
    stage.draw();
  }

  /** @param {Kept} kept */
  async function strike(kept) {
    try {
      await ask('strike', { kind: 'reading', id: kept.id, struck: true });
      me.kept = me.kept.filter((one) => one !== kept);
      draft();
      tick('undo', me.settings);
      stage.tell(w.struck(partName(kept.part)), { text: words.undo, run: () => restoreReading(kept) });
    } catch (error) { stage.trouble(error); }
  }

  /** @param {Kept} kept */
  async function restoreReading(kept) {
    try {
      await ask('strike', { kind: 'reading', id: kept.id, struck: false });
      me.kept = [...me.kept, kept];
      draft();
      stage.draw();
    } catch (error) { stage.trouble(error); }
  }

  /** The sitting is over: the needle has been let go. */
  async function finish() {
    await ask('draft', { key: draftKey, value: null });
    location.hash = project ? (of === 'subject' ? `#/project/${project}` : `#/piece/${project}/${of}`) : '#/loose';
  }

  /** A new hold of the needle: another unit, another scale. */
  function newHold() {
    me.sitting = null;
    me.kept = [];
    me.choosing = Boolean(project);
    me.at = project ? null : nextAfter(null);
    me.count = begin(me.settings.denominator);
    draft();
    stage.draw();
  }

  const partName = (/** @type {string} */ id) => me.parts.find((part) => part.id === id)?.name ?? '';
  const shown = () => `${me.count.whole || me.count.part === 0 ? me.count.whole : ''}${fraction(me.count.part, me.count.of)}`;
  const unitName = () => me.unit?.name ?? '';
  const left = () => me.settings?.hand === 'left';

  function view() {
    if (me.choosing) return choose();
    return html`<div class=${`pad-screen${left() ? ' left' : ''}`}>
      ${me.at ? counting(me.at) : over()}
      <aside class="pad-side">${partsList()}</aside>
      ${me.parts_open ? html`<div class="pad-sheet card"><div class="row"><h2>${w.parts}</h2><button class="btn quiet end" @click=${() => { me.parts_open = false; stage.draw(); }}>${words.close}</button></div>${partsList()}</div>` : nothing}
    </div>`;
  }

  /** @param {Part} part */
  function counting(part) {
    const next = nextAfter(part);
    const rungs = (me.count.of > 8 ? [0, 5, 10, 15, 20] : Array.from({ length: me.count.of + 1 }, (_, at) => at)).map((at) => ({ share: at / me.count.of, text: at === 0 ? '0' : at === me.count.of ? '1' : fraction(me.count.of > 8 ? at / 5 : at, me.count.of > 8 ? 4 : me.count.of) }));
    return html`<div class="pad-main">
      <div class="head"><h1 tabindex="-1">${part.name}</h1><span class="side"><a class="text" href="#/care?back=pad" aria-label=${w.help_label}>${icon('help', 30)}</a></span>
        <p class="sub">${w.counted_in(unitName())}${me.view ? ` · ${w.views[/** @type {'side'} */ (me.view)]}` : ''}</p></div>
      <div class="pad-figure"><span class="count" data-testid="count">${me.count.whole || me.count.part === 0 ? me.count.whole : ''}<span class="left-over">${fraction(me.count.part, me.count.of)}</span></span><span class="sub">${me.doubt}</span></div>
      ${needleLine(me.count.whole, shareOf(me.count), w.line(me.count.whole, fraction(me.count.part, me.count.of)))}
      <button class="pad" data-testid="pad" aria-label=${w.pad_label(unitName(), shown())} @pointerdown=${fingers.down} @pointermove=${fingers.move} @pointerup=${fingers.up} @pointercancel=${fingers.cancel}
        @click=${(/** @type {MouseEvent} */ event) => { if (event.detail === 0) oneMore(); }} @contextmenu=${(/** @type {Event} */ event) => event.preventDefault()}>
        <span class="pad-words"><b>${w.tap(unitName())}</b><span class="sub">${w.slide}</span><span class="sub">${w.hold}</span></span>
        ${ladder(rungs, shareOf(me.count), me.count.of > 8 ? num(shareOf(me.count), 2) : fraction(me.count.part, me.count.of), left())}
      </button>
      <div class="pad-small row">
        <button class="btn" aria-label=${w.less_fraction} @click=${() => take(leave(me.count, me.count.part - 1), 'fraction')}>${icon('minus', 18)}${w.step(me.count.of)}</button>
        <button class="btn" aria-label=${w.more_fraction} @click=${() => take(leave(me.count, me.count.part + 1), 'fraction')}>${icon('plus', 18)}${w.step(me.count.of)}</button>
        <button class="btn" @click=${sayIt}>${icon('speak', 20)}${w.say}</button>
        <button class="btn pad-parts" @click=${() => { me.parts_open = true; stage.draw(); }}>${w.parts}</button>
      </div>
      <div class="pad-foot">
        <button class="btn" @click=${oneBack}>${icon('undo', 22)}${words.undo}</button>
        <button class="btn" @click=${() => goTo(next)} ?disabled=${!next && !me.kept.length}>${icon('skip', 20)}${w.skip}</button>
        <button class="btn go" data-testid="keep" ?disabled=${me.busy} @click=${keep}>${next ? w.keep_then(next.name) : w.keep_last}</button>
      </div>
    </div>`;
  }

  /** Every part has been counted in this hold. */
  function over() {
    return html`<div class="pad-main stack">
      <div class="head"><h1 tabindex="-1">${w.over}</h1><p class="sub">${me.kept.length ? w.over_counted(listed(me.kept.map((kept) => partName(kept.part))), unitName()) : w.over_none}</p></div>
      <div class="card stack"><p>${w.over_hint}</p>
        <button class="btn full go" data-testid="finish" @click=${finish}>${project ? (of === 'subject' ? w.see_proportions : w.see_verdict) : w.see_loose}</button>
        <button class="btn full" @click=${newHold}>${w.new_hold}</button></div>
    </div>`;
  }

  function partsList() {
    return html`<ul class="list">${me.parts.filter((part) => part.id !== me.unit?.id).map((part) => {
      const kept = me.kept.filter((one) => one.part === part.id);
      return html`<li><button class="item" aria-current=${part === me.at ? 'true' : nothing} @click=${() => goTo(part)}><span><b>${part.name}</b><br><span class="sub small">${kept.length ? w.kept_times(kept.length) : w.not_yet}</span></span></button>
        ${kept.map((one) => html`<div class="item kept-row"><span class="big">${one.text}</span><button class="btn end" aria-label=${w.strike_label(part.name, one.text)} @click=${() => strike(one)}>${icon('strike', 20)}${w.strike}</button></div>`)}</li>`;
    })}</ul>
    <div class="row pad-list-foot">${me.kept.length ? html`<button class="btn" @click=${newHold}>${w.new_hold}</button><button class="btn" @click=${finish}>${words.done}</button>` : html`<button class="btn" @click=${() => { me.choosing = Boolean(project); me.parts_open = false; stage.draw(); }} ?hidden=${!project}>${w.other_unit}</button>`}</div>`;
  }

  /** Before the first count: which part the thumb marks, and from which side one looks. */
  function choose() {
    return html`<div class="stack narrow">
      <div class="head"><h1 tabindex="-1">${w.choose}</h1><p class="sub">${w.choose_hint}</p></div>
      <div class="seg" role="group" aria-label=${w.view_label}>${(/** @type {const} */ (['side', 'front', 'top', 'other'])).map((one) => html`<button aria-pressed=${me.view === one} @click=${() => { me.view = me.view === one ? null : one; stage.draw(); }}>${w.views[one]}</button>`)}</div>
      ${me.parts.length ? html`<ul class="list">${me.parts.map((part) => html`<li><label class="tick"><input type="radio" name="unit" .checked=${me.unit?.id === part.id} @change=${() => { me.unit = part; stage.draw(); }}><span>${part.name}</span></label></li>`)}</ul>`
      : html`<div class="card"><p>${w.no_parts}</p><a class="btn full" href=${`#/parts/${project}`}>${w.add_parts}</a></div>`}
      <div class="foot"><button class="btn go full" data-testid="start" ?disabled=${!me.unit} @click=${() => { me.choosing = false; goTo(me.at && me.at.id !== me.unit?.id ? me.at : nextAfter(null)); }}>${me.unit ? w.start(me.unit.name) : w.start_none}</button></div>
    </div>`;
  }

  /** @param {KeyboardEvent} event */
  function key(event) {
    if (me.choosing || !me.at) return false;
    const onButton = /** @type {HTMLElement} */ (event.target).closest?.('button, a');
    switch (event.key) {
      case ' ': case 'Enter':
        if (onButton) return false;
        if (event.key === ' ') oneMore(); else keep();
        return true;
      case '+': oneMore(); return true;
      case 'ArrowUp': take(leave(me.count, me.count.part + 1), 'fraction'); return true;
      case 'ArrowDown': take(leave(me.count, me.count.part - 1), 'fraction'); return true;
      case 'Backspace': case 'u': oneBack(); return true;
      case 'k': keep(); return true;
      case 's': sayIt(); return true;
      case 'n': goTo(nextAfter(me.at)); return true;
      case 'p': me.parts_open = !me.parts_open; stage.draw(); return true;
      case 'Escape': if (!me.parts_open) return false; me.parts_open = false; stage.draw(); return true;
      default: return false;
    }
  }

  const off = on('engine', () => { if (loaded) doubt(); });
  return {
    get title() { return me.at?.name ?? w.title; },
    get back() { return { href: project ? (of === 'subject' ? `#/project/${project}` : `#/piece/${project}/${of}`) : '#/', text: project ? me.name : words.dock.projects }; },
    entry: true, load, view, key,
    leave() { letGo(); off?.(); },
  };
}
