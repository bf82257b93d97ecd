// Everything that was ever set in one record: by whom, what holds now, what stands beside it.
import { html, nothing } from '../lib/lit-html.js';
import { ask } from '../ask.js';
import { cap, sentence, words } from '../words.js';
import '../words-more.js';

const w = words.history;

/** @param {import('../app.js').Stage} stage @returns {import('../app.js').Screen} */
export function open(stage) {
  const [kind, id] = stage.path;
  /** @type {{name: string, fields: {field: string, changes: {value: any, text?: string, by: string | null, counter: number, now: boolean, apart: boolean, refused: string | null}[]}[]}} */
  let seen;

  async function load() { seen = await ask('view', { name: 'history', kind, id }); }

  /** What a person can read of a fact: not what it points to, which is only a mark. @param {unknown} one */
  const readable = (one) => one !== null && typeof one !== 'object' && !/^([a-z2-7]{16}|sha256:.*)$/.test(String(one));

  /** @param {any} value */
  function show(value) {
    if (value === null || value === '') return w.cleared;
    if (value === true) return words.project.yes;
    if (value === false) return words.project.no;
    if (typeof value !== 'object') return String(value);
    return value.typed ?? Object.entries(value).filter(([, one]) => readable(one)).map(([name, one]) => `${w.facts[name] ?? name} ${one}`).join(', ');
  }

  function view() {
    return html`<div class="head"><h1 tabindex="-1">${w.title}${seen.name ? `: ${seen.name}` : ''}</h1><p class="sub">${w.sub}</p></div>
      <div class="stack narrow">${seen.fields.length ? seen.fields.map((field) => html`<section class="card flush"><h2 class="card-title">${cap(words.project.fields[field.field] ?? field.field)}</h2>
        <ul>${field.changes.map((one) => html`<li class="item static"><span><b>${one.text ?? show(one.value)}</b><br><span class="sub small">${w.by(one.by === 'this device' ? w.this_device : one.by)}</span>
          ${one.refused ? html`<br><span class="small">${w.refused}: ${sentence({ code: one.refused })}</span>` : nothing}</span>
          <span class="end">${one.now ? html`<span class="chip right">${w.now}</span>` : one.apart ? html`<span class="chip look">${w.apart}</span>` : nothing}</span></li>`)}</ul></section>`) : html`<div class="card"><p>${w.empty}</p></div>`}</div>`;
  }

  return { title: w.title, back: { href: stage.query.get('back') ?? '#/home', text: words.back }, load, view };
}
