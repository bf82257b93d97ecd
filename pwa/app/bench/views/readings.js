// readings {project, of?: 'subject'|pieceId} -> {
//   project: {id, name}, of, piece: {id, name}|null, pieces: [{id, name}],
//   sittings: [{id, method, view, made, unit, unit_name, arm_mm, picture: {id, name, binned}|null on which the pins were set, struck, covered: a kept check rests on it,
//     disagrees: times its uncertainty when the whole hold disagrees|null,
//     readings: [{id, part, name, place: id|null, place_name, value, denominator, typed, text: of pins, their mm as she reads them|null, struck, mark, replaced: a later check's reading stands for it,
//                 disagrees: times its uncertainty|null}]}]    newest first
//   trouble: {code, text}|null   when the engine could not say which disagree
// }
import { bookOf, isMark, livingOf, pieceReadings } from '../book.js';
import { fail, plain } from '../codes.js';
import { call } from '../engine.js';
import { settings } from '../settings.js';
import { about, contradicted, lengths, side } from '../sides.js';
import { ofProject } from '../store.js';

/** @param {{project: string, of?: string}} what */
export async function readings({ project, of = 'subject' }) {
  const book = bookOf(await ofProject(project), project);
  const piece = of === 'subject' ? null : book.pieces.find((p) => p.id === of) ?? fail('no-such-record', { kind: 'piece', id: of });
  const counting = of === 'subject' ? livingOf(book, of) : pieceReadings(book, of);
  const counts = new Set(counting.map((r) => r.id));
  const covered = new Set(book.checks.filter((c) => c.piece === of && !c.struck).flatMap((c) => c.sittings));
  const [{ off, holds, trouble }, texts] = await Promise.all([disagreeing(book, counting), pinTexts(book, of)]);
  const sittings = book.sittings.filter((s) => s.of === of).reverse().map((s) => ({
    id: s.id, method: s.method, view: s.view, made: s.made, unit: book.root(s.unit), unit_name: book.part.get(book.root(s.unit) ?? '')?.name ?? '', arm_mm: s.arm_mm, picture: pictureOf(book, s.picture),
    struck: s.struck, covered: covered.has(s.id), disagrees: holds.get(s.id) ?? null,
    readings: book.readings.filter((r) => r.sitting === s.id).map((r) => ({
      id: r.id, part: r.part, name: book.part.get(r.part)?.name ?? '', place: r.place, place_name: book.places.find((p) => p.id === r.place)?.name ?? '',
      value: r.value, denominator: r.denominator, typed: r.typed, text: texts.get(r.id) ?? null, struck: r.struck, mark: isMark(r, book),
      replaced: !r.struck && !s.struck && !counts.has(r.id), disagrees: off.get(r.id) ?? null,
    })),
  }));
  return {
    project: { id: project, name: String(book.field('name') ?? '') }, of, piece: piece && { id: piece.id, name: piece.name },
    pieces: book.pieces.map(({ id, name }) => ({ id, name })), sittings, trouble,
  };
}

/** @param {import('../book.js').Book} book  @param {string | null | undefined} id */
function pictureOf(book, id) {
  const found = book.pictures.get(id ?? '');
  return found ? { id: found.id, name: found.name, binned: found.gone } : null;
}

/** What pins come to in mm, where their pictures have a scale; without the engine nothing. @param {import('../book.js').Book} book  @param {string} of @returns {Promise<Map<string, string | null>>} */
async function pinTexts(book, of) {
  const pinned = book.readings.filter((r) => r.at.method === 'photo' && r.at.of === of && r.at.picture);
  if (!pinned.length) return new Map();
  try {
    const { measured } = await import('../photos.js');
    const mm = await Promise.all(pinned.map(async (r) => (await measured(book, String(r.at.picture))).items.get(r.id)?.mm));
    const texts = await lengths(mm, await settings());
    return new Map(pinned.map((r, i) => [r.id, texts[i]]));
  } catch { return new Map(); }
}

/** Which readings, and which whole holds, the others contradict. @param {import('../book.js').Book} book  @param {import('../book.js').BookReading[]} counting */
async function disagreeing(book, counting) {
  /** @type {Map<string, number>} */
  const off = new Map();
  /** @type {Map<string, number>} */
  const holds = new Map();
  if (!counting.length) return { off, holds, trouble: null };
  try {
    const sides = await side(counting, book);
    const { disagree } = await about(book, () => call('proportions', { ...sides, ratios: [] }));
    for (const one of contradicted(disagree, counting, book)) {
      if (one.reading) off.set(one.reading, one.times_u); else holds.set(one.sitting, one.times_u);
    }
    return { off, holds, trouble: null };
  } catch (error) {
    return { off, holds, trouble: plain(error) };
  }
}
