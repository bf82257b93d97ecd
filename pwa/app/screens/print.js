// The sheet: which views, at what size, on which paper; how it lies on the pages; and the PDF, made before it is asked for.
import { html, nothing } from '../lib/lit-html.js';
import { ask } from '../ask.js';
import { styled } from '../board/style.js';
import { pageMap } from '../draw/pages.js';
import { pictureIcon } from '../draw/picture-icons.js';
import { icon } from '../icons.js';
import { latest } from '../latest.js';
import { formViews } from '../lay-sheet.js';
import { look } from '../look.js';
import { placeOf, straight } from '../true-size.js';
import { cap, num, room, sentence, words } from '../words.js';
import '../words-more.js';
import '../words-pictures.js';
import '../words-forms.js';
import { addresses } from './addresses.js';
import { sizeDialog } from './size.js';

const w = words.print;
const l = words.lay;

/**
 * @typedef {import('../true-size.js').Sized} Sized
 * @typedef {'photo' | 'outline' | 'both' | 'none'} What
 * @typedef {'lay' | 'roll' | 'both' | 'none'} OfForm
 * @typedef {import('../lay-sheet.js').View} View
 * @typedef {{pictures: {one: Sized, what: What}[], forms: View[]}} Content
 * @typedef {{name: string, columns: number, rows: number, landscape: boolean, first_page: number, shared: boolean, drawing: [number, number, number, number], windows: [number, number, number, number][]}} Laid
 * @typedef {{file: File, href: string, pages: number, views: Laid[], of: {one: Sized | null, rings: [number, number][][]}[], notes: {code: string, text: string}[]}} Made
 */

