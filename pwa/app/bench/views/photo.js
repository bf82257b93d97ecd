// photo {id} -> {
//   picture: {id, name, view, of, whose, drawn, width, height, full, thumb, plane: Plane|null, here: the whole one is on this device},
//   project: {id, name, animal, size: {part, mm, typed}|null, size_text}, piece: {id, name}|null, pieces: [{id, name}],
//   parts: [{id, name, axis, view: from where it is seen best, n: living readings on this picture, last: the id of the last of them|null}],
//   places: [{id, name, part, from, n, last}],
//   scale: {mm_per_px, u_share, tilt_rad|null, distance_mm|null, corner_error_px|null, text}|null, plane_trouble: {code, text, ...}|null why the plane gives none,
//   finished_mm_per_px: how many mm of the finished size a px here is (of a piece: its own mm)|null, to_size: finished mm for one mm of this picture's plane|null,
//   notes: [{code, text, items}], readings: [{id, sitting, part, place, name, pins, pin_px, off_mm, px, u_px, mm, u_mm, text: the mm as she reads them|null, at, off_share, made, covered, struck}]
//   counts: [{sitting, unit, unit_name, view, made, readings: [{part, place, name, value, denominator, text}]}]   counted on the same thing with the needle, newest first
//   outlines: [{id, name, rings: [[[x, y], ...], ...], area_mm2, long_mm, long_text, area_text, in_part: {name, ratio}|null, text}],
//   subject_outlines: of a piece's photo: [{id, name, picture, rings, width, height, mm_per_px|null, to_size|null, finished_mm_per_px|null, area_mm2, ..., text}]
//     on the subject's pictures of the same view, or of any view when none is of that one
//   settings, step: the part to measure next|null, in the order of the parts, those not measured on this picture
// }
// outline {picture, rings} -> {area_mm2, long_mm, long_text, area_text, in_part, text}   of an outline that is not kept yet
import { bookOf, livingOf, value } from '../book.js';
import { fail, plain } from '../codes.js';
import { call } from '../engine.js';
import { rings as ringsOf } from '../fields.js';
import { measured } from '../photos.js';
import { pairs } from '../pins.js';
import { settings } from '../settings.js';
import { about, lengths, named, side, sizeOf } from '../sides.js';
import { ofProject, read, record } from '../store.js';
import { viewOf } from '../suggestions.js';
import { figures, rod } from '../traced.js';

/** @typedef {import('../book.js').Book} Book  @typedef {import('../book.js').BookPicture} BookPicture  @typedef {import('../store.js').Rec} Rec  @typedef {import('../settings.js').Settings} Settings */

/** @param {string} id */
async function openPicture(id) {
  const rec = await record('picture', id);
  const [records, own] = await Promise.all([ofProject(rec.project), settings()]);
  const book = bookOf(records, rec.project);
  const picture = book.pictures.get(rec.id) ?? fail('no-such-record', { kind: 'picture', id });
  return { records, own, book, picture };
}

/** @param {{id: string}} what */
export async function photo({ id }) {
  const { records, own, book, picture } = await openPicture(id);
  const size = sizeOf(book);
  const [{ scale, items, notes, trouble }, here, known] = await Promise.all([measured(book, id), isHere(picture.full), targets(book)]);
  const on = book.readings.filter((r) => r.at.method === 'photo' && r.at.picture === id);
  const texts = await lengths([size?.mm, ...on.map((r) => items.get(r.id)?.mm)], own);
  const living = on.filter((r) => !r.struck && !r.at.struck);
  const few = (/** @type {import('../book.js').BookReading[]} */ list) => ({ n: list.length, last: list.at(-1)?.id ?? null });
  const covered = new Set(book.checks.filter((c) => !c.struck).flatMap((c) => c.sittings));
  const animal = String(book.field('animal') ?? 'other');
  const parts = book.parts.map(({ id: part, name, axis }) => ({ id: part, name, axis, view: viewOf(animal, name), ...few(living.filter((r) => r.part === part && !r.place)) }));
  const piece = book.pieces.find((one) => one.id === picture.of);
  return {
    picture: shown(picture, here), project: { id: book.project.id, name: String(book.field('name') ?? ''), animal, size, size_text: texts[0] },
    piece: piece ? { id: piece.id, name: piece.name } : null, pieces: book.pieces.map(({ id: one, name }) => ({ id: one, name })),
    parts, places: book.places.map(({ id: place, name, part, from }) => ({ id: place, name, part, from, ...few(living.filter((r) => r.place === place)) })),
    scale: scale && { ...scale, text: scaleText(scale) }, plane_trouble: trouble && picture.plane ? plain(trouble) : null, ...await finished(book, picture, known),
    notes: notes.map((note) => ({ ...note, text: named(note.text, book) })),
    readings: on.map((r, i) => ({
      id: r.id, sitting: r.sitting, part: r.part, place: r.place, name: (r.place ? book.places.find((p) => p.id === r.place) : book.part.get(r.part))?.name ?? '',
      pins: r.pins ?? null, pin_px: r.pin_px ?? null, off_mm: r.off_mm ?? null, ...figuresOf(items.get(r.id), r.value), text: texts[i + 1], made: r.at.made, covered: covered.has(r.sitting), struck: r.struck || r.at.struck,
    })),
    counts: counts(book, picture.of), outlines: await outlinesOn(book, records, picture, own), subject_outlines: piece ? await subjectOutlines(book, records, picture, known, own) : [],
    settings: own, step: parts.find((part) => part.n === 0)?.id ?? null,
  };
}

/** @param {{picture: string, rings: any}} what */
export async function outline({ picture: id, rings }) {
  const { own, book, picture } = await openPicture(id);
  return (await figures(book, picture, [ringsOf(rings).map(pairs)], own))[0];
}

