// What a person can do, as changes. Each returns when the changes are on the disk.
import { fail } from './codes.js';
import { keep, same } from './change.js';
import { arm, measure, methods, name, id as anId, oneOf, settable, sides, tolerance, words } from './fields.js';
import { minute, newId, today } from './ids.js';
import { suggested } from './suggestions.js';

/**
 * @typedef {import('./change.js').Edit} Edit
 * @typedef {import('./change.js').Look} Look
 * @typedef {import('./store.js').Rec} Rec
 * @typedef {{of: string, method: 'sight' | 'marks' | 'ruler' | 'photo', unit: string | null, view: 'side' | 'front' | 'top' | 'other' | null, denominator: number | null, arm_mm: number | null, picture?: string | null, made: string}} SittingFact
 * @typedef {{sitting: string, part: string, place: string | null, value: number, denominator: number | null, typed: string | null, pins?: import('./fields.js').Point[] | null, pin_px?: number | null, off_mm?: number | null}} ReadingFact
 * @typedef {{piece: string, made: string, scale: Scale, tolerance: number, sittings: string[]}} CheckFact
 * @typedef {{mode: 'size', part: string, mm: number} | {mode: 'keep', part: string} | {mode: 'least-work', cost?: number}} Scale
 */

/** The edits that make a record with these fields. @param {string} kind  @param {string} id  @param {Record<string, unknown>} fields @returns {Edit[]} */
export function made(kind, id, fields) {
  return Object.entries(fields).map(([field, value]) => ({ kind, id, field, value }));
}

/** @param {Look} look  @param {string} kind  @param {unknown} id @returns {Promise<Rec>} */
export async function need(look, kind, id) {
  return (typeof id === 'string' && id ? await look.get(kind, id) : undefined) ?? fail('no-such-record', { kind, id });
}

/** The edits that add parts to a project after those it has. @param {string | null} project  @param {{name: string, axis?: string}[]} parts  @param {number} after */
export function partEdits(project, parts, after) {
  const ids = parts.map(() => newId());
  const edits = parts.flatMap((part, i) => made('part', ids[i], {
    project, name: name(part.name), axis: oneOf(part.axis ?? 'length', ['length', 'width'], 'axis'), order: after + i + 1,
  }));
  return { ids, edits };
}

/** The place in the order of the last part there is. @param {Rec[]} records */
export const lastOrder = (records) => Math.max(0, ...records.filter((rec) => rec.kind === 'part').map((rec) => rec.fields.order?.[0] ?? 0));

/**
 * A project with the parts that are suggested for such an animal, or with those given.
 * @param {{name: string, animal?: string, parts?: {name: string, axis?: string}[], demo?: boolean}} what
 */
export async function newProject({ name: called, animal = 'other', parts, demo = false }) {
  const id = newId();
  const list = parts ?? suggested(animal);
  const { ids, edits } = partEdits(id, list, 0);
  const unit = list.findIndex((part) => 'unit' in part && part.unit);
  const all = [
    ...made('project', id, { name: name(called), animal: words(animal, 'animal'), made: today(), ...(demo ? { demo: true } : {}), ...(unit >= 0 ? { unit: ids[unit] } : {}) }),
    ...edits,
  ];
  await keep(async () => all);
  return { id, parts: ids };
}

/** @param {{project: string, parts: {name: string, axis?: 'length' | 'width'}[]}} what */
export async function addParts({ project, parts }) {
  /** @type {string[]} */
  let ids = [];
  await keep(async (look) => {
    await need(look, 'project', project);
    const made = partEdits(project, parts, lastOrder(await look.ofProject(project)));
    ids = made.ids;
    return made.edits;
  });
  return { ids };
}

/** @param {{project: string, name: string, part: string, from?: string}} what */
export async function addPlace({ project, name: called, part, from = '' }) {
  const id = newId();
  await keep(async (look) => {
    await need(look, 'project', project);
    await partIn(look, part, project);
    return made('place', id, { project, name: name(called), part, from: words(from, 'from') });
  });
  return { id };
}

/** @param {{project: string, name: string}} what */
export async function addPiece({ project, name: called }) {
  const id = newId();
  await keep(async (look) => {
    await need(look, 'project', project);
    return made('piece', id, { project, name: name(called), made: today() });
  });
  return { id };
}

/** @param {Look} look  @param {string} part  @param {string} project '' when loose */
export async function partIn(look, part, project) {
  const rec = await need(look, 'part', part);
  if (rec.project !== project) fail('part-elsewhere', { part });
  return rec;
}

