// What one sitting measured, as bars to one scale: the longest fills the width.
import { bodyStrips } from './strip.js';

/** @param {{id: string, name: string, value: number, text: string}[]} readings @param {string} label */
export function looseStrips(readings, label) {
  const most = Math.max(...readings.map((one) => one.value), 0) || 1;
  return bodyStrips(readings.map(({ id, name, value, text }) => ({ id, name, share: value / most, u: 0, unit: 0, text })), label);
}
