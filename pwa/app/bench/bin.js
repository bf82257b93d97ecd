// How long the bin shows what was put there. Nothing is taken out of the store when it is over: the changes stay, and go into every
// file and to home as before. It is only shown no longer, and pictures that nothing else needs make room.

/** For so many days. */
export const binDays = 30;

/** How many days something has been in the bin; not a day, or one to come, is none. @param {string} binned  @param {string} day */
export function daysIn(binned, day) {
  const days = (Date.parse(day) - Date.parse(binned)) / 86_400_000;
  return days > 0 ? days : 0;
}
