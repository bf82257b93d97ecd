// project {id, unit?: part id to show the others in} -> {
//   id, name, animal, demo, made, binned: bool, unit: part id|null, unit_name, tolerance,
//   size: {part, mm, typed}|null, size_text: in the unit of the settings|null, size_part: name|'',
//   parts: [{id, name, axis, order, nailed, views: ['side', ...], one_view_only,
//            in_unit: {ratio, u, u_widened}|null, why: code when there is none|'', mm, mm_text (at the finished size)|null, group: n|null,
//            disagree: bool, n: living readings, readings: [{id, value, denominator, typed, sitting, method, view, unit_name, made, struck, disagrees: times_u|null}]}],
//   strips: [{id, part, name, share, u, unit}]   shares of the longest, those that can be shown in the unit, in the parts' order
//   places: [{id, name, part, part_name, from, at, u, n}], pieces: [{id, name, made, readings: n, checks: n}],
//   sittings: [{id, of, method, unit, unit_name, view, made, struck, readings: [ids]}] of the subject, reading_count: n living, form_count: n,
//   groups: [[part ids]], joins: [{part, in}], next: {part, in, why: 'first'|'unread'|'join'|'rough'}|null,
//   reminders: ['no-view'|'no-side'|'no-front'|'one-view'], disagree: [{reading: id|null for a whole hold of the needle, part, name, sitting, times_u}],
//   apart: [{kind, id, name, field, answers: [{value, text}], now}],
//   trouble: {code, text, at, params}|null       why the engine could say nothing; all that was entered is here all the same
// }
import { bookOf, livingOf } from '../book.js';
import { plain } from '../codes.js';
import { call } from '../engine.js';
import { settings } from '../settings.js';
import { about, contradicted, lengths, side, sizeOf, toleranceOf, unitOf } from '../sides.js';
import { ofProject } from '../store.js';

/** @typedef {import('../book.js').Book} Book  @typedef {import('../book.js').BookReading} BookReading  @typedef {import('../book.js').Apart} Apart
 * @typedef {import('../../types/engine.js').Methods['proportions']['response']} Proportions */

/** @param {{id: string, unit?: string}} what */
export async function project({ id, unit: asked }) {
  const [records, own] = await Promise.all([ofProject(id), settings()]);
  const book = bookOf(records, id);
  const living = livingOf(book, 'subject');
  const unit = unitOf(book, asked);
  const size = sizeOf(book);
  const { answer, trouble } = await proportionsOf(book, living, unit, size?.part ?? null);
  const ratio = (/** @type {string} */ of, /** @type {string | null} */ to) => answer?.ratios?.find((r) => r.of === of && r.to === to) ?? null;
  const mm = book.parts.map((p) => { const r = ratio(p.id, size?.part ?? null); return size && r && r.ratio !== null ? r.ratio * size.mm : null; });
  const texts = await lengths([size?.mm, ...mm], own).catch(() => []);
  const disagree = contradicted(answer?.disagree, living, book);
  const off = new Map(disagree.map((d) => [d.reading, d.times_u]));
  const parts = book.parts.map((p, i) => partView(book, p, ratio(p.id, unit), answer, off, { mm: mm[i], mm_text: texts[i + 1] ?? null }));
  return {
    id, name: String(book.field('name') ?? ''), animal: String(book.field('animal') ?? 'other'), demo: book.field('demo') === true, made: String(book.field('made') ?? ''),
    binned: Boolean(book.project.gone), unit, unit_name: nameOf(book, unit), tolerance: toleranceOf(book, own),
    size, size_text: texts[0] ?? null, size_part: nameOf(book, size?.part ?? null),
    parts, strips: strips(parts),
    places: book.places.map((place) => ({
      ...place, part_name: nameOf(book, place.part), n: living.filter((r) => r.place === place.id).length,
      ...figuresAt(answer, place.id),
    })),
    pieces: book.pieces.map((piece) => ({
      id: piece.id, name: piece.name, made: piece.made, readings: livingOf(book, piece.id).length, checks: book.checks.filter((c) => c.piece === piece.id && !c.struck).length,
    })),
    sittings: book.sittings.filter((s) => s.of === 'subject').map((s) => ({
      id: s.id, of: s.of, method: s.method, unit: book.root(s.unit), unit_name: nameOf(book, book.root(s.unit)), view: s.view, made: s.made, struck: s.struck,
      readings: book.readings.filter((r) => r.sitting === s.id).map((r) => r.id),
    })),
    reading_count: living.length, form_count: records.filter((rec) => rec.kind === 'form' && !rec.gone && rec.fields.shape).length, groups: answer?.groups ?? [], joins: answer?.joins ?? [],
    next: next(book, parts, unit, answer, toleranceOf(book, own)), reminders: reminders(living, parts, book),
    disagree,
    apart: apartViews(book), trouble,
  };
}

/** @param {Book} book  @param {string | null} id */
const nameOf = (book, id) => book.part.get(id ?? '')?.name ?? '';

