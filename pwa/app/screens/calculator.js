// The ratio calculator: two lengths on the animal, two on the wool. Any three give the fourth; all four say which ratio is bigger and what would mend it.
import { html, nothing } from '../lib/lit-html.js';
import { ask, on } from '../ask.js';
import { pairsPicture } from '../draw/pairs.js';
import { tick } from '../feel.js';
import { latest } from '../latest.js';
import { asTyped, readingText } from '../shown.js';
import { denominatorOf, keyFor, press, settled, unfinished } from '../typed.js';
import { cap, day, percent, say, words } from '../words.js';
import '../words-more.js';
import { keypad, lengthTrouble } from './keypad.js';
import { sheet } from './sheet.js';

const w = words.ratio;

/**
 * @typedef {'subject_a' | 'subject_b' | 'piece_a' | 'piece_b'} Field
 * @typedef {'subject' | 'piece'} Side
 * @typedef {'a' | 'b'} Row
 * @typedef {import('../types/engine.js').Methods['ratio']['response']} Answer
 */

/** @type {Field[]} */
const fields = ['subject_a', 'subject_b', 'piece_a', 'piece_b'];
const sideOf = (/** @type {Field} */ field) => /** @type {Side} */ (field.split('_')[0]);
const rowOf = (/** @type {Field} */ field) => /** @type {Row} */ (field.split('_')[1]);
const sides = /** @type {Side[]} */ (['subject', 'piece']);
const rows = /** @type {Row[]} */ (['a', 'b']);

