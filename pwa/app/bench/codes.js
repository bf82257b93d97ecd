// Every code of an error that the bench itself can tell, and how one is thrown. The engine has its own list.

/** What each code means, for those who write the sentence a person reads. */
export const codes = Object.freeze({
  'store-none': 'this browser gives no store at all (switched off, or a private window)',
  'store-blocked': 'another tab with an older version of the app holds the store open; close it',
  'store-newer': 'the store was made by a newer version of the app; reload',
  'store-full': 'the device has no room left; nothing of this entry was written',
  'store-gone': 'the store died under the tab and opening it again did not help',
  'second-half': 'a part of the app that comes after it is installed is not on this device yet',
  'bench-died': 'the worker that keeps things stopped in the middle; it cannot be known whether this last thing was kept',
  'engine-missing': 'the engine would not load',
  'engine-stopped': 'the engine stopped or took too long, twice',
  'unexpected': 'a fault in the app itself',
  'no-such-method': 'the page asked for something the bench does not know',
  'no-such-record': 'what was asked for is not in the store',
  'no-such-field': 'this field cannot be set on this kind of record',
  'name-empty': 'a name is needed',
  'name-too-long': 'a name or text is longer than 200 bytes',
  'name-control': 'a name or text holds characters that cannot be shown',
  'value-not-number': 'a number is needed',
  'value-zero': 'a count or length of zero measures nothing',
  'value-negative': 'a count or length cannot be negative',
  'value-too-big': 'a count or length beyond 10,000,000',
  'value-not-allowed': 'not one of the values this field can have',
  'points-number': 'another number of points is needed',
  'points-same': 'two points lie in one place',
  'point-outside': 'a point lies far outside its picture',
  'ring-short': 'a ring of an outline has fewer than three points',
  'outline-too-long': 'an outline has more points than are kept',
  'tolerance-range': 'a tolerance is more than 0 and less than 100 %',
  'part-of-itself': 'a part cannot stand for itself',
  'part-elsewhere': 'that part belongs to another project',
  'nothing-apart': 'there are no longer two answers to choose from',
  'counter-spent': 'the counter of changes has come to its end',
  'picture-damaged': 'the bytes of a picture are not those that its name says',
  'draft-too-big': 'the draft is larger than a draft may be',
  'file-too-big': 'the file is larger than this app reads',
  'file-unpacks-too-big': 'what is packed in the file is larger than this app reads',
  'file-empty': 'the file is empty',
  'file-cut-off': 'the file ends in the middle',
  'file-not-ours': 'the file was not made by this app',
  'file-newer': 'the file was made by a newer version of this app',
  'file-damaged': 'the file is whole but not as it was written',
  'file-far-ahead': 'the file holds a stamp too far ahead to be honest',
  'import-forgotten': 'the file that was looked at is no longer held; choose it again',
  'pictures-too-big': 'the pictures are more than goes into one file',
  'stopped': 'a person stopped it, and it was not done',
  'nothing-to-export': 'there is nothing to put into a file',
  'home-not-found': 'home answers at none of the places where it was known to be',
  'picture-not-read': 'the file is not a picture that this browser can read',
  'picture-cut-off': 'the picture ends in the middle',
  'picture-too-small': 'the picture is too small to measure on, or so long that it would be',
  'picture-too-many-pixels': 'the picture has more pixels than a browser is asked to hold',
  'picture-heic': 'the picture is of a kind (HEIC) that this browser cannot read',
  'picture-moving': 'a picture that moves: the first of its pictures was taken',
  'picture-cmyk': 'a picture in the colours of a printing press',
  'picture-not-here': 'the picture is not on this device, and home cannot be asked for it now',
  'picture-no-canvas': 'this browser cannot shrink pictures in the worker; the page does it',
  'too-dense': 'a weighing comes to more than wool fibre itself weighs',
  'start-far-off': 'a length as rolled is less than half or more than five times of the same as felted',
  'link-stale': 'another tab has taken over what is brought home',
});

/** @typedef {keyof typeof codes} Code */

/** An error that can be told to a person: a code, the words of whoever found it, and where. */
export class Trouble extends Error {
  /** @param {string} code  @param {{text?: string, at?: string, params?: Record<string, unknown>, cause?: unknown}} [more] */
  constructor(code, more = {}) {
    super(more.text || code, { cause: more.cause });
    this.code = code;
    this.text = more.text ?? '';
    this.at = more.at ?? '';
    this.params = more.params ?? {};
  }
}

/** Throws one of our own. @param {Code} code  @param {Record<string, unknown>} [params]  @param {unknown} [cause] @returns {never} */
export function fail(code, params, cause) {
  throw new Trouble(code, { params, cause, text: '', at: typeof params?.at === 'string' ? params.at : '' });
}

/** What kind of error this is. @param {unknown} error @returns {{code: string}} */
export const asError = (error) => ({ code: error instanceof Trouble ? error.code : 'unexpected' });

/** An error as it can be sent from the worker to the page. @param {unknown} error */
export function plain(error) {
  if (error instanceof Trouble) return { code: error.code, text: error.text, at: error.at, params: error.params };
  console.error(error);
  return { code: 'unexpected', text: '', at: '', params: { message: String(/** @type {Error} */ (error)?.message ?? error) } };
}
