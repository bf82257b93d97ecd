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
export function plural(name) {
  const low = name.toLowerCase();
  if (/ (across|width|length|height)$/.test(low) || /[^a-z]$/.test(low)) return `${low}s`.replace(/ acrosss$/, ' widths');
  if (/(s|x|ch|sh)$/.test(low)) return `${low}es`;
  return low.endsWith('f') ? `${low.slice(0, -1)}ves` : `${low}s`;
}

const animalKinds = new Set(['animal', 'otter', 'barn owl', 'owl', 'dog', 'cat', 'fox', 'hare', 'bear', 'horse', 'sheep', 'bird', 'person']);
/** An animal inside a sentence: the otter when it goes by its kind, else by its own name, as it was typed. @param {string} name */
export const theAnimal = (name) => (animalKinds.has(name.trim().toLowerCase()) ? `the ${name.trim().toLowerCase()}` : name);
/** A piece inside a sentence: piece 1, or the name she gave it. @param {string} name */
export const thePiece = (name) => (/^piece \d+$/i.test(name) ? name.toLowerCase() : name);
/** Where a place is counted from, as a sentence has it: the tip of the nose. @param {string} from */
export const fromThe = (from) => `the ${from.trim().replace(/^(from )?(the )?/i, '')}`;
/** A length that does not break at the end of a line. @template {string | null | undefined} T @param {T} text @returns {T} */
export const tight = (text) => /** @type {T} */ (text?.replaceAll(' ', '\u00a0') ?? text);

export const sideNames = /** @type {Record<string, string>} */ ({ side: 'the side', front: 'the front', top: 'above', other: 'another side' });

/** Says something to a screen reader, politely. @param {string} text */
export function say(text) {
  const at = document.getElementById('say');
  if (at) at.textContent = text;
}

export const numberWords = ['No', 'One', 'Two', 'Three', 'Four', 'Five', 'Six', 'Seven', 'Eight', 'Nine'];
/** @typedef {{amount: string, side: string, target: string | null, name: string}} Advice */

const first = {
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
  size: { title: 'Name and finished size', name: 'Name', size: 'Finished size', example: '18 cm', part: 'of which part' },
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
  entry: {
    parts: 'Parts', name: 'What it is called', name_it: 'Name it', name_use: 'Use this name', to_loose: 'Measured',
    points: (/** @type {string} */ n) => `${n} points`, kept: (/** @type {string} */ part, /** @type {string} */ text) => `${part} kept: ${text}`,
    not_yet: 'not measured yet', times: (/** @type {number} */ n) => (n === 1 ? 'measured once' : n === 2 ? 'measured twice' : `measured ${n} times`), on_wool: (/** @type {string} */ piece) => `on the wool, ${thePiece(piece)}`,
    how: { sight: 'at arm’s length, one eye shut', marks: 'at arm’s length, one eye shut', ruler: 'with the ruler' }, from_where: 'Which side do you look at?', seen_from: { side: 'seen from the side', front: 'seen from the front', top: 'seen from above', other: 'seen from elsewhere' }, best_seen: { side: 'shows best from the side', front: 'shows best from the front', top: 'shows best from above' },
    hold_over: 'That hold is over: what you measure now is a new one.',
    again: { sight: 'New hold', marks: 'New hold', ruler: 'Once more' }, over: 'All measured', over_none: 'No part was kept.', nothing: 'Nothing to measure yet',
    over_hint: { sight: 'A second count of the same parts makes the figures surer, by about a third. Let the arm rest, stretch it again and mark the unit afresh.', marks: 'A second hold of the same parts makes it surer. Let the arm rest, then stretch it again.', ruler: 'Measuring once more, with the ruler laid on afresh, shows how much the readings wander.' },
  },
  keypad: {
    out_of_range: 'That is too small or too big. Type a length of more than 0.',
    label: 'Number keys', back: 'Rub out the last one', clear: 'Clear', and: 'and a fraction', decimal: 'Decimal sign', over_label: 'Fractions',
    over: (/** @type {number} */ of) => /** @type {Record<number, string>} */ ({ 2: 'halves', 3: 'thirds', 4: 'quarters', 8: 'eighths', 16: 'sixteenths', 32: 'thirty-seconds' })[of] ?? `over ${of}`,
  },
  way: {
    title: 'Bring it home', sub_none: 'What is on this phone is on this phone alone.', sub: (/** @type {string} */ name) => `This device and the home “${name}”`,
    short: { home: 'all home', waiting: (/** @type {number} */ changes, /** @type {number} */ pictures) => `${num(changes + pictures, 0)} to bring home`, away: 'home not found', looking: 'looking for home', offline: 'no network', bringing: (/** @type {number | null} */ share) => (share === null ? 'bringing home' : `bringing home ${percent(share)}`), fetching: (/** @type {number | null} */ share) => (share === null ? 'fetching' : `fetching ${percent(share)}`), stopped: 'home: look here', none: 'not brought home' },
    kept: 'kept', kept_pending: 'keeping',
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
    devices: 'Devices of this home', forget: 'Forget home on this device', forget_title: 'Forget home?', forget_text: 'Everything on this device stays here. It brings nothing home any more and gets nothing from there, until it is paired again.', forget_yes: 'Forget home', forgotten: 'Home is forgotten. Everything is still here.',
    gives: 'What a home gives', gives_list: ['A lost phone loses nothing: the animals are on the computer too.', 'Phone, tablet and computer show the same, pictures too.', 'It needs no account and no internet. Nothing leaves the house.'],
    begin: 'How to begin', begin_steps: ['Start needlesight on the home computer.', 'Point this phone’s camera at the square code it shows, and follow the page.', 'Or, if this is the app from there already: type the code of nine digits.'], pair: 'Type the code', files: 'Or save a file for now',
    drawing: (/** @type {string} */ text) => `This device, the way, and home. ${text}`,
    suggest: 'Only on this phone so far', suggest_hint: 'Bring it home to your computer, and a lost phone loses nothing.', suggest_go: 'How', suggest_no: 'Not now',
  },
  failed: { title: 'This page would not open', again: 'Open it again' },
};

