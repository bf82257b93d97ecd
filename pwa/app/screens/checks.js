// A piece's kept checks: how each part closes in on the target, and the list of them.
import { html, nothing } from '../lib/lit-html.js';
import { ask } from '../ask.js';
import { closing, closingHead, reach } from '../draw/closing.js';
import { icon, shapeOf } from '../icons.js';
import { cap, day, listed, words } from '../words.js';
import '../words-more.js';

const w = words.checks;

/** @typedef {{check: string, number: number, off: number | null, off_u: number | null, verdict: string}} Point */

/** @param {import('../app.js').Stage} stage @returns {import('../app.js').Screen} */
export function open(stage) {
  const [project, piece] = stage.path;
  /** @type {{project: {id: string, name: string}, piece: {id: string, name: string}, checks: any[], parts: {part: string, name: string, points: Point[]}[], most: number}} */
  let seen;

  async function load() { seen = await ask('view', { name: 'checks', project, piece }); }

  /** @param {string} id @param {boolean} struck */
  async function strike(id, struck) {
    try {
      await ask('strike', { kind: 'check', id, struck });
      if (struck) stage.tell(w.done, { text: words.undo, run: () => { strike(id, false); } });
    } catch (error) { stage.trouble(error); }
  }

  const back = () => `#/piece/${project}/${piece}`;
  const last = (/** @type {Point[]} */ points) => /** @type {Point} */ (points.at(-1));
  const everRight = (/** @type {{points: Point[]}} */ part) => part.points.every((point) => point.verdict === 'right');

  function view() {
    const kept = seen.checks.filter((check) => !check.struck);
    return html`<div class="head"><h1 tabindex="-1">${w.title}</h1><p class="sub">${w.sub(seen.piece.name, seen.project.name)}</p></div>
      ${seen.checks.length ? html`<div class="columns"><div class="stack">${kept.length ? chart(kept) : nothing}</div><div class="stack">${list()}</div></div>`
      : html`<div class="card stack hollow narrow">${icon('ratio', 56)}<h2>${w.empty}</h2><p class="sub">${w.empty_hint}</p><a class="btn go full" href=${back()}>${w.to_verdict}</a></div>`}`;
  }

  /** @param {any[]} kept */
  function chart(kept) {
    const within = kept[kept.length - 1].tolerance;
    const edge = reach(seen.most, within);
    const moving = seen.parts.filter((part) => !everRight(part));
    const steady = seen.parts.filter(everRight);
    return html`<section class="card stack wide-gap"><div><h2>${w.chart}</h2><p class="sub small">${w.chart_hint}</p></div>
      ${moving.map((part) => html`<div><div class="row"><h3>${cap(part.name)}</h3>${chip(last(part.points))}</div>
        ${closingHead({ small: w.small, target: w.target, big: w.big })}
        ${closing(part.points, edge, within, w.picture(part.name, listed(part.points.map((point) => w.point(point.number, point.off ?? 0)))))}</div>`)}
      ${steady.length ? html`<p><b>${w.always_right}:</b> ${listed(steady.map((part) => part.name.toLowerCase()))}</p>` : nothing}
      ${moving.length ? html`<p class="sub small">${w.scale_note(edge)}</p>` : nothing}</section>`;
  }

  /** @param {Point} point */
  const chip = (point) => html`<span class=${`chip end ${point.verdict}`}>${icon(shapeOf[point.verdict] ?? 'look', 16)}${w.verdicts[point.verdict] ?? w.off_now(point.off ?? 0)}</span>`;

  function list() {
    return html`<section><h2 class="unseen">${w.list}</h2><ul class="list">${[...seen.checks].reverse().map((check) => html`<li class=${check.struck ? 'item still struck-out' : 'item still'}>
      <span><b>${check.struck ? w.struck : w.number(check.number)}</b> <span class="sub small nowrap">${day(check.made)}</span><br>
        <span>${check.trouble ? w.trouble : w.result(check.out, check.right, check.too_rough)}</span><br>
        <span class="sub small">${check.scale.mode === 'keep' && check.scale.name ? w.keeping(check.scale.name) : w.scales[check.scale.mode]}, ${w.within(check.tolerance)}</span></span>
      <button class="btn end" aria-label=${check.struck ? w.back_label : w.strike_label(check.number)} @click=${() => strike(check.id, !check.struck)}>${icon(check.struck ? 'undo' : 'strike', 20)}${check.struck ? words.put_back : w.strike}</button></li>`)}</ul></section>`;
  }

  return { get title() { return seen ? `${w.title}, ${seen.piece.name}` : w.title; }, get back() { return { href: back(), text: seen?.piece.name ?? words.back }; }, load, view };
}
