// Every pair of text and ground in app.css stands 7:1 or better, light and dark (WCAG 2.2, 1.4.6: contrast enhanced);
// lines that carry meaning stand 3:1 (1.4.11). The relative luminance is the one of WCAG 2.2.
import test from 'node:test';
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';

const css = readFileSync(new URL('../../app/app.css', import.meta.url), 'utf8');

/** The tokens of one theme, as a map of name to #rrggbb. */
function tokens(block) {
  return Object.fromEntries([...block.matchAll(/--([a-z0-9-]+): (#[0-9a-f]{6})/g)].map(([, name, value]) => [name, value]));
}
const blocks = [...css.matchAll(/:root[^{]*\{([^}]*)\}/g)].map((found) => tokens(found[1])).filter((block) => block.ground);
const [light, media, dark] = blocks;

function luminance(hex) {
  const [r, g, b] = [1, 3, 5].map((at) => parseInt(hex.slice(at, at + 2), 16) / 255).map((c) => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4));
  return 0.2126 * r + 0.7152 * g + 0.0722 * b;
}
function contrast(a, b) {
  const [hi, lo] = [luminance(a), luminance(b)].sort((x, y) => y - x);
  return (hi + 0.05) / (lo + 0.05);
}

test('the luminance formula gives the published 21:1 for black on white', () => assert.equal(contrast('#000000', '#ffffff'), 21));
test('there are three blocks of tokens, and both dark ones are the same', () => {
  assert.equal(blocks.length, 3);
  assert.deepEqual(media, dark);
});

const text = [['ink', 'ground'], ['ink', 'sheet'], ['ink', 'sunk'], ['ink', 'weld-soft'], ['ink2', 'ground'], ['ink2', 'sheet'], ['ink2', 'sunk'], ['ink2', 'weld-soft'], ['ground', 'ink'], ['woad', 'woad-soft'], ['madder', 'madder-soft'], ['madder', 'sheet'], ['madder', 'ground'], ['ink', 'madder-soft'], ['ink', 'woad-soft']];
const lines = [['edge', 'ground'], ['edge', 'sheet'], ['wool', 'sheet'], ['woad', 'sheet'], ['focus', 'ground'], ['focus', 'sheet']];
for (const [theme, set] of [['light', light], ['dark', dark]]) {
  for (const [pairs, least] of [[text, 7], [lines, 3]]) {
    for (const [a, b] of pairs) test(`${theme}: ${a} on ${b} is ${least}:1 or better`, () => assert.ok(contrast(set[a], set[b]) >= least, `${a} ${set[a]} on ${b} ${set[b]} is ${contrast(set[a], set[b]).toFixed(2)}:1`));
  }
}
