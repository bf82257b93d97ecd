// print {project} -> {
//   id, name, animal, size: {part, mm, typed}|null, size_text, size_part: name|'', choices: [{id, name}] the parts by which a size may be given,
//   rows: [{part, units, size}]   the table of proportions, in words
//   pictures: [{id, name, view, drawn, width, height, thumb, full, here, outlines: n, traced: [px rings],
//     why: ''|'no-size'|'no-scale'|'no-part', by: 'plane'|'part'|''      what gives its size; why there is none
//     wide_mm, high_mm      of the whole picture at the finished size
//     photo: {left_mm, top_mm, width_mm, height_mm}|null                 where the whole picture lies, mm, y down
//     rectify: {matrix, left_mm, top_mm, width_mm, height_mm, px_per_mm}|null   instead of that, of one taken at a slant: what to ask `rectify`
//     rings_mm: [[[x, y], ...], ...]                                     its outlines, in the same mm
//   }], settings
// } all mm are of the finished size
import { call } from '../engine.js';
import { pictures as picturesOf } from '../pictures.js';
import { settings } from '../settings.js';
import { photo } from './photo.js';
import { project as projectView } from './project.js';

/** @typedef {import('../fields.js').Point} Point  @typedef {{left: number, top: number, right: number, bottom: number}} Box */

const AROUND = 12; // mm that are shown about an outline
const FINEST = 12; // px to a mm: what a printer shows at arm's length
const MOST = 6e6; // px of a picture that was made straight

/** @param {{project: string}} what */
export async function print({ project: id }) {
  const [seen, all, own] = await Promise.all([projectView({ id }), picturesOf({ project: id, of: 'subject' }), settings()]);
  const shown = await Promise.all(all.pictures.map(async (one) => picture(one, await photo({ id: one.id }), Boolean(seen.size))));
  return {
    id, name: seen.name, animal: seen.animal, size: seen.size, size_text: seen.size?.typed ?? seen.size_text, size_part: seen.size_part,
    choices: seen.parts.map(({ id: part, name }) => ({ id: part, name })), rows: rows(seen), pictures: shown.sort(inOrder), settings: own,
  };
}

const order = ['side', 'front', 'top', 'other'];
/** @param {{view: string | null}} a  @param {{view: string | null}} b */
const inOrder = (a, b) => order.indexOf(a.view ?? 'other') - order.indexOf(b.view ?? 'other');

/** @param {Awaited<ReturnType<typeof projectView>>} seen */
function rows({ parts, unit }) {
  const number = (/** @type {number} */ n) => String(Number(n.toPrecision(3)));
  return parts.filter((part) => part.in_unit || part.mm_text).map((part) => ({ part: part.name, units: part.id === unit ? '1' : part.in_unit ? number(part.in_unit.ratio) : '', size: part.mm_text ?? '' }));
}

/** @param {any} one of the view pictures  @param {any} seen the view photo of it  @param {boolean} sized whether the project has a finished size */
async function picture(one, { picture: { plane, width, height }, outlines, finished_mm_per_px, to_size }, sized) {
  const traced = /** @type {Point[][]} */ (outlines.flatMap((/** @type {any} */ outline) => outline.rings));
  const { id, name, view, drawn, thumb, full, here } = one;
  const known = { id, name, view, drawn, thumb, full, here, width, height, outlines: outlines.length, traced };
  const nothing = { by: '', wide_mm: null, high_mm: null, photo: null, rectify: null, rings_mm: [] };
  if (!sized) return { ...known, ...nothing, why: 'no-size' };
  if (plane?.kind === 'rectangle' && to_size) return { ...known, why: '', by: 'plane', ...await straight(plane, to_size, { width, height }, traced) };
  if (!finished_mm_per_px) return { ...known, ...nothing, why: plane ? 'no-part' : 'no-scale' };
  const by = (/** @type {number} */ px) => px * finished_mm_per_px;
  const [wide_mm, high_mm] = [by(width), by(height)];
  return {
    ...known, why: '', by: plane ? 'plane' : 'part', wide_mm, high_mm, photo: { left_mm: 0, top_mm: 0, width_mm: wide_mm, height_mm: high_mm }, rectify: null,
    rings_mm: traced.map((ring) => ring.map(([x, y]) => [by(x), by(y)])),
  };
}