/** @param {Book} book  @param {BookReading[]} living  @param {string | null} unit  @param {string | null} size @returns {Promise<{answer: Proportions | null, trouble: ReturnType<typeof plain> | null}>} */
async function proportionsOf(book, living, unit, size) {
  if (!living.length || !unit) return { answer: null, trouble: null };
  const to = [...new Set([unit, ...(size ? [size] : [])])];
  try {
    const request = { ...await side(living, book), ratios: to.flatMap((one) => book.parts.map((p) => ({ of: p.id, to: one }))) };
    return { answer: await about(book, () => call('proportions', request)), trouble: null };
  } catch (error) {
    return { answer: null, trouble: plain(error) };
  }
}

/** @param {Proportions | null} answer  @param {string} place @returns {{at: number | null, u: number | null}} */
function figuresAt(answer, place) {
  const found = answer?.places?.find((p) => p.place === place);
  return { at: found?.at ?? null, u: found?.u ?? null };
}

/** @param {Book} book  @param {import('../book.js').BookPart} part  @param {Proportions['ratios'][number] | null} ratio  @param {Proportions | null} answer  @param {Map<string | null, number>} off readings that disagree  @param {{mm: number | null, mm_text: string | null}} size */
function partView(book, part, ratio, answer, off, size) {
  const all = book.readings.filter((r) => r.part === part.id && r.place === null && r.at.of === 'subject');
  const living = all.filter((r) => !r.struck && !r.at.struck);
  const views = [...new Set(living.flatMap((r) => r.at.view ?? []))].sort();
  return {
    ...part, ...size, views, one_view_only: views.length === 1,
    in_unit: ratio && ratio.ratio !== null ? { ratio: ratio.ratio, u: ratio.u ?? 0, u_widened: ratio.u_widened ?? ratio.u ?? 0 } : null,
    why: ratio && ratio.ratio === null ? ratio.why ?? '' : '',
    group: answer?.parts?.find((p) => p.part === part.id)?.group ?? null,
    disagree: living.some((r) => off.has(r.id)), n: living.length,
    readings: all.map((r) => ({
      id: r.id, value: r.value, denominator: r.denominator, typed: r.typed, sitting: r.sitting, method: r.at.method, view: r.at.view,
      unit_name: nameOf(book, book.root(r.at.unit)), made: r.at.made, struck: r.struck || r.at.struck, disagrees: off.get(r.id) ?? null,
    })),
  };
}

/** @typedef {ReturnType<typeof partView>} PartView */

/** The parts as shares of the longest; `unit` is what one unit comes to. @param {PartView[]} parts */
function strips(parts) {
  const longest = Math.max(0, ...parts.map((p) => p.in_unit?.ratio ?? 0));
  return parts.flatMap((p) => (p.in_unit ? [{ id: p.id, part: p.id, name: p.name, share: p.in_unit.ratio / longest, u: p.in_unit.u_widened / longest, unit: 1 / longest }] : []));
}

/**
 * The one reading to take next: the one that joins what was measured apart; a part that has none; or a second one of the roughest.
 * @param {Book} book  @param {PartView[]} parts  @param {string | null} unit  @param {Proportions | null} answer  @param {number} tolerance
 */
function next(book, parts, unit, answer, tolerance) {
  const join = answer?.joins?.[0];
  if (join) return { part: join.part, in: join.in, why: 'join' };
  const base = unit ?? parts[0]?.id;
  const open = parts.find((p) => p.id !== base && p.n === 0 && !p.in_unit);
  if (open) return { part: open.id, in: base, why: parts.some((p) => p.n) ? 'unread' : 'first' };
  const rough = parts.filter((p) => p.in_unit && p.id !== base && p.in_unit.u_widened > tolerance * p.in_unit.ratio)
    .sort((a, b) => share(b) - share(a))[0];
  return rough ? { part: rough.id, in: base, why: 'rough' } : null;
}

/** @param {PartView} part */
const share = (part) => (part.in_unit ? part.in_unit.u_widened / part.in_unit.ratio : 0);

/** A side and a front are both needed: of readings, or as pictures that can be measured. @param {BookReading[]} living  @param {PartView[]} parts  @param {Book} book @returns {string[]} */
function reminders(living, parts, book) {
  if (!living.length) return [];
  const pictures = [...book.pictures.values()].filter((picture) => picture.of === 'subject' && !picture.gone);
  const views = new Set([...living.map((r) => r.at.view), ...pictures.map((picture) => picture.view)]);
  if (!['side', 'front', 'top', 'other'].some((view) => views.has(/** @type {'side'} */ (view)))) return ['no-view'];
  return [
    ...(views.has('side') ? [] : ['no-side']), ...(views.has('front') ? [] : ['no-front']),
    ...(parts.some((p) => p.one_view_only) ? ['one-view'] : []),
  ];
}

/** Fields with two answers, each answer with what it says. @param {Book} book */
function apartViews(book) {
  const names = new Map([...book.parts, ...book.places, ...book.pieces].map((one) => [one.id, one.name]));
  /** @param {any} value */
  const text = (value) => (typeof value === 'string' ? names.get(value) ?? value : value?.typed ?? null);
  return book.apart.map((one) => ({
    kind: one.kind, id: one.id, field: one.field, name: names.get(one.id) || one.called || String(book.field('name') ?? ''), now: one.now,
    answers: [one.now, ...one.others].map((value) => ({ value, text: text(value) })),
  }));
}
