// The frame around every screen: which one is open, what is on top and below, and what is said when something goes wrong.
import { html, nothing, render } from './lib/lit-html.js';
import { on } from './ask.js';
import { icon } from './icons.js';
import { latest } from './latest.js';
import { words, sentence } from './words.js';
import { watchUpdates } from './updates.js';
import { followWay, onWay, shortWay, way } from './way.js';
import './theme.js';
import './install.js';

/**
 * A screen: what it shows, and how it is told of changes.
 * @typedef {object} Screen
 * @property {() => unknown} view           what to draw now
 * @property {() => Promise<void>} [load]    asks the bench for what it shows; asked again after a change
 * @property {() => void} [leave]            called once when another screen opens
 * @property {(event: KeyboardEvent) => boolean} [key]  true when the key was used
 * @property {boolean} [entry]               something is being entered: no dock, no update offered
 * @property {string} title
 * @property {{href: string, text: string}} [back]
 *
 * What a screen is given.
 * @typedef {object} Stage
 * @property {string[]} path
 * @property {URLSearchParams} query
 * @property {() => void} draw               draw again after the screen's own state changed
 * @property {(error: unknown) => void} trouble  tell the person, in a sentence
 * @property {(text: string, action?: {text: string, run: () => void}) => void} tell
 *
 * @typedef {(stage: Stage) => Screen} Open
 */

/** @type {Record<string, () => Promise<{open: Open}>>} */
const screens = {
  '': () => import('./screens/projects.js'),
  'new': () => import('./screens/new.js'),
  'project': () => import('./screens/project.js'),
  'parts': () => import('./screens/parts.js'),
  'count': () => import('./screens/pad.js'),
  'marks': () => import('./screens/marks.js'),
  'ruler': () => import('./screens/ruler.js'),
  'ratio': () => import('./screens/calculator.js'),
  'piece': () => import('./screens/verdict.js'),
  'checks': () => import('./screens/checks.js'),
  'readings': () => import('./screens/readings.js'),
  'loose': () => import('./screens/loose.js'),
  'bin': () => import('./screens/bin.js'),
  'files': () => import('./screens/files.js'),
  'home': () => import('./screens/home.js'),
  'pair': () => import('./screens/pair.js'),
  'devices': () => import('./screens/devices.js'),
  'history': () => import('./screens/history.js'),
  'pictures': () => import('./screens/pictures.js'),
  'print': () => import('./screens/print.js'),
  'glass': () => import('./screens/glass.js'),
  'photo': () => import('./screens/photo.js'),
  'plane': () => import('./screens/plane.js'),
  'outline': () => import('./screens/outline.js'),
  'overlay': () => import('./screens/overlay.js'),
  'forms': () => import('./screens/forms.js'),
  'form': () => import('./screens/form.js'),
  'wire': () => import('./screens/wire.js'),
  'lay': () => import('./screens/lay.js'),
  'order': () => import('./screens/order.js'),
  'wool': () => import('./screens/wool.js'),
  'bag': () => import('./screens/bag.js'),
  'weigh': () => import('./screens/weigh.js'),
  'hand': () => import('./screens/hand.js'),
  'class': () => import('./screens/class.js'),
  'settings': () => import('./screens/settings.js'),
  'care': () => import('./screens/care.js'),
  'notices': () => import('./screens/notices.js'),
};

const dock = [
  { href: '#/', name: '', icon: 'animals', text: words.dock.projects },
  { href: '#/count', name: 'count', icon: 'needle', text: words.dock.count },
  { href: '#/marks', name: 'marks', icon: 'marks', text: words.dock.marks },
  { href: '#/ratio', name: 'ratio', icon: 'ratio', text: words.dock.ratio },
  { href: '#/settings', name: 'settings', icon: 'more', text: words.dock.more },
];

