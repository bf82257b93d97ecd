// bag {} -> {wools: [{id, name, use, colour, price, price_g, pack_g, stock_g, layer_g_m2}], settings}
// wool {project, makers?, allowance?} -> {
//   id, name, size_text, sized, forms: [{id, name, count, core_text, coat_text}], core, coat, all: {low, best, high, text}, allowance, makers,
//   wools: [{...of the bag, need: {low, best, high, text}, buy_g|null, cost|null}] those that are needed, others: the rest of the bag, without: n forms without a wool,
//   cost|null, cross|null, hand: {mean, n}, notes, trouble|null, settings
// }
// hand {} -> {density, factor: {n, mean, low, high, spread, default, points}, weighings: [{id, project, form, form_name, project_name, grams, volume_mm3, density, start_mm, finish_mm, made}], settings}
// group {project, id?} -> {groups: [{id, name, day, makers}], group|null: the one asked for, or the last, with kit: the engine's answer, wools: names by id, missing: needles out less back|null}
// wire {project} -> {id, name, wires, total_mm, total_text, gauge_awg, gauge_mm, notes, limbs, trouble|null, settings}
import { value } from '../book.js';
import { look } from '../photo-engine.js';
import { settings } from '../settings.js';
import { lengths } from '../sides.js';
import { bagOf, formsIn, handOf, needOf, told, worked } from '../solids.js';
import { ofProject, read } from '../store.js';
import { project as projectView } from './project.js';

/** @typedef {import('../store.js').Rec} Rec  @typedef {import('../solids.js').Worked} Worked */

export async function bag() {
  const [wools, own] = await Promise.all([bagOf(), settings()]);
  return { wools, settings: own };
}

/** @param {string} id */
async function made(id) {
  const [seen, records, own, wools] = await Promise.all([projectView({ id }), ofProject(id), settings(), bagOf()]);
  const parts = seen.parts.map(({ id: part, name, mm }) => ({ id: part, name, mm }));
  const forms = await Promise.all(formsIn(records).map((rec) => worked(rec, parts, own)));
  return { seen, records, own, wools, forms, about: { id, name: seen.name, size_text: seen.size?.typed || seen.size_text, sized: Boolean(seen.size) } };
}

/** @param {{project: string, makers?: number, allowance?: number}} what */
export async function wool({ project: id, makers = 1, allowance = 0.2 }) {
  const { own, wools, forms, about } = await made(id);
  const { density } = await handOf();
  const base = { ...about, makers, allowance, settings: own, hand: { mean: density.mean, n: density.n }, without: forms.filter((form) => !wools.some((one) => one.id === form.core)).length };
  try {
    const need = await needOf(forms, wools, { makers, allowance });
    const lines = wools.map((one, i) => ({ ...one, ...need.wools[i] }));
    const named = forms.map((form) => ({ form, grams: need.forms.find((/** @type {any} */ one) => one.id === form.id) }));
    return {
      ...base, core: need.core, coat: need.coat, all: need.all, cost: need.cost, notes: need.notes, trouble: null,
      forms: named.map(({ form, grams }) => ({ id: form.id, name: form.name, count: form.count, core_text: grams?.core.text ?? null, coat_text: form.coat.length ? grams?.coat.text ?? null : null })),
      wools: lines.filter((line) => line.need.high > 0), others: lines.filter((line) => line.need.high <= 0),
    };
  } catch (error) {
    return { ...base, core: null, coat: null, all: null, cost: null, notes: [], forms: [], wools: [], others: wools, trouble: told(error) };
  }
}

export async function hand() {
  const [{ density, factor, weighings }, own] = await Promise.all([handOf(), settings()]);
  const names = await read(['records'], async (tx) => {
    const store = tx.objectStore('records');
    return Promise.all(weighings.map((one) => Promise.all([store.get(['form', one.form]), store.get(['project', one.project])])));
  });
  const list = weighings.map((one, i) => ({ ...one, density: (one.grams / one.volume_mm3) * 1000, form_name: named(names[i][0]), project_name: named(names[i][1]) }));
  return { density, factor, weighings: list, settings: own };
}

/** @param {Rec | undefined} rec */
const named = (rec) => String(rec?.fields.name?.[0] ?? '');

