// The parts of an animal: their names, order, which way they are measured, what is nailed down, and the places along them.
import { html, nothing } from '../lib/lit-html.js';
import { ask } from '../ask.js';
import { icon } from '../icons.js';
import { cap, say, sentence, words } from '../words.js';
import '../words-more.js';

const w = words.parts;

/**
 * @typedef {{id: string, name: string, axis: 'length' | 'width', order: number, nailed: boolean, n: number, views: string[]}} Part
 * @typedef {{id: string, name: string, part: string, from: string}} Place
 * @typedef {{id: string, name: string, animal: string, unit: string | null, parts: Part[], places: Place[]}} Seen
 */

/** @param {import('../app.js').Stage} stage @returns {import('../app.js').Screen} */
export function open(stage) {
  const [id] = stage.path;
  /** @type {Seen} */
  let seen;
  /** @type {{name: string, axis: 'length' | 'width', view: string}[]} */
  let suggested = [];
  let opened = '';
  let own = { name: '', axis: /** @type {'length' | 'width'} */ ('length') };
  let place = { name: '', from: '' };
  let wrong = '';

  async function load() {
    seen = await ask('view', { name: 'project', id });
    suggested = (await ask('view', { name: 'suggestions', animal: seen.animal })).parts;
  }

  /** @param {() => Promise<unknown>} act */
  const run = async (act) => { try { await act(); return true; } catch (error) { stage.trouble(error); return false; } };
  const put = (/** @type {Part} */ part, /** @type {string} */ field, /** @type {unknown} */ value) => run(() => ask('set', { kind: 'part', id: part.id, field, value }));
  const value = (/** @type {Event} */ event) => /** @type {HTMLInputElement} */ (event.target).value;

  /** Changes places with the neighbour; where two have the same number, all are numbered afresh. @param {Part} part @param {'up' | 'down'} way */
  async function move(part, way) {
    const order = [...seen.parts];
    const from = order.indexOf(part);
    const to = way === 'up' ? order.findLastIndex((_, at) => at < from) : order.findIndex((_, at) => at > from);
    if (to < 0) return;
    const other = order[to];
    if (other.order !== part.order && new Set(order.map((one) => one.order)).size === order.length) {
      if (!(await put(part, 'order', other.order) && await put(other, 'order', part.order))) return;
    } else {
      [order[from], order[to]] = [other, part];
      for (const [at, one] of order.entries()) if (one.order !== at && !await put(one, 'order', at)) return;
    }
    say(w.moved(part.name, [...order.keys()].slice(0, to).length));
  }

  /** @param {Part} part */
  const binPart = (part) => run(async () => {
    await ask('bin', { kind: 'part', id: part.id, binned: true });
    opened = '';
    stage.tell(w.binned(part.name), { text: words.undo, run: () => { run(() => ask('bin', { kind: 'part', id: part.id, binned: false })); } });
  });

  /** @param {Place} one */
  const binPlace = (one) => run(async () => {
    await ask('bin', { kind: 'place', id: one.id, binned: true });
    stage.tell(w.binned(one.name), { text: words.undo, run: () => { run(() => ask('bin', { kind: 'place', id: one.id, binned: false })); } });
  });

  /** @param {{name: string, axis: 'length' | 'width'}} part */
  async function add(part) {
    try {
      await ask('addParts', { project: id, parts: [{ name: part.name, axis: part.axis }] });
      stage.tell(w.added(cap(part.name)));
      return true;
    } catch (error) { wrong = sentence(error); stage.draw(); return false; }
  }

  /** @param {Event} event */
  async function addOwn(event) {
    event.preventDefault();
    if (await add({ ...own, name: own.name.trim() })) own = { name: '', axis: own.axis };
    stage.draw();
  }

  /** @param {Event} event @param {Part} part */
  async function addPlace(event, part) {
    event.preventDefault();
    if (await run(() => ask('addPlace', { project: id, part: part.id, name: place.name.trim(), from: place.from.trim() }))) place = { name: '', from: '' };
    stage.draw();
  }

  function view() {
    const names = seen.parts.map((part) => part.name.toLowerCase());
    const left = suggested.filter((part) => !names.includes(part.name.toLowerCase()));
    return html`<div class="head"><h1 tabindex="-1">${w.title}</h1><p class="sub">${w.sub(seen.name)}</p></div>
      <div class="columns"><div class="stack">
        ${seen.parts.length ? html`<ol class="list">${seen.parts.map(row)}</ol>` : html`<div class="card stack hollow">${icon('ruler', 56)}<h2>${w.empty}</h2><p class="sub">${w.empty_hint}</p></div>`}</div>
      <section class="card stack wide-gap stick"><h2>${w.add}</h2>
        ${left.length ? html`<div role="group" aria-label=${w.suggested}><p class="sub small" aria-hidden="true">${w.suggested}</p><div class="choices">${left.map((part) => html`<button class="choice" aria-label=${w.add_label(part.name)} @click=${() => add(part)}>${icon('plus', 16)}<span>${part.name}</span></button>`)}</div></div>` : html`<p class="sub">${w.none_left}</p>`}
        <form class="stack" @submit=${addOwn}><label class="field">${w.own}<input type="text" name="own" maxlength="80" autocomplete="off" autocapitalize="off" placeholder=${w.own_example} .value=${own.name} @input=${(/** @type {Event} */ event) => { own.name = value(event); wrong = ''; stage.draw(); }}></label>
          ${axes(own.axis, (axis) => { own.axis = axis; stage.draw(); })}
          <p class="wrong" role="alert">${wrong}</p>
          <button class="btn go full" type="submit" ?disabled=${!own.name.trim()}>${icon('plus', 20)}${w.add_own}</button></form></section></div>`;
  }

  /** @param {string} now @param {(axis: 'length' | 'width') => void} pick */
  const axes = (now, pick) => html`<div class="seg" role="group" aria-label=${w.axis}>${(/** @type {const} */ (['length', 'width'])).map((axis) => html`<button type="button" aria-pressed=${now === axis} @click=${() => pick(axis)}>${w.axis_names[axis]}</button>`)}</div>`;

  /** @param {Part} part */
  function row(part) {
    const shut = opened !== part.id;
    return html`<li><div class="part-row"><button class="item" aria-expanded=${shut ? 'false' : 'true'} @click=${() => { opened = shut ? part.id : ''; place = { name: '', from: '' }; stage.draw(); }}>
        <span><b>${cap(part.name)}</b>${part.id === seen.unit ? html` <span class="chip right small">${w.unit}</span>` : nothing}<br><span class="sub small">${w.about(w.axes[part.axis], part.n, part.views, part.id === seen.unit)}</span>
          ${part.nailed ? html`<br><span class="small nailed">${icon('nail', 16)}${w.nailed}</span>` : nothing}</span></button>
      <button class="btn quiet mover" aria-label=${w.up_label(part.name)} ?disabled=${part === seen.parts[0]} @click=${() => move(part, 'up')}>${icon('up', 22)}</button><button class="btn quiet mover" aria-label=${w.down_label(part.name)} ?disabled=${part === seen.parts.at(-1)} @click=${() => move(part, 'down')}>${icon('down', 22)}</button></div>
      ${shut ? nothing : editor(part)}</li>`;
  }

  /** @param {Part} part */
  function editor(part) {
    const places = seen.places.filter((one) => one.part === part.id);
    return html`<div class="card-line stack">
      <label class="field">${w.name}<input type="text" name="name" maxlength="80" autocomplete="off" autocapitalize="off" .value=${part.name} @change=${(/** @type {Event} */ event) => { put(part, 'name', value(event).trim()); }}></label>
      ${axes(part.axis, (axis) => { put(part, 'axis', axis); })}
      <label class="tick flat"><input type="checkbox" name="nailed" .checked=${part.nailed} @change=${(/** @type {Event} */ event) => { put(part, 'nailed', /** @type {HTMLInputElement} */ (event.target).checked); }}><span>${w.nail}</span></label>
      <details ?open=${places.length > 0}><summary>${w.places}</summary><p class="sub small">${w.places_hint}</p>
        ${places.length ? html`<ul class="plain">${places.map((one) => html`<li class="row"><span><b>${cap(one.name)}</b> <span class="sub small">${w.place_from(one.from)}</span></span><button class="btn end" aria-label=${w.bin_place(one.name)} @click=${() => binPlace(one)}>${icon('bin', 20)}</button></li>`)}</ul>` : nothing}
        <form class="stack place-form" @submit=${(/** @type {Event} */ event) => addPlace(event, part)}><div class="pair"><label class="field">${w.place}<input type="text" name="place" maxlength="80" autocomplete="off" autocapitalize="off" placeholder=${w.place_example} .value=${place.name} @input=${(/** @type {Event} */ event) => { place.name = value(event); stage.draw(); }}></label>
          <label class="field">${w.from}<input type="text" name="from" maxlength="80" autocomplete="off" autocapitalize="off" placeholder=${w.from_example} .value=${place.from} @input=${(/** @type {Event} */ event) => { place.from = value(event); }}></label></div>
          <button class="btn full" type="submit" ?disabled=${!place.name.trim()}>${icon('plus', 20)}${w.add_place}</button></form></details>
      <button class="btn danger full" @click=${() => binPart(part)}>${icon('bin', 20)}${w.bin}</button></div>`;
  }

  return { title: w.title, get back() { return { href: `#/project/${id}`, text: seen?.name ?? words.back }; }, load, view };
}