const root = /** @type {HTMLElement} */ (document.getElementById('app'));
/** @type {{name: string, screen: Screen | null, pending: boolean, trouble: string, note: {text: string, action?: {text: string, run: () => void}} | null, update: (() => void) | null}} */
const state = { name: '', screen: null, pending: false, trouble: '', note: null, update: null };
/** The place in the dock that each other screen belongs to. @type {Record<string, string>} */
const within = { new: '', project: '', parts: '', piece: '', checks: '', readings: '', loose: '', history: '', pictures: '', print: '', glass: '', photo: '', plane: '', outline: '', overlay: '', forms: '', form: '', wire: '', lay: '', order: '', wool: '', weigh: '', class: '', bag: 'settings', hand: 'settings', home: 'settings', pair: 'settings', devices: 'settings', bin: 'settings', files: 'settings', care: 'settings', notices: 'settings' };
let turn = 0;
let noteTimer = 0;
let noteSince = 0;
/** @type {HTMLElement | null} */
let noteOnSheet = null;

function frame() {
  const screen = state.screen;
  return html`<div class=${screen?.entry ? 'frame entry' : 'frame'}>
    <header class="top">
      ${screen?.back ? html`<a class="back" href=${screen.back.href}>${icon('back')}<span>${screen.back.text}</span></a>` : nothing}
      ${status()}
    </header>
    <main id="main" tabindex="-1">${screen ? screen.view() : nothing}</main>
    ${screen?.entry ? nothing : html`<nav class="dock" aria-label=${words.dock.label}>${dock.map((place) => html`
      <a href=${place.href} aria-current=${place.name === state.name ? 'page' : place.name === within[state.name] ? 'true' : nothing}>${icon(place.icon)}<span>${place.text}</span></a>`)}</nav>`}
    ${state.note ? note(state.note) : state.update && !screen?.entry ? note({ text: words.update.ready, action: { text: words.update.use, run: state.update } }) : nothing}
  </div>`;
}

/** Two facts: whether it is kept here, and whether it is home. */
function status() {
  const home = way();
  const w = home?.paired ? { here: words.way.kept, pending: words.way.kept_pending } : words.kept;
  return html`<a class=${`kept${state.trouble ? ' trouble' : state.pending ? ' pending' : ''}`} href="#/files"><i></i><span>${state.trouble || (state.pending ? w.pending : w.here)}</span></a>
    ${home?.paired ? html`<a class=${`homing ${home.state}`} href="#/home" data-testid="home" data-state=${home.state} aria-label=${words.way.spoken(shortWay(home))}><i></i><span>${shortWay(home)}</span></a>` : nothing}`;
}

/** What happened at home is said once, when it is heard of: this device was struck off, or home was put back. */
/** @type {{struck: boolean, again: boolean} | null} */
let before = null;
function wayChanged() {
  const home = way();
  if (before && home.struck && !before.struck) tell(words.way.struck_note, { text: words.show, run: () => { location.hash = '#/home'; } });
  else if (before && home.again && !before.again) tell(words.way.restored_note);
  before = { struck: home.struck, again: home.again };
  draw();
}

/** @param {{text: string, action?: {text: string, run: () => void}}} what */
function note(what) {
  return html`<div class="note" role="status"><p>${what.text}</p>${what.action
    ? html`<button class="text" @click=${() => { clearNote(); what.action?.run(); }}>${what.action.text}</button>`
    : html`<button class="text" @click=${clearNote}>${words.close}</button>`}</div>`;
}

let begun = false;
function draw() {
  if (!begun) { root.replaceChildren(); begun = true; } // the word that stood there while the app came
  render(frame(), root);
}

function clearNote() {
  state.note = null;
  noteOnSheet?.remove();
  noteOnSheet = null;
  clearTimeout(noteTimer);
  draw();
}

/** @type {Stage['tell']} */
function tell(text, action) {
  clearNote();
  state.note = { text, action };
  noteSince = performance.now();
  noteTimer = window.setTimeout(clearNote, action ? 9000 : 6000);
  draw();
  tellOnSheet(text);
}

