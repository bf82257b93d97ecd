// What is drawn over a photo while an outline is made: the line, what it leaves out, the line under the finger, and where was tapped.
import { dark, disc, haloed, light, line, madder, ring as circle, woad } from '../board/paint.js';

/** @typedef {import('../rings.js').Point} Point  @typedef {import('../rings.js').Ring} Ring  @typedef {import('../board/paint.js').Glass} Glass
 * @typedef {CanvasRenderingContext2D} Ctx
 * @typedef {{settled: Point[], loose: Point[], trail: Point[]}} Live */

/** A ring or a line as a path on the glass. @param {Ctx} ctx  @param {Glass} glass  @param {Point[]} points  @param {boolean} whole */
export function path(ctx, glass, points, whole) {
  points.forEach((at, i) => { const [x, y] = glass.toGlass(at); if (i) ctx.lineTo(x, y); else ctx.moveTo(x, y); });
  if (whole && points.length) ctx.closePath();
}

/** What lies outside is dimmed, so that what is inside stands out. @param {Ctx} ctx  @param {Glass} glass  @param {Ring[]} rings  @param {number} much 0 to 1  @param {{width: number, height: number}} picture */
export function dimmed(ctx, glass, rings, much, picture) {
  if (!rings.length || !much) return;
  const [left, top] = glass.toGlass([0, 0]);
  ctx.beginPath();
  ctx.rect(left, top, picture.width * glass.scale, picture.height * glass.scale);
  for (const ring of rings) path(ctx, glass, ring, true);
  ctx.fillStyle = `rgb(11 16 17 / ${much})`;
  ctx.fill('evenodd');
}

/** @param {Ctx} ctx  @param {Glass} glass  @param {Ring[]} rings  @param {{holes: boolean[], chosen: number}} how */
export function ringLines(ctx, glass, rings, { holes, chosen }) {
  rings.forEach((ring, i) => haloed(ctx, () => path(ctx, glass, ring, true), { width: i === chosen ? 3 : 2.25, halo: i === chosen ? 2.5 : 1.75, dash: holes[i] ? [7, 5] : [] }));
}

/** The line that has not come round yet, with the place where it wants to be closed. @param {Ctx} ctx  @param {Glass} glass  @param {Point[]} open */
export function openLine(ctx, glass, open) {
  if (!open.length) return;
  if (open.length > 1) haloed(ctx, () => path(ctx, glass, open, false), { width: 3, colour: woad });
  const [first, last] = [glass.toGlass(open[0]), glass.toGlass(open[open.length - 1])];
  haloed(ctx, () => circle(ctx, first, 7), { width: 2.5, halo: 2, colour: woad });
  disc(ctx, last, 5.5, light);
  disc(ctx, last, 4, woad);
}

/** The line under the finger: what is settled, what may still move, and the finger's own way where no answer is yet. @param {Ctx} ctx  @param {Glass} glass  @param {Live} live */
export function liveLine(ctx, glass, { settled, loose, trail }) {
  const last = loose[loose.length - 1] ?? settled[settled.length - 1];
  if (trail.length > 1) haloed(ctx, () => path(ctx, glass, last ? [last, ...trail.slice(1)] : trail, false), { width: 1.5, halo: 1, dash: [2, 5] });
  if (settled.length + loose.length > 1) haloed(ctx, () => path(ctx, glass, [...settled, ...loose], false), { width: 3, colour: woad });
}

/** Where was tapped: what belongs to the piece, and what does not. @param {Ctx} ctx  @param {Glass} glass  @param {{at: Point, is: boolean}[]} taps */
export function tapMarks(ctx, glass, taps) {
  for (const { at, is } of taps) {
    const [x, y] = glass.toGlass(at);
    disc(ctx, [x, y], 13, light);
    disc(ctx, [x, y], 11, is ? woad : madder);
    ctx.strokeStyle = light;
    ctx.lineWidth = 3;
    ctx.lineCap = 'round';
    ctx.beginPath();
    line(ctx, [x - 5, y], [x + 5, y]);
    if (is) line(ctx, [x, y - 5], [x, y + 5]);
    ctx.stroke();
  }
}

/** The points between those that can be taken hold of, small. @param {Ctx} ctx  @param {Glass} glass  @param {Ring[]} rings */
export function smallPoints(ctx, glass, rings) {
  for (const ring of rings) for (const at of ring) disc(ctx, glass.toGlass(at), 1.6, dark);
}
