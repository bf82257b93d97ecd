// The forms of an animal: drawn in place over its outlines, with what each holds and weighs; a first breakdown is proposed and taken piece by piece.
import { html, nothing } from '../lib/lit-html.js';
import { ask } from '../ask.js';
import { animalWithForms, oneScale, roomFor, rooms, smallForm, volumeBars } from '../draw/forms.js';
import { formIcon, solidPicture } from '../draw/solids.js';
import { styled } from '../forms-style.js';
import { icon } from '../icons.js';
import { keptPoints, spindle } from '../profile.js';
import { cap, percent, say, sentence, words } from '../words.js';
import '../words-more.js';
import '../words-forms.js';
import { proposing } from './forms-proposed.js';
import { sheet } from './sheet.js';
import { sizeDialog } from './size.js';
import { solidChoice } from './solid-choice.js';
import { whenWide } from './wide.js';

const w = words.forms;

/** @typedef {import('../draw/forms.js').From} From */

/** @param {import('../app.js').Stage} stage @returns {import('../app.js').Screen} */
export function open(stage) {
  const [id] = stage.path;
  /** @type {any} */
  let seen = null;
  /** @type {any} the project, for its finished size */
  let whole = null;
  /** @type {From} */
  let from = 'side';
  let ordering = false;
  const wide = whenWide(stage);
  const dialog = sizeDialog(stage);
  const adding = sheet(stage, 'solids', () => w.add, () => html`<p class="sub">${w.add_hint}</p>${solidChoice('', add)}`);
  const proposal = proposing(stage, id, () => seen);

  async function load() {
    [seen, whole] = await Promise.all([ask('view', { name: 'forms', project: id }), ask('view', { name: 'project', id }), styled]);
    await proposal.load();
  }

  /** @param {() => Promise<unknown>} act */
  const run = async (act) => { try { await act(); return true; } catch (error) { stage.trouble(error); return false; } };

  /** @param {string} shape */
  const add = (shape) => run(async () => {
    const name = cap(words.shapes[shape]);
    const { ids } = await ask('addForms', { project: id, forms: [{ name, shape, ...(shape === 'turned' ? { rings: keptPoints(spindle(60, 30)) } : {}) }] });
    adding.close();
    location.hash = `#/form/${id}/${ids[0]}`;
  });

  /** Changes places with the neighbour; where two have the same number, all are numbered afresh. @param {number} was  @param {number} to */
  const move = (was, to) => run(async () => {
    const order = seen.forms.map((/** @type {any} */ form) => form.id);
    const name = seen.forms[was].name;
    order.splice(to, 0, ...order.splice(was, 1));
    for (const [nth, form] of order.entries()) await ask('set', { kind: 'form', id: form, field: 'order', value: nth + 1 });
    say(w.moved(name, to + 1));
  });

  /** @param {string} facing */
  const face = (facing) => run(async () => { for (const outline of seen.side_outlines) await ask('set', { kind: 'outline', id: outline, field: 'facing', value: facing }); });

  const bar = (/** @type {number} */ mm) => (seen.settings.unit === 'in' ? w.bar_inch(mm) : w.bar(mm));

  function view() {
    return html`<div class="head forms-head"><h1 tabindex="-1">${w.title}</h1><span class="side"><button class="text" @click=${() => dialog.open(whole)}>${seen.size_text ?? words.project.no_size}</button></span></div>
      <div class="columns forms-screen"><div class="stack forms-left">${picture()}</div>
        <div class="stack">${proposal.active ? proposal.card() : html`${total()}${seen.trouble ? html`<p class="card bad" role="alert">${sentence(seen.trouble)}</p>` : nothing}${cross()}${why()}${list()}${actions()}${links()}`}</div></div>
      ${dialog.view()}${adding.view()}`;
  }

  /** The drawing, or two where there is room. */
  function picture() {
    if (!seen.side.length && !seen.front.length && !seen.forms.some((/** @type {any} */ form) => form.place)) return nothing;
    const both = wide.now && seen.forms.length > 0;
    const all = /** @type {From[]} */ (['side', 'front']);
    return html`<div class="card flush forms-card">
      ${both ? two() : animalWithForms({ ...drawn(from, wide.now ? { width: 560, most: 430 } : { width: 362, most: 300 }), bar })}
      ${both ? nothing : html`<div class="forms-tabs" role="group" aria-label=${w.sides_label}>${all.map((one) => html`<button aria-pressed=${one === from} @click=${() => { from = one; stage.draw(); }}>${w.sides[one]}</button>`)}</div>`}
      ${from === 'front' && !both && !seen.front.length ? html`<p class="card-line sub">${w.no_front} <a class="text" href=${`#/pictures/${id}`}>${w.trace_front}</a></p>` : nothing}</div>`;
  }

  /** Side and front, to one scale. */
  function two() {
    const { beside, ...room } = rooms(roomFor(animal(), shown(), 'side'), 560);
    const [side, along] = [drawn('side', room.side), drawn('front', room.front)];
    const front = beside ? along : { ...along, forms: along.forms.map((/** @type {any} */ form) => ({ ...form, n: 0 })) }; // too small there for numbers
    const scale = oneScale([side, front].map(({ animal: of, forms, from: seenFrom, width, most }) => [roomFor(of, forms, seenFrom), width, most]));
    return html`<div class=${beside ? 'forms-both' : ''}>${animalWithForms({ ...side, bar, scale })}${animalWithForms({ ...front, bar: null, scale })}</div>`;
  }

  const animal = () => ({ side: seen.side, front: seen.front_apart ? [] : seen.front });

  function shown() {
    const kept = seen.forms.map((/** @type {any} */ form, /** @type {number} */ nth) => ({ ...form, n: nth + 1, href: `#/form/${id}/${form.id}`, label: w.open(form.name) }));
    return proposal.active ? proposal.drawn(kept) : kept;
  }

  /** @param {From} side  @param {{width: number, most: number}} room */
  function drawn(side, { width, most }) {
    const forms = shown();
    return { animal: animal(), forms, from: side, width, most, label: w.picture(seen.name, side, forms.length) };
  }

  function total() {
    if (!seen.total) return nothing;
    const { core, coat, volume_text } = seen.total;
    const coated = seen.forms.some((/** @type {any} */ form) => form.coat.length);
    return html`<div class="forms-total"><a class="card figure" href=${`#/wool/${id}`}><span class="sub">${w.core}</span><span class="big" data-testid="core">${core.text}</span><span class="sub small">${volume_text ? w.volume(volume_text) : ''}</span></a>
      <a class="card figure" href=${`#/wool/${id}`}><span class="sub">${w.coat}</span><span class="big">${coated ? coat.text : '–'}</span><span class="sub small">${coated ? '' : w.no_coat}</span></a></div>`;
  }

  /** The volume of the forms against that by the outlines. */
  function cross() {
    if (seen.front_apart) return html`<p class="card sub" data-testid="front-apart">${w.front_apart}</p>`;
    if (!seen.cross || !seen.outlines) return nothing;
    const { off, more } = shareOf(seen.cross);
    const text = off === percent(0) ? w.as_much : more ? w.more_than(off) : w.less_than(off);
    return html`<div class=${seen.cross.apart ? 'card look' : 'card'} data-testid="cross"><p>${seen.cross.apart ? html`${icon('look', 20)} ` : nothing}<b>${text}</b>${seen.cross.apart ? html` ${more ? w.apart_more : w.apart_less}` : nothing}</p>
      ${volumeBars({ forms: seen.cross.forms_mm3, outlines: seen.outlines.volume_mm3, low: seen.outlines.low_mm3, high: seen.outlines.high_mm3, apart: seen.cross.apart, names: w.bars })}
      <p class="sub small">${w.by_outlines(seen.outlines.text, seen.outlines.low_text ?? '', seen.outlines.high_text ?? '')}</p></div>`;
  }

  function why() {
    if (seen.forms.length || proposal.active) return nothing;
    const reason = !seen.sized ? 'no-size' : seen.side.length ? '' : 'no-side';
    return html`<div class="card stack"><h2>${w.empty}</h2><p class="sub">${w.empty_hint}</p></div>
      ${reason ? html`<div class="card look" data-why=${reason}><h2>${w.why[reason].title}</h2><p>${w.why[reason].text}</p>
        ${reason === 'no-size' ? html`<button class="btn go full" @click=${() => dialog.open(whole)}>${w.why[reason].go}</button>` : html`<a class="btn go full" href=${`#/pictures/${id}`}>${w.why[reason].go}</a>`}</div>` : nothing}`;
  }

  function list() {
    if (!seen.forms.length) return nothing;
    return html`<div class="card flush"><div class="row list-head"><h2>${w.list}</h2>${seen.forms.length > 1 ? html`<button class="text end" aria-pressed=${ordering} @click=${() => { ordering = !ordering; stage.draw(); }}>${ordering ? w.order_done : w.change_order}</button>` : nothing}</div>
      <ol>${seen.forms.map(row)}</ol></div>`;
  }

  /** @param {any} form  @param {number} nth */
  function row(form, nth) {
    const inside = html`<span class="form-nth" aria-hidden="true">${nth + 1}</span>${form.side_mm.length ? smallForm(form.side_mm, 58, 44) : solidPicture(form.kind, 58)}
      <span class="form-about"><b>${cap(form.name)}</b><br><span class="sub small">${about(form)}</span></span>`;
    if (ordering) return html`<li class="form-row ordering"><span class="item static"><span class="form-nth" aria-hidden="true">${nth + 1}</span><span><b>${cap(form.name)}</b><br><span class="sub small">${about(form)}</span></span></span><button class="btn quiet mover" aria-label=${w.up(form.name)} ?disabled=${nth === 0} @click=${() => move(nth, nth - 1)}>${icon('up', 22)}</button><button class="btn quiet mover" aria-label=${w.down(form.name)} ?disabled=${nth + 1 === seen.forms.length} @click=${() => move(nth, nth + 1)}>${icon('down', 22)}</button></li>`;
    return html`<li class="form-row"><a class="item" href=${`#/form/${id}/${form.id}`}>${inside}<span class="end nowrap">${form.core_text ? html`<b>${form.core_text}</b><br>` : nothing}<span class="sub small">${form.volume_text ?? ''}</span></span></a></li>`;
  }

  /** What a form is in a line: its sizes, how many, and what is still missing. @param {any} form */
  function about(form) {
    const missing = form.sizes.filter((/** @type {any} */ size) => size.missing).length;
    const texts = form.sizes.filter((/** @type {any} */ size) => size.text).map((/** @type {any} */ size) => size.text);
    const known = texts.length ? w.size_line(form.kind === 'egg' && texts[2] === texts[1] ? texts.slice(0, 2) : texts) : '';
    const what = form.trouble ? sentence(form.trouble) : missing ? w.missing(missing) : form.kind === 'turned' && !form.shape ? w.no_profile : '';
    return [known || cap(words.shapes[form.kind]), w.times(form.count, form.mirrored), what, !form.place && seen.side.length ? w.not_placed : ''].filter(Boolean).join(' · ');
  }

  /** Which way the head looks is asked before anything is proposed: a tail is told from a head by it. */
  function facing() {
    const asks = seen.facing === null;
    return html`<div class=${asks ? 'card look stack' : 'facing'} data-testid="facing">${asks ? html`<h2>${w.facing_ask}</h2>` : html`<span class="sub small">${w.facing}</span>`}
      <div class="seg" role="group" aria-label=${w.facing}>${(/** @type {const} */ (['left', 'right'])).map((way) => html`<button aria-pressed=${seen.facing === way} data-facing=${way} @click=${() => face(way)}>${w[way]}</button>`)}</div>${asks ? html`<p class="small">${w.facing_hint}</p>` : nothing}</div>`;
  }

  function actions() {
    const traced = seen.side.length > 0 && seen.side_outlines.length > 0;
    const can = seen.sized && traced && seen.facing !== null;
    return html`${traced && seen.facing === null ? facing() : nothing}<div class="card stack"><div class=${can ? 'pair flat' : 'flat'}>
      ${can ? html`<button class=${seen.forms.length ? 'btn' : 'btn go'} data-testid="propose" ?disabled=${proposal.busy} @click=${proposal.start}>${proposal.busy ? w.proposing : seen.forms.length ? w.propose_more : w.propose}</button>` : nothing}
      <button class="btn full" data-testid="add-form" @click=${adding.open}>${w.add}</button></div>
      ${can && !seen.forms.length ? html`<p class="sub small">${w.propose_hint}</p>` : nothing}${traced && seen.facing !== null ? facing() : nothing}</div>`;
  }

  function links() {
    const to = [['wool', `#/wool/${id}`, 'wool'], ['wire', `#/wire/${id}`, 'wire'], ['order', `#/order/${id}`, 'order'], ['class', `#/class/${id}`, 'class'], ['bag', '#/bag', 'bag']];
    return seen.forms.length ? html`<ul class="list">${to.map(([name, href, picture]) => html`<li><a class="item" href=${href}><b>${w.links[/** @type {'wool'} */ (name)]}</b><span class="end">${formIcon(picture)}</span></a></li>`)}</ul>` : nothing;
  }

  return { title: w.title, get back() { return { href: `#/project/${id}`, text: seen?.name ?? words.back }; }, load, view, leave: wide.leave };
}

/** How far two volumes are apart, as it is said. @param {{share: number}} cross */
function shareOf({ share }) {
  const more = share > 1;
  return { off: words.forms.off(share), more };
}
