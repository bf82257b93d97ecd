// How a needle is held up as a sight rule: as the eye behind the hand sees it, as someone beside would see it, and what three slips do.
import { svg, html } from '../lib/lit-html.js';

const W = 340;

/** Mirrors a drawing for the left hand. @param {boolean} left */
const turned = (left) => (left ? `translate(${W} 0) scale(-1 1)` : '');

/** A number in a ring, the right way round for either hand. @param {number} n @param {number} x @param {number} y @param {boolean} left */
const mark = (n, x, y, left) => svg`<circle cx=${left ? W - x : x} cy=${y} r="13" fill="var(--weld)"/>
  <text x=${left ? W - x : x} y=${y + 6} text-anchor="middle" font-size="17" font-weight="700" fill="#10171a">${n}</text>`;

/** An owl on a post, its crown at y, its head `head` high. @param {number} x @param {number} y @param {number} head */
export const owl = (x, y, head) => svg`<g transform=${`translate(${x} ${y}) scale(${head / 54})`}>
  <path d="M0 0c-22 0-34 14-33 32 0 8 3 14 3 20-8 24-4 56 12 78 5 7 11 12 18 12s13-5 18-12c16-22 20-54 12-78 0-6 3-12 3-20C34 14 22 0 0 0z" fill="var(--wool)"/>
  <path d="M0 18c-7-10-25-8-25 9 0 12 12 21 25 29 13-8 25-17 25-29C25 10 7 8 0 18z" fill="var(--sheet)"/>
  <circle cx="-11" cy="29" r="4" fill="var(--ink)"/><circle cx="11" cy="29" r="4" fill="var(--ink)"/><path d="M0 34c-3 3-3 8 0 12 3-4 3-9 0-12z" fill="var(--wool)"/>
  <path d="M-27 62c-2 22 3 42 14 58M27 62c2 22-3 42-14 58" stroke="var(--sheet)" stroke-width="2.400" fill="none" stroke-linecap="round"/>
  <path d="M-8 136v10M8 136v10" stroke="var(--ink)" stroke-width="4" stroke-linecap="round"/></g>`;

/** A fist seen from behind the thumb, the needle upright in it. The thumbnail is at (200, 116). */
const fist = svg`
  <g fill="var(--hand)" stroke="var(--ink)" stroke-width="3" stroke-linejoin="round" stroke-linecap="round">
    <path d="M204 150c20-16 46-12 56 14 8 24 8 50 2 76 6 24 18 48 40 84H208c-2-28-8-46-22-62-12-14-16-24-14-38z"/>
    <rect x="156" y="144" width="50" height="28" rx="14"/><rect x="152" y="170" width="62" height="28" rx="14"/><rect x="155" y="196" width="58" height="27" rx="13.500"/><rect x="163" y="221" width="48" height="24" rx="12"/>
    <path d="M187 132c-1-22 27-22 28-1 1 18 4 34 12 48 10 20 12 42 2 66-8 16-24 20-34 10-12-14-10-34-4-54 4-22-2-46-4-69z"/>
    <path d="M192 132c-1-14 17-15 18-1 0 9-2 14-9 14s-8-5-9-13z" fill="var(--sheet)" stroke-width="2"/>
    <path d="M189 168c8-3 20-4 30-3" fill="none" stroke-width="2"/>
  </g>`;

/**
 * What the eye behind the needle sees: the cork's edge at the crown, the thumbnail at the chin, and the owl stepped off in heads.
 * @param {boolean} left  for the left hand
 * @param {string} label  said to a screen reader
 */
export function holdPicture(left, label) {
  return html`<svg class="hold" viewBox="0 0 340 324" role="img" aria-label=${label}>
    <g transform=${turned(left)}>
      <path d="M92 210h20v114H92z" fill="var(--line)"/>${owl(102, 62, 54)}
      <g stroke="var(--woad)" stroke-width="2.500" fill="none" stroke-linecap="round"><path d="M102 60H192M104 116H184" stroke-dasharray="1 7"/></g>
      <g stroke="var(--ink)" stroke-width="4" stroke-linecap="round"><path d="M40 64V110M40 122V166M40 178V196"/></g>
      <g fill="var(--ink)"><circle cx="40" cy="116" r="7"/><circle cx="40" cy="171" r="7"/></g><circle cx="40" cy="202" r="6" fill="var(--sheet)" stroke="var(--ink)" stroke-width="4"/>
      <path d="M201 56V150" stroke="var(--ink)" stroke-width="5"/>
      ${fist}
      <path d="M189 28q0-5 5-5h14q5 0 5 5l-2 32h-20z" fill="var(--weld-soft)" stroke="var(--ink)" stroke-width="3" stroke-linejoin="round"/>
      <g fill="var(--ink)"><circle cx="198" cy="34" r="1.600"/><circle cx="205" cy="42" r="1.600"/><circle cx="198" cy="50" r="1.600"/></g>
    </g>
    ${mark(1, 234, 42, left)}${mark(2, 238, 118, left)}${mark(3, 18, 143, left)}
  </svg>`;
}

/**
 * The same from the side: one eye, a straight arm, the needle square to the line of sight.
 * @param {boolean} left  for the left hand
 * @param {string} label  said to a screen reader
 */
