// The icons of the screens with pictures, drawn like the others; they come with those screens.
import { svg, html } from '../lib/lit-html.js';

const line = (/** @type {string} */ d) => svg`<path d=${d} fill="none" stroke="currentColor" stroke-width="2.800" stroke-linecap="round" stroke-linejoin="round"/>`;
const dot = (/** @type {number} */ x, /** @type {number} */ y, r = 2.4) => svg`<circle cx=${x} cy=${y} r=${r} fill="currentColor"/>`;
const ring = (/** @type {number} */ x, /** @type {number} */ y, /** @type {number} */ r) => svg`<circle cx=${x} cy=${y} r=${r} fill="none" stroke="currentColor" stroke-width="2.800"/>`;

/** @type {Record<string, unknown>} */
const drawings = {
  camera: svg`${line('M3 8h5l2-3h6l2 3h5v13H3z')}${ring(13, 14, 4)}`,
  choose: svg`${line('M3 5h20v16H3zM4 19l6-7 5 5 3-3 4 4')}${dot(17.5, 9.5, 2)}`,
  pins: svg`${line('M6 6l14 14')}${dot(5, 5, 3.4)}${dot(21, 21, 3.4)}`,
  card: line('M3 6h20v14H3zM3 11h20M7 16h5'),
  outline: line('M8 4c6-3 13 0 14 6s-4 5-4 9-9 5-13 1 2-6 0-9 0-5 3-7z'),
  overlay: svg`${ring(10, 13, 7)}${ring(17, 13, 7)}`,
  print: line('M8 9V3h10v6M8 18H4V9h18v9h-4M8 14.500h10V23H8z'),
  glass: svg`${line('M7 2h12v22H7zM11 19.500h4')}`,
  dots: svg`${dot(5, 13)}${dot(13, 13)}${dot(21, 13)}`,
  left: line('M21 13H5M12 6l-7 7 7 7'),
  up: line('M13 21V5M6 12l7-7 7 7'),
  down: line('M13 5v16M6 14l7 7 7-7'),
  onward: line('M5 13h16M14 6l7 7-7 7'),
  whole: line('M4 9V4h5M17 4h5v5M22 17v5h-5M9 22H4v-5'),
  turn: line('M4 17V9h12v8zM19 5a8 8 0 013 7M22 6v6h-6'),
  eye: svg`${line('M2 13c6-9 16-9 22 0-6 9-16 9-22 0z')}${dot(13, 13, 3.4)}`,
  no_eye: svg`${line('M2 13c6-9 16-9 22 0-6 9-16 9-22 0zM5 23L21 3')}`,
  middle: svg`${line('M13 2v5M13 19v5M2 13h5M19 13h5')}${dot(13, 13, 3.2)}`,
  lock: line('M6 12h14v11H6zM9 12V8c0-5 8-5 8 0v4'),
  move: line('M13 3v20M3 13h20M10 6l3-3 3 3M10 20l3 3 3-3M6 10l-3 3 3 3M20 10l3 3-3 3'),
  pencil: line('M5 21l1-5L18 4l4 4L10 20zM15 7l4 4'),
};

/** @param {string} name  @param {number} [size] px */
export function pictureIcon(name, size = 24) {
  return html`<svg class="icon" width=${size} height=${size} viewBox="0 0 26 26" aria-hidden="true">${drawings[name]}</svg>`;
}
