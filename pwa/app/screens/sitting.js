// One sitting of readings, by the needle, the marks or the ruler: which part it is now, keeping, the next one by itself, and the list of them all.
import { html, nothing } from '../lib/lit-html.js';
import { ask } from '../ask.js';
import { tick } from '../feel.js';
import { icon } from '../icons.js';
import { readingText, stillHeld } from '../shown.js';
import { cap, listed, say, words } from '../words.js';
import { sheet } from './sheet.js';

const w = words.entry;

/**
 * What is measured: a part, or a place along one. A length with no project has no id before its first reading.
 * @typedef {{id: string, name: string, part: string, place: string | null, along: string, view?: string | null, here: {id: string, value: number, denominator: number | null, typed: string | null}[]}} Item
 *
 * @typedef {object} Sitting
 * @property {any} seen                 as the view 'pad' gives it
 * @property {Item[]} all
 * @property {Item[]} items             what can be measured here: all but the unit; with no project, what this sitting has
 * @property {Item | null} at
 * @property {{id: string, name: string} | null} unit   what a count is counted in
 * @property {boolean} picking          the unit is being chosen
 * @property {string | null} sitting
 * @property {string | null} view
 * @property {boolean} busy
 * @property {string[]} names           suggested for a length without one
 */

/**
 * @param {import('../app.js').Stage} stage
 * @param {'sight' | 'marks' | 'ruler'} method
 * @param {{entry: () => unknown, restore: (entry: any) => void, clear: () => void}} typing   what is being entered: to draft it, to take it from a draft, to begin anew
 */
