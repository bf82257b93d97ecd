// What a hand sets on a picture: two pins on a part, or along it to a place; and outlines. Each returns when it is on the disk.
import { pictureOf } from './book.js';
import { keep } from './change.js';
import { fail } from './codes.js';
import { apart, name, off, pinU, points, rings as ringsOf, words } from './fields.js';
import { minute, newId } from './ids.js';
import { lastOrder, made, need, partEdits, partIn } from './intents.js';

/**
 * @typedef {import('./change.js').Look} Look
 * @typedef {import('./change.js').Edit} Edit
 * @typedef {import('./store.js').Rec} Rec
 * @typedef {import('./fields.js').Point} Point
 * @typedef {import('./book.js').BookPicture} BookPicture
 */

/** Where points may lie: on the picture, or half of it beside. @param {Point[]} all  @param {{width: number, height: number}} picture  @param {string} at */
export function near(all, { width, height }, at) {
  for (const [x, y] of all) if (x < -width / 2 || x > width * 1.5 || y < -height / 2 || y > height * 1.5) fail('point-outside', { at });
}

/**
 * The sitting that pins on a picture belong to: the last one on it that still says what the picture says, and that no kept check
 * covers; none when there is no such.
 * @param {Rec[]} records of the project  @param {BookPicture} picture
 */
function openSitting(records, picture) {
  const covered = new Set(records.filter((rec) => rec.kind === 'check' && !rec.gone).flatMap((rec) => rec.fields.fact?.[0].sittings ?? []));
  const fits = records.filter(({ kind, id, gone, fields }) => {
    const fact = fields.fact?.[0];
    return kind === 'sitting' && !gone && fact?.picture === picture.id && fact.method === 'photo' && fact.of === picture.of && (fact.view ?? null) === picture.view && !covered.has(id);
  });
  return fits.sort((a, b) => a.fields.fact[1][0] - b.fields.fact[1][0]).at(-1);
}

/** A part's two pins, from the end that is nearer to where a place is counted from: they may have been set the other way round. @param {Point[]} part  @param {Point} start @returns {Point[]} */
export function startingAt([a, b], [x, y]) {
  const far = (/** @type {Point} */ end) => Math.hypot(end[0] - x, end[1] - y);
  return far(b) < far(a) ? [b, a] : [a, b];
}

/** Where along the line through two points a third one lies, as a length from the first. @param {Point[]} line  @param {Point} at */
function reach([[ax, ay], [bx, by]], [x, y]) {
  const length = Math.hypot(bx - ax, by - ay);
  return Math.max(0, ((x - ax) * (bx - ax) + (y - ay) * (by - ay)) / length);
}

/** The pins of a part on a picture that were kept last, or null. @param {Rec[]} records  @param {string} picture  @param {string} part @returns {Point[] | null} */
function pinsOf(records, picture, part) {
  const sittings = new Set(records.filter(({ kind, gone, fields }) => kind === 'sitting' && !gone && fields.fact?.[0].picture === picture).map((rec) => rec.id));
  const set = records.filter(({ kind, gone, fields }) => {
    const fact = fields.fact?.[0];
    return kind === 'reading' && !gone && sittings.has(fact?.sitting) && fact.part === part && !fact.place && fact.pins;
  });
  return set.sort((a, b) => a.fields.fact[1][0] - b.fields.fact[1][0]).at(-1)?.fields.fact[0].pins ?? null;
}

/**
 * Keeps two pins on a picture as a reading: of a part, of a place along a part (the first pin then stands at the part's start), or of a
 * new part that is only named yet. `instead` is a reading that this one takes the place of: it is struck out.
 * @param {{picture: string, part?: string, place?: string, name?: string, axis?: 'length' | 'width', pins: Point[], pin_px?: number | null, off_mm?: number | null, instead?: string, draft?: string}} what
 * @returns {Promise<{id: string, sitting: string, part: string}>}
 */
