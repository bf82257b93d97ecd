// How things stand with home, for every screen: asked once, then told by the bench.
import { ask, on } from './ask.js';
import { words } from './words.js';

/** @typedef {'none' | 'home' | 'waiting' | 'away' | 'bringing' | 'fetching' | 'stopped'} State */

const w = words.way;

/** @type {any} what the view 'home' gives; null before it is known */
let now = null;
/** @type {Set<() => void>} */
const listeners = new Set();

/** How things stand. */
export const way = () => now;

/** Is told when that changes. @param {() => void} listener @returns {() => void} stops it */
export function onWay(listener) {
  listeners.add(listener);
  return () => listeners.delete(listener);
}

/** @param {any} view */
function take(view) {
  now = view;
  for (const listener of listeners) listener();
}

/** Begins to follow it, once there is something on the screen. */
export function followWay() {
  on('home', take);
  ask('view', { name: 'home' }).then((view) => { if (!now) take(view); }).catch(() => { /* the status says nothing rather than something wrong */ });
}

/** In a few words. @param {any} view @returns {string} */
export function shortWay(view) {
  switch (view.state) {
    case 'waiting': return w.short.waiting(view.changes, view.pictures);
    case 'bringing': return w.short.bringing(view.share);
    case 'fetching': return w.short.fetching(view.share);
    case 'away': return view.why === null ? w.short.looking : view.why === 'offline' ? w.short.offline : w.short.away;
    default: return w.short[/** @type {'home'} */ (view.state)];
  }
}
