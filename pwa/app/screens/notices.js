// The licences of the libraries inside.
import { html, nothing } from '../lib/lit-html.js';
import { notices } from '../notices.js';
import { words } from '../words.js';
import '../words-more.js';

const w = words.notices;

/** @param {import('../app.js').Stage} _stage @returns {import('../app.js').Screen} */
export function open(_stage) {
  /** @type {import('../notices.js').Notices | null} */
  let list = null;

  async function load() {
    try { list = await notices(); } catch { list = null; }
  }

  function view() {
    return html`<div class="head"><h1 tabindex="-1">${w.title}</h1><p class="sub">${w.sub}</p></div>
      <div class="stack narrow">
        <section class="card"><h2>${w.own}</h2><p>${w.own_text}</p>${list?.own ? html`<details><summary>${words.show}</summary><div class="licence" tabindex="0" role="region" aria-label=${w.own}>${list.own}</div></details>` : nothing}</section>
        <section class="card"><h2>${w.libraries}</h2>
          ${list?.libraries.length ? list.libraries.map((one) => html`<details class="library"><summary><span><b>${one.name}</b> <span class="sub small">${w.by(one.version, one.licence)}</span></span></summary><div class="licence" tabindex="0" role="region" aria-label=${one.name}>${one.text}</div></details>`)
          : html`<p>${w.none}</p>`}</section>
      </div>`;
  }

  return { title: w.title, back: { href: '#/settings', text: words.settings.title }, load, view };
}
