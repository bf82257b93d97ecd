// What the phone's store does while it syncs: ten thousand records of six small fields, as they come from home, and as they are read to
// be brought there. In the page itself, which costs what it costs in the bench's worker.
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

const dist = process.env.NEEDLESIGHT_FROM ?? fileURLToPath(new URL('../../dist', import.meta.url));

/** Under which name the app serves one of its files. @param {string} source */
function served(source) {
  const { files } = JSON.parse(readFileSync(`${dist}/files.json`, 'utf8'));
  const found = files.find((/** @type {{source: string}} */ file) => file.source === source);
  if (!found) throw new Error(`the app has no ${source}: was it built?`);
  return `/${found.path}`;
}

/** Records as home would send them, in batches of about two thousand changes. Runs in the page. */
const records = `const letters = 'abcdefghijklmnopqrstuvwxyz234567';
  const newId = () => Array.from(crypto.getRandomValues(new Uint8Array(16)), (byte) => letters[byte & 31]).join('');
  const project = newId(), device = newId(); let counter = 0;
  const batches = []; let batch = [];
  for (let r = 0; r < 10000; r++) {
    const id = newId();
    const fields = { project, name: 'part ' + r, axis: r % 2 ? 'length' : 'width', order: r, nailed: r % 3 === 0, binned: null };
    for (const [field, value] of Object.entries(fields)) batch.push(['part', id, field, ++counter, device, value, null]);
    if (batch.length >= 1996) { batches.push(batch); batch = []; }
  }
  if (batch.length) batches.push(batch);`;

/**
 * Takes ten thousand records from home into an empty store, puts them all into the outbox, reads them, and hears that home has them.
 * @param {import('../e2e/person.mjs').Person} person
 * @returns {Promise<{taken: number, again: number, read: number, acked: number}>} in ms
 */
export const fromHome = (person) => person.later(`const [outboxModule, storeModule] = args;
  const { applyKeep, rowsAfter } = await import(outboxModule); const { useDatabase, close } = await import(storeModule);
  ${records}
  const name = 'bench-' + Math.random(); await useDatabase(name); await rowsAfter(0, 1);
  const nothing = { epoch: '', again: false, changes: [], seen: 0, acked: 0, refused: [] };
  const times = {}; let from = performance.now(); const lap = (what) => { times[what] = performance.now() - from; from = performance.now(); };
  let seen = 0;
  for (const changes of batches) await applyKeep({ ...nothing, changes, seen: seen += changes.length });
  lap('taken');
  await applyKeep({ ...nothing, epoch: newId(), again: true });
  lap('again');
  const all = []; let after = 0;
  for (;;) { const { rows } = await rowsAfter(after, 2000); if (!rows.length) break; for (const row of rows) all.push(row); after = rows.at(-1)[0]; }
  lap('read');
  for (let acked = 2000; acked < 62000; acked += 2000) await applyKeep({ ...nothing, acked: Math.min(acked, 60000), seen: acked });
  lap('acked');
  if (all.length !== 60000 || (await rowsAfter(0, 10)).rows.length) throw new Error('not all were there');
  await close(); indexedDB.deleteDatabase(name); return times;`, served('bench/outbox.js'), served('bench/store.js'));
