import assert from 'node:assert/strict';
import { test } from 'node:test';
import { realEngine, refused, told, useEngine } from './bench.mjs';

const { call, start } = await import('../../app/bench/engine.js');

/** An engine that does as it is told: each start takes the next of `lives`, a function from question to answer (or null: it hangs). */
function engines(...lives) {
  const seen = { started: 0, ended: 0, asked: [] };
  useEngine((tell) => {
    const life = lives[Math.min(seen.started, lives.length - 1)];
    seen.started += 1;
    queueMicrotask(() => tell(life.fails ? { event: 'failed', text: 'no file' } : { event: 'ready' }));
    return {
      ask: (n, method, request) => {
        seen.asked.push(method);
        const answer = life(method, request);
        if (answer === 'dies') queueMicrotask(() => tell({ event: 'ended', text: 'exit' }));
        else if (answer !== null) queueMicrotask(() => tell({ n, response: JSON.stringify(answer) }));
      },
      end: () => { seen.ended += 1; },
    };
  }, { load: 500, answer: 60 });
  return seen;
}
const works = () => ({ fine: true });
const hangs = () => null;
const dies = () => 'dies';
const crashes = () => ({ error: { code: 'engine-crashed', text: 'boom', at: '' } });

test('a hung engine is ended, started again and asked once more', async () => {
  const seen = engines(hangs, works);
  assert.deepEqual(await call('sight', {}), { fine: true });
  assert.deepEqual([seen.started, seen.ended, seen.asked.length], [2, 1, 2]);
});

test('an engine that dies or crashes is started again and asked once more', async () => {
  for (const life of [dies, crashes]) {
    const seen = engines(life, works);
    assert.deepEqual(await call('sight', {}), { fine: true });
    assert.equal(seen.started, 2);
  }
});

test('twice is enough: then it is told', async () => {
  for (const [life, code] of [[hangs, 'engine-stopped'], [dies, 'engine-stopped'], [crashes, 'engine-crashed']]) {
    const seen = engines(life);
    assert.equal((await refused(() => call('sight', {}))).code, code);
    assert.equal(seen.asked.length, 2);
  }
});

test('all who wait for an engine that died are answered by the next', async () => {
  const seen = engines(dies, works);
  assert.deepEqual(await Promise.all([1, 2, 3, 4].map(() => call('sight', {}))), Array(4).fill({ fine: true }));
  assert.equal(seen.started, 2);
});

test('an engine that cannot be loaded is told, and tried again when next asked', async () => {
  const broken = Object.assign(() => null, { fails: true });
  engines(broken, works);
  assert.equal((await refused(() => call('sight', {}))).code, 'engine-missing');
  assert.deepEqual(await call('sight', {}), { fine: true });
});

test('what the engine refuses keeps its code, sentence and place', async () => {
  useEngine(realEngine, { load: 60000, answer: 10000 });
  const error = await refused(() => call('parse-length', { text: '3 furlongs', unit: 'mm' }));
  assert.ok(error.code && error.code !== 'unexpected');
  assert.match(error.text, /\w+ \w+/);
  const unknown = await refused(() => call('parse-length', { text: '3', unit: 'mm', colour: 'red' }));
  assert.equal(unknown.code, 'unknown-field');
  assert.match(unknown.text + unknown.at, /colour/);
  await start().ready;
  assert.ok(told.some(({ event, data }) => event === 'engine' && data.ready));
});
