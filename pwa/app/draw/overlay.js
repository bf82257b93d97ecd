// A piece's photo over the outline of its subject: the photo as clear as is wanted, the outline, and where wool stands short or over.
import { dark, disc, haloed, label, light, weld } from '../board/paint.js';

/** @typedef {import('../placing.js').Point} Point  @typedef {import('../placing.js').Place} Place
 * @typedef {CanvasRenderingContext2D} Ctx  @typedef {(at: Point) => Point} ToGlass
 * @typedef {{x: number, y: number, scale: number, turn: number}} OnGlass   how one unit of the photo lies on the glass */

/** @param {Ctx} ctx  @param {ToGlass} toGlass  @param {Point[][]} rings */
function trace(ctx, toGlass, rings) {
  for (const ring of rings) {
    ring.forEach((at, i) => { const [x, y] = toGlass(at); if (i) ctx.lineTo(x, y); else ctx.moveTo(x, y); });
    ctx.closePath();
  }
}

/** @param {Ctx} ctx  @param {{width: number, height: number}} size  @param {ToGlass} toGlass  @param {Point[][]} rings */
function traceOutside(ctx, size, toGlass, rings) {
  ctx.rect(-2, -2, size.width + 4, size.height + 4);
  trace(ctx, toGlass, rings);
}

/** What the subject is, under a photo that is seen through. @param {Ctx} ctx  @param {ToGlass} toGlass  @param {Point[][]} rings  @param {string} colour */
export function filled(ctx, toGlass, rings, colour) {
  ctx.beginPath();
  trace(ctx, toGlass, rings);
  ctx.fillStyle = colour;
  ctx.fill('evenodd');
}

/** @param {Ctx} ctx  @param {{image: CanvasImageSource, width: number, height: number}[]} levels  @param {{width: number, height: number}} picture  @param {OnGlass} on  @param {number} alpha  @param {number} dpr */
export function photo(ctx, levels, picture, { x, y, scale, turn }, alpha, dpr) {
  const level = levels.findLast((one) => one.width >= picture.width * scale * dpr * 0.9) ?? levels[0];
  if (!level) return;
  ctx.save();
  ctx.globalAlpha = alpha;
  ctx.translate(x, y);
  ctx.rotate(turn);
  ctx.scale(scale, scale);
  ctx.drawImage(level.image, 0, 0, picture.width, picture.height);
  ctx.restore();
}

/** The outline, over all: it is what the wool is to reach. @param {Ctx} ctx  @param {ToGlass} toGlass  @param {Point[][]} rings */
export const outline = (ctx, toGlass, rings) => haloed(ctx, () => trace(ctx, toGlass, rings), { width: 2, halo: 1.5 });

const EVERY = 9; // CSS px between the signs in a patch

/** A patch of signs: plus signs where wool is to come, strokes where it is to be pressed in. @param {Ctx} ctx  @param {{width: number, height: number}} size  @param {boolean} add */
function signs(ctx, size, add) {
  ctx.fillStyle = add ? 'rgb(18 64 109 / .62)' : 'rgb(134 31 28 / .6)';
  ctx.fillRect(0, 0, size.width, size.height);
  ctx.beginPath();
  if (add) {
    for (let row = 0, y = 4; y < size.height; y += EVERY, row++) {
      for (let x = row & 1 ? 4 : 4 + EVERY / 2; x < size.width; x += EVERY) { ctx.moveTo(x - 2, y); ctx.lineTo(x + 2, y); ctx.moveTo(x, y - 2); ctx.lineTo(x, y + 2); }
    }
  } else {
    for (let x = -size.height; x < size.width; x += EVERY - 2) { ctx.moveTo(x, size.height); ctx.lineTo(x + size.height, 0); }
  }
  ctx.strokeStyle = light;
  ctx.lineWidth = 1.25;
  ctx.stroke();
}

/** Inside one and outside the other. @param {Ctx} ctx  @param {{width: number, height: number}} size  @param {{rings: Point[][], to: ToGlass}} inside  @param {{rings: Point[][], to: ToGlass}} outside  @param {boolean} add */
function patch(ctx, size, inside, outside, add) {
  ctx.save();
  ctx.beginPath();
  trace(ctx, inside.to, inside.rings);
  ctx.clip('evenodd');
  ctx.beginPath();
  traceOutside(ctx, size, outside.to, outside.rings);
  ctx.clip('evenodd');
  signs(ctx, size, add);
  ctx.restore();
}

/** Where the wool stands short of the outline, and where over it. @param {Ctx} ctx  @param {{width: number, height: number}} size  @param {{rings: Point[][], to: ToGlass}} subject  @param {{rings: Point[][], to: ToGlass}} piece */
export function differences(ctx, size, subject, piece) {
  patch(ctx, size, subject, piece, true);
  patch(ctx, size, piece, subject, false);
}

/** A pin on the photo is a disc, one on the outline a ring; both carry their number. @param {Ctx} ctx  @param {Point} at on the glass  @param {number} n  @param {boolean} onPhoto  @param {boolean} chosen  @param {{width: number, height: number}} size */
export function pin(ctx, at, n, onPhoto, chosen, size) {
  if (chosen) haloed(ctx, () => { ctx.moveTo(at[0] + 14, at[1]); ctx.arc(at[0], at[1], 14, 0, 2 * Math.PI); }, { colour: weld, under: dark, width: 3, halo: 1.5 });
  if (onPhoto) { disc(ctx, at, 8.5, light); disc(ctx, at, 6.5, dark); disc(ctx, at, 1.6, light); } else {
    haloed(ctx, () => { ctx.moveTo(at[0] + 7, at[1]); ctx.arc(at[0], at[1], 7, 0, 2 * Math.PI); }, { width: 2.5 });
    disc(ctx, at, 1.6, dark);
  }
  label(ctx, String(n), [at[0] + (onPhoto ? -22 : 22), at[1] - 20], { size, ground: onPhoto ? dark : light, ink: onPhoto ? light : dark });
}

/** How far the photo's own frame reaches, when it is faint. @param {Ctx} ctx  @param {Point[]} corners on the glass */
export function frame(ctx, corners) {
  ctx.beginPath();
  corners.forEach(([x, y], i) => { if (i) ctx.lineTo(x, y); else ctx.moveTo(x, y); });
  ctx.closePath();
  ctx.setLineDash([6, 6]);
  ctx.strokeStyle = light;
  ctx.lineWidth = 3;
  ctx.stroke();
  ctx.strokeStyle = dark;
  ctx.lineWidth = 1.25;
  ctx.stroke();
  ctx.setLineDash([]);
}
