// One animal: its proportions so far, the reading to take next, its pieces of wool.
import { html, nothing } from '../lib/lit-html.js';
import { ask } from '../ask.js';
import { icon } from '../icons.js';
import { animalPicture } from '../draw/animals.js';
import { pictureIcon } from '../draw/picture-icons.js';
import { bodyStrips } from '../draw/strip.js';
import { cap, count, listed, num, percent, sentence, words } from '../words.js';
import '../words-more.js';
import '../words-pictures.js';
import { shots } from './shots.js';
import { sizeDialog } from './size.js';
import { woolRow } from './wool-row.js';

const w = words.project;

/** @param {import('../app.js').Stage} stage @returns {import('../app.js').Screen} */
export function open(stage) {
  const id = stage.path[0];
  /** @type {any} */
  let seen = null;
  let unit = '';
  const dialog = sizeDialog(stage);
  const pictures = shots(stage, id);
  const wool = woolRow(stage, id);

  async function load() {
    [seen] = await Promise.all([ask('view', { name: 'project', id, unit: unit || undefined }), pictures.load()]);
    wool.load(seen.form_count);
  }

  /** @param {() => Promise<unknown>} act */
  const run = async (act) => { try { return await act(); } catch (error) { stage.trouble(error); return null; } };
  const addPiece = () => run(async () => { const piece = await ask('addPiece', { project: id, name: w.piece_name(seen.pieces.length + 1) }); location.hash = `#/piece/${id}/${piece.id}`; });
  const binIt = () => run(async () => {
    await ask('bin', { kind: 'project', id, binned: true });
    location.hash = '#/';
    stage.tell(w.binned(seen.name), { text: words.undo, run: () => run(() => ask('bin', { kind: 'project', id, binned: false })) });
  });
  const choose = (/** @type {any} */ field, /** @type {unknown} */ value) => run(() => ask('choose', { kind: field.kind, id: field.id, field: field.field, value }));

  function view() {
    return html`
      <div class="head"><h1 tabindex="-1">${seen.name}</h1><span class="side"><button class="text" @click=${() => dialog.open(seen)}>${seen.size ? w.size(seen.size.typed ?? seen.size_text, seen.size_part) : w.no_size}</button></span></div>
      <div class="columns">
        <div class="stack">${pictures.view(animalPicture(seen.animal, seen.name))}${proportions()}${places()}</div>
        <div class="stack">${answers()}${next()}${measure()}${pieces()}${facts()}${rest()}</div>
      </div>${dialog.view()}`;
  }

  const partName = (/** @type {string} */ part) => seen.parts.find((/** @type {any} */ one) => one.id === part)?.name ?? '';

  function proportions() {
    const strips = seen.strips;
    return html`<div class="card stack hero">${seen.trouble ? html`<p class="wrong" role="alert">${sentence(seen.trouble)}</p>` : strips.length ? html`
        <div class="row"><h2>${w.proportions}</h2><label class="unit-choice end"><span class="unseen">${w.unit_label}</span><select @change=${changeUnit}>${seen.parts.filter((/** @type {any} */ part) => part.in_unit || part.id === seen.unit).map((/** @type {any} */ part) => html`<option value=${part.id} ?selected=${part.id === seen.unit}>${w.in_units(part.name)}</option>`)}</select></label></div>
        ${bodyStrips(strips.map((/** @type {any} */ strip) => ({ ...strip, name: cap(strip.name), text: stripText(strip) })), w.strips_label(seen.name, seen.unit_name))}
        ${seen.groups?.length > 1 ? html`<p class="sub small">${w.groups(seen.groups.length)}</p>` : nothing}`
      : html`<h2>${w.nothing_measured}</h2><p class="sub">${w.nothing_hint}</p>`}</div>`;
  }

  /** @param {any} strip */
  function stripText(strip) {
    const part = seen.parts.find((/** @type {any} */ one) => one.id === (strip.part ?? strip.id));
    const figures = part?.in_unit;
    if (part?.id === seen.unit) return w.the_unit;
    return figures ? `${num(figures.ratio, 2)} ± ${num(figures.u, 2)}` : '';
  }

  async function changeUnit(/** @type {Event} */ event) {
    unit = /** @type {HTMLSelectElement} */ (event.target).value;
    await run(() => ask('set', { kind: 'project', id, field: 'unit', value: unit }));
  }

  function places() {
    if (!seen.places?.length) return nothing;
    return html`<div class="card"><h2>${w.places}</h2><ul class="plain">${seen.places.map((/** @type {any} */ place) => html`<li class="row"><b>${cap(place.name)}</b><span class="end sub">${place.at == null ? w.place_unread : w.place_at(percent(place.at), percent(place.u), partName(place.part), place.from)}</span></li>`)}</ul></div>`;
  }

  /** Two answers made apart, waiting for someone to choose. */
  function answers() {
    return (seen.apart ?? []).map((/** @type {any} */ field) => html`<div class="card look"><h2>${w.two_answers(field.name ?? seen.name, w.fields[field.field] ?? field.field)}</h2><p>${w.two_answers_hint}</p>
      <div class="stack">${field.answers.map((/** @type {any} */ answer) => html`<button class="btn full" @click=${() => choose(field, answer.value)}>${answer.text ?? showValue(answer.value)}</button>`)}</div>
      <a class="text" href=${`#/history/${field.kind}/${field.id}?back=${encodeURIComponent(`#/project/${id}`)}`}>${words.history.open}</a></div>`);
  }

  /** @param {any} value */
  const showValue = (value) => (value == null ? w.none : value === true ? w.yes : value === false ? w.no : value.typed ?? String(value));

  function next() {
    const step = seen.next?.why === 'first' ? null : seen.next;
    if (step) {
      const href = `#/count?project=${id}&of=subject&unit=${step.in}&part=${step.part}`;
      return html`<div class="card look"><h2>${w.next(partName(step.part))}</h2><p>${w.next_why[/** @type {'unread'} */ (step.why)] ?? ''}</p><a class="btn go full" href=${href}>${w.next_count(partName(step.part), partName(step.in))}</a>${reminders()}</div>`;
    }
    return missingViews().length ? html`<div class="card look">${reminders()}</div>` : nothing;
  }

  /** A side and a front are both needed; parts seen from one only are marked in the list. */
  const missingViews = () => seen.reminders.filter((/** @type {string} */ one) => one !== 'one-view');

  function reminders() {
    return missingViews().map((/** @type {any} */ one) => html`<p class="reminder">${icon('look', 20)}<span>${w.reminders[one] ?? one}</span></p>`);
  }

  function measure() {
    const to = (/** @type {string} */ screen) => `#/${screen}?project=${id}&of=subject`;
    return html`<div class="card"><h2>${w.measure(seen.name)}</h2>
      <div class="stack"><a class="btn go full" data-testid="count" href=${to('count')}>${icon('needle')}${w.count}</a>
      <div class="pair"><a class="btn" href=${to('marks')}>${icon('marks')}${w.marks}</a><a class="btn" href=${to('ruler')}>${icon('ruler')}${w.ruler}</a></div></div></div>`;
  }

  function pieces() {
    return html`<div class="card flush"><h2 class="card-title">${w.pieces}</h2>
      ${seen.pieces.length ? html`<ul>${seen.pieces.map((/** @type {any} */ piece) => html`<li><a class="item" href=${`#/piece/${id}/${piece.id}`}><span><b>${piece.name}</b><br><span class="sub small">${w.piece_facts(piece.readings ?? 0, piece.checks ?? 0)}</span></span><span class="end">${icon('ratio')}</span></a></li>`)}</ul>` : html`<p class="card-line sub">${w.no_pieces}</p>`}
      <div class="card-line"><button class="btn full" data-testid="add-piece" @click=${addPiece}>${icon('plus', 20)}${w.add_piece}</button></div></div>`;
  }

  function facts() {
    const views = ['side', 'front', 'top', 'other'].map((view) => ({ view, parts: seen.parts.filter((/** @type {any} */ part) => part.one_view_only && part.views[0] === view) })).filter(({ parts }) => parts.length);
    return html`<ul class="list">
      <li><a class="item" href=${`#/parts/${id}`}><b>${w.parts}</b><span class="end">${count(seen.parts.length, w.part_one, w.part_many)}</span></a></li>
      ${wool.view(seen.form_count)}
      ${seen.form_count ? html`<li><a class="item" href=${`#/order/${id}`}><b>${words.verdict.order}</b><span class="end">${icon('right', 22)}</span></a></li>` : nothing}
      <li><a class="item" href=${`#/pictures/${id}`}><b>${words.pictures.title}</b><span class="end">${seen.picture_count ? num(seen.picture_count, 0) : icon('picture', 22)}</span></a></li>
      <li><a class="item" href=${`#/print/${id}`}><b>${words.gallery.do_print}</b><span class="end">${pictureIcon('print', 22)}</span></a></li>
      <li><a class="item" href=${`#/glass/${id}`}><b>${words.gallery.do_glass}</b><span class="end">${pictureIcon('glass', 22)}</span></a></li>
      <li><a class="item" href=${`#/readings/${id}`}><b>${w.readings}</b><span class="end">${w.readings_count(seen.reading_count, seen.disagree?.length ?? 0)}</span></a></li>
      ${views.map(({ view, parts }) => html`<li class="item static"><span><b>${w.one_view(view)}</b><br><span class="small">${cap(listed(parts.map((/** @type {any} */ part) => part.name)))}</span></span></li>`)}
      <li><a class="item" href=${`#/ratio?project=${id}`}><b>${w.calculator}</b><span class="end">${icon('ratio')}</span></a></li></ul>`;
  }

  function rest() {
    return html`<div class="row rest"><button class="text" @click=${() => dialog.open(seen)}>${w.rename}</button><a class="text" href=${`#/files?project=${id}`}>${w.export}</a><a class="text" href=${`#/history/project/${id}?back=${encodeURIComponent(`#/project/${id}`)}`}>${words.history.open}</a><button class="text end" @click=${binIt}>${w.bin}</button></div>`;
  }

  return { get title() { return seen?.name ?? w.title; }, back: { href: '#/', text: words.dock.projects }, load, view, leave() { pictures.leave(); wool.leave(); } };
}
