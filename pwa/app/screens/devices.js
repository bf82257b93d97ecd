// The devices of this home: their names, letting another one in, striking one off.
import { html, nothing } from '../lib/lit-html.js';
import { ask } from '../ask.js';
import { icon } from '../icons.js';
import { squares } from '../draw/squares.js';
import { grouped } from '../typed.js';
import { after, secondsTo } from '../until.js';
import { sentence, words } from '../words.js';
import '../words-more.js';
import { sheet } from './sheet.js';

const w = words.devices;

/** @typedef {import('../bench/pair.js').Device} Device */

/** @param {import('../app.js').Stage} stage @returns {import('../app.js').Screen} */
export function open(stage) {
  /** @type {Device[] | null} */
  let list = null;
  /** @type {{code?: string} | null} */
  let trouble = null;
  let home = '';
  /** @type {Device | null} */
  let at = null;
  let name = '';
  /** @type {{code: string, until: number, app: string, welcome: string, qr: string[], welcome_qr: string[]} | null} */
  let code = null;
  const renaming = sheet(stage, 'rename', () => w.rename_label(at?.name ?? ''), renameForm);
  const striking = sheet(stage, 'strike', () => w.strike_title(at?.name ?? ''), strikeForm);
  const showing = sheet(stage, 'code', () => w.another, codeView);
  const clock = setInterval(() => { if (showing.isOpen) stage.draw(); }, 1000);

  async function load() {
    const view = await ask('view', { name: 'home' });
    home = view.name ?? '';
    if (!view.paired) { trouble = { code: 'not-paired' }; return; }
    try { list = (await ask('devices', {})).devices; trouble = null; } catch (error) { trouble = /** @type {{code?: string}} */ (error); }
  }

  /** @param {() => Promise<{devices: Device[]}>} act */
  async function run(act) {
    try { list = (await act()).devices; return true; } catch (error) { stage.trouble(error); return false; } finally { stage.draw(); }
  }

  /** @param {Event} event */
  async function rename(event) {
    event.preventDefault();
    const id = at?.id;
    if (await run(() => ask('renameDevice', { id, name }))) renaming.close();
  }

  async function strike() {
    const one = at;
    if (one && await run(() => ask('strikeDevice', { id: one.id }))) { striking.close(); stage.tell(w.struck_told(one.name)); }
  }

  async function newCode() {
    try {
      const { expires_s, ...more } = await ask('newCode', {});
      code = { ...more, until: after(expires_s) };
      showing.open();
    } catch (error) { stage.trouble(error); }
  }

  function view() {
    const live = list?.filter((one) => !one.struck) ?? [];
    const off = list?.filter((one) => one.struck) ?? [];
    return html`<div class="head"><h1 tabindex="-1">${w.title}</h1>${home ? html`<p class="sub">${w.sub(home)}</p>` : nothing}</div>
      <div class="columns"><div class="stack">${trouble ? html`<div class="card look"><p>${sentence(trouble)}</p>${trouble.code === 'home-not-found' ? html`<p class="sub">${w.not_now}</p>` : nothing}</div>` : nothing}
        ${live.length ? html`<ul class="list">${live.map(item)}</ul>` : nothing}
        ${off.length ? html`<section class="stack"><h2>${w.struck_title}</h2><p class="sub">${w.struck_hint}</p><ul class="list">${off.map((one) => html`<li class="item static" data-device=${one.id}><span><b>${one.name}</b><br><span class="sub small">${w.struck}</span></span></li>`)}</ul></section>` : nothing}</div>
        <div class="stack">${list ? html`<section class="card stack"><h2>${w.another}</h2><p class="sub">${w.another_hint}</p><button class="btn go full" data-testid="show-code" @click=${newCode}>${icon('plus', 20)}${w.show}</button></section>` : nothing}</div></div>
      ${renaming.view()}${striking.view()}${showing.view()}`;
  }

  /** @param {Device} one */
  function item(one) {
    const about = [one.you ? w.you : '', one.here ? w.here : w.seen(one.seen)].filter(Boolean).join(' · ');
    return html`<li class="device" data-device=${one.id}><span class="item still"><span><b>${one.name}</b><br><span class="sub small">${about}</span></span></span>
      <span class="row ways"><button class="text" aria-label=${w.rename_label(one.name)} @click=${() => { at = one; name = one.name; renaming.open(); }}>${w.rename}</button>
      <button class="text end" data-testid="strike" aria-label=${w.strike_label(one.name)} @click=${() => { at = one; striking.open(); }}>${w.strike}</button></span></li>`;
  }

  function renameForm() {
    return html`<form class="stack" @submit=${rename}><label class="field">${w.new_name}<input type="text" name="name" maxlength="60" .value=${name} @input=${(/** @type {Event} */ event) => { name = /** @type {HTMLInputElement} */ (event.target).value; }}></label>
      <button class="btn go full">${words.keep}</button></form>`;
  }

  function strikeForm() {
    return html`<p>${w.strike_text}</p><div class="pair"><button class="btn" @click=${striking.close}>${words.cancel}</button><button class="btn danger" data-testid="strike-yes" @click=${strike}>${w.strike}</button></div>`;
  }

  function codeView() {
    if (!code) return nothing;
    const left = secondsTo(code.until);
    if (!left) return html`<p>${w.over}</p><button class="btn go full" @click=${newCode}>${w.again}</button>`;
    return html`<p class="code-shown" data-testid="code" aria-label=${`${w.code} ${code.code.split('').join(' ')}`}>${grouped(code.code)}</p><p class="sub" role="timer">${w.left(left)}</p>
      ${code.qr.length ? html`<p>${w.scan}</p>${squares(code.qr, w.qr_label(code.app))}` : nothing}
      ${code.welcome ? html`<p>${w.welcome}</p><p><b>${code.welcome}</b></p>${squares(code.welcome_qr, w.qr_label(code.welcome))}` : nothing}`;
  }

  return { title: w.title, back: { href: '#/home', text: words.way.title }, load, view, leave: () => clearInterval(clock) };
}