/**
 * Where a picture lies that is made straight by something flat of known size in it.
 * @param {any} plane  @param {number} to_size  @param {{width: number, height: number}} size px  @param {Point[][]} traced
 */
async function straight({ corners, width_mm, height_mm }, to_size, { width, height }, traced) {
  const to = [[0, 0], [width_mm, 0], [width_mm, height_mm], [0, height_mm]].map(([x, y]) => [x * to_size, y * to_size]);
  const answer = /** @type {any} */ (await call('homography', /** @type {any} */ ({ from: corners, to })));
  const matrix = upright(answer.matrix, width, height);
  const at = through(matrix);
  const whole = boxOf([[0, 0], [width, 0], [width, height], [0, height]].map(at));
  const rings_mm = traced.map((ring) => ring.map(at));
  const box = rings_mm.length ? within(boxOf(rings_mm.flat()), whole) : whole;
  const size = { left_mm: box.left, top_mm: box.top, width_mm: box.right - box.left, height_mm: box.bottom - box.top };
  const px_per_mm = Math.min(FINEST, 1 / mmPerPx(matrix, width / 2, height / 2), Math.sqrt(MOST / (size.width_mm * size.height_mm)));
  return { wide_mm: whole.right - whole.left, high_mm: whole.bottom - whole.top, photo: null, rectify: { matrix, ...size, px_per_mm }, rings_mm };
}

/** Where a matrix takes a point. @param {number[]} m */
const through = (m) => (/** @type {number[]} */ [x, y]) => {
  const w = m[6] * x + m[7] * y + m[8];
  return /** @type {Point} */ ([(m[0] * x + m[1] * y + m[2]) / w, (m[3] * x + m[4] * y + m[5]) / w]);
};

/** How x and y change with a px to the right and a px down. @param {number[]} m  @param {number} x  @param {number} y */
function steps(m, x, y) {
  const at = through(m);
  const [[ax, ay], [bx, by], [cx, cy]] = [at([x, y]), at([x + 1, y]), at([x, y + 1])];
  return { right: [bx - ax, by - ay], down: [cx - ax, cy - ay] };
}

/** @param {number[]} m  @param {number} x  @param {number} y */
function mmPerPx(m, x, y) {
  const { right, down } = steps(m, x, y);
  return Math.sqrt(Math.abs(right[0] * down[1] - right[1] * down[0]));
}

/** The matrix turned so that the picture stays as it was taken: neither turned by how the card lies, nor seen in a mirror. @param {number[]} m  @param {number} width  @param {number} height */
function upright(m, width, height) {
  const { right, down } = steps(m, width / 2, height / 2);
  const mirrored = right[0] * down[1] - right[1] * down[0] < 0;
  const flip = mirrored ? -1 : 1;
  const [x, y] = [right[0], flip * right[1]];
  const [c, s] = [x / Math.hypot(x, y), y / Math.hypot(x, y)];
  const rows = [0, 1, 2].map((i) => [m[i], flip * m[3 + i]]);
  return [...rows.map(([a, b]) => c * a + s * b), ...rows.map(([a, b]) => c * b - s * a), ...m.slice(6)];
}

/** @param {number[][]} points @returns {Box} */
function boxOf(points) {
  const [x, y] = [points.map((p) => p[0]), points.map((p) => p[1])];
  return { left: Math.min(...x), top: Math.min(...y), right: Math.max(...x), bottom: Math.max(...y) };
}

/** A box with some room about it, as far as there is picture. @param {Box} box  @param {Box} whole */
const within = (box, whole) => ({
  left: Math.max(whole.left, box.left - AROUND), top: Math.max(whole.top, box.top - AROUND), right: Math.min(whole.right, box.right + AROUND), bottom: Math.min(whole.bottom, box.bottom + AROUND),
});
