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
const pictures = realPictures();
usePhotoEngine(pictures, { load: 60_000, answer: 60_000 });

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


const hashOf = (text) => createHash('sha256').update(text).digest('hex');
/** A picture of 2400 x 1600 px on which the whole takes 2000 px, so that a px is a tenth of a mm at the finished size; and its outline. */
async function traced({ project, whole }, view, rings, along = [[200, 1200], [2200, 1200]]) {
  const picture = newId();
  const fact = { full: `sha256:${hashOf(picture)}`, thumb: `sha256:${hashOf(`small ${picture}`)}`, type: 'image/jpeg', width: 2400, height: 1600, bytes: 9, made: '2026-11-28T10:00' };
  await keep(async () => made('picture', picture, { project, fact, view, name: '' }));
  await methods.keepPins({ picture, part: whole, pins: along });
  return { picture, outline: (await methods.keepOutline({ picture, rings })).id };
}
/** An ellipse of 2000 by 500 px with a leg of 100 by 250 px under its left half: px, y down. */
const animalPx = () => {
  const body = Array.from({ length: 80 }, (_, i) => [1200 + 1000 * Math.cos(Math.PI * i / 40), 700 + 250 * Math.sin(Math.PI * i / 40)]);
  const under = body.findIndex(([x, y]) => y > 700 && x < 560);
  return [[...body.slice(0, under), [560, 1150], [460, 1150], ...body.slice(under)]];
};

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

test('sizes that are bound to a part follow it', async () => {
  const { project, head, tail, whole } = await otter();
  const [egg] = await add(project, { name: 'Head', shape: 'egg', stands: 'head', sizes: { length: { part: head }, width: { part: head, times: 0.5 } } });
  const sizes = async () => (await look(egg)).sizes.map(({ name, mm, text, part_name, missing }) => [name, mm && Math.round(mm * 100) / 100, text, part_name, missing]);
  // A head of 100 of 400 is 50 of 200.
  assert.deepEqual(await sizes(), [['length', 50, '50 mm', 'Head', false], ['width', 25, '25 mm', 'Head', false], ['depth', null, null, '', false]]);
  const before = (await look(egg)).volume_mm3;
  near(before, Math.PI / 6 * 50 * 25 * 25); // an egg without a depth is as deep as wide: pi a b c / 6
  await methods.set({ kind: 'project', id: project, field: 'size', value: { part: whole, mm: 400, typed: '40 cm' } });
  near((await look(egg)).volume_mm3, 8 * before);
  // Bound to another part, by another factor.
  await methods.set({ kind: 'form', id: egg, field: 'sizes', value: { length: { part: tail }, width: { mm: 20, typed: '2 cm' } } });
  const now = await look(egg);
  near(now.length_mm, 120);
  assert.equal(now.sizes[1].typed, '2 cm');
  assert.deepEqual((await store.record('form', egg)).fields.sizes[0], { length: { part: tail }, width: { mm: 20, typed: '2 cm' } });
});

test('a size that a part cannot give is said to be missing, and the others are worked out all the same', async () => {
  const { project, whisker, tail } = await otter();
  const [one, two] = await add(project, { name: 'Whisker', shape: 'cylinder', sizes: { length: { part: whisker }, width: { mm: 2 } } }, ball(30));
  const seen = await view('forms', { project });
  assert.deepEqual(seen.forms[0].sizes.map(({ name, missing }) => [name, missing]), [['length', true], ['width', false]]);
  assert.deepEqual([seen.forms[0].volume_mm3, seen.forms[0].trouble, seen.forms[0].core_text], [null, null, null]);
  assert.ok(seen.total.core.best > 0);
  near(seen.total.volume_mm3, Math.PI / 6 * 27000);
  assert.equal(seen.trouble, null);
  // Its part put in the bin: it is missing again.
  await methods.set({ kind: 'form', id: one, field: 'sizes', value: { length: { part: tail }, width: { mm: 2 } } });
  near((await look(one)).length_mm, 60);
  await methods.bin({ kind: 'part', id: tail, binned: true });
  assert.equal((await look(one)).sizes[0].missing, true);
  assert.equal((await look(two)).sizes[0].missing, false);
});

