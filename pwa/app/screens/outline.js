// An outline on a picture: found by a tap, drawn with the edge to help, drawn by hand, mended point by point, in any order.
import { html, nothing } from '../lib/lit-html.js';
import { ask, on } from '../ask.js';
import { bitmapOf } from '../bitmap.js';
import { board as newBoard } from '../board/board.js';
import { styled } from '../board/style.js';
import { dimmed, liveLine, openLine, ringLines, smallPoints, tapMarks } from '../draw/outline.js';
import { handIcon } from '../draw/hand-icons.js';
import { pictureIcon } from '../draw/picture-icons.js';
import { tick } from '../feel.js';
import { icon } from '../icons.js';
import * as journal from '../journal.js';
import { latest } from '../latest.js';
import { look } from '../look.js';
import { outlineDraft } from '../outline-draft.js';
import * as tools from '../outline-tools.js';
import * as rings from '../rings.js';
import { snapping } from '../snapping.js';
import { say, sentence, words } from '../words.js';
import '../words-pictures.js';
import { sheet } from './sheet.js';

const w = words.outline;

/** @typedef {import('../rings.js').Point} Point  @typedef {import('../rings.js').Drawn} Drawn  @typedef {'find' | 'snap' | 'draw' | 'points'} Mode */

const modes = /** @type {Mode[]} */ (['find', 'snap', 'draw', 'points']);

