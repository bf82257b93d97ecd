// What can wait until the eye has its answer.

/**
 * Runs something once the next picture is on the screen, or soon where none will be painted (the page is hidden, or was just covered).
 * @param {() => void} run
 * @returns {() => void} runs it at once, if it has not run yet
 */
export function afterPaint(run) {
  let done = false;
  const once = () => { if (!done) { done = true; run(); } };
  if (document.hidden) { once(); return once; }
  requestAnimationFrame(() => setTimeout(once));
  setTimeout(once, 120);
  return once;
}
