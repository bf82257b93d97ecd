// The wire inside a piece: what to cut, how thick, how it runs and where it stops.
import { html, nothing } from '../lib/lit-html.js';
import { ask } from '../ask.js';
import { wireCut, wireInside } from '../draw/wire.js';
import { styled } from '../forms-style.js';
import { icon } from '../icons.js';
import { cap, listed, sentence, words } from '../words.js';
import '../words-more.js';
import '../words-forms.js';
import { whenWide } from './wide.js';

const w = words.wire;
const f = words.forms;

/** @param {import('../app.js').Stage} stage @returns {import('../app.js').Screen} */
export function open(stage) {
  const [id] = stage.path;
  /** @type {any} */
  let seen = null;
  /** @type {any} */
  let animal = null;
  const wide = whenWide(stage);

  async function load() { [seen, animal] = await Promise.all([ask('view', { name: 'wire', project: id }), ask('view', { name: 'forms', project: id }), styled]); }

  function view() {
    return html`<div class="head"><h1 tabindex="-1">${w.title}</h1><p class="sub">${w.sub(seen.name)}</p></div>
      ${seen.trouble ? html`<p class="card bad" role="alert">${sentence(seen.trouble)}</p>` : seen.wires.length ? full() : none()}`;
  }

  const none = () => html`<div class="card stack hollow"><h2>${w.none}</h2><p class="sub">${w.none_hint}</p>${tooShort()}<a class="btn go full" href=${`#/forms/${id}`}>${w.to_forms}</a></div>`;

  function full() {
    return html`<div class="columns wire-screen"><div class="stack">${picture()}
        <div class="forms-total"><div class="card figure"><span class="sub">${w.total}</span><span class="big" data-testid="wire-total">${seen.total_text}</span></div>
          <div class="card figure"><span class="sub">${w.gauge}</span><span class="big">${w.awg(seen.gauge_awg)}</span><span class="sub small">${w.mm(seen.gauge_mm)}</span></div></div>
        <p class="card look wire-scale">${icon('look', 20)}<span>${w.swg}</span></p></div>
      <div class="stack"><section class="card flush"><h2 class="card-title">${w.cut}</h2><ul>${seen.wires.map(row)}</ul><p class="card-line sub small">${w.short}</p>${tooShort()}</section>
        <section class="card stack"><h2>${w.steps_title}</h2><ol class="numbered">${w.steps.map((text, nth) => html`<li><b aria-hidden="true">${nth + 1}</b><span>${text}</span></li>`)}</ol></section>
        <section class="card look"><h2>${w.care}</h2><ul class="dashes">${w.cautions.map((text) => html`<li>${text}</li>`)}</ul></section></div></div>`;
  }

  function picture() {
    const placed = animal.forms.filter((/** @type {any} */ form) => form.place && form.side_mm.length);
    if (!placed.length) return nothing;
    const bar = (/** @type {number} */ mm) => (seen.settings.unit === 'in' ? f.bar_inch(mm) : f.bar(mm));
    const away = animal.forms.filter((/** @type {any} */ form) => !form.place && seen.wires.some((/** @type {any} */ wire) => wire.name === form.name)).length;
    return html`<div class="card flush">${wireInside({ animal, forms: placed, wires: seen.wires, width: wide.now ? 600 : 362, most: wide.now ? 420 : 280, label: w.picture(seen.name), bar })}${away ? html`<p class="card-line sub small">${w.not_placed(away)}</p>` : nothing}</div>`;
  }

  /** @param {any} wire */
  function row(wire) {
    const limb = seen.limbs.find((/** @type {any} */ one) => one.name === wire.name);
    const pair = limb?.count > wire.count;
    const longest = seen.wires.map((/** @type {any} */ one) => one.cut_mm).toSorted((/** @type {number} */ a, /** @type {number} */ b) => b - a)[0];
    return html`<li class="wire-row"><div class="row"><b>${cap(wire.name)}</b><span class="end size-value">${w.one(wire.count, wire.cut_text)}</span></div>${wireCut(wire.cut_mm, longest)}
      <p class="sub small">${pair ? w.pair(wire.inside_text, wire.name) : w.inside(wire.inside_text)}</p></li>`;
  }

  function tooShort() {
    const names = seen.limbs.map((/** @type {any} */ limb) => limb.name).filter((/** @type {string} */ name) => !seen.wires.some((/** @type {any} */ wire) => wire.name === name));
    return names.length ? html`<p class="card-line sub small">${w.too_short(listed([...new Set(names)]))}</p>` : nothing;
  }

  return { title: w.title, get back() { return { href: `#/forms/${id}`, text: seen ? words.form.back(seen.name) : words.back }; }, load, view, leave: wide.leave };
}
