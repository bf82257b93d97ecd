// What the page tells the bench of the world outside: it is looked at again, the network came or went.

/** @typedef {{visible: boolean, event: string}} Wake */

/** @type {(wake: Wake) => void} */
let listener = () => {};
/** How the page was last told to be: seen or not. */
export const page = { visible: true };

/** Who brings things home hears of it. @param {typeof listener} f */
export function onWoke(f) { listener = f; }

/** @param {Wake} wake */
export async function woke(wake) {
  page.visible = wake.visible;
  listener(wake);
}
