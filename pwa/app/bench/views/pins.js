// pins {picture, now?: {pins, pin_px, part?, place?, off_mm?}} -> {
//   unit: {part, name, px, pins}|null,       the part that lengths are told in on this picture where it has no scale; null when it is not measured here
//   unit_name: of that part, measured here or not; ''
//   now: Figure|null,                        two pins that are not kept yet
//   notes: [code]                            what the engine has to say of these
//   kept: {[reading id]: Figure}             those that are
// }
// Figure = {px, u_px, mm|null, u_mm: with the scale's share|null, text: the mm as she reads them|null, u_text|null, at|null, u_at|null,
//           ratio: in the unit|null, u_ratio|null, off_share|null}
import { bookOf } from '../book.js';
import { fail } from '../codes.js';
import { call } from '../engine.js';
import { measured } from '../photos.js';
import { settings } from '../settings.js';
import { lengths, unitOf } from '../sides.js';
import { ofProject, record } from '../store.js';

/** @typedef {import('../book.js').Book} Book  @typedef {import('../book.js').BookReading} BookReading  @typedef {import('../photos.js').Item} Item  @typedef {import('../photos.js').Scale} Scale
 * @typedef {import('../fields.js').Point} Point
 * @typedef {{pins: Point[], pin_px: number, part?: string | null, place?: string | null, off_mm?: number | null}} Now */

/** @param {{picture: string, now?: Now | null}} what */
export async function pins({ picture: id, now = null }) {
  const rec = await record('picture', id);
  const [records, own] = await Promise.all([ofProject(rec.project), settings()]);
  const book = bookOf(records, rec.project);
  const picture = book.pictures.get(id) ?? fail('no-such-record', { kind: 'picture', id });
  const { scale, items } = await measured(book, id);
  const on = book.readings.filter((r) => r.at.method === 'photo' && r.at.picture === id && r.pins);
  const living = on.filter((r) => !r.struck && !r.at.struck);
  const unit = unitHere(book, living, items);
  const { item: fresh, notes } = now ? await measureNow(picture, now, living, scale !== null) : { item: null, notes: [] };
  const list = [...on.map((r) => ({ id: r.id, part: r.part, place: r.place, item: items.get(r.id) })), { id: '', part: now?.part ?? '', place: now?.place ?? null, item: fresh ?? undefined }];
  const sure = list.map(({ item }) => (item && item.mm !== null && scale ? Math.hypot(item.u_mm ?? 0, item.mm * scale.u_share) : null));
  const texts = await lengths(list.flatMap(({ item }, i) => [item?.mm ?? null, twoDigits(sure[i])]), own);
  const figures = list.map(({ part, place, item }, i) => (item ? { ...figureOf(item, part, Boolean(place), unit, along(living, part)), u_mm: sure[i], text: texts[2 * i] ?? null, u_text: texts[2 * i + 1] ?? null } : null));
  return { unit, unit_name: book.part.get(unitOf(book) ?? '')?.name ?? '', now: figures[figures.length - 1], notes, kept: Object.fromEntries(list.slice(0, -1).map((one, i) => [one.id, figures[i]])) };
}

/** The part others are told in, by its pins here that were kept last. @param {Book} book  @param {BookReading[]} living  @param {Map<string, Item>} items */
function unitHere(book, living, items) {
  const part = unitOf(book);
  const reading = living.findLast((r) => r.part === part && !r.place);
  const item = reading && items.get(reading.id);
  return reading && item && item.px > 0 ? { part: reading.part, name: book.part.get(reading.part)?.name ?? '', px: item.px, u_px: item.u_px, pins: /** @type {Point[]} */ (reading.pins) } : null;
}

/** @param {BookReading[]} living  @param {string} part @returns {Point[] | null} the pins of a part that were kept last */
const along = (living, part) => /** @type {Point[] | undefined} */ (living.findLast((r) => r.part === part && !r.place)?.pins) ?? null;

/** @param {import('../book.js').BookPicture} picture  @param {Now} now  @param {BookReading[]} living  @param {boolean} scaled @returns {Promise<{item: Item | null, notes: string[]}>} */
async function measureNow({ width, height, plane }, { pins, pin_px, part, place, off_mm }, living, scaled) {
  const line = place && part ? along(living, part) : null;
  const ends = line && Math.hypot(line[1][0] - pins[0][0], line[1][1] - pins[0][1]) < Math.hypot(line[0][0] - pins[0][0], line[0][1] - pins[0][1]) ? [line[1], line[0]] : line;
  const item = { id: 'now', pins, pin_px, ...(typeof off_mm === 'number' ? { off_mm } : {}), ...(ends ? { along: ends } : {}) };
  const answer = /** @type {any} */ (await call(/** @type {any} */ ('measure-photo'), /** @type {any} */ ({ width_px: width, height_px: height, plane: scaled ? plane : null, items: [item] })));
  return { item: answer.items[0] ?? null, notes: (answer.notes ?? []).map((/** @type {{code: string}} */ { code }) => code) };
}

/** @param {Item} item  @param {string} part  @param {boolean} place  @param {ReturnType<typeof unitHere>} unit  @param {Point[] | null} line */
function figureOf({ px, u_px, mm, at, off_share }, part, place, unit, line) {
  const ratio = unit && !place && mm === null && part !== unit.part ? px / unit.px : null;
  const length = line ? Math.hypot(line[1][0] - line[0][0], line[1][1] - line[0][1]) : 0;
  return {
    px, u_px, mm, at, off_share, u_at: place && at !== null && length ? u_px / length : null,
    // Two lengths measured apart: their shares of doubt add up in quadrature (GUM 5.1.6; from memory).
    ratio, u_ratio: ratio && unit ? ratio * Math.hypot(u_px / px, unit.u_px / unit.px) : null,
  };
}

/** A doubt is told to two digits (GUM 7.2.6; from memory). @param {number | null} u */
const twoDigits = (u) => (u === null ? null : Number(u.toPrecision(2)));
