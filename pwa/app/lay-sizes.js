// The sizes of a form side by side: 83 x 23 mm.
import { tight, words } from './words.js';
import './words-forms.js';

/**
 * With the unit apart where all are in one.
 * @param {{rolled: string | null, felted: string | null}[]} sizes  @param {'rolled' | 'felted'} which @returns {{text: string, unit: string}}
 */
export function sizesText(sizes, which) {
  const texts = sizes.map((size) => size[which]).filter((text) => text !== null);
  const unit = [' mm', ' cm', ' in'].find((one) => texts.every((text) => text.endsWith(one))) ?? '';
  return { text: texts.map((text) => tight(unit ? text.slice(0, -unit.length) : text)).join(words.lay.join), unit: unit.trim() };
}
