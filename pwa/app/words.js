// Every text a person reads, in one place, in plain words. Numbers go through Intl.

const locale = typeof navigator === 'undefined' ? 'en' : navigator.language;
const numbers = new Map();

/** A number as people here write it. @param {number} value  @param {number} [digits] at most this many decimals */
export function num(value, digits = 2) {
  if (!numbers.has(digits)) numbers.set(digits, new Intl.NumberFormat(locale, { maximumFractionDigits: digits }));
  return numbers.get(digits).format(value);
}
/** A share, 0.036 as 3.6 %. @param {number} share  @param {number} [digits] */
export const percent = (share, digits = 0) => new Intl.NumberFormat(locale, { style: 'percent', maximumFractionDigits: digits }).format(share);
/** How much room something takes: 812 kB, 6 GB. @param {number} bytes */
export function room(bytes) {
  const [unit, of] = bytes < 1000 ? ['byte', 1] : bytes < 1e6 ? ['kilobyte', 1e3] : bytes < 1e9 ? ['megabyte', 1e6] : ['gigabyte', 1e9];
  return new Intl.NumberFormat(locale, { style: 'unit', unit: String(unit), unitDisplay: of === 1 ? 'long' : 'short', maximumSignificantDigits: 2 }).format(bytes / Number(of));
}
/** A day as people here write it. @param {string} iso */
export function day(iso) {
  const when = new Date(iso);
  return Number.isNaN(when.getTime()) ? iso : new Intl.DateTimeFormat(locale, { day: 'numeric', month: 'short', year: 'numeric' }).format(when);
}
/** How long ago something was, in plain words. @param {string} iso  @param {number} [now] ms */
export function ago(iso, now = Date.now()) {
  const minutes = Math.round((now - new Date(iso).getTime()) / 60_000);
  if (!Number.isFinite(minutes)) return iso;
  if (minutes < 2) return 'just now'; // or a clock that was put back
  if (minutes < 90) return `${num(minutes, 0)} minutes ago`;
  const days = Math.round((new Date(now).setHours(12) - new Date(iso).setHours(12)) / 86_400_000);
  if (days < 1) return `${num(Math.round(minutes / 60), 0)} hours ago`;
  return days === 1 ? 'yesterday' : days < 14 ? `${num(days, 0)} days ago` : `on ${day(iso)}`;
}
/** How many of something. @param {number} n  @param {string} one  @param {string} many */
export const count = (n, one, many) => `${num(n, 0)} ${n === 1 ? one : many}`;
/** A list of names: a, b and c. @param {string[]} names */
export const listed = (names) => new Intl.ListFormat('en-GB', { type: 'conjunction' }).format(names);

const glyphs = /** @type {Record<string, string>} */ ({ '1/2': '½', '1/3': '⅓', '2/3': '⅔', '1/4': '¼', '3/4': '¾', '1/8': '⅛', '3/8': '⅜', '5/8': '⅝', '7/8': '⅞' });
const lower = /** @type {Record<string, string>} */ ({ '2/4': '1/2', '2/8': '1/4', '4/8': '1/2', '6/8': '3/4' });
/** The fraction left over, as one sign. @param {number} part  @param {number} of */
export function fraction(part, of) {
  if (part === 0) return '';
  const key = `${part}/${of}`;
  return glyphs[lower[key] ?? key] ?? key;
}

/** A count as it is written: 3 ¼, or ¾ alone. @param {{whole: number, part: number, of: number}} count */
export const counted = ({ whole, part, of }) => (of === 20 ? num(whole + part / of, 2) : `${whole || part === 0 ? num(whole, 0) : ''}${fraction(part, of)}`);
/** With a capital, as a heading has it. @param {string} text */
export const cap = (text) => text.charAt(0).toLocaleUpperCase(locale) + text.slice(1);
const fractionWords = /** @type {Record<string, string>} */ ({ '½': 'a half', '⅓': 'a third', '⅔': 'two thirds', '¼': 'a quarter', '¾': 'three quarters', '⅛': 'an eighth', '⅜': 'three eighths', '⅝': 'five eighths', '⅞': 'seven eighths' });
/** More than one of a part, as a unit of counting: head, heads. @param {string} name */
function plural(name) {
  const low = name.toLowerCase();
  if (/ (across|width|length|height)$/.test(low) || /[^a-z]$/.test(low)) return `${low}s`.replace(/ acrosss$/, ' widths');
  if (/(s|x|ch|sh)$/.test(low)) return `${low}es`;
  return low.endsWith('f') ? `${low.slice(0, -1)}ves` : `${low}s`;
}

const animalKinds = new Set(['animal', 'otter', 'barn owl', 'owl', 'dog', 'cat', 'fox', 'hare', 'bear', 'horse', 'sheep', 'bird', 'person']);
/** An animal inside a sentence: the otter when it goes by its kind, else by its own name, as it was typed. @param {string} name */
const theAnimal = (name) => (animalKinds.has(name.trim().toLowerCase()) ? `the ${name.trim().toLowerCase()}` : name);
/** A piece inside a sentence: piece 1, or the name she gave it. @param {string} name */
const thePiece = (name) => (/^piece \d+$/i.test(name) ? name.toLowerCase() : name);
/** Where a place is counted from, as a sentence has it: the tip of the nose. @param {string} from */
const fromThe = (from) => `the ${from.trim().replace(/^(from )?(the )?/i, '')}`;
/** A length that does not break at the end of a line. @template {string | null | undefined} T @param {T} text @returns {T} */
export const tight = (text) => /** @type {T} */ (text?.replaceAll(' ', '\u00a0') ?? text);

const sideNames = /** @type {Record<string, string>} */ ({ side: 'the side', front: 'the front', top: 'above', other: 'another side' });

/** Says something to a screen reader, politely. @param {string} text */
export function say(text) {
  const at = document.getElementById('say');
  if (at) at.textContent = text;
}

const numberWords = ['No', 'One', 'Two', 'Three', 'Four', 'Five', 'Six', 'Seven', 'Eight', 'Nine'];
/** @typedef {{amount: string, side: string, target: string | null, name: string}} Advice */

