// How things stand between this device and home: what waits, since when, why, and what helps.
import { html, nothing } from '../lib/lit-html.js';
import { ask } from '../ask.js';
import { icon } from '../icons.js';
import { wayPicture } from '../draw/way.js';
import { onWay, shortWay, way } from '../way.js';
import { ago, cap, sentence, words } from '../words.js';
import '../words-more.js';
import { sheet } from './sheet.js';

const w = words.way;

/** @param {import('../app.js').Stage} stage @returns {import('../app.js').Screen} */
export function open(stage) {
  /** @type {any} */
  let seen = null;
  let trying = false;
  const forget = sheet(stage, 'forget', () => w.forget_title, forgetForm);
  const off = onWay(() => { seen = way(); stage.draw(); });

  async function load() { seen = await ask('view', { name: 'home' }); }

  async function tryNow() {
    trying = true;
    stage.draw();
    try { await ask('tryNow', {}); } catch (error) { stage.trouble(error); }
    setTimeout(() => { trying = false; stage.draw(); }, 1500); // an answer that comes at once is not seen to come
  }

  async function forgetIt() {
    forget.close();
    try { await ask('unpair', {}); stage.tell(w.forgotten); await load(); } catch (error) { stage.trouble(error); }
    stage.draw();
  }

  function view() {
    return html`<div class="head"><h1 tabindex="-1">${w.title}</h1><p class="sub">${seen.paired ? w.sub(seen.name) : w.sub_none}</p></div>
      <div class="columns">${seen.paired ? html`<div class="stack">${state()}${seen.again ? html`<div class="card look"><p>${w.restored}</p></div>` : nothing}${refused()}</div>
        <div class="stack">${facts()}${ways()}${help()}</div>` : html`<div class="stack">${gives()}</div><div class="stack">${begin()}</div>`}</div>${forget.view()}`;
  }

  function state() {
    const share = seen.state === 'bringing' || seen.state === 'fetching' ? seen.share : null;
    const why = seen.why ? w.why[seen.why] ?? sentence({ code: seen.why }) : '';
    const calm = seen.state === 'home' || seen.state === 'bringing' || seen.state === 'fetching';
    return html`<section class=${`card stack hero way-card ${seen.state === 'stopped' ? 'bad' : ''}`}>${wayPicture(seen.state, w.drawing(shortWay(seen)))}
      <h2 data-testid="state">${w.states[/** @type {'home'} */ (seen.state)]}</h2>
      ${seen.changes + seen.pictures > 0 ? html`<p class="big">${w.waits(seen.changes, seen.pictures)}</p>` : nothing}
      ${share === null ? nothing : html`<progress max="1" .value=${share} aria-label=${shortWay(seen)}></progress>`}
      ${why ? html`<p>${why}</p>` : nothing}<p class="sub">${w.explains[/** @type {'home'} */ (seen.state)] ?? ''}</p>
      ${needsPairing() ? html`<a class="btn go full" href="#/pair">${words.pairing.anew}</a>` : calm ? nothing : html`<button class="btn go full" data-testid="try-now" ?disabled=${trying} @click=${tryNow}>${icon('again', 20)}${trying ? w.trying : w.try_now}</button>`}</section>`;
  }

  const needsPairing = () => seen.why === 'wire-struck' || seen.why === 'not-paired' || seen.struck;

  function facts() {
    return html`<section class="card"><dl class="facts">
      <dt>${w.heard}</dt><dd>${seen.since ? ago(seen.since) : w.never}</dd>
      <dt>${w.to_bring}</dt><dd>${w.waits(seen.changes, seen.pictures) || w.nothing}</dd>
      ${seen.fetch ? html`<dt>${w.to_fetch}</dt><dd>${w.waits(seen.fetch, 0)}</dd>` : nothing}
      ${seen.next_try_s != null && !needsPairing() && seen.state !== 'home' ? html`<dt>${w.next_try}</dt><dd>${w.in_s(seen.next_try_s)}</dd>` : nothing}
      ${seen.room ? html`<dt>${w.room}</dt><dd>${w.room_facts(seen.room.thumbs, seen.room.full)}</dd>` : nothing}</dl></section>`;
  }

  function ways() {
    return html`<ul class="list"><li><a class="item" href="#/devices">${icon('hand')}<b>${w.devices}</b></a></li>
      <li><a class="item" href="#/files">${icon('file')}<b>${words.settings.files}</b></a></li>
      <li><button class="item" @click=${forget.open}>${icon('close')}<b>${w.forget}</b></button></li></ul>`;
  }

  function help() {
    return html`<details class="card" ?open=${seen.why === 'not-found'}><summary>${w.help}</summary><ol class="counted">${w.help_steps.map((step) => html`<li>${step}</li>`)}</ol></details>`;
  }

  function refused() {
    if (!seen.refused?.length) return nothing;
    return html`<section class="card look"><h2>${w.refused(seen.refused.length)}</h2><p>${w.refused_hint}</p>
      <ul>${seen.refused.slice(0, 20).map((/** @type {any} */ one) => html`<li><a class="text" href=${`#/history/${one.kind}/${one.id}`}>${cap(words.project.fields[one.field] ?? one.field)}: ${w.history}</a></li>`)}</ul></section>`;
  }

  function gives() {
    return html`<section class="card stack hero way-card">${wayPicture('none', w.drawing(w.short.none))}<h2>${w.gives}</h2><ul class="dashes">${w.gives_list.map((one) => html`<li>${one}</li>`)}</ul></section>`;
  }

  function begin() {
    return html`<section class="card stack"><h2>${w.begin}</h2><ol class="counted">${w.begin_steps.map((step) => html`<li>${step}</li>`)}</ol>
      <a class="btn go full" href="#/pair">${w.pair}</a><a class="btn full" href="#/files">${w.files}</a></section>`;
  }

  function forgetForm() {
    return html`<p>${w.forget_text}</p><div class="pair"><button class="btn" @click=${forget.close}>${words.cancel}</button><button class="btn danger" @click=${forgetIt}>${w.forget_yes}</button></div>`;
  }

  return { title: w.title, back: { href: '#/settings', text: words.settings.title }, load, view, leave: off };
}
