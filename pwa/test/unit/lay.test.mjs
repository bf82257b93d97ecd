// The lay of a form and the order of the work: as the bench tells them with both halves of the engine, as they are drawn, and as they come out of a printer.
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { test } from 'node:test';
import { freshStore, methods, view } from './bench.mjs';
import { realPictures } from './pictures-engine.mjs';

const { usePhotoEngine } = await import('../../app/bench/photo-engine.js');
const { fibres, howOf, isOff, layPlan, layerWeight, longAt, straightOff } = await import('../../app/draw/lay.js');
const { formViews, onGlass } = await import('../../app/lay-sheet.js');
usePhotoEngine(realPictures(), { load: 60_000, answer: 60_000 });

const near = (got, wanted, within, what = '') => assert.ok(Math.abs(got - wanted) <= within, `${what} ${got} is not ${wanted} +- ${within}`);
const mm = (sizes) => Object.fromEntries(Object.entries(sizes).map(([name, value]) => [name, { mm: value }]));

/** A project with these forms: name: [shape, sizes, more]. */
async function forms(all) {
  await freshStore();
  const { id: project } = await methods.newProject({ name: 'Otter', animal: 'otter', parts: [{ name: 'Whole' }] });
  const { ids } = await methods.addForms({ project, forms: Object.entries(all).map(([name, [shape, sizes, more]]) => ({ name, shape, sizes: mm(sizes), ...more })) });
  return { project, ...Object.fromEntries(Object.keys(all).map((name, i) => [name, ids[i]])) };
}
const lay = (form, more = {}) => view('lay', { form, ...more });

/** The area inside an outline: Gauss's formula. */
const area = (ring) => Math.abs(ring.reduce((sum, [x, y], i) => sum + x * ring[(i + 1) % ring.length][1] - ring[(i + 1) % ring.length][0] * y, 0)) / 2;

test('a leg is laid as a rectangle as long as it rolls up, four thirds as large, with all of its wool', async () => {
  const { leg } = await forms({ leg: ['cylinder', { length: 60, width: 15 }] });
  const seen = await lay(leg);
  const [piece] = seen.lay.pieces;
  assert.equal(piece.name, 'strip');
  assert.deepEqual(seen.texts.sizes, [{ name: 'length', rolled: '80 mm', felted: '60 mm' }, { name: 'width', rolled: '20 mm', felted: '15 mm' }]);
  near(piece.width_mm, 80, 1e-9, 'along');
  // A roll of diameter D of a strip t thick holds pi D2 / (4 t) of it (machinists' handbooks).
  near(piece.length_mm, Math.PI * 20 * 20 / (4 * seen.lay.thickness_mm), 1e-6, 'rolled');
  near(area(piece.rings_mm[0]) * seen.lay.thickness_mm * seen.lay.density_rolled_g_cm3 / 1000, seen.core_g, seen.core_g * 1e-6, 'grams');
  near(seen.start.length_mm, 80, 1e-9, 'core');
  assert.deepEqual([seen.factor.n, piece.straight, seen.layers.chosen, seen.layers.most], [0, null, null, 12]);
});

test('the layers she chose hold on this device, and make the lay shorter', async () => {
  const { body } = await forms({ body: ['egg', { length: 90, width: 50 }] });
  const usual = await lay(body);
  await methods.draft({ key: `lay:${body}`, value: { layers: usual.lay.layers + 3 } });
  const more = await lay(body);
  assert.deepEqual([more.lay.layers, more.layers.chosen], [usual.lay.layers + 3, usual.lay.layers + 3]);
  near(more.lay.pieces[0].length_mm * more.lay.layers, usual.lay.pieces[0].length_mm * usual.lay.layers, 1e-6);
  assert.equal((await lay(body, { layers: null })).lay.layers, usual.lay.layers);
  assert.equal((await lay(body, { layers: 999 })).lay.layers, 12, 'no more than can be rolled');
});

