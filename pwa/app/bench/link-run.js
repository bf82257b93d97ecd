// Runs this device's end of the sync. What it is to do is said by the engine (sync/peer); here are the connection, the store and the
// clock that it does it with.
import { asError } from './codes.js';
import { tellPeer } from './engine.js';
import { clock } from './link-clock.js';
import { dial } from './link-dial.js';
import { lines } from './link-rows.js';
import { applyKeep, homeState, rowsAfter } from './outbox.js';

/**
 * How the link stands: phase, code (why the last connection ended), waiting, brought, seen, last, again; `next` is when it tries again, `missed` that
 * home was called since it last answered, and was not found.
 * @typedef {{phase: 'apart' | 'dialling' | 'greeting' | 'joined', code: string, heard: number, waiting: number, brought: number, seen: number, last: number, again: boolean, next: number, missed: boolean}} Standing
 * @typedef {import('./outbox.js').Keep & {number: number}} Keep
 * @typedef {import('./known-home.js').Home} Home
 */

/** As many changes as are written in one transaction, when more than one message of home waits to be written. */
const atOnce = 6000;

/**
 * Begins. `told` hears how it stands, `kept` what home caused in the store, `full` that the store cannot take it, `died` that it must be begun anew.
 * @param {Home} home
 * @param {{told: (standing: Standing) => void, kept: (keep: import('./outbox.js').Keep) => void, full: () => void, died: (error: unknown) => void}} ears
 */
export async function run(home, { told, kept, full, died }) {
  const state = await homeState();
  let under = { epoch: state.epoch, seen: state.seen };
  let over = false;
  /** @type {{conn: number, line: ReturnType<typeof dial>} | null} */
  let now = null;
  /** @type {Keep[]} */
  let keeps = [];
  let keeping = false;
  let failing = false;
  let called = false;
  let missed = false;
  /** @type {any} */
  let timer = 0;

  /** Tells the engine's end what happened, and does what it asks for. @param {string} what  @param {Record<string, unknown>} [more]  @param {string} [rows]  @param {Uint8Array | null} [frame] */
  async function tell(what, more = {}, rows = '', frame = null) {
    if (over) return;
    try {
      // Questions are answered in the order in which they were asked.
      const out = await tellPeer({ do: what, now: clock(), ...more }, rows, frame);
      if (what === 'failed') failing = false;
      if (!over) act(out);
    } catch (error) { fall(error); }
  }

  /** @param {unknown} error */
  function fall(error) {
    if (over) return;
    stop();
    died(error);
  }

  function stop() {
    over = true;
    clearTimeout(timer);
    now?.line.close();
    now = null;
  }

  /** @param {any} out */
  function act(out) {
    for (const frame of out.frames) now?.line.send(frame);
    if (out.close) { now?.line.close(); now = null; }
    if (out.dial) call(out.dial);
    if (out.keep.length && !failing) { keeps.push(...out.keep); keepAll(); }
    if (out.rows) read(out.rows);
    clearTimeout(timer);
    if (out.next >= 0) timer = setTimeout(() => tell('tick'), Math.min(Math.max(0, out.next - clock()), 2 ** 30));
    const { phase } = out.status;
    if (phase === 'joined') called = missed = false;
    else if (phase === 'apart') missed = called;
    told({ ...out.status, next: out.next, missed });
  }

  /** @param {number} conn */
  function call(conn) {
    called = true;
    now?.line.close();
    now = { conn, line: dial(home, {
      opened: () => tell('connected', { conn }),
      came: (frame) => tell('frame', { conn }, '', frame),
      closed: () => { if (now?.conn === conn) now = null; tell('disconnected', { conn }); },
    }) };
  }

  /** @param {{ask: number, after: number, most: number}} what */
  async function read({ ask, after, most }) {
    try {
      const { rows } = await rowsAfter(after, most);
      await tell('rows', { ask }, lines(rows));
    } catch (error) { fall(error); }
  }

  async function keepAll() {
    if (keeping) return;
    keeping = true;
    try {
      while (keeps.length && !over) await keepSome();
    } catch (error) {
      keeps = [];
      // What was handed out meanwhile comes again as well: it is dropped until the engine's end has heard of this.
      if (asError(error).code === 'store-full') { failing = true; tell('failed'); full(); } else fall(error);
    } finally { keeping = false; }
  }

  async function keepSome() {
    const { keep, number, rest } = together(keeps);
    keeps = rest;
    const { waiting, device } = await applyKeep({ ...keep, under });
    under = { epoch: keep.epoch || under.epoch, seen: keep.seen };
    kept(keep);
    // This device had to take another name: home is to hear it.
    if (device !== state.device) { stop(); died(null); return; }
    tell('kept', { number, waiting });
  }

  await tell('start', { ...state });
  return {
    /** Home is called at once. */
    woke: () => tell('woke'),
    /** Changes were made here. @param {number} waiting */
    waiting: (waiting) => tell('waiting', { waiting }),
    stop,
  };
}

/** The first of what is to be kept, and of the next as much as can go with it into one transaction. @param {Keep[]} keeps */
export function together(keeps) {
  let n = 1;
  let size = keeps[0].changes.length;
  const alone = (/** @type {Keep} */ one) => one.epoch !== '' || one.again;
  while (!alone(keeps[0]) && n < keeps.length && !alone(keeps[n]) && size + keeps[n].changes.length <= atOnce) size += keeps[n++].changes.length;
  const some = keeps.slice(0, n);
  const last = some[n - 1];
  const { number, ...first } = some[0];
  const keep = n === 1 ? first : {
    ...first, changes: some.flatMap(({ changes }) => changes), seen: last.seen, acked: Math.max(...some.map(({ acked }) => acked)), refused: some.flatMap(({ refused }) => refused),
  };
  return { keep, number: last.number, rest: keeps.slice(n) };
}
