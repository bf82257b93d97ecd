// What pins on pictures come to: in millimetres where something of known size lies in the picture, else in its px; worked out by the
// engine, once for each picture of a book.
import { Trouble } from './codes.js';
import { call } from './engine.js';
import { startingAt } from './pins.js';

/**
 * @typedef {import('./book.js').Book} Book
 * @typedef {import('./book.js').BookReading} BookReading
 * @typedef {import('./fields.js').Point} Point
 * @typedef {{id: string, px: number, u_px: number, mm: number | null, u_mm: number | null, at: number | null, off_share: number | null}} Item
 * @typedef {{mm_per_px: number, u_share: number, tilt_rad: number | null, distance_mm: number | null, corner_error_px: number | null}} Scale
 * @typedef {{scale: Scale | null, items: Map<string, Item>, notes: {code: string, text: string, items: string[] | null}[], trouble: Trouble | null}} Measured
 */

/** How surely a pin is set when that was not kept with it, px. */
const pinPx = 1;
/** What the engine takes as a share of a length, or of a scale. */
const shares = { least: 1e-5, most: 5 };

/** @type {WeakMap<Book, Map<string, Promise<Measured>>>} */
const kept = new WeakMap();

/** What all pins on a picture come to. @param {Book} book  @param {string} picture @returns {Promise<Measured>} */
export function measured(book, picture) {
  let all = kept.get(book);
  if (!all) kept.set(book, all = new Map());
  const known = all.get(picture) ?? measure(book, picture);
  all.set(picture, known);
  return known;
}

/** @param {Book} book  @param {string} picture @returns {Promise<Measured>} */
async function measure(book, picture) {
  const pinned = book.readings.filter((r) => r.at.method === 'photo' && r.at.picture === picture && r.pins);
  const items = pinned.map((r) => ({
    id: r.id, pins: /** @type {Point[]} */ (r.pins), pin_px: r.pin_px ?? pinPx, ...(typeof r.off_mm === 'number' ? { off_mm: r.off_mm } : {}), ...alongOf(r, pinned),
  }));
  const { plane = null, width = 1, height = 1 } = book.pictures.get(picture) ?? {};
  const ask = { width_px: width, height_px: height, plane: plane && bareOf(plane), items };
  try {
    return told(await measurePhoto(ask), null);
  } catch (error) {
    if (!(error instanceof Trouble) || !error.text) throw error;
    // A known size that says nothing (four corners in a row, say) takes the pins nothing away.
    if (plane) return told(await measurePhoto({ ...ask, plane: null }).catch(() => asKept(pinned)), error);
    return told(asKept(pinned), error);
  }
}

/** Without what may be null in a record and must be left out here. @template {object} T @param {T} one @returns {T} */
export const bareOf = (one) => /** @type {T} */ (Object.fromEntries(Object.entries(one).filter(([, value]) => value !== null)));

/** So many items are measured at once. */
const most = 400;

/** @typedef {import('../types/engine.js').Methods['measure-photo']['request']} Question */

/** @param {Question} request @returns {Promise<any>} */
async function measurePhoto(request) {
  const items = request.items ?? [];
  const lots = [await call('measure-photo', { ...request, items: items.slice(0, most) })];
  for (let at = most; at < items.length; at += most) lots.push(await call('measure-photo', { ...request, items: items.slice(at, at + most) }));
  return { scale: lots[0].scale, notes: lots.flatMap(({ notes }) => notes), items: lots.flatMap(({ items }) => items) };
}

/** @param {{scale: Scale | null, items: Item[], notes: Measured['notes']}} answer  @param {Trouble | null} trouble @returns {Measured} */
const told = ({ scale, items, notes }, trouble) => ({ scale, items: new Map(items.map((item) => [item.id, item])), notes: notes ?? [], trouble });

/** The line of the part that a place lies along, from the pins kept last of it. @param {BookReading} r  @param {BookReading[]} pinned */
function alongOf(r, pinned) {
  const part = r.place ? pinned.findLast((one) => one.part === r.part && !one.place && !one.struck && !one.at.struck) : undefined;
  return part?.pins && r.pins ? { along: startingAt(part.pins, r.pins[0]) } : {};
}

/** What the readings themselves say. @param {BookReading[]} pinned */
const asKept = (pinned) => ({ scale: null, notes: [], items: pinned.map((r) => ({ id: r.id, px: r.value, u_px: (r.pin_px ?? pinPx) * Math.SQRT2, mm: null, u_mm: null, at: null, off_share: null })) });

/**
 * The readings on photos as the engine takes them. All that was set on one photo has one scale, whenever it was set: they are one sitting
 * there, under the name of the first.
 * @param {BookReading[]} readings  @param {Book} book
 */
export async function photoSide(readings, book) {
  const on = readings.filter((r) => r.at.method === 'photo');
  /** @type {Map<string, BookReading[]>} */
  const groups = new Map();
  for (const r of on) {
    const key = r.at.picture ?? r.sitting;
    groups.set(key, [...groups.get(key) ?? [], r]);
  }
  const all = await Promise.all([...groups].map(async ([picture, group]) => oneSitting(group, await measured(book, picture))));
  return { sittings: all.map(({ sitting }) => sitting), readings: all.flatMap(({ readings }) => readings) };
}

/** @param {BookReading[]} group  @param {Measured} measured */
function oneSitting(group, { scale, items }) {
  const id = group[0].sitting;
  const readings = group.map((r) => {
    const item = items.get(r.id);
    const [value, u] = scale ? [item?.mm, item?.u_mm] : [item?.px ?? r.value, item?.u_px];
    return { id: r.id, sitting: id, part: r.part, ...(r.place ? { place: r.place } : {}), value, u };
  });
  // What could not be told in mm would be taken for mm.
  const good = readings.flatMap(({ value, u, ...rest }) => (typeof value === 'number' ? [{ ...rest, value, u: within(u ?? pinPx * Math.SQRT2, value, Boolean(rest.place)) }] : []));
  return { sitting: { id, method: 'photo', ...(scale ? { scale_u: Math.min(1, Math.max(shares.least, scale.u_share)) } : {}) }, readings: good };
}

/** @param {number} u  @param {number} value  @param {boolean} place */
const within = (u, value, place) => (place ? Math.max(u, 1e-5) : Math.min(shares.most * value, Math.max(shares.least * 1.01 * value, u)));
