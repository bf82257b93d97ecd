// A new animal: its kind, name, parts and finished size. What is typed is drafted, so that it survives a killed tab.
import { html, nothing } from '../lib/lit-html.js';
import { ask } from '../ask.js';
import { icon } from '../icons.js';
import { animalPicture } from '../draw/animals.js';
import { cap, sentence, words } from '../words.js';
import '../words-more.js';

const w = words.fresh;
const draftKey = 'new';
/** The part a finished size is given by, when there is one of these. */
const whole = ['whole length', 'whole height', 'height at the withers', 'height at the shoulder', 'body height', 'body length'];

/**
 * @typedef {{name: string, axis: 'length' | 'width', view: 'side' | 'front' | 'top', unit?: true}} Suggestion
 * @typedef {{kind: string, name: string, without: string[], size: string, sizePart: string}} Draft
 */

/** @param {import('../app.js').Stage} stage @returns {import('../app.js').Screen} */
export function open(stage) {
  /** @type {string[]} */
  let kinds = [];
  /** @type {Suggestion[]} */
  let suggested = [];
  /** @type {'mm' | 'cm' | 'in'} */
  let unit = 'mm';
  /** @type {Draft} */
  let me = { kind: 'otter', name: '', without: [], size: '', sizePart: '' };
  let wrong = '';
  let busy = false;
  let loaded = false;

  async function load() {
    if (loaded) return;
    const [settings, draft] = await Promise.all([ask('settings', {}), ask('drafts', { key: draftKey })]);
    unit = settings.unit;
    if (draft?.kind) me = { ...me, ...draft };
    await suggest();
    loaded = true;
  }

  async function suggest() {
    const seen = await ask('view', { name: 'suggestions', animal: me.kind });
    kinds = seen.animals;
    suggested = seen.parts;
  }

  const chosen = () => suggested.filter((part) => !me.without.includes(part.name));
  const sizePart = () => {
    const names = chosen().map((part) => part.name);
    return names.find((name) => name === me.sizePart) ?? whole.find((name) => names.includes(name)) ?? names[0] ?? '';
  };

  /** @param {Partial<Draft>} change */
  function put(change) {
    me = { ...me, ...change };
    wrong = '';
    stage.draw();
    ask('draft', { key: draftKey, value: me }).catch(stage.trouble);
  }

  /** @param {string} kind */
  async function pickKind(kind) {
    put({ kind, without: [], sizePart: '' });
    try { await suggest(); } catch (error) { stage.trouble(error); }
    stage.draw();
  }

  /** @param {string} name */
  const toggle = (name) => put({ without: me.without.includes(name) ? me.without.filter((one) => one !== name) : [...me.without, name] });

  /** @param {Event} event */
  async function make(event) {
    event.preventDefault();
    const parts = chosen();
    if (busy) return;
    if (!parts.length) { wrong = w.no_parts; stage.draw(); return; }
    busy = true;
    stage.draw();
    try {
      const typed = me.size.trim();
      const size = typed ? await understood(typed) : null;
      const name = me.name.trim() || w.example(me.kind);
      const at = parts.findIndex((part) => part.name === sizePart());
      const { id, parts: ids } = await ask('newProject', { name, animal: me.kind, parts });
      if (size) await ask('set', { kind: 'project', id, field: 'size', value: { part: ids[at], mm: size.mm, typed } });
      await ask('draft', { key: draftKey, value: null });
      location.hash = `#/project/${id}`;
    } catch (error) { wrong = sentence(error); } finally { busy = false; stage.draw(); }
  }

  /** The finished size in mm; a text that is no length leads back to its field. @param {string} text */
  async function understood(text) {
    try { return await ask('engine', { method: 'parse-length', request: { text, unit } }); } catch (error) {
      document.getElementsByName('size')[0]?.focus();
      throw error;
    }
  }

  const value = (/** @type {Event} */ event) => /** @type {HTMLInputElement} */ (event.target).value;

  function view() {
    return html`<form @submit=${make}><div class="columns">
      <div class="stack"><div class="head"><h1 tabindex="-1">${w.title}</h1></div>
        <fieldset class="card stack"><legend class="unseen">${w.kind}</legend><div class="new-picture">${animalPicture(me.kind)}</div><h2 aria-hidden="true">${w.kind}</h2>
          <div class="choices">${kinds.map((kind) => html`<label class="choice"><input class="unseen" type="radio" name="kind" value=${kind} .checked=${kind === me.kind} @change=${() => pickKind(kind)}><span>${cap(w.kinds[kind] ?? kind)}</span></label>`)}</div></fieldset>
        <div class="card stack"><label class="field">${w.name}<input type="text" name="name" maxlength="80" autocomplete="off" placeholder=${w.example(me.kind)} .value=${me.name} @input=${(/** @type {Event} */ event) => put({ name: value(event) })}></label></div>
      </div>
      <div class="stack">
        <fieldset class="card stack"><legend class="unseen">${w.parts}</legend><div><h2 aria-hidden="true">${w.parts}</h2><p class="sub">${w.parts_hint}</p></div>
          ${(/** @type {const} */ (['side', 'front', 'top'])).map(group)}
          <p class="sub small" role="status">${w.chosen(chosen().length)}</p></fieldset>
        <div class="card stack"><h2>${w.size}</h2><p class="sub" id="size-hint">${w.size_hint}</p>
          <div class="stack"><label class="field"><span class="unseen">${w.size}</span><input type="text" name="size" autocomplete="off" maxlength="40" placeholder=${w.size_example[unit]} aria-describedby="size-hint" .value=${me.size} @input=${(/** @type {Event} */ event) => put({ size: value(event) })}></label>
          <label class="field">${w.size_part}<select name="part" @change=${(/** @type {Event} */ event) => put({ sizePart: value(event) })}>${chosen().map((part) => html`<option value=${part.name} ?selected=${part.name === sizePart()}>${part.name}</option>`)}</select></label></div></div>
      </div></div>
      <div class="foot"><p class="wrong" role="alert">${wrong}</p><button class="btn go full" type="submit" data-testid="start" ?disabled=${busy}>${busy ? w.making : w.make}</button></div></form>`;
  }

  /** @param {'side' | 'front' | 'top'} from */
  function group(from) {
    const parts = suggested.filter((part) => part.view === from);
    return parts.length ? html`<div role="group" aria-label=${w.views[from]}><p class="sub small" aria-hidden="true">${w.views[from]}</p><div class="choices">${parts.map((part) => {
      const on = !me.without.includes(part.name);
      return html`<button type="button" class="choice" aria-pressed=${on} @click=${() => toggle(part.name)}>${icon(on ? 'right' : 'plus', 16)}<span>${part.name}</span></button>`;
    })}</div></div>` : nothing;
  }

  return { title: w.title, back: { href: '#/', text: words.dock.projects }, load, view };
}
