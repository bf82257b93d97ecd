// What to change on a piece: which part is out, by how much, and what to do, in a sentence, a picture and a sum.
import { html, nothing } from '../lib/lit-html.js';
import { ask } from '../ask.js';
import { icon, shapeOf } from '../icons.js';
import { bodyStrips, partStrip } from '../draw/strip.js';
import { cap, listed, num, percent, tight, words } from '../words.js';
import '../words-more.js';
import { sheet } from './sheet.js';

const w = words.verdict;
const order = /** @type {Record<string, number>} */ ({ 'take-in': 0, add: 1, 'too-rough': 2, right: 3, unknown: 4 });

/** @param {import('../app.js').Stage} stage @returns {import('../app.js').Screen} */
export function open(stage) {
  const [project, piece] = stage.path;
  /** @type {any} */
  let seen = null;
  /** @type {{mode: string, part?: string} | undefined} */
  let scale;
  /** @type {Map<string, string[]>} */
  const sums = new Map();
  let picking = false;
  let busy = false;
  let gone = false;
  const chosen = `scale:${piece}`;
  const naming = sheet(stage, 'naming', () => w.rename, nameForm);

  /** The scale chosen last for this piece holds until another is chosen. */
  async function load() {
    if (gone) return;
    if (!seen) scale ??= await ask('drafts', { key: chosen }).catch(() => null) ?? undefined;
    const look = () => ask('view', { name: 'verdict', project, piece, scale });
    seen = await look().catch((/** @type {unknown} */ error) => { if (!scale) throw error; scale = undefined; return look(); });
    sums.clear();
  }

  /** @param {{mode: string, part?: string}} wanted */
  async function change(wanted) {
    scale = wanted;
    picking = false;
    try { await load(); await ask('draft', { key: chosen, value: wanted }); } catch (error) { stage.trouble(error); }
    stage.draw();
  }

  /** @param {any} part */
  async function sum(part) {
    const id = part.part;
    if (sums.has(id)) sums.delete(id);
    else {
      try { sums.set(id, (await ask('view', { name: 'workings', project, piece, scale, part: id })).lines); } catch (error) { stage.trouble(error); }
    }
    stage.draw();
  }

  async function keep() {
    if (busy) return;
    busy = true;
    try {
      await ask('keepCheck', { piece, scale: seen.scale_used, tolerance: seen.tolerance });
      stage.tell(w.check_kept(seen.checks + 1));
    } catch (error) { stage.trouble(error); } finally { busy = false; }
  }

  const sorted = () => [...seen.parts].sort((a, b) => order[a.verdict] - order[b.verdict]);
  const of = (/** @type {string} */ verdict) => seen.parts.filter((/** @type {any} */ part) => part.verdict === verdict);
  const moving = () => seen.places.filter((/** @type {any} */ place) => place.verdict === 'move').length;

  function title() {
    const parts = [...of('add'), ...of('take-in')].length;
    if (parts) return w.to_change(parts);
    if (moving()) return w.to_move(moving());
    if (of('too-rough').length) return w.too_rough_title(of('too-rough').length);
    const alone = seen.scale.mode !== 'size' && of('right').length === 1; // one part is always right at a scale of its own
    return of('right').length && !alone ? w.all_right : w.not_compared;
  }

  function view() {
    if (!seen.modes.length) return nothingYet();
    return html`
      <div class="head"><h1 tabindex="-1">${title()}</h1><p class="sub">${w.sub(seen.piece.name, seen.project.name)}</p></div>
      <div class="columns">
        <div class="stack">${scales()}${sorted().filter((part) => ['add', 'take-in', 'too-rough'].includes(part.verdict)).map(partCard)}${seen.places.filter((/** @type {any} */ place) => place.verdict !== 'unknown').map(placeCard)}</div>
        <div class="stack stick">${right()}${overview()}${unknown()}${more()}${rest()}</div>
      </div>
      ${foot()}${naming.view()}`;
  }

  function scales() {
    const now = seen.scale.mode;
    const modes = seen.modes ?? [];
    const way = (/** @type {string} */ mode) => modes.find((/** @type {any} */ one) => one.mode === mode);
    const cost = (/** @type {string} */ mode) => (way(mode)?.work_text ? html`<small>${w.work(tight(way(mode).work_text))}</small>` : way(mode)?.why === 'no-millimetres' ? html`<small>${w.wants_ruler}</small>` : way(mode)?.why === 'no-size' ? html`<small>${w.wants_size}</small>` : nothing);
    return html`<div class="seg" role="group" aria-label=${w.scale_label}>
        <button aria-pressed=${now === 'size'} ?disabled=${Boolean(way('size')?.why)} @click=${() => change({ mode: 'size' })}>${seen.project.size ? w.at_size(seen.project.size.typed) : w.at_size_none}${cost('size')}</button>
        <button aria-pressed=${now === 'keep'} @click=${() => { picking = !picking; stage.draw(); }}>${now === 'keep' ? w.keep_this(seen.scale.name ?? '') : w.keep_part}${cost('keep')}</button>
        <button aria-pressed=${now === 'least-work'} @click=${() => change({ mode: 'least-work' })}>${w.least_work}${cost('least-work')}</button></div>
      ${picking ? html`<div class="card"><h2>${w.pick}</h2><div class="row">${seen.parts.filter((/** @type {any} */ part) => part.verdict !== 'unknown').map((/** @type {any} */ part) => html`<button class="btn" @click=${() => change({ mode: 'keep', part: part.part })}>${cap(part.name)}</button>`)}</div></div>` : html`<p class="sub small scale-note">${w.scale_notes[/** @type {'size'} */ (now)]}${seen.mm_nominal ? ` ${w.nominal}` : ''}</p>`}`;
  }

  /** @param {any} part */
  function partCard(part) {
    const width = part.axis === 'width';
    return html`<article class="card verdict-card" data-verdict=${part.verdict}>
      <div class="row"><h2>${cap(part.name)}${width && !/width|across|spacing/.test(part.name) ? w.across : ''}</h2><span class=${`chip ${part.verdict} end`}>${icon(shapeOf[part.verdict], 17)}${chip(part)}</span></div>
      ${part.strip ? partStrip({ ...part.strip, verdict: part.verdict }, { subject: seen.project.name, piece: w.yours, label: w.strip_label(part.name, seen.project.name) }) : nothing}
      <p>${advice(part, width)}</p>
      ${part.nailed ? html`<p class="sub small">${w.nailed}</p>` : nothing}
      ${part.verdict === 'too-rough' ? repeat(part) : nothing}
      ${sumOf(part)}
    </article>`;
  }

  /** The sum, opened on request. @param {any} part */
  function sumOf(part) {
    const lines = sums.get(part.part);
    return html`<button class="text" aria-expanded=${Boolean(lines)} @click=${() => sum(part)}>${lines ? w.hide_sum : w.show_sum}<span class="unseen"> ${w.sum_of(part.name)}</span></button>
      ${lines ? html`<div class="sum">${lines.map((line) => html`<p>${line}</p>`)}</div>` : nothing}`;
  }

  /** @param {any} part */
  function chip(part) {
    if (part.verdict === 'add') return w.add(tight(part.amount_text) ?? percent(part.amount_ratio));
    if (part.verdict === 'take-in') return w.take_in(tight(part.amount_text) ?? percent(part.amount_ratio));
    return w.chips[/** @type {'right'} */ (part.verdict)];
  }

  /** What to do, in a sentence. @param {any} part @param {boolean} width */
  function advice(part, width) {
    const texts = { amount: tight(part.amount_text) ?? percent(part.amount_ratio), side: tight(part.each_side_text) ?? w.half_of_that, target: tight(part.target_text), name: part.name.toLowerCase() };
    if (part.verdict === 'add') return width ? w.do_add_width(texts) : w.do_add_length(texts);
    if (part.verdict === 'take-in') return width ? w.do_take_width(texts) : w.do_take_length(texts);
    return w.do_rough(texts);
  }

  /** @param {any} part */
  function repeat(part) {
    if (!part.repeat) return nothing;
    const onPiece = part.repeat.of === 'piece';
    const target = onPiece ? piece : 'subject';
    return html`<a class="btn full" href=${`#/count?project=${project}&of=${target}&part=${part.repeat.part}&from=${piece}`}>${icon('again', 20)}${w.repeat(part.repeat.name ?? part.name, onPiece)}</a>`;
  }

  /** @param {any} place */
  function placeCard(place) {
    return html`<article class="card verdict-card" data-verdict=${place.verdict}><div class="row"><h2>${cap(place.name)}</h2><span class=${`chip ${place.verdict === 'move' ? 'add' : place.verdict} end`}>${icon(shapeOf[place.verdict], 17)}${place.verdict === 'move' ? w.move(place.move_text ?? percent(place.off)) : w.chips[/** @type {'right'} */ (place.verdict)]}</span></div>
      <p>${place.verdict === 'move' ? w.do_move(place.name.toLowerCase(), place.move_text ?? w.share_of(percent(place.off), place.part_name), place.toward, place.part_name, place.from) : w.place_is(percent(place.at_piece), percent(place.at_subject), place.part_name)}</p></article>`;
  }

  function right() {
    const fine = of('right');
    return fine.length ? html`<div class="card"><div class="row"><h2>${w.right}</h2><span class="chip right end">${icon('right', 17)}${num(fine.length, 0)}</span></div>
      <p>${cap(listed(fine.map((/** @type {any} */ part) => part.name)))}</p>
      <details><summary>${w.right_each}</summary>${fine.map((/** @type {any} */ part) => html`<div class="right-part"><p><b>${cap(part.name)}</b>: ${rightness(part)}</p>${sumOf(part)}</div>`)}</details></div>` : nothing;
  }

  /** How near a right part is. @param {any} part */
  const rightness = (part) => (part.why === 'kept' ? w.right_kept : part.piece_text && part.target_text ? w.right_by(part.piece_text, part.target_text) : w.right_share(percent(part.off, 1)));

  function overview() {
    const rows = seen.parts.filter((/** @type {any} */ part) => part.body_share != null);
    if (!rows.length) return nothing;
    return html`<div class="card stack"><h2>${w.overview(seen.project.name)}</h2>${bodyStrips(rows.map((/** @type {any} */ part) => ({ id: part.part, name: cap(part.name), share: part.body_share, u: 0, unit: 0, text: part.target_text ?? num(part.ratio_subject, 2) })), w.overview_label)}</div>`;
  }

  function unknown() {
    const list = of('unknown');
    const whys = [...new Set(list.map((/** @type {any} */ part) => part.why))];
    const names = (/** @type {any} */ why) => cap(listed(list.filter((/** @type {any} */ part) => part.why === why).map((/** @type {any} */ part) => part.name)));
    return list.length ? html`<details class="card" ?open=${!of('right').length}><summary>${w.unknown(list.length)}</summary><ul class="plain">${whys.map((why) => html`<li><b>${w.whys[/** @type {'not-joined'} */ (why)] ?? ''}</b><br>${names(why)}</li>`)}</ul></details>` : nothing;
  }

  /** What is done with the piece itself. */
  function rest() {
    return html`<div class="row rest"><button class="text" @click=${naming.open}>${w.rename}</button><button class="text end" @click=${binIt}>${w.bin}</button></div>`;
  }

  function nameForm() {
    return html`<form class="stack" @submit=${(/** @type {SubmitEvent} */ event) => { event.preventDefault(); call(String(new FormData(/** @type {HTMLFormElement} */ (event.target)).get('name') ?? '').trim()); }}>
      <label class="field"><span class="unseen">${w.rename}</span><input type="text" name="name" maxlength="80" autocomplete="off" .value=${seen.piece.name}></label><button class="btn go full">${words.entry.name_use}</button></form>`;
  }

  /** @param {string} name */
  async function call(name) {
    try { await ask('set', { kind: 'piece', id: piece, field: 'name', value: name }); naming.close(); } catch (error) { stage.trouble(error); }
  }

  /** @param {boolean} binned */
  const put = (binned) => ask('bin', { kind: 'piece', id: piece, binned });

  async function binIt() {
    gone = true;
    try { await put(true); } catch (error) { gone = false; stage.trouble(error); return; }
    location.hash = `#/project/${project}`;
    stage.tell(w.binned(seen.piece.name), { text: words.undo, run: () => { put(false).catch(stage.trouble); } });
  }

  function more() {
    return html`<ul class="list"><li><a class="item" href=${to('ruler')}>${icon('ruler', 22)}<b>${w.ruler}</b></a></li><li><a class="item" href=${to('marks')}>${icon('marks', 22)}<b>${w.marks}</b></a></li>
      <li><a class="item" href=${`#/pictures/${project}?of=${piece}`}>${icon('picture', 22)}<b>${w.photo}</b></a></li>
      <li><a class="item" href=${`#/order/${project}?piece=${piece}`}><b>${w.order}</b><span class="end">${icon('right', 22)}</span></a></li>
      <li><a class="item" href=${`#/checks/${project}/${piece}`}><b>${w.checks}</b><span class="end">${num(seen.checks, 0)}</span></a></li>
      <li><a class="item" href=${`#/readings/${project}?of=${piece}`}><b>${w.readings}</b><span class="end">${icon('needle')}</span></a></li></ul>
      <p class="care small">${icon('look', 20)}<span>${w.care} <a href=${`#/care?back=${encodeURIComponent(location.hash)}`}>${w.care_more}</a></span></p>`;
  }

  const to = (/** @type {string} */ screen) => `#/${screen}?project=${project}&of=${piece}`;

  function foot() {
    return html`<div class="foot pair"><a class="btn" data-testid="count-piece" href=${to('count')}>${icon('needle', 22)}${w.count_again}</a><button class="btn go" data-testid="keep-check" ?disabled=${busy} @click=${keep}>${w.keep_check(seen.checks + 1)}</button></div>`;
  }

  /** A piece with nothing to compare yet is told how to begin. */
  function nothingYet() {
    return html`<div class="head"><h1 tabindex="-1">${seen.piece.name}</h1><p class="sub">${w.sub_new(seen.project.name)}</p></div>
      <div class="stack narrow"><div class="card look"><h2>${w.begin}</h2><p>${w.begin_hint(seen.project.name)}</p></div><a class="btn go full" data-testid="count-piece" href=${to('count')}>${icon('needle', 22)}${w.count}</a><div class="pair"><a class="btn" href=${to('ruler')}>${icon('ruler', 22)}${w.ruler}</a><a class="btn" href=${to('marks')}>${icon('marks', 22)}${w.marks}</a></div>${unknown()}${rest()}</div>${naming.view()}`;
  }

  return { get title() { return seen?.piece?.name ?? w.title; }, get back() { return { href: `#/project/${project}`, text: seen?.project?.name ?? words.back }; }, load, view };
}
