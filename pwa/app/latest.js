// Asks for what changes under the thumb: one question at a time, and of those that came meanwhile only the last.

/** @template A  @param {(what: A) => Promise<unknown>} ask @returns {(what: A) => void} */
export function latest(ask) {
  let busy = false;
  /** @type {{what: A} | null} */
  let waiting = null;
  return async function next(what) {
    if (busy) { waiting = { what }; return; }
    busy = true;
    try { await ask(what); } finally {
      busy = false;
      const then = waiting;
      waiting = null;
      if (then) next(then.what);
    }
  };
}
