// The glass at true size: a view as large as the finished piece, moved about by a finger, with a ruler along the edge; and the card by
// which the glass is measured. One place for its sums: CSS px to a mm, and how sure that is.

/** An identification card of size ID-1, mm: ISO/IEC 7810:2019, 5.1 (an unused one: 85.47 to 85.72 by 53.92 to 54.03). */
export const card = { long: 85.6, short: 53.98, corner: 3.18 };
/** How far off the eye lays an edge on a line, mm, at most; and how far off a card may be. Both taken as rectangular (GUM 4.3.7). */
const eye = 0.35;
const made = 0.13;

/** What may be: from a wall of televisions to the finest phone. */
export const range = { least: 1.5, most: 14 };

/** The standard uncertainty, as a share, of a glass measured by so long an edge of the card. @param {number} mm */
export const sureness = (mm) => Math.hypot(eye, made) / Math.sqrt(3) / mm;

/** How far off it may be, twice the standard uncertainty, as a share and in mm over 20 cm. @param {number} u */
export const farOff = (u) => ({ share: Math.round(u * 2000) / 1000, mm: Math.round(u * 2000) / 5 });

/** The glass as it is now: what was measured on it holds as long as this is the same. */
export function glassNow() {
  const [width, height] = [screen.width, screen.height].sort((a, b) => a - b); // whichever way it is held
  return { dpr: devicePixelRatio, width, height };
}

/** Whether what was measured still holds. @param {{dpr: number, width: number, height: number} | null} kept */
export function holds(kept) {
  const now = glassNow();
  return Boolean(kept) && Math.abs(/** @type {any} */ (kept).dpr - now.dpr) < 0.01 && kept?.width === now.width && kept?.height === now.height;
}

/** Whether two fingers have zoomed the page: then nothing on it is as large as it says. */
export const pinched = () => Math.abs((globalThis.visualViewport?.scale ?? 1) - 1) > 0.01;

/** What to begin with, CSS px to a mm: about 160 px an inch where a finger is the pointer, else 96. */
export const guess = () => (matchMedia('(any-pointer: coarse)').matches ? 6.2 : 3.78);

/** One step: a device px over the card's long edge; six when in a hurry. @param {number} px_per_mm  @param {number} steps  @param {boolean} [fast] */
export const stepped = (px_per_mm, steps, fast = false) => bounded(px_per_mm + ((fast ? 6 : 1) * steps) / devicePixelRatio / card.long);

/** @param {number} px_per_mm */
export const bounded = (px_per_mm) => Math.min(range.most, Math.max(range.least, px_per_mm));

/** The slider goes by equal shares: 0 to 1000 from the least to the most. @param {number} px_per_mm */
export const toSlider = (px_per_mm) => Math.round((1000 * Math.log(px_per_mm / range.least)) / Math.log(range.most / range.least));
/** @param {number} at */
export const fromSlider = (at) => bounded(range.least * (range.most / range.least) ** (at / 1000));

/**
 * How the card lies on a glass of this size, CSS px: along it where it fits so, else upright, else only its short edge counts.
 * @param {number} px_per_mm  @param {{width: number, height: number}} box
 */
export function cardOn(px_per_mm, { width, height }) {
  const [long, short] = [card.long * px_per_mm, card.short * px_per_mm];
  if (long <= width - 48 && short <= height - 24) return { width: long, height: short, by: card.long, radius: card.corner * px_per_mm };
  return { width: short, height: long, by: long <= height - 24 ? card.long : card.short, radius: card.corner * px_per_mm };
}

/** @param {HTMLCanvasElement} canvas  @returns {{ctx: CanvasRenderingContext2D, width: number, height: number}} */
function ready(canvas) {
  const { clientWidth: width, clientHeight: height } = canvas;
  const [w, h] = [Math.round(width * devicePixelRatio), Math.round(height * devicePixelRatio)];
  if (canvas.width !== w || canvas.height !== h) Object.assign(canvas, { width: w, height: h });
  const ctx = /** @type {CanvasRenderingContext2D} */ (canvas.getContext('2d'));
  ctx.setTransform(devicePixelRatio, 0, 0, devicePixelRatio, 0, 0);
  ctx.clearRect(0, 0, width, height);
  return { ctx, width, height };
}

/** @param {HTMLCanvasElement} canvas */
function colours(canvas) {
  const style = getComputedStyle(canvas);
  const of = (/** @type {string} */ name) => style.getPropertyValue(name).trim();
  return { ink: of('--ink'), ink2: of('--ink2'), sheet: of('--sheet'), wool: of('--wool'), woad: of('--woad'), madder: of('--madder'), sunk: of('--sunk'), weld: of('--weld-soft') };
}

