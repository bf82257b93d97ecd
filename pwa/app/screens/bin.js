// What was put away, and the way back for each.
import { html } from '../lib/lit-html.js';
import { ask } from '../ask.js';
import { icon } from '../icons.js';
import { cap, words } from '../words.js';
import '../words-more.js';

const w = words.bin;

/** @typedef {{kind: 'project' | 'part' | 'place' | 'piece' | 'picture' | 'outline' | 'form' | 'wool' | 'group', id: string, name: string, binned: string, project: string, project_name: string}} Item */

/** @param {import('../app.js').Stage} stage @returns {import('../app.js').Screen} */
export function open(stage) {
  /** @type {Item[]} */
  let items = [];

  async function load() { items = (await ask('view', { name: 'bin' })).items.map((/** @type {Item} */ item) => ({ ...item, name: item.name || cap(w.kinds[item.kind]) })); }

  /** @param {Item} item */
  async function putBack(item) {
    try {
      await ask('bin', { kind: item.kind, id: item.id, binned: false });
      stage.tell(w.back(item.name), { text: words.undo, run: () => { ask('bin', { kind: item.kind, id: item.id, binned: true }).catch(stage.trouble); } });
    } catch (error) { stage.trouble(error); }
  }

  /** @param {Item} item */
  const about = (item) => [item.kind === 'project' || item.kind === 'wool' ? w.kinds[item.kind] : w.of(w.kinds[item.kind], item.project_name), w.binned(item.binned)].filter(Boolean).join(', ');

  function view() {
    return html`<div class="head"><h1 tabindex="-1">${w.title}</h1>${items.length ? html`<p class="sub">${w.sub}</p>` : ''}</div>
      <div class="narrow">${items.length ? html`<ul class="list">${items.map((item) => html`<li class="item still"><span><b>${item.name}</b><br><span class="sub small">${about(item)}</span></span>
        <button class="btn end" aria-label=${w.put_back(item.name)} @click=${() => putBack(item)}>${icon('undo', 20)}${words.put_back}</button></li>`)}</ul>`
      : html`<div class="card stack hollow">${icon('bin', 56)}<h2>${w.empty}</h2><p class="sub">${w.empty_hint}</p></div>`}</div>`;
  }

  return { title: w.title, back: { href: '#/settings', text: words.settings.title }, load, view };
}