/** Every text but those of errors; those of screens that are not needed to count are there once words-more.js, words-pictures.js or words-forms.js was imported. */
export const words = /** @type {typeof first & typeof import('./words-more.js').more & typeof import('./words-pictures.js').pictured & typeof import('./words-forms.js').formed} */ (first);

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
  'picture-missing': 'A picture is not there. {text}',
  'picture-not-read': 'That picture cannot be read here. Take it as a JPEG or a PNG. {text}',
  'picture-too-big': 'That picture is too big. {text}',
  'points-repeated': 'Two of the points lie in one place. Move one of them.',
  'points-on-a-line': 'The corners lie on one line. Set one on each corner of the rectangle.',
  'points-crossed': 'The corners cross over. Set them in order round the rectangle.',
  'no-card-found': 'No card is seen in this picture. Set its four corners by hand.',
  'unknown-wool': 'A form is of a wool that is not in the bag. {text}',
  'crosses-itself': 'That outline crosses itself, so what is inside it cannot be told. {text}',
  'engine-crashed': 'The sum came to grief in the engine. It has been started again and what you entered is kept; please try once more.',
  // the store on this phone
  'store-none': 'This browser keeps nothing: storage is switched off, or this is a private window. Open the app in an ordinary window.',
  'store-blocked': 'Another tab with an older version of the app holds the store open. Close it, then try again.',
  'store-newer': 'What is kept here was made by a newer version of the app. Reload the page to get it.',
  'store-full': 'The phone has no room left, so this was not kept. Make room, then keep it again; nothing kept before is lost.',
  'store-gone': 'The store stopped and would not open again. Reload the page; what was kept is still on the disk.',
  'bench-died': 'The app was interrupted in the middle of this. Look whether it is there before you enter it again.',
  'second-half': 'This part of the app is not on this device yet. Be on the home network once, and it comes by itself.',
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
  'points-number': 'Another number of points is needed there.',
  'points-same': 'Two of the points lie in one place. Move one of them.',
  'point-outside': 'A point lies far outside the picture.',
  'ring-short': 'An outline needs three points at the least.',
  'outline-too-long': 'That outline has more points than are kept. Make it simpler, then keep it.',
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
  'picture-cut-off': 'That picture ends in the middle: its lower part is missing. Fetch it again from where it came from; nothing was kept.',
  'picture-too-small': 'That picture is too small to measure on. Nothing was kept.',
  'picture-too-many-pixels': 'That picture has more than 80 million pixels, which is more than a phone can hold. Make it smaller first; nothing was kept.',
  'picture-heic': 'This browser cannot read a HEIC picture. Save it as a JPEG, or set the camera to the most compatible format; nothing was kept.',
  'picture-moving': 'That picture moves. The first of its pictures was kept.',
  'picture-cmyk': 'That picture is in printing colours, so they may look a little different here.',
  'picture-not-here': 'This picture is at home and not on this device, and home does not answer now.',
  'picture-no-canvas': 'This browser cannot make pictures small enough to keep. A newer one can.',
  'too-dense': 'That would be denser than wool fibre itself (1.31 g/cm³), and no wool is. Is the weight or a size mistyped, or is wire or something else in it?',
  'start-far-off': 'Rolled, it would be less than half or more than five times as long as felted. Look at both lengths again.',
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
