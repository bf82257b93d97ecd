// The browser's offer to install the app, kept until someone asks for it. It may come before any screen that could show it.

/** @typedef {Event & {prompt: () => Promise<{outcome: 'accepted' | 'dismissed'}>}} Offer */

/** @type {Offer | null} */
let offer = null;
/** @type {Set<() => void>} */
const listeners = new Set();
const tell = () => { for (const listener of listeners) listener(); };

addEventListener('beforeinstallprompt', (event) => { event.preventDefault(); offer = /** @type {Offer} */ (event); tell(); });
addEventListener('appinstalled', () => { offer = null; tell(); });

/** Whether the browser offers to install it now. */
export const canInstall = () => offer !== null;

/** Whether it runs from its own icon. */
export const isInstalled = () => matchMedia('(display-mode: standalone)').matches || /** @type {{standalone?: boolean}} */ (navigator).standalone === true;

/** Takes the offer up, from within a tap. @returns {Promise<boolean>} whether the person agreed */
export async function install() {
  const now = offer;
  offer = null;
  return (await now?.prompt())?.outcome === 'accepted';
}

/** @param {() => void} listener called when the offer comes or goes @returns {() => void} stops listening */
export function onInstall(listener) {
  listeners.add(listener);
  return () => listeners.delete(listener);
}
