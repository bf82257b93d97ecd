// The forms of a project at its finished size, the wool they are of, and what was learned of the maker's hand: worked out anew, never kept.
import { value } from './book.js';
import { plain, Trouble } from './codes.js';
import { sizesOf } from './fields-forms.js';
import { look } from './photo-engine.js';
import { pairs } from './pins.js';
import { lengths } from './sides.js';
import { read, ofProject } from './store.js';
import { print } from './views/print.js';

/**
 * @typedef {import('./store.js').Rec} Rec
 * @typedef {import('./settings.js').Settings} Settings
 * @typedef {import('./fields-forms.js').SizeName} SizeName
 * @typedef {import('./fields.js').Point} Point
 * @typedef {{id: string, name: string, mm: number | null}} Part a part at the finished size
 * @typedef {{id: string, name: string, use: 'core' | 'coat', colour: string | null, price: number | null, price_g: number | null, pack_g: number | null, stock_g: number | null, layer_g_m2: number | null}} Wool
 * @typedef {{name: SizeName, mm: number | null, text: string | null, typed: string | null, part: string | null, part_name: string, times: number | null, missing: boolean}} SizeView
 * @typedef {{low: number, best: number, high: number, text: string}} Grams
 */

/** @param {Rec} a  @param {Rec} b */
const inOrder = (a, b) => (value(a, 'order') ?? 0) - (value(b, 'order') ?? 0) || (a.id < b.id ? -1 : 1);

/** The living forms of a project, in order. @param {Rec[]} records */
export const formsIn = (records) => records.filter((rec) => rec.kind === 'form' && !rec.gone && rec.fields.shape).sort(inOrder);

/** What the bag holds. @returns {Promise<Wool[]>} */
export async function bagOf() {
  const recs = (await ofProject('')).filter((rec) => rec.kind === 'wool' && !rec.gone && rec.fields.name);
  const wools = recs.map((rec) => /** @type {Wool} */ ({
    id: rec.id, name: value(rec, 'name'), use: value(rec, 'use') ?? 'core', colour: value(rec, 'colour'), price: value(rec, 'price'), price_g: value(rec, 'price_g'), pack_g: value(rec, 'pack_g'), stock_g: value(rec, 'stock_g'), layer_g_m2: value(rec, 'layer_g_m2'),
  }));
  return wools.sort((a, b) => (a.use === b.use ? a.name.localeCompare(b.name) : a.use === 'core' ? -1 : 1));
}

/** The sizes of a form: typed, or those of the parts they are bound to. @param {Rec} rec  @param {Part[]} parts @returns {SizeView[]} */
function sizesIn(rec, parts) {
  const kind = /** @type {keyof typeof sizesOf} */ (value(rec, 'shape'));
  const given = value(rec, 'sizes') ?? {};
  return sizesOf[kind].map((name) => {
    const size = given[name] ?? null;
    const part = size?.part ? parts.find((one) => one.id === size.part) : undefined;
    const mm = size?.part ? (part?.mm ? part.mm * (size.times ?? 1) : null) : size?.mm ?? null;
    // An egg may be as deep as wide, and a flat piece with an outline of its own is as long and wide as that.
    const optional = (kind === 'egg' && name === 'depth') || (kind === 'ear' && name !== 'thickness' && Boolean(value(rec, 'rings')));
    return { name, mm, text: null, typed: size?.typed ?? null, part: size?.part ?? null, part_name: part?.name ?? '', times: size?.times ?? null, missing: mm === null && !(optional && !size) };
  });
}

/** A form as the engine takes it, or null while a size is missing. @param {Rec} rec  @param {SizeView[]} sizes */
function shapeOf(rec, sizes) {
  if (sizes.some((size) => size.missing)) return null;
  const kind = value(rec, 'shape');
  const known = Object.fromEntries(sizes.filter((size) => size.mm !== null).map((size) => [`${size.name}_mm`, size.mm]));
  const rings = /** @type {number[][] | null} */ (value(rec, 'rings'));
  if (kind === 'turned') return rings ? { kind, profile_mm: pairs(rings[0]) } : null;
  if (kind === 'ear' && rings) return { kind, thickness_mm: known.thickness_mm, rings_mm: rings.map(pairs) };
  return { kind, ...known };
}

