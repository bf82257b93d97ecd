// The pictures of an animal at the head of its screen: one large, to measure on by a tap, the others a tap away, and the way to a new one.
import { html, nothing } from '../lib/lit-html.js';
import { ask } from '../ask.js';
import { styled } from '../board/style.js';
import { words } from '../words.js';
import '../words-more.js';
import '../words-pictures.js';
import { icon } from '../icons.js';
import { addresses } from './addresses.js';

const w = words.pictures;
const g = words.gallery;
const order = ['side', 'front', 'top', 'other'];

/** @typedef {import('./pictures.js').Picture} Picture */

/** @param {import('../app.js').Stage} stage  @param {string} project */
export function shots(stage, project) {
  /** @type {Picture[]} */
  let pictures = [];
  let chosen = '';
  const shown = addresses(stage.draw);

  async function load() {
    const [seen] = await Promise.all([ask('view', { name: 'pictures', project, of: 'subject' }), styled]);
    pictures = [...seen.pictures].sort((/** @type {Picture} */ a, /** @type {Picture} */ b) => order.indexOf(a.view ?? 'other') - order.indexOf(b.view ?? 'other'));
    const at = now();
    if (!at) return;
    shown.fetch(at.thumb);
    shown.fetch(at.full);
  }

  const now = () => pictures.find((one) => one.id === chosen) ?? pictures[0];
  /** @param {Picture} one */
  const called = (one) => one.name || (one.view ? w.views[one.view] : w.unnamed(null));

  /** @param {Picture} one */
  function choose(one) {
    chosen = one.id;
    shown.fetch(one.thumb);
    shown.fetch(one.full);
    stage.draw();
  }

  /** @param {unknown} drawing what stands there while there is no picture */
  function view(drawing) {
    const at = now();
    const address = at && (shown.of(at.full) ?? shown.of(at.thumb));
    return html`<div class="card flush shots-card">
      ${at ? html`<a class="shots-open" href=${`#/photo/${at.id}`} aria-label=${g.measure(called(at))} data-picture=${at.id}>${address ? html`<img src=${address} alt="" width=${at.width} height=${at.height}>` : html`<span class="hollow">${icon('picture', 40)}</span>`}</a>` : html`<div class="shots-none">${drawing}</div>`}
      <div class="shots-tabs" role="group" aria-label=${g.strip}>${pictures.slice(0, 4).map((one) => html`<button aria-pressed=${one === at} @click=${() => choose(one)}>${called(one)}</button>`)}
        ${pictures.length > 4 ? html`<a href=${`#/pictures/${project}`}>${w.open}</a>` : nothing}<a href=${`#/pictures/${project}`} data-testid="add-picture">${icon('plus', 20)}${g.plus}</a></div></div>`;
  }

  return { load, view, leave: shown.leave };
}
