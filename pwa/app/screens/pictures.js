// The pictures of one animal: small ones in a row, a whole one when it is tapped, and adding one.
import { html, nothing } from '../lib/lit-html.js';
import { ask } from '../ask.js';
import { icon } from '../icons.js';
import { addPicture } from '../shrink.js';
import { sentence, words } from '../words.js';
import '../words-more.js';
import { sheet } from './sheet.js';

const w = words.pictures;
const sides = /** @type {const} */ (['side', 'front', 'top', 'other']);

/** @typedef {{id: string, name: string, view: 'side' | 'front' | 'top' | 'other' | null, made: string, width: number, height: number, bytes: number, thumb: string, full: string, here: boolean, home: boolean}} Picture */

/** @param {import('../app.js').Stage} stage @returns {import('../app.js').Screen} */
export function open(stage) {
  const project = stage.path[0];
  /** @type {{pictures: Picture[], along: boolean, paired: boolean}} */
  let seen = { pictures: [], along: false, paired: false };
  let animal = '';
  let adding = false;
  let wrong = '';
  let left = false;
  /** @type {Picture | null} */
  let at = null;
  let name = '';
  /** The addresses of what is shown, by its hash. @type {Map<string, string>} */
  const shown = new Map();
  /** Why a picture is not shown, by its hash. @type {Map<string, string>} */
  const missing = new Map();
  const looking = sheet(stage, 'picture', () => (at ? called(at) : ''), whole);

  async function load() {
    const [pictures, list, home] = await Promise.all([ask('view', { name: 'pictures', project }), ask('view', { name: 'projects' }), ask('view', { name: 'home' })]);
    seen = { ...pictures, paired: home.paired };
    animal = list.projects.find((/** @type {any} */ one) => one.id === project)?.name ?? '';
    if (at) at = seen.pictures.find((one) => one.id === at?.id) ?? null;
    for (const one of seen.pictures) fetch(one.thumb);
  }

  /** Has a picture ready to show. @param {string} hash */
  async function fetch(hash) {
    if (shown.has(hash)) return;
    try {
      const { bytes, type } = await ask('pictureBytes', { hash });
      if (left) return;
      if (!shown.has(hash)) shown.set(hash, URL.createObjectURL(new Blob([bytes], { type })));
      missing.delete(hash);
    } catch (error) { missing.set(hash, sentence(error)); }
    stage.draw();
  }

  /** @param {Picture} one */
  const called = (one) => one.name || w.unnamed(one.view);

  /** @param {Event} event */
  async function add(event) {
    const input = /** @type {HTMLInputElement} */ (event.target);
    const file = input.files?.[0];
    input.value = '';
    if (!file) return;
    adding = true;
    wrong = '';
    stage.draw();
    // The first two are mostly the two that are needed.
    const view = sides.slice(0, 2).find((side) => !seen.pictures.some((one) => one.view === side)) ?? 'other';
    try { await addPicture({ project, file, view, name: '' }); stage.tell(w.added); } catch (error) { wrong = sentence(error); }
    adding = false;
    stage.draw();
  }

  /** @param {Picture} one */
  function look(one) {
    at = one;
    name = one.name;
    looking.open();
    fetch(one.full);
  }

  /** @param {() => Promise<unknown>} act */
  const run = async (act) => { try { await act(); } catch (error) { stage.trouble(error); } };
  const set = (/** @type {string} */ field, /** @type {unknown} */ value) => run(() => ask('set', { kind: 'picture', id: at?.id, field, value }));
  const along = (/** @type {Event} */ event) => run(() => ask('along', { project, on: /** @type {HTMLInputElement} */ (event.target).checked }).then(load).then(stage.draw));
  const bin = () => run(async () => {
    const one = at;
    looking.close();
    if (!one) return;
    await ask('bin', { kind: 'picture', id: one.id, binned: true });
    stage.tell(w.binned, { text: words.undo, run: () => run(() => ask('bin', { kind: 'picture', id: one.id, binned: false })) });
  });

  function view() {
    const room = seen.pictures.reduce((all, one) => all + one.bytes, 0);
    return html`<div class="head"><h1 tabindex="-1">${w.title}</h1>${animal ? html`<p class="sub">${w.sub(animal)}</p>` : nothing}</div>
      <div class="stack">
        ${seen.pictures.length ? html`<ul class="gallery">${seen.pictures.map(item)}</ul>` : html`<div class="card stack hollow">${icon('picture', 56)}<h2>${w.empty}</h2><p class="sub">${w.empty_hint}</p></div>`}
        ${wrong ? html`<p class="wrong" role="alert">${wrong}</p>` : nothing}
        <div class="columns"><p class="sub">${w.care}</p>${seen.paired && seen.pictures.length ? html`<label class="tick card"><input type="checkbox" name="along" .checked=${seen.along} @change=${along}><span><b>${w.along}</b><br><span class="sub small">${w.along_hint(room)}</span></span></label>` : nothing}</div>
        <div class="foot"><label class="btn go full file-choice"><input class="unseen" type="file" name="picture" accept="image/*" ?disabled=${adding} @change=${add}>${icon('plus', 20)}${adding ? w.adding : w.add}</label></div>
      </div>${looking.view()}`;
  }

  /** @param {Picture} one */
  function item(one) {
    const address = shown.get(one.thumb);
    return html`<li><button class="picture" data-picture=${one.id} aria-label=${w.label(called(one))} @click=${() => look(one)}>
      ${address ? html`<img src=${address} alt="">` : html`<span class="hollow">${icon('picture', 40)}</span>`}<b>${called(one)}</b>${seen.paired && !one.home ? html`<span class="sub small">${w.not_home}</span>` : nothing}</button></li>`;
  }

  function whole() {
    if (!at) return nothing;
    const one = at;
    const address = shown.get(one.full);
    const why = missing.get(one.full);
    return html`${address ? html`<img class="whole" data-testid="whole" src=${address} alt=${called(one)} width=${one.width} height=${one.height}>` : html`
        ${shown.has(one.thumb) ? html`<img class="whole dim" src=${String(shown.get(one.thumb))} alt=${called(one)}>` : nothing}<p role="status">${why ? `${w.not_here} ${why}` : w.fetching}</p>`}
      <p class="sub small">${w.size(one.width, one.height, one.bytes)}${seen.paired ? ` · ${one.home ? w.home : w.not_home}` : ''}</p>
      <div class="seg" role="group" aria-label=${w.view_label}>${sides.map((side) => html`<button aria-pressed=${one.view === side} @click=${() => set('view', side)}>${w.views[side]}</button>`)}</div>
      <form class="row name-form" @submit=${(/** @type {Event} */ event) => { event.preventDefault(); set('name', name); }}><label class="field">${w.name}<input type="text" name="name" maxlength="60" .value=${name} @input=${(/** @type {Event} */ event) => { name = /** @type {HTMLInputElement} */ (event.target).value; }}></label><button class="btn">${w.save}</button></form>
      <button class="text" @click=${bin}>${w.bin}</button>`;
  }

  function leave() {
    left = true;
    for (const address of shown.values()) URL.revokeObjectURL(address);
    shown.clear();
  }

  return { title: w.title, back: { href: `#/project/${project}`, text: words.back }, load, view, leave };
}
