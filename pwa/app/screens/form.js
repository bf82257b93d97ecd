// One form: what it is and how large, where it lies over the animal, and the wool it takes.
import { html, nothing } from '../lib/lit-html.js';
import { ask } from '../ask.js';
import { formWithSizes } from '../draw/form-sizes.js';
import { formIcon, solidPicture } from '../draw/solids.js';
import { styled } from '../forms-style.js';
import { icon } from '../icons.js';
import { keptPoints, leaf, profileOf, spindle } from '../profile.js';
import { cap, sentence, words } from '../words.js';
import '../words-more.js';
import '../words-forms.js';
import { placeMode } from './form-place.js';
import { pointsCard } from './form-points.js';
import { sizeSheet } from './form-size.js';
import { woolCard } from './form-wool.js';
import { sheet } from './sheet.js';
import { solidChoice } from './solid-choice.js';
import { whenWide } from './wide.js';

const w = words.form;
const f = words.forms;

/** @typedef {import('../bench/solids.js').SizeView} SizeView */

/** Whether its sizes lie in what was drawn, and not in figures. @param {any} form */
const drawnByHand = (form) => form.kind === 'turned' || (form.kind === 'ear' && Boolean(form.rings));
/** @param {any} form @returns {Record<string, string | null>} */
const textsOf = (form) => Object.fromEntries(form.sizes.map((/** @type {SizeView} */ size) => [size.name, size.text]));

