// A project as it lies in the store, put in order: parts with those they stand for, sittings, readings, pieces, checks.
import { fail } from './codes.js';

/**
 * @typedef {import('./store.js').Rec} Rec
 * @typedef {import('./store.js').Stamp} Stamp
 * @typedef {import('./intents.js').SittingFact} SittingFact
 * @typedef {import('./intents.js').ReadingFact} ReadingFact
 * @typedef {import('./intents.js').CheckFact} CheckFact
 * @typedef {{id: string, name: string, axis: 'length' | 'width', order: number, nailed: boolean}} BookPart
 * @typedef {{id: string, name: string, part: string, from: string}} BookPlace
 * @typedef {{id: string, name: string, made: string}} BookPiece
 * @typedef {SittingFact & {id: string, struck: boolean, stamp: Stamp}} BookSitting
 * A reading whose part is the one it stands for.
 * @typedef {ReadingFact & {id: string, struck: boolean, stamp: Stamp, at: BookSitting}} BookReading
 * @typedef {CheckFact & {id: string, struck: boolean, stamp: Stamp}} BookCheck
 * @typedef {{kind: string, id: string, field: string, called: string, now: any, others: any[]}} Apart
 * @typedef {object} Book
 * @property {Rec} project
 * @property {(name: string) => any} field     a field of the project, null when it was never set
 * @property {BookPart[]} parts                live, in order, without those that stand for another
 * @property {Map<string, BookPart>} part
 * @property {(id: string | null) => string | null} root  the part that this one stands for
 * @property {BookPlace[]} places
 * @property {BookPiece[]} pieces
 * @property {BookSitting[]} sittings          in the order they were begun, struck ones too
 * @property {BookReading[]} readings          in the order they were kept, struck ones too; only those of live parts and places
 * @property {BookCheck[]} checks              in the order they were kept, struck ones too
 * @property {Map<string, BookPicture>} pictures  those in the bin too, since what was read on them still counts
 * @property {Apart[]} apart                   fields with two answers
 */

/**
 * A picture as its record tells it.
 * @typedef {ReturnType<typeof pictureOf>} BookPicture
 */

/** @param {Rec} rec  @param {string} field */
export const value = (rec, field) => rec.fields[field]?.[0] ?? null;

/** Earlier changes first. @param {{stamp: Stamp}} a  @param {{stamp: Stamp}} b */
const byStamp = (a, b) => a.stamp[0] - b.stamp[0] || (a.stamp[1] < b.stamp[1] ? -1 : a.stamp[1] > b.stamp[1] ? 1 : 0);

/** @param {Rec[]} records  @param {string} id @returns {Book} */
export function bookOf(records, id) {
  const project = records.find((rec) => rec.kind === 'project' && rec.id === id) ?? fail('no-such-record', { kind: 'project', id });
  const of = (/** @type {string} */ kind) => records.filter((rec) => rec.kind === kind && rec.fields.fact !== undefined === ['sitting', 'reading', 'check', 'picture'].includes(kind));
  const all = new Map(of('part').map((rec) => [rec.id, rec]));
  const root = rootIn(all);
  const parts = of('part').filter((rec) => !rec.gone && root(rec.id) === rec.id).map(partOf)
    .sort((a, b) => a.order - b.order || (a.id < b.id ? -1 : 1));
  const part = new Map(parts.map((p) => [p.id, p]));
  const sittings = of('sitting').map(factOf).sort(byStamp);
  const sitting = new Map(sittings.map((s) => [s.id, s]));
  const places = of('place').filter((rec) => !rec.gone && part.has(root(value(rec, 'part')) ?? '')).sort((a, b) => byStamp(born(a), born(b)))
    .map((rec) => ({ id: rec.id, name: value(rec, 'name') ?? '', part: /** @type {string} */ (root(value(rec, 'part'))), from: value(rec, 'from') ?? '' }));
  const place = new Set(places.map((p) => p.id));
  const readings = of('reading').map(factOf).flatMap((/** @type {any} */ r) => {
    const at = sitting.get(r.sitting);
    const real = root(r.part);
    return at && real && part.has(real) && (r.place === null || place.has(r.place)) ? [{ ...r, part: real, at }] : [];
  }).sort(byStamp);
  return {
    project, parts, part, root, sittings, readings,
    field: (name) => value(project, name),
    places,
    pieces: of('piece').filter((rec) => !rec.gone).map((rec) => ({ id: rec.id, name: value(rec, 'name') ?? '', made: value(rec, 'made') ?? '', ...born(rec) })).sort(byStamp),
    checks: of('check').map(factOf).sort(byStamp),
    pictures: new Map(of('picture').map((rec) => [rec.id, pictureOf(rec)])),
    apart: records.flatMap(apartIn),
  };
}

