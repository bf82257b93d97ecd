import assert from 'node:assert/strict';
import { test } from 'node:test';

/** A worker that does as the test says. */
const workers = [];
globalThis.Worker = class {
  constructor() { this.got = []; this.ended = false; workers.push(this); }
  postMessage(message) { structuredClone(message); this.got.push(message); }
  terminate() { this.ended = true; }
  answer(n, ok) { this.onmessage({ data: { n, ok } }); }
  refuse(n, error) { this.onmessage({ data: { n, error } }); }
  tell(event, data) { this.onmessage({ data: { event, data } }); }
  die() { this.onerror({ message: 'out of memory', preventDefault() {} }); }
};
const { ask, on } = await import('../../app/ask.js');
const last = () => workers.at(-1);
const lastN = () => last().got.at(-1).n;

test('an answer goes to who asked', async () => {
  const [first, second] = [ask('view', { name: 'projects' }), ask('settings')];
  const [a, b] = last().got.map(({ n }) => n);
  last().answer(b, 'second');
  last().answer(a, 'first');
  assert.deepEqual(await Promise.all([first, second]), ['first', 'second']);
});

test('a refusal is an Error with its code, sentence, place and what belongs to it', async () => {
  const asked = ask('keepReading', { value: 0 });
  last().refuse(lastN(), { code: 'value-zero', text: '', at: 'value', params: { at: 'value' } });
  await assert.rejects(asked, (error) => error instanceof Error && error.code === 'value-zero' && error.at === 'value' && error.params.at === 'value');
});

test('what cannot be sent is refused, and harms nobody else', async () => {
  await assert.rejects(ask('draft', { key: 'a', value: () => {} }), { code: 'unexpected' });
});

test('what the bench tells is heard until one stops listening', () => {
  const heard = [];
  const stop = on('changed', (data) => heard.push(data));
  last().tell('changed', 1);
  stop();
  last().tell('changed', 2);
  assert.deepEqual(heard, [1]);
});

test('when the bench dies, what is harmless is asked again, and a change is told', async () => {
  const kept = [];
  on('kept', (data) => kept.push(data));
  const seen = ask('view', { name: 'projects' });
  const change = ask('keepReading', { value: 1 });
  const dead = last();
  dead.die();
  await assert.rejects(change, { code: 'bench-died' });
  assert.ok(dead.ended);
  assert.notEqual(last(), dead);
  assert.deepEqual(last().got.map(({ method }) => method), ['view']);
  last().answer(lastN(), 'again');
  assert.equal(await seen, 'again');
  assert.equal(kept.at(-1).pending, false);
});

test('a bench that dies again and again is not started for ever', async () => {
  const seen = ask('view', { name: 'projects' });
  for (let i = 0; i < 5 && !last().ended; i++) last().die();
  await assert.rejects(seen, { code: 'bench-died' });
  const before = workers.length;
  const next = ask('settings');
  assert.equal(workers.length, before + 1);
  last().answer(lastN(), {});
  await next;
});
