// The twelve solids to choose from, as pictures with plain words.
import { html } from '../lib/lit-html.js';
import { solidPicture } from '../draw/solids.js';
import { cap, words } from '../words.js';
import '../words-forms.js';

/** In the order in which a maker would learn them. */
const kinds = ['ball', 'egg', 'cylinder', 'rounded', 'cone', 'frustum', 'teardrop', 'disc', 'block', 'ring', 'ear', 'turned'];

/** @param {string} now the one it is, or nothing  @param {(kind: string) => void} choose */
export function solidChoice(now, choose) {
  return html`<ul class="solid-choice">${kinds.map((kind) => html`<li><button type="button" class="solid-one" data-solid=${kind} aria-pressed=${kind === now} @click=${() => choose(kind)}>
    ${solidPicture(kind, 72)}<span><b>${cap(words.shapes[kind])}</b><span class="sub small">${words.shape_lines[kind]}</span></span></button></li>`)}</ul>`;
}
