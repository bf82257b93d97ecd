// The texts of the screens with pictures: they come with those screens, as those of words-more.js do with theirs. Whoever imports this
// finds them in `words`.
import { num, words } from './words.js';

export const pictured = {
  // The board that several of them have.
  board: {
    zoom: 'Larger and smaller', closer: 'Larger', further: 'Smaller', whole: 'The whole picture', handles: 'What can be moved on the picture',
    nudge: (/** @type {string} */ what) => `Move by one point of the picture: ${what}`, nudges: { left: 'Left', up: 'Up', down: 'Down', onward: 'Right' },
    at: (/** @type {number} */ x, /** @type {number} */ y) => `${num(x, 0)} across, ${num(y, 0)} down`,
  },
  // Measuring on a photo, and its scale.
  photo: {},
  plane: {},
  // Outlines, and a piece over them.
  outline: {},
  overlay: {},
  // On paper, on the glass, and all of them.
  print: {},
  glass: {},
  gallery: {},
};

Object.assign(words, pictured);
