// Measuring on a photo: two pins for a part, one for a place along it; what is kept stays drawn, and can be struck out and put back.
import { html, nothing } from '../lib/lit-html.js';
import { ask, on } from '../ask.js';
import { board } from '../board/board.js';
import { alongLine, guide, keptLines, nowLine, startingAt, steps } from '../board/lines.js';
import { complete, endsOf, guided, guideOf, lineFor, pinPx, Steps, wanted } from '../board/pins.js';
import { showPicture } from '../board/picture.js';
import { styled } from '../board/style.js';
import { pictureIcon } from '../draw/picture-icons.js';
import { tick } from '../feel.js';
import { icon } from '../icons.js';
import { latest } from '../latest.js';
import { cap, say, words } from '../words.js';
import '../words-more.js';
import '../words-pictures.js';
import { photoSheets } from './photo-sheets.js';

const w = words.photo;

/** @typedef {import('../board/geometry.js').Point} Point  @typedef {import('../board/pins.js').Item} Item  @typedef {import('../board/pins.js').Pin} Pin
 * What two pins come to, as the view `pins` gives it. @typedef {{px: number, u_px: number, mm: number | null, u_mm: number | null, text: string | null, u_text: string | null, at: number | null, u_at: number | null, ratio: number | null, u_ratio: number | null, off_share: number | null}} Figure
 * @typedef {{part: string, name: string, px: number, pins: Point[]}} Unit
 * A reading that is kept on this picture. @typedef {{id: string, part: string, place: string | null, name: string, pins: Point[] | null, off_mm: number | null, px: number, struck: boolean, covered: boolean}} Kept
 * A count of the needle to lay over the picture. @typedef {{sitting: string, unit: string, unit_name: string, part: string, name: string, value: number, text: string}} Count
 */

