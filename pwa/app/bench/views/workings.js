// workings {project, piece, scale?, part} -> {lines: ['0.792 x 20/16 in = 15.8/16 in, so 1 in', ...]}
// The sum behind one part's verdict, as it would be done on paper.
import { call } from '../engine.js';
import { about, named } from '../sides.js';
import { openPiece } from './verdict.js';

/** @param {{project: string, piece: string, scale?: {mode: string, part?: string, mm?: number}, part: string}} what */
export async function workings({ project, piece, scale, part }) {
  const { book, own, question } = await openPiece(project, piece, scale);
  const { lines } = await about(book, () => call('workings', { ...question, part, axis: book.part.get(part)?.axis, unit: own.unit, ...(own.unit === 'in' ? { denominator: own.inch } : {}) }));
  return { lines: lines.map((line) => named(line, book)) };
}
