// The texts of the screens with pictures: they come with those screens, as those of words-more.js do with theirs. Whoever imports this
// finds them in `words`.
import { words } from './words.js';

export const pictured = {
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
