// How much is read from a file: said before reading it.
const MB = 1024 * 1024;

/** The largest file that is read, and the most that may be packed in it, in bytes. */
export const limits = { file: 32 * MB, unpacked: 64 * MB };

/** @param {number} bytes */
export const inMB = (bytes) => bytes / MB;
