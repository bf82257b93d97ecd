// checks {project, piece} -> {
//   project: {id, name}, piece: {id, name},
//   checks: [{id, number: 1.., made, struck, scale: {mode, part, name}, tolerance, out: n parts to change, right: n, too_rough: n, trouble: code|'',
//             parts: [{part, name, verdict, off: (piece/target - 1)|null, off_u}]}]      oldest first, the last 20
//   parts: [{part, name, points: [{check, number, off, off_u, verdict}]}]               the same by part, to show them closing in; no struck ones
//   most: the greatest |off| of all, for the drawing's scale
// }
// Every figure is worked out again from the readings that counted when the check was kept.
import { bookOf } from '../book.js';
import { fail, plain } from '../codes.js';
import { call } from '../engine.js';
import { comparison } from '../sides.js';
import { ofProject } from '../store.js';

/** @typedef {import('../book.js').Book} Book  @typedef {import('../book.js').BookCheck} BookCheck */

/** @param {{project: string, piece: string}} what */
export async function checks({ project, piece }) {
  const book = bookOf(await ofProject(project), project);
  const made = book.pieces.find((p) => p.id === piece) ?? fail('no-such-record', { kind: 'piece', id: piece });
  const kept = book.checks.filter((c) => c.piece === piece);
  const numbers = new Map(kept.filter((c) => !c.struck).map((c, i) => [c.id, i + 1]));
  /** @type {(Awaited<ReturnType<typeof checkView>> & {number: number})[]} */
  const list = [];
  for (const check of kept.slice(-20)) list.push({ ...await checkView(book, check), number: numbers.get(check.id) ?? 0 });
  const parts = book.parts.flatMap((p) => {
    const points = list.flatMap((c) => c.parts.filter((one) => !c.struck && one.part === p.id && one.off !== null).map((one) => ({ check: c.id, number: c.number, off: one.off, off_u: one.off_u, verdict: one.verdict })));
    return points.length ? [{ part: p.id, name: p.name, points }] : [];
  });
  const most = Math.max(0, ...parts.flatMap((p) => p.points.map((point) => Math.abs(point.off ?? 0))));
  return { project: { id: project, name: String(book.field('name') ?? '') }, piece: { id: piece, name: made.name }, checks: list, parts, most };
}

/** @param {Book} book  @param {BookCheck} check */
async function checkView(book, check) {
  const part = 'part' in check.scale ? book.root(check.scale.part) ?? check.scale.part : null;
  const scale = /** @type {any} */ (part === null ? check.scale : { ...check.scale, part });
  const base = { id: check.id, made: check.made, struck: check.struck, scale: { mode: check.scale.mode, part, name: book.part.get(part ?? '')?.name ?? '' }, tolerance: check.tolerance };
  try {
    const answer = await call('compare', await comparison(book, check.piece, scale, check.tolerance, check));
    const parts = answer.parts.map((p) => ({ part: p.part, name: book.part.get(p.part)?.name ?? '', verdict: p.verdict, off: p.d === null || p.d === undefined ? null : Math.expm1(p.d), off_u: p.u_d ?? null }));
    const n = (/** @type {string[]} */ ...verdicts) => parts.filter((p) => verdicts.includes(p.verdict)).length;
    return { ...base, parts, out: n('add', 'take-in'), right: n('right'), too_rough: n('too-rough'), trouble: '' };
  } catch (error) {
    return { ...base, parts: [], out: 0, right: 0, too_rough: 0, trouble: plain(error).code };
  }
}
