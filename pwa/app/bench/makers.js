// Who made a change: the names of devices by the ids in their stamps, as home told them last.
import { jot, read } from './store.js';

/** Notes what home says of its devices. @param {{name: string, makes?: string[] | null}[]} devices */
export async function noteMakers(devices) {
  await jot(['meta'], async (tx) => {
    const meta = tx.objectStore('meta');
    const known = await meta.get('makers') ?? {};
    for (const { name, makes } of devices) for (const id of makes ?? []) known[id] = name;
    await meta.put(known, 'makers');
  });
}

/** Who made the changes of a device's id. @returns {Promise<(id: string) => string | null>} 'this device', a name, or null when it is not known */
export async function makers() {
  const { own, known } = await read(['meta'], async (tx) => {
    const meta = tx.objectStore('meta');
    const [device, before, known] = await Promise.all([meta.get('device'), meta.get('devices'), meta.get('makers')]);
    return { own: new Set([device, ...before ?? []]), known: known ?? {} };
  });
  return (id) => (own.has(id) ? 'this device' : Object.hasOwn(known, id) ? known[id] : null);
}
