// suggestions {animal?} -> {animals: string[], parts: {name, axis: 'length'|'width', view: 'side'|'front'|'top', unit?: true}[]}
// The kinds of animal there are lists for, and the parts suggested for one of them. Needs no engine.
import { animals, suggested } from '../suggestions.js';

/** @param {{animal?: string}} what */
export async function suggestions({ animal = 'other' }) {
  return { animals, parts: suggested(animal) };
}