export function stancePicture(left, label) {
  return html`<svg class="hold" viewBox="0 0 340 200" role="img" aria-label=${label}>
    <g transform=${turned(left)}>
      <path d="M290 168h18v32h-18z" fill="var(--line)"/>${owl(299, 26, 52)}
      <path d="M66 54L299 24M66 54L297 84" stroke="var(--woad)" stroke-width="2.500" stroke-dasharray="1 7" stroke-linecap="round"/>
      <path d="M18 200c-2-46 2-76 28-90 12 4 22 12 24 26 4 20 2 40 2 64z" fill="var(--wool)"/>
      <path d="M24 58c0-20 12-32 28-32 14 0 22 9 23 22l6 12-7 3c1 14-5 22-16 22-2 8-1 12 0 18-8 8-18 10-26 6 2-12 0-20-3-26-4-6-5-14-5-25z" fill="var(--wool)"/>
      <circle cx="66" cy="53" r="3.400" fill="var(--sheet)"/>
      <path d="M44 122L164 70" fill="none" stroke="var(--sheet)" stroke-width="23" stroke-linecap="round" stroke-linejoin="round"/>
      <path d="M44 122L164 70" fill="none" stroke="var(--wool)" stroke-width="18" stroke-linecap="round" stroke-linejoin="round"/>
      <path d="M166 36V80" stroke="var(--ink)" stroke-width="4" stroke-linecap="round"/><rect x="161" y="27" width="10" height="14" rx="2.500" fill="var(--weld-soft)" stroke="var(--ink)" stroke-width="2.500"/>
      <path d="M158 60h16v14q0 8-8 8t-8-8z" fill="var(--wool)" stroke="var(--sheet)" stroke-width="2"/>
    </g>
    ${mark(4, 96, 28, left)}${mark(5, 120, 124, left)}${mark(6, 196, 100, left)}
  </svg>`;
}

/** An eye that looks to the right. @param {number} x @param {number} y */
const eye = (x, y) => svg`<path d=${`M${x + 7} ${y - 11}Q${x - 8} ${y - 10} ${x - 15} ${y}Q${x - 8} ${y + 10} ${x + 7} ${y + 11}M${x + 4} ${y - 10}Q${x + 13} ${y} ${x + 4} ${y + 10}`} fill="none" stroke="var(--ink)" stroke-width="3" stroke-linecap="round"/><ellipse cx=${x + 5} cy=${y} rx="3" ry="6" fill="var(--ink)"/>`;
const ray = (/** @type {string} */ d) => svg`<path d=${d} stroke="var(--woad)" stroke-width="2.500" stroke-dasharray="1 7" stroke-linecap="round"/>`;
/** A needle between two points, and what of it is too much or too little. @param {string} d @param {string} [colour] */
const rod = (d, colour = 'var(--ink)') => svg`<path d=${d} stroke=${colour} stroke-width="5" stroke-linecap="round"/>`;

/**
 * The arm not quite stretched: the same part covers less of a needle that is nearer. To scale along the line of sight.
 * @param {number} arm_mm  @param {number} off_mm  @param {string} label
 */
export function armSlip(arm_mm, off_mm, label) {
  const full = 200;
  const bent = full * (1 - off_mm / arm_mm);
  const half = 30; // of the needle at full stretch
  const at = (/** @type {number} */ x) => half * x / full;
  return html`<svg class="slip" viewBox="0 0 300 96" role="img" aria-label=${label}>${eye(22, 48)}${ray(`M32 48L292 ${48 - at(260)}M32 48L292 ${48 + at(260)}`)}
    <path d=${`M${32 + full} ${48 - half}V${48 + half}`} stroke="var(--edge)" stroke-width="3" stroke-dasharray="4 5"/>
    ${rod(`M${32 + bent} ${48 - at(bent)}V${48 + at(bent)}`)}
    <path d=${`M${32 + bent} 88H${32 + full}M${32 + bent} 83v10M${32 + full} 83v10`} stroke="var(--madder)" stroke-width="2.500" stroke-linecap="round"/></svg>`;
}

/**
 * The needle tilted toward the part: it covers more of itself than it shows. @param {number} tilt_rad  @param {string} label
 */
export function tiltSlip(tilt_rad, label) {
  const half = 30;
  const dx = half * Math.sin(tilt_rad);
  const dy = half * Math.cos(tilt_rad);
  return html`<svg class="slip" viewBox="0 0 300 96" role="img" aria-label=${label}>${eye(22, 48)}${ray(`M32 48L292 ${48 - dy * 260 / (178 + dx)}M32 48L292 ${48 + dy * 260 / (178 - dx)}`)}
    <path d=${`M210 ${48 - half}V${48 + half}`} stroke="var(--edge)" stroke-width="3" stroke-dasharray="4 5"/>
    ${rod(`M${210 - dx} ${48 + dy}L${210 + dx} ${48 - dy}`)}<path d=${`M210 24A24 24 0 0 1 ${210 + 24 * Math.sin(tilt_rad)} ${48 - 24 * Math.cos(tilt_rad)}`} fill="none" stroke="var(--madder)" stroke-width="3"/></svg>`;
}

/**
 * A part nearer than the rest hides more of what is behind it, so it is counted too big. To scale along the line of sight.
 * @param {number} distance_mm  of the rest  @param {number} nearer_mm  @param {string} label
 */
export function depthSlip(distance_mm, nearer_mm, label) {
  const far = 240;
  const near = far * (1 - nearer_mm / distance_mm);
  const half = 27;
  const reach = half * far / near;
  return html`<svg class="slip" viewBox="0 0 300 96" role="img" aria-label=${label}>${eye(22, 48)}${ray(`M32 48L${32 + far} ${48 - reach}M32 48L${32 + far} ${48 + reach}`)}
    ${rod(`M${32 + far} ${48 - half}V${48 + half}`, 'var(--edge)')}
    <path d=${`M${32 + far} ${48 - half}V${48 - reach}M${32 + far} ${48 + half}V${48 + reach}`} stroke="var(--madder)" stroke-width="5" stroke-linecap="round"/>
    ${rod(`M${32 + near} ${48 - half}V${48 + half}`)}</svg>`;
}
