// Two projects to look at: made by the same changes as a person's own, in one transaction, marked as a demo. May be added again.
import { keep } from '../bench/change.js';
import { newId } from '../bench/ids.js';
import { made } from '../bench/intents.js';
import { otter } from './otter.js';
import { owl } from './owl.js';
import { fetchPictures } from './pictures.js';

/**
 * @typedef {object} Plan
 * @property {string} name
 * @property {string} animal
 * @property {string} made
 * @property {string} unit                                       name of the part the others are shown in
 * @property {{part: string, mm: number, typed: string}} size
 * @property {[name: string, axis: 'length' | 'width'][]} parts
 * @property {[name: string, part: string, from: string][]} places
 * @property {[name: string, made: string][]} pieces
 * @property {{of: string, method: string, unit: string | null, view: string | null, denominator: number | null, made: string, readings: [what: string, value: number][]}[]} sittings
 *   `of` is 'subject' or a piece by name; a reading is of a part or of a place, in units, or in mm for the ruler
 * @property {{picture: string, view: 'side' | 'front', made: string, pins: string[]}[]} pictures  the first is the newest; `pins` are the parts measured on it
 */

/** @typedef {import('./pictures.js').Fetched} Fetched */

/** @param {Plan} plan  @param {Map<string, Fetched>} pictures those that could be had */
function edits(plan, pictures) {
  const project = newId();
  const ids = new Map([...plan.parts, ...plan.places, ...plan.pieces].map(([name]) => [name, newId()]));
  const id = (/** @type {string | null} */ name) => (name === null ? null : ids.get(name));
  const along = new Map(plan.places.map(([name, part]) => [name, part]));
  const all = [
    ...made('project', project, { name: plan.name, animal: plan.animal, made: plan.made, demo: true }),
    ...plan.parts.flatMap(([name, axis], i) => made('part', String(id(name)), { project, name, axis, order: i + 1 })),
    ...plan.places.flatMap(([name, part, from]) => made('place', String(id(name)), { project, name, part: id(part), from })),
    ...plan.pieces.flatMap(([name, day]) => made('piece', String(id(name)), { project, name, made: day })),
    ...made('project', project, { unit: id(plan.unit), size: { ...plan.size, part: id(plan.size.part) } }),
  ];
  for (const { of, unit, readings, ...sitting } of plan.sittings) {
    const at = newId();
    all.push(...made('sitting', at, { project, fact: { ...sitting, of: of === 'subject' ? of : id(of), unit: id(unit), arm_mm: null } }));
    for (const [what, value] of readings) {
      const fact = { sitting: at, part: id(along.get(what) ?? what), place: along.has(what) ? id(what) : null, value, denominator: sitting.denominator, typed: sitting.method === 'ruler' ? `${value} mm` : null };
      all.push(...made('reading', newId(), { project, fact }));
    }
  }
  for (const one of [...plan.pictures].reverse()) {
    const fetched = pictures.get(one.picture);
    if (fetched) all.push(...pictureEdits(project, one, fetched, id));
  }
  return { project, all };
}

/** A picture, its scale, what was measured on it, and its outline. @param {string} project  @param {Plan['pictures'][number]} plan  @param {Fetched} fetched  @param {(name: string) => unknown} id */
function pictureEdits(project, { view, made: when, pins }, { fact, known }, id) {
  const [picture, sitting] = [newId(), newId()];
  const plane = known.corners ? { kind: 'rectangle', corners: known.corners, width_mm: 85.6, height_mm: 53.98, name: 'id-1', corner_px: 0.5 } : null;
  const length = (/** @type {number[][]} */ [[ax, ay], [bx, by]]) => Math.hypot(bx - ax, by - ay);
  return [
    ...made('picture', picture, { project, fact: { ...fact, made: when }, view, name: '', whose: 'needlesight demo', ...(plane ? { plane } : {}) }),
    ...made('sitting', sitting, { project, fact: { of: 'subject', method: 'photo', picture, unit: null, view, denominator: null, arm_mm: null, made: when } }),
    ...pins.flatMap((part) => made('reading', newId(), { project, fact: { sitting, part: id(part), place: null, value: length(known.pins[part]), denominator: null, typed: null, pins: known.pins[part], pin_px: 1 } })),
    ...(known.rings ? made('outline', newId(), { project, picture, name: '', rings: known.rings, facing: 'left' }) : []),
  ];
}

/** Adds the otter and the barn owl; without their pictures where those cannot be had. @returns {Promise<{otter: string, owl: string}>} */
export async function addDemo() {
  const pictures = await fetchPictures([...otter.pictures, ...owl.pictures].map(({ picture }) => picture));
  const [second, first] = [edits(owl, pictures), edits(otter, pictures)];
  await keep(async () => [...second.all, ...first.all]);
  return { otter: first.project, owl: second.project };
}
