// The link's clock: milliseconds that never go back, and that count the time in which the device slept, which the clock of the
// browser's own measurements does not do everywhere.

let time = 0;
let last = { steady: 0, wall: 0 };

/** @param {{steady: number, wall: number}} [read] */
export function clock(read = { steady: performance.now(), wall: Date.now() }) {
  if (last.wall) time += Math.max(0, read.steady - last.steady, read.wall - last.wall);
  last = read;
  return Math.round(time);
}
