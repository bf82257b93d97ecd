// Moments that are still to come.

/** The moment so many seconds from now, in ms since 1970. @param {number} seconds */
export const after = (seconds) => Date.now() + seconds * 1000;

/** Whole seconds to a moment, 0 once it is over. @param {number} moment */
export const secondsTo = (moment) => Math.max(0, Math.ceil((moment - Date.now()) / 1000));
