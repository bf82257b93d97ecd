// What a person does with forms, wools and classes. Each returns when the changes are on the disk.
import { keep } from './change.js';
import { fail } from './codes.js';
import { checked, sizesOf, stages } from './fields-forms.js';
import { measure, oneOf } from './fields.js';
import { minute, newId } from './ids.js';
import { made, need } from './intents.js';
import { look } from './photo-engine.js';
import { record } from './store.js';

/** @typedef {import('./change.js').Edit} Edit  @typedef {import('./store.js').Rec} Rec */

/** What a form has when nobody has said otherwise. */
const plainForm = { sizes: {}, count: 1, mirrored: false, stands: 'other', place: null, firm: 'medium', core: null, coat: [] };

/** The place in the order of the last form there is. @param {Rec[]} records */
const lastForm = (records) => Math.max(0, ...records.filter((rec) => rec.kind === 'form').map((rec) => rec.fields.order?.[0] ?? 0));

/**
 * Adds forms to a project, after those it has.
 * @param {{project: string, forms: Record<string, any>[]}} what each with name and shape at least @returns {Promise<{ids: string[]}>}
 */
export async function addForms({ project, forms }) {
  const good = forms.map((form) => checked('form', { ...plainForm, ...form }));
  for (const form of good) if (!form.name || !form.shape) fail('name-empty', { at: 'form' });
  const ids = good.map(() => newId());
  await keep(async (look) => {
    await need(look, 'project', project);
    const after = lastForm(await look.ofProject(project));
    return good.flatMap((form, i) => made('form', ids[i], { project, ...form, order: after + i + 1 }));
  });
  return { ids };
}

/** A kind of wool for the bag. @param {Record<string, any>} what with name and use at least @returns {Promise<{id: string}>} */
export async function addWool(what) {
  const good = checked('wool', { use: 'core', colour: null, price: null, price_g: null, pack_g: null, stock_g: null, layer_g_m2: null, ...what });
  if (!good.name) fail('name-empty', { at: 'name' });
  const id = newId();
  await keep(async () => made('wool', id, { project: null, ...good }));
  return { id };
}

/** A class that makes a project. @param {Record<string, any> & {project: string}} what @returns {Promise<{id: string}>} */
export async function addGroup({ project, ...what }) {
  const good = checked('group', { makers: 8, spare: 2, allowance: 0.2, needles: [{ gauge: '36', each: 1 }, { gauge: '38', each: 1 }, { gauge: '40', each: 1 }], day: null, out: null, back: null, ...what });
  if (!good.name) fail('name-empty', { at: 'name' });
  const id = newId();
  await keep(async (look) => { await need(look, 'project', project); return made('group', id, { project, ...good }); });
  return { id };
}

/**
 * A felted form on the scales, with its sizes as measured, and one length of it as it was rolled and as it is now.
 * @typedef {{shape: string, grams: number, sizes: Record<string, number>, start_mm?: number | null, finish_mm?: number | null}} OnScales
 */

/** Its numbers, one by one, before anything is worked out of them. @param {OnScales} what */
function checkScales({ shape, grams, sizes, start_mm = null, finish_mm = null }) {
  measure(grams, { at: 'grams' });
  const kind = oneOf(/** @type {any} */ (shape), Object.keys(sizesOf), 'shape');
  for (const name of sizesOf[/** @type {keyof typeof sizesOf} */ (kind)]) if (sizes[name] === undefined && !(kind === 'egg' && name === 'depth')) fail('value-zero', { at: name });
  if ((start_mm === null) !== (finish_mm === null)) fail('value-zero', { at: start_mm === null ? 'start_mm' : 'finish_mm' });
  for (const [at, mm] of Object.entries({ ...sizes, ...(start_mm === null ? {} : { start_mm, finish_mm }) })) measure(mm, { at });
}

/** What the engine says is wrong with a weighing, in words of scales and rulers. @param {unknown} error @returns {never} */
function refusedWeighing(error) {
  const { code, at } = /** @type {{code?: string, at?: string}} */ (error);
  if (code === 'out-of-range' && at?.endsWith('.start_mm')) fail('start-far-off', { at: 'start_mm' }, error);
  if (code === 'out-of-range' && at?.endsWith('.grams')) fail('too-dense', { at: 'grams' }, error);
  throw error;
}

/** Up to which density a piece is called so, g/cm3: loose wool has up to 0.05 (bulk of 20 to 35 cm3/g); soft, medium and firm are 0.10, 0.15 and 0.20; the densest pressed felt has 0.34, and above 0.4 one is asked. */
const called = /** @type {const} */ ([[0.05, 'loose'], [0.125, 'soft'], [0.175, 'medium'], [0.4, 'firm']]);

/** Before a weighing is kept: what it comes to, or why it cannot be. @param {OnScales} what */
export async function tryWeighing(what) {
  checkScales(what);
  const { shape, grams, sizes, start_mm, finish_mm } = what;
  const { volume_mm3 } = await look({ method: 'form', request: { shape: { kind: shape, ...Object.fromEntries(Object.entries(sizes).map(([name, mm]) => [`${name}_mm`, mm])) } } });
  const { density_g_cm3, factor } = await look({ method: 'learn', request: { pieces: [{ grams, volume_mm3, ...(start_mm ? { start_mm, finish_mm } : {}) }] } }).catch(refusedWeighing);
  const density = /** @type {number} */ (density_g_cm3.points[0].value);
  return { density, volume_mm3: /** @type {number} */ (volume_mm3), called: called.find(([most]) => density <= most)?.[1] ?? /** @type {const} */ ('too-firm'), factor: /** @type {number | null} */ (factor.points[0]?.value ?? null) };
}

/** Keeps a weighing. It is a fact: it can be struck out, not changed. @param {Omit<OnScales, 'shape'> & {form: string, piece?: string | null, shape?: string}} what shape: as which solid it was measured, where that is not the form's own @returns {Promise<{id: string}>} */
export async function weigh({ form, piece = null, grams, sizes, start_mm = null, finish_mm = null, shape = '' }) {
  const id = newId();
  const kind = shape || (await record('form', form)).fields.shape[0];
  const what = { shape: kind, grams, sizes, start_mm, finish_mm };
  checkScales(what);
  // What cannot be is refused; but an engine that is not at hand is no reason to lose what she weighed.
  await tryWeighing(what).catch((error) => { if (!['engine-missing', 'engine-stopped'].includes(error.code)) throw error; });
  await keep(async (look) => {
    const rec = await need(look, 'form', form);
    return made('weighing', id, { project: rec.project, fact: { form, piece, ...what, made: minute() } });
  });
  return { id };
}

/** Ticks a step of the work off, or takes the tick back. @param {{project: string, piece?: string | null, form?: string | null, stage: string, done: boolean}} what */
export async function tick({ project, piece = null, form = null, stage, done }) {
  oneOf(/** @type {any} */ (stage), stages, 'stage');
  oneOf(done, [true, false], 'done');
  await keep(async (look) => {
    await need(look, 'project', project);
    const value = (/** @type {Rec} */ rec, /** @type {string} */ field) => rec.fields[field]?.[0] ?? null;
    const there = (await look.ofProject(project)).filter((rec) => rec.kind === 'step' && value(rec, 'piece') === piece && value(rec, 'form') === form && value(rec, 'stage') === stage);
    // Two devices may both have made the step: it is the same one.
    if (there.length) return there.filter((rec) => value(rec, 'done') !== done).map((rec) => ({ kind: 'step', id: rec.id, field: 'done', value: done }));
    return made('step', newId(), { project, piece, form, stage, done });
  });
}