test('what cannot be is refused, and nothing of it is kept', async () => {
  const { project } = await otter();
  const before = (await everything()).records.length;
  const why = async (form) => { const error = await refused(() => methods.addForms({ project, forms: [ball(20), form] })); return [error.code, error.at ?? error.params.at]; };
  assert.equal((await why({ name: '', shape: 'ball' }))[0], 'name-empty');
  assert.equal((await why({ name: 'X' }))[0], 'name-empty');
  assert.deepEqual(await why({ name: 'X', shape: 'pyramid' }), ['value-not-allowed', 'shape']);
  assert.equal((await why({ name: 'X', shape: 'ball', sizes: { width: { mm: 0 } } }))[0], 'value-zero');
  assert.equal((await why({ name: 'X', shape: 'ball', sizes: { width: { mm: -3 } } }))[0], 'value-negative');
  assert.equal((await why({ name: 'X', shape: 'ball', sizes: { width: { mm: NaN } } }))[0], 'value-not-number');
  assert.deepEqual(await why({ name: 'X', shape: 'ball', sizes: { girth: { mm: 3 } } }), ['value-not-allowed', 'sizes']);
  assert.deepEqual(await why({ name: 'X', shape: 'ball', sizes: { width: { part: newId(), times: 0 } } }), ['value-not-allowed', 'sizes']);
  assert.deepEqual(await why({ name: 'X', shape: 'ball', count: 0 }), ['value-not-allowed', 'count']);
  assert.deepEqual(await why({ name: 'X', shape: 'ball', count: 10000 }), ['value-not-allowed', 'count']);
  assert.equal((await why({ name: 'X', shape: 'ball', count: 1.5 }))[0], 'value-not-number');
  assert.deepEqual(await why({ name: 'X', shape: 'ball', firm: 'hard' }), ['value-not-allowed', 'firm']);
  assert.deepEqual(await why({ name: 'X', shape: 'ball', coat_mm: 0 }), ['value-not-allowed', 'coat_mm']);
  assert.equal((await why({ name: 'X', shape: 'ball', place: { x: 1, y: 2 } }))[0], 'value-not-number');
  assert.equal((await why({ name: 'X', shape: 'ball', colour: 'red' }))[0], 'no-such-field');
  assert.equal((await refused(() => methods.addForms({ project: newId(), forms: [ball(20)] }))).code, 'no-such-record');
  assert.equal((await everything()).records.length, before);
});

test('sizes that do not go together are told at the form, and harm no other', async () => {
  const { project } = await otter();
  const [short] = await add(project, { name: 'Short', shape: 'rounded', sizes: { length: { mm: 10 }, width: { mm: 30 } } }, ball(30));
  const form = await look(short);
  assert.equal(form.trouble.code, 'out-of-range');
  assert.match(form.trouble.text, /length/);
  const seen = await view('forms', { project });
  assert.equal(seen.trouble, null);
  assert.ok(seen.total.core.best > 0);
  assert.equal(seen.forms[1].trouble, null);
});

test('a turned form is its profile, a flat piece its outline', async () => {
  const { project } = await otter();
  const profile = [[0, 10, 30, 10, 60, 0]];
  const [turned, ear, bare] = await add(project, { name: 'Spool', shape: 'turned', rings: profile }, { name: 'Ear', shape: 'ear', sizes: { thickness: { mm: 3 } }, rings: [[0, 0, 20, 0, 20, 10, 0, 10]], count: 2, mirrored: true }, { name: 'Bare', shape: 'turned' });
  const spool = await look(turned);
  near(spool.volume_mm3, Math.PI * 100 * 30 + Math.PI / 3 * 100 * 30); // a cylinder and a cone of 10 by 30
  assert.deepEqual(spool.texts, { length: '60 mm', width: '20 mm', depth: '20 mm' });
  near((await look(ear)).volume_mm3, 600);
  const none = await look(bare);
  assert.deepEqual([none.shape, none.trouble, none.volume_mm3], [null, null, null]);
  await methods.set({ kind: 'form', id: turned, field: 'rings', value: [[0, 10, 30, -1, 60, 0]] });
  assert.ok((await look(turned)).trouble);
});

test('forms keep their order, go to the bin and come back', async () => {
  const { project } = await otter();
  const [a, b, c] = await add(project, ball(10, { name: 'A' }), ball(20, { name: 'B' }), ball(30, { name: 'C' }));
  const names = async () => (await view('forms', { project })).forms.map(({ name }) => name).join('');
  assert.equal(await names(), 'ABC');
  for (const [id, order] of [[c, 1], [a, 2], [b, 3]]) await methods.set({ kind: 'form', id, field: 'order', value: order });
  assert.equal(await names(), 'CAB');
  await add(project, ball(5, { name: 'D' }));
  assert.equal(await names(), 'CABD');
  await methods.bin({ kind: 'form', id: a, binned: true });
  assert.equal(await names(), 'CBD');
  assert.equal((await view('project', { id: project })).form_count, 3);
  await methods.bin({ kind: 'form', id: a, binned: false });
  assert.equal(await names(), 'CABD');
});

