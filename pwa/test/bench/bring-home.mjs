// The whole way in a browser: ten thousand records of six small fields, entered while there was no home, are brought there by the phone's
// own code, each acked when it is on home's disk, and taken out of the outbox in IndexedDB; then an empty second device has them, on its disk.
import * as app from '../e2e/app.mjs';
import { browser, phone } from '../e2e/harness.mjs';
import { openHome } from '../e2e/home.mjs';

const many = 10_000;

/** A file of records, as a device would have made them. Text of a program, since it runs in the page. */
const made = `const letters = 'abcdefghijklmnopqrstuvwxyz234567';
  const newId = () => Array.from(crypto.getRandomValues(new Uint8Array(16)), (byte) => letters[byte & 31]).join('');
  const project = newId(), device = newId(); let counter = 0; const changes = [];
  const record = (kind, id, fields) => { for (const [field, value] of Object.entries(fields)) changes.push({ kind, id, field, value, stamp: [++counter, device], base: null }); };
  record('project', project, { name: 'Otter', animal: 'otter', made: '2026-11-25' });
  for (let r = 0; r < ${many}; r++) record('part', newId(), { project, name: 'part ' + r, axis: r % 2 ? 'length' : 'width', order: r, nailed: r % 3 === 0, binned: null });
  const file = new Blob([JSON.stringify({ format: 'needlesight-changes', version: 1, made: '2026-11-25T10:00', changes })]);`;

/** From the pairing until everything is home, or here. Text of a program. */
const paired = `const from = performance.now(); await ask('pair', { code, name });
  let state; const states = [];
  for (;;) {
    const seen = await ask('view', { name: 'home' });
    if (seen.state !== state) { state = seen.state; states.push([Math.round(performance.now() - from), state]); }
    if (state === 'home') break;
    if (performance.now() - from > 120000) throw new Error(JSON.stringify(seen));
    await new Promise((done) => setTimeout(done, 20));
  }
  const ms = performance.now() - from;`;

/** One run. @returns {Promise<{brought: number, taken: number}>} in ms */
export async function bringHome() {
  const home = await openHome();
  const windows = await Promise.all([browser('chromium', { size: phone }), browser('chromium', { size: phone })]);
  try {
    const [first, second] = [await windows[0].open(home.here), await windows[1].open(home.here)];
    for (const person of [first, second]) { await person.see('h1'); await app.ask(person, 'warm'); await person.driver.manage().setTimeouts({ script: 180_000 }); }
    const brought = await first.later(`const [module, code, name] = args; const { ask } = await import(module); ${made}
      const { token } = await ask('importPreview', { file }); await ask('importApply', { token }); ${paired} return { ms, states };`, await app.bench(first), await home.code(), 'Phone');
    await windows[0].kill();
    const taken = await second.later(`const [module, code, name] = args; const { ask } = await import(module); ${paired}
      const { projects } = await ask('view', { name: 'projects' }); return { ms, states, animals: projects.length };`, await app.bench(second), await home.code(), 'Tablet');
    if (taken.animals !== 1) throw new Error('the second device does not have it');
    if (process.env.BRING_HOME_TOLD) console.log(JSON.stringify({ brought: brought.states, taken: taken.states }));
    return { brought: brought.ms, taken: taken.ms };
  } finally { await Promise.all([...windows.map((window) => window.close()), home.stop()]); }
}
