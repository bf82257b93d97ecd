// What the engine is asked about a project: its readings as it wants them, under ids, and its answers back under names.
import { isMark, livingOf, pieceReadings } from './book.js';
import { Trouble } from './codes.js';
import { call } from './engine.js';

/**
 * @typedef {import('./book.js').Book} Book
 * @typedef {import('./book.js').BookReading} BookReading
 * @typedef {import('./book.js').BookCheck} BookCheck
 * @typedef {import('./intents.js').Scale} Scale
 * @typedef {import('./settings.js').Settings} Settings
 */

/** The thumb on the needle is the unit, to within this much of one. Given with the mark, since nobody counted it. */
const markU = 0.025;

/** @param {BookReading[]} readings  @param {Book} book */
export async function side(readings, book) {
  const photos = readings.some((r) => r.at.method === 'photo') ? await (await import('./photos.js')).photoSide(readings, book) : { sittings: [], readings: [] };
  const others = readings.filter((r) => r.at.method !== 'photo');
  const used = new Set(others.map((r) => r.sitting));
  const sittings = book.sittings.filter((s) => used.has(s.id));
  const counted = others.map((r) => ({
    id: r.id, sitting: r.sitting, part: r.part, value: r.value, ...(r.place ? { place: r.place } : {}),
    ...(isMark(r, book) && r.value === 1 ? { u: markU } : r.at.method === 'sight' ? { denominator: r.denominator ?? r.at.denominator ?? 4 } : {}),
  }));
  // The marked unit is 1 in its own sitting, whether or not anyone wrote it down.
  const marks = sittings.flatMap((s) => {
    const unit = book.root(s.unit);
    if (s.method !== 'sight' || !unit || !book.part.has(unit) || others.some((r) => r.sitting === s.id && r.part === unit && !r.place)) return [];
    return [{ id: `mark-${s.id}`, sitting: s.id, part: unit, value: 1, u: markU }];
  });
  return {
    sittings: [...sittings.map((s) => ({ id: s.id, method: s.method, ...(s.method === 'marks' && s.arm_mm ? { arm_mm: s.arm_mm } : {}) })), ...photos.sittings],
    readings: [...marks, ...counted, ...photos.readings],
  };
}

/** Whether one of these says how many millimetres anything is: by a ruler, or on a photo with something of known size. @param {BookReading[]} readings  @param {Book} book */
export const inMillimetres = (readings, book) => readings.some(({ at }) => at.method === 'ruler' || (at.method === 'photo' && Boolean(book.pictures.get(at.picture ?? '')?.plane)));

/** The part that others are shown in: the project's, or the one most counted in, or the first that was read. @param {Book} book  @param {string} [asked] */
export function unitOf(book, asked) {
  const known = (/** @type {string | null | undefined} */ id) => { const root = book.root(id ?? null); return root && book.part.has(root) ? root : null; };
  return known(asked) ?? known(book.field('unit')) ?? known(book.sittings.findLast((s) => s.of === 'subject' && s.unit && !s.struck)?.unit)
    ?? livingOf(book, 'subject')[0]?.part ?? null;
}

/** The finished size, if its part is still there. @param {Book} book @returns {{part: string, mm: number, typed: string} | null} */
export function sizeOf(book) {
  const size = book.field('size');
  const part = size && book.root(size.part);
  return part && book.part.has(part) ? { ...size, part } : null;
}

/** @param {Book} book  @param {Settings} own @returns {number} */
export const toleranceOf = (book, own) => book.field('tolerance') ?? own.tolerance;

/**
 * The whole scale from what a screen asks for ({mode: 'size'} alone will do), or what is best when it asks for nothing:
 * the finished size once a ruler or a photo tells the piece's millimetres, else the least work.
 * @param {Book} book  @param {BookReading[]} piece  @param {Settings} own  @param {{mode: string, part?: string, mm?: number, cost?: number}} [asked] @returns {Scale}
 */
export function scaleOf(book, piece, own, asked) {
  const size = sizeOf(book);
  if (asked?.mode === 'size' && asked.part && asked.mm) return { mode: 'size', part: book.root(asked.part) ?? asked.part, mm: asked.mm };
  if (asked?.mode === 'keep') return { mode: 'keep', part: book.root(asked.part ?? null) ?? keepable(book, piece) };
  if (size && (asked ? asked.mode === 'size' : inMillimetres(piece, book))) return { mode: 'size', part: size.part, mm: size.mm };
  return { mode: 'least-work', cost: asked?.cost ?? own.cost };
}

