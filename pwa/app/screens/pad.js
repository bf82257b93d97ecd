// The counting pad: one unit a tap, the part left over by a slide, the next part by itself. It waits for nothing but the thumb.
import { html, nothing } from '../lib/lit-html.js';
import { ask, on } from '../ask.js';
import { aloud, tick } from '../feel.js';
import { FREE, begin, fromValue, isEmpty, leave, more, shareOf, slid, undo, valueOf } from '../count.js';
import { gestures } from '../gestures.js';
import { icon } from '../icons.js';
import { ladder } from '../draw/ladder.js';
import { needleLine } from '../draw/needle.js';
import { cap, counted, fraction, listed, num, say, words } from '../words.js';
import { stillHeld } from '../shown.js';
import { stayAwake } from './awake.js';
import { sheet } from './sheet.js';

const w = words.pad;

/**
 * What is counted: a part, or a place along one.
 * @typedef {{id: string, name: string, part: string, place: string | null, along: string, here: {id: string, value: number, denominator: number | null}[]}} Item
 * @typedef {import('../count.js').Count} Count
 */

/** @param {import('../app.js').Stage} stage @returns {import('../app.js').Screen} */
export function open(stage) {
  const project = stage.query.get('project');
  const of = stage.query.get('of') ?? 'subject';
  /** @type {{seen: any, settings: any, items: Item[], unit: {id: string, name: string} | null, at: Item | null, sitting: string | null, view: string | null, count: Count, slideFrom: number, doubt: string, choosing: boolean, busy: boolean}} */
  const me = { seen: null, settings: null, items: [], unit: null, at: null, sitting: null, view: null, count: begin(4), slideFrom: 0, doubt: '', choosing: false, busy: false };
  let asked = 0;
  const letGo = stayAwake();
  const parts = sheet(stage, 'parts', () => w.parts, partsList);

  async function load() {
    const first = !me.seen;
    await look();
    if (!first) return;
    me.settings = me.seen.settings;
    if (!me.settings.cautioned) { location.hash = `#/care?back=${encodeURIComponent(location.hash)}`; return; }
    me.count = begin(me.settings.denominator);
    if (me.seen.draft) await restore(me.seen.draft);
    else start();
    doubt();
  }

  /** The parts and places there are, with what this sitting has of each. */
  async function look() {
    me.seen = await ask('view', { name: 'pad', project, of, sitting: me.sitting ?? undefined });
    const name = (/** @type {string} */ id) => me.seen.parts.find((/** @type {any} */ part) => part.id === id)?.name ?? '';
    me.items = [
      ...me.seen.parts.map((/** @type {any} */ part) => ({ ...part, part: part.id, place: null, along: '' })),
      ...me.seen.places.map((/** @type {any} */ place) => ({ ...place, place: place.id, along: w.along(name(place.part), place.from) })),
    ];
    if (me.at?.id) me.at = me.items.find((item) => item.id === me.at?.id) ?? me.at;
  }

  /** A fresh start: the unit and the part that were asked for, or those used last. */
  function start() {
    const item = (/** @type {string | null} */ id) => me.items.find((one) => one.id === id) ?? null;
    me.unit = project ? item(stage.query.get('unit') ?? me.seen.unit) : { id: '', name: w.loose_unit };
    me.at = item(stage.query.get('part'));
    if (me.at && me.at.id === me.unit?.id) me.unit = null;
    me.choosing = Boolean(project) && !(me.unit && me.at);
    if (!me.choosing) me.at ??= nextAfter(null);
  }

  /** What a killed tab had: the sitting, the part, the count under the thumb. @param {any} draft */
  async function restore(draft) {
    const held = Boolean(draft.sitting) && stillHeld(draft.when) && await uncovered(draft.sitting);
    if (draft.sitting && !held) stage.tell(words.entry.hold_over);
    me.sitting = held ? draft.sitting : null;
    me.view = draft.view;
    if (draft.count?.of) me.count = draft.count;
    if (me.sitting) await look();
    me.unit = me.items.find((item) => item.id === draft.unit?.id) ?? (project ? null : draft.unit);
    me.at = me.items.find((item) => item.id === draft.at?.id) ?? (project || draft.over ? null : draft.at);
    me.choosing = !me.unit;
  }

  /** A check that was kept meanwhile rests on the sittings before it: what is counted now belongs to a new one. @param {string} sitting */
  async function uncovered(sitting) {
    if (!project || of === 'subject') return true;
    const { sittings } = await ask('view', { name: 'readings', project, of });
    return !sittings.find((/** @type {any} */ one) => one.id === sitting)?.covered;
  }

  /** Written after every tap, so that nothing is lost with the tab. */
  function draft() {
    const few = (/** @type {any} */ item) => item && { ...item, here: [] };
    ask('draft', { key: me.seen.draft_key, value: { sitting: me.sitting, unit: few(me.unit), at: few(me.at), over: !me.at, view: me.view, count: me.count, when: Date.now() } }).catch(stage.trouble);
  }

  const readable = () => me.items.filter((item) => item.id !== me.unit?.id);
  const any = () => readable().some((item) => item.here.length > 0);

  /** The next one not yet counted in this sitting. @param {Item | null} item @returns {Item | null} */
  function nextAfter(item) {
    if (!project) return { id: '', name: w.loose_part(readable().length + (item && !item.id ? 2 : 1)), part: '', place: null, along: '', here: [] };
    const from = item ? me.items.findIndex((one) => one.id === item.id) + 1 : 0;
    return [...me.items.slice(from), ...me.items.slice(0, from)].find((one) => one.id !== me.unit?.id && one.id !== item?.id && one.here.length === 0) ?? null;
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

  const fingers = gestures({
    tap: oneMore, hold: oneBack,
    start() { me.slideFrom = me.count.part; },
    slide(up) {
      const part = slid(me.count, me.slideFrom, up);
      if (part !== me.count.part) take(leave(me.count, part), 'fraction');
    },
    end() {},
  });

  async function keep() {
    const item = me.at;
    if (!item || me.busy) return;
    if (isEmpty(me.count) && !item.place) { tick('refuse', me.settings); stage.tell(w.nothing_yet); return; }
    me.busy = true;
    try {
      await startSitting();
      if (!item.part) item.id = item.part = (await ask('loosePart', { name: item.name })).id;
      await ask('keepReading', { sitting: me.sitting, part: item.part, place: item.place, value: valueOf(me.count), denominator: me.settings.denominator, draft: me.seen.draft_key });
      tick('keep', me.settings);
      say(w.kept(item.name, counted(me.count)));
      await look();
      goTo(nextAfter(item));
    } catch (error) { stage.trouble(error); } finally { me.busy = false; stage.draw(); }
  }

  /** One hold of the needle begins with its first reading; the thumb's mark is a reading of its own, of one unit. */
  async function startSitting() {
    if (me.sitting || !me.unit) return;
    if (!me.unit.id) me.unit.id = (await ask('loosePart', { name: me.unit.name })).id;
    const { id } = await ask('startSitting', { project, of, method: 'sight', unit: me.unit.id, view: me.view, denominator: me.settings.denominator, arm_mm: me.settings.arm_mm });
    await ask('keepReading', { sitting: id, part: me.unit.id, value: 1, denominator: null });
    me.sitting = id;
    draft();
  }

  /** @param {Item | null} item */
  function goTo(item) {
    me.at = item;
    me.count = begin(me.settings.denominator);
    me.doubt = '';
    parts.close();
    draft();
    stage.draw();
  }

  /** @param {Item} item @param {string} id  @param {boolean} struck */
  async function strike(item, id, struck) {
    try {
      await ask('strike', { kind: 'reading', id, struck });
      tick('undo', me.settings);
      if (struck) stage.tell(w.struck(cap(item.name)), { text: words.undo, run: () => strike(item, id, false) });
    } catch (error) { stage.trouble(error); }
  }

  /** The sitting is over: the needle has been let go. */
  async function finish() {
    try { await ask('draft', { key: me.seen.draft_key, value: null }); } catch (error) { stage.trouble(error); return; }
    location.hash = project ? (of === 'subject' ? `#/project/${project}` : `#/piece/${project}/${of}`) : '#/loose';
  }

  /** A new hold of the needle: another unit, another scale. */
  async function newHold() {
    me.sitting = null;
    me.choosing = Boolean(project);
    if (!project) me.unit = { id: '', name: w.loose_unit };
    await look().catch(stage.trouble);
    goTo(project ? null : nextAfter(null));
  }

  const unitName = () => me.unit?.name ?? '';
  const left = () => me.settings?.hand === 'left';

  function view() {
    if (!me.settings.cautioned) return nothing;
    if (me.choosing) return choose();
    return html`<div class=${`pad-screen${left() ? ' left' : ''}`}>
      ${me.at ? counting(me.at) : over()}
      <aside class="pad-side">${partsList()}</aside>
      ${parts.view()}
    </div>`;
  }

  /** @param {Item} item */
  function counting(item) {
    const next = nextAfter(item);
    return html`<div class="pad-main">
      <div class="head"><h1 tabindex="-1">${cap(item.name)}</h1><span class="side"><a class="text" href=${`#/care?back=${encodeURIComponent(location.hash)}`} aria-label=${w.help_label}>${icon('help', 30)}</a></span>
        <p class="sub">${item.along ? `${item.along}, ` : ''}${w.counted_in(unitName())}${me.view ? ` · ${w.views[/** @type {'side'} */ (me.view)]}` : ''}</p></div>
      <div class="pad-figure"><span class="count" data-testid="count">${me.count.of === FREE ? counted(me.count) : html`${me.count.whole || me.count.part === 0 ? me.count.whole : ''}<span class="left-over">${fraction(me.count.part, me.count.of)}</span>`}</span><span class="sub">${me.doubt}</span></div>
      ${needleLine(me.count.whole, shareOf(me.count), w.line(me.count.whole, fraction(me.count.part, me.count.of)))}
      <button class="pad" data-testid="pad" aria-label=${w.pad_label(unitName(), counted(me.count))} @pointerdown=${fingers.down} @pointermove=${fingers.move} @pointerup=${fingers.up} @pointercancel=${fingers.cancel}
        @click=${(/** @type {MouseEvent} */ event) => { if (event.detail === 0) oneMore(); }} @contextmenu=${(/** @type {Event} */ event) => event.preventDefault()}>
        <span class="pad-words"><b>${w.tap(unitName())}</b><span class="sub">${w.slide}</span><span class="sub">${w.hold}</span></span>
        ${ladder(me.count, left())}
      </button>
      <div class="pad-small row">
        <button class="btn" aria-label=${w.less_fraction} @click=${() => take(leave(me.count, me.count.part - 1), 'fraction')}>${icon('minus', 18)}${w.step(me.count.of)}</button>
        <button class="btn" aria-label=${w.more_fraction} @click=${() => take(leave(me.count, me.count.part + 1), 'fraction')}>${icon('plus', 18)}${w.step(me.count.of)}</button>
        <button class="btn" @click=${sayIt}>${icon('speak', 20)}${w.say}</button>
        <button class="btn pad-parts" @click=${parts.open}>${w.parts}</button>
      </div>
      <div class="pad-foot">
        <button class="btn" @click=${oneBack}>${icon('undo', 22)}${words.undo}</button>
        <button class="btn" @click=${() => goTo(next)} ?disabled=${!next}>${icon('skip', 20)}${w.skip}</button>
        <button class="btn go" data-testid="keep" ?disabled=${me.busy} @click=${keep}><span><b>${words.keep}</b><small>${next ? w.then(next.name) : w.the_last}</small></span></button>
      </div>
    </div>`;
  }

  /** Every part has been counted in this hold. */
  function over() {
    return html`<div class="pad-main stack">
      <div class="head"><h1 tabindex="-1">${w.over}</h1><p class="sub">${any() ? w.over_counted(cap(listed(readable().filter((item) => item.here.length).map((item) => item.name))), unitName()) : w.over_none}</p></div>
      <div class="card stack"><p>${w.over_hint}</p>
        <button class="btn full go" data-testid="finish" @click=${finish}>${project ? (of === 'subject' ? w.see_proportions : w.see_verdict) : w.see_loose}</button>
        <button class="btn full" @click=${newHold}>${w.new_hold}</button></div>
    </div>`;
  }

  function partsList() {
    return html`<ul class="list">${readable().map((item) => html`<li><button class="item" aria-current=${item.id === me.at?.id ? 'true' : nothing} @click=${() => goTo(item)}><span><b>${cap(item.name)}</b><br><span class="sub small">${item.here.length ? w.kept_times(item.here.length) : w.not_yet}</span></span></button>
        ${item.here.map((one) => html`<div class="item kept-row"><span class="big">${counted(fromValue(one.value, one.denominator))}</span><button class="btn end" aria-label=${w.strike_label(item.name, counted(fromValue(one.value, one.denominator)))} @click=${() => strike(item, one.id, true)}>${icon('strike', 20)}${w.strike}</button></div>`)}</li>`)}</ul>
    <div class="row pad-list-foot">${any() ? html`<button class="btn" @click=${newHold}>${w.new_hold}</button><button class="btn" data-testid="done" @click=${finish}>${words.done}</button>` : html`<button class="btn" ?hidden=${!project} @click=${() => { me.choosing = true; parts.close(); stage.draw(); }}>${w.other_unit}</button>`}</div>`;
  }

  /** Before the first count: which part the thumb marks, and from which side one looks. */
  function choose() {
    return html`<div class="stack narrow">
      <div class="head"><h1 tabindex="-1">${w.choose}</h1><p class="sub">${w.choose_hint}</p></div>
      <div class="seg" role="group" aria-label=${w.view_label}>${(/** @type {const} */ (['side', 'front', 'top', 'other'])).map((one) => html`<button aria-pressed=${me.view === one} @click=${() => { me.view = me.view === one ? null : one; stage.draw(); }}>${w.views[one]}</button>`)}</div>
      ${me.seen.parts.length ? html`<ul class="list">${me.seen.parts.map((/** @type {any} */ part) => html`<li><label class="tick"><input type="radio" name="unit" .checked=${me.unit?.id === part.id} @change=${() => { me.unit = part; stage.draw(); }}><span>${cap(part.name)}</span></label></li>`)}</ul>`
      : html`<div class="card"><p>${w.no_parts}</p><a class="btn full" href=${`#/parts/${project}`}>${w.add_parts}</a></div>`}
      <div class="foot"><button class="btn go full" data-testid="start" ?disabled=${!me.unit} @click=${() => { me.choosing = false; goTo(me.at && me.at.id !== me.unit?.id ? me.at : nextAfter(null)); }}>${me.unit ? w.start(me.unit.name) : w.start_none}</button></div>
    </div>`;
  }

  /** @param {KeyboardEvent} event */
  function key(event) {
    if (me.choosing || !me.at || parts.isOpen) return false;
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
      case 'p': parts.open(); return true;
      default: return false;
    }
  }

  const off = on('engine', () => { if (me.seen) doubt(); });
  return {
    get title() { return cap(me.at?.name ?? w.title); },
    get back() { return { href: project ? (of === 'subject' ? `#/project/${project}` : `#/piece/${project}/${of}`) : '#/', text: project ? me.seen?.name ?? '' : words.dock.projects }; },
    entry: true, load, view, key,
    leave() { letGo(); off?.(); },
  };
}