/**
 * The card, its fixed corner at the top left. What lies beyond is dark, so that a rim of light is seen as long as the drawn card is the
 * larger; its moving edges run on across the glass, so that they are seen beside the card that lies on it.
 * @param {HTMLCanvasElement} canvas  @param {number} px_per_mm
 */
export function drawCard(canvas, px_per_mm) {
  const { ctx, width, height } = ready(canvas);
  const c = colours(canvas);
  const at = cardOn(px_per_mm, { width, height });
  const [x, y] = [20, 12];
  ctx.fillStyle = c.sunk;
  ctx.fillRect(0, 0, width, height);
  ctx.beginPath();
  ctx.roundRect(x, y, at.width, at.height, at.radius);
  ctx.fillStyle = c.sheet;
  ctx.fill();
  ctx.lineWidth = 1 / devicePixelRatio;
  ctx.strokeStyle = c.ink;
  ctx.stroke();
  edges(ctx, c, [x, y, x + at.width, y + at.height], width, height);
  ctx.strokeStyle = c.ink;
  ctx.beginPath();
  ctx.moveTo(x + 12, y + 44);
  ctx.lineTo(x + 12, y + 12);
  ctx.lineTo(x + 44, y + 12);
  ctx.lineWidth = 4;
  ctx.lineJoin = 'miter';
  ctx.stroke();
  return at;
}

/** @param {CanvasRenderingContext2D} ctx  @param {ReturnType<typeof colours>} c  @param {number[]} box  @param {number} width  @param {number} height */
function edges(ctx, c, [left, top, right, bottom], width, height) {
  const line = (/** @type {number[]} */ [ax, ay, bx, by], /** @type {string} */ colour) => {
    ctx.beginPath();
    ctx.moveTo(ax, ay);
    ctx.lineTo(bx, by);
    ctx.strokeStyle = colour;
    ctx.lineWidth = 2 / devicePixelRatio;
    ctx.stroke();
  };
  line([left, 0, left, height], c.ink2);
  line([0, top, width, top], c.ink2);
  line([right, 0, right, height], c.woad);
  line([0, bottom, width, bottom], c.woad);
}

/** @param {[number, number][][]} rings */
function pathOf(rings) {
  const path = new Path2D();
  for (const ring of rings) {
    ring.forEach(([x, y], nth) => (nth ? path.lineTo(x, y) : path.moveTo(x, y)));
    path.closePath();
  }
  return path;
}

/**
 * A view at true size on a canvas.
 * @typedef {{image: CanvasImageSource | null, place: {left_mm: number, top_mm: number, width_mm: number, height_mm: number} | null, rings: [number, number][][], what: 'photo' | 'outline', wool?: boolean, arrows?: [number, number][][], labels?: {text: string, at: [number, number]}[]}} Shown  wool: core wool, that is filled yellow; labels stand upright however it is turned
 * @param {HTMLCanvasElement} canvas
 */
