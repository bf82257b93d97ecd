// loose {} -> {
//   sittings: [{id, method, view, made, unit: part id|null, unit_name, together: [sitting ids that go along when it is given],
//               parts: [{id, name}], readings: [{id, part, name, value, denominator, typed, struck}]}],   newest first
//   projects: [{id, name}]                       to give it to, newest first; ask `pad` or `project` for the parts of one
// }
// What was measured with no project. Needs no engine.
import { goingWith } from '../intents.js';
import { ofProject } from '../store.js';
import { looseBook } from './pad.js';
import { projects } from './projects.js';

export async function loose() {
  const [records, list] = await Promise.all([ofProject(''), projects()]);
  const book = looseBook(records);
  const sittings = book.sittings.filter((s) => !s.struck).reverse().map((s) => {
    const readings = book.readings.filter((r) => r.sitting === s.id);
    const unit = book.root(s.unit);
    const ids = new Set([...unit ? [unit] : [], ...readings.map((r) => r.part)]);
    return {
      id: s.id, method: s.method, view: s.view, made: s.made, unit, unit_name: book.part.get(unit ?? '')?.name ?? '',
      together: goingWith(records, s.id).filter((rec) => rec.kind === 'sitting' && rec.id !== s.id).map((rec) => rec.id),
      parts: [...ids].map((id) => ({ id, name: book.part.get(id)?.name ?? '' })),
      readings: readings.map((r) => ({ id: r.id, part: r.part, name: book.part.get(r.part)?.name ?? '', value: r.value, denominator: r.denominator, typed: r.typed, struck: r.struck })),
    };
  });
  return { sittings, projects: list.projects.map(({ id, name }) => ({ id, name })) };
}
