// The sheet about one picture: what can be done with it, and what is known of it.
import { html, nothing } from '../lib/lit-html.js';
import { ask } from '../ask.js';
import { pictureIcon } from '../draw/picture-icons.js';
import { words } from '../words.js';
import '../words-more.js';
import '../words-pictures.js';
import { addresses } from './addresses.js';
import { sheet } from './sheet.js';

const w = words.pictures;
const g = words.gallery;
const sides = /** @type {const} */ (['side', 'front', 'top', 'other']);

/** @typedef {import('./pictures.js').Picture} Picture */

/**
 * @param {import('../app.js').Stage} stage
 * @param {{called: (one: Picture) => string, reload: () => Promise<void>}} how
 */
export function aboutPicture(stage, { called, reload }) {
  /** @type {Picture | null} */
  let at = null;
  let paired = false;
  const whole = addresses(stage.draw);
  const looking = sheet(stage, 'picture', () => (at ? called(at) : ''), content);

  /** @param {Picture} one */
  function open(one) {
    at = one;
    looking.open();
    whole.fetch(one.thumb);
    whole.fetch(one.full);
  }

  /** @param {{pictures: Picture[], paired: boolean}} seen */
  function renew(seen) {
    paired = seen.paired;
    if (at) at = seen.pictures.find((one) => one.id === at?.id) ?? null;
  }

  /** @param {() => Promise<unknown>} act */
  const run = async (act) => { try { await act(); } catch (error) { stage.trouble(error); } };
  const set = (/** @type {string} */ field, /** @type {unknown} */ value) => run(async () => { await ask('set', { kind: 'picture', id: at?.id, field, value }); await reload(); stage.draw(); });
  const bin = () => run(async () => {
    const one = at;
    looking.close();
    if (!one) return;
    await ask('bin', { kind: 'picture', id: one.id, binned: true });
    stage.tell(w.binned, { text: words.undo, run: () => run(() => ask('bin', { kind: 'picture', id: one.id, binned: false })) });
  });

  function content() {
    if (!at) return nothing;
    const one = at;
    return html`<div class="about-picture">${picture(one)}${doings(one)}${known(one)}</div>`;
  }

  /** @param {Picture} one */
  function picture(one) {
    const [address, small, why] = [whole.of(one.full), whole.of(one.thumb), whole.why(one.full)];
    return html`<div>${address ? html`<img class="whole" data-testid="whole" src=${address} alt=${called(one)} width=${one.width} height=${one.height}>`
      : html`${small ? html`<img class="whole dim" src=${small} alt=${called(one)}>` : nothing}<p role="status">${why ? `${w.not_here} ${why}` : w.fetching}</p>`}</div>`;
  }

  /** @param {Picture} one */
  function doings(one) {
    const animals = one.of === 'subject';
    return html`<ul class="list inner doings">
      ${doing(`#/photo/${one.id}`, 'pins', g.do_measure, g.do_measure_hint(one.pins))}
      ${doing(`#/plane/${one.id}`, 'card', g.do_scale, one.plane ? g.scale : g.do_scale_hint)}
      ${doing(`#/outline/${one.id}`, 'outline', g.do_outline, one.outlines ? g.outlines(one.outlines) : g.do_outline_hint)}
      ${animals ? nothing : doing(`#/overlay/${one.id}`, 'overlay', g.do_overlay, g.do_overlay_hint)}
      ${animals ? doing(`#/print/${stage.path[0]}?picture=${one.id}`, 'print', g.do_print, '') : nothing}
      ${animals ? doing(`#/glass/${stage.path[0]}?picture=${one.id}`, 'glass', g.do_glass, '') : nothing}</ul>`;
  }

  /** @param {string} href @param {string} what @param {string} text @param {string} hint */
  const doing = (href, what, text, hint) => html`<li><a class="item" href=${href}>${pictureIcon(what, 24)}<b>${text}</b>${hint ? html`<span class="end sub small">${hint}</span>` : nothing}</a></li>`;

  /** @param {Picture} one */
  function known(one) {
    const put = (/** @type {'name' | 'whose'} */ field) => (/** @type {Event} */ event) => { set(field, /** @type {HTMLInputElement} */ (event.target).value); };
    return html`<details><summary>${g.details}</summary><div class="stack">
      <div class="setting" role="group" aria-label=${w.view_label}><b>${w.view_label}</b><div class="seg">${sides.map((side) => html`<button aria-pressed=${one.view === side} @click=${() => set('view', side)}>${w.views[side]}</button>`)}</div></div>
      <div class="setting" role="group" aria-label=${g.kind}><b>${g.kind}</b><div class="seg">${[false, true].map((drawn) => html`<button aria-pressed=${one.drawn === drawn} @click=${() => set('drawn', drawn)}>${drawn ? g.drawing : g.photo}</button>`)}</div></div>
      <label class="field">${g.rename}<input type="text" name="name" maxlength="60" autocomplete="off" placeholder=${w.unnamed(one.view)} .value=${one.name} @change=${put('name')}></label>
      <label class="field">${g.whose_field}<input type="text" name="whose-is" maxlength="80" autocomplete="off" placeholder=${g.whose_example} .value=${one.whose} @change=${put('whose')}></label>
      <p class="sub small">${one.whose ? `${g.whose_is(one.whose)} · ` : ''}${w.size(one.width, one.height, one.bytes)}${paired ? ` · ${one.home ? w.home : w.not_home}` : ''}</p>
      <button class="text" @click=${bin}>${w.bin}</button></div></details>`;
  }

  return { open, renew, view: looking.view, leave: whole.leave };
}
