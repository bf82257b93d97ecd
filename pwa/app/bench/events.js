// What the bench says without being asked: to its own page, and to the other tabs of this browser.

/** @type {(event: string, data: unknown) => void} */
let page = () => {};
/** @type {BroadcastChannel | null} */
let channel = null;

/** @param {(event: string, data: unknown) => void} listener */
export function toPage(listener) { page = listener; }

/** Joins the other tabs; what they changed is told to this page as if it were changed here. */
export function joinTabs() {
  if (typeof BroadcastChannel === 'undefined') return;
  channel = new BroadcastChannel('needlesight');
  channel.onmessage = ({ data }) => page('changed', data);
}

/** Leaves the other tabs. */
export function leaveTabs() { channel?.close(); channel = null; }

/** @param {string} event  @param {unknown} data */
export function emit(event, data) { page(event, data); }

let keeping = 0;

/** Tells the page while anything is being written: true when a change begins, false when it is on the disk or given up. @param {boolean} begins */
export function pending(begins) {
  keeping += begins ? 1 : -1;
  page('kept', { pending: keeping > 0 });
}

/** Tells this page and every other tab what was changed. @param {Iterable<string>} projects  @param {Iterable<string>} kinds */
export function changed(projects, kinds) {
  const what = { projects: [...projects], kinds: [...kinds] };
  page('changed', what);
  channel?.postMessage(what);
}
