// The pictures of one animal and of its pieces: taking one in, what is known of each, and the way to all that is done with them.
import { html, nothing } from '../lib/lit-html.js';
import { ask, on } from '../ask.js';
import { styled } from '../board/style.js';
import { pictureIcon } from '../draw/picture-icons.js';
import { icon } from '../icons.js';
import { addPicture, whyNot } from '../shrink.js';
import { room, sentence, words } from '../words.js';
import '../words-more.js';
import '../words-pictures.js';
import { aboutPicture } from './about-picture.js';
import { addresses } from './addresses.js';
import { sheet } from './sheet.js';

const w = words.pictures;
const g = words.gallery;
const sides = /** @type {const} */ (['side', 'front', 'top', 'other']);

/**
 * @typedef {'side' | 'front' | 'top' | 'other'} View
 * @typedef {{id: string, name: string, view: View | null, of: string, whose: string, drawn: boolean, plane: boolean, outlines: number, pins: number, made: string, width: number, height: number, bytes: number, thumb: string, full: string, here: boolean, home: boolean}} Picture
 * @typedef {{file: File, address: string, unreadable: string, view: View, of: string, drawn: boolean, whose: string, busy: boolean, share: number, wrong: string}} Coming a picture that is about to be kept
 */

/** @param {import('../app.js').Stage} stage @returns {import('../app.js').Screen} */
export function open(stage) {
  const project = stage.path[0];
  const wanted = stage.query.get('of') ?? 'subject';
  /** @type {{pictures: Picture[], along: boolean, missing: View[], room: number, pieces: {id: string, name: string}[], paired: boolean, free: number | null}} */
  let seen = { pictures: [], along: false, missing: [], room: 0, pieces: [], paired: false, free: null };
  let animal = '';
  /** @type {Coming | null} */
  let coming = null;
  const small = addresses(stage.draw);
  const about = aboutPicture(stage, { called: (one) => called(one), reload: load });
  const asking = sheet(stage, 'new-picture', () => g.new_title, questions);
  const hear = on('progress', (/** @type {{what: string, share: number}} */ told) => { if (coming && told.what === 'picture') { coming.share = told.share; stage.draw(); } });

  async function load() {
    const [pictures, list, home, storage] = await Promise.all([ask('view', { name: 'pictures', project }), ask('view', { name: 'projects' }), ask('view', { name: 'home' }), ask('storage', {}), styled]);
    seen = { ...pictures, paired: home.paired, free: storage.quota === null || storage.usage === null ? null : left(storage) };
    animal = list.projects.find((/** @type {any} */ one) => one.id === project)?.name ?? '';
    about.renew(seen);
    for (const one of seen.pictures) small.fetch(one.thumb);
  }

  /** @param {{quota: number, usage: number}} storage */
  const left = ({ quota, usage }) => (quota > usage ? quota - usage : 0);

  /** @param {Picture} one */
  const called = (one) => one.name || w.unnamed(one.view);

  /** A picture was chosen: what it shows is asked before it is taken in. @param {View} [view] @returns {(event: Event) => void} */
  const chosen = (view) => async (event) => {
    const input = /** @type {HTMLInputElement} */ (event.target);
    const file = input.files?.[0];
    input.value = '';
    if (!file) return;
    const trouble = await whyNot(file);
    forget();
    coming = { file, address: trouble ? '' : URL.createObjectURL(file), unreadable: trouble ? sentence(trouble) : '', view: view ?? likely(), of: wanted, drawn: false, whose: '', busy: false, share: 0, wrong: '' };
    asking.open();
  };

  /** The first two of the animal are mostly the two that are needed. @returns {View} */
  const likely = () => (wanted === 'subject' ? seen.missing.find((view) => view === 'side') ?? seen.missing[0] ?? 'other' : 'side');

  function forget() {
    if (coming?.address) URL.revokeObjectURL(coming.address);
    coming = null;
  }

  async function keep() {
    const mine = coming;
    if (!mine || mine.busy) return;
    Object.assign(mine, { busy: true, share: 0, wrong: '' });
    stage.draw();
    try {
      const { file, view, of, drawn, whose } = mine;
      const { id, notes } = await addPicture({ project, file, view, name: '', of, drawn, whose: whose.trim() });
      asking.close();
      forget();
      stage.tell([g.kept, ...(notes ?? []).map((/** @type {string} */ code) => sentence({ code }))].join(' '), { text: g.measure_now, run: () => { location.hash = `#/photo/${id}`; } });
    } catch (error) {
      mine.wrong = /** @type {{code?: string}} */ (error).code === 'stopped' ? g.stopped : sentence(error);
    }
    mine.busy = false;
    stage.draw();
  }

  const stop = () => { ask('stop', {}).catch(stage.trouble); };
  const along = async (/** @type {Event} */ event) => {
    try { await ask('along', { project, on: /** @type {HTMLInputElement} */ (event.target).checked }); await load(); stage.draw(); } catch (error) { stage.trouble(error); }
  };

  function view() {
    const all = seen.pictures.reduce((sum, one) => sum + one.bytes, 0);
    return html`<div class="head"><h1 tabindex="-1">${w.title}</h1>${animal ? html`<p class="sub">${w.sub(animal)}</p>` : nothing}</div>
      <div class="stack gallery-screen">
        ${reminder()}${groups()}
        <div class="columns"><div class="stack"><p class="care small">${icon('look', 20)}<span>${g.care} ${g.private}</span></p></div>
          <div class="stack">${seen.paired && all ? html`<label class="tick card"><input type="checkbox" name="along" .checked=${seen.along} @change=${along}><span><b>${w.along}</b><br><span class="sub small">${w.along_hint(all)}</span></span></label>` : nothing}
          <p class="sub small room">${g.room(room(seen.room), seen.free === null ? '' : room(seen.free))}</p></div></div>
        <div class="foot add-foot" role="group" aria-label=${g.add_label}>${seen.pictures.length || wanted !== 'subject' ? adders('') : nothing}</div>
      </div>${asking.view()}${about.view()}`;
  }

  /** The two ways to a picture. @param {string} which  distinguishes the fields @param {View} [view] @param {string} [take] */
  function adders(which, view, take = g.take) {
    return html`<label class="btn go file-choice camera"><input class="unseen" type="file" name=${`camera${which}`} accept="image/*" capture="environment" @change=${chosen(view)}>${pictureIcon('camera', 22)}${take}</label>
      <label class="btn file-choice"><input class="unseen" type="file" name=${`picture${which}`} accept="image/*" @change=${chosen(view)}>${pictureIcon('choose', 22)}${g.choose}</label>`;
  }

  /** A side and a front are both needed; the card has the right button for the one to take next. */
  function reminder() {
    if (wanted !== 'subject' || !seen.missing.length) return nothing;
    const both = seen.missing.length > 1 ? 'both' : /** @type {'side' | 'front'} */ (seen.missing[0]);
    const next = /** @type {'side' | 'front'} */ (likely());
    const first = !seen.pictures.length;
    return html`<section class="card look stack"><h2>${g.missing[both]}</h2><p>${g.missing_hint[both]}</p><div class="pair adders">${adders(first ? '' : '-missing', next, g.take_view[next])}</div></section>`;
  }

  /** The animal first, then each piece that has a picture, or that one came here for. */
  function groups() {
    const of = (/** @type {string} */ id) => seen.pictures.filter((one) => one.of === id);
    const pieces = seen.pieces.filter((piece) => piece.id === wanted || of(piece.id).length);
    const ordered = [...pieces].sort((a, b) => Number(b.id === wanted) - Number(a.id === wanted));
    const subject = of('subject').length ? group(g.the_animal(animal), of('subject')) : nothing;
    const others = ordered.map((piece) => group(piece.name, of(piece.id)));
    return wanted === 'subject' ? html`${subject}${others}` : html`${others}${subject}`;
  }

  /** @param {string} name  @param {Picture[]} pictures */
  function group(name, pictures) {
    return html`<section class="stack"><h2 class="group-name">${name}</h2>
      ${pictures.length ? html`<ul class="shots">${pictures.map(shot)}</ul>` : html`<div class="card stack hollow">${icon('picture', 48)}<h3>${g.empty_piece}</h3><p class="sub">${g.empty_piece_hint}</p></div>`}</section>`;
  }

  /** @param {Picture} one */
  function shot(one) {
    const address = small.of(one.thumb);
    return html`<li class="shot"><a class="shot-open" href=${`#/photo/${one.id}`} data-picture=${one.id} aria-label=${g.measure(called(one))}>
        ${address ? html`<img src=${address} alt="" draggable="false">` : html`<span class="hollow">${icon('picture', 40)}</span>`}
        <span class="shot-view">${one.view ? w.views[one.view] : w.unnamed(null)}</span>${one.drawn ? html`<span class="shot-drawn">${pictureIcon('pencil', 18)}</span>` : nothing}</a>
      <div class="shot-line"><p>${one.name ? html`<b>${one.name}</b> ` : nothing}<span class=${one.plane ? 'has' : 'hasnt'}>${one.plane ? g.scale : g.no_scale}</span>${facts(one).map((fact) => html`<span>${fact}</span>`)}</p>
        <button class="btn quiet" data-testid="about" aria-label=${g.more(called(one))} @click=${() => about.open(one)}>${pictureIcon('dots', 24)}</button></div>
      ${one.of === 'subject' ? nothing : html`<a class="shot-over" href=${`#/overlay/${one.id}`}>${pictureIcon('overlay', 22)}${words.overlay.short_title}</a>`}</li>`;
  }

  /** @param {Picture} one */
  const facts = (one) => [one.pins ? g.measured(one.pins) : '', one.outlines ? g.outlines(one.outlines) : '', one.drawn ? g.drawn : '', one.here ? '' : g.small_only, seen.paired && !one.home ? w.not_home : ''].filter(Boolean);

  /** What is asked of a picture before it is kept. */
  function questions() {
    if (!coming) return nothing;
    const one = coming;
    const put = (/** @type {Partial<Coming>} */ what) => () => { Object.assign(one, what); stage.draw(); };
    if (one.unreadable) { // another one can be chosen at once
      return html`<p class="wrong" role="alert">${one.unreadable}</p><div class="pair adders">${adders('-instead', one.view)}</div>
        <div class="sheet-foot"><button type="button" class="btn full" data-testid="keep-picture" disabled>${icon('right', 22)}${g.keep}</button></div>`;
    }
    return html`<img class="coming" src=${one.address} alt=${g.preview} @error=${put({ unreadable: g.not_read })}>
      <div class="setting" role="group" aria-label=${g.view}><b>${g.view}</b><div class="seg">${sides.map((side) => html`<button type="button" aria-pressed=${one.view === side} ?disabled=${one.busy} @click=${put({ view: side })}>${g.views[side]}</button>`)}</div></div>
      ${seen.pieces.length ? html`<div class="setting" role="group" aria-label=${g.shows}><b>${g.shows}</b><div class="choices">${[{ id: 'subject', name: g.the_animal(animal) }, ...seen.pieces].map((of) => html`<button type="button" class="choice" aria-pressed=${one.of === of.id} ?disabled=${one.busy} @click=${put({ of: of.id })}>${of.name}</button>`)}</div></div>` : nothing}
      <div class="setting" role="group" aria-label=${g.kind}><b>${g.kind}</b><div class="seg">${[false, true].map((drawn) => html`<button type="button" aria-pressed=${one.drawn === drawn} ?disabled=${one.busy} @click=${put({ drawn })}>${drawn ? g.drawing : g.photo}</button>`)}</div></div>
      <label class="field">${g.whose}<input type="text" name="whose" maxlength="80" autocomplete="off" placeholder=${g.whose_example} ?disabled=${one.busy} .value=${one.whose} @input=${(/** @type {Event} */ event) => { one.whose = /** @type {HTMLInputElement} */ (event.target).value; }}><span class="sub small">${g.whose_hint}</span></label>
      ${one.wrong ? html`<p class="wrong" role="alert">${one.wrong}</p>` : nothing}
      <div class="sheet-foot">${one.busy ? html`<div class="stack"><p class="sub" role="status">${g.keeping}</p>${one.share ? html`<progress max="1" .value=${one.share} aria-label=${g.keeping}></progress>` : html`<progress aria-label=${g.keeping}></progress>`}<button type="button" class="btn full" data-testid="stop" @click=${stop}>${g.stop}</button></div>`
        : html`<button type="button" class="btn go full" data-testid="keep-picture" @click=${keep}>${icon('right', 22)}${g.keep}</button>`}</div>`;
  }

  function leave() {
    forget();
    hear();
    small.leave();
    about.leave();
  }

  return { title: w.title, get back() { return wanted === 'subject' ? { href: `#/project/${project}`, text: animal || words.back } : { href: `#/piece/${project}/${wanted}`, text: seen.pieces.find((piece) => piece.id === wanted)?.name ?? words.back }; }, load, view, leave };
}
