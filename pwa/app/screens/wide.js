// Whether there is room for two drawings side by side; the screen is drawn again when that changes.

/** @param {import('../app.js').Stage} stage */
export function whenWide(stage) {
  const wide = matchMedia('(min-width: 900px)');
  const changed = () => stage.draw();
  wide.addEventListener('change', changed);
  return { get now() { return wide.matches; }, leave() { wide.removeEventListener('change', changed); } };
}
