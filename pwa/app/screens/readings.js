// Every sitting and reading of an animal or a piece; struck out and put back here, and which disagree.
import { html, nothing } from '../lib/lit-html.js';
import { ask } from '../ask.js';
import { fromValue } from '../count.js';
import { icon } from '../icons.js';
import { cap, day, fraction, num, words } from '../words.js';
import '../words-more.js';

const w = words.readings;

/**
 * @typedef {{id: string, part: string, name: string, place: string | null, place_name: string, value: number, denominator: number | null, typed: string | null, text: string | null, struck: boolean, mark: boolean, replaced: boolean, disagrees: number | null}} Reading
 * @typedef {{id: string, method: string, view: string | null, made: string, unit: string | null, unit_name: string, picture: {id: string, name: string, binned: boolean} | null, struck: boolean, covered: boolean, readings: Reading[]}} Sitting
 */

/** @param {import('../app.js').Stage} stage @returns {import('../app.js').Screen} */
export function open(stage) {
  const [project] = stage.path;
  const of = stage.query.get('of') ?? 'subject';
  /** @type {{project: {id: string, name: string}, piece: {id: string, name: string} | null, pieces: {id: string, name: string}[], sittings: Sitting[], trouble: unknown}} */
  let seen;

  async function load() { seen = await ask('view', { name: 'readings', project, of }); }

  /** @param {'sitting' | 'reading'} kind @param {string} id @param {boolean} struck @param {string} name */
  async function strike(kind, id, struck, name) {
    try {
      await ask('strike', { kind, id, struck });
      stage.tell(struck ? w.done(name) : w.back(name), { text: words.undo, run: () => { ask('strike', { kind, id, struck: !struck }).catch(stage.trouble); } });
    } catch (error) { stage.trouble(error); }
  }

  /** The value as it was entered. @param {Reading} reading @param {Sitting} sitting */
  function shown(reading, sitting) {
    if (reading.mark) return w.unit;
    if (reading.typed) return reading.typed;
    if (sitting.method === 'ruler') return w.mm(num(reading.value, 1));
    if (sitting.method === 'marks') return w.on_glass(num(reading.value, 1));
    if (sitting.method === 'photo') return reading.text ?? w.on_picture(num(reading.value, 0));
    const { whole, part, of: steps } = fromValue(reading.value, reading.denominator);
    const rest = fraction(part, steps);
    return steps > 8 ? num(reading.value, 2) : whole || !rest ? `${whole}${rest}` : rest;
  }

  const title = (/** @type {Reading} */ reading) => (reading.place ? w.place(reading.place_name, reading.name) : reading.name);
  const home = () => (of === 'subject' ? `#/project/${project}` : `#/piece/${project}/${of}`);

  function view() {
    const off = seen.sittings.flatMap((sitting) => sitting.readings.filter((reading) => reading.disagrees && !reading.struck && !sitting.struck));
    return html`<div class="head"><h1 tabindex="-1">${w.title}</h1><p class="sub">${w.sub}</p></div>
      <div class="stack">
        ${seen.pieces.length ? html`<label class="field narrow">${w.whose}<select name="of" @change=${(/** @type {Event} */ event) => { location.hash = `#/readings/${project}?of=${/** @type {HTMLSelectElement} */ (event.target).value}`; }}>
          <option value="subject" ?selected=${of === 'subject'}>${seen.project.name}, ${w.animal}</option>${seen.pieces.map((piece) => html`<option value=${piece.id} ?selected=${of === piece.id}>${piece.name}</option>`)}</select></label>` : nothing}
        ${off.length ? html`<p class="card look narrow">${w.off(off.length)}</p>` : nothing}
        ${seen.trouble ? html`<p class="card look narrow">${w.quiet}</p>` : nothing}
        ${seen.sittings.length ? html`<div class="stack two">${seen.sittings.map(card)}</div>` : empty()}
      </div>`;
  }

  function empty() {
    return html`<div class="card stack hollow narrow">${icon('needle', 56)}<h2>${w.empty}</h2><p class="sub">${of === 'subject' ? w.empty_hint : w.empty_piece_hint}</p>
      <a class="btn go full" href=${`#/count?project=${project}&of=${of}`}>${icon('needle')}${w.count}</a></div>`;
  }

  /** @param {Sitting} sitting */
  function card(sitting) {
    const name = w.methods[sitting.method] ?? sitting.method;
    return html`<section class="card flush"><div class="card-title"><h2 class=${sitting.struck ? 'struck-out' : ''}>${name}</h2><p class="sub small">${w.about(sitting.unit_name, sitting.view, day(sitting.made))}${sitting.picture && !sitting.picture.binned ? html` · <a href=${`#/photo/${sitting.picture.id}`}>${sitting.picture.name || w.picture}</a>` : nothing}</p>
        ${sitting.struck ? html`<p>${w.struck_all}</p>` : sitting.covered ? html`<p class="sub small">${w.covered}</p>` : nothing}</div>
      <ul class="list">${sitting.readings.map((reading) => row(reading, sitting))}</ul>
      <div class="card-line"><button class="text" @click=${() => strike('sitting', sitting.id, !sitting.struck, name)}>${sitting.struck ? w.back_all : w.strike_all}</button></div></section>`;
  }

  /** @param {Reading} reading @param {Sitting} sitting */
  function row(reading, sitting) {
    const text = shown(reading, sitting);
    const dead = reading.struck || sitting.struck;
    return html`<li><div class=${dead ? 'item still struck-out' : 'item still'}>
        <span><span>${cap(title(reading))}</span><br><b class="reading-value">${text}</b>
          ${reading.struck ? html`<br><span class="sub small">${w.struck}</span>` : reading.replaced && !dead ? html`<br><span class="sub small">${w.replaced}</span>` : nothing}</span>
        ${sitting.struck ? nothing : html`<button class="btn end" aria-label=${reading.struck ? w.back_label(title(reading), text) : w.strike_label(title(reading), text)} @click=${() => strike('reading', reading.id, !reading.struck, title(reading))}>${icon(reading.struck ? 'undo' : 'strike', 20)}${reading.struck ? words.put_back : w.strike}</button>`}</div>
      ${reading.disagrees && !dead ? html`<p class="disagrees">${icon('look', 20)}<span>${w.disagrees(reading.disagrees)}</span></p>` : nothing}</li>`;
  }

  return { title: w.title, get back() { return { href: home(), text: (of === 'subject' ? seen?.project.name : seen?.piece?.name) ?? words.back }; }, load, view };
}
