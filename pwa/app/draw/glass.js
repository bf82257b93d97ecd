// How the phone is held up as a sight rule: its edge beside the part, a mark at each end, the thumb far from both.
import { svg, html } from '../lib/lit-html.js';
import { owl } from './hold.js';

const W = 340;

/** A number in a ring, the right way round for either hand. @param {number} n @param {number} x @param {number} y @param {boolean} left */
const mark = (n, x, y, left) => svg`<circle cx=${left ? W - x : x} cy=${y} r="13" fill="var(--weld)"/>
  <text x=${left ? W - x : x} y=${y + 6} text-anchor="middle" font-size="17" font-weight="700" fill="#10171a">${n}</text>`;

const finger = (/** @type {number} */ y) => svg`<rect x="76" y=${y} width="60" height="25" rx="12.500"/>`;

/** @param {boolean} left  for the left hand @param {string} label said to a screen reader */
export function glassPicture(left, label) {
  return html`<svg class="hold" viewBox="0 0 340 260" role="img" aria-label=${label}>
    <g transform=${left ? `translate(${W} 0) scale(-1 1)` : ''}>
      <path d="M262 172h18v88h-18z" fill="var(--line)"/>${owl(271, 32, 58)}
      <g fill="var(--hand)" stroke="var(--ink)" stroke-width="3" stroke-linejoin="round" stroke-linecap="round">
        ${[132, 156, 180, 203].map(finger)}
        <path d="M184 150c26-4 40 16 40 44 0 20-6 36-2 66H108c0-20 2-30 10-44z"/>
        <rect x="96" y="14" width="96" height="206" rx="13" fill="var(--sheet)" stroke-width="4"/>
        <path d="M214 176c-8-20-26-44-44-54-14-8-28 4-20 18 10 18 22 26 26 44 4 22 12 36 30 40" />
        <path d="M156 126c6-5 14-3 18 3" fill="none" stroke-width="2"/>
      </g>
      <g stroke="var(--woad)" stroke-width="2.500" fill="none" stroke-linecap="round"><path d="M196 32H268M196 92H264" stroke-dasharray="1 7"/></g>
      <rect x="181" y="32" width="9" height="60" fill="var(--wool)"/>
      <path d="M190 32H154M190 92H154" stroke="var(--ink)" stroke-width="3.500"/><circle cx="150" cy="32" r="6.500" fill="var(--ink)"/><circle cx="150" cy="92" r="5.500" fill="var(--sheet)" stroke="var(--ink)" stroke-width="3.500"/>
    </g>
    ${mark(2, 124, 32, left)}${mark(3, 124, 92, left)}${mark(1, 46, 236, left)}
  </svg>`;
}
