// The service worker: installed whole, and a new version used only when the person says so.

/** @param {(use: () => void) => void} offer  called when a new version waits */
export async function watchUpdates(offer) {
  if (!('serviceWorker' in navigator)) return;
  try {
    const had = Boolean(navigator.serviceWorker.controller);
    const registration = await navigator.serviceWorker.register('./sw.js');
    const waiting = () => {
      const worker = registration.waiting;
      if (worker && had) offer(() => worker.postMessage('use-new-version'));
    };
    registration.addEventListener('updatefound', () => registration.installing?.addEventListener('statechange', waiting));
    waiting();
    navigator.serviceWorker.ready.then(({ active }) => active?.postMessage('bring-the-rest'));
    let reloaded = false;
    navigator.serviceWorker.addEventListener('controllerchange', () => {
      if (had && !reloaded) { reloaded = true; location.reload(); }
    });
  } catch (error) {
    console.warn('no service worker: the app needs the network here', error);
  }
}
