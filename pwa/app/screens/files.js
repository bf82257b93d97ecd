// What is kept on this phone, saving it to a file, and taking one in.
import { html, nothing } from '../lib/lit-html.js';
import { ask, on } from '../ask.js';
import { icon } from '../icons.js';
import { sentence, words } from '../words.js';
import '../words-more.js';

const w = words.files;
const SOON = 30; // animals up to which a file of everything is made without being asked for

/**
 * @typedef {import('../bench/files.js').Preview} Preview
 * @typedef {{what: string, file: File, href: string, pictures: number, missing: number}} Made
 */

/** @param {import('../app.js').Stage} stage @returns {import('../app.js').Screen} */
export function open(stage) {
  const project = stage.query.get('project');
  /** @type {{id: string, name: string}[]} */
  let projects = [];
  let anything = true;
  /** @type {{persisted: boolean, usage: number | null, quota: number | null} | null} */
  let store = null;
  let what = project ?? '';
  /** @type {Made | null} */
  let made = null;
  let making = false;
  let turn = 0;
  /** How far what is being made, looked at or taken in is, 0 to 1. @type {{what: string, share: number} | null} */
  let far = null;
  const hear = on('progress', (/** @type {{what: string, share: number}} */ told) => { far = told; stage.draw(); });
  /** @type {{name: string, size: number, preview: Preview | null, wrong: string, busy: boolean} | null} */
  let incoming = null;

  async function load() {
    const [list, room] = await Promise.all([ask('view', { name: 'projects' }), ask('storage', {})]);
    projects = list.projects;
    store = room;
    anything = list.projects.length + list.loose + list.binned > 0;
    if (made || what || (anything && projects.length <= SOON)) make(true);
  }

  /** The file is made before the tap that shares it: a browser forgets the tap while it waits. @param {boolean} [soon] not if it would take long */
  async function make(soon = false) {
    const mine = ++turn;
    making = true;
    try {
      const { name, blob, pictures, missing } = await ask('export', { project: what || null, soon });
      if (mine !== turn) return;
      letGo();
      if (!blob) return;
      const file = new File([blob], name, { type: 'application/zip' });
      made = { what, file, href: URL.createObjectURL(file), pictures, missing };
    } catch (error) {
      if (mine === turn && !['nothing-to-export', 'stopped'].includes(/** @type {{code?: string}} */ (error).code ?? '')) stage.trouble(error);
    } finally {
      if (mine === turn) { making = false; far = null; stage.draw(); }
    }
  }

  function letGo() { if (made) URL.revokeObjectURL(made.href); made = null; }

  /** @param {Event} event */
  function choose(event) {
    what = /** @type {HTMLSelectElement} */ (event.target).value;
    letGo();
    make(true);
    stage.draw();
  }

  async function share() {
    if (!made) return;
    try {
      await navigator.share({ files: [made.file], title: made.file.name });
      stage.tell(w.shared);
    } catch (error) {
      stage.tell(/** @type {{name?: string}} */ (error).name === 'AbortError' ? w.not_shared : w.cannot_share);
    }
  }

  async function promise() {
    try {
      store = await ask('askPersist', {});
      stage.tell(store?.persisted ? w.asked_yes : w.asked_no);
    } catch (error) { stage.trouble(error); }
  }

  /** @param {Event} event */
  async function look(event) {
    const input = /** @type {HTMLInputElement} */ (event.target);
    const file = input.files?.[0];
    input.value = '';
    if (!file) return;
    const mine = { name: file.name, size: file.size, preview: /** @type {Preview | null} */ (null), wrong: '', busy: true };
    incoming = mine;
    stage.draw();
    try { mine.preview = await ask('importPreview', { file }); } catch (error) { mine.wrong = sentence(error); }
    far = null;
    mine.busy = false;
    stage.draw();
    document.getElementById('incoming')?.focus();
  }

  async function take() {
    const mine = incoming;
    if (!mine?.preview || mine.busy) return;
    mine.busy = true;
    stage.draw();
    try {
      const { fresh, pictures } = await ask('importApply', { token: mine.preview.token });
      incoming = null;
      stage.tell(fresh || !pictures ? w.applied(fresh) : w.new_pictures(pictures));
    } catch (error) {
      if (/** @type {{code?: string}} */ (error).code === 'stopped') stage.tell(w.stopped); else mine.wrong = sentence(error);
      mine.busy = false;
    }
    far = null;
    stage.draw();
  }

  function stop() { ask('stop', {}).catch(stage.trouble); }

  /** How far it is, and a way to stop it. @param {string[]} whats */
  function going(...whats) {
    if (!far || !whats.includes(far.what)) return nothing;
    return html`<div class="stack"><progress max="1" .value=${far.share} aria-label=${w.done(far.share)}></progress><button class="btn full" data-testid="stop" @click=${stop}>${w.stop}</button></div>`;
  }

  function leave() { incoming = null; stage.draw(); }

  function view() {
    return html`<div class="head"><h1 tabindex="-1">${w.title}</h1><p class="sub">${w.sub}</p></div>
      <div class="columns"><div class="stack">${out()}${taking()}</div><div class="stack">${here()}</div></div>`;
  }

  function out() {
    const canShare = made && navigator.canShare?.({ files: [made.file] });
    return html`<section class="card stack"><h2>${w.out}</h2>${anything ? html`<p class="sub">${w.out_hint}</p>
      <label class="field">${w.what}<select name="what" @change=${choose}><option value="" ?selected=${what === ''}>${w.all}</option>${projects.map((one) => html`<option value=${one.id} ?selected=${what === one.id}>${one.name}</option>`)}</select></label>
      <p class="sub" role="status">${making ? w.making : made ? [w.ready(made.file.name, made.file.size), made.pictures ? w.with_pictures(made.pictures) : '', made.missing ? w.missing(made.missing) : ''].filter(Boolean).join(' ') : ''}</p>${making ? going('export') : nothing}
      ${made ? html`<div class=${canShare ? 'pair' : 'stack'}>${canShare ? html`<button class="btn go" @click=${share}>${icon('up', 20)}${w.share}</button>` : nothing}
        <a class=${canShare ? 'btn' : 'btn go full'} href=${made.href} download=${made.file.name} data-testid="download">${icon('down', 20)}${w.download}</a></div>`
      : html`<button class="btn go full" ?disabled=${making} @click=${() => { make(); stage.draw(); }}>${making ? w.making : w.make}</button>`}` : html`<p>${w.nothing}</p>`}</section>`;
  }

  function taking() {
    return html`<section class="card stack"><h2>${w.in}</h2><p class="sub">${w.in_hint}</p>
      <label class="btn full file-choice"><input class="unseen" type="file" name="file" @change=${look}>${icon('file', 22)}${w.choose}</label>
      ${incoming ? coming(incoming) : nothing}</section>`;
  }

  /** @param {NonNullable<typeof incoming>} file */
  function coming(file) {
    const { preview } = file;
    return html`<div class=${file.wrong ? 'sum wrong-file' : 'sum'} id="incoming" tabindex="-1" role="status"><h3>${file.busy && !preview ? w.reading(file.name, file.size) : w.preview(file.name, file.size)}</h3>
      ${file.wrong ? html`<p>${file.wrong}</p>` : nothing}
      ${file.busy ? going('preview', 'import') : nothing}
      ${preview && !file.wrong ? html`${preview.made ? html`<p class="sub small">${w.preview_made(preview.made)}</p>` : nothing}
        <ul class="stack plain">${preview.projects.map((one) => html`<li><b>${one.id ? one.name : w.loose_name}</b>${one.demo ? html` <span class="chip right small">${w.demo}</span>` : nothing}<p>${says(one)}</p></li>`)}</ul>
        ${preview.pictures ? html`<p>${w.new_pictures(preview.pictures)}</p>` : nothing}
        ${preview.fresh || preview.pictures ? html`<div class="pair"><button class="btn" @click=${leave}>${w.not_now}</button><button class="btn go" data-testid="take" ?disabled=${file.busy} @click=${take}>${file.busy ? w.applying : w.apply}</button></div>`
        : html`<p><b>${w.nothing_new}</b></p><button class="btn full" @click=${leave}>${words.close}</button>`}` : nothing}
      ${file.wrong ? html`<button class="btn full" @click=${leave}>${words.close}</button>` : nothing}</div>`;
  }

  /** @param {Preview['projects'][number]} one */
  function says(one) {
    if (one.status === 'new') return w.status.new(one.parts, one.readings);
    if (one.status === 'apart') return w.status.apart(one.fresh, one.two_answers);
    return one.status === 'newer-in-file' ? w.status['newer-in-file'](one.fresh) : w.status[one.status]();
  }

  function here() {
    const used = store?.usage ?? null;
    return html`<section class="card stack"><h2>${w.here}</h2><p>${w.kept}</p>
      <dl class="facts"><dt>${w.used_label}</dt><dd>${used === null ? w.unknown : store?.quota ? w.used_of(used, store.quota) : w.used(used)}</dd>
      <dt>${w.promise_label}</dt><dd>${store?.persisted ? w.promise_yes : w.promise_no}</dd></dl>
      <p class="sub small">${store?.persisted ? w.promised : w.not_promised}</p>
      ${store?.persisted || !('storage' in navigator) ? nothing : html`<button class="btn full" @click=${promise}>${w.ask}</button>`}</section>`;
  }

  return { title: w.title, back: project ? { href: `#/project/${project}`, text: words.back } : { href: '#/settings', text: words.settings.title }, load, view, leave: () => { letGo(); hear(); } };
}