/** When a record was made, as near as its fields tell: the earliest stamp on them, in whatever order they came. @param {Rec} rec */
const born = (rec) => ({ stamp: Object.values(rec.fields).map(([, stamp]) => stamp).reduce((a, b) => (byStamp({ stamp: b }, { stamp: a }) < 0 ? b : a)) });

/** @param {Map<string, Rec>} all @returns {(id: string | null) => string | null} */
function rootIn(all) {
  return (id) => {
    let at = id === null ? undefined : all.get(id);
    for (let steps = 0; at && steps < 100; steps++) {
      const next = all.get(value(at, 'as') ?? '');
      if (!next) return at.id;
      at = next;
    }
    // Two answers merged from two devices can make parts stand for each other: then each stands for itself.
    return at ? id : null;
  };
}

/** @param {Rec} rec @returns {BookPart} */
function partOf(rec) {
  return { id: rec.id, name: value(rec, 'name') ?? '', axis: value(rec, 'axis') ?? 'length', order: value(rec, 'order') ?? 0, nailed: value(rec, 'nailed') === true };
}

/** @param {Rec} rec */
export function pictureOf(rec) {
  const fact = value(rec, 'fact') ?? {};
  return {
    id: rec.id, project: rec.project, name: String(value(rec, 'name') ?? ''), view: /** @type {'side' | 'front' | 'top' | 'other' | null} */ (value(rec, 'view')),
    of: String(value(rec, 'of') ?? 'subject'), whose: String(value(rec, 'whose') ?? ''), drawn: value(rec, 'drawn') === true, plane: /** @type {import('./fields.js').Plane | null} */ (value(rec, 'plane')),
    width: Number(fact.width), height: Number(fact.height), bytes: Number(fact.bytes), made: String(fact.made ?? ''), stamp: rec.fields.fact?.[1],
    full: String(fact.full ?? '').replace(/^sha256:/, ''), thumb: String(fact.thumb ?? '').replace(/^sha256:/, ''), gone: Boolean(rec.gone),
  };
}

/** @param {Rec} rec @returns {any} */
function factOf(rec) {
  return { ...value(rec, 'fact'), id: rec.id, struck: Boolean(rec.gone), stamp: rec.fields.fact[1] };
}

/** @param {Rec} rec @returns {Apart[]} */
function apartIn(rec) {
  return Object.entries(rec.apart).flatMap(([field, others]) => {
    return others.length ? [{ kind: rec.kind, id: rec.id, field, called: value(rec, 'name') ?? '', now: value(rec, field), others: others.map(([other]) => other) }] : [];
  });
}

/** The readings that count: not struck, nor in a sitting that is. @param {Book} book  @param {string} of 'subject' or a piece */
export const livingOf = (book, of) => book.readings.filter((r) => !r.struck && !r.at.struck && r.at.of === of);

/** Whether this is the mark of the unit itself rather than something counted in it. @param {BookReading} r  @param {Book} book */
export const isMark = (r, book) => r.place === null && r.at.unit !== null && book.root(r.at.unit) === r.part;

/**
 * The readings of a piece that count now. A piece changes as it is worked on: readings of sittings that a kept check covers are
 * replaced, part by part, by readings of that part made after the check (other than a mark of the unit, which says nothing new).
 * @param {Book} book  @param {string} piece  @param {BookCheck} [until] as it was when this check was kept
 */
export function pieceReadings(book, piece, until) {
  const checks = book.checks.filter((c) => !c.struck && c.piece === piece && (!until || byStamp(c, until) <= 0));
  const age = (/** @type {BookReading} */ r) => {
    const i = checks.findIndex((c) => c.sittings.includes(r.sitting));
    return i < 0 ? checks.length : i;
  };
  const readings = livingOf(book, piece).filter((r) => !until || age(r) < checks.length);
  const key = (/** @type {BookReading} */ r) => r.place ?? r.part;
  /** @type {Map<string, number>} */
  const newest = new Map();
  for (const r of readings) if (!isMark(r, book)) newest.set(key(r), Math.max(newest.get(key(r)) ?? 0, age(r)));
  return readings.filter((r) => age(r) >= (newest.get(key(r)) ?? 0));
}