/** Sets one field that a person may set. @param {{kind: string, id: string, field: string, value: any}} what */
export async function set({ kind, id, field, value }) {
  const rule = settable[kind]?.[field] ?? (await import('./fields-forms.js')).settable[kind]?.[field] ?? fail('no-such-field', { kind, field });
  const good = rule(value, field);
  await keep(async (look) => {
    const rec = await need(look, kind, id);
    if (good !== null) await refersWell(look, rec, field, good);
    return same(rec.fields[field]?.[0] ?? null, good) ? [] : [{ kind, id, field, value: good }];
  });
}

/** What a field points to must be there, in the same project, and no part may come round to itself. @param {Look} look  @param {Rec} rec  @param {string} field  @param {any} value */
async function refersWell(look, rec, field, value) {
  if (rec.kind === 'project' && field === 'unit') await partIn(look, value, rec.id);
  if (rec.kind === 'project' && field === 'size') await partIn(look, value.part, rec.id);
  if (rec.kind === 'place' && field === 'part') await partIn(look, value, rec.project);
  if (rec.kind === 'picture' && field === 'of' && value !== 'subject' && (await need(look, 'piece', value)).project !== rec.project) fail('part-elsewhere', { piece: value });
  if (rec.kind !== 'part' || field !== 'as') return;
  for (let at = await partIn(look, value, rec.project), steps = 0; ; steps++) {
    if (at.id === rec.id || steps > 100) fail('part-of-itself');
    const next = at.fields.as?.[0] ? await look.get('part', at.fields.as[0]) : undefined;
    if (!next) return;
    at = next;
  }
}

/** Into the bin, or out of it. @param {{kind: 'project' | 'part' | 'place' | 'piece' | 'picture' | 'outline' | 'form' | 'wool' | 'group', id: string, binned: boolean}} what */
export async function bin({ kind, id, binned }) {
  oneOf(kind, ['project', 'part', 'place', 'piece', 'picture', 'outline', 'form', 'wool', 'group'], 'kind');
  await keep(async (look) => {
    const rec = await need(look, kind, id);
    return Boolean(rec.fields.binned?.[0]) === Boolean(binned) ? [] : [{ kind, id, field: 'binned', value: binned ? today() : null }];
  });
}

/** Strikes out a sitting, a reading or a check, or restores it. @param {{kind: 'sitting' | 'reading' | 'check' | 'weighing', id: string, struck: boolean}} what */
export async function strike({ kind, id, struck }) {
  oneOf(kind, ['sitting', 'reading', 'check', 'weighing'], 'kind');
  await keep(async (look) => {
    const rec = await need(look, kind, id);
    return Boolean(rec.fields.struck?.[0]) === Boolean(struck) ? [] : [{ kind, id, field: 'struck', value: Boolean(struck) }];
  });
}

/**
 * What a sitting is: one hold of the needle, one use of the marks, or the ruler.
 * @typedef {object} Hold
 * @property {string | null} [project]
 * @property {string} [of]                  'subject' or a piece
 * @property {'sight' | 'marks' | 'ruler'} method
 * @property {string | null} [unit]         the part marked with the thumb
 * @property {'side' | 'front' | 'top' | 'other' | null} [view]
 * @property {number | null} [denominator]  2, 3, 4, 8, or 0 for a slide
 * @property {number | null} [arm_mm]
 */

/** The edits that begin a sitting. @param {string} id  @param {Hold} hold @returns {(look: Look) => Promise<Edit[]>} */
function sittingEdits(id, { project = null, of = 'subject', method, unit = null, view = null, denominator = null, arm_mm = null }) {
  oneOf(method, methods, 'method');
  if (view !== null) oneOf(view, sides, 'view');
  if (denominator !== null) oneOf(denominator, [0, 2, 3, 4, 8], 'denominator');
  if (arm_mm !== null) arm(arm_mm);
  return async (look) => {
    if (project !== null) await need(look, 'project', project);
    if (of !== 'subject' && (await need(look, 'piece', of)).project !== (project ?? '')) fail('part-elsewhere', { piece: of });
    if (unit !== null) await partIn(look, unit, project ?? '');
    return made('sitting', id, { project, fact: { of, method, unit, view, denominator, arm_mm, made: minute() } });
  };
}

/** Begins a sitting without a reading. @param {Hold} hold */
export async function startSitting(hold) {
  const id = newId();
  await keep(sittingEdits(id, hold));
  return { id };
}

/**
 * What is read: a part that is there, or, in a sitting without a project, one that is only named yet.
 * @typedef {{part: string | null, name?: string, place?: string | null, value: number, denominator?: number | null, typed?: string | null}} Read
 */