export const words = {
  close: 'Close', cancel: 'Cancel', done: 'Done', keep: 'Keep', undo: 'Undo', back: 'Back', again: 'Try again', show: 'Show', put_back: 'Put back',
  dock: { label: 'Places', projects: 'Animals', count: 'Count', marks: 'Marks', ratio: 'Ratio', more: 'More' },
  kept: { here: 'kept on this phone', pending: 'keeping', trouble: 'not kept: look here' },
  update: { ready: 'A new version is ready.', use: 'Use it now' },
  pad: {
    title: 'Count', loose_unit: 'unit', loose_part: (/** @type {number} */ n) => `Length ${n}`,
    counted_in: (/** @type {string} */ unit) => `counted in ${plural(unit)}`, along: (/** @type {string} */ part, /** @type {string} */ from) => `along the ${part.toLowerCase()}${from ? ` from ${fromThe(from)}` : ''}`,
    counted_loose: 'counted in what your thumb marks',
    doubt: (/** @type {string} */ u, /** @type {string} */ unit) => `± ${u} ${plural(unit)}`,
    line: (/** @type {number} */ whole, /** @type {string} */ rest) => (rest ? `${count(whole, 'step', 'steps')} of the needle and ${rest}` : `${count(whole, 'step', 'steps')} of the needle`),
    spoken: (/** @type {number} */ whole, /** @type {string} */ rest) => (rest ? (whole ? `${whole} and ${fractionWords[rest] ?? rest}` : fractionWords[rest] ?? rest) : String(whole)),
    tap: (/** @type {string} */ unit) => `Tap: one more ${unit.toLowerCase()}`, slide: 'Slide up: the part that is left over', hold: 'Hold: undo',
    less_fraction: 'One step of the fraction less', more_fraction: 'One step of the fraction more',
    step: (/** @type {number} */ of) => (of === 20 ? '1/20' : fraction(1, of)),
    say: 'Say', no_voice: (/** @type {string} */ text) => `${text}. There is no voice on this phone to say it.`,
    skip: 'Skip', then: (/** @type {string} */ next) => `then ${next.toLowerCase()}`, the_last: 'the last one',
    nothing_yet: 'Nothing is counted yet. Tap once for each unit, or skip this part.',
    strike: 'Strike out', strike_label: (/** @type {string} */ part, /** @type {string} */ text) => `Strike out ${part} ${text}`, struck: (/** @type {string} */ part) => `${part} struck out.`,
    help_label: 'How to hold the needle',
    over_counted: (/** @type {string} */ parts, /** @type {string} */ unit) => `${parts}, in ${plural(unit)}.`,
    see_proportions: 'See the proportions', see_verdict: 'See what to change', other_unit: 'Another unit',
    choose: 'What does your thumb mark?', choose_hint: 'Hold the needle at arm’s length and mark one part with the thumb. A short one, like the head, is best: all others are counted in it.',
    view_label: 'Seen from', views: { side: 'Side', front: 'Front', top: 'Top', other: 'Other' },
    no_parts: 'This animal has no parts yet.', add_parts: 'Name its parts', start: (/** @type {string} */ unit) => `Count in ${plural(unit)}`, start_none: 'Choose the unit',
  },
  projects: {
    title: 'Animals', count: (/** @type {number} */ n) => count(n, 'animal', 'animals'), search: 'Find an animal', none_found: (/** @type {string} */ text) => `No animal is called “${text}”.`, more: 'Show more',
    add: 'New animal', add_first: 'Start an animal', demo: 'demo', otter: 'An otter, seen from the side',
    empty: 'Turn a picture into wool, in proportion', step_count: 'Hold a needle at arm’s length, mark one part with your thumb, and count how often it goes into the others.', step_wool: 'Count the same parts on your wool, or lay a ruler on it.', step_mend: 'See which part is out, by how much, and what to do.',
    try_demo: 'Look at the otter and the owl first', demo_busy: 'Fetching the demo', add_demo: 'Look at the otter and the owl', bin: (/** @type {number} */ n) => `Bin (${n})`,
    loose: (/** @type {number} */ n) => `${count(n, 'sitting', 'sittings')} without an animal`, loose_hint: 'Measured on the spot. Give it to an animal when you are ready.',
    now: 'Measure now, sort it later', now_hint: 'No animal needs to be set up first.', now_count: 'Count', now_ratio: 'Ratio', now_marks: 'Marks', now_ruler: 'Ruler',
  },
  project: {
    title: 'Animal', size: (/** @type {string} */ typed, /** @type {string} */ part) => `${part ? `${part} ` : ''}${typed}`.toLowerCase(), no_size: 'Set the finished size',
    proportions: 'Proportions', unit_label: 'Show in units of', in_units: (/** @type {string} */ name) => `in ${plural(name)}`, strips_label: (/** @type {string} */ name, /** @type {string} */ unit) => `${name}: each part as a bar, in ${plural(unit || 'unit')}`,
    groups: (/** @type {number} */ n) => `Measured in ${n} groups that no reading joins yet; each group has its own scale.`,
    nothing_measured: 'Nothing is measured yet', nothing_hint: 'Count the animal, or your picture of it, with the needle as a sight rule. Its proportions appear here.',
    places: 'Places', place_unread: 'not measured yet', place_at: (/** @type {string} */ at, /** @type {string} */ u, /** @type {string} */ part, /** @type {string} */ from) => `${at} ± ${u} of the ${part.toLowerCase()}${from ? ` from ${fromThe(from)}` : ''}`,
    two_answers: (/** @type {string} */ name, /** @type {string} */ field) => `Two answers for ${field} of ${name}`, two_answers_hint: 'They were given apart, on two devices. Choose the one that holds; the other stays in the history.', fields: /** @type {Record<string, string>} */ ({ name: 'the name', size: 'the finished size', unit: 'the unit', tolerance: 'the tolerance', order: 'the order', axis: 'length or width', nailed: 'nailed down', binned: 'the bin', struck: 'struck out', animal: 'the kind', from: 'where it starts', project: 'the animal it belongs to', made: 'the day', demo: 'from the demo', fact: 'what was found', part: 'the part', as: 'the same part as', view: 'seen from' }),
    none: 'none', yes: 'yes', no: 'no',
    next: (/** @type {string} */ part) => `Next: ${part.toLowerCase()}`, next_count: (/** @type {string} */ part, /** @type {string} */ unit) => `Count the ${part.toLowerCase()} in ${plural(unit)}`,
    next_why: /** @type {Record<string, string>} */ ({ unread: 'It has no reading yet.', join: 'One reading joins what was measured apart.', rough: 'It is the least sure; reading it once more helps most.' }),
    reminders: /** @type {Record<string, string>} */ ({ 'no-front': 'No front view yet: widths across show only from the front.', 'no-side': 'No side view yet: lengths along the back show only from the side.', 'no-view': 'No reading says from which side it was taken. A side and a front view are both needed.', 'one-view': 'Some parts were measured from one side only; they are marked below.' }),
    measure: (/** @type {string} */ name) => `Measure ${theAnimal(name)}`, count: 'Count with the needle', marks: 'Marks', ruler: 'Ruler',
    pieces: 'Pieces of wool', piece_name: (/** @type {number} */ n) => `Piece ${n}`, piece_facts: (/** @type {number} */ readings, /** @type {number} */ checks) => `${count(readings, 'reading', 'readings')}, ${checks ? count(checks, 'check', 'checks') : 'no check yet'}`, no_pieces: 'Once there is wool to hold against the animal, measure it here.', add_piece: 'New piece',
    parts: 'Parts', part_one: 'part', part_many: 'parts', readings: 'Readings', readings_count: (/** @type {number} */ n, /** @type {number} */ off) => (off ? `${n}, ${count(off, 'disagrees', 'disagree')}` : String(n)), one_view: (/** @type {string} */ view) => `Only from ${sideNames[view] ?? view}`, the_unit: 'the unit', calculator: 'Ratio calculator',
    rename: 'Name and size', export: 'Save to a file', bin: 'Put in the bin', binned: (/** @type {string} */ name) => `${name} is in the bin.`,
  },
  size: { title: 'Name and finished size', name: 'Name', size: 'Finished size', example: '18 cm', part: 'of which part' },
  verdict: {
    title: 'Piece', sub: (/** @type {string} */ piece, /** @type {string} */ name) => `${piece} beside ${theAnimal(name)}`, sub_new: (/** @type {string} */ name) => `to be made like ${theAnimal(name)}`,
    to_change: (/** @type {number} */ n) => (n === 1 ? 'One part to change' : `${numberWords[n] ?? n} parts to change`), to_move: (/** @type {number} */ n) => (n === 1 ? 'One place to move' : `${numberWords[n] ?? n} places to move`), not_compared: 'Not compared yet', all_right: 'In proportion', too_rough_title: (/** @type {number} */ n) => (n === 1 ? 'One part too rough to tell' : `${numberWords[n] ?? n} parts too rough to tell`),
    scale_label: 'What fixes the scale', at_size: (/** @type {string} */ typed) => `At ${typed}`, at_size_none: 'At size', keep_part: 'Keep a part', keep_this: (/** @type {string} */ name) => (name ? `Keep ${name.toLowerCase()}` : 'Keep a part'), least_work: 'Least work', work: (/** @type {string} */ amount) => (/^0\s/.test(amount) ? 'nothing to do' : `${amount} to do`), wants_ruler: 'needs a ruler', wants_size: 'no size set yet', pick: 'Which part are you happy with?',
    scale_notes: { size: 'Against the finished size. Everything is judged as it should end up.', keep: 'Against the part you keep. The rest follows it.', 'least-work': 'At the size that asks for the least felting; taking away counts three times as much as adding.' },
    nominal: 'The millimetres hold if the finished size does: no ruler has been on this piece.',
    across: ', across', yours: 'yours', strip_label: (/** @type {string} */ part, /** @type {string} */ name) => `${part}: ${theAnimal(name)} above, your piece below`,
    add: (/** @type {string} */ amount) => `add ${amount}`, take_in: (/** @type {string} */ amount) => `take in ${amount}`, move: (/** @type {string} */ amount) => `move ${amount}`,
    chips: /** @type {Record<string, string>} */ ({ right: 'right', 'too-rough': 'too rough to tell', unknown: 'not known' }), half_of_that: 'half of that',
    do_add_length: (/** @type {Advice} */ a) => `Needle on ${a.amount} of wool at one end, as thick as that end${a.target ? `, until it is ${a.target} long` : ''}. Straight at the surface.`,
    do_add_width: (/** @type {Advice} */ a) => `Lay on ${a.side} on each side${a.target ? `, to ${a.target} across` : ''}. Thin layers, needled straight at the surface.`,
    do_take_length: (/** @type {Advice} */ a) => `Press in ${a.amount} from the ends${a.target ? `, to ${a.target}` : ''}: angle in from the tip, straight in and straight out.`,
    do_take_width: (/** @type {Advice} */ a) => `Press in ${a.side} on each side, all round${a.target ? `, to ${a.target} across` : ''}. Straight at the surface, straight in and straight out.`,
    do_rough: (/** @type {Advice} */ a) => `The difference at the ${a.name} is smaller than such readings can show. Measure once more before changing the wool.`,
    nailed: 'This part is nailed down: change the others, or another scale.', show_sum: 'Show the sum', hide_sum: 'Hide the sum', repeat: (/** @type {string} */ part, /** @type {boolean} */ piece) => `Count the ${part.toLowerCase()} again, on the ${piece ? 'wool' : 'animal'}`,
    share_of: (/** @type {string} */ share, /** @type {string} */ part) => `${share} of the ${part.toLowerCase()}`,
    do_move: (/** @type {string} */ name, /** @type {string} */ amount, /** @type {string} */ toward, /** @type {string} */ part, /** @type {string} */ from) => `Set the ${name} ${amount} ${toward === 'start' ? 'nearer to' : 'further from'} ${from ? fromThe(from) : `the start of the ${part?.toLowerCase() ?? 'part'}`}.`,
    place_is: (/** @type {string} */ piece, /** @type {string} */ subject, /** @type {string} */ part) => `At ${piece} of the ${part?.toLowerCase() ?? 'part'}; on the animal at ${subject}.`,
    right: 'Right', right_each: 'See each of them', right_kept: 'kept as it is, the rest follows it.', right_by: (/** @type {string} */ piece, /** @type {string} */ target) => `yours ${piece}, to be ${target}: near enough.`, right_share: (/** @type {string} */ share) => `out by ${share}: near enough.`, sum_of: (/** @type {string} */ name) => `of the ${name}`, overview: (/** @type {string} */ name) => `${cap(theAnimal(name))} at this scale`, overview_label: 'Each part of the animal as a bar, to one scale', unknown: (/** @type {number} */ n) => `${count(n, 'part', 'parts')} not compared`,
    whys: /** @type {Record<string, string>} */ ({ 'not-read-on-subject': 'No reading on the animal yet', 'not-read-on-piece': 'No reading on this piece yet', 'not-joined': 'No chain of readings reaches it', 'no-millimetres': 'A ruler reading is needed for this scale' }),
    checks: 'Checks kept', readings: 'Readings of this piece', care: 'Eyes on the needle, straight in and straight out, finger guards on.', care_more: 'Cautions', count: 'Count the wool', count_again: 'Count again', ruler: 'Lay a ruler on it', marks: 'Marks on the glass', keep_check: (/** @type {number} */ n) => `Keep as check ${n}`, check_kept: (/** @type {number} */ n) => `Check ${n} is kept. What you measure from now on replaces it, part by part.`,
    begin: 'Measure the wool', begin_hint: (/** @type {string} */ name) => `Count the same parts on your piece as on ${theAnimal(name)}, or lay a ruler on it. One ruler reading turns every answer into a length.`,
    rename: 'Name of the piece', bin: 'Put in the bin', binned: (/** @type {string} */ name) => `${name} is in the bin, with its readings.`,
  },
  care: {
    title: 'Hold the needle, take care', sub: 'A needle at arm’s length is a ruler without numbers.',
    how: 'How to hold it', hold_label: 'A fist at arm’s length holds a needle upright. The cork on its tip is level with the top of an owl’s head, the thumbnail with its chin.', stance_label: 'Someone sights along a straight arm: one eye, the needle upright, the owl’s head between cork and thumb.',
    steps: [
      'Put a cork or the sheath on the tip and turn it away from every face. Its edge goes to one end of the part.',
      'Slide your thumbnail to the other end. What lies between is your unit.',
      'Keep the thumb where it is and step the needle along the next part. What is left over is the fraction.',
      'Look with one eye, and always the same one.',
      'Stretch the arm fully, every time.',
      'Hold the needle square to your line of sight: upright for what stands, across for what lies.',
    ],
    hand: (/** @type {string} */ hand) => `Drawn for the ${hand} hand.`, other_hand: 'Show the other hand',
    slips: 'Three slips, and what they cost', slips_sub: 'Small ones hardly matter. These are the ones to watch.',
    arm: 'The arm is not quite stretched', arm_says: (/** @type {string} */ off, /** @type {string} */ error) => `${off} short of a full stretch, that reading comes out ${error} off from the others.`, arm_label: (/** @type {string} */ off) => `A needle ${off} nearer to the eye: the part covers less of it.`, arm_choices: 'How much too short',
    tilt: 'The needle leans', tilt_says: (/** @type {string} */ tilt, /** @type {string} */ error) => `Leaning ${tilt} toward the animal or away from it, the needle shows its length ${error} too short.`, tilt_label: (/** @type {string} */ tilt) => `A needle leaning by ${tilt}: seen from the eye it is shorter.`, tilt_choices: 'How far it leans',
    depth: 'One part is nearer than the rest', depth_says: (/** @type {string} */ nearer, /** @type {string} */ distance, /** @type {string} */ error) => `A head ${nearer} nearer than the body counts ${error} too big from ${distance}. Step back: it shrinks.`, depth_label: (/** @type {string} */ distance) => `Seen from ${distance}, a nearer part hides more than its own length of what is behind it.`, depth_choices: 'How far away you stand',
    off: (/** @type {number} */ share) => percent(share < 0 ? -share : share, 1), working: 'Working it out',
    choices: {
      metric: { arm: [[10, '1 cm'], [20, '2 cm'], [50, '5 cm']], nearer: [50, '5 cm'], distance: [[600, '60 cm'], [1000, '1 m'], [2000, '2 m'], [4000, '4 m']] },
      inches: { arm: [[12.7, '½ in'], [25.4, '1 in'], [50.8, '2 in']], nearer: [50.8, '2 in'], distance: [[609.6, '2 ft'], [914.4, '3 ft'], [1828.8, '6 ft'], [3657.6, '12 ft']] },
      tilt: [[0.17453292519943295, '10°'], [0.3490658503988659, '20°'], [0.5235987755982988, '30°']],
    },
    cautions: 'Cautions',
    lists: [
      { title: 'When you sight', points: ['Felting needles are barbed and brittle. Cork or sheath on the tip, the tip away from every face.', 'Among children, use a pencil or a knitting needle. It measures just as well.', 'Stand still while you sight, away from paths and steps.'] },
      { title: 'When you felt', points: ['Eyes on the needle, straight in and straight out, over a thick pad. Finger guards help.', 'Count needles out and in at a class. If a tip breaks, find it before going on.', 'Fold wire ends back and cover them with wool.'] },
      { title: 'What you make', points: ['With wool eyes, beads, wire or loose wool it is a decoration, not a toy for small children.', 'Whoever sells it as a toy meets the local rules for toys.'] },
      { title: 'Whom you measure', points: ['Ask before you photograph people or measure someone’s animal.', 'Keep away from wild animals. A picture of one is as good.'] },
    ],
    first: 'Local rules and trained people come first.',
    understood: 'I will take care', back: 'Go on', settings: 'Settings',
  },
  settings: {
    title: 'Settings', sub: 'They stay on this phone and are not part of any file.',
    lengths: 'Lengths', unit: 'Show lengths in', units: { mm: 'mm', cm: 'cm', in: 'inch' }, inch: 'Inches down to', inches: { 16: '1/16', 32: '1/32' },
    counting: 'Counting', denominator: 'Smallest step of a count', denominators: { 3: 'thirds', 4: 'quarters', 8: 'eighths', 0: 'free slide' }, denominator_hint: 'Quarters are as fine as most eyes can tell at arm’s length.',
    arm: 'From your eye to the needle, arm stretched', arms: [[450, '45 cm, 18 in'], [500, '50 cm, 20 in'], [550, '55 cm, 22 in'], [600, '60 cm, 24 in'], [650, '65 cm, 26 in'], [700, '70 cm, 28 in'], [750, '75 cm, 30 in']],
    tolerance: 'A part counts as right within', tolerances: [0.02, 0.03, 0.04, 0.05, 0.08, 0.1], tolerance_hint: `Animals of one kind differ by ${percent(0.01)} to ${percent(0.08)} among themselves, so ${percent(0.04)} is a fair start.`,
    hand: 'Hand that holds the phone', hands: { left: 'left', right: 'right' },
    signs: 'Signs while counting', sound: 'A short sound for each tap', vibration: 'A tick to feel for each tap', no_vibration: 'This browser cannot make the phone tick. The sound does the same.', speech: 'Say the count aloud',
    theme: 'Light or dark', themes: { system: 'as the phone', light: 'light', dark: 'dark' },
    install: 'On your phone', install_now: 'Put it on this phone', installed: 'It is installed, and opens with no network.', install_done: 'Installed. Its icon is among your apps.',
    install_hint: 'Installed, it opens full screen, from its own icon, with no network, and the phone is less likely to clear away what you entered.',
    install_how: 'How to put it on a phone',
    install_steps: [
      'The page has to come over https, or from localhost on the same machine: only then may a browser keep it for use with no network.',
      'On Android, in the browser’s menu: Add to home screen, or Install app.',
      'On an iPhone or iPad, in Safari: Share, then Add to Home Screen. Its store is apart from Safari’s, so begin your animals in the installed one.',
      'Open it once from its icon while you are still at home.',
    ],
    install_later: 'Until this device is paired with a home computer, save its animals to a file now and then.',
    more: 'More', care: 'How to hold the needle, cautions', files: 'Files: save and take in', bin: 'Bin', loose: 'Measured without an animal', notices: 'Notices of the libraries inside', ruler: 'Ruler', version: 'Version', no_version: 'not known',
  },
  bin: {
    title: 'Bin', sub: 'What you put away stays here for 30 days. Put back what you still want. After that it is shown no longer: what was entered is still in every file you save, its pictures are not.',
    empty: 'The bin is empty', empty_hint: 'Animals, parts, places, pieces and pictures that you put away are kept here for 30 days, with all their readings.',
    kinds: { project: 'animal', part: 'part', place: 'place', piece: 'piece', picture: 'picture' },
    of: (/** @type {string} */ kind, /** @type {string} */ animal) => (animal ? `${kind} of ${animal}` : `${kind}, without an animal`), binned: (/** @type {string} */ iso) => (iso ? `since ${day(iso)}` : ''),
    put_back: (/** @type {string} */ name) => `Put back: ${name}`, back: (/** @type {string} */ name) => `${name} is back.`,
  },
  notices: {
    title: 'Notices', sub: 'This app stands on the work of others. These are their terms.',
    own: 'The app itself', own_text: 'needlesight, under the MIT licence. Its drawings and icons are its own.',
    libraries: 'Libraries inside', by: (/** @type {string} */ version, /** @type {string} */ licence) => [version, licence].filter(Boolean).join(' · '),
    none: 'The list was not made when the app was built here. The libraries are lit-html (BSD-3-Clause), idb (ISC), fflate (MIT) and Go (BSD-3-Clause).',
  },
  entry: {
    parts: 'Parts', name: 'What it is called', name_it: 'Name it', name_use: 'Use this name', to_loose: 'Measured',
    points: (/** @type {string} */ n) => `${n} points`, kept: (/** @type {string} */ part, /** @type {string} */ text) => `${part} kept: ${text}`,
    not_yet: 'not measured yet', times: (/** @type {number} */ n) => (n === 1 ? 'measured once' : n === 2 ? 'measured twice' : `measured ${n} times`), on_wool: (/** @type {string} */ piece) => `on the wool, ${thePiece(piece)}`,
    how: { sight: 'at arm’s length, one eye shut', marks: 'at arm’s length, one eye shut', ruler: 'with the ruler' }, from_where: 'Which side do you look at?', seen_from: { side: 'seen from the side', front: 'seen from the front', top: 'seen from above', other: 'seen from elsewhere' }, best_seen: { side: 'shows best from the side', front: 'shows best from the front', top: 'shows best from above' },
    hold_over: 'That hold is over: what you measure now is a new one.',
    again: { sight: 'New hold', marks: 'New hold', ruler: 'Once more' }, over: 'All measured', over_none: 'No part was kept.', nothing: 'Nothing to measure yet',
    over_hint: { sight: 'A second count of the same parts makes the figures surer, by about a third. Let the arm rest, stretch it again and mark the unit afresh.', marks: 'A second hold of the same parts makes it surer. Let the arm rest, then stretch it again.', ruler: 'Measuring once more, with the ruler laid on afresh, shows how much the readings wander.' },
  },
  marks: {
    title: 'Marks on the glass', points: 'points apart', doubt: (/** @type {string} */ u) => `± ${u}`,
    help: 'How to hold the phone', help_picture: 'A hand at arm’s length holds a phone upright beside an owl. The upper mark on the phone’s edge is level with the top of the head, the lower mark with the chin. The thumb lies below both.', numbers: ['1', '2', '3', '4'],
    steps: ['Stretch the arm fully, shut one eye. Hold the phone upright, low in the hand.', 'Move the hand until the upper mark is at one end of the part.', 'Slide the thumb until the lower mark is at the other end, then keep.', 'Same spot, same stretch for every part. A step nearer or further begins a new hold.'],
    care: 'Stand still while you look. Ask before measuring people or someone’s animal; keep away from wild ones.', care_more: 'What slips cost, and all cautions.', understood: 'Understood',
    in_units: (/** @type {string} */ ratio, /** @type {string} */ u, /** @type {string} */ unit) => `${ratio} ± ${u} ${plural(unit)}`,
    names: { upper: 'Upper mark', lower: 'Lower mark' }, upper: 'Slide here, or move the hand', lower: 'Slide here until the marks span the part',
    upper_first: 'Stretch the arm. Bring this mark to one end of the part by moving the hand.', lower_first: 'Slide the thumb here until this mark reaches the other end. The same stretch for every part.',
    apart: (/** @type {string} */ gap) => `${gap} points apart`,
    nudge_up: { upper: 'Upper mark one point up', lower: 'Lower mark one point up' }, nudge_down: { upper: 'Upper mark one point down', lower: 'Lower mark one point down' },
  },
  keypad: {
    out_of_range: 'That is too small or too big. Type a length of more than 0.',
    label: 'Number keys', back: 'Rub out the last one', clear: 'Clear', and: 'and a fraction', decimal: 'Decimal sign', over_label: 'Fractions',
    over: (/** @type {number} */ of) => /** @type {Record<number, string>} */ ({ 2: 'halves', 3: 'thirds', 4: 'quarters', 8: 'eighths', 16: 'sixteenths', 32: 'thirty-seconds' })[of] ?? `over ${of}`,
  },
  ruler: {
    title: 'Ruler', units: { mm: 'mm', cm: 'cm', in: 'in' }, unit_label: 'Unit of the ruler', help_label: 'Cautions',
    hint: 'Type what the ruler says.', go_on: 'Now the fraction: 3, then /16', same_as: (/** @type {string} */ text) => `= ${text}`,
    nothing_yet: 'Nothing is typed yet. Type what the ruler says, or skip this part.', unfinished: 'The fraction is not finished. Type its upper number, then a key such as /16.',
    rule_empty: 'A ruler, with nothing marked yet', rule_label: (/** @type {string} */ text) => `A ruler, marked at ${text}`,
  },
  files: {
    title: 'Files', sub: 'To put away, or to hand on. Until this device is paired with a home, a file is the only rescue for a lost phone.',
    here: 'On this phone', kept: 'Everything you entered is kept in this browser’s store, and works with no network.',
    used: (/** @type {number} */ bytes) => `${room(bytes)} used`, used_of: (/** @type {number} */ bytes, /** @type {number} */ quota) => `${room(bytes)} used of ${room(quota)}`, used_label: 'Room', promised: 'The browser has promised not to clear it away.', not_promised: 'The browser has not promised to keep it. If the phone runs out of room it may be cleared away.',
    promise_label: 'Promise', promise_yes: 'given', promise_no: 'not given', unknown: 'this browser does not say',
    ask: 'Ask the browser to keep it', asked_yes: 'The browser has promised to keep it.', asked_no: 'The browser does not promise it yet. It often does once the app is installed, or used for a while.',
    out: 'Save to a file', out_hint: 'The file is made here and now. Then send it to yourself, or keep it with your other files.', what: 'What goes into the file', all: 'Everything on this phone',
    making: 'Making the file', ready: (/** @type {string} */ name, /** @type {number} */ bytes) => `${name}, ${room(bytes)}`, share: 'Send or save', download: 'Save the file', shared: 'Handed on. Make sure it has arrived.', not_shared: 'It was not handed on. The file is still here.',
    nothing: 'There is nothing to save yet. Start an animal, or count something.',
    in: 'Take in a file', in_hint: 'A file saved from this app, on this phone or another. You see what is in it before anything is changed, and nothing here is written over.', choose: 'Choose a file', reading: (/** @type {string} */ name, /** @type {number} */ bytes) => `Reading ${name}, ${room(bytes)}`,
    preview: (/** @type {string} */ name, /** @type {number} */ bytes) => `${name}, ${room(bytes)}`, preview_made: (/** @type {string} */ iso) => `Saved on ${day(iso)}.`,
    loose_name: 'Measured without an animal', demo: 'demo',
    status: {
      new: (/** @type {number} */ parts, /** @type {number} */ readings) => `New here: ${count(parts, 'part', 'parts')}, ${count(readings, 'reading', 'readings')}.`,
      same: () => 'All of it is here already.',
      'newer-here': () => 'Nothing new. What you have here is newer, and stays.',
      'newer-in-file': (/** @type {number} */ fresh) => `${count(fresh, 'new entry', 'new entries')} will be added to what you have.`,
      apart: (/** @type {number} */ fresh, /** @type {number} */ answers) => `${count(fresh, 'new entry', 'new entries')} will be added. ${answers === 1 ? 'One thing was' : `${num(answers, 0)} things were`} set differently here and there: both answers are kept, and you will be asked which holds.`,
    },
    apply: 'Take it in', applying: 'Taking it in', not_now: 'Leave it', applied: (/** @type {number} */ n) => (n ? `Taken in: ${count(n, 'new entry', 'new entries')}.` : 'Nothing new was in it.'), nothing_new: 'Nothing would change: all of it is here already.',
    cannot_share: 'This browser does not send such a file on. Save it instead.', make: 'Make the file',
    with_pictures: (/** @type {number} */ n) => `With ${count(n, 'picture', 'pictures')}.`, missing: (/** @type {number} */ n) => `${count(n, 'picture is', 'pictures are')} not on this phone, and so not in the file.`,
    stop: 'Stop', stopped: 'Stopped. Nothing of the file was taken in.', done: (/** @type {number} */ share) => `${percent(share)} done`, new_pictures: (/** @type {number} */ n) => `${count(n, 'new picture', 'new pictures')}.`,
  },
  fresh: {
    title: 'New animal', kind: 'What kind of animal', kinds: /** @type {Record<string, string>} */ ({ other: 'another' }),
    name: 'Its name', example: (/** @type {string} */ kind) => (kind === 'other' ? 'Animal' : cap(kind)),
    parts: 'Parts to measure', parts_hint: 'These show most of its shape. Tap off what you do not need; more can be added later.', views: { side: 'Seen from the side', front: 'Seen from the front', top: 'Seen from above' }, chosen: (/** @type {number} */ n) => `${count(n, 'part', 'parts')} chosen`,
    size: 'Finished size', size_hint: 'How big the wool animal is to be. You can set it later.', size_example: { mm: '180 mm', cm: '18 cm', in: '7 in' }, size_part: 'measured along which part',
    make: 'Start', making: 'Starting', no_parts: 'Choose one part at least: something has to be measured.',
  },
  parts: {
    title: 'Parts', sub: (/** @type {string} */ animal) => `What is measured on ${theAnimal(animal)}, in this order.`,
    axes: { length: 'length', width: 'width' }, about: (/** @type {string} */ axis, /** @type {number} */ n, /** @type {string[]} */ views, /** @type {boolean} */ unit) => [axis, n ? count(n, 'reading', 'readings') : unit ? 'the others are counted in it' : 'not measured yet', views.length === 1 ? `only from ${sideNames[views[0]] ?? views[0]}` : ''].filter(Boolean).join(' · '),
    unit: 'unit', nailed: 'nailed down', name: 'Name', axis: 'Along or across', axis_names: { length: 'length, along', width: 'width, across' },
    nail: 'Nailed down: this part stays as it is, the others follow', up_label: (/** @type {string} */ name) => `Up: ${name}`, down_label: (/** @type {string} */ name) => `Down: ${name}`, moved: (/** @type {string} */ name, /** @type {number} */ at) => `${name} is now number ${at}.`,
    bin: 'Put in the bin', binned: (/** @type {string} */ name) => `${name} is in the bin, with its readings.`,
    places: 'Places along it', places_hint: 'Where something sits: the eye on the head, the fin on the back. It is counted from the start of the part.', place: 'Place', place_example: 'eye', from: 'Counted from', from_example: 'tip of the nose', add_place: 'Add the place', place_from: (/** @type {string} */ from) => (from ? `from ${fromThe(from)}` : ''), bin_place: (/** @type {string} */ name) => `Put ${name} in the bin`,
    add: 'Add parts', suggested: 'Often measured on such an animal', none_left: 'All suggested parts are here.', own: 'A part of your own', own_example: 'whiskers', add_own: 'Add it', added: (/** @type {string} */ name) => `${name} is added.`, add_label: (/** @type {string} */ name) => `Add ${name}`,
    empty: 'No parts yet', empty_hint: 'A part is a length you can count: the head from nose to nape, the body across. Take some from below.',
  },
  readings: {
    title: 'Readings', whose: 'Readings of', animal: 'the animal',
    sub: 'A reading is a fact. It can be struck out and put back, but never changed.',
    methods: /** @type {Record<string, string>} */ ({ sight: 'Counted with the needle', marks: 'Marks on the glass', ruler: 'With the ruler' }),
    about: (/** @type {string} */ unit, /** @type {string | null} */ view, /** @type {string} */ made) => [unit ? `in ${plural(unit)}` : '', view ? `from ${sideNames[view] ?? view}` : '', made].filter(Boolean).join(' · '),
    unit: 'the unit', on_glass: (/** @type {string} */ text) => `${text} on the glass`, mm: (/** @type {string} */ text) => `${text} mm`,
    place: (/** @type {string} */ place, /** @type {string} */ part) => `${place}, along the ${part.toLowerCase()}`,
    disagrees: (/** @type {number} */ times) => `Disagrees with the rest: ${num(times, 1)} times as far off as it may be. Measure it again, then strike out the wrong one.`,
    replaced: 'Replaced by a later reading', struck: 'Struck out', covered: 'A kept check rests on these.',
    strike: 'Strike out', strike_label: (/** @type {string} */ name, /** @type {string} */ text) => `Strike out: ${name} ${text}`, back_label: (/** @type {string} */ name, /** @type {string} */ text) => `Put back: ${name} ${text}`,
    strike_all: 'Strike out this sitting', back_all: 'Put back this sitting', struck_all: 'This sitting is struck out. None of it counts.', done: (/** @type {string} */ name) => `${name} is struck out.`, back: (/** @type {string} */ name) => `${name} counts again.`,
    off: (/** @type {number} */ n) => `${count(n, 'reading disagrees', 'readings disagree')} with the rest. ${n === 1 ? 'It is' : 'They are'} marked below.`, quiet: 'Which readings disagree could not be worked out just now. The readings themselves are all here.',
    empty: 'Nothing measured yet', empty_hint: 'Hold up the needle, mark one part with your thumb, and count the others in it.', empty_piece_hint: 'Count the same parts on the wool, or lay a ruler on it.', count: 'Count now',
  },
  checks: {
    title: 'Checks', sub: (/** @type {string} */ piece, /** @type {string} */ animal) => `${piece} closing in on ${theAnimal(animal)}`,
    empty: 'No check kept yet', empty_hint: 'When you have measured the piece, keep the verdict as a check. The next ones show how it comes nearer.', to_verdict: 'To the verdict',
    chart: 'Closing in', chart_hint: 'Each row is a check, the newest lowest. The line in the middle is the target, the band what counts as right.', small: 'too small', big: 'too big', target: 'right',
    scale_note: (/** @type {number} */ share) => `Drawn to scale: the edge is ${percent(share)} off.`, picture: (/** @type {string} */ part, /** @type {string} */ points) => `${part}, check by check: ${points}.`, point: (/** @type {number} */ n, /** @type {number} */ off) => `check ${n} ${off === 0 ? 'on the target' : `${percent(off < 0 ? -off : off, 0)} ${off < 0 ? 'too small' : 'too big'}`}`,
    always_right: 'Right in every check', off_now: (/** @type {number} */ off) => (off < 0 ? `${percent(-off, 0)} too small` : `${percent(off, 0)} too big`), verdicts: /** @type {Record<string, string>} */ ({ right: 'right', 'too-rough': 'too rough to tell', unknown: 'not known' }),
    list: 'All checks', number: (/** @type {number} */ n) => `Check ${n}`, struck: 'Struck out', result: (/** @type {number} */ out, /** @type {number} */ right, /** @type {number} */ rough) => [out ? `${num(out, 0)} to change` : '', right ? `${num(right, 0)} right` : '', rough ? `${num(rough, 0)} too rough to tell` : ''].filter(Boolean).join(', ') || 'nothing could be compared',
    scales: /** @type {Record<string, string>} */ ({ size: 'at the finished size', keep: 'keeping a part', 'least-work': 'at the least work' }), keeping: (/** @type {string} */ part) => `keeping the ${part.toLowerCase()}`, within: (/** @type {number} */ share) => `within ${percent(share)}`,
    strike: 'Strike out', strike_label: (/** @type {number} */ n) => `Strike out: check ${n}`, back_label: 'Put back: the check', done: 'The check is struck out. Older readings count again.', trouble: 'It could not be worked out again just now.',
  },
  ratio: {
    title: 'Ratio', clear: 'Clear all', keep_short: 'Keep', sides: { subject: 'Animal', piece: 'Wool' }, side_in: (/** @type {string} */ side, /** @type {string} */ unit) => `${side}, ${unit}`, rows: { a: 'Length 1', b: 'Length 2' }, which: { a: 'What is the first length?', b: 'What is the second length?' },
    on_side: (/** @type {string} */ row, /** @type {'subject' | 'piece'} */ side) => (side === 'subject' ? `${row} of the animal` : `${row} of the wool`),
    units: { count: 'count', mm: 'mm', cm: 'cm', in: 'in' }, unit_label: (/** @type {'subject' | 'piece'} */ side) => (side === 'subject' ? 'Unit on the animal' : 'Unit on the wool'),
    rename: ': choose what it is', cell: (/** @type {string} */ what, /** @type {boolean} */ full) => (full ? `${what}: ` : `${what}, empty `), worked_out: ', worked out',
    next: 'Next', from_short: 'Readings', answer_label: 'The answer', picture_empty: 'Two pairs of lengths, still to be filled',
    hints: /** @type {Record<number, string>} */ ({ 0: 'Two lengths of the animal, the same two of the wool. Fill any three; the fourth is worked out.', 1: 'Two more, and the last is worked out.', 2: 'One more, and the last is worked out.', 3: 'Working it out', 4: 'Working it out' }),
    found: (/** @type {string} */ what, /** @type {string} */ text) => `${what}: ${text}`, equal: (/** @type {string} */ a, /** @type {string} */ b) => `${a} and ${b.toLowerCase()} stand in the same proportion on both.`,
    bigger: (/** @type {string} */ a, /** @type {string} */ b, /** @type {'subject' | 'piece'} */ side, /** @type {string} */ by) => `Against ${b.toLowerCase()}, ${a.toLowerCase()} is ${by} bigger on the ${side === 'subject' ? 'animal' : 'wool'}.`,
    become: 'One of these would mend it',
    readings: { subject: 'Readings of the animal', piece: 'Readings of the wool' }, same_sitting: 'Take both lengths from one sitting: they share a scale.', no_readings: 'There are no readings yet.', choose_animal: 'Of which animal?', no_animals: 'There is no animal yet. Type the lengths instead.',
    sitting: (/** @type {string} */ method, /** @type {string} */ unit, /** @type {string} */ made) => `${/** @type {Record<string, string>} */ ({ sight: unit ? `counted in ${plural(unit)}` : 'counted', marks: 'marks on the glass', ruler: 'ruler' })[method]}, ${made}`,
    which_piece: 'Which piece of wool', new_piece: 'A new piece', keep: 'Keep as readings', keep_in: (/** @type {string} */ name) => `What you filled in is kept with ${theAnimal(name)}, as one sitting for each side.`, keep_loose: 'What you filled in is kept as one sitting for each side. Give it to an animal later.',
    new_parts: 'A length without the name of a part becomes a new part. Tap its name in the calculator to choose one.', keep_now: 'Keep them', is_kept: 'Kept', kept_told: 'Kept as readings.', cleared: 'Cleared.', loose_name: (/** @type {string} */ name) => `${name} of the wool`,
  },
  loose: {
    title: 'Measured, not sorted yet', sub: 'Give each sitting to the animal it belongs to.', empty: 'Nothing is waiting here', empty_hint: 'What you count or measure with no animal open is kept here until you give it to one.',
    how: (/** @type {string} */ method, /** @type {string} */ unit) => /** @type {Record<string, string>} */ ({ sight: unit ? `Counted in ${plural(unit)}` : 'Counted', marks: 'Marks on the glass', ruler: 'Ruler' })[method] ?? 'Measured',
    strips_label: 'The lengths of this sitting as bars, to one scale', none_left: 'Every reading is struck out.', edit: 'Names and single readings', rename: (/** @type {string} */ name) => `${name}: another name`, restore_label: (/** @type {string} */ name) => `Put ${name} back`,
    reading: 'The reading', struck: 'The sitting is struck out.', strike_all: 'Strike out the whole sitting', give: 'Give to an animal', give_title: 'Give to an animal', search_more: 'There are more. Type a part of the name.',
    or_new: 'Or a new animal, called', new_animal: 'A new animal, called', start: 'Start it with these', measured_on: 'This was measured on', animal_itself: 'the animal itself', the_wool: (/** @type {string} */ piece) => `the wool, ${thePiece(piece)}`,
    is_part: (/** @type {string} */ name) => `${name} is`, new_part: 'a new part', together: (/** @type {number} */ n) => `${count(n, 'other sitting', 'other sittings')} of the same lengths ${n === 1 ? 'goes' : 'go'} along.`,
    give_to: (/** @type {string} */ name) => `Give to ${name}`, given: (/** @type {string} */ name) => `Given to ${name}.`,
    is_wool: (/** @type {string} */ name) => / of the wool$/i.test(name), bare: (/** @type {string} */ name) => name.replace(/ of the wool$/i, '').trim().toLowerCase(),
  },
  way: {
    title: 'Bring it home', sub_none: 'What is on this phone is on this phone alone.', sub: (/** @type {string} */ name) => `This device and the home “${name}”`,
    short: { home: 'all home', waiting: (/** @type {number} */ changes, /** @type {number} */ pictures) => `${num(changes + pictures, 0)} to bring home`, away: 'home not found', bringing: (/** @type {number | null} */ share) => (share === null ? 'bringing home' : `bringing home ${percent(share)}`), fetching: (/** @type {number | null} */ share) => (share === null ? 'fetching' : `fetching ${percent(share)}`), stopped: 'home: look here', none: 'not brought home' },
    kept: 'kept', kept_pending: 'keeping', kept_trouble: 'not kept',
    spoken: (/** @type {string} */ text) => `Home: ${text}. Opens the page about it.`,
    states: {
      none: 'Not paired with a home', home: 'All home', waiting: 'Waiting for home', away: 'Home is not found', bringing: 'Bringing home', fetching: 'Fetching from home', stopped: 'It needs a hand',
    },
    explains: {
      home: 'Everything on this device is on the home computer too.', away: 'Nothing waits here. What others change comes as soon as home is found.',
      waiting: 'It goes home by itself as soon as home is found. Until then it is safe here.', bringing: 'You can go on meanwhile.', fetching: 'You can go on meanwhile.',
    },
    waits: (/** @type {number} */ changes, /** @type {number} */ pictures) => listed([changes ? count(changes, 'change', 'changes') : '', pictures ? count(pictures, 'picture', 'pictures') : ''].filter(Boolean)), to_bring: 'To bring home', nothing: 'nothing', to_fetch: 'Still to come', heard: 'Home last heard', never: 'not yet', next_try: 'Tries again', in_s: (/** @type {number} */ s) => (s < 60 ? `in ${count(s, 'second', 'seconds')}` : `in ${count(Math.round(s / 60), 'minute', 'minutes')}`),
    why: /** @type {Record<string, string>} */ ({
      offline: 'This device has no network at all just now.', 'not-found': 'Home does not answer here.',
      'wire-struck': 'This device was struck off at home. Everything on it stays here. To bring things home again, pair it anew.', 'not-paired': 'Home does not know this device any more. Everything on it stays here. Pair it anew.',
      'wire-full': 'The disk of the home computer is full. Make room there; then it goes on by itself.', 'wire-too-old': 'This app is older than home. Open it once where home is found, and use the new version.', 'wire-too-new': 'Home is older than this app. Start the newer program on the home computer.',
      'wire-busy': 'Home has more devices at once than it takes. It goes on by itself.', 'wire-stopping': 'The program at home was stopped, or is just starting again.', 'store-full': 'This phone has no room left for what comes from home. Make room, then try again.',
    }),
    try_now: 'Try now', trying: 'Trying', help: 'What to do when home is not found',
    help_steps: ['Is the home computer on, and needlesight running there?', 'Is this device in the same network? A guest network keeps devices apart.', 'Open the address of this app in the browser. If it warns, this device does not trust home any more: open the welcome page that the computer shows, and go through it again.', 'Nothing is lost meanwhile: all of it is kept here.'],
    restored: 'Home was put back to an older state. This device brings everything again, so that nothing is missing there.', restored_note: 'Home was put back to an older state. Everything is being brought again.', struck_note: 'This device was struck off at home. Everything on it stays.',
    refused: (/** @type {number} */ n) => `${count(n, 'change was', 'changes were')} not taken at home`, refused_hint: 'They stay on this device. Their values can be seen in the history.', history: 'See its history',
    room: 'Pictures here', room_facts: (/** @type {number} */ thumbs, /** @type {number} */ full) => (thumbs + full ? `${room(thumbs)} small, ${room(full)} whole` : 'none'),
    devices: 'Devices of this home', another: 'Let another device in', forget: 'Forget home on this device', forget_title: 'Forget home?', forget_text: 'Everything on this device stays here. It brings nothing home any more and gets nothing from there, until it is paired again.', forget_yes: 'Forget home', forgotten: 'Home is forgotten. Everything is still here.',
    gives: 'What a home gives', gives_list: ['A lost phone loses nothing: the animals are on the computer too.', 'Phone, tablet and computer show the same, pictures too.', 'It needs no account and no internet. Nothing leaves the house.'],
    begin: 'How to begin', begin_steps: ['Start needlesight on the home computer.', 'Point this phone’s camera at the square code it shows, and follow the page.', 'Or, if this is the app from there already: type the code of nine digits.'], pair: 'Type the code', files: 'Or save a file for now',
    drawing: (/** @type {string} */ text) => `This device, the way, and home. ${text}`,
    suggest: 'Only on this phone so far', suggest_hint: 'Bring it home to your computer, and a lost phone loses nothing.', suggest_go: 'How', suggest_no: 'Not now',
    since: (/** @type {string} */ iso) => ago(iso),
  },
  pairing: {
    title: 'Pair with home', sub: 'The home computer then lets this device bring things, and fetch them.', code: 'The code of nine digits', code_hint: 'The home computer shows it; so does a device that is paired already.', name: 'What this device is called', go: 'Pair', going: 'Pairing', short: 'The code has nine digits.',
    installed_hint: 'On an iPhone or iPad, add this page to the home screen first, open it from there, and pair in it: what is installed has a store of its own.', already: (/** @type {string} */ name) => `This device is paired with the home “${name}” already.`, already_hint: 'A new code pairs it anew; nothing is lost.', to_home: 'How things stand', anew: 'Pair it anew',
    done: (/** @type {string} */ name) => `Paired with “${name}”`, done_text: 'What is here is on its way home now, and what is there comes here. From now on it goes by itself, whenever home is found.', done_go: 'To the animals',
    names: { iphone: 'iPhone', ipad: 'iPad', android: 'Android phone', tablet: 'Tablet', mac: 'Mac', windows: 'Windows computer', computer: 'Computer' },
  },
  devices: {
    title: 'Devices', sub: (/** @type {string} */ name) => `They bring things home to “${name}”.`, you: 'this one', here: 'connected now', seen: (/** @type {string} */ iso) => `last here ${ago(iso)}`, struck: 'struck off', struck_title: 'Struck off', struck_hint: 'They keep what they have, and are let in no more.',
    rename: 'Rename', rename_label: (/** @type {string} */ name) => `Rename ${name}`, new_name: 'New name', strike: 'Strike off', strike_label: (/** @type {string} */ name) => `Strike off ${name}`, strike_title: (/** @type {string} */ name) => `Strike off ${name}?`, strike_text: 'It keeps what it has, is told, and is let in no more. This cannot be taken back; it can be paired anew. Do it at once when a device is lost.', struck_told: (/** @type {string} */ name) => `${name} is struck off.`,
    another: 'Let another device in', another_hint: 'Shows a code that lets one device in, for five minutes.', show: 'Show a code', code: 'Code', left: (/** @type {number} */ s) => (s > 60 ? `for ${count(Math.ceil(s / 60), 'more minute', 'more minutes')}` : `for ${count(s, 'more second', 'more seconds')}`), over: 'This code is over.', again: 'A new code', scan: 'On a device that trusts this home: point its camera here', welcome: 'On one that does not yet: first this, then the code', qr_label: (/** @type {string} */ address) => `Square code of ${address}`,
    not_now: 'Home is not found now. Its devices can be seen only when it is.',
  },
  history: {
    title: 'History', sub: 'Everything that was ever set, the newest first. Nothing is thrown away.', by: (/** @type {string | null} */ who) => (who ? `by ${who}` : 'by a device that is not known here'), this_device: 'this device', now: 'holds now', apart: 'the other answer', refused: 'not taken at home', empty: 'Nothing was ever set here.', open: 'History', cleared: 'nothing',
    facts: /** @type {Record<string, string>} */ ({ of: 'of the', method: 'by', view: 'from', denominator: 'in steps of 1/', made: 'on', arm_mm: 'arm, mm:', value: 'reading', width: 'width', height: 'height', bytes: 'bytes', type: 'a', tolerance: 'tolerance' }),
  },
  pictures: {
    title: 'Pictures', sub: (/** @type {string} */ animal) => `of ${theAnimal(animal)}`, card: 'Pictures', card_none: 'A side and a front picture, to look at while you felt.', open: 'All pictures', add: 'Add a picture', adding: 'Adding the picture', views: { side: 'Side', front: 'Front', top: 'Top', other: 'Other' }, view_label: 'Seen from', unnamed: (/** @type {string | null} */ view) => (view ? `From ${sideNames[view]}` : 'Picture'),
    care: 'Ask before you photograph people or someone’s animal, and keep away from wild ones. Where a picture was taken is not kept.', empty: 'No picture yet', empty_hint: 'Take one from the side and one from the front, the whole animal, from as far as the room allows.',
    elsewhere: 'The whole picture is at home; it comes when home is found.', fetching: 'Fetching the picture', not_here: 'Only the small one is here.', name: 'Name', save: 'Keep', bin: 'Put in the bin', binned: 'The picture is in the bin.', close: 'Close', size: (/** @type {number} */ w, /** @type {number} */ h, /** @type {number} */ bytes) => `${num(w, 0)} × ${num(h, 0)} points, ${room(bytes)}`, not_home: 'not home yet', home: 'at home too',
    along: 'Take along', along_hint: (/** @type {number} */ bytes) => `Keep the whole pictures of this animal on this device: ${room(bytes)}.`, added: 'The picture is kept.', label: (/** @type {string} */ name) => `Open the picture: ${name}`,
  },
  failed: { title: 'This page would not open', again: 'Open it again' },
};

