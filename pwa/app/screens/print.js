// The sheet: which views, at what size, on which paper; how it lies on the pages; and the PDF, made before it is asked for.
import { html, nothing } from '../lib/lit-html.js';
import { ask } from '../ask.js';
import { styled } from '../board/style.js';
import { pageMap } from '../draw/pages.js';
import { pictureIcon } from '../draw/picture-icons.js';
import { icon } from '../icons.js';
import { latest } from '../latest.js';
import { look } from '../look.js';
import { placeOf, straight } from '../true-size.js';
import { cap, num, room, sentence, words } from '../words.js';
import '../words-more.js';
import '../words-pictures.js';
import { addresses } from './addresses.js';
import { sizeDialog } from './size.js';

const w = words.print;

/**
 * @typedef {import('../true-size.js').Sized} Sized
 * @typedef {'photo' | 'outline' | 'both' | 'none'} What
 * @typedef {{name: string, columns: number, rows: number, landscape: boolean, first_page: number, shared: boolean, drawing: [number, number, number, number], windows: [number, number, number, number][]}} Laid
 * @typedef {{file: File, href: string, pages: number, views: Laid[], of: Sized[], notes: {code: string, text: string}[]}} Made
 */

/** @param {import('../app.js').Stage} stage @returns {import('../app.js').Screen} */
export function open(stage) {
  const project = stage.path[0];
  const only = stage.query.get('picture');
  /** @type {any} */
  let seen = null;
  /** What goes on the sheet of each picture, where she said so. @type {Record<string, What>} */
  let chosen = {};
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
    const [view, before] = await Promise.all([ask('view', { name: 'print', project }), first ? ask('drafts', { key: draft }).catch(() => null) : null, styled]);
    seen = view;
    if (first && before) { paper = before.paper === 'Letter' ? 'Letter' : 'A4'; chosen = before.chosen ?? {}; }
    for (const one of seen.pictures) small.fetch(one.thumb);
    renew();
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
    ask('draft', { key: draft, value: { paper, chosen } }).catch(stage.trouble);
    renew();
    stage.draw();
  }

  /** Lays the sheet out again when anything on it has changed. */
  function renew() {
    const views = onIt().map((one) => ({ one, what: whatOf(one) }));
    const now = JSON.stringify([paper, seen.name, seen.size_text, seen.rows, views.map(({ one, what }) => [what, one])]);
    if (now === asked) return;
    asked = now;
    wrong = '';
    if (!views.length) { letGo(); return; }
    making = true;
    make({ views, now });
  }

  /** The PDF is made before the tap that shares it: a browser forgets the tap while it waits. */
  const make = latest(async (/** @type {{views: {one: Sized, what: What}[], now: string}} */ { views, now }) => {
    try {
      const { bytes, pages, views: laid, notes } = await sheet(views);
      if (left || now !== asked) return;
      letGo();
      const file = new File([bytes], `${fileName(w.file(seen.name))}.pdf`, { type: 'application/pdf' });
      made = { file, href: URL.createObjectURL(file), pages, views: laid, of: views.map(({ one }) => one), notes: notes ?? [] };
    } catch (error) {
      if (now === asked && !left) { wrong = sentence(error); letGo(); }
    } finally {
      if (now === asked) making = false;
      if (!left) stage.draw();
    }
  });

  /** @param {{one: Sized, what: What}[]} views */
  async function sheet(views) {
    /** @type {Record<string, {hash: string} | {file: Blob, type: string}>} */
    const pictures = {};
    const request = {
      paper, title: seen.name.normalize('NFC'), size: seen.size ? w.size_is(seen.size_text, seen.size_part).normalize('NFC') : undefined, date: new Intl.DateTimeFormat('en-GB', { dateStyle: 'long' }).format(new Date()),
      views: await Promise.all(views.map(async ({ one, what }, nth) => {
        const name = `picture-${nth + 1}`;
        const rings = what === 'photo' ? undefined : one.rings_mm;
        if (what === 'outline') return { name: called(one), what, rings_mm: rings };
        pictures[name] = await pictureOf(one);
        return { name: called(one), what, image: name, photo: corners(placeOf(one)), rings_mm: rings };
      })),
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
    const empty = !seen.pictures.length;
    return html`<div class="head"><h1 tabindex="-1">${w.title}</h1><p class="sub">${w.sub(seen.name)}</p></div>
      ${empty ? html`<div class="stack narrow"><div class="card stack hollow">${pictureIcon('print', 56)}<h2>${w.empty}</h2><p class="sub">${w.empty_hint}</p></div><a class="btn go full" href=${`#/pictures/${project}`}>${w.to_pictures}</a></div>`
      : html`<div class="columns print-screen"><div class="stack">${seen.size ? nothing : noSize()}${result()}</div><div class="stack">${choices()}${how()}</div></div>${foot()}`}${dialog.view()}`;
  }

  /** The size dialog wants the project's parts. */
  const openSize = () => dialog.open({ ...seen, parts: seen.choices });

  function noSize() {
    return html`<section class="card look stack"><h2>${w.no_size}</h2><p>${w.no_size_hint}</p><button class="btn go full" data-testid="set-size" @click=${openSize}>${w.set}</button></section>`;
  }

  /** The pages, each view's as a map. */
  function result() {
    if (!seen.size) return nothing;
    return html`<section class="card stack print-result"><div><div role="status"><h2 data-testid="pages">${making && !made ? w.making : made ? w.pages(made.pages, w.papers[paper]) : onIt().length ? w.trouble : w.none}</h2></div>
        <p class="sub">${w.size_is(seen.size_text, seen.size_part)} <button class="text inline" @click=${openSize}>${w.change}</button></p></div>
      ${wrong ? html`<p class="wrong" role="alert">${wrong}</p>` : nothing}
      ${made ? html`<p class="sub">${w.pages_hint}</p>${made.notes.map((note) => html`<p class="reminder">${icon('look', 20)}<span>${sentence(note)}</span></p>`)}<div class=${making ? 'maps dim' : 'maps'}>${made.views.map((laid, nth) => map(laid, /** @type {Made} */ (made).of[nth]))}</div>` : making ? html`<progress aria-label=${w.making}></progress>` : nothing}</section>`;
  }

  /** @param {Laid} laid  @param {Sized} one */
  function map(laid, one) {
    const what = whatOf(one);
    const photo = what === 'outline' ? undefined : straightened.get(one.id) ?? (one.rectify ? undefined : small.of(one.thumb));
    return html`<figure>${pageMap(laid, { address: photo, place: placeOf(one), rings: what === 'photo' ? [] : one.rings_mm }, w.map(laid.name))}
      <figcaption><b>${laid.name}</b> <span class="sub">${laid.shared ? w.shared : w.tiles(laid.columns, laid.rows, laid.landscape)}</span></figcaption></figure>`;
  }

  function choices() {
    return html`<section class="card stack"><h2>${w.views}</h2><ul class="print-views">${seen.pictures.map(viewRow)}</ul>
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
        ${one.outlines ? nothing : html`<p class="sub small">${w.ink} <a href=${`#/outline/${one.id}`}>${w.trace}</a></p>`}`}</li>`;
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
