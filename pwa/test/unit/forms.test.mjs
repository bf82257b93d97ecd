// Forms and the wool they take, as the bench tells the screens of them: with both halves of the engine as they are built.
import assert from 'node:assert/strict';
import { createHash } from 'node:crypto';
import { test } from 'node:test';
import { everything, freshStore, methods, refused, store, view } from './bench.mjs';
import { realPictures } from './pictures-engine.mjs';

const { keep } = await import('../../app/bench/change.js');
const { made } = await import('../../app/bench/intents.js');
const { newId } = await import('../../app/bench/ids.js');
const { usePhotoEngine } = await import('../../app/bench/photo-engine.js');
usePhotoEngine(realPictures(), { load: 60_000, answer: 60_000 });

const near = (got, wanted, share = 1e-6) => assert.ok(Math.abs(got - wanted) <= share * Math.abs(wanted), `${got}, not ${wanted}`);

/** An otter of 200 mm whose head was ruled at a quarter, and its tail at 60 of 200. */
async function otter() {
  await freshStore();
  const { id: project, parts } = await methods.newProject({ name: 'Otter', animal: 'otter', parts: [{ name: 'Whole' }, { name: 'Head' }, { name: 'Tail' }, { name: 'Whisker' }] });
  const [whole, head, tail, whisker] = parts;
  const { id: sitting } = await methods.startSitting({ project, method: 'ruler' });
  for (const [part, value] of [[whole, 400], [head, 100], [tail, 120]]) await methods.keepReading({ sitting, part, value });
  await methods.set({ kind: 'project', id: project, field: 'size', value: { part: whole, mm: 200, typed: '20 cm' } });
  return { project, whole, head, tail, whisker };
}
const add = async (project, ...forms) => (await methods.addForms({ project, forms })).ids;
const ball = (mm, more = {}) => ({ name: 'Ball', shape: 'ball', sizes: { width: { mm } }, ...more });
const look = async (id) => (await view('form', { id })).form;

test('a form is worked out at the size it was given, and its wool is a range', async () => {
  const { project } = await otter();
  const [id] = await add(project, ball(40));
  const form = await look(id);
  near(form.volume_mm3, Math.PI / 6 * 40 ** 3); // the volume of a sphere, pi d^3 / 6
  near(form.area_mm2, Math.PI * 40 ** 2); // and its surface, pi d^2
  assert.equal(form.trouble, null);
  assert.match(form.core_text, /^\d+(\.\d+)?–\d+(\.\d+)? g$/);
  // 33.5 cm3 at 0.15 g/cm3 is about 5 g.
  assert.ok(form.core_g > 3.5 && form.core_g < 7, `${form.core_g} g`);
  assert.equal(form.coat_text, null);
});
