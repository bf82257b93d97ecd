// order {project, piece?} -> {
//   id, name, piece: {id, name}|null, pieces: [{id, name}],
//   steps: [{stage, form|null, name, kind, count, core_text, gauge, done, ticked: n devices' steps}]   in the order of the work, coarse needles to fine
//   done: n, wire: whether there may be wire in it, settings
// }
// The forms are rolled and felted from the largest to the smallest, then joined from the body outwards; then the whole is shaped, coated and smoothed.
import { value } from '../book.js';
import { forms as formsView } from './forms.js';
import { ofProject } from '../store.js';

/** The gauge of the needle for each stage, coarse to fine (common practice). @type {Record<string, string>} */
export const gauges = { roll: '36', felt: '36', join: '36', shape: '38', coat: '38', smooth: '40', finish: '42' };

/** From the body outwards. */
const outwards = ['body', 'neck', 'head', 'leg', 'tail', 'other'];

/** What wire runs through, where there is wire. */
const wired = new Set(['neck', 'leg', 'tail']);

/** @param {{project: string, piece?: string}} what */
export async function order({ project: id, piece: asked }) {
  const [seen, records] = await Promise.all([formsView({ project: id }), ofProject(id)]);
  const pieces = records.filter((rec) => rec.kind === 'piece' && !rec.gone).map((rec) => ({ id: rec.id, name: String(value(rec, 'name') ?? '') }));
  const piece = pieces.find((one) => one.id === asked) ?? null;
  const ticks = records.filter((rec) => rec.kind === 'step' && value(rec, 'piece') === (piece?.id ?? null));
  const isDone = (/** @type {string} */ stage, /** @type {string | null} */ form) => ticks.some((rec) => value(rec, 'stage') === stage && value(rec, 'form') === form && value(rec, 'done') === true);
  const step = (/** @type {string} */ stage, /** @type {any} */ form = null) => ({
    stage, form: form?.id ?? null, name: form?.name ?? '', kind: form?.kind ?? '', count: form?.count ?? 1, core_text: form?.core_text ?? null, gauge: gauges[stage], done: isDone(stage, form?.id ?? null),
  });
  const bySize = [...seen.forms].sort((a, b) => (b.volume_mm3 ?? 0) - (a.volume_mm3 ?? 0));
  const joined = [...seen.forms].sort((a, b) => outwards.indexOf(a.stands) - outwards.indexOf(b.stands)).slice(1);
  const coated = seen.forms.some((form) => form.coat.length);
  const steps = [
    ...bySize.flatMap((form) => [step('roll', form), step('felt', form)]), ...joined.map((form) => step('join', form)),
    ...(seen.forms.length ? [step('shape'), ...(coated ? [step('coat')] : []), step('smooth'), step('finish')] : []),
  ];
  return { id, name: seen.name, animal: seen.animal, piece, pieces, steps, done: steps.filter((one) => one.done).length, wire: seen.forms.some((form) => wired.has(form.stands)), settings: seen.settings };
}
