// forms {project} -> {
//   id, name, animal, size_text|null, sized: whether there is a finished size, parts: [{id, name, axis, mm|null, mm_text|null}], settings,
//   forms: [{id, name, kind, stands, count, mirrored, firm, core, core_name, coat, coat_mm, place: {x, y, turn, front_x?}|null, trouble|null,
//            sizes: [{name, mm, text, typed, part, part_name, times, missing}], volume_mm3, volume_text, area_mm2, length_mm, width_mm, depth_mm,
//            side_mm, front_mm: [rings] root at x 0, y up, core_text, coat_text, core_g|null}],
//   side, front, top: [rings] the animal's outlines at the finished size, mm, x forward, y up, feet at 0 (front: x to its left), height_mm|null,
//   facing: 'left'|'right' on the side picture, null where nobody has said it, side_outlines: [ids] of that picture,
//   outlines: {volume_mm3, low_mm3, high_mm3, notes, text, low_text, high_text}|null, total: {core, coat, all: {low, best, high, text}, volume_mm3, volume_text}|null,
//   front_apart: the front outline is of another height than the side and tells nothing of it, cross: {share, apart}|null, wools: the bag, trouble|null
// }
// form {id} -> {form (and coat_mm_text|null, texts: {length, width, depth} over all), project: {id, name, size_text, sized}, parts, wools, settings, weighings: [{id, grams, density, made}]}
// lay {form, layers?} -> {form, project, lay: the engine's answer|null, trouble|null, core_g, core_text, factor: {mean, n}, layers: {chosen|null, most}, layer_g_m2|null, wool: {id, name}|null,
//   start: the rolled core, {side_mm, front_mm, length_mm, width_mm, depth_mm}|null, texts: {sizes: [{name, rolled, felted}], pieces: [{length, width}], thickness, together}|null, share_mm: as thick as all pieces together, settings}
//   layers: as the draft lay:FORM says, where left out
// propose {project} -> {forms: [{name, stands, shape, sizes, count, mirrored, place, kind, side_mm, width_mm, depth_mm, texts: by the name of the size}], covered, notes, side, front, why: ''|'no-size'|'no-side'}
import { drafts } from '../drafts.js';
import { look } from '../photo-engine.js';
import { settings } from '../settings.js';
import { lengths } from '../sides.js';
import { bagOf, formsIn, handOf, needOf, outlinesOf, told, worked } from '../solids.js';
import { ofProject, record } from '../store.js';
import { project as projectView } from './project.js';

/** @typedef {import('../solids.js').Worked} Worked  @typedef {import('../settings.js').Settings} Settings  @typedef {import('../fields.js').Point} Point */

/** A volume as she reads it. @param {number | null | undefined} mm3  @param {Settings} own */
export function volumeText(mm3, own) {
  if (!mm3) return null;
  const [amount, unit] = own.unit === 'in' ? [mm3 / 16387.064, 'in³'] : [mm3 / 1000, 'cm³'];
  return `${Number(amount.toPrecision(2))} ${unit}`;
}

/** What every screen of forms knows of a project. @param {string} id */
async function opened(id) {
  const [seen, records, own, wools] = await Promise.all([projectView({ id }), ofProject(id), settings(), bagOf()]);
  const parts = seen.parts.map(({ id: part, name, axis, mm, mm_text }) => ({ id: part, name, axis, mm, mm_text }));
  const about = { id, name: seen.name, animal: seen.animal, size_text: seen.size?.typed || seen.size_text, sized: Boolean(seen.size) };
  return { records, own, wools, parts, about };
}

/** @param {{project: string}} what */
export async function forms({ project: id }) {
  const { records, own, wools, parts, about } = await opened(id);
  const list = await Promise.all(formsIn(records).map((rec) => worked(rec, parts, own)));
  const animal = about.sized ? await outlinesOf(id) : { side: [], front: [], top: [], height_mm: null, facing: null, side_outlines: [] };
  const [solid, solidTrouble] = await whole(animal);
  const [need, trouble] = list.length ? await needOf(list, wools, solid ? { outlines_mm3: solid.volume_mm3 } : {}).then((answer) => [answer, null], (error) => [null, told(error)]) : [null, null];
  const volume = list.reduce((sum, form) => sum + (form.volume_mm3 ?? 0) * form.count, 0);
  return {
    ...about, parts, settings: own, wools, ...animal,
    forms: list.map((form) => shown(form, need, wools, own)),
    front_apart: isApart(solidTrouble), outlines: solid && { ...solid, text: volumeText(solid.volume_mm3, own), low_text: volumeText(solid.low_mm3, own), high_text: volumeText(solid.high_mm3, own) }, cross: need?.cross ?? null,
    total: need ? { core: need.core, coat: need.coat, all: need.all, volume_mm3: volume, volume_text: volumeText(volume, own) } : null,
    trouble: trouble ?? (isApart(solidTrouble) ? null : solidTrouble),
  };
}