/**
 * One form worked out. `trouble` says why it cannot be.
 * @param {Rec} rec  @param {Part[]} parts  @param {Settings} own
 */
export async function worked(rec, parts, own) {
  const sizes = sizesIn(rec, parts);
  const texts = await lengths(sizes.map((size) => size.mm), own);
  const shape = shapeOf(rec, sizes);
  const [figures, trouble] = shape ? await look({ method: 'form', request: { shape } }).then((answer) => [answer, null], (error) => [null, told(error)]) : [null, null];
  return {
    id: rec.id, name: String(value(rec, 'name') ?? ''), kind: /** @type {string} */ (value(rec, 'shape')), stands: value(rec, 'stands') ?? 'other', count: value(rec, 'count') ?? 1, mirrored: value(rec, 'mirrored') === true,
    firm: /** @type {'soft' | 'medium' | 'firm'} */ (value(rec, 'firm') ?? 'medium'), core: value(rec, 'core'), coat: /** @type {{wool: string, parts: number}[]} */ (value(rec, 'coat') ?? []), coat_mm: value(rec, 'coat_mm'),
    place: /** @type {{x: number, y: number, turn: number, front_x?: number} | null} */ (value(rec, 'place')), rings: value(rec, 'rings'),
    sizes: sizes.map((size, i) => ({ ...size, text: texts[i] })), shape, trouble,
    volume_mm3: /** @type {number | null} */ (figures?.volume_mm3 ?? null), area_mm2: /** @type {number | null} */ (figures?.area_mm2 ?? null),
    side_mm: /** @type {Point[][]} */ (figures?.side_mm ?? []), front_mm: /** @type {Point[][]} */ (figures?.front_mm ?? []), length_mm: figures?.length_mm ?? null, width_mm: figures?.width_mm ?? null, depth_mm: figures?.depth_mm ?? null,
  };
}

/** @typedef {Awaited<ReturnType<typeof worked>>} Worked */

/** A refusal of the engine as it is shown; anything else is not for a person. @param {unknown} error */
export function told(error) {
  if (error instanceof Trouble) return plain(error);
  throw error;
}

/** Every record of a kind, of all projects; those out of sight too. @param {string} kind @returns {Promise<Rec[]>} */
export const ofKind = (kind) => read(['records'], (tx) => tx.objectStore('records').getAll(IDBKeyRange.bound([kind], [kind, []])));

/** Every weighing of this maker, in the order they were made, with what each comes to; those of forms that cannot be are left out. */
async function weighings() {
  const recs = (await ofKind('weighing')).filter((rec) => rec.fields.fact && !rec.gone);
  recs.sort((a, b) => a.fields.fact[1][0] - b.fields.fact[1][0]);
  // How firm a form was meant to be: a firm piece of a soft hand is no firm hand.
  const forms = await read(['records'], (tx) => Promise.all(recs.map((rec) => tx.objectStore('records').get(['form', rec.fields.fact[0].form]))));
  const firmOf = new Map(forms.filter(Boolean).map((/** @type {Rec} */ form) => [form.id, value(form, 'firm') ?? 'medium']));
  const all = await Promise.all(recs.map(async (rec) => {
    const fact = rec.fields.fact[0];
    const shape = { kind: fact.shape, ...Object.fromEntries(Object.entries(fact.sizes).filter(([, mm]) => mm !== null).map(([name, mm]) => [`${name}_mm`, mm])) };
    const answer = await look({ method: 'form', request: { shape } }).catch(told);
    return { id: rec.id, project: rec.project, ...fact, firm: firmOf.get(fact.form) ?? 'medium', volume_mm3: answer.volume_mm3 ?? null };
  }));
  return all.filter((one) => one.volume_mm3 !== null);
}

/**
 * The maker's hand: density and start factor as learned, and from what.
 * @returns {Promise<{density: any, factor: any, weighings: any[]}>}
 */
