// A connection to home: the place this app came from first, then each address at which home was known to be.
import { foundAt } from './api.js';
import { places } from './known-home.js';

/** How long one place may take before the next is tried beside it, in ms. */
const patience = 2500;

/** @typedef {{opened: () => void, came: (frame: Uint8Array) => void, closed: () => void}} Ears */

/**
 * Dials. Exactly one of the places becomes the connection; `closed` is called once when it is over, or when there is none.
 * @param {import('./known-home.js').Home} home  @param {Ears} ears
 * @returns {{send: (frame: Uint8Array) => void, close: () => void}}
 */
export function dial(home, { opened, came, closed }) {
  const left = places(home);
  /** @type {Set<WebSocket>} */
  const trying = new Set();
  /** @type {WebSocket | null} */
  let open = null;
  let over = false;
  /** @type {any} */
  let timer = 0;

  function finish() {
    if (over) return;
    over = true;
    clearTimeout(timer);
    for (const other of [...trying, ...(open ? [open] : [])]) shut(other);
  }
  function next() {
    clearTimeout(timer);
    const origin = left.shift();
    if (over || open) return;
    if (!origin) {
      if (!trying.size) { finish(); closed(); }
      return;
    }
    attempt(origin);
    if (left.length) timer = setTimeout(next, patience);
  }
  /** @param {string} origin */
  function attempt(origin) {
    /** @type {WebSocket} */
    let ws;
    try {
      ws = new WebSocket(`${origin.replace(/^http/, 'ws')}/api/sync`, ['needlesight.1', `token.${home.token}`]);
    } catch { // a place that this page may not speak with
      next();
      return;
    }
    trying.add(ws);
    ws.onerror = () => {}; // it is closed then, too
    ws.binaryType = 'arraybuffer';
    ws.onopen = () => {
      trying.delete(ws);
      if (over || open) { shut(ws); return; }
      open = ws;
      clearTimeout(timer);
      for (const other of trying) shut(other);
      trying.clear();
      foundAt(origin);
      opened();
    };
    ws.onmessage = ({ data }) => { if (ws === open && !over) came(data instanceof ArrayBuffer ? new Uint8Array(data) : new Uint8Array()); };
    ws.onclose = () => {
      trying.delete(ws);
      if (over) return;
      if (ws === open) { finish(); closed(); } else if (!open) next();
    };
  }
  next();
  return {
    send: (frame) => { if (open?.readyState === 1) open.send(/** @type {Uint8Array<ArrayBuffer>} */ (frame)); },
    close: finish,
  };
}

/** Lets go of a connection; what was sent before is still sent. @param {WebSocket} ws */
function shut(ws) {
  ws.onopen = ws.onmessage = ws.onclose = null;
  ws.close();
}