/** An open sheet lies over everything else, so it says so too. @param {string} text */
function tellOnSheet(text) {
  const sheet = document.querySelector('dialog:modal');
  if (!sheet) return;
  noteOnSheet = Object.assign(document.createElement('p'), { className: 'wrong on-sheet', role: 'alert', textContent: text });
  sheet.append(noteOnSheet);
}

/** What was only said goes once one goes on, so that it covers nothing. @param {Event} event */
function goOn(event) {
  const seen = performance.now() - noteSince > 1000;
  if (seen && state.note && !state.note.action && !(/** @type {Element} */ (event.target).closest?.('.note'))) clearNote();
}

/** @param {unknown} error */
function trouble(error) {
  const text = sentence(error);
  if (!(/** @type {{code?: string}} */ (error))?.code) console.error(error);
  tell(text);
}

async function go() {
  const mine = ++turn;
  state.screen?.leave?.();
  try {
    const [path, query] = location.hash.replace(/^#\/?/, '').split('?');
    const parts = path.split('/').map(decodeURIComponent);
    const name = Object.hasOwn(screens, parts[0]) ? parts[0] : '';
    const { open } = await screens[name]().catch(notHere);
    const screen = open({ path: parts.slice(1), query: new URLSearchParams(query ?? ''), draw: () => { if (mine === turn) draw(); }, trouble, tell });
    await screen.load?.();
    if (mine !== turn) { screen.leave?.(); return; }
    if (state.note && performance.now() - noteSince > 1000) clearNote();
    state.name = name;
    state.screen = screen;
    document.title = `${screen.title} · needlesight`;
    draw();
    window.scrollTo(0, 0);
    /** @type {HTMLElement | null} */ (document.querySelector('main h1') ?? document.getElementById('main'))?.focus({ preventScroll: true });
  } catch (error) {
    if (mine === turn) failed(error);
  }
}

/** What was asked for belongs to what comes after the app is installed, and has not come. @param {unknown} error @returns {never} */
function notHere(error) { throw Object.assign(new Error('second-half', { cause: error }), { code: 'second-half' }); }

/** A screen that would not open says so, and leaves the way home. @param {unknown} error */
function failed(error) {
  console.error(error);
  state.screen = {
    title: words.failed.title, back: { href: '#/', text: words.dock.projects },
    view: () => html`<div class="card bad"><h1 tabindex="-1">${words.failed.title}</h1><p>${sentence(error)}</p><button class="btn full" @click=${() => location.reload()}>${words.failed.again}</button></div>`,
  };
  draw();
}

/** After a change, from this tab or another: the open screen asks again, and once more if something changed while it asked. */
const refresh = latest(async () => {
  const screen = state.screen;
  if (!screen?.load) return;
  try { await screen.load(); } catch (error) { trouble(error); }
  if (screen === state.screen) draw();
});

addEventListener('hashchange', go);
addEventListener('click', goOn); // not sooner: what moves between finger down and up is not what was tapped
addEventListener('keydown', goOn);
addEventListener('keydown', (event) => {
  const at = /** @type {HTMLElement} */ (event.target);
  if (event.ctrlKey || event.metaKey || event.altKey || /^(INPUT|TEXTAREA|SELECT)$/.test(at.tagName)) return;
  if (state.screen?.key?.(event)) event.preventDefault();
});
document.getElementById('skip')?.addEventListener('click', (event) => { event.preventDefault(); document.getElementById('main')?.focus(); });
on('changed', refresh);
on('kept', (/** @type {{pending: boolean}} */ { pending }) => { state.pending = pending; draw(); });
on('trouble', (/** @type {{code: string}} */ error) => { state.trouble = words.kept.trouble; trouble(error); });
onWay(wayChanged);
watchUpdates((use) => { state.update = use; draw(); });

go().then(followWay); // the first screen is on the glass
