// The icons, drawn for this app on a 26 px square: a needle's line, the thumb's dot, a bar of wool.
import { svg, html } from './lib/lit-html.js';

const line = (/** @type {string} */ d) => svg`<path d=${d} fill="none" stroke="currentColor" stroke-width="3" stroke-linecap="round" stroke-linejoin="round"/>`;
const dot = (/** @type {number} */ x, /** @type {number} */ y, r = 3.6) => svg`<circle cx=${x} cy=${y} r=${r} fill="currentColor"/>`;

/** @type {Record<string, unknown>} */
const drawings = {
  back: line('M15 5l-8 8 8 8M8 13h13'),
  animals: svg`${line('M3 17c0-7 5-10 10-10 4 0 6 2 10 1-1 3-2 5-4 6v7M7 21v-3M12 21v-4')}${dot(20, 10, 1.6)}`,
  needle: svg`${line('M2 20L20 6')}${dot(9.4, 14.2)}${dot(20, 6, 4.6)}`,
  marks: svg`${line('M7 2v22M7 8h11M7 19h11')}${dot(21, 8, 2.6)}${dot(21, 19, 2.6)}`,
  ratio: svg`${line('M4 8h18M4 18h11')}${dot(22, 18, 2.4)}`,
  more: svg`${line('M3 7h8M18 7h5M3 19h3M13 19h10')}${dot(14.5, 7, 3.4)}${dot(9.5, 19, 3.4)}`,
  plus: line('M13 4v18M4 13h18'),
  minus: line('M4 13h18'),
  right: line('M4 14l6 6L22 6'),
  look: svg`${line('M13 4v11')}${dot(13, 21, 2.6)}`,
  undo: line('M10 4L4 10l6 6M5 10h10a6 6 0 010 12h-4'),
  speak: line('M3 10v6h4l6 5V5L7 10zM17 9c2 2 2 6 0 8M20.5 6c4 4 4 10 0 14'),
  help: svg`${line('M8.5 8.5c0-6 9-6 9 0 0 4-4.500 3.500-4.500 8')}${dot(13, 21.4, 2.2)}`,
  ruler: line('M3 8h20v10H3zM8 8v4M13 8v6M18 8v4'),
  bin: line('M5 7h16M10 7V4h6v3M7 7l1 15h10l1-15'),
  strike: line('M3 13h20M7 7c2-4 12-4 12 0M7 19c2 4 12 4 12 0'),
  home: line('M3 13L13 4l10 9M6 11v11h14V11M11 22v-6h4v6'),
  picture: svg`${line('M3 5h20v16H3zM4 19l6-7 5 5 3-3 4 4')}${dot(17.5, 9.5, 2)}`,
  file: line('M6 3h9l6 6v14H6zM15 3v6h6'),
  move: line('M3 13h20M8 8l-5 5 5 5M18 8l5 5-5 5'),
  up: line('M13 21V5M6 12l7-7 7 7'),
  down: line('M13 5v16M6 14l7 7 7-7'),
  skip: line('M4 5l9 8-9 8M13 5l9 8-9 8'),
  again: line('M21 9a9 9 0 10.500 7M21 3v6h-6'),
  hand: line('M7 24v-5l-4-6c-1-2 2-3 3-1l3 3V4c0-3 4-3 4 0v8l7 1c3 1 3 3 3 6l-1 5'),
  erase: line('M9 6h14v14H9l-7-7zM12.500 10l6 6M18.500 10l-6 6'),
  close: line('M6 6l14 14M20 6L6 20'),
  wool: line('M6 20a5 5 0 01-1.500-9A5.500 5.500 0 0110 5a6 6 0 0110 2 5.500 5.500 0 012.500 7A5 5 0 0119 20zM10.500 14c0-4 6-4 6 0s-3.500 3-3.500.500'),
  nail: svg`${line('M13 9v13')}${line('M7 6h12')}`,
};

/** @param {string} name  @param {number} [size] px */
export function icon(name, size = 26) {
  return html`<svg class="icon" width=${size} height=${size} viewBox="0 0 26 26" aria-hidden="true">${drawings[name]}</svg>`;
}

/** The shape that goes with each verdict, so that it is never told by colour alone. */
export const shapeOf = /** @type {Record<string, string>} */ ({ add: 'plus', 'take-in': 'minus', right: 'right', 'too-rough': 'again', unknown: 'look', move: 'move' });
