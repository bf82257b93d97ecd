// A bench as a page would have it, each on a database of its own, and the engine as it is built.
import './libs.mjs';
import { execFileSync, spawnSync } from 'node:child_process';
import { existsSync } from 'node:fs';
import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { fileURLToPath } from 'node:url';
import path from 'node:path';

const { toPage } = await import('../../app/bench/events.js');
const store = await import('../../app/bench/store.js');
const { useEngine } = await import('../../app/bench/engine.js');
export const { methods } = await import('../../app/bench/table.js');
export { store, useEngine };

/** What the page was told. */
export const told = [];
toPage((event, data) => told.push({ event, data }));

let n = 0;
/** A new, empty store. */
export async function freshStore() {
  await store.useDatabase(`test-${process.pid}-${++n}`);
  told.length = 0;
}

/** Everything in the store. */
export async function everything() {
  return store.read(['records', 'changes', 'outbox', 'meta', 'drafts'], async (tx) => ({
    records: await tx.objectStore('records').getAll(), changes: await tx.objectStore('changes').getAll(), outbox: await tx.objectStore('outbox').getAll(),
    counter: await tx.objectStore('meta').get('counter'), device: await tx.objectStore('meta').get('device'), drafts: await tx.objectStore('drafts').getAllKeys(),
  }));
}

export const view = (name, params = {}) => methods.view({ ...params, name });

/** Runs what must fail, and gives its error. */
export async function refused(run) {
  try { await run(); } catch (error) { return error; }
  throw new Error('it was not refused');
}
