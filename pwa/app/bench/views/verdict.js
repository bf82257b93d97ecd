// verdict {project, piece, scale?: {mode: 'size'|'keep'|'least-work', part?}} -> {
//   project: {id, name, animal, size: {part, mm, typed}|null}, piece: {id, name, made}, tolerance, checks: n kept,
//   scale: {mode, part, name: of the part|''}, scale_used: the whole scale, for keepCheck
//   modes: [{mode, part, name, on: bool, why: '' or why it cannot be: 'no-size', 'no-millimetres' (no ruler on the piece), or an error's code, work_text: add and take together|null, cost}]   size, keep, least-work
//   mm_nominal: bool, parts: [{part, name, axis, verdict: 'add'|'take-in'|'right'|'too-rough'|'unknown', why, amount_mm, amount_text, amount_ratio,
//     each_side_mm, each_side_text (widths only), target_mm, target_text, piece_mm, u_mm, ratio_subject, ratio_piece, off: (piece/target - 1)|null, off_u,
//     nailed, repeat: {of, reading, part, name, value}|null,
//     strip: {target, piece, u, unit}|null       shares of the drawing: the longer of the two is 1; unit is one unit of the subject's chosen part
//     body_share: share of the subject's longest|null}],
//   right: [names], too_rough: [names], unit: part id, unit_name,
//   places: [{place, name, part, part_name, from, verdict: 'move'|'right'|'too-rough'|'unknown', at_subject, at_piece, off: the share of the part between them|null, move_mm, move_text: null without mm, toward: 'start'|'end', u_mm}]
// }
import { bookOf, livingOf, pieceReadings } from '../book.js';
import { fail, plain } from '../codes.js';
import { call } from '../engine.js';
import { settings } from '../settings.js';
import { about, comparison, inMillimetres, keepable, lengths, scaleOf, side, sizeOf, toleranceOf, unitOf } from '../sides.js';
import { ofProject } from '../store.js';

/** @typedef {import('../book.js').Book} Book  @typedef {import('../intents.js').Scale} Scale  @typedef {import('../settings.js').Settings} Settings
 * @typedef {import('../../types/engine.js').Methods} Methods  @typedef {Methods['compare']['response']} Compared  @typedef {Methods['compare']['request']} Question */

/** @param {{project: string, piece: string, scale?: {mode: string, part?: string, mm?: number}}} what */
export async function verdict({ project, piece, scale: asked }) {
  const { book, own, wool, scale, tolerance, question } = await openPiece(project, piece, asked);
  const made = book.pieces.find((p) => p.id === piece) ?? fail('no-such-record', { kind: 'piece', id: piece });
  const head = {
    project: { id: project, name: String(book.field('name') ?? ''), animal: String(book.field('animal') ?? 'other'), size: sizeOf(book) },
    piece: { id: piece, name: made.name, made: made.made }, tolerance, checks: book.checks.filter((c) => c.piece === piece && !c.struck).length,
    scale_used: scale,
  };
  const unit = unitOf(book);
  if (!wool.length || !livingOf(book, 'subject').length) return { ...head, ...nothing(book, scale, unit, wool.length ? 'not-read-on-subject' : 'not-read-on-piece') };
  const answer = await about(book, () => call('compare', question));
  const shares = await subjectRatios(book, unit);
  const [parts, places, modes] = [await partViews(book, answer, shares, own), await placeViews(book, answer, own), await modeViews(book, wool, own, question, answer)];
  return {
    ...head, scale: scaleView(book, scale), modes,
    mm_nominal: answer.mm_nominal === true, parts, places, unit, unit_name: name(book, unit),
    right: parts.filter((p) => p.verdict === 'right').map((p) => p.name), too_rough: parts.filter((p) => p.verdict === 'too-rough').map((p) => p.name),
  };
}

/** A piece and all that a comparison of it needs. @param {string} project  @param {string} piece  @param {{mode: string, part?: string, mm?: number}} [asked] */
export async function openPiece(project, piece, asked) {
  const [records, own] = await Promise.all([ofProject(project), settings()]);
  const book = bookOf(records, project);
  const wool = pieceReadings(book, piece);
  const scale = scaleOf(book, wool, own, asked);
  const tolerance = toleranceOf(book, own);
  return { book, own, wool, scale, tolerance, question: await comparison(book, piece, scale, tolerance) };
}

/** @param {Book} book  @param {string | null | undefined} id */
const name = (book, id) => book.part.get(id ?? '')?.name ?? '';

/** @param {Book} book  @param {Scale} scale */
function scaleView(book, scale) {
  const part = 'part' in scale ? scale.part : null;
  return { mode: scale.mode, part, name: name(book, part) };
}

/** What is shown before there is anything to compare. @param {Book} book  @param {Scale} scale  @param {string | null} unit  @param {string} why */
function nothing(book, scale, unit, why) {
  const parts = book.parts.map((p) => ({ part: p.id, name: p.name, axis: p.axis, verdict: 'unknown', why, nailed: p.nailed }));
  return { scale: scaleView(book, scale), modes: [], mm_nominal: false, parts, places: [], unit, unit_name: name(book, unit), right: [], too_rough: [] };
}