/** A part one could keep: nailed down, or the unit, or the first read on both. @param {Book} book  @param {BookReading[]} piece */
export function keepable(book, piece) {
  const subject = new Set(livingOf(book, 'subject').map((r) => r.part));
  const both = book.parts.filter((p) => subject.has(p.id) && piece.some((r) => r.part === p.id));
  const unit = unitOf(book);
  return (both.find((p) => p.nailed) ?? both.find((p) => p.id === unit) ?? both[0] ?? book.parts[0])?.id ?? '';
}

/**
 * The comparison of a piece with its project, as the engine is asked it.
 * @param {Book} book  @param {string} piece  @param {Scale} scale  @param {number} tolerance  @param {BookCheck} [until]
 */
export async function comparison(book, piece, scale, tolerance, until) {
  const readings = pieceReadings(book, piece, until);
  const [subject, wool] = await Promise.all([side(livingOf(book, 'subject'), book), side(readings, book)]);
  const read = new Set([...subject.readings, ...wool.readings].map((r) => r.part));
  const size = sizeOf(book);
  return {
    subject, piece: wool, scale, tolerance, fixed: book.parts.filter((p) => p.nailed && read.has(p.id)).map((p) => p.id),
    ...(size && !inMillimetres(readings, book) ? { nominal: { part: size.part, mm: size.mm } } : {}),
  };
}

/** Lengths as she reads them, by the engine. @param {(number | null | undefined)[]} mm  @param {Settings} own @returns {Promise<(string | null)[]>} */
export async function lengths(mm, own) {
  const known = mm.filter((one) => one !== null && one !== undefined);
  if (!known.length) return mm.map(() => null);
  const { texts } = await call('format-length', { mm: known, unit: own.unit, ...(own.unit === 'in' ? { denominator: own.inch } : {}) });
  let next = 0;
  return mm.map((one) => (one === null || one === undefined ? null : texts[next++]));
}

/**
 * The readings that the others contradict, as a person can strike them out. The engine may name the mark of the unit, which nobody
 * wrote down: then it is the one thing counted in that hold, or the hold itself.
 * @param {{reading: string, part: string, sitting: string, times_u: number}[] | undefined} disagree  @param {BookReading[]} readings  @param {Book} book
 * @returns {{reading: string | null, part: string, name: string, sitting: string, times_u: number}[]}
 */
export function contradicted(disagree, readings, book) {
  const all = (disagree ?? []).map((one) => {
    const counted = one.reading.startsWith('mark-') ? readings.filter((r) => r.sitting === one.sitting) : [];
    const reading = !one.reading.startsWith('mark-') ? one.reading : counted.length === 1 ? counted[0].id : null;
    const part = counted.length === 1 ? counted[0].part : one.part;
    return { ...one, reading, part, name: book.part.get(part)?.name ?? '' };
  });
  return all.filter((one, i) => all.findIndex((other) => other.reading === one.reading && other.sitting === one.sitting) === i);
}

/** Puts names where the engine, which knows only ids, wrote those. @param {string} text  @param {Book} book */
export function named(text, book) {
  return text.replace(/(mark-)?[a-z2-7]{16}/g, (id) => {
    const bare = id.replace('mark-', '');
    const reading = book.readings.find((r) => r.id === bare);
    if (reading) return `${book.part.get(reading.part)?.name} (${reading.typed ?? reading.value})`;
    const sitting = book.sittings.find((s) => s.id === bare);
    if (sitting) return book.part.get(book.root(sitting.unit) ?? '')?.name ?? sitting.method;
    return book.part.get(book.root(bare) ?? '')?.name ?? book.places.find((p) => p.id === bare)?.name ?? book.pieces.find((p) => p.id === bare)?.name ?? id;
  });
}

/** Asks the engine about a project; a refusal comes back with names in its sentence. @template T @param {Book} book  @param {() => Promise<T>} ask @returns {Promise<T>} */
export async function about(book, ask) {
  try {
    return await ask();
  } catch (error) {
    if (error instanceof Trouble && error.text) throw new Trouble(error.code, { ...error, text: named(error.text, book) });
    throw error;
  }
}
