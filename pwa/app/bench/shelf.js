// The list of projects as it is shown, kept as one value beside the records, so that a thousand of them open as fast as ten.
// It is brought up to date in the very transaction that changes a project; where it is missing it is made again from the records.

/**
 * @typedef {import('./store.js').Rec} Rec
 * @typedef {{id: string, name: string, animal: string, demo: boolean, made: string, size: string | null}} Item
 * @typedef {{items: (Item & {order: [string, number, string]})[], binned: string[]}} Shelf
 */

/** @param {Rec} rec @returns {Shelf['items'][number]} */
function itemOf(rec) {
  const value = (/** @type {string} */ field) => rec.fields[field]?.[0] ?? null;
  const [counter, device] = rec.fields.made?.[1] ?? [0, ''];
  return {
    id: rec.id, name: value('name') ?? '', animal: value('animal') ?? 'other', demo: value('demo') === true, made: value('made') ?? '',
    size: value('size')?.typed ?? null, order: [value('made') ?? '', counter, device],
  };
}

/** Newest first: by the day it was made, then by the change that made it. @param {Shelf['items'][number]} a  @param {Shelf['items'][number]} b */
function newestFirst({ order: a }, { order: b }) {
  for (const i of /** @type {const} */ ([0, 1, 2])) if (a[i] !== b[i]) return a[i] < b[i] ? 1 : -1;
  return 0;
}

/** @param {Rec[]} records @returns {Shelf} */
function shelfOf(records) {
  return { items: records.filter((rec) => !rec.gone).map(itemOf).sort(newestFirst), binned: records.filter((rec) => rec.gone).map((rec) => rec.id) };
}

/** Brings the list up to date with projects that are being written. @param {import('./store.js').WriteTx} tx  @param {Iterable<Rec>} written */
export async function shelve(tx, written) {
  const projects = [...written].filter((rec) => rec.kind === 'project');
  if (!projects.length) return;
  const meta = tx.objectStore('meta');
  /** @type {Shelf | undefined} */
  const shelf = await meta.get('shelf');
  if (!shelf) return;
  const ids = new Set(projects.map((rec) => rec.id));
  const { items, binned } = shelfOf(projects);
  await meta.put({
    items: [...shelf.items.filter((item) => !ids.has(item.id)), ...items].sort(newestFirst),
    binned: [...shelf.binned.filter((id) => !ids.has(id)), ...binned],
  }, 'shelf');
}

/** Makes the list from the records, and keeps it. @param {import('./store.js').WriteTx} tx @returns {Promise<Shelf>} */
export async function shelveAll(tx) {
  const shelf = shelfOf(await tx.objectStore('records').getAll(IDBKeyRange.bound(['project'], ['project', []])));
  await tx.objectStore('meta').put(shelf, 'shelf');
  return shelf;
}
