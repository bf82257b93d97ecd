// What comes up beside the picture that is measured: the parts, a kept length, the counts to lay over it, how far something stands off.
import { html, nothing } from '../lib/lit-html.js';
import { ask } from '../ask.js';
import { icon } from '../icons.js';
import { readingText } from '../shown.js';
import { cap, day, words } from '../words.js';
import { lengthTrouble } from './keypad.js';
import { sheet } from './sheet.js';

const w = words.photo;

/** @typedef {import('../board/pins.js').Item} Item  @typedef {import('./photo.js').Figure} Figure  @typedef {import('./photo.js').Kept} Kept  @typedef {import('./photo.js').Count} Count */

/**
 * @param {import('../app.js').Stage} stage
 * @param {object} of
 * @param {{at: Item | null, lines: boolean, off: {text: string, mm: number | null}, count: Count | null}} of.me
 * @param {() => any} of.seen
 * @param {() => {kept: Record<string, Figure | null>, unit: unknown, now: Figure | null}} of.figures
 * @param {() => Item[]} of.items
 * @param {(item: Item | null) => void} of.goTo
 * @param {(reading: string, struck: boolean) => Promise<boolean>} of.strike
 * @param {(figure: Figure | null | undefined) => {main: string, of: string, doubt: string}} of.textOf
 * @param {(count: Count | null) => void} of.lay
 * @param {(text: string, mm: number | null) => void} of.setOff
 * @param {(part: string) => unknown} of.lineOf
 */
