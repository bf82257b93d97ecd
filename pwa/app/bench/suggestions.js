// The parts suggested for each kind of animal: what is measured along (length) or across (width), and from which side it is seen best.

/**
 * @typedef {{name: string, axis: 'length' | 'width', view: 'side' | 'front' | 'top', unit?: true}} Suggestion
 */

/** @param {'side' | 'front' | 'top'} view  @param {'length' | 'width'} axis */
const seen = (view, axis) => (/** @type {string[]} */ ...names) => names.map((name) => /** @type {Suggestion} */ ({ name, axis, view }));
const along = seen('side', 'length');
const deep = seen('side', 'width');
const across = seen('front', 'width');
const up = seen('front', 'length');

/** The part the others are counted in, unless the maker chooses another. @param {string} name @returns {Suggestion} */
const unit = (name) => ({ name, axis: 'length', view: 'side', unit: true });

const fourLegs = [unit('head length'), ...along('muzzle', 'neck length', 'body length'), ...deep('body depth'), ...along('foreleg', 'hind leg', 'tail'), ...across('head width', 'neck width', 'body width'), ...up('ear')];

/** @type {Record<string, Suggestion[]>} */
const lists = {
  'otter': [unit('head length'), ...along('whole length', 'neck length', 'body length', 'tail', 'foreleg', 'hind leg'), ...deep('body depth', 'tail root'), ...across('head width', 'neck width', 'body width', 'muzzle width')],
  'barn owl': [unit('body height'), ...along('head height', 'wing', 'tail', 'leg'), ...deep('body depth'), ...up('face height'), ...across('face width', 'body width', 'eye spacing', 'beak width')],
  'dog': [...fourLegs, ...along('height at the shoulder')],
  'cat': [...fourLegs, ...across('face width'), ...along('paw')],
  'fox': [...fourLegs, ...deep('tail thickness'), ...across('ear width')],
  'hare': [unit('head length'), ...along('body length'), ...deep('body depth'), ...along('ear', 'foreleg', 'hind leg', 'hind foot', 'tail'), ...across('head width', 'body width', 'ear width')],
  'bear': [unit('head length'), ...along('muzzle', 'body length'), ...deep('body depth', 'shoulder hump'), ...along('foreleg', 'hind leg', 'paw'), ...across('head width', 'muzzle width', 'body width'), ...up('ear')],
  'horse': [unit('head length'), ...along('neck length', 'body length', 'height at the withers', 'foreleg', 'hind leg', 'cannon', 'tail'), ...deep('depth at the girth', 'neck depth'), ...across('head width', 'chest width'), ...up('ear')],
  'sheep': [unit('head length'), ...along('neck length', 'body length'), ...deep('body depth'), ...along('foreleg', 'hind leg', 'ear', 'tail'), ...across('head width', 'body width')],
  'bird': [unit('body length'), ...along('head length', 'beak', 'neck length', 'wing', 'tail', 'leg'), ...deep('body depth'), ...across('head width', 'body width', 'eye spacing')],
  'person': [unit('head height'), ...along('foot'), ...deep('head depth'), ...up('whole height', 'face height', 'trunk', 'upper arm', 'forearm', 'hand', 'thigh', 'lower leg'), ...across('head width', 'shoulder width', 'hip width')],
  'other': [unit('head length'), ...along('body length'), ...deep('body depth'), ...along('leg', 'tail'), ...across('head width', 'body width')],
};

/** The kinds of animal there are lists for. */
export const animals = Object.keys(lists);

/** @param {string} animal @returns {Suggestion[]} */
export const suggested = (animal) => Object.hasOwn(lists, animal) ? lists[animal] : lists.other;

/** From which side a part of this name is seen best, or null. @param {string} animal  @param {string} name */
export function viewOf(animal, name) {
  const list = [...suggested(animal), ...Object.values(lists).flat()];
  return list.find((part) => part.name === name.trim().toLowerCase())?.view ?? null;
}