export function sittingOf(stage, method, typing) {
  const project = stage.query.get('project');
  const of = stage.query.get('of') ?? 'subject';
  const draftKey = `${method}:${project ?? ''}:${of}`;
  /** @type {Sitting} */
  const me = {
    seen: null, all: [], at: null, unit: null, sitting: null, view: null, busy: false, picking: false, names: [],
    get items() { return me.all.filter((item) => item.id !== me.unit?.id && (project || item.here.length)); },
  };
  const parts = sheet(stage, 'parts', () => w.parts, list);
  const naming = sheet(stage, 'naming', () => w.name_it, nameForm);

  async function load() {
    const first = !me.seen;
    if (!first) return look();
    const [left] = await Promise.all([ask('drafts', { key: draftKey }), look()]);
    const held = left?.sitting && (method === 'ruler' || stillHeld(left.when)) && await uncovered(left.sitting);
    if (held) {
      me.sitting = left.sitting;
      await look().catch(() => { me.sitting = null; return look(); });
    }
    me.view = left?.view ?? null;
    if (method === 'sight') findUnit(left, held);
    me.at = me.items.find((item) => item.id === (stage.query.get('part') ?? left?.at?.id)) ?? (!project && left?.at && (held || !left.at.id) ? left.at : null) ?? nextAfter(null);
    if (!held && stage.query.get('part') && me.at && elsewhere(me.at)) me.view = me.at.view ?? null;
    if (left?.over && held || me.picking && !stage.query.get('part') && !left?.at) me.at = null;
    if (left?.entry) typing.restore(left.entry);
    if (left?.sitting && !held && method !== 'ruler') stage.tell(w.hold_over);
  }

  /** The part the thumb marks: the one of the hold that goes on, the one asked for, the one used last. @param {any} left @param {boolean} held */
  function findUnit(left, held) {
    const part = (/** @type {string | undefined} */ id) => me.seen.parts.find((/** @type {any} */ one) => one.id === id) ?? null;
    if (!project) me.unit = held ? left.unit : { id: '', name: words.pad.loose_unit };
    else me.unit = part(left?.unit?.id) ?? part(stage.query.get('unit') ?? me.seen.unit);
    const asked = stage.query.get('part');
    if (asked && asked === me.unit?.id) me.unit = null;
    me.picking = Boolean(project) && !held && !(me.unit && (asked || left?.unit));
  }

  /** A check that was kept meanwhile rests on the sittings before it: what is measured now belongs to a new one. @param {string} sitting */
  async function uncovered(sitting) {
    if (!project || of === 'subject') return true;
    const { sittings } = await ask('view', { name: 'readings', project, of });
    return !sittings.find((/** @type {any} */ one) => one.id === sitting)?.covered;
  }

  /** The parts and places there are, with what this sitting has of each. */
  async function look() {
    me.seen = await ask('view', { name: 'pad', project, of, sitting: me.sitting ?? undefined });
    const name = (/** @type {string} */ id) => me.seen.parts.find((/** @type {any} */ part) => part.id === id)?.name ?? '';
    me.all = [
      ...me.seen.parts.map((/** @type {any} */ part) => ({ ...part, part: part.id, place: null, along: '' })),
      ...me.seen.places.map((/** @type {any} */ place) => ({ ...place, place: place.id, along: words.pad.along(name(place.part), place.from) })),
    ];
    if (me.at?.id) me.at = me.all.find((item) => item.id === me.at?.id) ?? me.at;
  }

  /** Written at once, so that nothing is lost with the tab. */
  function save() {
    const at = me.at && { ...me.at, here: [] };
    ask('draft', { key: draftKey, value: { sitting: me.sitting, view: me.view, unit: me.unit && { id: me.unit.id, name: me.unit.name }, at, over: !me.at, entry: typing.entry(), when: Date.now() } }).catch(stage.trouble);
  }

  /** The next one this sitting has no reading of: first those that show best from where one looks. @param {Item | null} item @returns {Item | null} */
  function nextAfter(item) {
    if (!project) return unnamed(me.items.length + (item && !me.items.includes(item) ? 2 : 1));
    const from = item ? me.items.findIndex((one) => one.id === item.id) + 1 : 0;
    const left = [...me.items.slice(from), ...me.items.slice(0, from)].filter((one) => one.id !== item?.id && one.here.length === 0);
    return left.find((one) => !elsewhere(one)) ?? left[0] ?? null;
  }

  /** Shows best from another side than the one that is looked from. @param {Item} item */
  const elsewhere = (item) => Boolean(me.view && me.view !== 'other' && item.view && item.view !== me.view);

  /** @param {number} n @returns {Item} */
  const unnamed = (n) => ({ id: '', name: words.pad.loose_part(n), part: '', place: null, along: '', here: [] });

  /** @param {Item | null} item */
  function goTo(item) {
    me.at = item;
    typing.clear();
    parts.close();
    save();
    stage.draw();
  }

  /** @param {{value: number, text: string, typed?: string | null, denominator?: number | null}} reading */
  async function keep({ value, text, typed = null, denominator = null }) {
    const item = me.at;
    if (!item || me.busy) return;
    me.busy = true;
    try {
      const read = { part: item.part || null, name: item.name, place: item.place, value, denominator, typed, draft: draftKey };
      if (me.sitting) item.part = (await ask('keepReading', { sitting: me.sitting, ...read })).part;
      else await begin(item, read);
      if (!item.place) item.id = item.part;
      tick('keep', me.seen.settings);
      say(w.kept(cap(item.name), text));
      await look();
      // One reading was asked for, to settle a verdict: back to it.
      if (stage.query.get('from') && stage.query.get('part') === item.id) await finish();
      else goTo(nextAfter(me.items.find((one) => one.id === item.id) ?? item));
    } catch (error) { stage.trouble(error); } finally { me.busy = false; stage.draw(); }
  }

  /** A sitting begins with its first reading, and with the thumb's mark, which is a reading of its own, of one unit. @param {Item} item @param {{denominator: number | null}} read */
  async function begin(item, read) {
    const hold = { project, of, method, unit: me.unit?.id || null, unit_name: me.unit?.name, view: me.view, denominator: read.denominator, arm_mm: method === 'ruler' ? null : me.seen.settings.arm_mm };
    const { sitting, part, unit } = await ask('firstReading', { hold, ...read });
    me.sitting = sitting;
    item.part = part;
    if (me.unit) me.unit.id = unit;
  }

  /** @param {Item} item @param {string} id @param {boolean} struck */
  async function strike(item, id, struck) {
    try {
      await ask('strike', { kind: 'reading', id, struck });
      tick('undo', me.seen.settings);
      parts.close();
      if (struck) stage.tell(words.pad.struck(cap(item.name)), { text: words.put_back, run: () => strike(item, id, false) });
    } catch (error) { stage.trouble(error); }
  }

  async function finish() {
    try { await ask('draft', { key: draftKey, value: null }); } catch (error) { stage.trouble(error); return; }
    location.hash = back().href;
  }

  /** The arm was lowered, or the animal has moved: another scale, so another sitting. */
  async function again() {
    me.sitting = null;
    me.picking = method === 'sight' && Boolean(project);
    if (me.unit && !project) me.unit = { id: '', name: words.pad.loose_unit };
    await look().catch(stage.trouble);
    goTo(me.picking ? null : nextAfter(null));
  }

  /** Where this began: the piece whose verdict asked for a reading, the piece or the animal that is measured, what is not sorted yet. */
  function back() {
    const asking = me.seen?.pieces.find((/** @type {any} */ piece) => piece.id === stage.query.get('from'));
    if (project && asking) return { href: `#/piece/${project}/${asking.id}`, text: asking.name };
    if (project) return { href: of === 'subject' ? `#/project/${project}` : `#/piece/${project}/${of}`, text: me.seen?.piece?.name ?? me.seen?.project?.name ?? '' };
    return any() ? { href: '#/loose', text: w.to_loose } : { href: '#/', text: words.dock.projects };
  }
  const any = () => me.items.some((item) => item.here.length > 0);
  /** @param {string | null} view */
  const lookFrom = (view) => { me.view = me.view === view ? null : view; save(); stage.draw(); };
  const text = (/** @type {Item['here'][number]} */ one) => readingText(one, method);

  /** From which side one looks is asked until the first reading settles it. */
  const choosing = () => method === 'marks' && Boolean(project) && of === 'subject' && !any();

  function viewChoice() {
    return !choosing() ? nothing : html`<div class="seg" role="group" aria-label=${words.pad.view_label}>${(/** @type {const} */ (['side', 'front', 'top', 'other'])).map((one) => html`<button aria-pressed=${me.view === one} @click=${() => lookFrom(one)}>${words.pad.views[one]}</button>`)}</div>`;
  }

  function list() {
    const now = me.at && !me.at.id ? [me.at] : [];
    return html`<ul class="list">${[...me.items, ...now].map((item) => html`<li>
        <button class="item" aria-current=${item === me.at || (item.id && item.id === me.at?.id) ? 'true' : nothing} @click=${() => goTo(item)}><span><b>${cap(item.name)}</b><br><span class="sub small">${item.along ? `${item.along} · ` : ''}${item.here.length ? w.times(item.here.length) : w.not_yet}</span></span></button>
        ${item.here.map((one) => html`<div class="item kept-row"><span class="big">${text(one)}</span><button class="btn end" aria-label=${words.pad.strike_label(item.name, text(one))} @click=${() => strike(item, one.id, true)}>${icon('strike', 20)}${words.pad.strike}</button></div>`)}</li>`)}</ul>
      ${project && !me.items.length ? html`<div class="card"><p>${words.pad.no_parts}</p><a class="btn full" href=${`#/parts/${project}`}>${words.pad.add_parts}</a></div>` : nothing}
      ${any() ? html`<div class="pair"><button class="btn" @click=${() => { parts.close(); again(); }}>${w.again[method]}</button><button class="btn" data-testid="done" @click=${finish}>${words.done}</button></div>` : me.unit && project ? html`<button class="btn full" @click=${() => { parts.close(); again(); }}>${words.pad.other_unit}</button>` : nothing}`;
  }

  function over() {
    const done = me.items.filter((item) => item.here.length).map((item) => item.name);
    const inUnit = me.unit && done.length ? words.pad.over_counted(cap(listed(done)), me.unit.name) : '';
    return html`<div class="pad-main stack">
      <div class="head"><h1 tabindex="-1">${me.items.length ? w.over : w.nothing}</h1><p class="sub">${inUnit || (done.length ? `${cap(listed(done))}.` : me.items.length ? w.over_none : '')}</p></div>
      ${me.items.length ? html`<div class="card stack"><p>${w.over_hint[method]}</p>
        <button class="btn full go" data-testid="finish" @click=${finish}>${back().href.startsWith('#/project') ? words.pad.see_proportions : words.pad.see_verdict}</button>
        <button class="btn full" @click=${again}>${w.again[method]}</button></div>`
      : html`<div class="card stack"><p>${words.pad.no_parts}</p><a class="btn full go" href=${`#/parts/${project}`}>${words.pad.add_parts}</a></div>`}
    </div>`;
  }

  /** What the heading says: the part's name; with no project it can be given one. @param {unknown} side */
  function head(side) {
    const item = me.at;
    if (!item) return nothing;
    const unit = !me.unit ? '' : me.unit.name === words.pad.loose_unit ? words.pad.counted_loose : words.pad.counted_in(me.unit.name);
    const view = !me.view ? '' : elsewhere(item) ? w.best_seen[/** @type {'side'} */ (item.view)] : w.seen_from[/** @type {'side'} */ (me.view)];
    const where = [item.along, unit, me.seen.piece ? w.on_wool(me.seen.piece.name) : '', view].filter(Boolean);
    return html`<div class="head"><h1 tabindex="-1">${cap(item.name)}</h1><span class="side entry-side"><button class="text pad-parts" data-testid="parts" @click=${parts.open}>${w.parts}</button>${side}</span>
      <p class="sub">${choosing() ? w.from_where : where.length ? where.join(' · ') : w.how[method]}</p></div>`;
  }

  async function openNaming() {
    naming.open();
    if (me.names.length) return;
    try { me.names = (await ask('view', { name: 'suggestions', animal: 'other' })).parts.map((/** @type {any} */ part) => part.name); stage.draw(); } catch { /* a name can be typed all the same */ }
  }

  function nameForm() {
    const now = me.at?.name ?? '';
    return html`<form class="stack" @submit=${(/** @type {SubmitEvent} */ event) => { event.preventDefault(); call(String(new FormData(/** @type {HTMLFormElement} */ (event.target)).get('name') ?? '')); }}>
      <label class="field">${w.name}<input type="text" name="name" maxlength="80" autocomplete="off" .value=${now} @focus=${(/** @type {FocusEvent} */ event) => /** @type {HTMLInputElement} */ (event.target).select()}></label>
      <div class="row">${me.names.map((name) => html`<button type="button" class="btn" @click=${() => call(name)}>${cap(name)}</button>`)}</div>
      <button class="btn go full">${w.name_use}</button></form>`;
  }

  /** @param {string} typed */
  async function call(typed) {
    const item = me.at;
    const name = typed.trim();
    if (!item) return;
    if (!name) { stage.trouble({ code: 'name-empty' }); return; }
    try {
      if (item.id) await ask('set', { kind: 'part', id: item.id, field: 'name', value: name });
      item.name = name;
      naming.close();
      save();
    } catch (error) { stage.trouble(error); }
    stage.draw();
  }

  /** The buttons that are used most, lowest. @param {() => void} keepIt @param {boolean} [wait] @param {unknown} [more] another button beside them */
  function foot(keepIt, wait = false, more = nothing) {
    const next = nextAfter(me.at);
    return html`<div class=${`entry-foot${more === nothing ? '' : ' three'}`}>${more}
      ${project ? html`<button class="btn" data-testid="skip" ?disabled=${!next} @click=${() => goTo(next)}>${icon('skip', 20)}${words.pad.skip}</button>` : html`<button class="btn" data-testid="name" @click=${openNaming}>${w.name_it}</button>`}
      <button class="btn go" data-testid="keep" ?disabled=${me.busy || wait} @click=${keepIt}>${project ? html`<span><b>${words.keep}</b><small>${next ? words.pad.then(next.name) : words.pad.the_last}</small></span>` : words.keep}</button></div>`;
  }

  const sheets = () => html`${parts.view()}${naming.view()}`;
  const skip = () => { const next = nextAfter(me.at); if (next) goTo(next); };

  return { me, project, of, load, look, save, keep, skip, goTo, nextAfter, parts, list, over, head, foot, sheets, viewChoice, back, any };
}
