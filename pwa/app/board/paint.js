// What is drawn on the board. A photo can be of any colour, so every mark is dark with a light halo: one of the two is seen on whatever lies below.
import { toGlass } from './geometry.js';

/** @typedef {import('./geometry.js').Point} Point  @typedef {import('./geometry.js').View} View  @typedef {import('./geometry.js').Size} Size
 * @typedef {CanvasRenderingContext2D} Ctx
 * What a layer is given: how the picture lies on the glass. In the loupe it is drawn once more, larger, with `loupe` true.
 * @typedef {{scale: number, px: number, loupe: boolean, size: Size, toGlass: (at: Point) => Point, toPicture: (at: Point) => Point}} Glass
 */

export const dark = '#10171a';
export const light = '#fbfcfb';
export const weld = '#ffd23e';
export const woad = '#12406d';
export const madder = '#861f1c';

/** Strokes a path twice: the halo, then the line. @param {Ctx} ctx  @param {() => void} path  @param {{width?: number, halo?: number, colour?: string, under?: string, dash?: number[]}} [how] */
export function haloed(ctx, path, { width = 2, halo = 2, colour = dark, under = light, dash = [] } = {}) {
  ctx.lineCap = dash.length ? 'butt' : 'round';
  ctx.lineJoin = 'round';
  ctx.beginPath();
  path();
  ctx.setLineDash([]);
  ctx.strokeStyle = under;
  ctx.lineWidth = width + 2 * halo;
  ctx.stroke();
  ctx.setLineDash(dash);
  ctx.strokeStyle = colour;
  ctx.lineWidth = width;
  ctx.stroke();
  ctx.setLineDash([]);
}

/** @param {Ctx} ctx  @param {Point} from  @param {Point} to */
export const line = (ctx, from, to) => { ctx.moveTo(...from); ctx.lineTo(...to); };
/** @param {Ctx} ctx  @param {Point} at  @param {number} radius */
export const ring = (ctx, [x, y], radius) => { ctx.moveTo(x + radius, y); ctx.arc(x, y, radius, 0, 2 * Math.PI); };
/** @param {Ctx} ctx  @param {Point} at  @param {number} radius  @param {string} colour */
export function disc(ctx, at, radius, colour) {
  ctx.beginPath();
  ring(ctx, at, radius);
  ctx.fillStyle = colour;
  ctx.fill();
}

/** Four short strokes about a place, with the place itself left free. @param {Ctx} ctx  @param {Point} at  @param {number} from  @param {number} to */
function cross(ctx, [x, y], from, to) {
  for (const [dx, dy] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) line(ctx, [x + dx * from, y + dy * from], [x + dx * to, y + dy * to]);
}

/** @param {Ctx} ctx  @param {Point} at on the glass  @param {string} kind  @param {boolean} chosen */
export function mark(ctx, at, kind, chosen) {
  if (kind === 'point') {
    if (chosen) haloed(ctx, () => ring(ctx, at, 9), { colour: weld, under: dark, width: 3 });
    disc(ctx, at, 5.5, light);
    disc(ctx, at, 3.5, dark);
    return;
  }
  const radius = kind === 'corner' ? 11 : 8;
  haloed(ctx, () => { ring(ctx, at, radius); cross(ctx, at, radius, radius + 6); });
  if (chosen) haloed(ctx, () => ring(ctx, at, radius), { colour: weld, under: dark, width: 3, halo: 1.5 });
  disc(ctx, at, 2.2, light);
  disc(ctx, at, 1.3, dark);
}

/** What a thumb holds a handle by: a knob on a stem. @param {Ctx} ctx  @param {Point} at on the glass  @param {Point} grip */
export function knob(ctx, at, grip) {
  const far = Math.hypot(grip[0] - at[0], grip[1] - at[1]) || 1;
  const [dx, dy] = [(grip[0] - at[0]) / far, (grip[1] - at[1]) / far];
  haloed(ctx, () => line(ctx, [at[0] + dx * 17, at[1] + dy * 17], [grip[0] - dx * 16, grip[1] - dy * 16]), { width: 2 });
  disc(ctx, grip, 18, light);
  disc(ctx, grip, 16, dark);
  const [x, y] = grip;
  ctx.strokeStyle = weld;
  ctx.lineWidth = 2;
  ctx.beginPath();
  for (const [ax, ay] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) {
    const tip = /** @type {Point} */ ([x + ax * 9, y + ay * 9]);
    line(ctx, grip, tip);
    ctx.moveTo(tip[0] - ax * 3 + ay * 3, tip[1] - ay * 3 + ax * 3);
    ctx.lineTo(...tip);
    ctx.lineTo(tip[0] - ax * 3 - ay * 3, tip[1] - ay * 3 - ax * 3);
  }
  ctx.stroke();
}