test('her own layer and her own factor count once they are known', async () => {
  const { tail } = await forms({ tail: ['cone', { length: 62, width: 17 }] });
  const before = await lay(tail);
  assert.equal(before.wool, null);
  const { id: wool } = await methods.addWool({ name: 'Grey', use: 'core' });
  await methods.set({ kind: 'wool', id: wool, field: 'layer_g_m2', value: 40 });
  await methods.set({ kind: 'form', id: tail, field: 'core', value: wool });
  const own = await lay(tail);
  assert.deepEqual([own.wool, own.layer_g_m2], [{ id: wool, name: 'Grey' }, 40]);
  near(own.lay.thickness_mm / own.lay.layers, before.lay.thickness_mm / before.lay.layers * 0.4, 1e-9);
  for (let i = 0; i < 4; i++) await methods.weigh({ form: tail, grams: 0.8, sizes: { length: 62, width: 17 }, start_mm: 93, finish_mm: 62 });
  const learned = await lay(tail);
  assert.equal(learned.factor.n, 4);
  assert.ok(learned.factor.mean > 1.4 && learned.factor.mean < 1.5, `on the way to 1.5: ${learned.factor.mean}`);
  near(learned.start.length_mm, 62 * learned.factor.mean, 1e-6);
});

test('every kind has its own way: halves, a bent roll, flat pieces; and what misses a size has none', async () => {
  const all = await forms({ head: ['ball', { width: 30 }], collar: ['ring', { width: 40, thickness: 8 }], base: ['block', { length: 60, width: 40, depth: 30 }], wing: ['ear', { length: 40, width: 20, thickness: 4 }], bare: ['cone', { length: 20 }] });
  const head = await lay(all.head);
  assert.deepEqual([head.lay.pieces[0].name, head.lay.pieces[0].count, howOf('ball', head.lay.pieces[0])[1]], ['half', 2, 'cross']);
  const collar = await lay(all.collar);
  near(collar.lay.pieces[0].width_mm, Math.PI * (40 - 8) * 4 / 3, 1e-6, 'as long as the middle of the ring');
  assert.equal(howOf('ring', collar.lay.pieces[0])[1], 'bend');
  const base = await lay(all.base);
  assert.deepEqual([base.lay.pieces[0].name, base.layers.most, base.texts.together], ['flat', 100, '40 mm']);
  near(base.lay.thickness_mm * base.lay.layers, 40, 1e-9);
  assert.equal((await lay(all.wing)).lay.pieces[0].edges[0].becomes, 'root');
  const bare = await lay(all.bare);
  assert.deepEqual([bare.lay, bare.trouble, bare.start, bare.texts, bare.form.sizes.filter((size) => size.missing).map((size) => size.name)], [null, null, null, null, ['width']]);
});

test('a cone wants a curved edge: straight ones are a quarter of its radius off', async () => {
  const { tail, leg } = await forms({ tail: ['cone', { length: 62, width: 17 }], leg: ['rounded', { length: 60, width: 12 }] });
  const cone = await lay(tail);
  // With straight edges r2 falls evenly, so r = R sqrt(s) where a cone has R s: most apart at s = 1/4, by R/4.
  near(straightOff(cone.lay.pieces[0], cone.share_mm), 0.25, 0.005);
  const roll = await lay(leg);
  assert.ok(straightOff(roll.lay.pieces[0], roll.share_mm) < 0.25);
  assert.deepEqual([isOff(0.25), isOff(0.05)], [true, false]);
});

