// Keeps the screen lit while something is measured. Where the browser cannot, nothing happens.

/** Asks for the light to stay on, again each time the page is shown. @returns {() => void} lets it go */
export function stayAwake() {
  /** @type {WakeLockSentinel | null} */
  let lock = null;
  let over = false;
  const take = async () => {
    if (over || document.visibilityState !== 'visible' || !('wakeLock' in navigator)) return;
    try {
      lock = await navigator.wakeLock.request('screen');
      if (over) await lock.release();
    } catch { /* low battery, or not allowed: the screen dims as usual */ }
  };
  document.addEventListener('visibilitychange', take);
  take();
  return () => {
    over = true;
    document.removeEventListener('visibilitychange', take);
    lock?.release().catch(() => {});
  };
}