/** @param {import('../app.js').Stage} stage @returns {import('../app.js').Screen} */
export function open(stage) {
  const [pictureId, which] = stage.path;
  const outlineId = which === 'new' ? undefined : which; // '' too: the one that is kept, else a new one
  const draft = outlineDraft(`outline:${pictureId}:${outlineId ?? 'new'}`, stage.trouble);
  const board = newBoard(stage, { label: w.board });
  const snap = snapping({ path: edge, changed: board.draw });
  const lines = sheet(stage, 'lines', () => w.title, list);
  /** @type {any} */
  let seen = null;
  let book = journal.begin();
  let name = '';
  /** @type {Mode} */
  let mode = 'find';
  let busy = '';
  let share = 0;
  let wrong = '';
  let figures = '';
  /** Where was tapped for the last finding. @type {{at: Point, is: boolean}[]} */
  let taps = [];
  /** What the engine says of it: how sure it is, which tap would help, what is doubtful. @type {{confidence: number, ask: string, notes: {code: string}[] | null} | null} */
  let told = null;
  let is = true;
  /** What a finger is drawing by hand. @type {Point[]} */
  let stroke = [];
  /** The outline while a point is moved. @type {Drawn | null} */
  let preview = null;
  /** @type {number[][]} */
  let shown = [];
  let scaleOfHandles = 0;
  let marked = -1; // the ring that the list points at
  let left = false;

  const now = () => preview ?? book.now;
  const size = () => ({ width: seen.picture.width, height: seen.picture.height });
  const photo = () => ({ photo: { hash: seen.picture.full } });

  // --- what is there

  async function load() {
    const first = !seen;
    [seen] = await Promise.all([ask('view', { name: 'photo', id: pictureId }), styled]);
    if (!first) return;
    await begin();
    board.hand = seen.settings.hand;
    picture().catch((error) => { wrong = sentence(error); stage.draw(); });
  }

  /** What was under way, else what is kept. */
  async function begin() {
    const kept = seen.outlines.find((/** @type {any} */ one) => one.id === outlineId);
    const work = await draft.read();
    const last = seen.outlines.at(-1);
    if (!which && !work && last) { location.replace(`#/outline/${pictureId}/${last.id}${query()}`); return; } // another one is begun from the list of lines
    name = work?.name || kept?.name || '';
    book = work?.journal ?? journal.begin(kept ? { rings: kept.rings, open: [] } : undefined);
    if (book.now.rings.length) mode = 'points';
    if (work && journal.canUndo(book)) stage.tell(w.back_again);
    changed();
  }

  async function picture() {
    const { thumb, full, width, height } = seen.picture;
    const small = await bitmapOf(thumb).catch(() => null);
    if (small && !left) board.show(small, width, height);
    const whole = await bitmapOf(full);
    if (!left) board.show(whole, width, height);
  }

  // --- what is done to it

  /** @param {Drawn} next */
  function take(next) {
    const before = book;
    book = journal.done(book, next);
    if (book === before) return;
    changed();
    draft.save({ journal: book, name });
  }

  function changed() {
    marked = -1;
    freshHandles();
    board.draw();
    measure(book.now.rings);
    stage.draw();
  }

  /** How long and how large it is, from the bench; the line does not wait for it. */
  const measure = latest(async (/** @type {rings.Ring[]} */ all) => {
    if (!all.length) { figures = ''; return; }
    try { figures = (await ask('view', { name: 'outline', picture: pictureId, rings: all })).text; } catch { figures = ''; }
    if (!left) stage.draw();
  });

  /** @param {(book: journal.Journal) => journal.Journal} how  @param {string} said */
  function step(how, said) {
    const next = how(book);
    if (next === book) { tick('refuse', seen.settings); return; }
    snap.drop();
    book = next;
    [taps, told, wrong] = [[], null, ''];
    tick('undo', seen.settings);
    say(said);
    changed();
    draft.save({ journal: book, name });
  }
  const undo = () => step(journal.undo, w.undone);
  const redo = () => step(journal.redo, w.redone);

  // --- found by a tap

  /** @param {Point | null} at */
  async function find(at) {
    if (busy) return;
    const asked = at ? [...taps, { at, is: taps.length ? is : true }] : [];
    const [first, ...rest] = asked;
    const of = (/** @type {boolean} */ which) => rest.filter((one) => one.is === which).map((one) => one.at);
    [busy, share, wrong] = [w.looking, 0, ''];
    const before = taps;
    taps = asked;
    board.draw();
    stage.draw();
    try {
      const request = { image: 'photo', scale: seen.picture.plane ?? 'none', max_points: tools.most, ...(first ? { tap: first.at, also: of(true), not: of(false) } : {}) };
      const answer = await look('outline-photo', request, photo());
      if (left) return;
      told = answer;
      is = answer.ask !== 'not';
      if (answer.rings_px.length) take({ rings: answer.rings_px, open: [] });
      tick(answer.rings_px.length ? 'keep' : 'refuse', seen.settings);
      say(hintText());
    } catch (error) {
      taps = before;
      if (/** @type {{code?: string}} */ (error).code !== 'stopped') wrong = sentence(error);
    }
    busy = '';
    board.draw();
    stage.draw();
  }

  const stop = () => ask('lookStop', {}).catch(stage.trouble);

  // --- drawn

  /** The edge between two places, as the engine sees it. @param {Point} from  @param {Point} to @returns {Promise<Point[]>} */
  async function edge(from, to) {
    const crop = tools.crop(from, to, size());
    const { path } = await look('snap-path', { image: 'photo', left: crop[0], top: crop[1], from, to }, { photo: { hash: seen.picture.full, crop } });
    return path;
  }

  /** Where a stroke really begins: at the end of the line it goes on with; one that snaps, also on the outline. @param {Point} at */
  const meant = (at) => tools.endOf(mode === 'snap' ? book.now : { ...book.now, rings: [] }, [at], board.scale);

  /** @param {Point[]} line */
  function lay(line) {
    const { drawn, did, ring } = rings.laid(book.now, rings.thinned(line, tools.grain(board.scale)), tools.reach(board.scale));
    wrong = snap.trouble ? w.not_snapped : '';
    [taps, told] = [[], null];
    take(did === 'closed' && mode === 'snap' ? tools.closedOnEdge(drawn, ring, board.scale) : drawn);
    tick(did === 'closed' || did === 'mended' ? 'keep' : 'fraction', seen.settings);
    say(w.did[did]);
    if (did === 'closed' || did === 'mended') simplify();
  }

  /** Points that a straight line would pass through are left out again; the step stays one. */
  async function simplify() {
    const at = book;
    try {
      const { rings: fewer } = await look('simplify-outline', { rings: at.now.rings, tolerance: 0.5, max_points: tools.most }, {});
      if (book !== at || left) return;
      book = journal.undo(book);
      take({ ...at.now, rings: fewer });
    } catch (error) { console.warn(error); } // it is only finer than it need be
  }

  async function finish() {
    if (snap.trail.length > 1) snap.move(tools.endOf(book.now, snap.trail, board.scale));
    const path = await snap.end();
    if (path && path.length > 1 && !left) lay(path);
    board.draw();
  }

  /** A tap goes on with the line to where it was. @param {Point} at */
  async function anchor(at) {
    const { open: line } = book.now;
    const last = line[line.length - 1];
    const to = line.length > 2 && rings.apart(line[0], at) <= tools.reach(board.scale) ? line[0] : at;
    if (mode === 'draw' || !last || !tools.near(last, to)) { lay([to]); return; }
    try { lay(await edge(last, to)); } catch { wrong = w.not_snapped; lay([to]); }
  }

  const closeLine = () => { take(rings.closed(book.now)); say(w.did.closed); simplify(); };

  // --- point by point

  function freshHandles() {
    if (mode !== 'points') { board.handles = []; return; }
    scaleOfHandles = board.scale;
    ({ handles: board.handles, shown } = tools.handlesOf(book.now, board.scale, board.chosen, w.point));
  }

  /** Nearer, more points are shown; not while one is moved. */
  function asNear() {
    if (mode !== 'points' || preview || tools.alike(board.scale, scaleOfHandles)) return;
    scaleOfHandles = board.scale;
    queueMicrotask(() => { freshHandles(); stage.draw(); });
  }

  /** @param {rings.OnEdge} place */
  function add(place) {
    take(rings.withPoint(book.now, place));
    choose(`${place.ring}:${tools.next(place.edge)}`);
    say(w.added);
  }

  /** @param {string} id */
  function choose(id) {
    board.chosen = id;
    if (board.chosen !== id) { ({ handles: board.handles, shown } = tools.handlesOf(book.now, board.scale, id, w.point)); board.chosen = id; }
    stage.draw();
  }

  /** @param {string} id */
  function remove(id) {
    const [ring, point] = tools.placeOf(id);
    board.chosen = null;
    take(rings.withoutPoint(book.now, ring, point, shown[ring]));
    say(w.removed);
  }

  /** @param {number} ring */
  const removeRing = (ring) => { take(rings.withoutRing(book.now, ring)); stage.tell(w.ring_gone, { text: words.undo, run: undo }); };
  const beginAnew = () => { lines.close(); [taps, told] = [[], null]; take(rings.nothingDrawn); setMode('find'); };

  Object.assign(board.on, {
    tap(/** @type {Point} */ at) { if (mode === 'find') find(at); else if (mode !== 'points') anchor(at); },
    grab(/** @type {Point} */ at) {
      const place = mode === 'points' ? tools.edgeAt(book.now, at, board.scale, board.chosen, shown) : null;
      if (place) add(place);
      return Boolean(place);
    },
    insert(/** @type {Point} */ at) { const place = mode === 'points' && rings.nearestEdge(book.now.rings, at); if (place) add(place); },
    remove,
    move(/** @type {string} */ id, /** @type {Point} */ at) { preview = rings.movedPoint(book.now, ...tools.placeOf(id), at, shown[tools.placeOf(id)[0]]); },
    moveEnd() { const next = preview; preview = null; if (next) take(next); },
    strokeStart(/** @type {Point} */ at) {
      wrong = '';
      if (mode === 'snap') snap.start(meant(at), tools.lengths(board.scale)); else stroke = [meant(at)];
    },
    stroke(/** @type {Point} */ at) { if (mode === 'snap') snap.move(at); else stroke.push(at); board.draw(); },
    strokeEnd(/** @type {boolean} */ dropped) {
      const drawn = stroke;
      stroke = [];
      if (dropped) { snap.drop(); return; }
      if (mode === 'snap') finish(); else if (drawn.length > 1) lay(drawn);
    },
  });

  board.under = (ctx, glass) => {
    asNear();
    const { rings: all } = now();
    dimmed(ctx, glass, all, mode === 'find' ? 0.42 : mode === 'points' ? 0.2 : 0, size());
    ringLines(ctx, glass, all, { holes: all.map((_, i) => rings.isHole(all, i)), chosen: marked });
    if (mode === 'points' && glass.loupe) smallPoints(ctx, glass, all);
  };
  board.over = (ctx, glass) => {
    openLine(ctx, glass, now().open);
    const live = snap.shown ?? (stroke.length ? { settled: stroke, loose: [], trail: [] } : null);
    if (live) liveLine(ctx, glass, live);
    if (mode === 'find') tapMarks(ctx, glass, taps);
  };

  /** @param {Mode} next */
  function setMode(next) {
    snap.drop();
    [mode, wrong, stroke] = [next, '', []];
    board.mode = next === 'snap' || next === 'draw' ? 'draw' : 'pan';
    board.chosen = null;
    freshHandles();
    stage.draw();
  }

  // --- kept

  async function keep() {
    if (busy) return;
    if (book.now.open.length) { tick('refuse', seen.settings); stage.tell(w.still_open); return; }
    if (!book.now.rings.length) { tick('refuse', seen.settings); stage.tell(w.nothing_yet); return; }
    busy = words.keep;
    try {
      const all = book.now.rings;
      const { rings: fit } = rings.points(all) > tools.most ? await look('simplify-outline', { rings: all, tolerance: 0.5, max_points: tools.most }, {}) : { rings: all };
      await ask('keepOutline', { picture: pictureId, ...(outlineId ? { id: outlineId } : {}), rings: fit, name: name.trim(), draft: draft.key });
      await draft.drop();
      tick('keep', seen.settings);
      stage.tell(w.kept);
      location.hash = backTo();
    } catch (error) { stage.trouble(error); }
    busy = '';
    stage.draw();
  }

  async function bin() {
    lines.close();
    try {
      await ask('bin', { kind: 'outline', id: outlineId, binned: true });
      await draft.drop();
      stage.tell(w.binned, { text: words.undo, run: () => ask('bin', { kind: 'outline', id: outlineId, binned: false }).catch(stage.trouble) });
      location.hash = backTo();
    } catch (error) { stage.trouble(error); }
  }

  const query = () => { const back = stage.query.get('back'); return back ? `?back=${encodeURIComponent(back)}` : ''; };
  const backTo = () => stage.query.get('back') ?? `#/photo/${pictureId}`;

  // --- what is seen

  function view() {
    const hint = wrong || hintText();
    return html`<div class=${`pad-screen outline-screen${board.hand === 'left' ? ' left' : ''}`}>
      <div class="pad-main">
        <div class="head outline-head"><h1 tabindex="-1">${title()}</h1><p class="figures" data-testid="figures">${figures}</p></div>
        <p class=${`outline-hint${wrong ? ' bad' : asks() ? ' look' : ''}`} role="status" data-testid="hint">${wrong || asks() ? icon('look', 22) : nothing}<span>${hint}</span></p>
        <div class="outline-board">${board.view()}${busy ? working() : nothing}</div>
        <div class="outline-tools">${toolRow()}</div>
        <div class="seg modes" role="group" aria-label=${w.mode_label}>${modes.map((one) => html`<button data-mode=${one} aria-pressed=${mode === one} @click=${() => setMode(one)}>${w.modes[one]}</button>`)}</div>
        <div class="entry-foot outline-foot"><button class="btn lines-button" data-testid="lines" @click=${lines.open}>${icon('more', 22)}${w.lines_short}</button>
          <button class="btn go" data-testid="keep" @click=${keep}>${outlineId ? w.keep_again : w.keep}</button></div>
        <aside class="outline-side card stack"><h2 class="unseen">${w.title}</h2>${list()}</aside>
      </div>${lines.view()}</div>`;
  }

  const title = () => name.trim() || w.title;
  /** Another tap is asked for. */
  const asks = () => mode === 'find' && Boolean(told?.ask);

  function hintText() {
    const { rings: all, open: line } = book.now;
    if (mode === 'find' && told) return w.asks[/** @type {'also'} */ (told.ask)] ?? (told.notes ?? []).map(({ code }) => w.notes[/** @type {'cut-off'} */ (code)]).find(Boolean) ?? w.found;
    if (mode === 'find') return all.length ? w.find_again : w.find_hint;
    if (mode === 'points') return !all.length ? w.points_none : board.chosen ? w.point_hint : w.points_hint;
    if (line.length) return line.length > 2 ? w.go_on_or_close : w.go_on;
    return all.length ? w.mend_hint : mode === 'snap' ? w.snap_hint : w.draw_hint;
  }

  function working() {
    return html`<div class="outline-busy card" role="status"><b>${busy}</b>${busy === w.looking ? html`<progress max="1" value=${share || nothing} aria-label=${busy}></progress><button class="btn" data-testid="stop" @click=${stop}>${w.stop}</button>` : nothing}</div>`;
  }

  function toolRow() {
    return html`<button class="btn small-tool" data-testid="undo" aria-label=${words.undo} ?disabled=${!journal.canUndo(book)} @click=${undo}>${icon('undo', 22)}</button>
      <button class="btn small-tool" data-testid="redo" aria-label=${w.redo} ?disabled=${!journal.canRedo(book)} @click=${redo}>${handIcon('redo', 22)}</button>${own()}`;
  }

  /** The tools of the way that is chosen. */
  function own() {
    if (mode === 'find' && taps.length && told && book.now.rings.length) {
      return [true, false].map((one) => html`<button class=${`btn pick ${one ? 'add' : 'take-in'}`} data-testid=${one ? 'also' : 'not'} aria-pressed=${is === one} @click=${() => { is = one; stage.draw(); }}>${icon(one ? 'plus' : 'minus', 20)}${one ? w.also : w.not}</button>`);
    }
    if (mode === 'find') return html`<button class="btn grow" data-testid="find" ?disabled=${Boolean(busy)} @click=${() => find(null)}>${pictureIcon('outline', 22)}${w.find}</button>`;
    if (mode === 'points') {
      const id = board.chosen;
      return html`<button class="btn grow" data-testid="add-point" ?disabled=${!id} @click=${() => id && add(tools.afterPoint(book.now, id, shown))}>${w.add}</button>
        <button class="btn grow" data-testid="remove-point" ?disabled=${!id} @click=${() => id && remove(id)}>${w.remove}</button>
        <button class="btn grow" data-testid="let-go" ?disabled=${!id} @click=${() => { board.chosen = null; stage.draw(); }}>${w.let_go}</button>`;
    }
    return html`<button class="btn grow" data-testid="close-line" ?disabled=${book.now.open.length < 3} @click=${closeLine}>${icon('again', 22)}${w.close_line}</button>`;
  }

  /** Its name, its rings and holes, and the way to begin anew. */
  function list() {
    const { rings: all } = book.now;
    return html`<label class="field">${w.name}<input type="text" name="outline-name" maxlength="60" autocomplete="off" placeholder=${w.name_example} .value=${name} @input=${rename}></label>
      <h3>${w.lines}</h3>
      ${all.length ? html`<ul class="list inner">${all.map((ring, i) => html`<li class="ring-row"><button class="item" @click=${() => point(i)}><span><b>${rings.isHole(all, i) ? w.hole : w.outer}</b><br><span class="sub small">${w.n_points(ring.length)}</span></span></button>
        <button class="btn quiet" aria-label=${w.take_out(rings.isHole(all, i) ? w.hole : w.outer)} @click=${() => removeRing(i)}>${icon('bin', 24)}</button></li>`)}</ul>` : html`<p class="sub">${w.nothing_yet}</p>`}
      ${all.length || book.now.open.length ? html`<button class="text" @click=${beginAnew}>${w.anew}</button>` : nothing}${others()}`;
  }

  /** What else is kept on this picture, and the way to one more. */
  function others() {
    if (!seen.outlines.length) return nothing;
    return html`<h3>${w.kept_here}</h3><ul class="list inner">${seen.outlines.map((/** @type {any} */ one, /** @type {number} */ i) => html`<li><a class="item" href=${`#/outline/${pictureId}/${one.id}${query()}`} @click=${lines.close} aria-current=${one.id === outlineId ? 'true' : nothing}><span><b>${one.name || w.outline_n(i + 1)}</b><br><span class="sub small">${one.text}</span></span></a></li>`)}
        ${outlineId ? html`<li><a class="item" data-testid="another" href=${`#/outline/${pictureId}/new${query()}`} @click=${lines.close}>${icon('plus', 22)}<b>${w.another}</b></a></li>` : nothing}</ul>
      ${outlineId ? html`<button class="text" data-testid="bin" @click=${bin}>${w.bin}</button>` : nothing}`;
  }

  /** Shows which ring is meant. @param {number} ring */
  function point(ring) {
    lines.close();
    marked = ring;
    board.lookAt(book.now.rings[ring][0]);
    board.draw();
  }

  /** @param {Event} event */
  function rename(event) {
    name = /** @type {HTMLInputElement} */ (event.target).value;
    draft.save({ journal: book, name });
    stage.draw();
  }

  /** @param {KeyboardEvent} event */
  function key(event) {
    if (!seen || document.querySelector('dialog[open]')) return false;
    if (board.key(event)) return true;
    switch (event.key) {
      case 'u': undo(); return true;
      case 'r': redo(); return true;
      case 'k': keep(); return true;
      case 'f': setMode('find'); return true;
      case 's': setMode('snap'); return true;
      case 'd': setMode('draw'); return true;
      case 'p': setMode('points'); return true;
      case 'c': if (book.now.open.length > 2) closeLine(); return true;
      case 'l': lines.open(); return true;
      default: return false;
    }
  }

  const off = on('progress', (/** @type {{share: number}} */ told) => { if (busy) { share = told.share; stage.draw(); } });
  return {
    get title() { return seen?.picture.name ? w.title_of(title(), seen.picture.name) : title(); },
    get back() { return { href: backTo(), text: w.back }; },
    entry: true, load, view, key,
    leave() { left = true; off(); snap.drop(); if (busy === w.looking) stop(); board.leave(); },
  };
}
