// The way home: this device on the left, the house on the right, and what is between them.
import { html, nothing, svg } from '../lib/lit-html.js';

/**
 * @param {'none' | 'home' | 'waiting' | 'away' | 'bringing' | 'fetching' | 'stopped'} state  @param {string} label
 */
export function wayPicture(state, label) {
  const joined = state === 'home' || state === 'bringing' || state === 'fetching';
  return html`<svg class=${`way ${state}`} viewBox="0 0 340 120" role="img" aria-label=${label}>
    <rect class="thing" x="14" y="18" width="50" height="88" rx="10"/><path class="fine" d="M31 27h16M36 97h6"/>
    <path class="thing" d="M252 58l38-36 38 36M262 52v54h56V52"/><path class="fine" d="M282 106V82h16v24"/>
    ${joined ? svg`<path class="road" d="M78 62H244"/>` : svg`<path class="road broken" d="M78 62H132M190 62H244"/>`}
    ${state === 'home' ? svg`<path class="mark" d="M148 60l10 11 20-22"/>` : nothing}
    ${state === 'bringing' ? svg`<path class="mark" d="M150 48l16 14-16 14"/>` : nothing}
    ${state === 'fetching' ? svg`<path class="mark" d="M170 48l-16 14 16 14"/>` : nothing}
    ${state === 'stopped' ? svg`<path class="mark" d="M161 44v20M161 78v1"/>` : nothing}
    ${state === 'waiting' ? svg`<circle class="dot" cx="98" cy="62" r="9"/><circle class="dot" cx="122" cy="62" r="9"/>` : nothing}
  </svg>`;
}
