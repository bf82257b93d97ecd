// What was measured with no animal set up, and giving it to one.
import { html, nothing } from '../lib/lit-html.js';
import { ask } from '../ask.js';
import { looseStrips } from '../draw/loose.js';
import { icon } from '../icons.js';
import { readingText } from '../shown.js';
import { cap, day, words } from '../words.js';
import '../words-more.js';
import { sheet } from './sheet.js';

const w = words.loose;
const icons = /** @type {Record<string, string>} */ ({ sight: 'needle', marks: 'marks', ruler: 'ruler' });
const FEW = 8; // animals listed before one has to search

/** @param {import('../app.js').Stage} stage @returns {import('../app.js').Screen} */
export function open(stage) {
  /** @type {any[]} */ let sittings = [];
  /** @type {{id: string, name: string}[]} */ let projects = [];
  /** What is being given: the sitting, the animal it goes to, on what, and as which parts. @type {{sitting: any, parts: {id: string, name: string}[], search: string, pad: any, of: string, as: Record<string, string>} | null} */
  let giving = null;
  /** @type {{id: string, name: string} | null} */ let renaming = null;
  let busy = false;
  const giveSheet = sheet(stage, 'give', () => w.give_title, giveForm);
  const nameSheet = sheet(stage, 'rename', () => words.entry.name, nameForm);

  async function load() { ({ sittings, projects } = await ask('view', { name: 'loose' })); }

  /** @param {() => Promise<unknown>} act */
  async function run(act) {
    if (busy) return;
    busy = true;
    stage.draw();
    try { await act(); } catch (error) { stage.trouble(error); } finally { busy = false; stage.draw(); }
  }

  const strike = (/** @type {'sitting' | 'reading'} */ kind, /** @type {string} */ id, /** @type {boolean} */ struck) => run(async () => {
    await ask('strike', { kind, id, struck });
    if (struck) stage.tell(kind === 'sitting' ? w.struck : words.pad.struck(w.reading), { text: words.undo, run: () => strike(kind, id, false) });
  });

  function view() {
    return html`<div class="head"><h1 tabindex="-1">${w.title}</h1><p class="sub">${sittings.length ? w.sub : nothing}</p></div>
      ${sittings.length ? html`<div class="loose-cards">${sittings.map(card)}</div>` : empty()}
      ${giveSheet.view()}${nameSheet.view()}`;
  }

  function empty() {
    return html`<div class="card stack narrow hollow">${icon('needle', 40)}<h2>${w.empty}</h2><p>${w.empty_hint}</p>
      <div class="pair"><a class="btn" href="#/count">${icon('needle')}${words.dock.count}</a><a class="btn" href="#/marks">${icon('marks')}${words.dock.marks}</a><a class="btn" href="#/ruler">${icon('ruler')}${words.ruler.title}</a><a class="btn" href="#/ratio">${icon('ratio')}${words.dock.ratio}</a></div></div>`;
  }

  /** @param {any} sitting */
  function card(sitting) {
    const living = sitting.readings.filter((/** @type {any} */ one) => !one.struck);
    const struck = sitting.readings.filter((/** @type {any} */ one) => one.struck);
    const text = (/** @type {any} */ one) => readingText(one, sitting.method);
    return html`<article class="card stack loose-card">
      <div class="row loose-head">${icon(icons[sitting.method] ?? 'ruler')}<h2>${w.how(sitting.method, sitting.unit_name)}</h2><span class="sub small end">${day(sitting.made)}</span></div>
      ${living.length ? looseStrips(living.map((/** @type {any} */ one) => ({ id: one.id, name: cap(one.name), value: one.value, text: text(one) })), w.strips_label) : html`<p class="sub">${w.none_left}</p>`}
      <details><summary>${w.edit}</summary><ul class="list inner">${sitting.readings.map((/** @type {any} */ one) => html`<li class="row loose-row">
        <button class="text" @click=${() => { renaming = { id: one.part, name: one.name }; nameSheet.open(); }} aria-label=${w.rename(one.name)}>${cap(one.name)}</button>
        <span class=${one.struck ? 'struck' : ''}>${text(one)}</span>
        <button class="btn end" aria-label=${one.struck ? w.restore_label(one.name) : words.pad.strike_label(one.name, text(one))} @click=${() => strike('reading', one.id, !one.struck)}>${one.struck ? words.put_back : words.pad.strike}</button></li>`)}</ul>
        <button class="text" @click=${() => strike('sitting', sitting.id, true)}>${w.strike_all}</button></details>
      ${struck.length && !living.length ? nothing : html`<button class="btn go full" data-testid="give" @click=${() => begin(sitting)}>${w.give}</button>`}
    </article>`;
  }

  function nameForm() {
    return html`<form class="stack" @submit=${(/** @type {SubmitEvent} */ event) => {
      event.preventDefault();
      const name = String(new FormData(/** @type {HTMLFormElement} */ (event.target)).get('name') ?? '');
      run(async () => { await ask('set', { kind: 'part', id: renaming?.id, field: 'name', value: name }); nameSheet.close(); });
    }}><label class="field"><span class="unseen">${words.entry.name}</span><input type="text" name="name" maxlength="80" autocomplete="off" .value=${renaming?.name ?? ''}></label>
      <button class="btn go full">${words.entry.name_use}</button></form>`;
  }

  /** @param {any} sitting */
  function begin(sitting) {
    const along = [sitting, ...sittings.filter((one) => sitting.together.includes(one.id))];
    const parts = [...new Map(along.flatMap((one) => one.parts).map((/** @type {any} */ part) => [part.id, part])).values()];
    giving = { sitting, parts, search: '', pad: null, of: 'subject', as: {} };
    giveSheet.open();
  }

  /** @param {string} project */
  const choose = (project) => run(async () => {
    if (!giving) return;
    const pad = await ask('view', { name: 'pad', project, of: 'subject' });
    const like = (/** @type {string} */ name) => pad.parts.find((/** @type {any} */ part) => w.bare(part.name) === w.bare(name))?.id ?? '';
    const onWool = giving.parts.some((part) => w.is_wool(part.name)) && pad.pieces.length;
    Object.assign(giving, { pad, of: onWool ? pad.pieces.at(-1).id : 'subject', as: Object.fromEntries(giving.parts.map((part) => [part.id, like(part.name)])) });
  });

  const startProject = (/** @type {string} */ name) => run(async () => {
    const { id } = await ask('newProject', { name, animal: 'other', parts: [] });
    projects = [{ id, name }, ...projects];
    busy = false;
    await choose(id);
  });

  function giveForm() {
    if (!giving) return nothing;
    return giving.pad ? asParts(giving) : whichAnimal(giving);
  }

  /** @param {NonNullable<typeof giving>} what */
  function whichAnimal(what) {
    const found = projects.filter((one) => one.name.toLowerCase().includes(what.search.toLowerCase()));
    return html`${projects.length > FEW ? html`<label class="field"><span class="unseen">${words.projects.search}</span><input type="search" placeholder=${words.projects.search} .value=${what.search} @input=${(/** @type {Event} */ event) => { what.search = /** @type {HTMLInputElement} */ (event.target).value; stage.draw(); }}></label>` : nothing}
      ${found.length ? html`<ul class="list inner">${found.slice(0, FEW).map((one) => html`<li><button class="item" data-testid="animal" @click=${() => choose(one.id)}><b>${one.name}</b></button></li>`)}</ul>` : nothing}
      ${found.length > FEW ? html`<p class="sub small">${w.search_more}</p>` : nothing}
      <form class="stack" @submit=${(/** @type {SubmitEvent} */ event) => { event.preventDefault(); startProject(String(new FormData(/** @type {HTMLFormElement} */ (event.target)).get('animal') ?? '')); }}>
        <label class="field">${projects.length ? w.or_new : w.new_animal}<input type="text" name="animal" maxlength="80" autocomplete="off"></label><button class="btn full" ?disabled=${busy}>${w.start}</button></form>`;
  }

  /** @param {NonNullable<typeof giving>} what */
  function asParts(what) {
    const { pad, parts, sitting } = what;
    return html`<p><b>${pad.project.name}</b></p>
      ${pad.pieces.length ? html`<label class="field">${w.measured_on}<select @change=${(/** @type {Event} */ event) => { what.of = /** @type {HTMLSelectElement} */ (event.target).value; stage.draw(); }}>
        <option value="subject" ?selected=${what.of === 'subject'}>${w.animal_itself}</option>${pad.pieces.map((/** @type {any} */ piece) => html`<option value=${piece.id} ?selected=${piece.id === what.of}>${w.the_wool(piece.name)}</option>`)}</select></label>` : nothing}
      ${parts.map((part) => html`<label class="field">${w.is_part(cap(part.name))}<select @change=${(/** @type {Event} */ event) => { what.as[part.id] = /** @type {HTMLSelectElement} */ (event.target).value; }}>
        <option value="" ?selected=${!what.as[part.id]}>${w.new_part}</option>${pad.parts.map((/** @type {any} */ one) => html`<option value=${one.id} ?selected=${one.id === what.as[part.id]}>${cap(one.name)}</option>`)}</select></label>`)}
      ${sitting.together.length && what.of === 'subject' ? html`<p class="sub small">${w.together(sitting.together.length)}</p>` : nothing}
      <button class="btn go full" data-testid="give-now" ?disabled=${busy} @click=${() => give(what)}>${w.give_to(pad.project.name)}</button>`;
  }

  /** @param {NonNullable<typeof giving>} what */
  const give = (what) => run(async () => {
    const { id: project, name } = what.pad.project;
    await ask('give', { sitting: what.sitting.id, project, of: what.of, as: Object.fromEntries(Object.entries(what.as).map(([part, as]) => [part, as || null])) });
    giveSheet.close();
    location.hash = what.of === 'subject' ? `#/project/${project}` : `#/piece/${project}/${what.of}`;
    stage.tell(w.given(name));
  });

  return { title: w.title, back: { href: '#/', text: words.dock.projects }, load, view };
}