/** @param {Worked} form  @param {any} need  @param {import('../solids.js').Wool[]} wools  @param {Settings} own */
function shown(form, need, wools, own) {
  const grams = need?.forms.find((/** @type {any} */ one) => one.id === form.id);
  return {
    ...form, volume_text: volumeText(form.volume_mm3, own), core_name: wools.find((wool) => wool.id === form.core)?.name ?? '',
    core_text: grams?.core.text ?? null, coat_text: grams && form.coat.length ? grams.coat.text : null, core_g: grams?.core_g ?? null,
  };
}

/** Whether front and side are of different heights, of two poses say: the front then tells nothing of the side. @param {{code?: string, at?: string} | null} error */
const isApart = (error) => error?.code === 'out-of-range' && error.at === 'front';

/** The volume that front and side enclose, if both are there. @param {Awaited<ReturnType<typeof outlinesOf>>} animal @returns {Promise<[any, any]>} */
async function whole({ side, front, top, height_mm }) {
  if (!side.length || !front.length) return [null, null];
  const request = { height_mm, side, front, ...(top.length ? { top } : {}) };
  return look({ method: 'solid-from-outlines', request }).then((answer) => [answer, null], (error) => [null, told(error)]);
}

/** @param {string} id */
async function openedForm(id) {
  const rec = await record('form', id);
  const all = await opened(rec.project);
  const form = await worked(rec, all.parts, all.own);
  const [need, trouble] = await needOf([form], all.wools).then((answer) => [answer, null], (error) => [null, told(error)]);
  return { ...all, rec, form: shown({ ...form, trouble: form.trouble ?? trouble }, need, all.wools, all.own) };
}

/** @param {{id: string}} what */
export async function form({ id }) {
  const { form, about, parts, wools, own } = await openedForm(id);
  const { weighings } = await handOf();
  const [coat_mm_text, length, width, depth] = await lengths([form.coat_mm, form.length_mm, form.width_mm, form.depth_mm], own);
  return {
    form: { ...form, coat_mm_text, texts: { length, width, depth } }, project: about, parts, wools, settings: own,
    weighings: weighings.filter((one) => one.form === id).map(({ id: weighing, grams, volume_mm3, made }) => ({ id: weighing, grams, density: (grams / volume_mm3) * 1000, made })),
  };
}

/** How many layers she chose, kept on this device. @param {string} form */
const layersKey = (form) => `lay:${form}`;

/** @param {{form: string, layers?: number | null}} what layers: as she chose before, where left out; null: as is usual */
export async function lay({ form: id, layers: asked }) {
  const { form, about, wools, own } = await openedForm(id);
  const [{ factor }, kept] = await Promise.all([handOf(), drafts({ key: layersKey(id) })]);
  const wool = wools.find((one) => one.id === form.core) ?? wools.find((one) => one.use === 'core') ?? null;
  const most = flat.has(form.kind) ? 100 : 12;
  const chosen = asked === undefined ? kept?.layers ?? null : asked;
  const layers = chosen === null ? null : within(Math.round(chosen), 1, most);
  const request = form.shape && form.core_g ? { shape: form.shape, mass_g: form.core_g, factor: within(factor.mean, 1, 3), ...(wool?.layer_g_m2 ? { areal_g_m2: wool.layer_g_m2 } : {}), ...(layers ? { layers } : {}) } : null;
  const [answer, trouble] = request ? await look({ method: 'lay', request }).then((one) => [one, null], (error) => [null, told(error)]) : [null, form.trouble];
  const start = answer ? await look({ method: 'form', request: { shape: answer.start } }) : null;
  return {
    form, project: about, settings: own, lay: answer, trouble, core_g: form.core_g, core_text: form.core_text, layers: { chosen: layers, most },
    start: start && { side_mm: start.side_mm, front_mm: start.front_mm, length_mm: start.length_mm, width_mm: start.width_mm, depth_mm: start.depth_mm },
    factor: { mean: factor.mean, n: factor.n }, share_mm: answer ? answer.thickness_mm * (flat.has(form.kind) ? answer.layers : answer.pieces[0].count) : null, layer_g_m2: wool?.layer_g_m2 ?? null, wool: wool && { id: wool.id, name: wool.name }, texts: answer ? await layTexts(form, answer, start, own) : null,
  };
}

