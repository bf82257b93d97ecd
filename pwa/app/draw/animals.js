// Our own drawings of the two demo animals, and a plain ball of wool for any other.
import { svg, html } from '../lib/lit-html.js';

const otter = svg`
  <path d="M14 92c-6-3-8-9-5-14 4-7 10-9 15-14 6-8 17-12 28-10 8 1 13 5 20 7 16 3 28-4 48-9 30-8 66-6 92 8 16 9 27 20 42 30 17 11 36 20 57 24 9 2 18 2 17 6-2 7-27 9-46 5-24-5-44-16-62-21-4 6-5 12-2 18 3 5 13 5 12 9-1 5-21 5-26 0-7-6-9-15-10-21-30 7-64 6-92-3-1 8 0 15 5 20 4 4 13 4 12 8-1 5-20 5-25 1-8-7-10-19-12-29-8-4-13-10-20-14-9 4-20 6-30 4-7-1-12-3-18-5z" fill="var(--wool)"/>
  <path d="M37 58c-3-5 0-10 5-9 4 1 6 5 4 9z" fill="var(--wool)" stroke="var(--sheet)" stroke-width="2"/>
  <circle cx="27" cy="72" r="3.200" fill="var(--sheet)"/><path d="M9 80c-2 0-3-3 0-4 3 0 4 3 0 4z" fill="var(--ink)"/>
  <path d="M18 86c5 2 9 1 13-2" stroke="var(--sheet)" stroke-width="2" fill="none" stroke-linecap="round"/>`;

const owl = svg`
  <path d="M160 8c-32 0-52 18-52 46 0 10 2 18 4 26-6 26-4 58 12 86 6 11 15 20 24 24h24c9-4 18-13 24-24 16-28 18-60 12-86 2-8 4-16 4-26 0-28-20-46-52-46z" fill="var(--wool)"/>
  <path d="M160 36c-10-16-38-12-40 16-1 24 20 40 40 54 20-14 41-30 40-54-2-28-30-32-40-16z" fill="var(--sheet)"/>
  <circle cx="142" cy="58" r="6" fill="var(--ink)"/><circle cx="178" cy="58" r="6" fill="var(--ink)"/><path d="M160 66c-5 5-5 16 0 22 5-6 5-17 0-22z" fill="var(--ink2)"/>
  <path d="M112 92c-2 36 4 68 26 92M208 92c2 36-4 68-26 92" stroke="var(--sheet)" stroke-width="3" fill="none" stroke-linecap="round"/>
  <path d="M150 188v8M145 197h10M170 188v8M165 197h10" stroke="var(--ink2)" stroke-width="4" stroke-linecap="round"/>`;

const wool = svg`<ellipse cx="160" cy="104" rx="80" ry="74" fill="var(--wool)"/>
  <path d="M166 104 167 107 165 110 163 113 158 114 153 113 149 110 146 105 145 99 148 93 154 89 161 86 170 88 177 92 182 100 183 109 180 118 172 126 161 129 149 128 138 122 130 112 128 100 132 87 141 77 155 71 171 71 186 78 196 90 201 105 197 121 187 135 170 144 151 145 132 139 118 125 111 107 113 87 124 70 143 58 165 55 188 60 206 75 217 95 216 118 206 139 186 155 160 161" stroke="var(--sheet)" stroke-width="4" fill="none" stroke-linecap="round" stroke-linejoin="round"/>`;

/** @type {Record<string, {drawing: unknown, box: string}>} */
const pictures = { otter: { drawing: otter, box: '0 34 354 132' }, 'barn owl': { drawing: owl, box: '60 0 200 204' } };

/** @param {string} animal  @param {string} [label] said to a screen reader; without it the drawing is ornament */
export function animalPicture(animal, label) {
  const { drawing, box } = pictures[animal] ?? { drawing: wool, box: '60 20 200 170' };
  return html`<svg class="animal" viewBox=${box} role=${label ? 'img' : 'presentation'} aria-label=${label ?? ''} aria-hidden=${label ? 'false' : 'true'}>${drawing}</svg>`;
}
