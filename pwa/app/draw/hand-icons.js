// The icons of what a hand does to a line or to a photo: done again, turned, made larger and smaller.
import { html, svg } from '../lib/lit-html.js';

const line = (/** @type {string} */ d) => svg`<path d=${d} fill="none" stroke="currentColor" stroke-width="2.800" stroke-linecap="round" stroke-linejoin="round"/>`;

/** @type {Record<string, unknown>} */
const drawings = {
  redo: line('M16 4l6 6-6 6M21 10H11a6 6 0 000 12h4'),
  turn: line('M5 15a8.500 8.500 0 1014-8M19 2v5.500h5'),
  back: line('M21 15a8.500 8.500 0 11-14-8M7 2v5.500H2'),
  larger: line('M10 10L4 4M4 9V4h5M16 16l6 6M22 17v5h-5'),
  smaller: line('M4 4l6 6M10 5v5H5M22 22l-6-6M16 21v-5h5'),
};

/** @param {string} name  @param {number} [size] px */
export const handIcon = (name, size = 24) => html`<svg class="icon" width=${size} height=${size} viewBox="0 0 26 26" aria-hidden="true">${drawings[name]}</svg>`;
