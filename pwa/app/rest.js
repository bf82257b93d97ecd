// What comes after the app itself: the engine that looks at pictures. Whether it is on this device decides whether pictures work
// without a network, and a screen can say so.

/**
 * Tells whether all of it is here, now and whenever that changes: false also where this browser keeps no app at all.
 * @param {(here: boolean) => void} told  @returns {() => void} stops it
 */
export function watchRest(told) {
  const workers = navigator.serviceWorker;
  if (!workers) { told(false); return () => {}; }
  const hear = (/** @type {MessageEvent} */ { data }) => { if (data?.event === 'rest') told(data.here); };
  workers.addEventListener('message', hear);
  workers.startMessages();
  workers.ready.then(({ active }) => active?.postMessage('bring-the-rest'));
  return () => workers.removeEventListener('message', hear);
}