/** @param {import('../app.js').Stage} stage @returns {import('../app.js').Screen} */
export function open(stage) {
  const [project, id] = stage.path;
  /** @type {any} */
  let seen = null;
  /** @type {any} the animal and its other forms, once they are there */
  let around = null;
  /** @type {'sizes' | 'place'} */
  let mode = stage.query.get('show') === 'place' ? 'place' : 'sizes';
  let left = false;

  const wide = whenWide(stage);
  const sizes = sizeSheet(stage, () => seen);
  const kinds = sheet(stage, 'kinds', () => w.choose, () => solidChoice(seen.form.kind, become));
  const wool = woolCard(stage, () => seen, put);
  const keepPlace = (/** @type {unknown} */ place) => ask('set', { kind: 'form', id, field: 'place', value: place });
  const place = placeMode(stage, { seen: () => seen, around: () => around, keep: keepPlace, wide });
  const points = pointsCard(stage, { seen: () => seen, around: () => around, put, wide });

  async function load() {
    [seen] = await Promise.all([ask('view', { name: 'form', id }), styled]);
    if (!around) whatIsAround();
  }

  /** The animal's outlines and the other forms come after: sizes need not wait for them. */
  async function whatIsAround() {
    try {
      const all = await ask('view', { name: 'forms', project });
      around = all.front_apart ? { ...all, front: [] } : all;
    } catch (error) { if (!left) stage.trouble(error); }
    if (!left) stage.draw();
  }

  /** @param {() => Promise<unknown>} act */
  const run = async (act) => { try { await act(); return true; } catch (error) { stage.trouble(error); return false; } };
  /** @param {string} field  @param {unknown} value */
  function put(field, value) { return run(() => ask('set', { kind: 'form', id, field, value })); }
  const value = (/** @type {Event} */ event) => /** @type {HTMLInputElement} */ (event.target).value;

  /** Another solid: sizes of the same names stay, and what it looked like is where a profile begins. @param {string} kind */
  const become = (kind) => run(async () => {
    kinds.close();
    if (kind === seen.form.kind) return;
    if (kind === 'turned') await ask('set', { kind: 'form', id, field: 'rings', value: keptPoints(profileOf(seen.form.side_mm)) });
    else if (seen.form.rings) await ask('set', { kind: 'form', id, field: 'rings', value: null });
    await ask('set', { kind: 'form', id, field: 'shape', value: kind });
  });

  const ownOutline = () => put('rings', keptPoints(leaf(seen.form.length_mm ?? 30, seen.form.width_mm ?? 24)));

  const bin = () => run(async () => {
    const { name } = seen.form;
    await ask('bin', { kind: 'form', id, binned: true });
    location.hash = `#/forms/${project}`;
    stage.tell(w.binned(name), { text: words.undo, run: () => { run(() => ask('bin', { kind: 'form', id, binned: false })); } });
  });

  function view() {
    const { form } = seen;
    return html`<div class="head"><h1 tabindex="-1">${cap(form.name)}</h1><p class="sub">${w.line(words.shapes[form.kind], inWords(form))}${form.count > 1 ? html` · ${f.times(form.count, form.mirrored)}` : nothing}</p></div>
      <div class="columns form-screen"><div class="stack form-left">${drawing()}${figures()}</div>
        <div class="stack">${troubles()}${drawnByHand(form) ? points.view() : nothing}${sizesCard()}${what()}${wool.view()}${more()}</div></div>
      <div class="foot pair form-foot"><a class="btn" href=${`#/lay/${project}/${id}`}>${formIcon('lay')}${w.lay}</a><a class="btn go" href=${`#/weigh/${project}/${id}`}>${w.weigh}</a></div>
      ${sizes.view()}${kinds.view()}`;
  }

  /** Its sizes as they are said in a sentence. @param {any} form */
  function inWords(form) {
    const { length: long, width: across } = drawnByHand(form) ? form.texts : textsOf(form);
    return [long ? w.long(long) : '', across ? w.wide(across) : ''].filter(Boolean);
  }

  function drawing() {
    return html`<div class="card flush form-card"><div class="seg form-modes" role="group" aria-label=${w.modes_label}>${(/** @type {const} */ (['sizes', 'place'])).map((one) => html`<button aria-pressed=${mode === one} data-mode=${one} @click=${() => { mode = one; stage.draw(); }}>${w.modes[one]}</button>`)}</div>
      ${mode === 'place' ? place.view() : sized()}</div>`;
  }

  function sized() {
    const { form } = seen;
    if (!form.side_mm.length) return html`<div class="form-blank">${solidPicture(form.kind, 180)}</div>`;
    const texts = drawnByHand(form) ? { ...textsOf(form), length: form.texts.length, width: form.texts.width } : textsOf(form);
    return formWithSizes({ form, width: wide.now ? 560 : 362, most: wide.now ? 380 : 300, label: w.drawing(form.name), texts, names: { side: w.side, front: w.front } });
  }

  function figures() {
    const { form } = seen;
    if (!form.volume_mm3) return nothing;
    return html`<div class="forms-total"><div class="card figure"><span class="sub">${w.grams}</span><span class="big" data-testid="core">${form.core_text ?? '–'}</span><span class="sub small">${form.count > 1 ? w.each : ''}</span></div>
      <div class="card figure"><span class="sub">${form.coat_text ? w.coat_grams : w.volume}</span><span class="big">${form.coat_text ?? form.volume_text}</span><span class="sub small">${form.coat_text ? `${w.volume} ${form.volume_text}, ` : ''}${w.area.toLowerCase()} ${w.areas(form.area_mm2, seen.settings.unit)}</span></div></div>`;
  }

  function troubles() {
    const { form } = seen;
    const missing = form.sizes.filter((/** @type {SizeView} */ size) => size.missing).map((/** @type {SizeView} */ size) => words.sizes[size.name]);
    if (form.trouble) return html`<p class="card bad" role="alert">${sentence(form.trouble)}</p>`;
    if (form.kind === 'turned' && !form.rings) return html`<div class="card look"><p>${w.still_profile}</p><button class="btn full" @click=${() => put('rings', keptPoints(spindle(60, 30)))}>${w.begin_profile}</button></div>`;
    return missing.length ? html`<p class="card look">${w.still(missing)}</p>` : nothing;
  }

  function sizesCard() {
    const { form } = seen;
    const own = form.kind === 'ear' && form.rings;
    const shown = own ? form.sizes.filter((/** @type {SizeView} */ size) => size.name === 'thickness') : form.sizes;
    if (!shown.length) return nothing;
    return html`<section class="card flush"><h2 class="card-title">${w.sizes}</h2><ul>${shown.map(sizeRow)}</ul>
      ${form.kind === 'ear' && !own ? html`<div class="card-line"><button class="btn full" @click=${ownOutline}>${w.draw_own}</button></div>` : nothing}</section>`;
  }

  /** @param {SizeView} size */
  function sizeRow(size) {
    const optional = !size.missing && size.mm === null;
    const says = size.part ? (size.missing ? w.part_gone : w.as_part(size.part_name, size.times)) : '';
    return html`<li class="size-row"><button class="item" data-size=${size.name} aria-label=${`${words.sizes[size.name]}: ${size.text ?? (optional ? w.as_width : w.not_set)}`} @click=${() => sizes.open(size.name)}>
      <span><b>${words.sizes[size.name]}</b>${says ? html`<br><span class="sub small bound">${size.missing ? nothing : formIcon('bound', 16)}${says}</span>` : nothing}</span>
      <span class=${size.missing ? 'end chip look' : 'end size-value'}>${size.text ?? (optional ? w.as_width : w.not_set)}</span></button></li>`;
  }

  function what() {
    const { form } = seen;
    return html`<section class="card stack"><h2>${w.what}</h2>
      <button class="solid-one" data-testid="kind" @click=${kinds.open}>${solidPicture(form.kind, 72)}<span><b>${cap(words.shapes[form.kind])}</b><span class="sub small">${words.shape_lines[form.kind]}</span></span></button>
      <label class="field">${w.name}<input type="text" name="name" maxlength="80" autocomplete="off" .value=${form.name} @change=${(/** @type {Event} */ event) => { put('name', value(event).trim()); }}></label>
      <label class="field">${w.stands}<select name="stands" @change=${(/** @type {Event} */ event) => { put('stands', value(event)); }}>${Object.keys(words.stands).map((one) => html`<option value=${one} ?selected=${one === form.stands}>${words.stands[one]}</option>`)}</select></label>
      <div class="count-row"><b>${w.count}</b><button class="btn" aria-label=${w.fewer} ?disabled=${form.count < 2} @click=${() => put('count', form.count - 1)}>${icon('minus', 22)}</button><span class="big" aria-live="polite">${form.count}</span><button class="btn" aria-label=${w.more} ?disabled=${form.count > 99} @click=${() => put('count', form.count + 1)}>${icon('plus', 22)}</button></div>
      ${form.count > 1 ? html`<label class="tick flat"><input type="checkbox" name="mirrored" .checked=${form.mirrored} @change=${(/** @type {Event} */ event) => { put('mirrored', /** @type {HTMLInputElement} */ (event.target).checked); }}><span>${w.mirrored}</span></label>` : nothing}</section>`;
  }

  function more() {
    return html`<div class="row rest">${seen.weighings.length ? html`<a class="text" href=${`#/weigh/${project}/${id}`}>${w.weighed(seen.weighings.length)}</a>` : nothing}<a class="text" href=${`#/history/form/${id}?back=${encodeURIComponent(`#/form/${project}/${id}`)}`}>${words.history.open}</a><button class="text end" data-testid="bin" @click=${bin}>${w.bin}</button></div>`;
  }

  /** @param {KeyboardEvent} event */
  function key(event) {
    if (points.key(event)) return true;
    return mode === 'place' && place.key(event);
  }

  function leave() {
    left = true;
    wide.leave();
    place.leave();
    points.leave();
  }

  return { get title() { return seen?.form.name || w.title; }, get back() { return { href: `#/forms/${project}`, text: seen ? w.back(seen.project.name) : words.back }; }, load, view, key, leave };
}
