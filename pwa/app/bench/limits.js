// How much is read from a file, or written to one: said before doing it.
const MB = 1024 * 1024;

/**
 * In bytes: the largest file that is read, the most that one text of changes in it may be, all of them together, and one picture;
 * how large a text of changes is written, how much of pictures goes into a file, and how much of them without being asked for.
 */
export const limits = { file: 2048 * MB, unpacked: 64 * MB, changes: 192 * MB, picture: 64 * MB, part: 16 * MB, pictures: 1536 * MB, soon: 64 * MB };

/** @param {number} bytes */
export const inMB = (bytes) => bytes / MB;
