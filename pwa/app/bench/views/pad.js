// pad {project: id|null, of?: 'subject'|pieceId, sitting?: id} -> what the counting pad, the marks and the ruler need. Needs no engine.
// {
//   name,                                        of the piece, or of the project; '' when loose
//   project: {id, name, animal} | null,          null: loose, given to a project later
//   of: 'subject'|pieceId, piece: {id, name} | null, pieces: [{id, name}],
//   parts: [{id, name, axis, view: 'side'|'front'|'top'|null where it is best seen, n: living readings of it in all,
//            here: [{id, value, denominator, typed}] those of this sitting, mark: true when it is this sitting's unit}],
//   places: [{id, name, part, from, n, here}],
//   sitting: {id, method, unit, view, denominator, arm_mm} | null,   the one asked for
//   unit: part id | null,                        this sitting's; else the one used last here; else the project's
//   next: part id | null,                        the first part with no reading in this sitting (in any, when there is no sitting)
//   settings: Settings
// }
import { bookOf, livingOf } from '../book.js';
import { fail } from '../codes.js';
import { settings } from '../settings.js';
import { ofProject } from '../store.js';
import { viewOf } from '../suggestions.js';

/** @typedef {import('../book.js').Book} Book  @typedef {import('../book.js').BookReading} BookReading  @typedef {import('../store.js').Rec} Rec */

/** @param {{project?: string | null, of?: string, sitting?: string}} what */
export async function pad({ project = null, of = 'subject', sitting: asked }) {
  const [records, own] = await Promise.all([ofProject(project ?? ''), settings()]);
  const book = project === null ? looseBook(records) : bookOf(records, project);
  const piece = of === 'subject' ? null : book.pieces.find((p) => p.id === of) ?? fail('no-such-record', { kind: 'piece', id: of });
  const sitting = asked ? book.sittings.find((s) => s.id === asked) ?? fail('no-such-record', { kind: 'sitting', id: asked }) : null;
  const readings = livingOf(book, of);
  const animal = book.field('animal') ?? 'other';
  const unit = sitting ? book.root(sitting.unit) : unitFor(book, of);
  const few = (/** @type {BookReading[]} */ list) => ({
    n: list.length, here: list.filter((r) => r.sitting === sitting?.id).map(({ id, value, denominator, typed }) => ({ id, value, denominator, typed })),
  });
  const parts = (project === null ? looseParts(book, sitting?.id) : book.parts).map((part) => ({
    id: part.id, name: part.name, axis: part.axis, view: viewOf(animal, part.name), mark: part.id === unit,
    ...few(readings.filter((r) => r.part === part.id && r.place === null)),
  }));
  const places = book.places.map((place) => ({ ...place, ...few(readings.filter((r) => r.place === place.id)) }));
  const open = parts.find((part) => !part.mark && (sitting ? part.here.length : part.n) === 0);
  return {
    name: /** @type {string} */ (piece?.name ?? book.field('name') ?? ''),
    project: project === null ? null : { id: project, name: /** @type {string} */ (book.field('name') ?? ''), animal: /** @type {string} */ (animal) },
    of, piece: piece && { id: piece.id, name: piece.name }, pieces: book.pieces.map(({ id, name }) => ({ id, name })),
    parts, places, unit, next: open?.id ?? null, settings: own,
    sitting: sitting && { id: sitting.id, method: sitting.method, unit: sitting.unit, view: sitting.view, denominator: sitting.denominator, arm_mm: sitting.arm_mm, struck: sitting.struck },
  };
}

/** What is loose, as if it were a project. @param {Rec[]} records @returns {Book} */
export function looseBook(records) {
  /** @type {Rec} */
  const none = { kind: 'project', id: '', project: '', gone: 0, fields: {}, apart: {} };
  return bookOf([...records, none], '');
}

/** The loose parts that this sitting measured or is counted in: others belong to other times. @param {Book} book  @param {string | undefined} sitting */
function looseParts(book, sitting) {
  const used = new Set(book.readings.filter((r) => r.sitting === sitting).map((r) => r.part));
  const unit = book.sittings.find((s) => s.id === sitting)?.unit;
  const taken = new Set(book.readings.map((r) => r.part).concat(book.sittings.flatMap((s) => s.unit ?? [])));
  const when = (/** @type {{id: string}} */ part) => { const at = [...used].indexOf(part.id); return at < 0 ? used.size : at; };
  return book.parts.filter((part) => used.has(part.id) || part.id === unit || !taken.has(part.id)).sort((a, b) => when(a) - when(b));
}

/** The unit used last for this, else the project's own. @param {Book} book  @param {string} of */
function unitFor(book, of) {
  const last = book.sittings.findLast((s) => s.of === of && !s.struck && s.method === 'sight' && s.unit !== null)
    ?? book.sittings.findLast((s) => !s.struck && s.method === 'sight' && s.unit !== null);
  const unit = book.root(last?.unit ?? book.field('unit'));
  return unit && book.part.has(unit) ? unit : null;
}

