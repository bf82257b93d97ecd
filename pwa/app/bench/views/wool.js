// bag {} -> {wools: [{id, name, use, colour, price, price_g, pack_g, stock_g, layer_g_m2}], settings}
// wool {project, makers?, allowance?} -> {
//   id, name, size_text, sized, wanting: n forms that a size or a profile is missing of, bag: all wools,
//   forms: [{id, name, kind, count, firm, core: id|null, coated, core_text|null, coat_text|null, trouble|null}], core, coat, all: {low, best, high, text} for one maker, without the allowance,
//   makers, allowance, wools: [{...of the bag, need: {low, best, high, text}, buy_g|null, packs|null, cost|null}] those that are needed, with makers and allowance; others: the rest of the bag,
//   without: [ids] forms without a core wool, bare: [ids] forms without a top coat, cost|null: of all that is to be bought, cross: {share, apart}|null, hand: {mean, low, high, n, default},
//   used: {n, grams, planned_g}|null: what weighed forms of this project took, and what was planned for as many by the hand as it was known then, notes, trouble|null, settings
// }
// hand {} -> {density, factor: {n, mean, low, high, spread, default, points: [{value, mean, low, high}]}, weighings: [{id, project, form, form_name, project_name, grams, volume_mm3, density|null, factor|null, firm,
//   start_mm, finish_mm, start_text, finish_text, shape, made, struck}] in the order they were made, struck ones too, settings}
// group {project, id?} -> {groups: [{id, name, day, makers}], group|null: the one asked for, or the last, with kit: the engine's answer, wools: names by id, missing: needles out less back|null}
// wire {project} -> {id, name, wires, total_mm, total_text, gauge_awg, gauge_mm, notes, limbs, trouble|null, settings}
import { value } from '../book.js';
import { look } from '../photo-engine.js';
import { settings } from '../settings.js';
import { lengths } from '../sides.js';
import { bagOf, formsIn, handOf, needOf, ofKind, outlinesOf, told, worked } from '../solids.js';
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
  const [{ density, weighings }, outlines_mm3] = await Promise.all([handOf(), about.sized && forms.length ? byOutlines(id) : null]);
  const [core, coat] = [new Set(wools.map((one) => one.id)), (/** @type {Worked} */ form) => form.coat.some((share) => core.has(share.wool))];
  const base = {
    ...about, makers, allowance, settings: own, bag: wools, wanting: forms.filter((form) => !form.volume_mm3).length, hand: { mean: density.mean, low: density.low, high: density.high, n: density.n, default: density.default },
    without: forms.filter((form) => !core.has(form.core)).map((form) => form.id), bare: forms.filter((form) => !coat(form)).map((form) => form.id),
  };
  const shown = (/** @type {any} */ need) => forms.map((form) => {
    const grams = need?.forms.find((/** @type {any} */ one) => one.id === form.id);
    const { id, name, kind, count, firm, trouble } = form;
    return { id, name, kind, count, firm, trouble, core: core.has(form.core) ? form.core : null, coated: coat(form), core_text: grams?.core.text ?? null, coat_text: coat(form) ? grams?.coat.text ?? null : null };
  });
  try {
    const need = await needOf(forms, wools, { makers, allowance, ...(outlines_mm3 ? { outlines_mm3 } : {}) });
    const lines = wools.map((one, i) => ({ ...one, ...need.wools[i] }));
    return {
      ...base, core: need.core, coat: need.coat, all: need.all, cost: need.cost, cross: need.cross, notes: need.notes, trouble: null, forms: shown(need),
      used: usedFor(forms, weighings, need.forms, density), wools: lines.filter((line) => line.need.high > 0), others: lines.filter((line) => line.need.high <= 0),
    };
  } catch (error) {
    return { ...base, core: null, coat: null, all: null, cost: null, cross: null, notes: [], forms: shown(null), used: null, wools: [], others: wools, trouble: told(error) };
  }
}

/** The volume of the whole animal by its outlines, where front and side are traced and fit together. @param {string} project @returns {Promise<number | null>} */
async function byOutlines(project) {
  const { side, front, top, height_mm } = await outlinesOf(project);
  if (!side.length || !front.length) return null;
  const answer = await look({ method: 'solid-from-outlines', request: { height_mm, side, front, ...(top.length ? { top } : {}) } }).catch(told);
  return answer.volume_mm3 ?? null;
}

/**
 * What the weighed forms of a project took, and what was planned for as many of them: each with her hand as it was known before it was weighed.
 * @param {Worked[]} forms  @param {any[]} weighings  @param {any[]} needs  @param {{mean: number, default: number, points: {mean: number}[]}} density
 */
function usedFor(forms, weighings, needs, density) {
  const core = new Map(needs.map((one) => [one.id, one.core_g]));
  const known = new Set(forms.map((form) => form.id));
  const mine = weighings.map((one, i) => ({ ...one, before: i === 0 ? density.default : density.points[i - 1]?.mean ?? density.mean })).filter((one) => known.has(one.form) && core.has(one.form));
  if (!mine.length) return null;
  const sum = (/** @type {number[]} */ all) => all.reduce((a, b) => a + b, 0);
  return { n: mine.length, grams: sum(mine.map((one) => one.grams)), planned_g: sum(mine.map((one) => (core.get(one.form) / density.mean) * one.before)) };
}

export async function hand() {
  const [{ density, factor, weighings }, own, gone] = await Promise.all([handOf(), settings(), ofKind('weighing').then((all) => all.filter((rec) => rec.gone))]);
  const struck = gone.filter((rec) => rec.fields.fact).map((rec) => ({ id: rec.id, project: rec.project, ...rec.fields.fact[0], volume_mm3: null, struck: true }));
  const all = [...weighings.map((one) => ({ ...one, struck: false })), ...struck];
  const names = await read(['records'], async (tx) => {
    const store = tx.objectStore('records');
    return Promise.all(all.map((one) => Promise.all([store.get(['form', one.form]), store.get(['project', one.project])])));
  });
  const texts = await lengths(all.flatMap((one) => [one.start_mm, one.finish_mm]), own);
  const list = all.map((one, i) => ({
    ...one, density: one.volume_mm3 ? (one.grams / one.volume_mm3) * 1000 : null, factor: one.start_mm ? one.start_mm / one.finish_mm : null,
    start_text: texts[2 * i], finish_text: texts[2 * i + 1], form_name: named(names[i][0]), project_name: named(names[i][1]),
  }));
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
