// How a needle is held up as a sight rule, what three slips cost, and the cautions.
import { html, nothing } from '../lib/lit-html.js';
import { ask } from '../ask.js';
import { armSlip, depthSlip, holdPicture, stancePicture, tiltSlip } from '../draw/hold.js';
import { words } from '../words.js';

const w = words.care;

/** @typedef {[number, string]} Choice  a figure in the engine's unit, and how it is said */

/** @param {import('../app.js').Stage} stage @returns {import('../app.js').Screen} */
export function open(stage) {
  const asked = stage.query.get('back');
  const from = asked?.startsWith('#/') ? asked : null;
  let arm_mm = 600;
  let hand = 'right';
  let cautioned = true;
  let choices = w.choices.metric;
  let slip = { arm: 1, tilt: 1, depth: 0 };
  /** @type {{arm: number, tilt: number, depth: number} | null} */
  let errors = null;
  let turn = 0;
  let loaded = false;

  async function load() {
    const settings = await ask('settings', {});
    arm_mm = settings.arm_mm;
    choices = settings.unit === 'in' ? w.choices.inches : w.choices.metric;
    if (!loaded) { hand = settings.hand; cautioned = settings.cautioned; }
    loaded = true;
    advise();
  }

  /** The figures come from the engine when it is there; the picture does not wait for them. */
  async function advise() {
    const mine = ++turn;
    const request = { arm_mm, arm_off_mm: off()[0], tilt_rad: tilt()[0], nearer_mm: choices.nearer[0], distance_mm: distance()[0] };
    try {
      const answer = await ask('engine', { method: 'sight-advice', request });
      if (mine !== turn) return;
      errors = answer;
      stage.draw();
    } catch (error) { stage.trouble(error); }
  }

  const off = () => /** @type {Choice} */ (choices.arm[slip.arm]);
  const tilt = () => /** @type {Choice} */ (w.choices.tilt[slip.tilt]);
  const distance = () => /** @type {Choice} */ (choices.distance[slip.depth]);
  const nearer = () => /** @type {Choice} */ (choices.nearer);

  /** @param {'arm' | 'tilt' | 'depth'} which @param {number} at */
  function pick(which, at) {
    slip = { ...slip, [which]: at };
    errors = null;
    stage.draw();
    advise();
  }

  async function understood() {
    try { await ask('setting', { name: 'cautioned', value: true }); } catch (error) { stage.trouble(error); return; }
    goBack();
  }

  /** To where one came from; a page opened by its address has nothing behind it. */
  function goBack() {
    if (!from) location.hash = '#/settings';
    else if (history.length > 1) history.back();
    else location.replace(from);
  }

  function view() {
    const left = hand === 'left';
    return html`<div class="head"><h1 tabindex="-1">${w.title}</h1><p class="sub">${w.sub}</p></div>
      <div class="columns"><div class="stack">
        <section class="card stack"><h2>${w.how}</h2>
          ${holdPicture(left, w.hold_label)}${steps(w.steps.slice(0, 3), 1)}
          ${stancePicture(left, w.stance_label)}${steps(w.steps.slice(3), 4)}
          <p class="row"><span class="sub small">${w.hand(hand)}</span><button class="text end" @click=${() => { hand = left ? 'right' : 'left'; stage.draw(); }}>${w.other_hand}</button></p>
        </section></div>
        <div class="stack">${cautions()}${slips()}</div></div>
      <div class="foot narrow"><button class="btn go full" data-testid="understood" @click=${cautioned ? goBack : understood}>${cautioned ? (from ? w.back : words.done) : w.understood}</button></div>`;
  }

  /** @param {string[]} texts @param {number} start */
  const steps = (texts, start) => html`<ol class="numbered" start=${start}>${texts.map((text, nth) => html`<li><b aria-hidden="true">${[1, 2, 3, 4, 5, 6].at(start - 1 + nth)}</b><span>${text}</span></li>`)}</ol>`;

  function slips() {
    return html`<section class="card stack wide-gap"><div><h2>${w.slips}</h2><p class="sub">${w.slips_sub}</p></div>
      ${oneSlip('arm', w.arm, w.arm_choices, choices.arm, armSlip(arm_mm, off()[0], w.arm_label(off()[1])), errors && w.arm_says(off()[1], w.off(errors.arm)))}
      ${oneSlip('tilt', w.tilt, w.tilt_choices, w.choices.tilt, tiltSlip(tilt()[0], w.tilt_label(tilt()[1])), errors && w.tilt_says(tilt()[1], w.off(errors.tilt)))}
      ${oneSlip('depth', w.depth, w.depth_choices, choices.distance, depthSlip(distance()[0], nearer()[0], w.depth_label(distance()[1])), errors && w.depth_says(nearer()[1], distance()[1], w.off(errors.depth)))}
    </section>`;
  }

  /** @param {'arm' | 'tilt' | 'depth'} which @param {string} title @param {string} label @param {(number | string)[][]} list @param {unknown} picture @param {string | null} says */
  function oneSlip(which, title, label, list, picture, says) {
    return html`<div class="stack"><h3>${title}</h3>${picture}
      <div class="seg" role="group" aria-label=${label}>${list.map((one, at) => html`<button aria-pressed=${slip[which] === at} @click=${() => pick(which, at)}>${one[1]}</button>`)}</div>
      <p class="slip-says" aria-live="polite">${says ?? html`<span class="sub">${w.working}</span>`}</p></div>`;
  }

  function cautions() {
    return html`<section class="card stack look"><h2>${w.cautions}</h2>
      ${w.lists.map((list) => html`<div><h3>${list.title}</h3><ul class="dots">${list.points.map((point) => html`<li>${point}</li>`)}</ul></div>`)}
      <p><b>${w.first}</b></p></section>`;
  }

  return { title: w.title, back: from ? undefined : { href: '#/settings', text: w.settings }, entry: Boolean(from), load, view, leave() { turn += 1; } };
}
