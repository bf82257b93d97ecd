// Forms that are proposed from the outlines, shown one by one: each is taken or left.
import { html, nothing } from '../lib/lit-html.js';
import { ask } from '../ask.js';
import { isAhead, settled, smallForm } from '../draw/forms.js';
import { icon } from '../icons.js';
import { cap, percent, words } from '../words.js';
import '../words-forms.js';

const w = words.forms;

/** Two or more legs stand under the front half and the back half of a body; those of a bird do not. @param {any} one  @param {any[]} all */
function kindOf(one, all) {
  const legs = all.filter((other) => other.stands === 'leg');
  const body = all.find((other) => other.stands === 'body');
  if (one.stands !== 'leg' || !body) return one.stands;
  const ahead = legs.filter((leg) => isAhead(leg, body));
  return ahead.length && ahead.length < legs.length ? (ahead.includes(one) ? 'foreleg' : 'hindleg') : 'leg';
}

/** @param {import('../app.js').Stage} stage  @param {string} project  @param {() => any} seen what the view of forms says */
export function proposing(stage, project, seen) {
  /** @type {{forms: any[], covered: number, notes: {code: string}[], nth: number, taken: number} | null} */
  let me = null;
  let busy = false;

  /** What it is called: legs by the half of the body they stand under, and numbered where several are alike. @param {any} one  @param {any[]} all */
  function named(one, all) {
    const kinds = all.map((other) => kindOf(other, all));
    const kind = kinds[all.indexOf(one)];
    const alike = all.filter((_, at) => kinds[at] === kind);
    return w.proposed_name(w.proposed_names[kind], alike.indexOf(one) + 1, alike.length === 1);
  }

  async function start() {
    busy = true;
    stage.draw();
    try {
      const answer = await ask('view', { name: 'propose', project });
      const forms = answer.forms.map((/** @type {any} */ one) => ({ ...one, name: named(one, answer.forms) }));
      if (forms.length) me = { forms, covered: answer.covered, notes: answer.notes, nth: 0, taken: 0 };
      else stage.tell(answer.why ? w.why[answer.why].text : w.none_found);
    } catch (error) { stage.trouble(error); }
    busy = false;
    stage.draw();
    window.scrollTo(0, 0);
  }

  /** @param {any} one */
  const kept = ({ name, stands, shape, sizes, count, mirrored, place }) => ({ name, stands, shape, sizes, count, mirrored, place: settled(place) });

  /** The next one, or the end. @param {number} by  @param {number} taken */
  function on(by, taken) {
    if (!me) return;
    me = { ...me, nth: me.nth + by, taken: me.taken + taken };
    if (me.nth >= me.forms.length) end();
    stage.draw();
  }

  function end() {
    const taken = me?.taken ?? 0;
    me = null;
    stage.tell(w.taken(taken));
  }

  /** @param {any[]} forms */
  async function take(forms) {
    if (busy) return;
    busy = true;
    try {
      await ask('addForms', { project, forms: forms.map(kept) });
      on(forms.length, forms.length);
    } catch (error) { stage.trouble(error); }
    busy = false;
    stage.draw();
  }

  /** Those already taken are the project's own; the others wait, and the one asked about stands out. @param {any[]} own */
  function drawn(own) {
    if (!me) return own;
    const waiting = me.forms.slice(me.nth + 1).map((one, i) => ({ ...shown(one), id: `later-${i}`, how: 'later' }));
    return [...own.map((one) => ({ ...one, href: undefined })), ...waiting, { ...shown(me.forms[me.nth]), id: 'now', how: 'now' }];
  }

  /** @param {any} one */
  const shown = (one) => ({ ...one, n: 0 });

  function card() {
    if (!me) return nothing;
    const one = me.forms[me.nth];
    const left = me.forms.slice(me.nth);
    return html`<section class="card stack proposed" aria-live="polite" data-testid="proposed"><div class="row proposed-head">${smallForm(one.side_mm, 84, 56)}<div><h2>${cap(one.name)}</h2><p class="sub">${w.of_shape(words.shapes[one.shape])}${one.count > 1 ? `, ${w.times(one.count, one.mirrored)}` : ''}</p></div><span class="end sub nowrap">${w.nth(me.nth + 1, me.forms.length)}</span></div>
      <p class="proposed-sizes">${sizes(one)}</p>
      <div class="pair flat"><button class="btn" data-testid="skip" @click=${() => on(1, 0)}>${w.skip}</button><button class="btn go" data-testid="accept" @click=${() => take([one])}>${icon('right', 20)}${w.accept}</button></div>
      <div class="pair flat"><button class="btn quiet" @click=${() => { end(); stage.draw(); }}>${w.stop}</button><button class="btn" data-testid="accept-all" @click=${() => take(left)}>${w.accept_all(left.length)}</button></div>
      <p class="sub small">${w.covers(percent(me.covered))} ${me.notes.map((note) => w.notes[note.code] ?? '').join(' ')}</p></section>`;
  }

  /** Its sizes, each on its line; those that follow a part are as long as it is. @param {any} one */
  function sizes(one) {
    return Object.entries(one.sizes).map(([name, size], i) => {
      const part = seen().parts.find((/** @type {any} */ other) => other.id === size.part);
      return html`${i ? html`<br>` : nothing}${words.sizes[name]}: <b>${part?.mm_text ?? one.texts[name]}</b>${part ? html` <span class="sub">${w.bound_to(part.name)}</span>` : nothing}`;
    });
  }

  return { get active() { return me !== null; }, get busy() { return busy; }, start, drawn, card, async load() {} };
}