/** @param {import('../app.js').Stage} stage @returns {import('../app.js').Screen} */
export function open(stage) {
  const project = stage.path[0];
  const only = stage.query.get('picture');
  const onlyForm = stage.query.get('form');
  /** @type {any} */
  let seen = null;
  /** What goes on the sheet of each picture, where she said so. @type {Record<string, What>} */
  let chosen = {};
  /** What goes on it of each form. @type {Record<string, OfForm>} */
  let lays = {};
  /** @type {{id: string, name: string, shape: unknown}[]} */
  let forms = [];
  /** Of those that go on it. @type {Map<string, any>} */
  let laid = new Map();
  /** @type {'A4' | 'Letter'} */
  let paper = paperHere();
  /** @type {Made | null} */
  let made = null;
  let making = false;
  let wrong = '';
  let left = false;
  let asked = '';
  /** Those that were made straight, as they are shown on the map. @type {Map<string, string>} */
  const straightened = new Map();
  const small = addresses(stage.draw);
  const dialog = sizeDialog(stage);
  const draft = `print:${project}`;

  async function load() {
    const first = !seen;
    const [view, all, before] = await Promise.all([ask('view', { name: 'print', project }), formsOf(), first ? ask('drafts', { key: draft }).catch(() => null) : null, styled]);
    seen = view;
    forms = all;
    if (first) begin(before);
    await layThem();
    for (const one of seen.pictures) small.fetch(one.thumb);
    renew();
  }

  /** The forms it has; without the half of the engine that knows them the pictures are printed all the same. */
  const formsOf = async () => { try { return (await ask('view', { name: 'forms', project })).forms; } catch (error) { stage.trouble(error); return []; } };

  /** What was chosen before, unless one form was asked for, or all. @param {any} before */
  function begin(before) {
    if (before) { paper = before.paper === 'Letter' ? 'Letter' : 'A4'; chosen = before.chosen ?? {}; lays = before.lays ?? {}; }
    if (onlyForm) { chosen = Object.fromEntries(seen.pictures.map((/** @type {Sized} */ one) => [one.id, 'none'])); lays = { [onlyForm]: 'both' }; }
    if (stage.query.get('lays') === 'all') lays = Object.fromEntries(forms.map((form) => [form.id, 'both']));
  }

  /** @param {string} form @returns {OfForm} */
  const ofForm = (form) => lays[form] ?? 'none';
  const formsOnIt = () => forms.filter((form) => form.shape && ofForm(form.id) !== 'none');

  /** The lays of those that go on it. */
  async function layThem() {
    const all = await Promise.all(formsOnIt().map(async (form) => /** @type {[string, any]} */ ([form.id, await ask('view', { name: 'lay', form: form.id })])));
    laid = new Map(all.filter(([, one]) => one.lay));
  }

  /** @param {Record<string, OfForm>} some */
  async function lay(some) {
    lays = { ...lays, ...some };
    stage.draw();
    try { await layThem(); } catch (error) { stage.trouble(error); }
    keepChoice();
  }

  /** @param {Sized} one @returns {What} */
  const whatOf = (one) => {
    if (one.why) return 'none';
    const said = only && !chosen[one.id] ? (one.id === only ? undefined : 'none') : chosen[one.id];
    const usual = one.outlines ? 'outline' : 'photo';
    return one.outlines ? said ?? usual : said === 'none' ? 'none' : 'photo';
  };
  const onIt = () => /** @type {Sized[]} */ (seen.pictures).filter((one) => whatOf(one) !== 'none');

  /** @param {Sized} one  @param {What} what */
  function choose(one, what) {
    chosen = { ...chosen, [one.id]: what };
    keepChoice();
  }

  function keepChoice() {
    if (!onlyForm) ask('draft', { key: draft, value: { paper, chosen, lays } }).catch(stage.trouble);
    renew();
    stage.draw();
  }

  /** Lays the sheet out again when anything on it has changed. */
  function renew() {
    const pictures = onIt().map((one) => ({ one, what: whatOf(one) }));
    const views = formsOnIt().flatMap((form) => { const seen = laid.get(form.id); return seen ? formViews(seen, /** @type {'lay'} */ (ofForm(form.id))) : []; });
    const now = JSON.stringify([paper, seen.name, seen.size_text, seen.rows, pictures.map(({ one, what }) => [what, one]), views]);
    if (now === asked) return;
    asked = now;
    wrong = '';
    if (!pictures.length && !views.length) { making = false; letGo(); return; }
    making = true;
    make({ content: { pictures, forms: views }, now });
  }

  /** The PDF is made before the tap that shares it: a browser forgets the tap while it waits. */
  const make = latest(async (/** @type {{content: Content, now: string}} */ { content, now }) => {
    try {
      const { bytes, pages, views: placed, notes } = await sheet(content);
      if (left || now !== asked) return;
      letGo();
      const file = new File([bytes], `${fileName(w.file(seen.name))}.pdf`, { type: 'application/pdf' });
      made = { file, href: URL.createObjectURL(file), pages, views: placed, of: [...content.pictures.map(({ one, what }) => ({ one, rings: what === 'photo' ? [] : one.rings_mm })), ...content.forms.map((view) => ({ one: null, rings: view.rings_mm }))], notes: notes ?? [] };
    } catch (error) {
      if (now === asked && !left) { wrong = sentence(error); letGo(); }
    } finally {
      if (now === asked) making = false;
      if (!left) stage.draw();
    }
  });

  /** @param {Content} content */
  async function sheet({ pictures: shown, forms: drawn }) {
    /** @type {Record<string, {hash: string} | {file: Blob, type: string}>} */
    const pictures = {};
    const request = {
      paper, title: seen.name.normalize('NFC'), size: seen.size ? w.size_is(seen.size_text, seen.size_part).normalize('NFC') : undefined, date: new Intl.DateTimeFormat('en-GB', { dateStyle: 'long' }).format(new Date()),
      views: [...await Promise.all(shown.map(async ({ one, what }, nth) => {
        const name = `picture-${nth + 1}`;
        const rings = what === 'photo' ? undefined : one.rings_mm;
        if (what === 'outline') return { name: called(one), what, rings_mm: rings };
        pictures[name] = await pictureOf(one);
        return { name: called(one), what, image: name, photo: corners(placeOf(one)), rings_mm: rings };
      })), ...drawn],
      parts: seen.rows.map((/** @type {{part: string, units: string, size: string}} */ row) => ({ ...row, part: cap(row.part).normalize('NFC') })), cautions: w.cautions, texts: w.printed,
    };
    return look('sheet', request, pictures);
  }

  /** @param {import('../true-size.js').Place | null} place */
  const corners = (place) => place && { left_mm: place.left_mm, top_mm: place.top_mm, width_mm: place.width_mm, height_mm: place.height_mm };

  /** @param {Sized} one */
  async function pictureOf(one) {
    const blob = await straight(one);
    if (!blob) return { hash: one.full };
    if (!straightened.has(one.id) && !left) straightened.set(one.id, URL.createObjectURL(blob));
    return { file: blob, type: 'image/jpeg' };
  }

  /** @param {Sized} one */
  const called = (one) => (one.name || w.side[one.view ?? 'other']).normalize('NFC');

  function letGo() { if (made) URL.revokeObjectURL(made.href); made = null; }

  async function share() {
    if (!made) return;
    try {
      await navigator.share({ files: [made.file], title: made.file.name });
      stage.tell(w.shared_told);
    } catch (error) {
      stage.tell(/** @type {{name?: string}} */ (error).name === 'AbortError' ? w.not_shared : w.cannot_share);
    }
  }

  function view() {
    const empty = !seen.pictures.length && !forms.length;
    return html`<div class="head"><h1 tabindex="-1">${w.title}</h1><p class="sub">${w.sub(seen.name)}</p></div>
      ${empty ? html`<div class="stack narrow"><div class="card stack hollow">${pictureIcon('print', 56)}<h2>${w.empty}</h2><p class="sub">${w.empty_hint}</p></div><a class="btn go full" href=${`#/pictures/${project}`}>${w.to_pictures}</a></div>`
      : html`<div class="columns print-screen"><div class="stack">${seen.size || onlyForm ? nothing : noSize()}${result()}</div><div class="stack">${choices()}${how()}</div></div>${foot()}`}${dialog.view()}`;
  }

  /** The size dialog wants the project's parts. */
  const openSize = () => dialog.open({ ...seen, parts: seen.choices });

  function noSize() {
    return html`<section class="card look stack"><h2>${w.no_size}</h2><p>${w.no_size_hint}</p><button class="btn go full" data-testid="set-size" @click=${openSize}>${w.set}</button></section>`;
  }

  /** The pages, each view's as a map. */
  function result() {
    if (!seen.size && !formsOnIt().length) return nothing;
    return html`<section class="card stack print-result"><div><div role="status"><h2 data-testid="pages">${making && !made ? w.making : made ? w.pages(made.pages, w.papers[paper]) : onIt().length || formsOnIt().length ? w.trouble : w.none}</h2></div>
        ${seen.size ? html`<p class="sub">${w.size_is(seen.size_text, seen.size_part)} <button class="text inline" @click=${openSize}>${w.change}</button></p>` : nothing}</div>
      ${wrong ? html`<p class="wrong" role="alert">${wrong}</p>` : nothing}
      ${made ? html`<p class="sub">${w.pages_hint}</p>${made.notes.map((note) => html`<p class="reminder">${icon('look', 20)}<span>${sentence(note)}</span></p>`)}<div class=${making ? 'maps dim' : 'maps'}>${made.views.map((laid, nth) => map(laid, /** @type {Made} */ (made).of[nth]))}</div>` : making ? html`<progress aria-label=${w.making}></progress>` : nothing}</section>`;
  }

  /** @param {Laid} laid  @param {Made['of'][number]} shown */
  function map(laid, { one, rings }) {
    const photo = !one || whatOf(one) === 'outline' ? undefined : straightened.get(one.id) ?? (one.rectify ? undefined : small.of(one.thumb));
    return html`<figure>${pageMap(laid, { address: photo, place: one && placeOf(one), rings }, w.map(laid.name))}
      <figcaption><b>${laid.name}</b> <span class="sub">${laid.shared ? w.shared : w.tiles(laid.columns, laid.rows, laid.landscape)}</span></figcaption></figure>`;
  }

  function choices() {
    return html`<section class="card stack"><h2>${w.views}</h2>${onlyForm ? layRows() : nothing}<ul class="print-views">${seen.pictures.map(viewRow)}</ul>${onlyForm ? nothing : layRows()}
      <div class="setting" role="group" aria-label=${w.paper}><b>${w.paper}</b><div class="seg">${/** @type {const} */ (['A4', 'Letter']).map((name) => html`<button aria-pressed=${paper === name} @click=${() => { paper = name; keepChoice(); }}>${w.papers[name]}</button>`)}</div></div></section>`;
  }

  /** @param {Sized} one */
  function viewRow(one) {
    const address = small.of(one.thumb);
    const whats = /** @type {What[]} */ (one.outlines ? ['outline', 'photo', 'both', 'none'] : ['photo', 'none']);
    return html`<li class="print-view" data-picture=${one.id}><div class="print-what">${address ? html`<img src=${address} alt="">` : html`<span class="no-thumb">${icon('picture', 28)}</span>`}
        <div><b>${called(one)}</b><p class="sub small">${one.why ? w.why[one.why] : [one.wide_mm && one.high_mm ? w.large(num(one.wide_mm, 0), num(one.high_mm, 0)) : '', w.by[/** @type {'plane'} */ (one.by)]].filter(Boolean).join(' · ')}</p></div></div>
      ${one.why === 'no-size' ? nothing : one.why ? html`<div class="row"><a class="text" href=${`#/photo/${one.id}`}>${w.give[one.why]}</a>${one.why === 'no-scale' ? html`<a class="text end" href=${`#/plane/${one.id}`}>${w.or_scale}</a>` : nothing}</div>`
      : html`<div class="seg" role="group" aria-label=${w.what_label(called(one))}>${whats.map((what) => html`<button aria-pressed=${whatOf(one) === what} @click=${() => choose(one, what)}>${w.what[what]}</button>`)}</div>
        ${one.outlines ? nothing : html`<div class="row"><span class="sub small">${w.ink}</span><a class="text end" href=${`#/outline/${one.id}?back=${encodeURIComponent(location.hash)}`}>${w.trace}</a></div>`}`}</li>`;
  }

  /** The forms, each with what of it goes on the sheet. */
  function layRows() {
    if (!forms.length) return nothing;
    const all = (/** @type {OfForm} */ what) => lay(Object.fromEntries(forms.filter((form) => form.shape).map((form) => [form.id, what])));
    const first = [...forms].sort((a, b) => Number(b.id === onlyForm) - Number(a.id === onlyForm));
    return html`<div class="row print-lays"><div><b>${l.on_sheet}</b><p class="sub small">${l.on_sheet_hint}</p></div><span class="end row"><button class="text" data-testid="all-lays" @click=${() => all('both')}>${l.all}</button><button class="text" @click=${() => all('none')}>${l.none}</button></span></div>
      <ul class="print-views">${first.map(layRow)}</ul>`;
  }

  /** @param {{id: string, name: string, shape: unknown}} form */
  function layRow(form) {
    return html`<li class="print-view print-lay" data-form=${form.id}><b>${cap(form.name)}</b>${form.shape ? html`<div class="seg" role="group" aria-label=${l.what_label(form.name)}>${/** @type {OfForm[]} */ (['both', 'lay', 'roll', 'none']).map((what) => html`<button aria-pressed=${ofForm(form.id) === what} @click=${() => lay({ [form.id]: what })}>${l.what[/** @type {'lay'} */ (what)]}</button>`)}</div>`
      : html`<span class="sub small">${l.no_lay}</span>`}</li>`;
  }

  function how() {
    return html`<section class="card stack"><h2>${w.how}</h2><ol class="numbered">${w.steps.map((text, nth) => html`<li><b aria-hidden="true">${nth + 1}</b><span>${text}</span></li>`)}</ol></section>`;
  }

  function foot() {
    if (!made) return nothing;
    const canShare = Boolean(navigator.canShare?.({ files: [made.file] }));
    return html`<div class=${`foot${canShare ? ' pair' : ''}`}>${canShare ? html`<button class="btn go" data-testid="share" @click=${share}>${icon('up', 20)}${w.share}</button>` : nothing}
      <a class=${canShare ? 'btn' : 'btn go full'} href=${made.href} download=${made.file.name} data-testid="save" title=${w.ready(made.file.name, room(made.file.size))}>${icon('down', 20)}${w.save}</a></div>`;
  }

  function leave() {
    left = true;
    letGo();
    small.leave();
    for (const address of straightened.values()) URL.revokeObjectURL(address);
  }

  return { title: w.title, get back() { return { href: `#/project/${project}`, text: seen?.name ?? words.back }; }, load, view, leave };
}

/** Letter where the people print on it, else A4. (CLDR, supplemental data: paper sizes; from memory.) @returns {'A4' | 'Letter'} */
function paperHere() {
  const letter = ['US', 'CA', 'MX', 'PR', 'PH', 'CL', 'CO', 'CR', 'GT', 'NI', 'PA', 'SV', 'VE', 'BZ'];
  try { return letter.includes(new Intl.Locale(navigator.language).maximize().region ?? '') ? 'Letter' : 'A4'; } catch { return 'A4'; }
}

/** A name that every system takes for a file. @param {string} name */
const fileName = (name) => name.normalize('NFC').replaceAll(/[\\/:*?"<>|\p{Cc}]+/gu, ' ').replaceAll(/\s+/g, ' ').trim().slice(0, 80) || 'sheet';