export function photoSheets(stage, of) {
  const { me, goTo, strike, textOf } = of;
  let reading = '';
  let axis = /** @type {'length' | 'width'} */ ('length');
  let typed = '';
  let wrong = '';
  const parts = sheet(stage, 'parts', () => w.parts, list);
  const naming = sheet(stage, 'new-part', () => w.new_part, newPart);
  const one = sheet(stage, 'reading', () => { const kept = at(); return kept ? cap(kept.name) : ''; }, keptOne);
  const counts = sheet(stage, 'counts', () => w.counts_title, countList);
  const off = sheet(stage, 'off', () => w.off_title, offForm);
  const all = [parts, naming, one, counts, off];

  /** @returns {Kept | undefined} */
  const at = () => of.seen().readings.find((/** @type {Kept} */ kept) => kept.id === reading);
  const close = () => { for (const sheet of all) if (sheet.isOpen) sheet.close(); };

  /** @param {Item} item */
  function said(item) {
    const kept = of.seen().readings.filter((/** @type {Kept} */ k) => (item.place ? k.place === item.place : k.part === item.part && !k.place));
    return kept.map((/** @type {Kept} */ k) => row(k));
  }

  /** @param {Kept} kept */
  function row(kept) {
    const { main, of: unit, doubt } = textOf(of.figures().kept[kept.id]);
    return html`<div class=${`item kept-row${kept.struck ? ' struck-out' : ''}`}><span><b>${main}</b> ${unit}<br><span class="sub small">${kept.struck ? w.is_struck : doubt}</span></span>
      <button class="btn end" aria-label=${`${kept.struck ? w.restore : w.strike}: ${kept.name} ${main}`} @click=${() => change(kept, !kept.struck)}>${icon(kept.struck ? 'undo' : 'strike', 20)}${kept.struck ? w.restore : w.strike}</button></div>`;
  }

  /** @param {Kept} kept  @param {boolean} struck */
  async function change(kept, struck) {
    if (!await strike(kept.id, struck)) return;
    if (one.isOpen) one.close();
    if (struck && !parts.isOpen) stage.tell(w.struck(kept.name), { text: words.put_back, run: () => strike(kept.id, false) });
  }

  /** @param {Item} item */
  function how(item) {
    const view = of.seen().picture.view;
    const elsewhere = !item.n && item.view && view && view !== 'other' && item.view !== view ? w.best_seen[item.view] : '';
    const part = item.place ? words.pad.along(of.seen().parts.find((/** @type {any} */ p) => p.id === item.part)?.name ?? '', item.from) : '';
    return [part, item.n ? w.times(item.n) : elsewhere || w.not_yet].filter(Boolean).join(' · ');
  }

  function list() {
    const now = me.at && !me.at.id ? [me.at] : [];
    return html`<ul class="list">${[...of.items(), ...now].map((item) => html`<li>
        <button class="item" data-item=${item.id} aria-current=${item.id === me.at?.id ? 'true' : nothing} @click=${() => goTo(item)}><span><b>${cap(item.name)}</b><br><span class="sub small">${how(item)}</span></span></button>${item.id ? said(item) : nothing}</li>`)}</ul>
      <button class="btn full" data-testid="new-part" @click=${() => { parts.close(); naming.open(); }}>${icon('plus', 20)}${w.new_part}</button>`;
  }

  function newPart() {
    return html`<form class="stack wide-gap" @submit=${named}>
      <label class="field">${w.new_name}<input type="text" name="name" maxlength="80" autocomplete="off" required></label>
      <div class="field"><b id="axis-label">${w.axis_label}</b><div class="seg" role="group" aria-labelledby="axis-label">${(/** @type {const} */ (['length', 'width'])).map((way) => html`<button type="button" aria-pressed=${axis === way} @click=${() => { axis = way; stage.draw(); }}>${w.axes[way]}</button>`)}</div></div>
      <button class="btn go full" data-testid="use-name">${w.new_use}</button></form>`;
  }

  /** @param {SubmitEvent} event */
  function named(event) {
    event.preventDefault();
    const name = String(new FormData(/** @type {HTMLFormElement} */ (event.target)).get('name') ?? '').trim();
    if (!name) { stage.trouble({ code: 'name-empty' }); return; }
    const known = of.items().find((item) => !item.place && item.name.toLowerCase() === name.toLowerCase());
    goTo(known ?? { id: '', name, axis, part: '', place: null, from: '', n: 0 });
  }

  function keptOne() {
    const kept = at();
    if (!kept) return nothing;
    const { main, of: unit, doubt } = textOf(of.figures().kept[kept.id]);
    return html`<p><span class="big">${main}</span> <span class="sub">${unit} ${doubt}</span></p>
      ${kept.covered ? html`<p class="sub">${w.covered}</p>` : nothing}
      <div class="pair"><button class="btn" data-testid="measure-again" @click=${() => goTo(of.items().find((item) => item.id === (kept.place ?? kept.part)) ?? null)}>${w.measure_again}</button>
        <button class="btn" data-testid="strike" @click=${() => change(kept, !kept.struck)}>${icon(kept.struck ? 'undo' : 'strike', 20)}${kept.struck ? w.restore : w.strike}</button></div>`;
  }

  function countList() {
    const sittings = of.seen().counts;
    if (!sittings.length) return html`<p class="sub">${w.counts_none}</p>`;
    return html`<p class="sub">${w.counts_hint}</p>${byUnit(sittings).map((all) => html`<section class="stack"><h3>${w.counts_when(day(all[0].made), all[0].unit_name)}</h3>
        ${of.lineOf(all[0].unit) ? nothing : html`<p class="sub small">${w.counts_unit(all[0].unit_name)}</p>`}
        <ul class="list inner">${each(all).map(({ sitting, r }) => html`<li><button class="item" aria-pressed=${me.count?.sitting === sitting.sitting && me.count?.part === r.part} ?disabled=${!of.lineOf(sitting.unit)} @click=${() => laid({ sitting: sitting.sitting, unit: sitting.unit, unit_name: sitting.unit_name, ...r })}><span>${w.counts_line(r.name, readingText(r, 'sight'), sitting.unit_name, r.value)}</span></button></li>`)}</ul></section>`)}
      ${me.count ? html`<button class="btn full" @click=${() => { of.lay(null); close(); }}>${w.counts_off}</button>` : nothing}`;
  }

  /** Sittings of one day that were counted in the same unit stand together; those whose unit is pinned here come first. @param {any[]} sittings @returns {any[][]} */
  function byUnit(sittings) {
    /** @type {Map<string, any[]>} */
    const groups = new Map();
    for (const one of sittings) {
      const key = `${one.unit} ${day(one.made)}`;
      groups.set(key, [...groups.get(key) ?? [], one]);
    }
    return [...groups.values()].sort((a, b) => Number(!of.lineOf(a[0].unit)) - Number(!of.lineOf(b[0].unit)));
  }

  /** The counts of some sittings, the same one only once; those of parts that are pinned here come first. @param {any[]} sittings @returns {{sitting: any, r: any}[]} */
  function each(sittings) {
    /** @type {Map<string, {sitting: any, r: any}>} */
    const found = new Map();
    for (const sitting of sittings) for (const r of sitting.readings) if (r.part !== sitting.unit) found.set(`${r.place ?? r.part} ${r.value}`, { sitting, r });
    return [...found.values()].sort((a, b) => Number(!of.lineOf(a.r.part)) - Number(!of.lineOf(b.r.part)));
  }

  /** @param {any} count */
  function laid(count) {
    close();
    of.lay({ ...count, text: readingText(count, 'sight') });
    if (!of.lineOf(count.part)) stage.tell(w.counts_part(count.name));
  }

  function offForm() {
    const told = of.figures().now;
    return html`<form class="stack" @submit=${useOff}><p class="sub">${w.off_why}</p>
      <label class="field">${w.off_field}<input type="text" name="off" autocomplete="off" inputmode="decimal" placeholder=${w.off_example} .value=${typed} @input=${(/** @type {Event} */ event) => { typed = /** @type {HTMLInputElement} */ (event.target).value; wrong = ''; }} aria-describedby="off-wrong"></label>
      <p id="off-wrong" class="wrong" role="alert">${wrong}</p>
      ${me.off.mm !== null && told ? html`<p>${told.off_share === null ? w.off_unknown : told.off_share < 0 ? w.off_behind(-told.off_share) : w.off_share(told.off_share)}</p>` : nothing}
      <div class="pair"><button class="btn" type="button" @click=${() => { typed = ''; of.setOff('', null); off.close(); }}>${w.off_none}</button><button class="btn go">${w.off_use}</button></div></form>`;
  }

  /** @param {SubmitEvent} event */
  async function useOff(event) {
    event.preventDefault();
    const text = typed.trim();
    if (!text) { of.setOff('', null); off.close(); return; }
    try {
      const { mm } = await ask('engine', { method: 'parse-length', request: { text, unit: of.seen().settings.unit } });
      of.setOff(/[a-z]/i.test(text) ? text : `${text} ${of.seen().settings.unit}`, mm);
      off.close();
    } catch (error) { wrong = lengthTrouble(error); stage.draw(); }
  }

  return {
    parts: () => parts.open(), counts: () => counts.open(), off() { typed = me.off.text; wrong = ''; off.open(); },
    /** @param {string} id */
    reading(id) { reading = id; one.open(); },
    close,
    /** On a wide screen the list stands beside the picture. */
    aside: list,
    view: () => all.map((sheet) => sheet.view()),
  };
}