/** The edits that keep a reading, and what its part is. @param {string} id  @param {Read} what */
function readingEdits(id, { part, name: called, place = null, value, denominator = null, typed = null }) {
  measure(value, { zero: place !== null });
  if (denominator !== null) oneOf(denominator, [0, 2, 3, 4, 8, 16, 32], 'denominator');
  const anew = part || called === undefined ? null : partEdits(null, [{ name: called }], 0);
  const real = anew ? anew.ids[0] : part;
  const rest = { place, value, denominator, typed: typed === null ? null : words(typed, 'typed') };
  /** @param {Look} look  @param {string} sitting  @param {string} project '' when loose @returns {Promise<Edit[]>} */
  const edits = async (look, sitting, project) => {
    if (!anew) await partIn(look, /** @type {string} */ (real), project);
    else if (project !== '') fail('no-such-record', { kind: 'part', id: part });
    if (place !== null && (await need(look, 'place', place)).project !== project) fail('part-elsewhere', { place });
    return [...anew?.edits ?? [], ...made('reading', id, { project: project || null, fact: { sitting, part: real, ...rest } })];
  };
  return { part: /** @type {string} */ (real), edits };
}

/**
 * Keeps one reading. `draft` names a draft that is done with: it goes in the same transaction, so that it is never kept twice.
 * @param {Read & {sitting: string, draft?: string}} what
 */
export async function keepReading({ sitting, draft, ...read }) {
  const id = newId();
  const { part, edits } = readingEdits(id, read);
  await keep(async (look) => {
    const { project } = await need(look, 'sitting', sitting);
    if (draft !== undefined) look.dropDraft(draft);
    return edits(look, sitting, project);
  });
  return { id, part };
}

/**
 * Begins a sitting with its first reading, and with the mark of its unit, which is a reading of one: all or nothing, so that nobody
 * ever finds a sitting that is empty. Without a project the unit may be one that is only named yet.
 * @param {Read & {hold: Hold & {unit_name?: string}, draft?: string}} what
 */
export async function firstReading({ hold: { unit_name, ...hold }, draft, ...read }) {
  const [sitting, mark, id] = [newId(), newId(), newId()];
  const project = hold.project ?? '';
  const { part, edits } = readingEdits(id, read);
  const unit = hold.unit || unit_name !== undefined ? readingEdits(mark, { part: hold.unit ?? null, name: unit_name, value: 1 }) : null;
  const begin = sittingEdits(sitting, { ...hold, unit: null });
  await keep(async (look) => {
    if (draft !== undefined) look.dropDraft(draft);
    const began = (await begin(look)).map((edit) => (edit.field === 'fact' ? { ...edit, value: { ...edit.value, unit: unit?.part ?? null } } : edit));
    return [...began, ...unit ? await unit.edits(look, sitting, project) : [], ...await edits(look, sitting, project)];
  });
  return { id, sitting, part, unit: unit?.part ?? null };
}

/** A part measured before there is a project for it. @param {{name: string, axis?: 'length' | 'width'}} what */
export async function loosePart({ name: called, axis = 'length' }) {
  const { ids, edits } = partEdits(null, [{ name: called, axis }], 0);
  await keep(async () => edits);
  return { id: ids[0] };
}

/**
 * Gives a loose sitting to a project, each of its parts as one that is there or as a new one. As readings of the subject it goes as
 * it is, and other loose sittings that measured the same parts go along, since a part is in one project. As readings of a piece
 * (`of`) it is written anew under that piece, and the loose one is struck out: what a sitting was of is never edited.
 * @param {{sitting: string, project: string, as?: Record<string, string | null>, of?: string}} what
 * @returns {Promise<{sittings: string[]}>} every sitting that is now in the project
 */
export async function give({ sitting, project, as = {}, of = 'subject' }) {
  /** @type {string[]} */
  let sittings = [];
  const anew = newId();
  await keep(async (look) => {
    await need(look, 'project', project);
    if ((await need(look, 'sitting', sitting)).project !== '') fail('no-such-record', { kind: 'sitting', id: sitting });
    const there = await look.ofProject(project);
    for (const part of Object.values(as)) if (part !== null && !there.some((rec) => rec.kind === 'part' && rec.id === part)) fail('part-elsewhere', { part });
    if (of !== 'subject' && !there.some((rec) => rec.kind === 'piece' && rec.id === of)) fail('no-such-record', { kind: 'piece', id: of });
    const going = goingWith(await look.ofProject(''), sitting);
    sittings = of === 'subject' ? going.filter((rec) => rec.kind === 'sitting').map((rec) => rec.id) : [anew];
    return of === 'subject' ? moveEdits(going, project, as, lastOrder(there)) : copyEdits(going, { sitting, anew, project, as, of, order: lastOrder(there) });
  });
  return { sittings };
}