test('wool is needed whether or not any is chosen; what is no longer in the bag is not counted on', async () => {
  const { project } = await otter();
  const { id: core } = await methods.addWool({ name: 'Core', use: 'core', stock_g: 100 });
  const { id: brown } = await methods.addWool({ name: 'Brown', use: 'coat' });
  const [one] = await add(project, ball(40, { core, coat: [{ wool: brown, parts: 3 }], coat_mm: 1 }));
  await add(project, ball(40));
  const seen = await view('forms', { project });
  assert.deepEqual(seen.forms.map(({ core_name }) => core_name), ['Core', '']);
  assert.equal(seen.forms[0].core_text, seen.forms[1].core_text, 'as much core wool either way');
  assert.ok(seen.forms[0].coat_text);
  assert.equal(seen.forms[1].coat_text, null);
  // The top coat is its surface, 1 mm thick, at 0.15 g/cm3: 0.75 g of 50.3 cm2.
  near((await look(one)).area_mm2 / 1000 * 0.15, 0.754, 0.001);
  assert.ok(seen.total.coat.low <= 0.75 && seen.total.coat.high >= 0.75, seen.total.coat.text);
  await methods.bin({ kind: 'wool', id: core, binned: true });
  await methods.bin({ kind: 'wool', id: brown, binned: true });
  const after = await view('forms', { project });
  assert.equal(after.trouble, null);
  assert.equal(after.forms[0].core_name, '');
  assert.equal(after.forms[0].core_text, seen.forms[0].core_text);
});

test('firmer takes more wool, and several as much more', async () => {
  const { project } = await otter();
  const [soft, firm, three] = await add(project, ball(40, { firm: 'soft' }), ball(40, { firm: 'firm' }), ball(40, { count: 3 }));
  const [a, b] = [await look(soft), await look(firm)];
  near(b.core_g / a.core_g, 2); // 0.20 to 0.10 g/cm3
  const seen = await view('forms', { project });
  near(seen.forms.find(({ id }) => id === three).core_g, 1.5 * a.core_g);
  near(seen.total.volume_mm3, 5 * Math.PI / 6 * 64000);
});

test('a lay is made for a form, and none where it cannot be', async () => {
  const { project, whisker } = await otter();
  const [cone, bare] = await add(project, { name: 'Tail', shape: 'cone', sizes: { length: { mm: 62 }, width: { mm: 17 } } }, { name: 'Bare', shape: 'cone', sizes: { length: { part: whisker }, width: { mm: 4 } } });
  const { lay, trouble, factor, texts } = await view('lay', { form: cone });
  assert.equal(trouble, null);
  assert.equal(factor.n, 0);
  assert.ok(lay.pieces.length >= 1 && lay.thickness_mm > 0);
  assert.equal(texts.pieces.length, lay.pieces.length);
  // A cone is begun at the maker's factor, 4/3 at first.
  near(lay.start.length_mm, 62 * 4 / 3);
  assert.equal((await view('lay', { form: bare })).lay, null);
});

test('an old project has no forms, and says so without the half of the engine that works them out', async () => {
  const { project } = await otter();
  usePhotoEngine(() => assert.fail('it was started'));
  const seen = await view('forms', { project });
  usePhotoEngine(pictures);
  assert.deepEqual([seen.forms, seen.total, seen.cross, seen.outlines, seen.trouble, seen.side, seen.sized], [[], null, null, null, null, [], true]);
  assert.equal((await view('project', { id: project })).form_count, 0);
  assert.deepEqual((await view('wire', { project })).wires, []);
  // Forms that another device of an earlier build left half made are left out.
  await keep(async () => [{ kind: 'form', id: newId(), field: 'project', value: project }]);
  assert.deepEqual((await view('forms', { project })).forms, []);
});

test('what is needed before forms can be proposed is said', async () => {
  await freshStore();
  const { id: project } = await methods.newProject({ name: 'Hare', animal: 'other', parts: [{ name: 'Whole' }] });
  assert.equal((await view('propose', { project })).why, 'no-size');
  const mine = await otter();
  assert.equal((await view('propose', mine)).why, 'no-side');
});

