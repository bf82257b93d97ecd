// The twelve solids as small pictures, seen from the side and a little from above, and the icons of the screens of forms and wool.
import { html, svg } from '../lib/lit-html.js';

/** The body of a solid. @param {string} d */
const body = (d) => svg`<path d=${d} fill="var(--fleece)" stroke="currentColor" stroke-width="2.200" stroke-linejoin="round"/>`;
/** A line that shows how it is rounded. @param {string} d */
const round = (d) => svg`<path d=${d} fill="none" stroke="currentColor" stroke-width="1.400" stroke-linecap="round" opacity=".6"/>`;
/** An end that is seen. @param {number} x  @param {number} y  @param {number} rx  @param {number} ry */
const end = (x, y, rx, ry) => svg`<ellipse cx=${x} cy=${y} rx=${rx} ry=${ry} fill="var(--sheet)" stroke="currentColor" stroke-width="2.200"/>`;

/** Each on 64 by 44. @type {Record<string, unknown>} */
const solids = {
  ball: svg`${body('M32 5a17 17 0 010 34a17 17 0 010-34z')}${round('M32 5.500c10 6 10 27 0 33')}`,
  egg: svg`${body('M5 22a27 15 0 0154 0a27 15 0 01-54 0z')}${round('M32 7.500c8 5 8 24 0 29')}`,
  cylinder: svg`${body('M10 8H54a5 14 0 010 28H10a5 14 0 010-28z')}${end(10, 22, 5, 14)}`,
  rounded: svg`${body('M17 8H47a14 14 0 010 28H17a14 14 0 010-28z')}${round('M17 8.500c7 4 7 23 0 27')}${round('M47 8.500c7 4 7 23 0 27')}`,
  cone: svg`${body('M11 6L60 22 11 38a5 16 0 010-32z')}${end(11, 22, 5, 16)}`,
  frustum: svg`${body('M11 6L54 14a3 8 0 010 16L11 38a5 16 0 010-32z')}${end(11, 22, 5, 16)}`,
  teardrop: svg`${body('M15.500 8.500Q22 6 28 8.500L61 22 28 35.500Q22 38 15.500 35.500A15 15 0 0115.500 8.500z')}${round('M21 7.500c7 5 7 24 0 29')}`,
  disc: svg`${body('M6 17a26 10 0 0152 0v9a26 10 0 01-52 0z')}${round('M6 17a26 10 0 0052 0')}`,
  block: svg`${body('M6 15L18 6H58V29L46 38H6z')}${round('M6 15H46V38M46 15L58 6')}`,
  ring: svg`<path d="M32 4a27 18 0 010 36a27 18 0 010-36zM32 15a12 7 0 000 14a12 7 0 000-14z" fill-rule="evenodd" fill="var(--fleece)" stroke="currentColor" stroke-width="2.200"/>${round('M11 12c8-6 34-6 42 0')}`,
  ear: svg`${body('M12 37C10 20 20 8 37 4c14 8 18 22 15 33z')}${round('M12 37l4 3h39l-3-3M55 40c3-11-1-22-12-31')}`,
  turned: svg`${body('M6 15C14 8 20 8 25 15 29 19 33 19 37 14 44 5 54 8 59 22 54 36 44 39 37 30 33 25 29 25 25 29 20 36 14 36 6 29z')}${round('M15 10c4 4 4 20 0 24M46 9c5 5 5 21 0 26')}`,
};

/** A solid as a picture; its name stands beside it, so it says nothing to a screen reader. @param {string} kind  @param {number} [width] px */
export function solidPicture(kind, width = 64) {
  return html`<svg class="solid" width=${width} height=${Math.round(width * 44 / 64)} viewBox="0 0 64 44" aria-hidden="true">${solids[kind] ?? solids.ball}</svg>`;
}

const line = (/** @type {string} */ d) => svg`<path d=${d} fill="none" stroke="currentColor" stroke-width="2.800" stroke-linecap="round" stroke-linejoin="round"/>`;
const ring = (/** @type {number} */ x, /** @type {number} */ y, /** @type {number} */ r) => svg`<circle cx=${x} cy=${y} r=${r} fill="none" stroke="currentColor" stroke-width="2.800"/>`;

/** @type {Record<string, unknown>} */
const icons = {
  forms: svg`${ring(8, 9, 5)}${line('M11 13c2-4 12-4 13 3s-12 7-14 1zM14 21v3M21 20v4')}`,
  lay: line('M5 4h16c-1 9-7 15-16 18zM9 9h7M9 14h4'),
  scales: line('M3 22h20M6 22l2-9h10l2 9M5 8h16M13 8v5'),
  wire: line('M4 20c0-5 6-3 6-9s-5-4-5-7M10 14c6 0 4 8 9 8 4 0 4-5 1-5M10 12c5 0 4-8 9-8'),
  wool: svg`${ring(13, 13, 9)}${line('M6 9c5 0 10 4 11 12M10 5c5 2 10 6 11 11')}`,
  bag: line('M6 9h14l2 14H4zM9 12V7c0-5 8-5 8 0v5'),
  order: line('M3 6l2 2 3-4M12 6h11M3 14l2 2 3-4M12 14h11M12 21h11M4 21h2'),
  class: svg`${ring(8, 9, 3.6)}${ring(18, 9, 3.6)}${line('M2 22c0-9 11-9 12 0M15 16c4-3 9-1 9 6')}`,
  turn_left: line('M20 20a9 9 0 10-13-8M5 5l1 7 7-1'),
  turn_right: line('M6 20a9 9 0 1113-8M21 5l-1 7-7-1'),
  pencil: line('M5 21l1-5L18 4l4 4L10 20zM15 7l4 4'),
  bound: line('M11 15a5 5 0 010-7l3-3a5 5 0 017 7l-2 2M15 11a5 5 0 010 7l-3 3a5 5 0 01-7-7l2-2'),
};

/** @param {string} name  @param {number} [size] px */
export function formIcon(name, size = 24) {
  return html`<svg class="icon" width=${size} height=${size} viewBox="0 0 26 26" aria-hidden="true">${icons[name]}</svg>`;
}
