// A small dialog: the animal's name, and the finished size by one of its parts.
import { html, nothing } from '../lib/lit-html.js';
import { ask } from '../ask.js';
import { words } from '../words.js';

const w = words.size;

/** @param {import('../app.js').Stage} stage */
export function sizeDialog(stage) {
  /** @type {{seen: any, name: string, part: string, typed: string, wrong: string} | null} */
  let me = null;

  /** @param {any} seen the project as its view gives it */
  function open(seen) {
    me = { seen, name: seen.name, part: seen.size?.part ?? seen.parts[0]?.id ?? '', typed: seen.size?.typed ?? '', wrong: '' };
    stage.draw();
    /** @type {HTMLDialogElement | null} */ (document.querySelector('dialog.size'))?.showModal();
  }

  function close() { /** @type {HTMLDialogElement | null} */ (document.querySelector('dialog.size'))?.close(); me = null; stage.draw(); }

  /** @param {Event} event */
  async function save(event) {
    event.preventDefault();
    if (!me) return;
    const { seen, name, part, typed } = me;
    try {
      const size = typed.trim() && part ? { part, mm: (await length(typed)).mm, typed: typed.trim() } : null;
      if (name.trim() && name.trim() !== seen.name) await ask('set', { kind: 'project', id: seen.id, field: 'name', value: name.trim() });
      if (JSON.stringify(size) !== JSON.stringify(seen.size ?? null)) await ask('set', { kind: 'project', id: seen.id, field: 'size', value: size });
      close();
    } catch (error) {
      if (me) me.wrong = /** @type {{text?: string}} */ (error).text ?? '';
      stage.draw();
    }
  }

  /** @param {string} text */
  async function length(text) {
    const settings = await ask('settings', {});
    return ask('engine', { method: 'parse-length', request: { text, unit: settings.unit } });
  }

  /** @param {'name' | 'part' | 'typed'} field */
  const put = (field) => (/** @type {Event} */ event) => { if (me) { me[field] = /** @type {HTMLInputElement} */ (event.target).value; me.wrong = ''; } };

  function view() {
    return html`<dialog class="size" aria-labelledby="size-title" @close=${() => { me = null; }}>${me ? html`<form class="stack wide-gap" method="dialog" @submit=${save}>
      <h2 id="size-title">${w.title}</h2>
      <label class="field">${w.name}<input type="text" name="name" maxlength="80" autocomplete="off" .value=${me.name} @input=${put('name')}></label>
      <label class="field">${w.size}<input type="text" name="size" autocomplete="off" placeholder=${w.example} .value=${me.typed} @input=${put('typed')} aria-describedby="size-wrong"></label>
      <label class="field">${w.part}<select name="part" @change=${put('part')}>${me.seen.parts.map((/** @type {any} */ part) => html`<option value=${part.id} ?selected=${part.id === me?.part}>${part.name}</option>`)}</select></label>
      <p id="size-wrong" class="wrong" role="alert">${me.wrong}</p>
      <div class="pair"><button class="btn" type="button" @click=${close}>${words.cancel}</button><button class="btn go" type="submit">${words.keep}</button></div></form>` : nothing}</dialog>`;
  }
  return { open, view };
}
