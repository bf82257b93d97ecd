// The texts of the screens of forms and wool: they come with those screens, as those of words-pictures.js do with theirs. Whoever imports
// this finds them in `words`.
import { cap, count, num, percent, theAnimal, words } from './words.js';
import { wooled } from './words-wool.js';

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
  forms: {
    title: 'Forms', sub: (/** @type {string} */ animal, /** @type {string} */ size) => [cap(theAnimal(animal)), size].filter(Boolean).join(', '),
    sides: /** @type {Record<string, string>} */ ({ side: 'Side', front: 'Front' }), sides_label: 'Seen from', picture: (/** @type {string} */ name, /** @type {string} */ side, /** @type {number} */ n) => `${cap(theAnimal(name))} from the ${side}, with ${count(n, 'form', 'forms')} over its outline, to scale`,
    bar: (/** @type {number} */ mm) => (mm < 10 ? `${num(mm, 1)} mm` : `${num(mm / 10, 0)} cm`), bar_inch: (/** @type {number} */ mm) => `${num(mm / 25.4, mm < 25 ? 1 : 0)} in`,
    no_front: 'There is no front outline yet, so nothing is seen from there.', trace_front: 'Trace the front',
    core: 'Core wool', coat: 'Top coat', no_coat: 'none chosen', volume: (/** @type {string} */ text) => `${text} in all`,
    more_than: (/** @type {string} */ share) => `The forms hold ${share} more than the outlines do.`, less_than: (/** @type {string} */ share) => `The forms hold ${share} less than the outlines do.`, as_much: 'The forms hold as much as the outlines do.', off: (/** @type {number} */ share) => percent(Math.abs(share - 1)),
    apart_more: 'More than a fifth: one of them may be too thick, or two lie in each other.', apart_less: 'More than a fifth: one may be missing, or too thin.', by_outlines: (/** @type {string} */ text, /** @type {string} */ low, /** @type {string} */ high) => `By the outlines ${text}${low && high ? `, between ${low} and ${high}` : ''}`,
    bars: { forms: 'forms', outlines: 'outlines' },
    times: (/** @type {number} */ n, /** @type {boolean} */ mirrored) => (n > 1 ? mirrored ? `${num(n, 0)}, left and right` : `${num(n, 0)} of it` : ''), grams: (/** @type {string} */ text) => `${text}`, each: 'each',
    missing: (/** @type {number} */ n) => (n === 1 ? 'a size is missing' : `${num(n, 0)} sizes are missing`), no_profile: 'its profile is missing', not_placed: 'not placed', open: (/** @type {string} */ name) => `Open ${name}`,
    size_line: (/** @type {string[]} */ texts) => { const unit = / (\S+)$/.exec(texts.at(-1) ?? '')?.[1] ?? ''; return (unit && texts.every((text) => text.endsWith(` ${unit}`)) ? `${texts.map((text) => text.slice(0, -unit.length - 1)).join(' × ')} ${unit}` : texts.join(' × ')).replace(/ (\S+)$/, '\u00a0$1'); },
    list: 'The forms', change_order: 'Change the order', order_done: 'Done', up: (/** @type {string} */ name) => `Up: ${name}`, down: (/** @type {string} */ name) => `Down: ${name}`, moved: (/** @type {string} */ name, /** @type {number} */ at) => `${name} is now number ${at}.`,
    add: 'Add a form', add_hint: 'Which solid comes nearest?',
    empty: 'No forms yet', empty_hint: 'Forms are the simple solids that an animal is built up from: an egg for the body, a ball for the head, a roll for each leg. Each is rolled of core wool and joined to the others.',
    propose: 'Propose forms', propose_hint: 'From its outlines, one by one; you say which to take.', proposing: 'Looking for forms', propose_more: 'Propose more',
    none_found: 'No form was found in these outlines. Add them by hand.',
    why: /** @type {Record<string, {title: string, text: string, go: string}>} */ ({
      'no-size': { title: 'How large is it to be?', text: 'Forms have sizes. Once the finished size is set, they can be proposed from the outlines.', go: 'Set the finished size' },
      'no-side': { title: 'Its outline from the side is missing', text: 'Trace it on the side picture; one tap may do. Then forms can be proposed, and drawn over it.', go: 'Go to the pictures' },
    }),
    facing: 'The head looks', left: 'left', right: 'right', facing_ask: 'Which way does the head look?', facing_hint: 'On the side picture. Here it is drawn with the head to the right, so that front stays front.',
    nth: (/** @type {number} */ n, /** @type {number} */ of) => `${num(n, 0)} of ${num(of, 0)}`, of_shape: (/** @type {string} */ shape) => (/^[aeiou]/.test(shape) ? `an ${shape}` : `a ${shape}`),
    proposed_names: /** @type {Record<string, string>} */ ({ body: 'Body', head: 'Head', neck: 'Neck', leg: 'Leg', foreleg: 'Foreleg', hindleg: 'Hind leg', tail: 'Tail', other: 'Form' }), proposed_name: (/** @type {string} */ name, /** @type {number} */ n, /** @type {boolean} */ alone) => (alone ? name : `${name} ${n}`),
    accept: 'Take it', skip: 'Leave it', accept_all: (/** @type {number} */ n) => (n === 1 ? 'Take the last' : `Take all ${num(n, 0)}`), stop: 'Enough', taken: (/** @type {number} */ n) => (n ? `${count(n, 'form is', 'forms are')} taken.` : 'Nothing was taken.'),
    covers: (/** @type {string} */ share) => `All together they cover ${share} of the outline.`, bound_to: (/** @type {string} */ part) => `as the ${part.toLowerCase()}`,
    notes: /** @type {Record<string, string>} */ ({ 'no-front': 'Without a front outline each form is taken to be as deep as it is thick.', 'front-apart': 'The front outline is of another height than the side, so each form is taken to be as deep as it is thick.' }),
    front_apart: 'The front outline is of another height than the side: another pose, perhaps. It is left out here, and the volume cannot be held against the outlines.',
    links: { wool: 'Wool and shopping', wire: 'Wire inside', order: 'Order of work', class: 'For a class', bag: 'The bag' },
    row: 'Forms and wool', row_count: (/** @type {number} */ n) => count(n, 'form', 'forms'), row_core: (/** @type {string} */ text) => `${text} core`, row_coat: (/** @type {string} */ text) => `${text} coat`, row_none: 'none yet',
  },
  // One form.
  form: {
    title: 'Form', back: (/** @type {string} */ name) => `${name}, forms`, gone: 'This form is in the bin.',
    line: (/** @type {string} */ shape, /** @type {string[]} */ sizes) => [/^[aeiou]/.test(shape) ? `an ${shape}` : `a ${shape}`, ...sizes].join(', '),
    long: (/** @type {string} */ text) => `${text} long`, wide: (/** @type {string} */ text) => `${text} wide`,
    modes: /** @type {Record<string, string>} */ ({ sizes: 'Its sizes', place: 'Where it lies' }), modes_label: 'Show', drawing: (/** @type {string} */ name) => `${cap(name)} from the side and from the front, with its sizes, to scale`, side: 'side', front: 'front',
    grams: 'Core wool', coat_grams: 'Top coat', volume: 'Volume', area: 'Surface', areas: (/** @type {number} */ mm2, /** @type {string} */ unit) => (unit === 'in' ? `${Number((mm2 / 645.16).toPrecision(2))} in²` : `${Number((mm2 / 100).toPrecision(2))} cm²`), each: 'each one',
    sizes: 'Sizes', as_part: (/** @type {string} */ part, /** @type {number | null} */ times) => `${times && times !== 1 ? `${num(times, 2)} × the ` : 'as the '}${part.toLowerCase()}`, part_gone: 'The part it followed is gone or not measured yet.', not_set: 'not set', as_width: 'as the width',
    still: (/** @type {string[]} */ names) => `Still missing: ${names.join(', ').toLowerCase()}.`, still_profile: 'It has no profile yet.', begin_profile: 'Begin a profile',
    ways_label: 'How it is given', typed: 'Typed', bound: 'As a part', length_example: { mm: '62 mm', cm: '6.2 cm', in: '2 1/2 in' }, which: 'Which part', times: 'Times', times_hint: '1 is just as long', gives: (/** @type {string} */ text) => `That is ${text} now, and follows the part.`, no_parts: 'Nothing is measured yet that it could follow.', same_as_width: 'As deep as wide',
    what: 'What it is', kind: 'Solid', name: 'Name', stands: 'It is the', count: 'How many', fewer: 'One fewer', more: 'One more', mirrored: 'Left and right of the animal', choose: 'Choose a solid',
    firm: 'How firm', firm_hints: /** @type {Record<string, string>} */ ({ soft: 'Gives under the thumb; takes little wool and dents easily.', medium: 'As most pieces: gives a little, keeps its shape.', firm: 'Hardly gives: legs, what must stand, what is carved.' }),
    wool: 'Wool', core: 'Core wool', no_core: 'not chosen', coat: 'Top coat', no_coat: 'No top coat is chosen.', add_coat: 'Add a wool to the blend', parts: (/** @type {number} */ n) => count(n, 'part', 'parts'), more_of: (/** @type {string} */ name) => `More ${name}`, less_of: (/** @type {string} */ name) => `Less ${name}`, thick: 'How thick', thick_default: 'left empty: 2 mm', thick_example: { mm: '2 mm', cm: '0.2 cm', in: '1/16 in' },
    bag: 'The bag', bag_empty: 'Nothing is in the bag yet. Put in the wools you have, then choose here.', coat_none: 'There is no coat wool in the bag yet.',
    place: { hint: 'Drag it over the outline, or tap where its middle belongs. The knob turns it.', hint_front: 'Drag it to the side, or up and down.', none: 'It is not placed yet. Tap where its middle belongs.', no_outline: 'There is no outline from here yet; the other forms are drawn.', label: (/** @type {string} */ name) => `${cap(name)} over the animal. The arrow keys move it, [ and ] turn it.`, left: 'To the tail', onward: 'To the head', up: 'Up', down: 'Down', apart: 'Apart', together: 'Together', turn_left: 'Turn left', turn_right: 'Turn right', undo: 'Back', step: (/** @type {string} */ text) => `Each step ${text}` },
    profile: 'Profile', profile_hint: 'Drag the points, or choose one and step it. It is round all about the dashed line.', ear_outline: 'Its outline', ear_hint: 'Drag the points, or choose one and step it. The root is on the left.', from_outline: 'Take it from the animal’s outline', from_outline_done: 'Taken from the outline, along the way it lies.', from_outline_none: 'Place it over the side outline first: the profile is taken where it lies.', point: (/** @type {number} */ n) => `Point ${num(n, 0)}`, add_point: 'Add', remove_point: 'Remove', draw_own: 'Draw its own outline', by_sizes: 'By length and width', long_field: 'Length', wide_field: 'Widest', too_few: 'Two points at least must stay.',
    lay: 'The lay', weigh: 'Felted: weigh it', weighed: (/** @type {number} */ n) => count(n, 'weighing', 'weighings'), bin: 'Put in the bin', binned: (/** @type {string} */ name) => `${cap(name)} is in the bin.`,
  },
  // The wire inside.
  wire: {
    title: 'Wire inside', sub: (/** @type {string} */ animal) => `What to cut for ${theAnimal(animal)}.`, total: 'Cut in all', gauge: 'Gauge', awg: (/** @type {number} */ n) => `${num(n, 0)} AWG`, mm: (/** @type {number} */ mm) => `${num(mm, 2)} mm thick`,
    swg: 'AWG, not SWG: the same number is another thickness there. Ask which one a shop means, or measure the wire.',
    cut: 'To cut', one: (/** @type {number} */ n, /** @type {string} */ cut) => `${num(n, 0)} × ${cut}`, inside: (/** @type {string} */ text) => `${text} of it inside, then the fold`, pair: (/** @type {string} */ text, /** @type {string} */ name) => `one for two: through the body, ${text} into each ${name.toLowerCase()}`, picture: (/** @type {string} */ name) => `${cap(theAnimal(name))} from the side with the wire in it; it stops short of every tip`,
    short: 'It stops short of each tip, so that no end comes near the surface. The length to cut has the twist (15 %) and both folds (8 mm each) in it.',
    too_short: (/** @type {string} */ names) => `Too short for a wire, so of wool alone: ${names}.`,
    steps_title: 'How it goes in', steps: ['Fold both ends back and press them flat.', 'Twist the wires of legs and spine together where they meet.', 'Wrap it tightly in thin core wool until no metal is seen, folds first.', 'Roll the lay of each form round it.'],
    care: 'Take care', cautions: ['Cut ends fly: hold both sides of the cut, eyes away or glasses on.', 'Fold every end back and cover it: nothing sharp may come through.', 'A needle that hits wire breaks. Feel where it runs, and needle beside it.', 'With wire inside it is a decoration, not a toy.'],
    none: 'No wire yet', none_hint: 'Wire runs through what is a leg, a neck, a tail or the body. Say so at a form under “It is the”, and give it its sizes.', to_forms: 'To the forms', not_placed: (/** @type {number} */ n) => `${count(n, 'form is', 'forms are')} not placed over the outline, and not drawn.`,
  },
  // The lay of one form, and the order of the work.
  lay: {
    title: 'Lay', back: (/** @type {string} */ name) => `${name}, forms`, line: (/** @type {string} */ shape, /** @type {string[]} */ sizes) => [/^[aeiou]/.test(shape) ? `an ${shape}` : `a ${shape}`, ...sizes].join(', '),
    size_words: /** @type {Record<string, (text: string) => string>} */ ({ length: (text) => `${text} long`, width: (text) => `${text} thick`, depth: (text) => `${text} deep`, end: (text) => `${text} at the tip`, thickness: (text) => `${text} thick` }), at_root: (/** @type {string} */ text) => `${text} at the root`, across: (/** @type {string} */ text) => `${text} across`, wide: (/** @type {string} */ text) => `${text} wide`,
    how: 'Lay the core wool like this', twice: 'Lay two of these', one_of: (/** @type {number} */ n) => (n === 2 ? 'Twice over: there are two of it.' : `${num(n, 0)} times over: there are ${num(n, 0)} of it.`),
    kinds: /** @type {Record<string, string>} */ ({ strip: 'A strip', rectangle: 'A rectangle', 'curved triangle': 'A triangle with one curved edge', own: 'An outline of its own', half: 'Two halves, each its own outline', flat: 'Flat pieces, one on the other' }),
    root: 'root', tip: 'tip', begin: 'begin here', roll: 'roll this way',
    picture: (/** @type {string} */ name, /** @type {string} */ kind, /** @type {string} */ long, /** @type {string} */ wide, /** @type {boolean} */ rolled) => `${kind} for ${name.toLowerCase()}, drawn to scale: ${wide} along the form, ${long} ${rolled ? 'the way it is rolled' : 'across'}.${rolled ? ' Rolling begins at the straight edge, which becomes the middle.' : ''}`,
    edges: /** @type {Record<string, string>} */ ({ rolled: 'The thick straight edge becomes the middle of the roll; the one across from it ends outside.', ball: 'The thick straight edge becomes the middle of the roll.', ring: 'The thick long edge becomes the middle of the roll.', flat: 'Turn every second layer crosswise; fold what lies over at the edges in, the root left loose for joining.' }),
    straight: 'Not with a straight edge', straight_near: 'A straight edge does as well here', straight_near_hint: 'The dashed edge rolls up to nearly the same.', straight_picture: (/** @type {string} */ wanted, /** @type {string} */ other) => `On the left what the curved edge rolls up to: ${wanted}. On the right what the dashed one would: ${other}.`,
    curved_gives: 'curved edge', straight_gives: 'dashed edge', straight_hint: (/** @type {string} */ other, /** @type {string} */ shape) => `The dashed straight edge would roll up into ${other}, not ${shape}.`,
    yours: 'yours', gives: /** @type {Record<string, string>} */ ({ cone: 'a bullet', frustum: 'a barrel end', teardrop: 'a bullet with a blunt tip', egg: 'a spindle with a ridge', ball: 'a spindle with a ridge', rounded: 'blunt points', turned: 'another form' }),
    shape: (/** @type {string} */ shape) => (/^[aeiou]/.test(shape) ? `an ${shape}` : `a ${shape}`),
    grams: 'Core wool', each: 'for each one', rolled: 'Roll up to', rolled_flat: 'Lay to', felted: (/** @type {string} */ unit, /** @type {string} */ sizes) => `${unit ? `${unit}, ` : ''}then felt to ${sizes}`, join: ' × ',
    shrink: (/** @type {string} */ name) => `${cap(name)} as rolled, and inside it as felted, to one scale`,
    factor: (/** @type {number} */ mean, /** @type {number} */ n) => (n ? `${num(mean, 2)} times as long as felted: so much yours shrink, by ${count(n, 'weighing', 'weighings')}.` : '4/3 as long as felted, as is common practice. Weigh and measure what you felt, and your own factor takes over.'),
    layers: 'Layers', layers_hint: (/** @type {string} */ thick) => `${thick} thick together`, layers_label: (/** @type {number} */ n, /** @type {string} */ thick) => `${count(n, 'layer', 'layers')}, ${thick} thick together as rolled`, fewer: 'One layer fewer', more: 'One layer more', usual: 'As usual', even: 'Each as thin and even as you can pull it. More layers make a shorter, thicker lay of the same weight.', even_flat: 'Each as thin and even as you can pull it.',
    layer: 'What one layer weighs', layer_known: (/** @type {string} */ g, /** @type {string} */ wool) => `${g} g/m² (${wool}).`, layer_guess: 'Taken as 100 g/m², a thin batt. Weigh yours, and the lay fits it.', layer_weigh: 'Weigh it', layer_how: 'Pull off ten pieces of 10 × 10 cm, each one layer thick, and weigh them together: a kitchen scale cannot tell one alone.', layer_field: 'Ten of them weigh, in grams', layer_example: '10', layer_keep: 'Keep', layer_gives: (/** @type {string} */ g) => `One layer of it has ${g} g/m².`, layer_wrong: 'Ten such pieces weigh between half a gram and 200 grams.', no_wool: 'Which wool it is, nobody has said yet: put it into the bag, then its layer can be weighed.', to_bag: 'To the bag',
    notes: /** @type {Record<string, string>} */ ({
      'dense-core': 'The core would have to be rolled very tightly. Take less wool, or start bigger.', 'loose-core': 'That is looser than loose wool lies. Take more wool, or start smaller.', flatten: 'Roll it round, then press it flat to its depth while you felt it.', bend: 'Roll it straight, bend it round and join the ends.',
      cross: 'Roll up the first half, then roll the second over it crosswise.', 'thinner-than': 'One layer of this wool is thick for so small a form: pull it thinner.',
    }),
    steps: /** @type {Record<string, [string, string][]>} */ ({
      rolled: [['lay', 'Lay the layers on each other, edges thinned out.'], ['begin', 'Roll firmly from the straight edge; pinch it as you go.'], ['rolled', 'Hold the roll against the outline at true size, then felt.']],
      ball: [['half', 'Roll up the first half.'], ['cross', 'Lay it on the second, turned a quarter, and roll on.'], ['ball', 'Tuck the ends in all round; hold it against the outline.']],
      ring: [['rolled', 'Roll it up straight.'], ['bend', 'Bend it round while it is soft.'], ['ring', 'Lay the ends over each other and felt them together.']],
      flat: [['along', 'One layer along.'], ['crosswise', 'The next one crosswise, and so on.'], ['pressed', 'Press flat, and felt from both sides.']],
    }),
    glass: 'At true size', print: 'Print it', weigh: 'Felted: weigh it', order: 'Order of work', form: 'The form',
    missing: 'A size is missing', missing_hint: (/** @type {string} */ names) => `How it is laid follows from its sizes. Still missing: ${names}.`, missing_profile: 'How it is laid follows from its profile. Draw it first.', to_form: 'To the form', cannot: 'This cannot be laid',
    no_grams: 'How much wool it takes is not known', no_grams_hint: 'Give the form its sizes and its wool, then the lay can be drawn.',
    true_lay: 'Lay', true_roll: 'Rolled core', sheet_lay: (/** @type {string} */ name) => `${cap(name)}: the lay`, sheet_roll: (/** @type {string} */ name) => `${cap(name)}: rolled core`, sheet_fact: (/** @type {number} */ layers, /** @type {string} */ grams, /** @type {number} */ times, /** @type {boolean} */ halves) => [times > 1 ? `${num(times, 0)} of these` : '', count(layers, 'layer', 'layers'), grams ? `${grams}${halves ? ' for two' : times > 1 ? ' each' : ''}` : ''].filter(Boolean).join(', '), sheet_roll_fact: (/** @type {string} */ text) => `hold the roll against it; felted: ${text}`,
    on_sheet: 'Lays and rolled cores', on_sheet_hint: 'At true size, to lay the wool on and to hold the roll against.', what: { both: 'Both', lay: 'Lay', roll: 'Core', none: 'No' }, what_label: (/** @type {string} */ name) => `On the sheet, of ${name}`, all: 'All', none: 'None', no_lay: 'a size is missing',
  },
  order: {
    title: 'Order of work', sub: (/** @type {string} */ name) => `From the largest form to the last stitch, for ${theAnimal(name)}.`, whose: 'Which piece', whole: 'No piece', 
    done: (/** @type {number} */ n, /** @type {number} */ all) => (n === all ? 'All done' : `${num(n, 0)} of ${num(all, 0)} done`), next: (/** @type {string} */ text) => `Next: ${text}`, progress: 'How far the work is',
    stages: /** @type {Record<string, {title: string, text: string}>} */ ({
      make: { title: 'Roll and felt', text: 'The largest first, so that the others are sized beside it. Ends that will be joined stay soft and loose.' },
      join: { title: 'Join', text: 'From the body outwards. Spread the loose fibres over the joint, needle straight in from all round, then wrap a wisp over it.' },
      whole: { title: 'Shape, coat, smooth', text: 'Finer needles now, and shallower: the surface, not the core.' },
    }),
    steps: /** @type {Record<string, (name: string) => string>} */ ({ roll: (name) => `Roll ${name}`, felt: (name) => `Felt ${name}`, join: (name) => `Join ${name}`, shape: () => 'Shape the whole', coat: () => 'Lay on the top coat', smooth: () => 'Smooth it all over', finish: () => 'Last touches' }),
    hints: /** @type {Record<string, string>} */ ({ roll: '', felt: 'until it keeps its shape', join: '', shape: 'check it against the animal, and mend what is out', coat: 'thin, layer by layer, along the way the fur lies', smooth: 'shallow, close together, all over', finish: 'eyes, nose, whiskers; loose fibres off' }),
    of: (/** @type {string} */ name, /** @type {number} */ n) => (n > 1 ? `${name.toLowerCase()}, ${num(n, 0)} of it` : name.toLowerCase()), gauge: (/** @type {string} */ gauge) => `needle ${gauge}`, gauge_key: 'The higher the number, the finer the needle. 36 coarse, 38 for most, 40 fine, 42 for the last smoothing: common practice.', core: (/** @type {string} */ text, /** @type {number} */ n) => (n > 1 ? `${text} each` : text),
    to_lay: (/** @type {string} */ name) => `The lay of ${name}`, lay: 'Lay', ticked: (/** @type {string} */ text) => `${text}: done.`, unticked: (/** @type {string} */ text) => `${text}: not done.`, 
    cautions: /** @type {Record<string, string[]>} */ ({
      make: ['Eyes on the needle, straight in, straight out. Never pry.', 'Needle shorter than before? Find the tip first.'],
      wire: ['Wire inside: fold the ends back, feel where it runs.'],
      join: ['Hold the pieces so that no finger is behind the joint.'],
      whole: ['Count the needles back in when you stop. Wool eyes, beads, wire and loose wool: a decoration, not a toy for small children.'],
    }),
    empty: 'No forms yet', empty_hint: 'The order follows from the forms: which is largest, what is joined to what. Make them first.', to_forms: 'To the forms', all_done: 'It is made', all_done_hint: 'Count the wool once more, and weigh what you have felted: the next one starts from your own hand.', to_check: 'Check the piece', to_project: 'To the animal',
  },
  // The wool, the bag, what was weighed, the maker's hand, and a class.
  ...wooled,
};

Object.assign(words, formed);
