// A reading as people write it: a count with its fraction, points between two marks, a length as it was typed.
import { fromValue } from './count.js';
import { counted, num, words } from './words.js';

/** @param {{value: number, denominator?: number | null, typed?: string | null}} reading @param {string} method sight, marks or ruler */
export function readingText(reading, method) {
  if (reading.typed) return reading.typed;
  if (method === 'marks') return words.entry.points(num(reading.value, 0));
  if (method === 'ruler') return `${num(reading.value, 1)} mm`;
  return reading.denominator ? counted(fromValue(reading.value, reading.denominator)) : num(reading.value, 3);
}

/** How long a hold may rest before it is taken for over, in minutes: nobody stands with a stretched arm for longer. */
const REST = 30;

/** Whether a hold left at this time is still the same one. @param {unknown} when ms */
export const stillHeld = (when) => typeof when === 'number' && Date.now() - when < REST * 60000;

/** A kept reading as the keypad would have typed it, to be worked on. @param {{value: number, denominator?: number | null, typed?: string | null}} reading @param {string} method @returns {{text: string, unit: string}} */
export function asTyped(reading, method) {
  const typed = /^\s*(\d.*?)\s*(mm|cm|in)\s*$/.exec(reading.typed ?? '');
  if (typed) return { text: typed[1], unit: typed[2] };
  if (method !== 'sight' || !reading.denominator) return { text: String(Math.round(reading.value * 1000) / 1000), unit: method === 'ruler' ? 'mm' : 'count' };
  const { whole, part, of } = fromValue(reading.value, reading.denominator);
  return { text: part ? `${whole ? `${whole} ` : ''}${part}/${of}` : String(whole), unit: 'count' };
}