/** Those that are laid flat, not rolled. */
const flat = new Set(['block', 'ear']);

/** @param {number} x  @param {number} low  @param {number} high */
const within = (x, low, high) => Math.min(high, Math.max(low, x));

/** A hand lays wool to the millimetre at best, and small things to half of one. @param {number | null | undefined} mm */
const layable = (mm) => (mm ? (mm < 10 ? Math.round(2 * mm) / 2 : Math.round(mm)) : null);

/** @param {Worked} form  @param {any} answer  @param {any} start  @param {Settings} own */
async function layTexts(form, answer, start, own) {
  const given = form.sizes.filter((size) => size.mm !== null).map((size) => size.name);
  const names = given.some((name) => name !== 'thickness') ? given : ['length', 'width', ...given];
  const size = (/** @type {any} */ shape, /** @type {any} */ figures, /** @type {string} */ name) => layable(shape?.[`${name}_mm`] ?? figures[`${name}_mm`]);
  const rolled = await lengths(names.map((name) => size(answer.start, start, name)), own);
  const felted = await lengths(names.map((name) => size(form.shape, form, name)), own);
  const flat = await lengths(answer.pieces.flatMap((/** @type {any} */ piece) => [layable(piece.length_mm), layable(piece.width_mm)]), own);
  return {
    sizes: names.map((name, i) => ({ name, rolled: rolled[i], felted: felted[i] })), ...await thick(form, answer, own),
    pieces: answer.pieces.map((/** @type {any} */ _, /** @type {number} */ i) => ({ length: flat[2 * i], width: flat[2 * i + 1] })),
  };
}

/** How thick one piece's layers are, and all that lie on each other. @param {Worked} form  @param {any} answer  @param {Settings} own */
async function thick(form, answer, own) {
  const [thickness, together] = await lengths([layable(answer.thickness_mm), layable(answer.thickness_mm * (flat.has(form.kind) ? answer.layers : 1))], own);
  return { thickness, together };
}

/** @param {{project: string}} what */
export async function propose({ project: id }) {
  const { about, parts, own } = await opened(id);
  const nothing = { forms: [], covered: 0, notes: [], side: [], front: [] };
  if (!about.sized) return { ...nothing, why: 'no-size' };
  const { side, front, height_mm } = await outlinesOf(id);
  if (!side.length) return { ...nothing, why: 'no-side' };
  const measured = parts.filter((part) => part.mm).map((part) => ({ id: part.id, name: part.name, mm: part.mm, axis: part.axis }));
  const request = { height_mm, side, parts: measured };
  const alone = () => look({ method: 'breakdown', request });
  const answer = front.length ? await look({ method: 'breakdown', request: { ...request, front } }).catch(async (error) => {
    if (!isApart(error)) throw error;
    return { ...await alone(), notes: [{ code: 'front-apart' }] };
  }) : await alone();
  const list = await Promise.all(answer.forms.map((/** @type {any} */ one, /** @type {number} */ i) => proposed(one, answer.forms.slice(0, i), own)));
  return { forms: list, covered: answer.covered, notes: answer.notes, side, front, why: '' };
}

/** One that is proposed, as it would be kept; sizes that agree with a part are bound to it. @param {any} one  @param {any[]} before  @param {Settings} own */
async function proposed(one, before, own) {
  const { kind, ...mm } = one.shape;
  const names = Object.keys(mm);
  const texts = await lengths(names.map((name) => mm[name]), own);
  const sizes = Object.fromEntries(names.map((name, i) => {
    const bound = one.binds.find((/** @type {any} */ bind) => bind.size === name);
    return [name.replace(/_mm$/, ''), bound ? { part: bound.part } : { mm: Math.round(mm[name] * 10) / 10, typed: texts[i] ?? undefined }];
  }));
  const drawn = await look({ method: 'form', request: { shape: one.shape } });
  const { at: [x, y], turn_rad: turn } = one.side;
  return {
    stands: one.stands_for, n: before.filter((other) => other.stands_for === one.stands_for).length + 1, shape: kind, kind, sizes, count: one.count, mirrored: one.mirrored,
    place: { x, y, turn, ...(one.front?.length ? { front_x: Math.abs(one.front[0][0]) } : {}) }, side_mm: drawn.side_mm, width_mm: drawn.width_mm, depth_mm: drawn.depth_mm, volume_mm3: drawn.volume_mm3,
    texts: Object.fromEntries(names.map((name, i) => [name.replace(/_mm$/, ''), texts[i]])),
  };
}
