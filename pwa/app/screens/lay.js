// The lay of one form: the flat core wool drawn to scale, how it is rolled, how much of it, and as how large a roll it begins.
import { html, nothing } from '../lib/lit-html.js';
import { ask } from '../ask.js';
import { howOf, howPicture, isFlat, isOff, layPicture, layerWeight, layersPicture, shrinkPicture, straightOff, straightPicture } from '../draw/lay.js';
import { pictureIcon } from '../draw/picture-icons.js';
import { formIcon } from '../draw/solids.js';
import { styled } from '../forms-style.js';
import { icon } from '../icons.js';
import { latest } from '../latest.js';
import { sizesText } from '../lay-sizes.js';
import { cap, num, say, sentence, tight, words } from '../words.js';
import '../words-more.js';
import '../words-forms.js';
import { sheet } from './sheet.js';
import { stepper } from './stepper.js';
import { whenWide } from './wide.js';

const w = words.lay;

/** @param {import('../app.js').Stage} stage @returns {import('../app.js').Screen} */
export function open(stage) {
  const [project, form] = stage.path;
  /** @type {any} */
  let seen = null;
  let wrong = '';
  let typed = '';
  const wide = whenWide(stage);
  const weighing = sheet(stage, 'layer', () => w.layer, layerForm);
  const draft = `lay:${form}`;

  async function load() { [seen] = await Promise.all([ask('view', { name: 'lay', form }), styled]); }

  /** @param {number | null} layers */
  const relay = latest(async (/** @type {number | null} */ layers) => {
    try {
      await ask('draft', { key: draft, value: layers === null ? null : { layers } });
      await load();
      say(w.layers_label(seen.lay.layers, seen.texts.thickness));
    } catch (error) { stage.trouble(error); }
    stage.draw();
  });

  const shape = () => words.shapes[seen.form.kind];
  const round = () => !['block', 'ear'].includes(seen.form.kind);

  /** A form in a line: a cone, 62 mm long, 17 mm at the root. */
  function line() {
    const known = seen.form.sizes.filter((/** @type {any} */ size) => size.text);
    return w.line(shape(), known.map((/** @type {any} */ size) => sized(size.name, tight(size.text))));
  }

  /** @param {string} name  @param {string} text */
  function sized(name, text) {
    const { kind } = seen.form;
    if (name === 'width' && ['cone', 'frustum'].includes(kind)) return w.at_root(text);
    if (name === 'width' && ['ball', 'disc', 'ring'].includes(kind)) return w.across(text);
    if (name === 'width' && ['block', 'ear', 'egg'].includes(kind)) return w.wide(text);
    return w.size_words[name](text);
  }

  function view() {
    return html`<div class="head"><h1 tabindex="-1">${cap(seen.form.name)}</h1><p class="sub">${line()}</p></div>
      ${seen.lay ? html`<div class="columns lay-screen"><div class="stack lay-left">${drawing()}${figures()}</div><div class="stack">${how()}${straight()}${layers()}${links()}</div></div>${foot()}` : html`<div class="stack narrow">${missing()}</div>`}${weighing.view()}`;
  }

  /** What is missing, and what to do about it. */
  function missing() {
    const lacking = seen.form.sizes.filter((/** @type {any} */ size) => size.missing).map((/** @type {any} */ size) => words.sizes[size.name].toLowerCase());
    const profile = seen.form.kind === 'turned' && !seen.form.shape;
    if (seen.trouble) return html`<section class="card bad stack"><h2>${w.cannot}</h2><p role="alert">${sentence(seen.trouble)}</p>${toForm()}</section>`;
    if (lacking.length || profile) return html`<section class="card look stack"><h2>${w.missing}</h2><p>${profile ? w.missing_profile : w.missing_hint(lacking.join(', '))}</p>${toForm()}</section>`;
    return html`<section class="card look stack"><h2>${w.no_grams}</h2><p>${w.no_grams_hint}</p>${toForm()}</section>`;
  }

  const toForm = () => html`<a class="btn go full" href=${`#/form/${project}/${form}`}>${w.to_form}</a>`;

  function drawing() {
    const [piece] = seen.lay.pieces;
    const { length, width } = seen.texts.pieces[0];
    return html`<section class="card lay-card"><div class="lay-title"><h2>${piece.count > 1 && !isFlat(piece) ? w.twice : w.how}</h2>${seen.form.count > 1 ? html`<p class="sub small">${w.one_of(seen.form.count)}</p>` : nothing}</div>
      ${layPicture({ piece, layers: seen.lay.layers, width: wide.now ? 620 : 344, most: wide.now ? 560 : 356, label: w.picture(seen.form.name, w.kinds[piece.name], length, width, !isFlat(piece)), texts: { length: tight(length), width: tight(width) }, words: w })}
      <p class="sub small">${w.edges[stepsOf()]}</p></section>`;
  }

  /** Which of the ways to go on it is. */
  const stepsOf = () => (seen.form.kind === 'ball' ? 'ball' : seen.form.kind === 'ring' ? 'ring' : round() ? 'rolled' : 'flat');

  function figures() {
    const [rolled, felted] = [sizesText(seen.texts.sizes, 'rolled'), sizesText(seen.texts.sizes, 'felted')];
    return html`<div class="forms-total lay-figures"><div class="card figure"><span class="sub">${w.grams}</span><span class="big" data-testid="core">${seen.core_text}</span><span class="sub small">${seen.form.count > 1 ? w.each : ''}</span></div>
      <div class="card figure"><span class="sub">${round() ? w.rolled : w.rolled_flat}</span><span class="big" data-testid="rolled">${rolled.text}</span><span class="sub small">${w.felted(rolled.unit, felted.unit === rolled.unit ? felted.text : `${felted.text} ${felted.unit}`.trim())}</span></div></div>
      ${notes()}
      <section class="card lay-start">${seen.start ? shrinkPicture({ start: seen.start.side_mm, felted: seen.form.side_mm, width: 132, most: 92, label: w.shrink(seen.form.name) }) : nothing}<p class="sub small">${w.factor(seen.factor.mean, seen.factor.n)}</p></section>`;
  }

  const notes = () => seen.lay.notes.filter((/** @type {any} */ note) => !['cross', 'bend'].includes(note.code)).map((/** @type {any} */ note) => html`<p class=${note.code.endsWith('-core') || note.code === 'thinner-than' ? 'card look reminder' : 'card reminder'}>${icon('look', 20)}<span>${w.notes[note.code] ?? note.text}</span></p>`);

  function how() {
    const steps = w.steps[stepsOf()];
    return html`<section class="card"><ol class="lay-steps">${steps.map(([name, text]) => html`<li>${howPicture(name)}<span>${text}</span></li>`)}</ol></section>`;
  }

  /** What straight edges would give instead. */
  function straight() {
    const [piece] = seen.lay.pieces;
    if (!piece.straight) return nothing;
    const off = isOff(straightOff(piece, seen.share_mm));
    if (!off) return html`<section class="card"><h2>${w.straight_near}</h2><p class="sub">${w.straight_near_hint}</p></section>`;
    const gives = w.gives[seen.form.kind] ?? w.gives.turned;
    return html`<section class="card stack"><h2>${w.straight}</h2>
      ${straightPicture({ start: seen.start.side_mm, straight: piece.straight.gives_profile_mm, width: 344, most: 150, label: w.straight_picture(w.shape(shape()), gives), words: { curved: w.curved_gives, straight: w.straight_gives } })}
      <p>${w.straight_hint(gives, seen.form.kind === 'turned' ? w.yours : w.shape(shape()))}</p></section>`;
  }

  function layers() {
    const { lay, texts } = seen;
    const n = lay.layers;
    return html`<section class="card stack lay-layers-card">${stepper({ id: 'layers', name: w.layers, hint: w.layers_hint(tight(together())), text: num(n, 0), less: () => relay(n - 1), more: () => relay(n + 1), least: n <= 1, most: n >= seen.layers.most, labels: { less: w.fewer, more: w.more } })}
      ${layersPicture(n, tight(together()), w.layers_label(n, together()))}
      <p class="sub small">${round() ? w.even : w.even_flat} ${seen.layers.chosen ? html`<button class="text inline" @click=${() => relay(null)}>${w.usual}</button>` : nothing}</p>
      <div class="lay-weight"><p class="sub small">${seen.wool && seen.layer_g_m2 ? html`<b>${w.layer}:</b> ${w.layer_known(num(seen.layer_g_m2, 0), seen.wool.name)}` : seen.wool ? html`<b>${w.layer}:</b> ${w.layer_guess}` : html`${w.layer_guess} ${w.no_wool}`}</p>
        ${seen.wool ? html`<button class="btn" data-testid="weigh-layer" @click=${() => { wrong = ''; typed = ''; weighing.open(); }}>${formIcon('scales', 22)}${w.layer_weigh}</button>` : html`<a class="btn" href="#/bag">${formIcon('bag', 22)}${w.to_bag}</a>`}</div></section>`;
  }

  const together = () => seen.texts.together;

  function layerForm() {
    return html`<form class="stack" @submit=${(/** @type {SubmitEvent} */ event) => { event.preventDefault(); keepLayer(); }}><p>${w.layer_how}</p>
      <label class="field">${w.layer_field}<input type="text" inputmode="decimal" name="grams" maxlength="8" autocomplete="off" placeholder=${w.layer_example} .value=${typed} @input=${(/** @type {Event} */ event) => { typed = /** @type {HTMLInputElement} */ (event.target).value; wrong = ''; stage.draw(); }}></label>
      <p class=${wrong ? 'wrong' : 'sub'} role="status">${wrong || (weight() ? w.layer_gives(num(weight() ?? 0, 0)) : '')}</p><button class="btn go full">${w.layer_keep}</button></form>`;
  }

  /** Of ten squares; null where what was typed cannot be. */
  function weight() {
    const grams = Number(typed.trim().replace(',', '.'));
    return typed.trim() && grams >= 0.5 && grams <= 200 ? layerWeight(grams, 10) : null;
  }

  async function keepLayer() {
    const value = weight();
    if (value === null) { wrong = w.layer_wrong; stage.draw(); return; }
    try {
      await ask('set', { kind: 'wool', id: seen.wool.id, field: 'layer_g_m2', value });
      weighing.close();
    } catch (error) { wrong = sentence(error); stage.draw(); }
  }

  function links() {
    return html`<ul class="list"><li><a class="item" href=${`#/print/${project}?form=${form}`}>${pictureIcon('print', 22)}<b>${w.print}</b></a></li><li><a class="item" href=${`#/form/${project}/${form}`}>${formIcon('forms', 22)}<b>${w.form}</b></a></li><li><a class="item" href=${`#/order/${project}`}>${formIcon('order', 22)}<b>${w.order}</b></a></li></ul>`;
  }

  function foot() {
    return html`<div class="foot pair"><a class="btn" data-testid="glass" href=${`#/glass/${project}?form=${form}`}>${pictureIcon('glass', 22)}${w.glass}</a><a class="btn go" data-testid="weigh" href=${`#/weigh/${project}/${form}`}>${w.weigh}</a></div>`;
  }

  return { get title() { return seen ? `${cap(seen.form.name)}, ${w.title.toLowerCase()}` : w.title; }, get back() { return { href: `#/forms/${project}`, text: seen ? w.back(seen.project.name) : words.back }; }, load, view, leave: wide.leave };
}