/** What a person is told for each error code: what is wrong, where, and what helps. The engine's own sentence (with its place) is shown when it says more. */
export const sentences = /** @type {Record<string, string>} */ ({
  // the engine
  'unknown-method': 'The app asked for a sum that the engine does not know. Reload the page, so that both are of one version.',
  'request-too-big': 'That is more than can be worked out at once. Strike out readings that are no longer needed.',
  'not-json': 'The app and its engine did not understand each other. Reload the page. What you entered is kept.',
  'trailing-data': 'The app asked for more than one thing at once. Reload the page. What you entered is kept.',
  'unknown-field': 'The app said something the engine does not know. Reload the page, so that both are of one version. {text}',
  'repeated-field': 'Something was given twice. {text}',
  'wrong-type': 'Something is not of the kind it should be. {text}',
  'missing-field': 'Something is still missing. {text}',
  'conflicting-fields': 'Two things that exclude each other were given. {text}',
  'out-of-range': 'A number is too small or too big. {text}',
  'too-few': 'More is needed: leave only one of the four empty. {text}',
  'too-many': 'That is too many at once. {text}',
  'bad-name': 'A name is needed, not longer than 200 characters, of characters that can be shown. {text}',
  'not-one-of': 'That is not one of the choices. {text}',
  'empty-text': 'Nothing is typed yet. Type a length like 35 mm, 3.5 cm or 1 3/8 in.',
  'not-a-length': 'That is not a length or a count. {text}',
  'unknown-unit': 'Lengths are in mm, cm or in. {text}',
  'duplicate-id': 'Two readings or two sittings go by one name inside the app. {text}',
  'unknown-sitting': 'A reading belongs to a sitting that is not here. {text}',
  'part-not-read': 'That part has no reading there yet. Measure it, or choose another. {text}',
  'engine-crashed': 'The sum came to grief in the engine. It has been started again and what you entered is kept; please try once more.',
  // the store on this phone
  'store-none': 'This browser keeps nothing: storage is switched off, or this is a private window. Open the app in an ordinary window.',
  'store-blocked': 'Another tab with an older version of the app holds the store open. Close it, then try again.',
  'store-newer': 'What is kept here was made by a newer version of the app. Reload the page to get it.',
  'store-full': 'The phone has no room left, so this was not kept. Make room, then keep it again; nothing kept before is lost.',
  'store-gone': 'The store stopped and would not open again. Reload the page; what was kept is still on the disk.',
  'bench-died': 'The app was interrupted in the middle of this. Look whether it is there before you enter it again.',
  'engine-missing': 'The sums are not at hand: the engine would not load. Counting and keeping go on without it. Reload the page when there is a network.',
  'engine-stopped': 'The sum took too long or came to grief, twice. What you entered is kept. Reload the page and try once more.',
  'unexpected': 'Something went wrong that the app did not expect. What you entered is kept; please try again.',
  'no-such-method': 'The page and its store are of different versions. Reload the page.',
  'no-such-record': 'That is no longer there. It may have been put in the bin in another tab.',
  'no-such-field': 'That cannot be set here. Reload the page, so that all of it is of one version.',
  'name-empty': 'A name is needed.',
  'name-too-long': 'That is too long: 200 characters at the most, fewer with accents.',
  'name-control': 'That holds characters that cannot be shown. Type it afresh.',
  'value-not-number': 'A number is needed there.',
  'value-zero': 'A count or a length of nothing measures nothing. Count at least one step, or skip this part.',
  'value-negative': 'A count or a length cannot be less than nothing.',
  'value-too-big': 'That is more than ten million. Look at the digits again.',
  'value-not-allowed': 'That is not one of the choices here.',
  'tolerance-range': 'A tolerance is more than nothing and less than 100 %.',
  'part-of-itself': 'A part cannot stand for itself.',
  'part-elsewhere': 'That part belongs to another animal.',
  'nothing-apart': 'There are no longer two answers to choose from.',
  'counter-spent': 'This phone has counted as far as it can. Save everything to a file and start afresh from it.',
  'picture-damaged': 'The picture did not come as it was made, so it was not kept. Try it again.',
  'draft-too-big': 'What is being entered is too long to hold on to. Keep it, then go on.',
  // files
  'file-too-big': 'That file is larger than this app reads. Nothing was taken in.',
  'file-unpacks-too-big': 'What is packed in that file is larger than this app reads. Nothing was taken in.',
  'file-empty': 'That file is empty. Nothing was taken in.',
  'file-cut-off': 'That file ends in the middle. Fetch it again from where it came from; nothing was taken in.',
  'file-not-ours': 'That file was not made by this app. Nothing was taken in.',
  'file-newer': 'That file was made by a newer version of this app. Reload the page with a network, then try again; nothing was taken in.',
  'file-damaged': 'That file is not as it was written. Nothing was taken in. {text}',
  'file-far-ahead': 'That file claims more changes than anyone could have made. Nothing was taken in.',
  'import-forgotten': 'The file that was looked at is no longer held. Choose it again.',
  'nothing-to-export': 'There is nothing to put into a file yet.',
  'pictures-too-big': 'The pictures are more than goes into one file. Save the animals one by one.',
  'stopped': 'It was stopped, and nothing was done.',
  // home and pictures, as the bench tells of them
  'home-not-found': 'Home does not answer. Be on the same network as the home computer, and see that the program runs there; then try again.',
  'picture-not-read': 'That file is not a picture that this browser can read. Take it as a JPEG or a PNG.',
  'picture-not-here': 'This picture is at home and not on this device, and home does not answer now.',
  'picture-no-canvas': 'This browser cannot make pictures small enough to keep. A newer one can.',
  'link-stale': 'Another tab brings things home now. Reload this one if it stays so.',
  // what a file may hold
  'changes-not-json': 'That file is cut off, or is not one of ours. Nothing was taken in.',
  'changes-request': 'That file has more or less in it than it should. Nothing was taken in. {text}',
  'changes-format': 'That file does not say that it is one of ours. Nothing was taken in.',
  'changes-version': 'That file is of a version this app does not read. Nothing was taken in.',
  'changes-too-many': 'That file holds more than is taken in at once. Nothing was taken in. {text}',
  'change-shape': 'Something in that file is not whole. Nothing was taken in. {text}',
  'change-kind': 'That file speaks of something this app does not keep. Nothing was taken in. {text}',
  'change-id': 'Something in that file has no proper mark of its own. Nothing was taken in. {text}',
  'change-field': 'That file sets something that cannot be set. Nothing was taken in. {text}',
  'change-value': 'A value in that file cannot be right. Nothing was taken in. {text}',
  'change-too-big': 'A value in that file is too large. Nothing was taken in. {text}',
  'change-stamp': 'A change in that file does not say when it was made. Nothing was taken in. {text}',
  'change-base': 'A change in that file rests on a later one. Nothing was taken in. {text}',
  'change-same-stamp': 'Two changes in that file bear one stamp and differ. Nothing was taken in. {text}',
  'change-fact-twice': 'A reading in that file was written twice, differently. A reading is a fact and cannot change; nothing was taken in. {text}',
  // what home says
  'wire-struck': 'This device was struck off at home. What is kept on it stays; home takes nothing more from it and gives it nothing. Pair it anew if that was a mistake.',
  'wire-full': 'The disk of the home computer is full, so nothing can be brought home. It all stays here, and is brought once there is room.',
  'wire-stopping': 'The home computer was stopped, or is starting again. It is tried again soon.',
  'wire-busy': 'Home has as many devices connected as it takes. It is tried again in a minute.',
  'wire-too-old': 'This app is older than home can speak with. Reload it, so that both are of one version.',
  'wire-too-new': 'The program on the home computer is older than this app can speak with. Renew it there.',
  'wire-too-fast': 'This device said more at once than home takes. It is tried again soon.',
  'wire-silent': 'Nothing came from the other end for too long. It is tried again soon.',
  'wire-message': 'Home and this app did not understand each other. It is tried again soon; if it stays so, renew both.',
  'not-paired': 'Home does not know this device. Pair it with a new code.',
  'code-mistyped': 'These nine digits do not fit together: one is wrong, or two are swapped. Look at the code again.',
  'code-wrong': 'This code lets nobody in: it may be older than five minutes, used already, or ended by too many wrong ones. Have a new one shown.',
  'too-fast': 'There were too many tries. Wait a minute, then try again.',
  'too-many-devices': 'Home knows as many devices as it can. Strike off one that is no longer used.',
  'device-name': 'A device needs a short name, so that it can be told from others.',
  'no-such-device': 'There is no such device at home any more.',
  'wrong-origin': 'Home answers only its own app. Open it at the address that home has.',
  'no-such-route': 'Home does not know what this app asks for. Renew the program on the home computer.',
  'bad-request': 'Home did not understand this app. Reload it, so that both are of one version.',
  'request-too-large': 'That is more than home is asked at once. Try again with less.',
  'home-trouble': 'The home computer could not do this now. What is kept here stays; the terminal there says why.',
  'no-picture': 'Home does not have this picture yet. The device that took it brings it.',
  'picture-name': 'Home did not understand which picture is meant. Reload the app, so that both are of one version.',
  'picture-offset': 'Home has another part of this picture than was thought. It goes on from there.',
  'picture-busy': 'Another device is bringing this picture just now. It is tried again soon.',
  'picture-wrong': 'The picture came home changed on its way, so home did not keep it. It is brought again.',
  'picture-too-large': 'That is more of a picture than home takes at once.',
});

/** The sentence for an error of any kind. @param {unknown} error @returns {string} */
export function sentence(error) {
  const { code, text } = /** @type {{code?: string, text?: string}} */ (error ?? {});
  if (code && sentences[code]) return sentences[code].replace('{text}', text ?? '');
  return text || 'Something went wrong that the app did not expect. What you entered is kept; please try again.';
}
