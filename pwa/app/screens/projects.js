// The animals: all projects, a new one, the demo.
import { html, nothing } from '../lib/lit-html.js';
import { ask } from '../ask.js';
import { icon } from '../icons.js';
import { animalPicture } from '../draw/animals.js';
import { onWay, way } from '../way.js';
import { day, words } from '../words.js';

const w = words.projects;
const PAGE = 60;

/** @param {import('../app.js').Stage} stage @returns {import('../app.js').Screen} */
export function open(stage) {
  /** @type {{id: string, name: string, animal: string, demo: boolean, made: string, size: string | null}[]} */
  let projects = [];
  let loose = 0;
  let binned = 0;
  let shown = PAGE;
  let search = '';
  let busy = false;
  let told = true;
  const off = onWay(() => { if (way()?.state === 'none') stage.draw(); });

  async function load() {
    const [list, own] = await Promise.all([ask('view', { name: 'projects' }), ask('settings', {})]);
    told = own.told_of_home;
    projects = list.projects;
    binned = list.binned ?? 0;
    loose = list.loose;
  }

  async function demo() {
    if (busy) return;
    busy = true;
    stage.draw();
    try {
      const { otter } = await ask('addDemo', {});
      location.hash = `#/project/${otter}`;
    } catch (error) { stage.trouble(error); } finally { busy = false; stage.draw(); }
  }

  const found = () => projects.filter((project) => project.name.toLowerCase().includes(search.toLowerCase()));

  function view() {
    return html`<div class="columns">
      <div class="stack">
        <div class="head"><h1 tabindex="-1">${w.title}</h1><span class="side">${projects.length ? w.count(projects.length) : nothing}</span></div>
        ${projects.length ? list() : empty()}
      </div>
      <div class="stack stick">${aside()}</div>
    </div>`;
  }

  function list() {
    const some = found();
    return html`${projects.length > 12 ? html`<label class="field"><span class="unseen">${w.search}</span><input type="search" placeholder=${w.search} .value=${search} @input=${(/** @type {InputEvent} */ event) => { search = /** @type {HTMLInputElement} */ (event.target).value; shown = PAGE; stage.draw(); }}></label>` : nothing}
      <ul class="list">${some.slice(0, shown).map((project) => html`<li><a class="item project-item" href=${`#/project/${project.id}`}>
        <span class="thumb">${animalPicture(project.animal)}</span>
        <span><b>${project.name}</b>${project.demo ? html` <span class="chip right small">${w.demo}</span>` : nothing}<br><span class="sub small">${[project.size, day(project.made)].filter(Boolean).join(' · ')}</span></span></a></li>`)}</ul>
      ${some.length ? nothing : html`<p class="card">${w.none_found(search)}</p>`}
      ${some.length > shown ? html`<button class="btn full" @click=${() => { shown += PAGE; stage.draw(); }}>${w.more}</button>` : nothing}
      <a class="btn go full" href="#/new">${icon('plus', 20)}${w.add}</a>`;
  }

  function empty() {
    return html`<div class="card stack first-card">
      ${animalPicture('otter', w.otter)}
      <h2>${w.empty}</h2>
      <ol class="steps"><li>${w.step_count}</li><li>${w.step_wool}</li><li>${w.step_mend}</li></ol>
      <a class="btn go full" href="#/new">${icon('plus', 20)}${w.add_first}</a>
      <button class="btn full" data-testid="demo" ?disabled=${busy} @click=${demo}>${busy ? w.demo_busy : w.try_demo}</button>
    </div>`;
  }

  /** Once there is something of her own to lose: that it could be at home too. */
  function suggestion() {
    if (told || way()?.state !== 'none' || !(loose || projects.some((project) => !project.demo))) return nothing;
    const no = () => { told = true; ask('setting', { name: 'told_of_home', value: true }).catch(stage.trouble); stage.draw(); };
    return html`<section class="card"><h2>${words.way.suggest}</h2><p class="sub">${words.way.suggest_hint}</p>
      <div class="pair"><button class="btn" @click=${no}>${words.way.suggest_no}</button><a class="btn" href="#/home">${words.way.suggest_go}</a></div></section>`;
  }

  function aside() {
    return html`
      ${suggestion()}${loose ? html`<a class="card look link-card" href="#/loose"><h2>${w.loose(loose)}</h2><p>${w.loose_hint}</p></a>` : nothing}
      <div class="card"><h2>${w.now}</h2><p class="sub">${w.now_hint}</p>
        <div class="pair"><a class="btn" href="#/count">${icon('needle')}${w.now_count}</a><a class="btn" href="#/ratio">${icon('ratio')}${w.now_ratio}</a><a class="btn" href="#/marks">${icon('marks')}${w.now_marks}</a><a class="btn" href="#/ruler">${icon('ruler')}${w.now_ruler}</a></div></div>
      <div class="row">${projects.length && !projects.some((project) => project.demo) ? html`<button class="text" ?disabled=${busy} @click=${demo}>${w.add_demo}</button>` : nothing}
        ${binned ? html`<a class="text" href="#/bin">${w.bin(binned)}</a>` : nothing}</div>`;
  }

  return { title: w.title, load, view, leave: off };
}
