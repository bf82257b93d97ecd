// projects {} -> {projects: [{id, name, animal, demo, made: '2026-11-25', size: string|null as typed}], loose: n, binned: n, demo: boolean}
// Newest first, without the binned. `loose` is how many sittings belong to no project, `binned` how many projects lie in the bin,
// `demo` whether a demo project is among them. A thousand open as fast as ten: nothing but the list itself is read.
// Needs no engine.
import { shelveAll } from '../shelf.js';
import { jot, read } from '../store.js';

export async function projects() {
  const { shelf, loose } = await read(['records', 'meta'], async (tx) => {
    const [shelf, loose] = await Promise.all([tx.objectStore('meta').get('shelf'), tx.objectStore('records').index('shelf').count('loose')]);
    return { shelf: /** @type {import('../shelf.js').Shelf | undefined} */ (shelf), loose };
  });
  const { items, binned } = shelf ?? await jot(['records', 'meta'], shelveAll);
  const projects = items.map(({ order, ...item }) => item);
  return { projects, loose, binned: binned.length, demo: projects.some((item) => item.demo) };
}
