// Pairing: nine digits, what this device is called, one button.
import { html, nothing } from '../lib/lit-html.js';
import { ask } from '../ask.js';
import { isInstalled } from '../install.js';
import { grouped } from '../typed.js';
import { sentence, words } from '../words.js';
import '../words-more.js';

const w = words.pairing;

/** What this device may be called, from what the browser says of it. */
function ownName() {
  const is = `${navigator.userAgent} ${navigator.platform ?? ''}`;
  const touch = navigator.maxTouchPoints > 1;
  if (/iPhone/.test(is)) return w.names.iphone;
  if (/iPad/.test(is) || (/Mac/.test(is) && touch)) return w.names.ipad;
  if (/Android/.test(is)) return /Mobile/.test(is) ? w.names.android : w.names.tablet;
  return /Mac/.test(is) ? w.names.mac : /Windows/.test(is) ? w.names.windows : w.names.computer;
}

const isApple = () => /iPhone|iPad/.test(navigator.userAgent) || (/Mac/.test(navigator.platform ?? '') && navigator.maxTouchPoints > 1);

/** @param {import('../app.js').Stage} stage @returns {import('../app.js').Screen} */
export function open(stage) {
  let code = grouped(stage.path[0] ?? '');
  let name = ownName();
  let wrong = '';
  let busy = false;
  let anew = Boolean(code);
  /** @type {any} */
  let seen = null;
  /** @type {string | null} */
  let done = null;
  // It lets a device in, so it does not stay in the address, nor in the history of the browser.
  if (stage.path[0]) history.replaceState(null, '', '#/pair');

  async function load() { seen = await ask('view', { name: 'home' }); }

  /** @param {Event} event */
  async function pair(event) {
    event.preventDefault();
    if (busy) return;
    wrong = code.replace(/\D/g, '').length < 9 ? w.short : '';
    if (wrong) { stage.draw(); document.querySelector('input')?.focus(); return; }
    busy = true;
    stage.draw();
    try {
      const { home } = await ask('pair', { code, name });
      done = home.name;
      ask('askPersist').catch(() => {}); // what is worth bringing home is worth keeping
    } catch (error) { wrong = sentence(error); }
    busy = false;
    stage.draw();
    /** @type {HTMLElement | null} */ (document.querySelector(wrong ? 'input[name=code]' : 'main h1'))?.focus();
  }

  /** @param {Event} event */
  function typed(event) {
    const input = /** @type {HTMLInputElement} */ (event.target);
    code = grouped(input.value);
    if (input.value !== code) input.value = code;
    wrong = '';
    stage.draw();
  }

  function view() {
    if (done !== null) return success(done);
    if (seen.paired && !seen.struck && !anew) return already();
    return html`<div class="head"><h1 tabindex="-1">${w.title}</h1><p class="sub">${w.sub}</p></div>
      <form class="stack narrow" novalidate @submit=${pair}>
        ${isApple() && !isInstalled() ? html`<div class="card look"><p>${w.installed_hint}</p></div>` : nothing}
        ${seen.paired && !seen.struck ? html`<div class="card look"><p>${w.already(seen.name)} ${w.already_hint}</p></div>` : nothing}
        <div class="card stack"><label class="field">${w.code}<span class="sub small" id="code-hint">${w.code_hint}</span>
          <input class="code" type="text" name="code" inputmode="numeric" autocomplete="one-time-code" enterkeyhint="go" maxlength="11" aria-describedby="code-hint code-wrong" aria-invalid=${wrong ? 'true' : 'false'} .value=${code} @input=${typed}></label>
          <p class="wrong" id="code-wrong" role="alert">${wrong}</p>
          <label class="field">${w.name}<input type="text" name="device" autocomplete="off" maxlength="60" .value=${name} @input=${(/** @type {Event} */ event) => { name = /** @type {HTMLInputElement} */ (event.target).value; }}></label></div>
        <div class="foot"><button class="btn go full" data-testid="pair" ?disabled=${busy}>${busy ? w.going : w.go}</button></div>
      </form>`;
  }

  function already() {
    return html`<div class="head"><h1 tabindex="-1">${w.title}</h1></div><div class="card stack narrow"><h2>${w.already(seen.name)}</h2><p class="sub">${w.already_hint}</p>
      <a class="btn go full" href="#/home">${w.to_home}</a><button class="btn full" @click=${() => { anew = true; stage.draw(); }}>${w.anew}</button></div>`;
  }

  /** @param {string} home */
  function success(home) {
    return html`<div class="head"><h1 tabindex="-1" data-testid="paired">${w.done(home)}</h1></div><div class="card stack narrow"><p>${w.done_text}</p>
      <a class="btn go full" href="#/">${w.done_go}</a><a class="btn full" href="#/home">${w.to_home}</a></div>`;
  }

  return { title: w.title, back: { href: '#/home', text: words.back }, load, view };
}
