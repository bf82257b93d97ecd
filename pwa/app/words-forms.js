// The texts of the screens of forms and wool: they come with those screens, as those of words-pictures.js do with theirs. Whoever imports
// this finds them in `words`.
import { cap, count, num, percent, plural, theAnimal, words } from './words.js';

export const formed = {
  // What several of them say.
  shapes: /** @type {Record<string, string>} */ ({
    ball: 'ball', egg: 'egg', cylinder: 'cylinder', rounded: 'roll with round ends', cone: 'cone', frustum: 'cut-off cone', teardrop: 'drop', disc: 'disc', block: 'block', ring: 'ring', ear: 'flat piece', turned: 'turned form',
  }),
  shape_lines: /** @type {Record<string, string>} */ ({
    ball: 'Round from every side: a head, an eye, a pom-pom.', egg: 'Longer than wide; flat, if it is less deep: a body, a head.', cylinder: 'A roll with flat ends: a trunk, a neck to be joined.', rounded: 'A roll whose ends are half balls: a leg, a finger, a worm.',
    cone: 'From round to a tip: a tail, a beak, a horn.', frustum: 'Tapers, but not to a tip: a leg, a neck, a snout.', teardrop: 'A ball that runs out into a tip: a bird’s body, a chick, a nose.', disc: 'A flat round: a foot, a face of an owl, an ear.',
    block: 'Six flat sides: a base, a brick, a muzzle.', ring: 'A roll bent round until its ends meet: a collar, a curled tail.', ear: 'Flat felt of any outline: an ear, a wing, a fin.', turned: 'Your own profile, round all about: whatever swells and thins along the way.',
  }),
  sizes: /** @type {Record<string, string>} */ ({ length: 'Length', width: 'Width', depth: 'Depth', end: 'Width at the end', thickness: 'Thickness' }),
  stands: /** @type {Record<string, string>} */ ({ body: 'body', head: 'head', neck: 'neck', leg: 'leg', tail: 'tail', other: 'something else' }),
  firmness: /** @type {Record<string, string>} */ ({ soft: 'Soft', medium: 'Medium', firm: 'Firm' }),
  // The forms of an animal, in place over it.
  forms: { title: 'Forms' },
  // One form.
  form: { title: 'Form' },
  // The wire inside.
  wire: { title: 'Wire' },
  // The lay of one form, and the order of the work.
  lay: {},
  order: {},
  // The wool, the bag, what was weighed, and a class.
  wool: {},
  bag: {},
  weigh: {},
  class: {},
};

Object.assign(words, formed);
