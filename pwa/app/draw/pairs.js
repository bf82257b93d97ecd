// Two pairs of lengths, the second of each drawn equally long, so that the first ones show which ratio is bigger.
import { svg, html, nothing } from '../lib/lit-html.js';

const W = 350;
const NAMES = 160; // room for the names
const BAR = 15;
const STEP = 20; // from one bar to the next
const PIECE = 50; // where the piece's pair begins

/**
 * @param {{subject: number | null, piece: number | null, bigger: string, missing: string}} ratio   first to second, of each pair, as the engine gave them
 * @param {{a: string, b: string, subject: string, piece: string, label: string}} names
 */
export function pairsPicture({ subject, piece, bigger, missing }, names) {
  const most = Math.max(1, subject ?? 0, piece ?? 0);
  const share = (/** @type {number} */ ratio) => Math.max(3, ratio / most * (W - NAMES - 4));
  /** @param {number} y @param {number | null} ratio @param {string} side @param {string} title */
  const pair = (y, ratio, side, title) => svg`<text x="0" y=${y + STEP + 3} font-size="15" font-weight="680" fill="var(--ink)">${title}</text>
    ${bar(y, ratio === null ? null : share(ratio), names.a, missing === `${side}_a`)}
    ${bar(y + STEP, ratio === null ? null : share(1), names.b, missing === `${side}_b`)}`;
  const apart = subject !== null && piece !== null && bigger !== 'equal' && bigger !== '' && !missing;
  return html`<svg class="pairs-picture" viewBox=${`0 0 ${W} ${PIECE + STEP + BAR + 1}`} role="img" aria-label=${names.label}>
    ${pair(0, subject, 'subject', names.subject)}${pair(PIECE, piece, 'piece', names.piece)}
    ${apart ? difference(share(Math.min(subject, piece)), share(Math.max(subject, piece)), bigger) : nothing}
  </svg>`;
}

/** @param {number} y @param {number | null} long @param {string} name @param {boolean} found it was worked out, not measured */
function bar(y, long, name, found) {
  const short = name.length > 13 ? `${name.slice(0, 12)}…` : name;
  return svg`<text x=${NAMES - 8} y=${y + 12} text-anchor="end" font-size="14" fill="var(--ink2)">${short}</text>
    ${long === null ? svg`<path d=${`M${NAMES} ${y + 8}H${W - 6}`} stroke="var(--edge)" stroke-width="3" stroke-dasharray="1 9" stroke-linecap="round"/>`
    : found ? svg`<rect x=${NAMES + 1} y=${y + 1} width=${long - 2} height=${BAR - 2} rx="5" fill="var(--woad-soft)" stroke="var(--woad)" stroke-width="2" stroke-dasharray="5 4"/>`
      : svg`<rect x=${NAMES} y=${y} width=${long} height=${BAR} rx="5" fill="var(--wool)"/>`}`;
}

/** What the piece lacks, dashed, or has too much of, hatched: on its own first bar. @param {number} from @param {number} to @param {string} bigger */
function difference(from, to, bigger) {
  const x = NAMES + from;
  const wide = Math.max(to - from, 3);
  if (bigger === 'subject') return svg`<rect x=${x} y=${PIECE + 1} width=${wide} height=${BAR - 2} rx="4" fill="var(--woad-soft)" stroke="var(--woad)" stroke-width="2" stroke-dasharray="5 4"/>`;
  const lines = [];
  for (let dx = 4; dx < wide + 6; dx += 7) lines.push(`M${x + Math.min(dx, wide)} ${PIECE + Math.max(0, (dx - wide) * 2)}L${x + Math.max(0, dx - 7)} ${PIECE + Math.min(BAR, dx * 2)}`);
  return svg`<rect x=${x} y=${PIECE} width=${wide} height=${BAR} rx="4" fill="var(--madder-soft)" stroke="var(--madder)" stroke-width="2"/><path d=${lines.join('')} stroke="var(--madder)" stroke-width="1.500"/>`;
}
