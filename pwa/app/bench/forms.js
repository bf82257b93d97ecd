// What a person does with forms, wools and classes. Each returns when the changes are on the disk.
import { keep } from './change.js';
import { fail } from './codes.js';
import { checked, sizesOf, stages } from './fields-forms.js';
import { measure, oneOf } from './fields.js';
import { minute, newId } from './ids.js';
import { made, need } from './intents.js';
import { look } from './photo-engine.js';

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
 * A form that was felted and put on the scales, with its sizes as measured, and one length as it was rolled and as it is now.
 * @param {{form: string, piece?: string | null, grams: number, sizes: Record<string, number>, start_mm?: number | null, finish_mm?: number | null}} what @returns {Promise<{id: string}>}
 */
export async function weigh({ form, piece = null, grams, sizes, start_mm = null, finish_mm = null }) {
  const id = newId();
  measure(grams, { at: 'grams' });
  if ((start_mm === null) !== (finish_mm === null)) fail('value-zero', { at: start_mm === null ? 'start_mm' : 'finish_mm' });
  for (const [at, mm] of Object.entries({ ...sizes, ...(start_mm === null ? {} : { start_mm, finish_mm }) })) measure(mm, { at });
  let fact = /** @type {any} */ (null);
  await keep(async (look) => {
    const rec = await need(look, 'form', form);
    const shape = /** @type {keyof typeof sizesOf} */ (rec.fields.shape[0]);
    for (const name of sizesOf[shape]) if (sizes[name] === undefined && !(shape === 'egg' && name === 'depth')) fail('value-zero', { at: name });
    fact = { form, piece, grams, shape, sizes, start_mm, finish_mm, made: minute() };
    return made('weighing', id, { project: rec.project, fact });
  });
  return { id };
}

/** Before a weighing is kept: what it comes to, or why it cannot be. @param {{shape: string, sizes: Record<string, number>, grams: number}} what @returns {Promise<{density: number, volume_mm3: number}>} */
export async function tryWeighing({ shape, sizes, grams }) {
  const { volume_mm3 } = await look({ method: 'form', request: { shape: { kind: shape, ...Object.fromEntries(Object.entries(sizes).map(([name, mm]) => [`${name}_mm`, mm])) } } });
  const { density_g_cm3 } = await look({ method: 'learn', request: { pieces: [{ grams, volume_mm3 }] } });
  return { density: density_g_cm3.points[0].value, volume_mm3 };
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
