// bin {day?} -> {items: [{kind: 'project'|'part'|'place'|'piece'|'picture'|'outline'|'form'|'wool'|'group', id, name, binned: '2026-11-25', project: id, project_name}]}
// What was put into the bin in the last thirty days (before `day`, or today), last binned first. What lies in a binned project is shown
// under it, not by itself, and so an outline whose picture is in the bin. Needs no engine.
import { binDays, daysIn } from '../bin.js';
import { today } from '../ids.js';
import { read } from '../store.js';

/** @typedef {import('../store.js').Rec} Rec */

/** @param {{day?: string}} [when] */
export async function bin({ day = today() } = {}) {
  return read(['records'], async (tx) => {
    const store = tx.objectStore('records');
    /** @type {Rec[]} */
    const gone = await store.index('shelf').getAll('bin');
    const binned = new Set(gone.filter((rec) => rec.kind === 'project' || rec.kind === 'picture').map((rec) => rec.id));
    const shown = gone.filter((rec) => (rec.kind === 'project' || !binned.has(rec.project)) && !binned.has(rec.fields.picture?.[0]) && daysIn(rec.fields.binned?.[0] ?? '', day) <= binDays);
    const homes = new Map(await Promise.all([...new Set(shown.map((rec) => rec.project))].map(async (id) => /** @type {const} */ ([id, /** @type {Rec | undefined} */ (await store.get(['project', id]))]))));
    const items = shown.map((rec) => ({
      kind: /** @type {'project' | 'part' | 'place' | 'piece' | 'picture' | 'outline' | 'form' | 'wool' | 'group'} */ (rec.kind), id: rec.id, name: /** @type {string} */ (rec.fields.name?.[0] ?? ''),
      binned: /** @type {string} */ (rec.fields.binned?.[0] ?? ''), stamp: rec.fields.binned?.[1] ?? [0, ''],
      project: rec.project, project_name: /** @type {string} */ (homes.get(rec.project)?.fields.name?.[0] ?? ''),
    }));
    items.sort((a, b) => a.binned < b.binned ? 1 : a.binned > b.binned ? -1 : b.stamp[0] - a.stamp[0]);
    return { items: items.map(({ stamp, ...item }) => item) };
  });
}
