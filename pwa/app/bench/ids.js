// Names for records and devices, and the day as the person's own clock has it.
const letters = 'abcdefghijklmnopqrstuvwxyz234567';

/** Sixteen letters of base32, at random: 80 bits, so that two devices never make the same. */
export function newId() {
  return Array.from(crypto.getRandomValues(new Uint8Array(16)), (byte) => letters[byte & 31]).join('');
}

/** @param {number} n */
const two = (n) => String(n).padStart(2, '0');

/** The day here, 2026-11-25. */
export function today(now = new Date()) {
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
}

/** The minute here, 2026-11-25T10:00. */
export function minute(now = new Date()) {
  return `${today(now)}T${two(now.getHours())}:${two(now.getMinutes())}`;
}