test('a lay is drawn as large as fits, to one scale both ways, and its fibres stay on it', async () => {
  const all = await forms({ tail: ['cone', { length: 62, width: 17 }], body: ['egg', { length: 95, width: 40 }], collar: ['ring', { width: 40, thickness: 8 }], wing: ['ear', { length: 40, width: 20, thickness: 4 }] });
  for (const name of ['tail', 'body', 'collar', 'wing']) {
    const { lay: { pieces: [piece] } } = await lay(all[name]);
    for (const room of [{ width: 344, most: 430 }, { width: 620, most: 560 }]) {
      const plan = layPlan(piece, room);
      assert.ok(plan.left >= 0 && plan.right <= room.width && plan.height <= room.most + 1e-6, `${name} in ${room.width}: ${JSON.stringify(plan)}`);
      const [o, x, y] = [[0, 0], [10, 0], [0, 10]].map(plan.to);
      near(Math.hypot(x[0] - o[0], x[1] - o[1]), 10 * plan.scale, 1e-9, 'along');
      near(Math.hypot(y[0] - o[0], y[1] - o[1]), 10 * plan.scale, 1e-9, 'rolled');
      for (const at of piece.rings_mm.flat()) {
        const [px, py] = plan.to(at);
        assert.ok(px >= plan.left - 1e-6 && px <= plan.right + 1e-6 && py >= plan.top - 1e-6 && py <= plan.bottom + 1e-6, `${name}: ${at}`);
      }
      const lines = fibres(piece, plan);
      assert.ok(lines.length > 1, `${name} has fibres`);
      if (plan.flat) continue;
      for (const [, end] of lines) {
        const along = plan.across ? (end[1] - plan.top) / plan.scale : (end[0] - plan.left) / plan.scale;
        const far = plan.across ? (end[0] - plan.left) / plan.scale : (plan.bottom - end[1]) / plan.scale;
        assert.ok(far < longAt(piece, along), `${name}: a fibre reaches ${far} of ${longAt(piece, along)}`);
      }
    }
  }
  near(layerWeight(10, 10), 100, 1e-9, 'ten squares of a hundredth of a square metre, 10 g together');
});

/** A page of a PDF as grey pixels, by another program's hand. */
function rendered(pdf, page, dpi) {
  const dir = mkdtempSync(path.join(tmpdir(), 'needlesight-'));
  try {
    writeFileSync(path.join(dir, 'sheet.pdf'), pdf);
    execFileSync('pdftoppm', ['-r', String(dpi), '-gray', '-f', String(page), '-l', String(page), '-singlefile', path.join(dir, 'sheet.pdf'), path.join(dir, 'page')]);
    const file = readFileSync(path.join(dir, 'page.pgm'));
    const [head, width, height] = /^P5\s+(\d+)\s+(\d+)\s+255\s/.exec(file.subarray(0, 40).toString('latin1')).map((one, i) => (i ? Number(one) : one.length));
    return { width, height, dark: (x, y) => file[head + y * width + x] < 110 };
  } finally { rmSync(dir, { recursive: true }); }
}

/** Where lines lie that are at least so many px long: the middle of each. @param {number} n how many rows there are  @param {(i: number) => number} longest px of the longest line in row i  @param {number} least */
function lines(n, longest, least) {
  const found = [];
  for (let i = 0; i < n; i++) {
    if (longest(i) < least) continue;
    if (found.at(-1)?.at(-1) === i - 1) found.at(-1).push(i); else found.push([i]);
  }
  return found.map((rows) => (rows[0] + rows.at(-1) + 1) / 2);
}
/** @param {number} n  @param {(i: number) => boolean} dark */
function run(n, dark) {
  let [most, now] = [0, 0];
  for (let i = 0; i < n; i++) { now = dark(i) ? now + 1 : 0; most = Math.max(most, now); }
  return most;
}