export function trueGlass(canvas) {
  /** @type {Shown} */
  let shown = { image: null, place: null, rings: [], what: 'photo' };
  let px_per_mm = 4;
  let turn = 0;
  /** Where the middle of the view lies from the middle of the glass, CSS px. */
  let x = 0;
  let y = 0;
  let left = false; // the ruler on the left

  /** What is seen of the view, mm: about its outline where only that is shown, else all of the picture. */
  function box() {
    const points = shown.rings.flat();
    if (points.length && (shown.what === 'outline' || !shown.place)) {
      const [xs, ys] = [points.map((p) => p[0]), points.map((p) => p[1])];
      const [l, t] = [Math.min(...xs), Math.min(...ys)];
      return { left: l, top: t, width: Math.max(...xs) - l, height: Math.max(...ys) - t };
    }
    const place = shown.place ?? { left_mm: 0, top_mm: 0, width_mm: 1, height_mm: 1 };
    return { left: place.left_mm, top: place.top_mm, width: place.width_mm, height: place.height_mm };
  }

  /** How far it may be moved: always a third of the glass still shows it. */
  function bound() {
    const { clientWidth: w, clientHeight: h } = canvas;
    const { width, height } = box();
    const [across, down] = (turn % 2 ? [height, width] : [width, height]).map((mm) => mm * px_per_mm);
    x = Math.max(-(across + w) / 2 + w / 3, Math.min((across + w) / 2 - w / 3, x));
    y = Math.max(-(down + h) / 2 + h / 3, Math.min((down + h) / 2 - h / 3, y));
  }

  function draw() {
    if (!canvas.clientWidth) return;
    const { ctx, width, height } = ready(canvas);
    const c = colours(canvas);
    ctx.fillStyle = c.sheet;
    ctx.fillRect(0, 0, width, height);
    bound();
    const at = box();
    ctx.save();
    ctx.translate(width / 2 + x, height / 2 + y);
    ctx.rotate((turn * Math.PI) / 2);
    ctx.scale(px_per_mm, px_per_mm);
    ctx.translate(-at.left - at.width / 2, -at.top - at.height / 2);
    ctx.imageSmoothingQuality = 'high';
    if (shown.what === 'photo' && shown.image && shown.place) ctx.drawImage(shown.image, shown.place.left_mm, shown.place.top_mm, shown.place.width_mm, shown.place.height_mm);
    if (shown.what === 'outline') outline(ctx, c);
    const where = ctx.getTransform();
    ctx.restore();
    labels(ctx, c, where);
    rulerOn(ctx, c, width, height);
  }

  /** @param {CanvasRenderingContext2D} ctx  @param {ReturnType<typeof colours>} c */
  function outline(ctx, c) {
    const path = pathOf(shown.rings);
    ctx.globalAlpha = shown.wool ? 1 : 0.22;
    ctx.fillStyle = shown.wool ? c.weld : c.wool;
    ctx.fill(path, 'evenodd');
    ctx.globalAlpha = 1;
    ctx.strokeStyle = c.ink;
    ctx.lineJoin = 'round';
    ctx.lineWidth = 1.5 / px_per_mm;
    ctx.stroke(path);
    ctx.fillStyle = c.madder;
    ctx.fill(pathOf(shown.arrows ?? []));
  }

  /** Words upright, at places of the view. @param {CanvasRenderingContext2D} ctx  @param {ReturnType<typeof colours>} c  @param {DOMMatrix} where */
  function labels(ctx, c, where) {
    ctx.font = '620 14px system-ui, "DejaVu Sans", sans-serif';
    ctx.textAlign = 'center';
    ctx.textBaseline = 'middle';
    ctx.lineJoin = 'round';
    for (const { text, at } of shown.labels ?? []) {
      const point = where.transformPoint({ x: at[0], y: at[1] });
      const x = point.x / devicePixelRatio;
      const y = point.y / devicePixelRatio;
      ctx.strokeStyle = c.sheet;
      ctx.lineWidth = 4;
      ctx.strokeText(text, x, y);
      ctx.fillStyle = c.ink;
      ctx.fillText(text, x, y);
    }
  }

  /** Millimetres along the edge, the numbers in centimetres. @param {CanvasRenderingContext2D} ctx  @param {ReturnType<typeof colours>} c  @param {number} width  @param {number} height */
  function rulerOn(ctx, c, width, height) {
    const edge = left ? 0 : width;
    const way = left ? 1 : -1;
    const band = 40;
    ctx.fillStyle = c.sheet;
    ctx.globalAlpha = 0.86;
    ctx.fillRect(left ? 0 : width - band, 0, band, height);
    ctx.globalAlpha = 1;
    ctx.fillStyle = c.ink;
    ctx.font = '640 14px system-ui, "DejaVu Sans", sans-serif';
    ctx.textBaseline = 'middle';
    ctx.textAlign = left ? 'left' : 'right';
    const line = 1.2;
    for (let mm = 0; mm * px_per_mm < height - 4; mm++) {
      const at = 4 + mm * px_per_mm;
      const long = mm % 10 === 0 ? 18 : mm % 5 === 0 ? 13 : 8;
      if (px_per_mm < 2.4 && mm % 5) continue;
      ctx.fillRect(left ? edge : edge - long, at - line / 2, long, line);
      if (mm % 10 === 0 && mm) ctx.fillText(String(mm / 10), edge + way * 22, at);
    }
  }

  return {
    draw,
    /** @param {Shown} what  @param {boolean} [anew] in the middle */
    show(what, anew = false) { shown = what; if (anew) { x = y = 0; turn = upright(); } draw(); },
    /** @param {number} size CSS px to a mm  @param {'left' | 'right'} side where the ruler stands */
    set(size, side) { px_per_mm = size; left = side === 'left'; },
    /** @param {number} dx  @param {number} dy CSS px */
    move(dx, dy) { x += dx; y += dy; draw(); },
    middle() { x = y = 0; draw(); },
    turn() { turn = (turn + 1) % 4; [x, y] = [-y, x]; draw(); },
    /** Whether it is larger than the glass. */
    larger() {
      const { width, height } = box();
      const [across, down] = turn % 2 ? [height, width] : [width, height];
      return across * px_per_mm > canvas.clientWidth || down * px_per_mm > canvas.clientHeight;
    },
  };

  /** A view that is longer than the glass is wide lies along the glass where it then fits better. */
  function upright() {
    const { width, height } = box();
    const [w, h] = [canvas.clientWidth, canvas.clientHeight];
    const fit = (/** @type {number} */ across, /** @type {number} */ down) => Math.min(w / across, h / down) / px_per_mm;
    return fit(width, height) < 1 && fit(height, width) > fit(width, height) * 1.15 ? 1 : 0;
  }
}