export async function keepPins({ picture: pictureId, part: partId, place, name: called, axis = 'length', pins: given, pin_px = null, off_mm = null, instead, draft }) {
  const pins = points(given, 2, 'pins');
  if (!place) apart(pins, 'pins');
  const more = { pin_px: pin_px === null ? null : pinU(pin_px), off_mm: off_mm === null ? null : off(off_mm) };
  const [id, fresh] = [newId(), newId()];
  const named = partId || place ? null : name(called);
  const ids = { sitting: '', part: '' };
  await keep(async (look) => {
    const rec = await need(look, 'picture', pictureId);
    const picture = pictureOf(rec);
    near(pins, picture, 'pins');
    if (picture.of !== 'subject' && (await need(look, 'piece', picture.of)).project !== rec.project) fail('part-elsewhere', { piece: picture.of });
    const records = await look.ofProject(rec.project);
    const anew = named === null ? null : partEdits(rec.project, [{ name: named, axis }], lastOrder(records));
    ids.part = anew ? anew.ids[0] : place ? await partOf(look, place, rec.project) : (await partIn(look, /** @type {string} */ (partId), rec.project)).id;
    const sitting = openSitting(records, picture);
    ids.sitting = sitting?.id ?? fresh;
    const along = place ? pinsOf(records, picture.id, ids.part) : null;
    const value = along ? reach(startingAt(along, pins[0]), pins[1]) : Math.hypot(pins[1][0] - pins[0][0], pins[1][1] - pins[0][1]);
    const fact = { sitting: ids.sitting, part: ids.part, place: place ?? null, value, denominator: null, typed: null, pins, ...more };
    if (draft !== undefined) look.dropDraft(draft);
    return [
      ...anew?.edits ?? [], ...(sitting ? [] : made('sitting', fresh, { project: rec.project, fact: begun(picture) })), ...made('reading', id, { project: rec.project, fact }),
      ...(instead ? await struck(look, instead, rec.project) : []),
    ];
  });
  return { id, ...ids };
}

/** The fact of a sitting that begins on a picture now. @param {BookPicture} picture */
function begun({ id, of, view }) {
  return { of, method: 'photo', unit: null, view, denominator: null, arm_mm: null, picture: id, made: minute() };
}

/** @param {Look} look  @param {string} place  @param {string} project */
async function partOf(look, place, project) {
  const rec = await need(look, 'place', place);
  if (rec.project !== project) fail('part-elsewhere', { place });
  return (await partIn(look, rec.fields.part?.[0], project)).id;
}

/** @param {Look} look  @param {string} id  @param {string} project @returns {Promise<Edit[]>} */
async function struck(look, id, project) {
  const rec = await need(look, 'reading', id);
  if (rec.project !== project) fail('part-elsewhere', { reading: id });
  return rec.gone ? [] : made('reading', id, { struck: true });
}

/**
 * Keeps an outline on a picture, or another shape or name of one that is there.
 * @param {{picture: string, id?: string, rings: any, name?: string, draft?: string}} what rings as lists of points, outer ones and holes @returns {Promise<{id: string}>}
 */
export async function keepOutline({ picture: pictureId, id, rings: given, name: called, draft }) {
  const rings = ringsOf(given);
  const label = called === undefined ? undefined : words(called, 'name');
  const own = id ?? newId();
  await keep(async (look) => {
    const rec = await need(look, 'picture', pictureId);
    for (const ring of rings) near(pairs(ring), pictureOf(rec), 'rings');
    if (draft !== undefined) look.dropDraft(draft);
    if (id === undefined) return made('outline', own, { project: rec.project, picture: rec.id, name: label ?? '', rings });
    const there = await need(look, 'outline', id);
    if (there.fields.picture?.[0] !== rec.id) fail('no-such-record', { kind: 'outline', id });
    return [...made('outline', own, { rings }), ...(label === undefined ? [] : made('outline', own, { name: label }))];
  });
  return { id: own };
}

/** A ring as a list of points. @param {number[]} flat @returns {Point[]} */
export const pairs = (flat) => Array.from({ length: flat.length >> 1 }, (_, i) => [flat[2 * i], flat[2 * i + 1]]);