/** @param {import('../app.js').Stage} stage @returns {import('../app.js').Screen} */
export function open(stage) {
  const id = stage.path[0];
  const draftKey = `photo:${id}`;
  /** @type {any} */
  let seen = null;
  /** @type {{unit: Unit | null, unit_name: string, now: Figure | null, notes: string[], kept: Record<string, Figure | null>}} */
  let figures = { unit: null, unit_name: '', now: null, notes: [], kept: {} };
  /** @type {{at: Item | null, pins: Pin[], other: boolean, off: {text: string, mm: number | null}, lines: boolean, count: Count | null, busy: boolean}} */
  const me = { at: null, pins: [], other: false, off: { text: '', mm: null }, lines: true, count: null, busy: false };
  /** @type {Steps<{pins: Pin[], item: string}>} */
  const undoing = new Steps();
  /** What was kept on this visit, to take back: the reading, and what was measured. @type {{id: string, item: Item, pins: Pin[]}[]} */
  const done = [];
  /** Where the words on the picture lie, to know when they are tapped. @type {ReturnType<typeof keptLines>} */
  let chips = [];
  let small = false; // the whole picture is not here
  let drafted = 0;
  let reckoned = 0;
  const glass = board(stage, { label: w.title });
  const sheets = photoSheets(stage, {
    me, seen: () => seen, figures: () => figures, items, goTo, strike, textOf, lay, setOff,
    lineOf: (part) => lineOf(part),
  });

  // --- what there is

  async function load() {
    const first = !seen;
    await styled;
    seen = await ask('view', { name: 'photo', id });
    if (first) await begin();
    else if (me.at?.id) me.at = items().find((one) => one.id === me.at?.id) ?? me.at;
    await estimate();
    follow();
  }

  async function begin() {
    glass.hand = seen.settings.hand;
    const left = await ask('drafts', { key: draftKey });
    const asked = stage.query.get('part');
    const all = items();
    me.at = all.find((one) => one.id === (asked ?? left?.at?.id)) ?? (!asked && left?.at && !left.at.id ? left.at : null) ?? nextAfter(null);
    if (left?.at && left.at.id === me.at?.id) Object.assign(me, { pins: left.pins ?? [], other: Boolean(left.other), off: left.off ?? me.off });
    if (left) me.lines = left.lines !== false;
    showPicture(glass, seen.picture, stage).then((whole) => { small = !whole; stage.draw(); });
  }

  /** Parts, then places along them. @returns {Item[]} */
  function items() {
    return [
      ...seen.parts.map((/** @type {any} */ part) => ({ id: part.id, name: part.name, axis: part.axis ?? 'length', part: part.id, place: null, from: '', n: part.n, view: part.view ?? null })),
      ...seen.places.map((/** @type {any} */ place) => ({ id: place.id, name: place.name, axis: 'length', part: place.part, place: place.id, from: place.from ?? '', n: place.n })),
    ];
  }

  /** The next one that is not on this picture yet, of those that are seen from this side; the others are among the parts. @param {Item | null} item @returns {Item | null} */
  function nextAfter(item) {
    const all = items();
    const from = item ? all.findIndex((one) => one.id === item.id) + 1 : 0;
    const left = [...all.slice(from), ...all.slice(0, from)].filter((one) => one.id !== item?.id && !one.n && (!one.place || lineOf(one.part)));
    const view = seen.picture.view;
    return left.find((one) => !one.view || !view || view === 'other' || one.view === view) ?? null;
  }

  /** The line of a part, by its pins that were kept last. @param {string} part @returns {Point[] | null} */
  const lineOf = (part) => seen.readings.findLast((/** @type {Kept} */ one) => one.part === part && !one.place && one.pins && !one.struck)?.pins ?? null;

  /** The line of the part that the place lies along, from the end it is counted from. @returns {Point[] | null} */
  function along() {
    const line = me.at?.place ? lineOf(me.at.part) : null;
    return line && me.other ? [line[1], line[0]] : line;
  }

  /** The line to go by for a width. @param {number} [other] */
  function across(other = 0) {
    const kept = seen.readings.filter((/** @type {Kept} */ one) => one.pins && !one.struck && !one.place).map((/** @type {Kept} */ one) => ({ ...one, axis: seen.parts.find((/** @type {any} */ part) => part.id === one.part)?.axis }));
    return guideOf(me.at, me.pins, me.at ? lineFor(me.at.name, kept, me.pins[other]?.at ?? null) : null, other);
  }

  const now = () => (me.at && complete(me.at, me.pins) && !(me.at.place && !along())
    ? { part: me.at.part || null, place: me.at.place, pins: endsOf(me.at, me.pins, along()), pin_px: pinPx(me.pins), off_mm: me.off.mm } : null);

  /** What all pins come to; the last answer counts. */
  async function estimate() {
    const asked = now();
    const answer = await ask('view', { name: 'pins', picture: id, now: asked });
    if (JSON.stringify(asked) === JSON.stringify(now())) { figures = answer; glass.draw(); stage.draw(); }
  }
  const reckon = latest(async () => { try { await estimate(); } catch (error) { stage.trouble(error); } });

  /** While a pin is dragged the figures follow at a pace that leaves the frames to the picture. */
  function soon() {
    if (!reckoned) reckoned = window.setTimeout(() => { reckoned = 0; reckon(null); }, 140);
  }

  // --- the board

  glass.under = (ctx, on) => {
    if (!seen) return;
    const line = along();
    // The part that a place lies along is drawn as its own line.
    const said = line && me.at ? alongLine(ctx, on, line, me.pins[0]?.at ?? null, me.pins.length ? '' : w.from(me.at.from)) : [];
    const midway = me.pins.length > 0 && !complete(me.at, me.pins); // the other pin is to come: nothing stands where it may go
    const kept = me.lines ? seen.readings.filter((/** @type {Kept} */ one) => one.pins && !one.struck && !(line && !one.place && one.part === me.at?.part)) : [];
    const found = keptLines(ctx, on, kept.map((/** @type {Kept} */ one) => ({ id: one.id, pins: one.pins, along: one.place ? lineOf(one.part) : null, words: midway || me.count && one.part !== me.count.part && one.part !== me.count.unit ? '' : w.chip(one.name, shorter(figures.kept[one.id])) })), me.pins.map(({ at }) => at), said);
    if (!on.loupe) chips = found;
    const by = across();
    if (by && me.pins.length) guide(ctx, on, by);
    if (!me.at?.place && me.pins.length === 2) nowLine(ctx, on, me.pins.map(({ at }) => at), figures.now ? short(figures.now) : '', found.map(({ box }) => box));
    overlay(ctx, on);
  };

  /** The count that is laid over, when its unit and its part are pinned here. @param {CanvasRenderingContext2D} ctx  @param {import('../board/paint.js').Glass} on */
  function overlay(ctx, on) {
    const count = me.count;
    const unit = count && seen.readings.findLast((/** @type {Kept} */ one) => one.part === count.unit && !one.place && one.pins && !one.struck);
    const line = count && (me.at?.id === count.part && me.pins.length === 2 ? me.pins.map(({ at }) => at) : lineOf(count.part));
    if (count && unit && line) steps(ctx, on, line, unit.px, count.value, w.counts_line(count.name, count.text, count.unit_name, count.value), on.loupe ? [] : chips.map(({ box }) => box));
  }

  /** The handles are the pins. */
  function follow() {
    const names = w.pins;
    glass.handles = me.at ? me.pins.map(({ at }, i) => ({ id: String(i), at, kind: /** @type {'pin'} */ ('pin'), label: me.at?.place ? names.place(me.at.name) : i ? names.second(me.at?.name ?? '') : names.first(me.at?.name ?? '') })) : [];
    stage.draw();
  }

  Object.assign(glass.on, /** @type {import('../board/board.js').Hears} */ ({
    grab(_, [x, y]) {
      const more = complete(me.at, me.pins) || !me.at ? 11 : 0; // while a pin is still to come, a tap beside the words means the picture
      const chip = me.lines ? chips.find(({ box }) => x >= box.left - more && x <= box.right + more && y >= box.top - more && y <= box.bottom + more) : null;
      if (chip) sheets.reading(chip.id);
      return Boolean(chip);
    },
    tap(at) {
      if (!me.at) { sheets.parts(); return; }
      if (me.at.place && !along()) { stage.tell(w.place_first(partName(me.at.part))); return; }
      note();
      if (me.pins.length < wanted(me.at)) me.pins = [...me.pins, { at: guided(at, across(), glass.scale), u: glass.pinU() }];
      else { // a pin that is not chosen is meant all the same: the nearer one goes there
        const which = me.pins.length > 1 && startingAt(me.pins.map((pin) => pin.at), at)[0] !== me.pins[0].at ? 1 : 0;
        me.pins = me.pins.map((pin, i) => (i === which ? { at, u: glass.pinU() } : pin));
      }
      tick('unit', seen.settings);
      follow();
      if (complete(me.at, me.pins)) { glass.chosen = glass.handles[glass.handles.length - 1].id; stage.draw(); }
      say(how());
      changed();
    },
    moveStart() { note(); },
    move(which, at, by) {
      const i = Number(which);
      const to = by === 'nudge' ? at : guided(at, across(i ? 0 : 1), glass.scale);
      me.pins = me.pins.map((pin, n) => (n === i ? { at: to, u: glass.pinU() } : pin));
      glass.handles[i].at = to;
      soon();
    },
    moveEnd() { changed(); },
  }));

  const note = () => undoing.note({ pins: me.pins, item: me.at?.id ?? '' });

  function changed() {
    reckon(null);
    clearTimeout(drafted);
    drafted = window.setTimeout(save, 120);
    glass.draw();
    stage.draw();
  }

  /** Written at once, so that nothing is lost with the tab. */
  function save() {
    clearTimeout(drafted);
    ask('draft', { key: draftKey, value: { at: me.at, pins: me.pins, other: me.other, off: me.off, lines: me.lines } }).catch(stage.trouble);
  }

  // --- what is done

  /** @param {Item | null} item */
  function goTo(item) {
    Object.assign(me, { at: item, pins: [], other: false, off: { text: '', mm: null } });
    undoing.clear();
    figures = { ...figures, now: null };
    sheets.close();
    glass.chosen = null;
    follow();
    save();
    glass.draw();
  }

  async function keep() {
    const item = me.at;
    const what = now();
    if (!item || me.busy) return;
    if (!what) { tick('refuse', seen.settings); stage.tell(item.place ? w.place_pin_yet : w.nothing_yet); return; }
    me.busy = true;
    clearTimeout(drafted);
    try {
      const text = figures.now ? short(figures.now) : '';
      const { id: reading, part } = await ask('keepPins', { picture: id, ...(item.place ? { place: item.place } : item.part ? { part: item.part } : { name: item.name, axis: item.axis }), pins: what.pins, pin_px: what.pin_px, off_mm: what.off_mm, draft: draftKey });
      done.push({ id: reading, item: { ...item, id: item.place ?? part, part }, pins: me.pins });
      tick('keep', seen.settings);
      say(w.kept(item.name, text));
      seen = await ask('view', { name: 'photo', id });
      goTo(nextAfter(items().find((one) => one.id === (item.place ?? part)) ?? null));
      await estimate();
    } catch (error) { stage.trouble(error); } finally { me.busy = false; stage.draw(); }
  }

  /** The last pin goes back; with none left, what was kept last is struck out and its pins are there again. */
  async function undo() {
    const before = undoing.back();
    if (before && before.item === (me.at?.id ?? '')) {
      me.pins = before.pins;
      glass.chosen = null;
      follow();
      tick('undo', seen.settings);
      changed();
      return;
    }
    const last = done.pop();
    if (!last) { tick('refuse', seen.settings); return; }
    if (!await strike(last.id, true)) return;
    goTo(items().find((one) => one.id === last.item.id) ?? last.item);
    me.pins = last.pins;
    follow();
    changed();
    stage.tell(w.redo_kept(last.item.name), { text: words.put_back, run: () => { strike(last.id, false); goTo(nextAfter(null)); } });
  }

  /** @param {string} reading  @param {boolean} struck @returns {Promise<boolean>} */
  async function strike(reading, struck) {
    try {
      await ask('strike', { kind: 'reading', id: reading, struck });
      seen = await ask('view', { name: 'photo', id });
      tick('undo', seen.settings);
      await estimate();
    } catch (error) { stage.trouble(error); return false; }
    stage.draw();
    return true;
  }

  function otherEnd() { me.other = !me.other; changed(); }
  const skip = () => { const next = nextAfter(me.at); if (next) goTo(next); };
  function toggleLines() { me.lines = !me.lines; save(); glass.draw(); stage.draw(); }
  /** @param {Count | null} count */
  function lay(count) {
    me.count = count;
    const item = count && !lineOf(count.part) && items().find((one) => one.id === count.part);
    if (item && item.id !== me.at?.id) goTo(item); else sheets.close();
    glass.draw();
    stage.draw();
  }
  /** @param {string} text  @param {number | null} mm */
  function setOff(text, mm) { me.off = { text, mm }; changed(); }

  // --- in words

  const partName = (/** @type {string} */ part) => seen.parts.find((/** @type {any} */ one) => one.id === part)?.name ?? '';

  /** A length in one breath, as it stands on the picture. @param {Figure | null | undefined} figure */
  const short = (figure) => { const { main, of } = textOf(figure); return of ? `${main} ${of}` : main; };

  /** A length: its figure, in what, and how sure. @param {Figure | null | undefined} figure @returns {{main: string, of: string, doubt: string}} */
  function textOf(figure) {
    if (!figure) return { main: '', of: '', doubt: '' };
    if (figure.at !== null) return { main: w.at(figure.at), of: '', doubt: figure.u_at === null ? '' : w.plus_minus(w.at(figure.u_at)) };
    if (figure.text !== null) return { main: figure.text, of: '', doubt: figure.u_text === null ? '' : /^0 /.test(figure.u_text) ? w.under(seen.settings.unit === 'in' ? `1/${seen.settings.inch} in` : '0.1 mm') : w.plus_minus(figure.u_text) };
    if (figure.ratio !== null && figures.unit) return { main: w.number(figure.ratio), of: w.units(figures.unit.name), doubt: figure.u_ratio === null ? '' : w.plus_minus(w.number(figure.u_ratio)) };
    return { main: w.points(figure.px), of: w.points_name, doubt: w.plus_minus(w.points(figure.u_px)) };
  }

  /** The same without its unit, which is one for all: words on the picture are to be few. @param {Figure | null | undefined} figure */
  const shorter = (figure) => (figure?.text || figure?.at ? short(figure) : figure && figures.unit && figure.ratio === null ? '' : textOf(figure).main);

  function how() {
    const item = me.at;
    if (!item) return '';
    if (item.place) return !along() ? w.place_first(partName(item.part)) : me.pins.length ? w.how.ready : w.how.place(item.name);
    if (me.pins.length === 2) return now() && figures.now && figures.notes.includes('far-from-scale') ? w.how.far : w.how.ready;
    if (item.axis === 'width') return me.pins.length ? (across() ? w.how.width_second : w.how.second) : w.how.width;
    return me.pins.length ? w.how.second : w.how.first;
  }

  /** What is left for another picture, when nothing more is seen from this side. */
  function elsewhere() {
    const left = items().filter((one) => !one.n && !one.place).map((one) => one.name.toLowerCase());
    return left.length ? w.all_left(left) : w.all_hint;
  }

  function view() {
    return html`<div class=${`pad-screen photo-screen${glass.hand === 'left' ? ' left' : ''}`}>
      <div class="pad-main photo-main">
        ${head()}
        <div class="photo-glass">${glass.view()}</div>
        ${tools()}${figure()}${foot()}
      </div>
      <aside class="pad-side"><div class="stack">${sheets.aside()}</div></aside>${sheets.view()}
    </div>`;
  }

  function head() {
    const item = me.at;
    const where = [seen.picture.binned ? w.gone : '', item ? how() : '', seen.piece && !me.pins.length ? w.of_piece(seen.piece.name) : '', small ? w.small_only : ''].filter(Boolean);
    return html`<div class="head"><h1 tabindex="-1">${item ? cap(item.name) : seen.parts.length ? w.all : w.none}</h1>
      <span class="side entry-side"><button class="text pad-parts" data-testid="parts" @click=${sheets.parts}>${w.parts}</button></span>
      <p class="sub" data-testid="how">${item ? where.join(' · ') : seen.parts.length ? elsewhere() : w.none_hint}</p></div>`;
  }

  function tools() {
    return html`<div class="photo-tools">
      <button class="btn square" data-testid="lines" aria-pressed=${me.lines} aria-label=${w.lines_label} title=${w.lines_label} @click=${toggleLines}>${pictureIcon(me.lines ? 'eye' : 'no_eye', 24)}</button>
      <button class="btn" data-testid="counts" aria-pressed=${Boolean(me.count)} @click=${sheets.counts}>${w.counts}</button>
      ${seen.scale ? html`<button class="btn" data-testid="off" aria-pressed=${me.off.mm !== null} @click=${sheets.off}>${me.off.mm === null ? w.off : w.off_now(me.off.text)}</button>` : nothing}
      <a class="btn" data-testid="scale" href=${`#/plane/${id}`}>${w.scale}</a>
      <a class="btn" data-testid="outline" href=${`#/outline/${id}`}>${w.outline}</a></div>`;
  }

  /** How sure lengths are is told for where something was measured: far from the card they are less sure than beside it. */
  const scaleWords = () => (seen.readings.some((/** @type {Kept} */ one) => one.pins && !one.struck) ? w.scale_is(seen.scale.u_share) : w.scale_set);

  /** Of a piece: the way to its photo over the animal's outline. */
  const over = () => (seen.piece && !now() ? html`<a class="text end" data-testid="over" href=${`#/overlay/${id}`}>${words.overlay.short_title}</a>` : nothing);

  /** What was measured; it has its room from the beginning, so that the picture does not move when it comes. */
  function figure() {
    const { main, of, doubt } = textOf(figures.now);
    const item = me.at;
    const told = now() && figures.now;
    const link = told && seen.scale && me.off.mm !== null && told.off_share === null ? html`<a class="text end" data-testid="set-distance" href=${`#/plane/${id}?more=1`}>${w.off_distance}</a>` : seen.scale ? over() : html`<a class="text end" data-testid="set-scale" href=${`#/plane/${id}`}>${w.set_scale}</a>`;
    const end = item?.place && along() ? html`<button class="text end" data-testid="other-end" @click=${otherEnd}>${w.other_end}</button>` : link;
    if (!told) return html`<div class="photo-figure" data-testid="figure"><span class="sub">${seen.plane_trouble ? w.plane_bad : seen.scale ? scaleWords() : w.no_scale}</span>${end}</div>`;
    return html`<div class="photo-figure" data-testid="figure"><span class="count">${main}</span><span class="sub small">${of ? html`<b>${of}</b> ` : nothing}${doubt}${beside(told) ? html`<br>${beside(told)}` : nothing}</span>${end}</div>`;
  }

  /** What stands beside the figure: of what it is, or what would make it surer. @param {Figure} told */
  function beside(told) {
    const item = me.at;
    if (told.at !== null) return w.at_of(partName(item?.part ?? ''));
    if (told.text !== null) return offWords(told);
    if (told.ratio !== null) return '';
    return item?.part && item.part === figures.unit?.part ? w.is_unit : w.points_hint(figures.unit ? '' : item?.name === figures.unit_name ? '' : figures.unit_name);
  }

  /** @param {Figure} told */
  const offWords = (told) => (me.off.mm === null ? '' : told.off_share === null ? '' : told.off_share < 0 ? w.off_short_behind(-told.off_share) : w.off_short(told.off_share));

  function foot() {
    const item = me.at;
    const next = nextAfter(item);
    const needs = item?.place && !along() ? items().find((one) => one.id === item.part) : null;
    return html`<div class="entry-foot three">
      <button class="btn" data-testid="undo" aria-disabled=${!undoing.any && !done.length ? 'true' : 'false'} @click=${undo}>${icon('undo', 20)}${w.undo}</button>
      <button class="btn" data-testid="skip" aria-disabled=${!next ? 'true' : 'false'} @click=${skip}>${icon('skip', 20)}${words.pad.skip}</button>
      ${needs ? html`<button class="btn go" data-testid="first" @click=${() => goTo(needs)}>${w.measure_it(needs.name)}</button>`
        : item ? html`<button class="btn go" data-testid="keep" aria-disabled=${me.busy || !now() ? 'true' : 'false'} @click=${keep}><span><b>${words.keep}</b><small>${next ? w.then(next.name) : w.the_last}</small></span></button>`
          : html`<button class="btn go" data-testid="choose" @click=${sheets.parts}>${seen.parts.length ? w.parts : w.new_part}</button>`}</div>`;
  }

  /** @param {KeyboardEvent} event */
  function key(event) {
    if (document.querySelector('dialog[open]')) return false;
    const onButton = /** @type {HTMLElement} */ (event.target).closest?.('button, a');
    if (event.key === 'Enter' && !onButton && event.target === document.body) { keep(); return true; }
    if (glass.key(event)) return true;
    switch (event.key) {
      case 'k': keep(); return true;
      case 'n': skip(); return true;
      case 'p': sheets.parts(); return true;
      case 'u': undo(); return true;
      case 'l': toggleLines(); return true;
      default: return false;
    }
  }

  const off = on('engine', () => reckon(null));
  return {
    get title() { return me.at ? cap(me.at.name) : w.title; },
    get back() { return { href: `#/pictures/${seen?.project.id ?? ''}${seen?.piece ? `?of=${seen.piece.id}` : ''}`, text: words.pictures.title }; },
    entry: true, load, view, key,
    leave() { off(); clearTimeout(drafted); clearTimeout(reckoned); if (seen && me.pins.length) save(); glass.leave(); },
  };
}