/** @param {import('../app.js').Stage} stage @returns {import('../app.js').Screen} */
export function open(stage) {
  const project = stage.query.get('project');
  const draftKey = `ratio:${project ?? ''}`;
  const me = {
    /** @type {Record<Field, string>} */ texts: { subject_a: '', subject_b: '', piece_a: '', piece_b: '' },
    /** @type {Record<Side, string>} */ units: { subject: 'count', piece: '' },
    /** @type {Record<Row, {id: string, name: string}>} */ names: { a: { id: '', name: '' }, b: { id: '', name: '' } },
    /** @type {Field} */ at: 'subject_a',
    /** The sitting the first length was taken from. @type {Record<Side, string>} */ from: { subject: '', piece: '' },
    piece: stage.query.get('piece') ?? '',
    kept: false,
  };
  /** @type {any} */ let settings = null;
  /** @type {any} */ let seen = null;
  /** @type {Answer | null} */ let answer = null;
  /** @type {{text: string, at: string} | null} */ let wrong = null;
  /** @type {Row} */ let naming = 'a';
  /** @type {any} */ let sittings = null;
  /** @type {{id: string, name: string}[]} */ let projects = [];
  /** @type {string[]} */ let suggested = [];
  let busy = false;

  const nameSheet = sheet(stage, 'name', () => w.which[naming], nameForm);
  const readingSheet = sheet(stage, 'readings', () => w.readings[sideOf(me.at)], readingList);
  const keepSheet = sheet(stage, 'keep', () => w.keep, keepForm);

  async function load() {
    const first = !settings;
    [settings, seen] = await Promise.all([ask('settings'), project ? ask('view', { name: 'pad', project, of: 'subject' }) : null]);
    if (!first) return;
    me.units.piece = settings.unit;
    const left = await ask('drafts', { key: draftKey });
    if (left?.texts) Object.assign(me, left);
    if (seen?.pieces.length && !seen.pieces.some((/** @type {any} */ one) => one.id === me.piece)) me.piece = seen.pieces.at(-1).id;
    work(null);
  }

  const save = () => ask('draft', { key: draftKey, value: { texts: me.texts, units: me.units, names: me.names, at: me.at, piece: me.piece, kept: me.kept } }).catch(stage.trouble);
  const given = () => fields.filter((field) => me.texts[field] !== '');
  /** @param {Field} field */
  const withUnit = (field) => { const text = settled(me.texts[field]); return text && me.units[sideOf(field)] !== 'count' ? `${text} ${me.units[sideOf(field)]}` : text; };

  /** In what the answer is told: the unit of the side it is on, or of the wool. */
  function answerUnit() {
    const missing = fields.find((field) => !me.texts[field]);
    const wanted = me.units[missing ? sideOf(missing) : 'piece'];
    return wanted !== 'count' ? wanted : me.units.subject !== 'count' ? me.units.subject : settings.unit;
  }

  /** Asked as soon as three stand. */
  const work = latest(async () => {
    const ready = given().length >= 3 && !fields.some((field) => unfinished(me.texts[field]));
    if (!ready) { answer = null; wrong = null; stage.draw(); return; }
    try {
      const request = { ...Object.fromEntries(fields.map((field) => [field, withUnit(field)])), unit: answerUnit(), denominator: settings.inch };
      answer = await ask('engine', { method: 'ratio', request });
      wrong = null;
    } catch (error) {
      answer = null;
      wrong = { text: lengthTrouble(error), at: /** @type {{at?: string}} */ (error).at ?? '' };
    }
    stage.draw();
    say(answer ? said() : wrong?.text ?? '');
  });

  function changed() {
    me.kept = false;
    stage.draw();
    save();
    work(null);
  }

  /** @param {import('../typed.js').Key} key */
  function type(key) {
    const text = press(me.texts[me.at], key);
    tick(text === me.texts[me.at] ? 'refuse' : 'fraction', settings);
    if (text === me.texts[me.at]) return;
    me.texts[me.at] = text;
    changed();
  }

  /** @param {Field} field */
  function goTo(field) { me.at = field; save(); stage.draw(); }
  /** The next field: down one side, then the other. @param {1 | -1} [way] */
  function next(way = 1) {
    const round = way > 0 ? fields : [...fields].reverse();
    const after = [...round.slice(round.indexOf(me.at)), ...round].slice(1);
    goTo(after[0] ?? fields[0]);
  }

  function clear() {
    const before = { texts: { ...me.texts }, names: { ...me.names } };
    me.texts = { subject_a: '', subject_b: '', piece_a: '', piece_b: '' };
    if (!project) me.names = { a: { id: '', name: '' }, b: { id: '', name: '' } };
    me.at = 'subject_a';
    changed();
    stage.tell(w.cleared, { text: words.undo, run: () => { Object.assign(me, before); changed(); } });
  }

  /** @param {string} unit */
  function setUnit(unit) { me.units[sideOf(me.at)] = unit; changed(); }

  const rowName = (/** @type {Row} */ row) => (me.names[row].name ? cap(me.names[row].name) : w.rows[row]);
  const sideName = (/** @type {Side} */ side) => w.sides[side];
  const left = () => settings?.hand === 'left';
  const units = ['count', 'mm', 'cm', 'in'].map((id) => ({ id, text: w.units[/** @type {'mm'} */ (id)] }));
  const fractions = () => (me.units[sideOf(me.at)] === 'count' ? [2, 3, 4, 8] : me.units[sideOf(me.at)] === 'in' ? (settings.inch === 32 ? [2, 4, 8, 16, 32] : [2, 4, 8, 16]) : []);
  const onSide = (/** @type {string} */ field) => w.on_side(rowName(rowOf(/** @type {Field} */ (field))), sideOf(/** @type {Field} */ (field)));

  /** The answer in a sentence. */
  function said() {
    if (!answer) return '';
    if (answer.missing) return w.found(onSide(answer.missing), answer.text ?? '');
    if (answer.bigger === 'equal') return w.equal(rowName('a'), rowName('b'));
    return w.bigger(rowName('a'), rowName('b'), /** @type {Side} */ (answer.bigger), percent(answer.by, answer.by < 0.1 ? 1 : 0));
  }

  function view() {
    return html`<div class=${`pad-screen ratio-screen${left() ? ' left' : ''}`}>
      <div class="ratio-top">
        <div class="head"><h1 tabindex="-1">${w.title}</h1><span class="side entry-side"><button class="text" data-testid="from-readings" @click=${openReadings}>${w.from_short}</button>${given().length ? html`<button class="text" data-testid="clear-all" @click=${clear}>${w.clear}</button>` : nothing}<button class="text" data-testid="keep-readings" ?hidden=${given().length < 2} @click=${keepSheet.open}>${w.keep_short}</button></span></div>
        <div class="two-by-two">
          <span></span>${sides.map((side) => html`<span class="side-name" aria-hidden="true">${w.side_in(sideName(side), w.units[/** @type {'mm'} */ (me.units[side])])}</span>`)}
          ${rows.map((row) => html`<button class="row-name" @click=${() => { naming = row; openNames(); }}>${rowName(row)}<span class="unseen">${w.rename}</span></button>
            ${sides.map((side) => cell(/** @type {Field} */ (`${side}_${row}`)))}`)}
        </div>
      </div>
      <div class="ratio-answer" tabindex="0" role="region" aria-label=${w.answer_label}>${answerCard()}</div>
      <div class="ratio-keys">${keypad({ units, unit: me.units[sideOf(me.at)], setUnit, unitLabel: w.unit_label(sideOf(me.at)), fractions: fractions(), left: left(), press: type, go: { text: w.next, run: () => next() } })}</div>
      ${nameSheet.view()}${readingSheet.view()}${keepSheet.view()}
    </div>`;
  }

  /** @param {Field} field */
  function cell(field) {
    const text = me.texts[field];
    const unit = me.units[sideOf(field)];
    const found = answer?.missing === field ? answer.text ?? '' : '';
    const bad = wrong?.at.startsWith(field);
    return html`<button class=${`cell${me.at === field ? ' at' : ''}${found ? ' found' : ''}${bad ? ' bad' : ''}`} data-testid=${field} aria-pressed=${me.at === field} @click=${() => goTo(field)}>
      <span class="unseen">${w.cell(onSide(field), Boolean(text || found))}</span><span class=${`${text}${found}`.length > (unit === 'count' ? 7 : 4) ? 'cell-text long' : 'cell-text'}>${text || found || (me.at === field ? '' : '?')}${me.at === field && !found ? html`<i class="caret"></i>` : nothing}</span>${text && unit !== 'count' ? html`<small>${w.units[/** @type {'mm'} */ (unit)]}</small>` : nothing}${found ? html`<span class="unseen">${w.worked_out}</span>` : nothing}</button>`;
  }

  function answerCard() {
    return html`<div class="card stack">
      ${wrong ? html`<p class="wrong">${wrong.text}</p>` : answer ? html`<p class="ratio-said" data-testid="said">${said()}</p>` : html`<p class="sub">${w.hints[given().length] ?? w.hints[0]}</p>`}
      ${pairsPicture({ subject: answer?.ratio_subject ?? null, piece: answer?.ratio_piece ?? null, bigger: answer?.bigger ?? '', missing: answer?.missing ?? '' }, { a: rowName('a'), b: rowName('b'), subject: sideName('subject'), piece: sideName('piece'), label: answer ? said() : w.picture_empty })}
      ${answer?.become?.length ? html`<h2>${w.become}</h2><ul class="become">${answer.become.map((/** @type {any} */ one) => html`<li><span>${onSide(one.field)}</span><b>${one.text}</b></li>`)}</ul>` : nothing}
      ${answer?.lines?.length ? html`<div class="sum" data-testid="sum">${answer.lines.map((/** @type {string} */ line) => html`<p>${line}</p>`)}</div>` : nothing}
    </div>`;
  }

  async function openNames() {
    nameSheet.open();
    if (suggested.length || project) return;
    try { suggested = (await ask('view', { name: 'suggestions', animal: 'other' })).parts.map((/** @type {any} */ part) => part.name); stage.draw(); } catch { /* a name can be typed all the same */ }
  }

  function nameForm() {
    /** @type {{id: string, name: string}[]} */
    const known = seen?.parts ?? suggested.map((name) => ({ id: '', name }));
    return html`<form class="stack" @submit=${(/** @type {SubmitEvent} */ event) => { event.preventDefault(); call({ id: '', name: String(new FormData(/** @type {HTMLFormElement} */ (event.target)).get('name') ?? '').trim() }); }}>
      <div class="row">${known.map((part) => html`<button type="button" class="btn" aria-pressed=${Boolean(part.id) && part.id === me.names[naming].id} @click=${() => call({ id: part.id, name: part.name })}>${cap(part.name)}</button>`)}</div>
      <label class="field">${words.entry.name}<input type="text" name="name" maxlength="80" autocomplete="off" .value=${me.names[naming].name}></label>
      <button class="btn go full">${words.entry.name_use}</button></form>`;
  }

  /** @param {{id: string, name: string}} name */
  function call(name) {
    const same = seen?.parts.find((/** @type {any} */ part) => part.name.toLowerCase() === name.name.toLowerCase());
    me.names[naming] = same ? { id: same.id, name: same.name } : name;
    nameSheet.close();
    changed();
  }

  async function openReadings() {
    sittings = null;
    readingSheet.open();
    try {
      if (!project) projects = (await ask('view', { name: 'projects' })).projects;
      else sittings = sideOf(me.at) === 'piece' && !me.piece ? [] : (await ask('view', { name: 'readings', project, of: sideOf(me.at) === 'subject' ? 'subject' : me.piece })).sittings.filter((/** @type {any} */ one) => !one.struck);
      stage.draw();
    } catch (error) { stage.trouble(error); }
  }

  function readingList() {
    if (!project) {
      return html`<p class="sub">${w.choose_animal}</p>${projects.length ? html`<ul class="list">${projects.slice(0, 60).map((one) => html`<li><button class="item" @click=${() => moveTo(one.id)}><b>${one.name}</b></button></li>`)}</ul>` : html`<p>${w.no_animals}</p>`}`;
    }
    const living = fitting();
    return html`${sideOf(me.at) === 'piece' && seen?.pieces.length > 1 ? pieceChoice(() => openReadings()) : nothing}
      <p class="sub">${w.same_sitting}</p>
      ${sittings === null ? nothing : living.length ? living.map((/** @type {any} */ one) => html`<div class="sum"><p class="sub small">${w.sitting(one.method, one.unit_name, day(one.made))}</p>
        <div class="row">${one.readings.map((/** @type {any} */ reading) => html`<button class="btn" @click=${() => fill(reading, one)}>${cap(reading.name)} <b>${readingText(reading, one.method)}</b></button>`)}</div></div>`) : html`<p>${w.no_readings}</p>`}`;
  }

  /** The sittings both lengths can come from: two readings of one scale, and for the second length the scale of the first. */
  function fitting() {
    const from = rowOf(me.at) === 'b' ? me.from[sideOf(me.at)] : '';
    const all = (sittings ?? []).map((/** @type {any} */ one) => {
      const readings = one.readings.filter((/** @type {any} */ reading) => !reading.struck && !reading.place);
      const marked = one.method === 'sight' && one.unit && !readings.some((/** @type {any} */ reading) => reading.part === one.unit);
      return { ...one, readings: marked ? [{ part: one.unit, name: one.unit_name, value: 1, denominator: 1 }, ...readings] : readings };
    });
    const ruled = all.find((/** @type {any} */ one) => one.id === from)?.method === 'ruler';
    return all.filter((/** @type {any} */ one) => (one.method === 'ruler' ? one.readings.length && (!from || ruled) : one.readings.length > 1 && (!from || one.id === from)));
  }

  /** Goes on with an animal, taking along what was typed. @param {string} id */
  async function moveTo(id) {
    try {
      await ask('draft', { key: `ratio:${id}`, value: { texts: me.texts, units: me.units, names: { a: { id: '', name: me.names.a.name }, b: { id: '', name: me.names.b.name } }, at: me.at, piece: '', kept: false } });
      readingSheet.close();
      location.hash = `#/ratio?project=${id}`;
    } catch (error) { stage.trouble(error); }
  }

  /** A reading goes into the field that is open, and the next one of this side opens. @param {any} reading @param {{id: string, method: string}} sitting */
  function fill(reading, sitting) {
    const { text, unit } = asTyped(reading, sitting.method);
    const row = rowOf(me.at);
    me.texts[me.at] = text;
    me.units[sideOf(me.at)] = unit;
    if (!me.names[row].name || me.names[row].id !== reading.part) me.names[row] = { id: reading.part, name: reading.name };
    tick('keep', settings);
    if (row === 'a') me.from[sideOf(me.at)] = sitting.id;
    if (row === 'a') me.at = /** @type {Field} */ (`${sideOf(me.at)}_b`);
    else { readingSheet.close(); next(); }
    changed();
  }

  /** @param {() => void} then */
  function pieceChoice(then) {
    return html`<label class="field">${w.which_piece}<select @change=${(/** @type {Event} */ event) => { me.piece = /** @type {HTMLSelectElement} */ (event.target).value; save(); then(); stage.draw(); }}>
      ${seen.pieces.map((/** @type {any} */ piece) => html`<option value=${piece.id} ?selected=${piece.id === me.piece}>${piece.name}</option>`)}<option value="" ?selected=${!me.piece}>${w.new_piece}</option></select></label>`;
  }

  function keepForm() {
    const list = (/** @type {Side} */ side) => rows.map((row) => /** @type {Field} */ (`${side}_${row}`)).filter((field) => me.texts[field]);
    const line = (/** @type {Side} */ side) => (list(side).length ? html`<div class="sum"><h3>${sideName(side)}</h3>${list(side).map((field) => html`<p class="row"><span>${rowName(rowOf(field))}</span><b class="end">${withUnit(field)}</b></p>`)}</div>` : nothing);
    return html`<p>${project ? w.keep_in(seen.project.name) : w.keep_loose}</p>${line('subject')}${line('piece')}
      ${project && list('piece').length ? pieceChoice(() => {}) : nothing}
      ${project && rows.some((row) => !me.names[row].id && fields.some((field) => rowOf(field) === row && me.texts[field])) ? html`<p class="sub small">${w.new_parts}</p>` : nothing}
      <button class="btn go full" data-testid="keep-now" ?disabled=${busy || me.kept || Boolean(wrong)} @click=${keep}>${me.kept ? w.is_kept : w.keep_now}</button>`;
  }

  async function keep() {
    if (busy) return;
    busy = true;
    stage.draw();
    try {
      if (fields.some((field) => unfinished(me.texts[field]))) { stage.tell(words.ruler.unfinished); return; }
      const values = await measured();
      if (project) await nameParts();
      for (const side of sides) await keepSide(side, values);
      me.kept = true;
      save();
      keepSheet.close();
      tick('keep', settings);
      const href = project ? (me.piece && (me.texts.piece_a || me.texts.piece_b) ? `#/piece/${project}/${me.piece}` : `#/project/${project}`) : '#/loose';
      stage.tell(w.kept_told, { text: words.show, run: () => { location.hash = href; } });
    } catch (error) { stage.trouble(error); } finally { busy = false; stage.draw(); }
  }

  /** What each field that was filled comes to: mm, or a count (read as the same number of mm). @returns {Promise<Record<string, number>>} */
  async function measured() {
    const entries = given().map(async (field) => [field, (await ask('engine', { method: 'parse-length', request: { text: withUnit(field), unit: 'mm' } })).mm]);
    return Object.fromEntries(await Promise.all(entries));
  }

  /** Names that are no parts yet become parts of the animal. */
  async function nameParts() {
    for (const row of rows) {
      if (me.names[row].id || !fields.some((field) => rowOf(field) === row && me.texts[field])) continue;
      const name = rowName(row);
      me.names[row] = { id: (await ask('addParts', { project, parts: [{ name, axis: 'length' }] })).ids[0], name };
    }
    if (!me.piece && (me.texts.piece_a || me.texts.piece_b)) me.piece = (await ask('addPiece', { project, name: words.project.piece_name(seen.pieces.length + 1) })).id;
  }

  /** One sitting for each side; the part that is 1 is the one the other is counted in. @param {Side} side @param {Record<string, number>} values */
  async function keepSide(side, values) {
    const own = rows.map((row) => /** @type {Field} */ (`${side}_${row}`)).filter((field) => me.texts[field]);
    if (!own.length) return;
    const counts = me.units[side] === 'count';
    /** @type {Record<string, string>} */
    const ids = {};
    for (const field of own) ids[field] = project ? me.names[rowOf(field)].id : (await ask('loosePart', { name: side === 'piece' ? w.loose_name(rowName(rowOf(field))) : rowName(rowOf(field)) })).id;
    const unit = counts ? own.find((field) => values[field] === 1 && me.names[rowOf(field)].name) : undefined;
    const { id } = await ask('startSitting', { project, of: project && side === 'piece' ? me.piece : 'subject', method: counts ? 'sight' : 'ruler', unit: unit ? ids[unit] : null, view: null, denominator: null, arm_mm: null });
    for (const field of own) {
      await ask('keepReading', { sitting: id, part: ids[field], value: values[field], denominator: counts ? stepOf(me.texts[field]) : null, typed: counts ? null : withUnit(field) });
    }
  }

  /** The fraction a count was made to: its own, none for a decimal, else as the settings say. @param {string} text */
  const stepOf = (text) => (/[.,]/.test(text) ? 0 : [2, 3, 4, 8].includes(denominatorOf(text)) ? denominatorOf(text) : settings.denominator);

  /** @param {KeyboardEvent} event */
  function key(event) {
    if (document.querySelector('dialog[open]')) return false;
    const onButton = /** @type {HTMLElement} */ (event.target).closest?.('button, a');
    if ((event.key === 'Enter' || event.key === ' ') && onButton) return false;
    const typed = keyFor(event.key);
    if (typed) { type(typed); return true; }
    switch (event.key) {
      case 'Enter': case 'ArrowDown': case 'ArrowRight': next(1); return true;
      case 'ArrowUp': case 'ArrowLeft': next(-1); return true;
      case 'm': setUnit('mm'); return true;
      case 'c': setUnit('cm'); return true;
      case 'i': setUnit('in'); return true;
      case 'x': setUnit('count'); return true;
      default: return false;
    }
  }

  const off = on('engine', () => { if (settings) work(null); });
  return {
    title: w.title, get back() { return { href: project ? `#/project/${project}` : '#/', text: project ? seen?.project?.name ?? '' : words.dock.projects }; },
    entry: true, load, view, key, leave() { off(); },
  };
}