/** Each part of the subject in the unit. @param {Book} book  @param {string | null} unit @returns {Promise<Map<string, number>>} */
async function subjectRatios(book, unit) {
  if (!unit) return new Map();
  const subject = await side(livingOf(book, 'subject'), book);
  const { ratios } = await about(book, () => call('proportions', { ...subject, ratios: book.parts.map((p) => ({ of: p.id, to: unit })) }));
  return new Map(ratios.flatMap((r) => (r.ratio === null ? [] : [[r.of, r.ratio]])));
}

/** @param {Book} book  @param {Compared} answer  @param {Map<string, number>} shares  @param {Settings} own */
async function partViews(book, answer, shares, own) {
  const list = answer.parts;
  const [amount, each, target] = await Promise.all([
    lengths(list.map((p) => p.amount_mm), own), lengths(list.map((p) => p.each_side_mm), own), lengths(list.map((p) => p.target_mm), own),
  ]);
  const longest = Math.max(0, ...shares.values());
  const order = new Map(book.parts.map((p, i) => [p.id, i]));
  return list.map((p, i) => {
    const part = book.part.get(p.part);
    const width = part?.axis === 'width';
    const share = shares.get(p.part);
    return {
      ...p, name: part?.name ?? '', axis: part?.axis ?? 'length', nailed: part?.nailed ?? false,
      amount_text: amount[i], each_side_text: width ? each[i] : null, target_text: target[i],
      off: number(p.d) ? Math.expm1(p.d) : null, off_u: number(p.u_d) ? p.u_d : null,
      repeat: p.repeat ? repeatView(book, p.repeat, p.part) : null, strip: strip(p, share), body_share: share === undefined ? null : share / longest,
    };
  }).sort((a, b) => (order.get(a.part) ?? 0) - (order.get(b.part) ?? 0));
}

/** @param {number | null | undefined} x @returns {x is number} */
const number = (x) => x !== null && x !== undefined;

/** The subject's length and the piece's to one scale, the longer being 1. @param {Compared['parts'][number]} p  @param {number | undefined} inUnits */
function strip(p, inUnits) {
  if (!number(p.d)) return null;
  const off = Math.exp(p.d);
  const longer = Math.max(1, off);
  return { target: 1 / longer, piece: off / longer, u: (off / longer) * (p.u_d_widened ?? p.u_d ?? 0), unit: inUnits ? 1 / longer / inUnits : 0 };
}

/** The reading to take once more. A mark of the unit cannot be taken again by itself: then the part itself, in a new hold. @param {Book} book  @param {{of: string, reading: string, part: string}} repeat  @param {string} rough the part that is too rough to tell */
function repeatView(book, repeat, rough) {
  const reading = book.readings.find((r) => r.id === repeat.reading);
  const part = reading ? repeat.part : rough;
  return { ...repeat, part, name: name(book, part), value: reading?.typed ?? reading?.value ?? null };
}

/** @param {Book} book  @param {Compared} answer  @param {Settings} own */
async function placeViews(book, answer, own) {
  const list = answer.places ?? [];
  const texts = await lengths(list.map((p) => p.move_mm), own);
  return list.map((p, i) => {
    const place = book.places.find((one) => one.id === p.place);
    return { ...p, name: place?.name ?? '', part_name: name(book, p.part), from: place?.from ?? '', off: number(p.at_piece) && number(p.at_subject) ? Math.abs(p.at_piece - p.at_subject) : null, move_text: texts[i] };
  });
}

/** What each way to fix the scale would cost. @param {Book} book  @param {import('../book.js').BookReading[]} wool  @param {Settings} own  @param {Question} question  @param {Compared} answer */
async function modeViews(book, wool, own, question, answer) {
  const views = [];
  for (const mode of ['size', 'keep', 'least-work']) {
    const now = question.scale.mode === mode;
    const scale = now ? question.scale : scaleOf(book, wool, own, { mode, ...(mode === 'keep' ? { part: keepable(book, wool) } : {}) });
    views.push(await modeView(book, wool, mode, scale, now, now ? answer : question, own));
  }
  return views;
}

/** @param {Book} book  @param {import('../book.js').BookReading[]} wool  @param {string} mode  @param {any} scale  @param {boolean} on  @param {Compared | Question} asked  @param {Settings} own */
async function modeView(book, wool, mode, scale, on, asked, own) {
  const base = { mode, part: scale.part ?? null, name: name(book, scale.part), on };
  if (scale.mode !== mode) return { ...base, part: null, name: '', why: 'no-size', work_text: null, cost: null };
  try {
    const { work } = on ? /** @type {Compared} */ (asked) : await call('compare', { .../** @type {Question} */ (asked), scale });
    const both = number(work.add_mm) && number(work.take_mm) ? work.add_mm + work.take_mm : null;
    const [work_text] = await lengths([both], own);
    return { ...base, why: mode === 'size' && !inMillimetres(wool, book) ? 'no-millimetres' : '', work_text, cost: work.cost };
  } catch (error) {
    return { ...base, why: plain(error).code, work_text: null, cost: null };
  }
}
