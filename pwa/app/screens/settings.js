// What each person sets for this phone, how to install it, and the way to the rest.
import { html, nothing } from '../lib/lit-html.js';
import { ask } from '../ask.js';
import { icon } from '../icons.js';
import { canInstall, install, isInstalled, onInstall } from '../install.js';
import { wear } from '../theme.js';
import { versionOf } from '../notices.js';
import { watchRest } from '../rest.js';
import { percent, words } from '../words.js';
import '../words-more.js';

const w = words.settings;

/** @typedef {import('../bench/settings.js').Settings} Settings */

/** @param {import('../app.js').Stage} stage @returns {import('../app.js').Screen} */
export function open(stage) {
  /** @type {Settings} */
  let own;
  let version = '';
  let rest = /** @type {boolean | null} */ (null);
  const off = onInstall(stage.draw);
  const unwatch = watchRest((here) => { rest = here; stage.draw(); });

  async function load() { own = await ask('settings', {}); }
  versionOf().then((text) => { version = text; stage.draw(); });

  /** @template {keyof Settings} K @param {K} name @param {Settings[K]} value */
  async function put(name, value) {
    const before = own;
    own = { ...own, [name]: value };
    if (name === 'theme') wear(String(value));
    stage.draw();
    try { own = await ask('setting', { name, value }); } catch (error) { own = before; stage.trouble(error); stage.draw(); }
  }

  async function take() {
    try { if (await install()) stage.tell(w.install_done); } catch (error) { stage.trouble(error); }
    stage.draw();
  }

  /** One of a few, side by side. @template {keyof Settings} K @param {K} name @param {string} label @param {readonly (readonly [Settings[K], string])[]} choices @param {string} [hint] */
  function segment(name, label, choices, hint) {
    return html`<div class="setting" role="group" aria-label=${label}><b aria-hidden="true">${label}</b>
      <div class="seg">${choices.map(([value, text]) => html`<button aria-pressed=${own[name] === value} @click=${() => put(name, value)}>${text}</button>`)}</div>
      ${hint ? html`<p class="sub small">${hint}</p>` : nothing}</div>`;
  }

  /** Yes or no. @param {'sound' | 'vibration' | 'speech'} name @param {string} label */
  const tick = (name, label) => html`<label class="tick flat"><input type="checkbox" name=${name} .checked=${own[name]} @change=${(/** @type {Event} */ event) => put(name, /** @type {HTMLInputElement} */ (event.target).checked)}><span>${label}</span></label>`;

  function view() {
    return html`<div class="head"><h1 tabindex="-1">${w.title}</h1><p class="sub">${w.sub}</p></div>
      <div class="columns"><div class="stack">${counting()}${lengths()}</div><div class="stack">${looks()}${links()}${onPhone()}</div></div>`;
  }

  function lengths() {
    return html`<section class="card stack wide-gap"><h2>${w.lengths}</h2>
      ${segment('unit', w.unit, [['mm', w.units.mm], ['cm', w.units.cm], ['in', w.units.in]])}
      ${own.unit === 'in' ? segment('inch', w.inch, [[16, w.inches[16]], [32, w.inches[32]]]) : nothing}
      ${segment('tolerance', w.tolerance, w.tolerances.map((share) => /** @type {const} */ ([share, percent(share)])), w.tolerance_hint)}</section>`;
  }

  function counting() {
    return html`<section class="card stack wide-gap"><h2>${w.counting}</h2>
      ${segment('denominator', w.denominator, [[3, w.denominators[3]], [4, w.denominators[4]], [8, w.denominators[8]], [0, w.denominators[0]]], w.denominator_hint)}
      ${segment('hand', w.hand, [['left', w.hands.left], ['right', w.hands.right]])}
      <div role="group" aria-label=${w.signs}><b aria-hidden="true">${w.signs}</b>
        ${tick('sound', w.sound)}${'vibrate' in navigator ? tick('vibration', w.vibration) : html`<p class="sub small">${w.no_vibration}</p>`}${tick('speech', w.speech)}</div>
      <label class="field">${w.arm}<select name="arm" @change=${(/** @type {Event} */ event) => put('arm_mm', Number(/** @type {HTMLSelectElement} */ (event.target).value))}>
        ${w.arms.map(([mm, text]) => html`<option value=${mm} ?selected=${own.arm_mm === mm}>${text}</option>`)}</select></label></section>`;
  }

  function looks() {
    return html`<section class="card">${segment('theme', w.theme, [['system', w.themes.system], ['light', w.themes.light], ['dark', w.themes.dark]])}</section>`;
  }

  function links() {
    return html`<nav aria-label=${w.more}><ul class="list">
      ${link('#/home', 'home', words.way.title)}${link('#/care', 'hand', w.care)}${link('#/ruler', 'ruler', w.ruler)}${link('#/loose', 'needle', w.loose)}${link('#/bag', 'wool', w.bag)}${link('#/hand', 'needle', w.own_hand)}${link('#/files', 'file', w.files)}${link('#/bin', 'bin', w.bin)}${link('#/notices', 'help', w.notices)}
      <li class="item still"><span>${w.version}</span><span class="end sub">${version || w.no_version}</span></li></ul></nav>`;
  }

  /** @param {string} href @param {string} name @param {string} text */
  const link = (href, name, text) => html`<li><a class="item" href=${href}>${icon(name)}<span>${text}</span></a></li>`;

  function onPhone() {
    return html`<section class="card"><h2>${w.install}</h2><p>${isInstalled() ? w.installed : w.install_hint}</p>
      ${canInstall() ? html`<button class="btn go full" @click=${take}>${icon('down', 20)}${w.install_now}</button>` : nothing}
      ${isInstalled() ? nothing : html`<details ?open=${!canInstall()}><summary>${w.install_how}</summary><ol class="counted">${w.install_steps.map((step) => html`<li>${step}</li>`)}</ol></details>`}
      ${rest === null ? nothing : html`<p data-testid="rest">${rest ? w.rest_here : w.rest_coming}</p>`}
      <p class="sub small">${w.install_later}</p></section>`;
  }

  return { title: w.title, load, view, leave() { off(); unwatch(); } };
}