/** @param {BookPicture} picture  @param {boolean} here */
function shown({ id, name, view, of, whose, drawn, width, height, full, thumb, plane, gone }, here) {
  return { id, name, view, of, whose, drawn, width, height, full, thumb, plane, here, binned: gone };
}

/** @param {string} hash */
const isHere = (hash) => read(['pictures'], async (tx) => Boolean(await tx.objectStore('pictures').get(hash)));

/** @param {import('../photos.js').Item | undefined} item  @param {number} px */
const figuresOf = (item, px) => ({ px: item?.px ?? px, u_px: item?.u_px ?? null, mm: item?.mm ?? null, u_mm: item?.u_mm ?? null, at: item?.at ?? null, off_share: item?.off_share ?? null });

/** @param {import('../photos.js').Scale} scale */
const scaleText = ({ mm_per_px, u_share }) => `1 px = ${Number(mm_per_px.toPrecision(3))} mm ± ${Number((100 * u_share).toPrecision(2))} %`;

/** What was counted with the needle on the same thing. @param {Book} book  @param {string} of */
function counts(book, of) {
  return book.sittings.filter((s) => s.of === of && s.method === 'sight' && !s.struck).reverse().map((s) => ({
    sitting: s.id, unit: book.root(s.unit), unit_name: book.part.get(book.root(s.unit) ?? '')?.name ?? '', view: s.view, made: s.made,
    readings: book.readings.filter((r) => r.sitting === s.id && !r.struck).map((r) => ({
      part: r.part, place: r.place, name: (r.place ? book.places.find((p) => p.id === r.place) : book.part.get(r.part))?.name ?? '', value: r.value, denominator: r.denominator ?? s.denominator, text: r.typed || String(Number(r.value.toFixed(3))),
    })),
  })).filter(({ readings }) => readings.length);
}

/**
 * How long each part is to become, in mm, by the finished size and what was measured of the subject; and how long it is on the subject
 * itself, where that is known in mm.
 * @param {Book} book @returns {Promise<Map<string, {target: number, subject: number | null}>>}
 */
async function targets(book) {
  const [size, living] = [sizeOf(book), livingOf(book, 'subject')];
  if (!size || !living.length) return new Map();
  try {
    const answer = await about(book, async () => call('proportions', { ...await side(living, book), ratios: book.parts.map((p) => ({ of: p.id, to: size.part })) }));
    const mm = new Map(answer.parts.map((/** @type {any} */ p) => [p.part, p.mm]));
    return new Map(answer.ratios.flatMap((/** @type {any} */ r) => (r.ratio === null ? [] : [[r.of, { target: r.ratio * size.mm, subject: mm.get(r.of) ?? null }]])));
  } catch { return new Map(); }
}

/** How many mm of the finished size a px and a mm of this picture's plane are. @param {Book} book  @param {BookPicture} picture  @param {Awaited<ReturnType<typeof targets>>} known */
async function finished(book, picture, known) {
  const size = sizeOf(book);
  const [{ scale }, by] = await Promise.all([measured(book, picture.id), rod(book, picture.id, size?.part)]);
  const raised = by?.raised ?? 1; // what stands off the plane reads too long in it, and so does all that is drawn around it
  if (picture.of !== 'subject') return { finished_mm_per_px: scale ? scale.mm_per_px / raised : null, to_size: scale ? 1 / raised : null };
  const subject = size ? known.get(size.part)?.subject ?? null : null;
  const target = by && known.get(by.part)?.target;
  if (by && target) return { finished_mm_per_px: target / by.px, to_size: scale && size ? (subject ? size.mm / (subject * raised) : target / (by.px * scale.mm_per_px)) : null };
  return scale && size && subject ? { finished_mm_per_px: (scale.mm_per_px * size.mm) / subject, to_size: size.mm / subject } : { finished_mm_per_px: null, to_size: null };
}

/** The outlines on a picture, as they are shown. @param {Book} book  @param {Rec[]} records  @param {BookPicture} picture  @param {Settings} own */
async function outlinesOn(book, records, picture, own) {
  const recs = records.filter((rec) => rec.kind === 'outline' && !rec.gone && value(rec, 'picture') === picture.id && value(rec, 'rings'));
  recs.sort((a, b) => a.fields.picture[1][0] - b.fields.picture[1][0]);
  const rings = recs.map((rec) => value(rec, 'rings').map(pairs));
  const all = await figures(book, picture, rings, own);
  return recs.map((rec, i) => ({ id: rec.id, name: String(value(rec, 'name') ?? ''), rings: /** @type {import('../fields.js').Point[][]} */ (rings[i]), ...all[i] }));
}

/** @param {Book} book  @param {Rec[]} records  @param {BookPicture} picture  @param {Awaited<ReturnType<typeof targets>>} known  @param {Settings} own */
async function subjectOutlines(book, records, picture, known, own) {
  const traced = new Set(records.filter((rec) => rec.kind === 'outline' && !rec.gone).map((rec) => value(rec, 'picture')));
  const subject = [...book.pictures.values()].filter((one) => one.of === 'subject' && !one.gone && traced.has(one.id));
  const same = subject.filter((one) => one.view === picture.view);
  const lists = await Promise.all((same.length ? same : subject).map(async (one) => {
    const [{ scale }, sizes, list] = await Promise.all([measured(book, one.id), finished(book, one, known), outlinesOn(book, records, one, own)]);
    return list.map((found) => ({ ...found, picture: one.id, view: one.view, width: one.width, height: one.height, mm_per_px: scale?.mm_per_px ?? null, ...sizes }));
  }));
  return lists.flat();
}
