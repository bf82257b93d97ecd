// The one way in for what is entered here: a change, its stamp, the record as it now stands and its place in the outbox, all in one transaction.
import { fail } from './codes.js';
import { changed, pending } from './events.js';
import { nowWaiting, numbers } from './rows.js';
import { shelve } from './shelf.js';
import { together, write } from './store.js';

/**
 * @typedef {import('./store.js').Rec} Rec
 * @typedef {import('./store.js').Stamp} Stamp
 * @typedef {import('./store.js').Packed} Packed
 * @typedef {import('./store.js').Flat} Flat
 * @typedef {import('./store.js').WriteTx} WriteTx
 * What is to become of one field. `settle` puts the value on every answer there is, so that only one is left.
 * @typedef {{kind: string, id: string, field: string, value: any, settle?: boolean}} Edit
 * What an intention may look at while it decides.
 * @typedef {{get: (kind: string, id: string) => Promise<Rec | undefined>, ofProject: (project: string) => Promise<Rec[]>, dropDraft: (key: string) => void}} Look
 */

/** Whether two values are the same, as JSON. @param {unknown} a  @param {unknown} b @returns {boolean} */
export function same(a, b) {
  if (a === b) return true;
  if (typeof a !== 'object' || typeof b !== 'object' || !a || !b || Array.isArray(a) !== Array.isArray(b)) return false;
  const [x, y] = [/** @type {Record<string, unknown>} */ (a), /** @type {Record<string, unknown>} */ (b)];
  const keys = Object.keys(x);
  return keys.length === Object.keys(y).length && keys.every((key) => key in y && same(x[key], y[key]));
}

/** @param {string} kind  @param {string} id @returns {Rec} */
export function blank(kind, id) {
  return { kind, id, project: kind === 'project' ? id : '', gone: 0, fields: {}, apart: {} };
}

/** Puts in order what is derived from a record's fields: its project, whether it is out of sight, and where it then is found. @param {Rec} rec */
export function derive(rec) {
  rec.project = rec.kind === 'project' ? rec.id : rec.fields.project?.[0] ?? '';
  rec.gone = rec.fields.binned?.[0] || rec.fields.struck?.[0] ? 1 : 0;
  if (rec.fields.binned?.[0]) rec.shelf = 'bin';
  else if (rec.kind === 'sitting' && !rec.gone && rec.project === '') rec.shelf = 'loose';
  else delete rec.shelf;
  return rec;
}

/**
 * Makes the changes that `decide` asks for, and returns when they are on the disk. Stamps are given inside the transaction that
 * writes them, and the store runs such transactions one after the other, in all tabs: no two changes get the same.
 * @param {(look: Look) => Promise<Edit[]>} decide  may run twice; must only look
 */
export async function keep(decide) {
  pending(true);
  try {
    const { projects, kinds, waiting } = await write(['records', 'changes', 'outbox', 'meta', 'drafts'], (tx) => keepIn(tx, decide));
    changed(projects, kinds);
    if (waiting) nowWaiting(waiting);
  } finally {
    pending(false);
  }
}

/** @param {WriteTx} tx  @param {(look: Look) => Promise<Edit[]>} decide */
async function keepIn(tx, decide) {
  const records = tx.objectStore('records');
  const meta = tx.objectStore('meta');
  const writes = together();
  const edits = await decide({
    get: (kind, id) => records.get([kind, id]),
    ofProject: (project) => records.index('project').getAll(project),
    dropDraft: (key) => { writes.add(tx.objectStore('drafts').delete(key)); },
  });
  const [touched, device, before, outbox] = await Promise.all([touchedBy(tx, edits), meta.get('device'), meta.get('counter'), numbers(tx)]);
  const projects = new Set([...touched.values()].map(({ rec }) => rec.project));
  let counter = before;
  /** @type {Flat[]} */
  const flats = [];
  for (const edit of edits) {
    const { rec, earlier } = /** @type {Touched} */ (touched.get(`${edit.kind} ${edit.id}`));
    for (const base of basesFor(rec, edit)) {
      counter += 1;
      if (counter >= Number.MAX_SAFE_INTEGER) fail('counter-spent');
      const now = rec.fields[edit.field];
      if (now) earlier.push([edit.field, ...now[1], now[0], now[2]]);
      rec.fields[edit.field] = [edit.value, [counter, device], base];
      flats.push([edit.kind, edit.id, edit.field, counter, device, edit.value, base]);
    }
  }
  for (const { rec, earlier, before } of touched.values()) {
    writes.add(records.put(derive(rec)));
    if (earlier.length > before) writes.add(tx.objectStore('changes').put({ kind: rec.kind, id: rec.id, list: earlier }));
    projects.add(rec.project);
  }
  if (flats.length) {
    for (const row of outbox.rows(flats)) writes.add(tx.objectStore('outbox').put(row));
    writes.add(outbox.done());
    writes.add(meta.put(counter, 'counter'));
    writes.add(shelve(tx, [...touched.values()].map(({ rec }) => rec)));
  }
  await writes.done();
  return { projects, kinds: new Set(edits.map((edit) => edit.kind)), waiting: flats.length ? outbox.waiting : 0 };
}

/**
 * The records that edits are of, as they stand, and of each the changes that it does not tell.
 * @typedef {{rec: Rec, earlier: Packed[], before: number}} Touched
 * @param {any} tx  @param {Edit[]} edits
 */
async function touchedBy(tx, edits) {
  const keys = new Map(edits.map(({ kind, id }) => [`${kind} ${id}`, { kind, id }]));
  return new Map(await Promise.all([...keys].map(async ([key, { kind, id }]) => {
    const [rec, row] = await Promise.all([tx.objectStore('records').get([kind, id]), tx.objectStore('changes').get([kind, id])]);
    return /** @type {[string, Touched]} */ ([key, { rec: rec ?? blank(kind, id), earlier: row?.list ?? [], before: row?.list.length ?? 0 }]);
  })));
}

/**
 * The stamps the change is put upon: what stood there, and every other answer too when they are being settled. Other answers stay
 * apart, but for one that says what is said now.
 * @param {Rec} rec  @param {Edit} edit @returns {(Stamp | null)[]}
 */
function basesFor(rec, edit) {
  const now = rec.fields[edit.field];
  const others = rec.apart[edit.field] ?? [];
  const left = edit.settle ? [] : others.filter(([value]) => !same(value, edit.value));
  if (left.length) rec.apart[edit.field] = left; else delete rec.apart[edit.field];
  return [...(edit.settle ? others.map(([, stamp]) => stamp) : []), now ? now[1] : null];
}