test('on paper a lay is as large as it is to be laid, measured in what a renderer makes of the PDF', async () => {
  const { leg } = await forms({ leg: ['cylinder', { length: 48, width: 16 }] });
  const seen = await lay(leg);
  const [piece] = seen.lay.pieces;
  const views = formViews(seen, 'both');
  assert.deepEqual(views.map((one) => one.name), ['Leg: the lay', 'Leg: rolled core']);
  assert.deepEqual(views[0].labels.map((label) => label.text).slice(0, 4), ['root', 'tip', 'begin here', 'roll this way']);
  const { bytes, views: [laid] } = await methods.look({ method: 'sheet', request: { paper: 'A4', title: 'Leg', views: views.slice(0, 1) }, pictures: {} });
  assert.deepEqual([laid.columns, laid.rows], [1, 1]);
  const dpi = 400;
  const px = dpi / 25.4;
  const page = rendered(bytes, laid.first_page, dpi);
  // Lines from top to bottom: both ends of the roll and the dimension line; from side to side: a dimension line and both ends of the form.
  const upright = lines(page.width, (x) => run(page.height, (y) => page.dark(x, y)), piece.width_mm * px * 0.97);
  const lying = lines(page.height, (y) => run(page.width, (x) => page.dark(x, y)), piece.length_mm * px * 0.97);
  assert.ok(upright.length >= 3 && lying.length >= 3, `${upright} ${lying}`);
  near((upright[1] - upright[0]) / px, piece.length_mm, 0.3, 'rolled, mm');
  near((lying[2] - lying[1]) / px, piece.width_mm, 0.3, 'along, mm');
  near((upright[1] - upright[0]) / px, Math.PI * (16 * 4 / 3) ** 2 / (4 * seen.lay.thickness_mm), 0.3, 'by the handbook, mm');
});

test('on the glass there is the rolled core, and the lay', async () => {
  const { tail } = await forms({ tail: ['cone', { length: 60, width: 18 }] });
  const [roll, flat] = onGlass(await lay(tail));
  const wide = (rings, i) => Math.max(...rings.flat().map((at) => at[i])) - Math.min(...rings.flat().map((at) => at[i]));
  near(wide(roll.rings_mm, 0), 80, 1e-6);
  near(wide(roll.rings_mm, 1), 24, 1e-6);
  near(wide(flat.rings_mm, 1), 80, 1e-6);
  assert.deepEqual([roll.id, flat.id, flat.labels[0].text], ['roll', 'lay', 'root']);
  assert.deepEqual(onGlass({ start: null }), []);
});

test('the order: the largest is rolled first, then joined from the body outwards, then smoothed ever finer; ticks are each piece’s own', async () => {
  const { project, body, head, ear } = await forms({ ear: ['cone', { length: 8, width: 6 }, { count: 2 }], head: ['ball', { width: 30 }, { stands: 'head' }], body: ['egg', { length: 80, width: 40 }, { stands: 'body' }], tail: ['cone', { length: 60, width: 12 }, { stands: 'tail' }] });
  const order = (piece) => view('order', { project, ...(piece ? { piece } : {}) });
  const seen = await order();
  assert.deepEqual(seen.steps.filter((step) => step.stage === 'roll').map((step) => step.name), ['body', 'head', 'tail', 'ear']);
  assert.deepEqual(seen.steps.filter((step) => step.stage === 'join').map((step) => step.name), ['head', 'tail', 'ear']);
  assert.deepEqual(seen.steps.slice(-3).map((step) => step.stage), ['shape', 'smooth', 'finish'], 'no coat where there is none');
  const gauges = seen.steps.map((step) => Number(step.gauge));
  assert.deepEqual(gauges, gauges.toSorted((a, b) => a - b), 'coarse to fine');
  assert.ok(seen.wire, 'a tail may have wire');
  const { id: piece } = await methods.addPiece({ project, name: 'First' });
  await methods.tick({ project, piece, form: body, stage: 'roll', done: true });
  await methods.tick({ project, piece, form: head, stage: 'roll', done: true });
  await methods.tick({ project, piece, form: head, stage: 'roll', done: false });
  await methods.tick({ project, piece, stage: 'shape', done: true });
  const ticked = await order(piece);
  assert.deepEqual(ticked.steps.filter((step) => step.done).map((step) => [step.stage, step.name]), [['roll', 'body'], ['shape', '']]);
  assert.deepEqual([ticked.done, (await order()).done], [2, 0]);
  assert.ok(ear);
});