/** The focus of the keyboard, about a handle or about the middle of the glass. @param {Ctx} ctx  @param {Point} at */
export const focusRing = (ctx, at) => haloed(ctx, () => ring(ctx, at, 22), { width: 3, dash: [7, 5], colour: dark });

/** Where Enter would put something, without a pointer. @param {Ctx} ctx  @param {Point} at */
export const aim = (ctx, at) => haloed(ctx, () => cross(ctx, at, 5, 16));

/**
 * A chip with words on it. Gives back where it lies, to know whether it was tapped.
 * @param {Ctx} ctx  @param {string} text  @param {Point} at its middle, on the glass  @param {{ground?: string, ink?: string, size?: Size, struck?: boolean}} [how] size: of the glass, to stay on it
 * @returns {{left: number, top: number, right: number, bottom: number}}
 */
export function label(ctx, text, at, { ground = dark, ink = light, size, struck = false } = {}) {
  ctx.font = '600 14px system-ui, "DejaVu Sans", sans-serif';
  const width = Math.ceil(ctx.measureText(text).width) + 16;
  const height = 26;
  let [x, y] = [at[0] - width / 2, at[1] - height / 2];
  if (size) [x, y] = [Math.max(4, Math.min(x, size.width - width - 4)), Math.max(4, Math.min(y, size.height - height - 4))];
  ctx.fillStyle = ground;
  ctx.strokeStyle = ink;
  ctx.lineWidth = 1.5;
  ctx.beginPath();
  ctx.roundRect(x, y, width, height, 8);
  ctx.fill();
  ctx.stroke();
  ctx.fillStyle = ink;
  ctx.textAlign = 'center';
  ctx.textBaseline = 'middle';
  ctx.fillText(text, x + width / 2, y + height / 2 + 1);
  if (struck) ctx.fillRect(x + 6, y + height / 2 - .75, width - 12, 1.5);
  return { left: x, top: y, right: x + width, bottom: y + height };
}

/** The same picture at a half, a quarter, ...: drawn small from them it is smooth, and quick enough for every frame. @param {CanvasImageSource} image  @param {number} width  @param {number} height */
export function levelsOf(image, width, height) {
  const levels = [{ image, width, height }];
  for (let [w, h] = [width >> 1, height >> 1]; w >= 256 && h >= 256; w >>= 1, h >>= 1) {
    const canvas = Object.assign(document.createElement('canvas'), { width: w, height: h });
    const ctx = canvas.getContext('2d', { alpha: false });
    if (!ctx) break;
    ctx.imageSmoothingQuality = 'high';
    const from = levels[levels.length - 1];
    ctx.drawImage(from.image, 0, 0, from.width, from.height, 0, 0, w, h);
    levels.push({ image: canvas, width: w, height: h });
  }
  return levels;
}

const PIXELS = 3; // CSS px to one of the picture, from which each is seen as a square

/** The part of the picture that is seen. @param {Ctx} ctx  @param {ReturnType<typeof levelsOf>} levels  @param {Size} picture  @param {View} view  @param {{left: number, top: number, right: number, bottom: number}} on  @param {number} dpr */
export function paintPicture(ctx, levels, picture, view, on, dpr) {
  const wanted = picture.width * view.scale * dpr;
  const level = levels.findLast((one) => one.width >= wanted * .9) ?? levels[0];
  const [across, down] = [level.width / picture.width, level.height / picture.height];
  const left = Math.max(0, Math.floor((on.left - view.x) / view.scale));
  const top = Math.max(0, Math.floor((on.top - view.y) / view.scale));
  const right = Math.min(picture.width, Math.ceil((on.right - view.x) / view.scale));
  const bottom = Math.min(picture.height, Math.ceil((on.bottom - view.y) / view.scale));
  if (right <= left || bottom <= top) return;
  ctx.imageSmoothingEnabled = view.scale < PIXELS;
  ctx.drawImage(level.image, left * across, top * down, (right - left) * across, (bottom - top) * down, ...toGlass(view, [left, top]), (right - left) * view.scale, (bottom - top) * view.scale);
}

/** What is round the loupe and in its middle. @param {Ctx} ctx  @param {Point} at  @param {number} radius  @param {number} pixel CSS px to one of the picture in it */
export function loupeRim(ctx, at, radius, pixel) {
  haloed(ctx, () => ring(ctx, at, radius), { width: 3, halo: 1.5 });
  const gap = Math.max(5, pixel / 2 + 2);
  haloed(ctx, () => cross(ctx, at, gap, radius - 4), { width: 1.25, halo: 1 });
  disc(ctx, at, 1.8, light);
  disc(ctx, at, 1.1, dark);
}