export async function handOf() {
  const all = await weighings();
  const pieces = all.map(({ grams, volume_mm3, firm, start_mm, finish_mm }) => ({ grams, volume_mm3, firm, ...(start_mm ? { start_mm, finish_mm } : {}) }));
  const good = await learnFrom(pieces);
  return { density: good.density_g_cm3, factor: good.factor, weighings: all };
}

/** @param {any[]} pieces @returns {Promise<any>} */
async function learnFrom(pieces) {
  try { return await look({ method: 'learn', request: { pieces } }); } catch (error) {
    // One that cannot be (from another device, say) is no reason to forget the others.
    if (!(error instanceof Trouble)) throw error;
    const tried = await Promise.all(pieces.map((piece) => look({ method: 'learn', request: { pieces: [piece] } }).then(() => true, () => false)));
    if (tried.every(Boolean)) throw error;
    return learnFrom(pieces.filter((_, i) => tried[i]));
  }
}

/** The wool of forms, as the engine tells it. @param {Worked[]} forms  @param {Wool[]} bag  @param {{makers?: number, allowance?: number, outlines_mm3?: number}} [more] */
export async function needOf(forms, bag, more = {}) {
  const { density } = await handOf();
  const known = new Set(bag.map((wool) => wool.id));
  const request = {
    forms: forms.filter((form) => form.volume_mm3).map((form) => ({
      id: form.id, volume_mm3: form.volume_mm3, area_mm2: form.area_mm2, count: form.count, firm: form.firm, ...(known.has(form.core) ? { core: form.core } : {}),
      coat: form.coat.filter((share) => known.has(share.wool)), ...(form.coat_mm ? { coat_mm: form.coat_mm } : {}),
    })),
    wools: bag.map(({ id, stock_g, pack_g, price, price_g }) => ({ id, ...(pack_g === null || pack_g < 0.1 ? {} : { pack_g }), ...(stock_g === null ? {} : { stock_g }), ...(price === null ? {} : { price }), ...(price_g === null || price_g < 0.1 ? {} : { price_g }) })),
    ...(density.n ? { hand: { density_g_cm3: density.mean, spread: density.spread } } : {}), ...more,
  };
  return /** @type {any} */ (await look({ method: 'wool', request }));
}

/**
 * The animal's outlines at the finished size as forms are fitted to them: x forward, y up, its feet at 0; from the front x to its left.
 * @param {string} project
 * @returns {Promise<{side: Point[][], front: Point[][], top: Point[][], height_mm: number | null, facing: 'left' | 'right' | null, side_outlines: string[]}>} facing: null where nobody has said it
 */
export async function outlinesOf(project) {
  const [{ pictures }, records] = await Promise.all([print({ project }), ofProject(project)]);
  const outlines = records.filter((rec) => rec.kind === 'outline' && !rec.gone);
  const facing = (/** @type {string} */ picture) => outlines.filter((rec) => value(rec, 'picture') === picture).map((rec) => value(rec, 'facing')).find((way) => way) ?? null;
  const pictureOf = (/** @type {string} */ view) => pictures.find((picture) => picture.view === view && picture.rings_mm.length);
  const of = (/** @type {string} */ view) => {
    const one = pictureOf(view);
    return one ? upright(/** @type {Point[][]} */ (one.rings_mm), facing(one.id) === 'left') : [];
  };
  const [side, front, top] = ['side', 'front', 'top'].map(of);
  const from = pictureOf('side')?.id ?? '';
  return {
    side, front, top, height_mm: side.length ? Math.max(...side.flat().map(([, y]) => y)) : null,
    facing: facing(from), side_outlines: outlines.filter((rec) => value(rec, 'picture') === from).map((rec) => rec.id),
  };
}

/** @param {Point[][]} rings y down  @param {boolean} mirrored @returns {Point[][]} */
function upright(rings, mirrored) {
  const turned = rings.map((ring) => ring.map(([x, y]) => /** @type {Point} */ ([mirrored ? -x : x, -y])));
  const [left, low] = [0, 1].map((i) => Math.min(...turned.flat().map((point) => point[i])));
  return turned.map((ring) => ring.map(([x, y]) => /** @type {Point} */ ([x - left, y - low])));
}
