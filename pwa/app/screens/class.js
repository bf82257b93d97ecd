// A class: how many come, what each gets and what that is in all, needles counted out and in, and a hand-out.
import { html, nothing } from '../lib/lit-html.js';
import { allowances, amount, stepped } from '../amount.js';
import { ask } from '../ask.js';
import { needleRow, needlesBack, wireLine } from '../draw/kit.js';
import { portions } from '../draw/pile.js';
import { formIcon } from '../draw/solids.js';
import { styled } from '../forms-style.js';
import { handout } from '../handout.js';
import { icon } from '../icons.js';
import { cap, listed, say, sentence, words } from '../words.js';
import '../words-more.js';
import '../words-forms.js';
import { dayText, grams } from '../words-wool.js';
import { stepper } from './stepper.js';

const w = words.class;
const gauges = ['32', '36', '38', '40', '42'];

/** @param {import('../app.js').Stage} stage @returns {import('../app.js').Screen} */
export function open(stage) {
  const project = stage.path[0];
  let asked = stage.path[1] ?? '';
  /** @type {any} */
  let seen = null;
  /** @type {'A4' | 'Letter'} */
  let paper = 'A4';
  /** @type {{file: File, href: string, pages: number, of: string} | null} */
  let made = null;
  let making = false;
  let handoutWrong = '';
  let left = false;

  /** What was tapped and is not yet in what the bench told: it is shown at once, so that quick taps are all counted. @type {Map<string, {value: unknown, kept: boolean}>} */
  const tapped = new Map();

  async function load() {
    const kept = [...tapped].filter(([, tap]) => tap.kept);
    const [view, before] = await Promise.all([ask('view', { name: 'group', project, id: asked || undefined }), seen ? null : ask('drafts', { key: `print:${project}` }).catch(() => null), styled]);
    for (const [field, tap] of kept) if (tapped.get(field) === tap) tapped.delete(field);
    seen = view;
    showTapped();
    if (before?.paper === 'Letter') paper = 'Letter';
  }

  function showTapped() { if (seen.group) for (const [field, { value }] of tapped) seen.group[field] = value; }

  /** @param {() => Promise<unknown>} act */
  const run = async (act) => { try { return await act(); } catch (error) { refused(error); return null; } };
  /** What was refused, in words of a class. @param {unknown} error */
  function refused(error) {
    const { code = '', at = '' } = /** @type {{code?: string, at?: string}} */ (error);
    const own = code.startsWith('value-') || code.startsWith('name-') ? w.wrong[/** @type {'makers'} */ (at)] : undefined;
    if (own) stage.tell(own); else stage.trouble(error);
    stage.draw();
  }
  /** @param {string} field  @param {unknown} value */
  async function put(field, value) {
    const tap = { value, kept: false };
    tapped.set(field, tap);
    showTapped();
    stage.draw();
    try {
      await ask('set', { kind: 'group', id: seen.group.id, field, value });
      tap.kept = true;
    } catch (error) {
      if (tapped.get(field) === tap) tapped.delete(field);
      await load().catch(stage.trouble);
      refused(error);
    }
  }

  const begin = () => run(async () => { tapped.clear(); asked = (await ask('addGroup', { project, name: seen.groups.length ? w.new_name(seen.groups.length + 1) : w.name_first })).id; await load(); stage.draw(); });
  const bin = () => run(async () => {
    const { id, name } = seen.group;
    await ask('bin', { kind: 'group', id, binned: true });
    asked = '';
    stage.tell(w.binned(name), { text: words.undo, run: () => run(async () => { await ask('bin', { kind: 'group', id, binned: false }); asked = id; }) });
  });

  /** @param {string} field  @param {string} typed  @param {number} low  @param {number} high */
  function type(field, typed, low, high) {
    const n = amount(typed);
    if (n === null || !Number.isInteger(n) || n < low || n > high) { stage.tell(w.wrong[/** @type {'makers'} */ (field)]); stage.draw(); return; }
    put(field, n);
  }

  const labels = (/** @type {string} */ name) => ({ less: w.less(name.toLowerCase()), more: w.more(name.toLowerCase()) });

  function view() {
    return html`<div class="head"><h1 tabindex="-1">${w.title}</h1><p class="sub">${w.sub(seen.name, seen.size_text)}</p></div>
      ${seen.group ? html`${seen.groups.length > 1 ? choice() : nothing}<div class="columns class-screen"><div class="stack">${seen.group.out === null ? nothing : back()}${each()}${all()}${seen.group.out === null ? back() : nothing}</div><div class="stack">${setup()}${cautions()}${paperCard()}<div class="row"><button class="text" @click=${begin}>${w.another}</button><button class="text end" @click=${bin}>${w.bin}</button></div></div></div>`
      : html`<div class="stack narrow"><div class="card stack hollow">${formIcon('class', 56)}<h2>${w.empty}</h2><p class="sub">${w.empty_hint}</p></div><button class="btn go full" data-testid="add-class" @click=${begin}>${icon('plus', 20)}${w.begin}</button></div>`}`;
  }

  function choice() {
    return html`<label class="field narrow class-choice">${w.which}<select name="class" @change=${(/** @type {Event} */ event) => { asked = /** @type {HTMLSelectElement} */ (event.target).value; tapped.clear(); run(async () => { await load(); stage.draw(); }); }}>
      ${seen.groups.map((/** @type {any} */ one) => html`<option value=${one.id} ?selected=${one.id === seen.group.id}>${one.name}${one.day ? `, ${dayText(one.day)}` : ''}</option>`)}</select></label>`;
  }

  function setup() {
    const { name, day, makers, spare, allowance, needles } = seen.group;
    return html`<section class="card stack wide-gap" data-testid="setup"><h2>${w.who}</h2>
      <div class="name-and-day"><label class="field">${w.name}<input type="text" name="name" maxlength="80" autocomplete="off" .value=${name} @change=${(/** @type {Event} */ event) => put('name', /** @type {HTMLInputElement} */ (event.target).value)}></label>
      <label class="field">${w.day}<input type="date" name="day" .value=${day ?? ''} @change=${(/** @type {Event} */ event) => put('day', /** @type {HTMLInputElement} */ (event.target).value || null)}></label></div>
      <div class="stack">
      ${stepper({ id: 'makers', name: w.makers, text: w.number(makers), less: () => put('makers', makers - 1), more: () => put('makers', makers + 1), least: makers <= 1, most: makers >= 200, type: (typed) => type('makers', typed, 1, 200), labels: labels(w.makers) })}
      ${stepper({ id: 'allowance', name: w.allowance, text: words.wool.allowance_text(allowance), less: () => put('allowance', stepped(allowances, allowance, -1)), more: () => put('allowance', stepped(allowances, allowance, 1)), least: allowance <= 0, most: allowance >= 2, labels: labels(w.allowance) })}
      ${stepper({ id: 'spare', name: w.spare, text: w.number(spare), less: () => put('spare', spare - 1), more: () => put('spare', spare + 1), least: spare <= 0, most: spare >= 50, labels: labels(w.spare) })}<p class="sub small">${w.spare_hint}</p></div>
      <div class="stack"><b>${w.needles}</b>${gauges.map((gauge) => gaugeRow(gauge, needles))}</div></section>`;
  }

  /** @param {string} gauge  @param {{gauge: string, each: number}[]} needles */
  function gaugeRow(gauge, needles) {
    const each = needles.find((one) => one.gauge === gauge)?.each ?? 0;
    const others = needles.filter((one) => one.gauge !== gauge);
    const give = (/** @type {number} */ n) => put('needles', [...others, ...(n ? [{ gauge, each: n }] : [])].sort((a, b) => a.gauge.localeCompare(b.gauge, 'en', { numeric: true })));
    return stepper({ id: `gauge-${gauge}`, name: cap(w.gauge(gauge)), hint: w.gauges[gauge], text: w.number(each), less: () => give(each - 1), more: () => give(each + 1), least: each <= 0, most: each >= 100, labels: labels(w.gauge(gauge)) });
  }

  function each() {
    const { kit, trouble } = seen.group;
    if (!kit) return html`<section class="card bad"><h2>${w.trouble}</h2><p>${sentence(trouble)}</p></section>`;
    const wools = kit.wools.map((/** @type {any} */ line) => ({ grams: line.person_g, colour: line.colour, text: grams(line.person_g) }));
    const needles = kit.needles.map((/** @type {any} */ one) => ({ ...one, text: one.each > 1 ? w.pieces(one.each, one.gauge) : one.gauge }));
    const longest = kit.wires.reduce((/** @type {number} */ most, /** @type {any} */ wire) => (wire.cut_mm > most ? wire.cut_mm : most), 0);
    return html`<section class="card stack" data-testid="each"><h2>${w.kit}</h2>
      ${wools.length ? html`${portions(wools, w.kit_wool(listed(kit.wools.map((/** @type {any} */ line) => `${line.name} ${grams(line.person_g)}`))))}<ul class="kit-list">${kit.wools.map((/** @type {any} */ line) => html`<li><span class="swatch" .style=${line.colour ? `background:${line.colour}` : ''}></span><span>${line.name}</span><b class="end">${grams(line.person_g)}</b></li>`)}</ul>`
      : html`<p>${w.no_wool}</p><a class="btn full" href=${`#/wool/${project}`}>${w.to_wool}</a>`}
      ${needles.some((/** @type {any} */ one) => one.each) ? html`<h3>${w.by_gauge}</h3>${needleRow(needles, w.kit_needles(listed(needles.map((/** @type {any} */ one) => `${one.each} ${w.gauge(one.gauge)}`))))}` : html`<p class="sub">${w.no_needles}</p>`}
      ${kit.wires.length ? html`<h3>${w.wires}</h3><ul class="kit-list">${kit.wires.map((/** @type {any} */ wire, /** @type {number} */ i) => html`<li class="wire"><span>${cap(wire.name)}</span><b class="end">${w.wire(wire.count, wire.cut_text)}</b>${wireLine(kit.wires, longest, i)}</li>`)}</ul><p class="sub small">${w.wire_care}</p>` : nothing}</section>`;
  }

  function all() {
    const { kit, makers } = seen.group;
    if (!kit) return nothing;
    return html`<section class="card stack" data-testid="in-all"><h2>${w.all(makers)}</h2>
      ${kit.wools.length ? html`<h3>${w.weigh_out}</h3><ul class="kit-list">${kit.wools.map((/** @type {any} */ line) => html`<li><span class="swatch" .style=${line.colour ? `background:${line.colour}` : ''}></span><span>${line.name}<br><span class="sub small">${w.pieces(makers, grams(line.person_g))}${line.packs ? `, ${w.packs(line.packs)}` : ''}</span></span><b class="end big">${grams(line.all_g)}</b></li>`)}</ul>` : nothing}
      ${kit.needles.length ? html`<h3>${w.count_out}</h3><ul class="kit-list">${kit.needles.map((/** @type {any} */ one) => html`<li><span>${cap(w.gauge(one.gauge))}<br><span class="sub small">${w.pieces(makers, w.number(one.each))}${one.spare ? `, ${w.spares(one.spare)}` : ''}</span></span><b class="end big">${w.number(one.all)}</b></li>`)}</ul>` : nothing}
      ${kit.wires.length ? html`<h3>${w.cut}</h3><ul class="kit-list">${kit.wires.map((/** @type {any} */ wire) => html`<li><span>${cap(wire.name)}</span><b class="end">${w.pieces(wire.all, wire.cut_text)}</b></li>`)}</ul><p class="sub">${w.wire_all(kit.wire_text)}</p>` : nothing}</section>`;
  }

  /** @param {number} n */
  const countBack = (n) => { say(w.back_label(n, seen.group.out)); return put('back', n); };

  /** Needles out and in: while some are missing, this stands first. */
  function back() {
    const { out, kit } = seen.group;
    const inAll = kit?.needles_out ?? 0;
    if (out === null) return inAll ? html`<section class="card stack" data-testid="needles"><h2>${w.needles_out}</h2><p class="sub">${w.give_hint}</p><button class="btn go full" data-testid="give-out" @click=${() => put('out', inAll)}>${icon('needle', 24)}${w.give(inAll)}</button></section>` : nothing;
    const n = seen.group.back ?? 0;
    const missing = out - n;
    return html`<section class=${missing > 0 && n > 0 ? 'card bad stack' : 'card stack'} data-testid="needles"><div role="status"><h2>${missing > 0 ? n > 0 ? w.missing(missing) : w.give(out) : w.all_back}</h2></div>
      ${needlesBack(out, n, w.back_label(n, out))}<p class="big" data-testid="back">${w.back(n, out)}</p>
      <button class="btn go full count-in" data-testid="one-in" ?disabled=${missing <= 0} @click=${() => countBack(n + 1)}>${icon('plus', 28)}${w.one_in}</button>
      <div class="pair"><button class="btn" data-testid="one-less" ?disabled=${n <= 0} @click=${() => countBack(n - 1)}>${icon('minus', 20)}${w.one_less}</button><button class="btn" data-testid="all-in" ?disabled=${missing <= 0} @click=${() => countBack(out)}>${icon('right', 20)}${w.all_in}</button></div>
      ${missing > 0 && n > 0 ? html`<ul class="dots">${w.find.map((text) => html`<li>${text}</li>`)}</ul>` : nothing}
      ${inAll !== out ? html`<p class="sub small">${w.differs(out, inAll)}</p>` : nothing}
      <button class="text" @click=${async () => { await put('back', null); await put('out', null); }}>${w.change_out}</button></section>`;
  }

  function cautions() {
    return html`<section class="card look stack"><h2>${w.cautions}</h2><ul class="dots">${w.points.map((text) => html`<li>${text}</li>`)}</ul><p>${w.defer}</p></section>`;
  }

  /** What the hand-out was made of: it is stale once that changes. */
  const of = () => JSON.stringify([paper, seen.name, seen.size_text, seen.group?.day, seen.group?.kit?.wools, seen.group?.kit?.wires]);

  async function make() {
    if (making) return;
    making = true;
    handoutWrong = '';
    const now = of();
    stage.draw();
    try {
      const pdf = await handout(project, { paper, title: seen.name, date: seen.group.day ? dayText(seen.group.day) : undefined });
      if (left) return;
      letGo();
      if (!pdf) handoutWrong = w.nothing;
      else {
        const file = new File([pdf.bytes], `${w.file(seen.name).replaceAll(/[\\/:*?"<>|]+/g, ' ')}.pdf`, { type: 'application/pdf' });
        made = { file, href: URL.createObjectURL(file), pages: pdf.pages, of: now };
      }
    } catch (error) { handoutWrong = sentence(error); } finally { making = false; if (!left) stage.draw(); }
  }

  function letGo() { if (made) URL.revokeObjectURL(made.href); made = null; }

  async function share() {
    if (!made) return;
    try { await navigator.share({ files: [made.file], title: made.file.name }); } catch (error) { if (/** @type {{name?: string}} */ (error).name !== 'AbortError') stage.tell(words.wool.not_copied); }
  }

  function paperCard() {
    const canShare = Boolean(made && navigator.canShare?.({ files: [made.file] }));
    return html`<section class="card stack" data-testid="handout"><h2>${w.handout}</h2><p class="sub">${w.handout_hint}</p>
      <div class="seg" role="group" aria-label=${words.print.paper}>${/** @type {const} */ (['A4', 'Letter']).map((name) => html`<button aria-pressed=${paper === name} @click=${() => { paper = name; stage.draw(); }}>${words.print.papers[name]}</button>`)}</div>
      ${handoutWrong ? html`<p class="wrong" role="alert">${handoutWrong}</p>` : nothing}
      ${made && made.of === of() ? html`<p data-testid="handout-pages">${w.made(made.pages, words.print.papers[paper])}. ${w.print_n(seen.group.makers)}</p><div class=${canShare ? 'pair' : ''}>${canShare ? html`<button class="btn go" @click=${share}>${icon('up', 20)}${w.share}</button>` : nothing}<a class=${canShare ? 'btn' : 'btn go full'} href=${made.href} download=${made.file.name} data-testid="save-handout">${icon('down', 20)}${w.save}</a></div>`
      : html`${made ? html`<p class="sub">${w.stale}</p>` : nothing}<button class="btn go full" data-testid="make-handout" ?disabled=${making} @click=${make}>${making ? w.making : w.make}</button>`}</section>`;
  }

  return { title: w.title, get back() { return { href: `#/wool/${project}`, text: seen?.name ?? words.back }; }, load, view, leave() { left = true; letGo(); } };
}