/** @param {Rec[]} going  @param {string} project  @param {Record<string, string | null>} as  @param {number} order @returns {Edit[]} */
function moveEdits(going, project, as, order) {
  return going.flatMap(({ kind, id }) => [
    ...made(kind, id, { project }),
    ...(kind === 'part' ? made(kind, id, as[id] ? { as: as[id] } : { order: ++order }) : []),
  ]);
}

/** @param {Rec[]} going  @param {{sitting: string, anew: string, project: string, as: Record<string, string | null>, of: string, order: number}} to @returns {Edit[]} */
function copyEdits(going, { sitting, anew, project, as, of, order }) {
  const fact = (/** @type {Rec} */ rec) => rec.fields.fact[0];
  const taken = /** @type {Rec} */ (going.find((rec) => rec.id === sitting));
  const readings = going.filter((rec) => rec.kind === 'reading' && !rec.gone && fact(rec).sitting === sitting && fact(rec).place === null);
  const used = new Set([fact(taken).unit, ...readings.map((rec) => fact(rec).part)].filter(Boolean));
  const parts = going.filter((rec) => rec.kind === 'part' && used.has(rec.id));
  const ids = new Map(parts.map((rec) => [rec.id, as[rec.id] ?? newId()]));
  return [
    ...parts.filter((rec) => !as[rec.id]).flatMap((rec) => made('part', String(ids.get(rec.id)), { project, name: rec.fields.name[0], axis: rec.fields.axis[0], order: ++order })),
    ...made('sitting', anew, { project, fact: { ...fact(taken), of, unit: ids.get(fact(taken).unit) ?? null } }),
    ...readings.flatMap((rec) => made('reading', newId(), { project, fact: { ...fact(rec), sitting: anew, part: ids.get(fact(rec).part) } })),
    ...made('sitting', sitting, { struck: true }),
  ];
}

/** The loose records that belong together with a sitting, by the parts they share. @param {Rec[]} loose  @param {string} sitting */
export function goingWith(loose, sitting) {
  const going = new Set([sitting]);
  const fact = (/** @type {Rec} */ rec) => rec.fields.fact?.[0] ?? {};
  for (let before = 0; before !== going.size;) {
    before = going.size;
    for (const rec of loose) {
      const names = rec.kind === 'reading' ? [rec.id, fact(rec).sitting, fact(rec).part, fact(rec).place]
        : rec.kind === 'sitting' ? [rec.id, fact(rec).unit]
          : rec.kind === 'place' ? [rec.id, rec.fields.part?.[0]] : [rec.id];
      if (names.some((name) => going.has(name))) for (const name of names) if (name) going.add(name);
    }
  }
  return loose.filter((rec) => going.has(rec.id));
}

/**
 * Keeps a comparison of a piece with its project: the sittings it rests on are covered by it.
 * @param {{piece: string, scale: Scale, tolerance?: number}} what
 */
export async function keepCheck({ piece, scale, tolerance: within }) {
  const id = newId();
  oneOf(scale?.mode, /** @type {const} */ (['size', 'keep', 'least-work']), 'scale.mode');
  await keep(async (look) => {
    const rec = await need(look, 'piece', piece);
    const records = await look.ofProject(rec.project);
    const own = records.find((other) => other.kind === 'project')?.fields.tolerance?.[0];
    const sittings = records.filter((other) => other.kind === 'sitting' && !other.gone && other.fields.fact?.[0].of === piece).map((other) => other.id);
    const fact = { piece, made: minute(), scale, tolerance: tolerance(within ?? own ?? 0.04), sittings: sittings.sort() };
    return made('check', id, { project: rec.project, fact });
  });
  return { id };
}

/** Settles two answers that were made apart: this value, and no other. @param {{kind: string, id: string, field: string, value: any}} what */
export async function choose({ kind, id, field, value }) {
  anId(id, 'id');
  await keep(async (look) => {
    const rec = await need(look, kind, id);
    const answers = [rec.fields[field]?.[0], ...(rec.apart[field] ?? []).map(([other]) => other)];
    if (!rec.apart[field]?.length || !answers.some((answer) => same(answer, value))) fail('nothing-apart', { kind, id, field });
    return [{ kind, id, field, value, settle: true }];
  });
}