test('forms are proposed over the outline, with the head to the right, and kept where they lie', async () => {
  const mine = await otter();
  const { outline } = await traced(mine, 'side', animalPx());
  const asIs = await view('forms', mine);
  assert.equal(asIs.facing, null, 'nobody has said which way it looks');
  assert.deepEqual(asIs.side_outlines, [outline]);
  near(asIs.height_mm, 70, 0.01); // from 450 to 1150 px
  const leg = (seen) => { const low = seen.side.flat().filter(([, y]) => y < 5); return low.reduce((sum, [x]) => sum + x, 0) / low.length; };
  assert.ok(leg(asIs) < 60);
  await methods.set({ kind: 'outline', id: outline, field: 'facing', value: 'left' });
  const seen = await view('forms', mine);
  assert.equal(seen.facing, 'left');
  near(leg(seen), 200 - leg(asIs), 0.02);
  const { forms, covered, why, notes } = await view('propose', mine);
  assert.equal(why, '');
  assert.deepEqual(notes.map(({ code }) => code), ['no-front']);
  assert.ok(covered > 0.7, `${covered} of the outline`);
  const body = forms.find(({ stands }) => stands === 'body');
  assert.ok(body && forms.some(({ stands }) => stands === 'leg'));
  // As they would be kept, they are kept.
  const ids = await add(mine.project, ...forms.map(({ stands, shape, sizes, count, mirrored, place }, i) => ({ name: `Form ${i}`, stands, shape, sizes, count, mirrored, place })));
  const after = await view('forms', mine);
  assert.equal(after.forms.length, ids.length);
  near(after.forms[0].place.x, forms[0].place.x);
  for (const form of after.forms) assert.equal(form.trouble, null);
});

test('front and side of one height give a volume to hold the forms against; of two heights they do not, and nothing else is lost', async () => {
  const mine = await otter();
  const { outline } = await traced(mine, 'side', animalPx());
  await methods.set({ kind: 'outline', id: outline, field: 'facing', value: 'right' });
  // From the front: as high as from the side, 300 px wide.
  const front = await traced(mine, 'front', [[[1000, 450], [1300, 450], [1300, 1150], [1000, 1150]]]);
  await add(mine.project, ball(40));
  const seen = await view('forms', mine);
  assert.equal(seen.front_apart, false);
  assert.ok(seen.outlines.volume_mm3 > seen.outlines.low_mm3 && seen.outlines.volume_mm3 < seen.outlines.high_mm3);
  near(seen.cross.share, seen.total.volume_mm3 / seen.outlines.volume_mm3);
  assert.equal(seen.cross.apart, true, 'one ball is not an otter');
  await methods.bin({ kind: 'outline', id: front.outline, binned: true });
  await methods.keepOutline({ picture: front.picture, rings: [[[1000, 50], [1300, 50], [1300, 1550], [1000, 1550]]] });
  const other = await view('forms', mine);
  assert.deepEqual([other.front_apart, other.outlines, other.cross, other.trouble], [true, null, null, null]);
  assert.ok(other.total.core.best > 0);
  const proposed = await view('propose', mine);
  assert.deepEqual(proposed.notes.map(({ code }) => code), ['front-apart']);
  assert.ok(proposed.forms.length > 0);
});

test('wire runs through what stands out from the body, two of a pair in one, and stops short of the tips', async () => {
  const mine = await otter();
  await add(
    mine.project, { name: 'Body', shape: 'egg', stands: 'body', sizes: { length: { mm: 120 }, width: { mm: 40 }, depth: { mm: 36 } } },
    { name: 'Foreleg', shape: 'rounded', stands: 'leg', count: 2, mirrored: true, sizes: { length: { mm: 40 }, width: { mm: 12 } } },
    { name: 'Toe', shape: 'ball', stands: 'leg', sizes: { width: { mm: 6 } } }, { name: 'Eye', shape: 'ball', stands: 'other', sizes: { width: { mm: 6 } } },
  );
  const seen = await view('wire', mine);
  assert.equal(seen.trouble, null);
  assert.deepEqual(seen.wires.map(({ name, count }) => [name, count]), [['Body', 1], ['Foreleg', 1]]);
  assert.deepEqual(seen.notes.map(({ code }) => code), ['other-scale', 'too-short']);
  const [body, legs] = seen.wires;
  assert.ok(body.inside_mm < 120 && legs.inside_mm < 40);
  assert.ok(legs.cut_mm > 2 * legs.inside_mm + 36, 'both legs, the body between them, twist and folds');
  assert.equal(seen.total_mm, body.cut_mm + legs.cut_mm);
  assert.match(body.cut_text, / mm$/);
  // ASTM B258: 18 AWG is 1.0237 mm.
  assert.equal(seen.gauge_awg, 18);
  near(seen.gauge_mm, 1.0237, 1e-4);
});