/** @param {{project: string, id?: string}} what */
export async function group({ project: id, id: asked }) {
  const all = await made(id);
  const recs = all.records.filter((rec) => rec.kind === 'group' && !rec.gone && rec.fields.name).sort((a, b) => a.fields.name[1][0] - b.fields.name[1][0]);
  const groups = recs.map((rec) => ({ id: rec.id, name: named(rec), day: value(rec, 'day'), makers: value(rec, 'makers') ?? 1 }));
  const rec = recs.find((one) => one.id === asked) ?? recs.at(-1);
  return { ...all.about, groups, group: rec ? await groupOf(rec, all) : null, settings: all.own };
}

/** @param {Rec} rec  @param {Awaited<ReturnType<typeof made>>} all */
async function groupOf(rec, { forms, wools, own, seen }) {
  const [out, back] = [value(rec, 'out'), value(rec, 'back')];
  const base = {
    id: rec.id, name: named(rec), day: value(rec, 'day'), makers: value(rec, 'makers') ?? 1, spare: value(rec, 'spare') ?? 0, allowance: value(rec, 'allowance') ?? 0.2,
    needles: value(rec, 'needles') ?? [], out, back, missing: out === null || back === null ? null : out - back,
  };
  try {
    const need = await needOf(forms, wools, { allowance: 0 });
    const portions = wools.map((one, i) => ({ one, need: need.wools[i].need })).filter(({ need: grams }) => grams.high > 0);
    const wires = (await armature(forms, seen)).answer?.wires ?? [];
    const kit = await look({ method: 'kit', request: {
      makers: base.makers, spare: base.spare, allowance: base.allowance, needles: base.needles,
      wools: portions.map(({ one, need: grams }) => ({ id: one.id, each_g: grams.best, ...(one.pack_g ? { pack_g: one.pack_g } : {}) })),
      wires: wires.map((/** @type {any} */ wire) => ({ name: wire.name, cut_mm: wire.cut_mm, count: wire.count })),
    } });
    const texts = await lengths([kit.wire_mm, ...kit.wires.map((/** @type {any} */ wire) => wire.cut_mm)], own);
    return {
      ...base, trouble: null, kit: {
        ...kit, wire_text: texts[0], wires: kit.wires.map((/** @type {any} */ wire, /** @type {number} */ i) => ({ ...wire, cut_text: texts[i + 1] })),
        wools: kit.wools.map((/** @type {any} */ line) => ({ ...line, name: wools.find((one) => one.id === line.id)?.name ?? '', colour: wools.find((one) => one.id === line.id)?.colour ?? null })),
      },
    };
  } catch (error) {
    return { ...base, kit: null, trouble: told(error) };
  }
}

/** What a wire runs through: what stands out from the body, and the body's own length. */
const limbs = new Set(['leg', 'neck', 'tail', 'body']);

/** @param {Worked[]} forms  @param {Awaited<ReturnType<typeof projectView>>} seen */
async function armature(forms, seen) {
  const body = forms.find((form) => form.stands === 'body');
  const list = forms.filter((form) => limbs.has(form.stands) && form.length_mm && form.count <= 8).map((form) => ({
    name: form.name, mm: form.length_mm, count: form.count, ...(form.count % 2 === 0 && body?.depth_mm ? { through_mm: body.depth_mm } : {}),
  }));
  if (!list.length) return { answer: null, trouble: null, limbs: list };
  const longest = Math.max(...forms.map((form) => form.length_mm ?? 0), seen.size?.mm ?? 0);
  try {
    return { answer: await look({ method: 'armature', request: { height_mm: Math.min(5000, Math.max(10, longest)), limbs: list } }), trouble: null, limbs: list };
  } catch (error) {
    return { answer: null, trouble: told(error), limbs: list };
  }
}

/** @param {{project: string}} what */
export async function wire({ project: id }) {
  const { forms, seen, own, about } = await made(id);
  const { answer, trouble, limbs: list } = await armature(forms, seen);
  const texts = await lengths([answer?.total_mm, ...(answer?.wires ?? []).flatMap((/** @type {any} */ one) => [one.cut_mm, one.inside_mm])], own);
  return {
    ...about, settings: own, limbs: list, trouble, gauge_awg: answer?.gauge_awg ?? null, gauge_mm: answer?.gauge_mm ?? null, notes: answer?.notes ?? [], total_mm: answer?.total_mm ?? 0, total_text: texts[0],
    wires: (answer?.wires ?? []).map((/** @type {any} */ one, /** @type {number} */ i) => ({ ...one, cut_text: texts[1 + 2 * i], inside_text: texts[2 + 2 * i] })),
  };
}
