// Fences around the app's JavaScript, told from its syntax tree.
import assert from 'node:assert/strict';
import { readdirSync, readFileSync } from 'node:fs';
import { test } from 'node:test';
import { parse } from 'acorn';

const app = new URL('../../app/', import.meta.url);
const files = readdirSync(app, { recursive: true }).map((name) => String(name).replaceAll('\\', '/')).filter((name) => name.endsWith('.js'));

/** Every node of a syntax tree. */
function* nodes(tree) {
  if (!tree || typeof tree !== 'object') return;
  if (typeof tree.type === 'string') yield tree;
  for (const [key, value] of Object.entries(tree)) {
    if (key === 'loc') continue;
    for (const one of Array.isArray(value) ? value : [value]) yield* nodes(one);
  }
}

const read = (text) => parse(text, { ecmaVersion: 'latest', sourceType: 'module', locations: true });

/** The name an expression goes by: x, a.x, a?.x, a['x'], -x, x(), a[x]. */
function nameOf(node) {
  switch (node?.type) {
    case 'Identifier': return node.name;
    case 'MemberExpression': return node.computed && node.property.type !== 'Literal' ? nameOf(node.object) : String(node.property.name ?? node.property.value);
    case 'ChainExpression': return nameOf(node.expression);
    case 'UnaryExpression': case 'UpdateExpression': return nameOf(node.argument);
    case 'CallExpression': return nameOf(node.callee);
    default: return '';
  }
}

/** Names of what was measured, or worked out from it. */
const measured = /^(mm|.+_mm|value|values|ratio.*|u|u_.+|d|at|at_.+|size.*|amount.*|.*MM|.*Mm)$/;

/** Arithmetic on measurements: a screen that works something out is a screen that can disagree with the engine. */
function sums(text) {
  const found = [];
  for (const node of nodes(read(text))) {
    const line = node.loc.start.line;
    const operator = node.type === 'BinaryExpression' || node.type === 'AssignmentExpression' ? node.operator.replace(/=$/, '') : '';
    if (['*', '/', '%', '**'].includes(operator)) found.push(`${line}: ${node.operator}`);
    if (operator === '+' || operator === '-') {
      const name = [node.left, node.right].map(nameOf).find((one) => measured.test(one));
      if (name) found.push(`${line}: ${node.operator} on ${name}`);
    }
    if (node.type === 'MemberExpression' && node.object.type === 'Identifier' && node.object.name === 'Math') found.push(`${line}: Math.${nameOf(node)}`);
  }
  return found;
}

/** Ways to run a text as markup or as a program. */
function runsText(text) {
  const banned = new Set(['innerHTML', 'outerHTML', 'insertAdjacentHTML', 'setHTMLUnsafe', 'createContextualFragment', 'srcdoc', 'unsafeHTML', 'unsafeSVG', 'unsafeMathML', 'unsafeStatic', 'eval']);
  const found = [];
  for (const node of nodes(read(text))) {
    const line = node.loc.start.line;
    const name = node.type === 'Identifier' ? node.name : node.type === 'MemberExpression' ? nameOf(node) : '';
    if (banned.has(name)) found.push(`${line}: ${name}`);
    if (node.type === 'MemberExpression' && nameOf(node.object) === 'document' && /^write(ln)?$/.test(nameOf(node))) found.push(`${line}: document.${nameOf(node)}`);
    if ((node.type === 'NewExpression' || node.type === 'CallExpression') && nameOf(node.callee) === 'Function') found.push(`${line}: Function()`);
    if (node.type === 'CallExpression' && /^set(Timeout|Interval)$/.test(nameOf(node.callee)) && ['Literal', 'TemplateLiteral'].includes(node.arguments[0]?.type)) found.push(`${line}: ${nameOf(node.callee)} of a text`);
  }
  return [...new Set(found)];
}

/** Styles and handlers in markup, which the Content-Security-Policy stops without a word. */
function inMarkup(text) {
  const found = [];
  for (const node of nodes(read(text))) {
    if (node.type !== 'TemplateElement') continue;
    for (const what of node.value.raw.match(/\s(style|on[a-z]+)\s*=|<style\b|<script\b/g) ?? []) found.push(`${node.loc.start.line}: ${what.trim()}`);
  }
  return found;
}

/** @param {(text: string) => string[]} find  @param {string[]} names */
const all = (find, names) => names.flatMap((name) => find(readFileSync(new URL(name, app), 'utf8')).map((what) => `pwa/app/${name}:${what}`));

test('the fences see what they are there for', () => {
  assert.deepEqual(sums('const a = part.mm - other.mm;'), ['1: - on mm']);
  assert.deepEqual(sums('a.value += 1'), ['1: += on value']);
  assert.deepEqual(sums('x = Math.round(n)\ny = n * 2\ny /= 3'), ['1: Math.round', '2: *', '3: /=']);
  assert.deepEqual(sums('i += 1; const next = index + 1; const text = name + "s";'), []);
  assert.deepEqual(runsText('el.innerHTML = name'), ['1: innerHTML']);
  assert.deepEqual(runsText('eval(x); new Function(x); setTimeout("x", 1); document.write(x)'), ['1: eval', '1: Function()', '1: setTimeout of a text', '1: document.write']);
  assert.deepEqual(runsText('el.textContent = name; setTimeout(() => go(), 1)'), []);
  assert.deepEqual(inMarkup('html`<p style="x" onclick=${go} @click=${go}>`'), ['1: style=', '1: onclick=']);
  assert.ok(files.length > 10, 'the app lies in pwa/app');
});

test('screens hold no arithmetic on measurements', () => {
  const found = all(sums, files.filter((name) => name.startsWith('screens/')));
  assert.deepEqual(found, [], 'what is measured is worked out by the engine alone, so that phone, home and shell agree to the last digit: ask it, or move the drawing to pwa/app/draw');
});

test('no text that a person typed is ever run', () => {
  assert.deepEqual(all(runsText, files), [], 'a name typed by one person would run as a program on the phone of another: use lit-html or textContent');
});

test('no styles or handlers stand in markup', () => {
  assert.deepEqual(all(inMarkup, files), [], 'the Content-Security-Policy forbids them, and the browser drops them without a word: use a class, an SVG attribute, the style property, or @click');
});
