// Where things lie on the board: between the px of a picture and those of the glass it is seen on. No canvas, no finger: only sums.
// The corner of a picture's first pixel is at 0, 0, so the middle of a pixel is at a half.

/**
 * @typedef {[number, number]} Point
 * @typedef {{width: number, height: number}} Size
 * How a picture lies on the glass: CSS px to one px of the picture, and where its corner is.
 * @typedef {{scale: number, x: number, y: number}} View
 */

const MOST = 32; // CSS px to one of the picture: each is then seen as a square that a thumb can hit
const SLACK = 96; // CSS px that a picture may be drawn in from the edge, so that its own edge comes free of the thumb

/** @param {View} view  @param {Point} at in the picture @returns {Point} on the glass */
export const toGlass = (view, [x, y]) => [x * view.scale + view.x, y * view.scale + view.y];
/** @param {View} view  @param {Point} at on the glass @returns {Point} in the picture */
export const toPicture = (view, [x, y]) => [(x - view.x) / view.scale, (y - view.y) / view.scale];
/** @param {Point} a  @param {Point} b */
export const apart = (a, b) => Math.hypot(a[0] - b[0], a[1] - b[1]);
/** @param {number} least  @param {number} value  @param {number} most */
const within = (least, value, most) => Math.max(least, Math.min(value, most));

/** The whole picture in the middle of the glass. @param {Size} glass  @param {Size} picture @returns {View} */
export function fitted(glass, picture) {
  const scale = Math.min(glass.width / picture.width, glass.height / picture.height);
  return { scale, x: (glass.width - picture.width * scale) / 2, y: (glass.height - picture.height * scale) / 2 };
}

/** The nearest view in which the picture is neither too small, too large nor out of sight. @param {View} view  @param {Size} glass  @param {Size} picture @returns {View} */
export function held(view, glass, picture) {
  const least = fitted(glass, picture).scale;
  const scale = within(least, view.scale, Math.max(MOST, least));
  const slack = SLACK * Math.min(1, scale / least - 1); // none while the whole is seen
  const axis = (/** @type {number} */ at, /** @type {number} */ room, /** @type {number} */ length) => {
    const [low, high] = [room - slack - length * scale, slack];
    return low > high ? (room - length * scale) / 2 : within(low, at, high);
  };
  return { scale, x: axis(view.x, glass.width, picture.width), y: axis(view.y, glass.height, picture.height) };
}

/** Larger or smaller by a factor, with what lies at a place of the glass staying there. @param {View} view  @param {Point} at  @param {number} factor  @param {Size} glass  @param {Size} picture @returns {View} */
export function zoomed(view, at, factor, glass, picture) {
  const least = fitted(glass, picture).scale;
  const scale = within(least, view.scale * factor, Math.max(MOST, least)); // held here already, so that at an end nothing slides
  const [x, y] = toPicture(view, at);
  return held({ scale, x: at[0] - x * scale, y: at[1] - y * scale }, glass, picture);
}

/** @param {View} view  @param {number} right  @param {number} down @returns {View} */
export const slid = (view, right, down) => ({ ...view, x: view.x + right, y: view.y + down });

/** Two fingers were there and are here: what lay between them still does. @param {View} view when they came down  @param {[Point, Point]} from  @param {[Point, Point]} to @returns {View} */
export function pinched(view, from, to) {
  const middle = (/** @type {[Point, Point]} */ [a, b]) => /** @type {Point} */ ([(a[0] + b[0]) / 2, (a[1] + b[1]) / 2]);
  const scale = view.scale * apart(...to) / Math.max(1, apart(...from));
  const [x, y] = toPicture(view, middle(from));
  const here = middle(to);
  return { scale, x: here[0] - x * scale, y: here[1] - y * scale };
}

/** A view on the way from one to another: as a zoom goes, about the place that both have in common. @param {View} a  @param {View} b  @param {number} share 0 to 1 @returns {View} */
export function between(a, b, share) {
  const scale = a.scale * (b.scale / a.scale) ** share;
  const done = Math.abs(b.scale - a.scale) > 1e-9 ? (scale - a.scale) / (b.scale - a.scale) : share;
  return { scale, x: a.x + (b.x - a.x) * done, y: a.y + (b.y - a.y) * done };
}

/** The same view, slid as little as shows a place with some room around it. @param {View} view  @param {Point} at in the picture  @param {Size} glass  @param {number} room CSS px @returns {View} */
export function showing(view, at, glass, room) {
  const [x, y] = toGlass(view, at);
  const near = (/** @type {number} */ there, /** @type {number} */ length) => within(Math.min(room, length / 2), there, Math.max(length - room, length / 2)) - there;
  return slid(view, near(x, glass.width), near(y, glass.height));
}

/** The view after the glass has another size: what was in its middle still is. @param {View} view  @param {Size} from  @param {Size} to  @param {Size} picture @returns {View} */
export const regrown = (view, from, to, picture) => held(slid(view, (to.width - from.width) / 2, (to.height - from.height) / 2), to, picture);

/** A place kept on the picture. @param {Point} at  @param {Size} picture @returns {Point} */
export const onPicture = ([x, y], picture) => [within(0, x, picture.width), within(0, y, picture.height)];

/** The nearest handle that a finger at this place of the glass can mean. @template {{at: Point}} H  @param {H[]} handles  @param {View} view  @param {Point} at  @param {number} reach CSS px @returns {H | null} */
export function nearest(handles, view, at, reach) {
  let best = null;
  let far = reach;
  for (const handle of handles) {
    const gap = apart(toGlass(view, handle.at), at);
    if (gap <= far) [best, far] = [handle, gap];
  }
  return best;
}

/** @param {Point} at on the glass, or beside it  @param {Size} glass */
export const onGlass = ([x, y], { width, height }) => x >= 0 && y >= 0 && x <= width && y <= height;

const GRIP = 62; // CSS px from a handle to what the thumb holds it by

const FOOT = 64; // CSS px at the lower edge where the buttons are that step a handle

/** What a handle is held by lies below it, where thumbs come from; near the lower edge to the side where there is room. @param {Point} at on the glass  @param {Size} glass  @param {string} hand @returns {Point} */
export function gripOf([x, y], glass, hand) {
  if (y + GRIP + 18 <= glass.height - FOOT) return [x, y + GRIP];
  const right = hand === 'left' ? x - GRIP - 24 < 0 : x + GRIP + 24 <= glass.width;
  const up = Math.max(0, y - (glass.height - FOOT - 18)); // and above the buttons
  return [x + (right ? GRIP : -GRIP), y - up];
}

const AWAY = 40; // CSS px: a thumb covers what is nearer
const LIFT = 64;

/**
 * Where a handle is while it is dragged: as far from the finger as at first. One that was touched itself comes out from under the thumb as
 * it begins to move; held by its grip, it goes exactly as the thumb does.
 * @param {Point} finger now  @param {Point} from where the finger came down  @param {Point} handle where the handle was then  @param {boolean} thumb @returns {Point}
 */
export function dragged(finger, from, handle, thumb) {
  const start = [handle[0] - from[0], handle[1] - from[1]];
  const out = thumb && apart(from, handle) < AWAY ? Math.min(1, apart(finger, from) / LIFT) : 0;
  return [finger[0] + start[0] * (1 - out), finger[1] + start[1] * (1 - out) - LIFT * out];
}

export const LOUPE = 62; // CSS px from its middle to its rim
const CLEAR = 10;

/** The places a loupe may have about a finger, the best first: beside and above it on the side the hand is not, then the other side, then above. @param {Point} finger  @param {string} hand @returns {Point[]} */
function seats([x, y], hand) {
  const side = hand === 'left' ? 1 : -1;
  const out = LOUPE + 46;
  return [[x + side * out, y - 52], [x - side * out, y - 52], [x, y - out - 60], [x + side * out, y + 8], [x - side * out, y + 8]];
}

/**
 * Where the middle of the loupe goes: on the glass, not under the finger, not over what it magnifies; where it was, as long as it can stay.
 * @param {Point} finger  @param {Point} at what it magnifies, on the glass  @param {Size} glass  @param {string} hand  @param {number | null} [last] the seat it had
 * @returns {{at: Point, seat: number}}
 */
export function loupeAt(finger, at, glass, hand, last = null) {
  const least = LOUPE + CLEAR;
  const all = seats(finger, hand);
  const rate = (/** @type {Point} */ [x, y]) => {
    const inside = /** @type {Point} */ ([within(least, x, Math.max(least, glass.width - least)), within(least, y, Math.max(least, glass.height - least))]);
    const free = apart(inside, finger) >= LOUPE + 34 && apart(inside, at) >= LOUPE + CLEAR;
    return { at: inside, free, room: Math.min(apart(inside, finger) - 34, apart(inside, at) - CLEAR) };
  };
  const rated = all.map(rate);
  if (last !== null && rated[last]?.free) return { at: rated[last].at, seat: last };
  let seat = rated.findIndex((one) => one.free);
  if (seat < 0) seat = rated.reduce((best, one, i) => (one.room > rated[best].room ? i : best), 0);
  return { at: rated[seat].at, seat };
}

/** How far a finger has come from an edge is how fast the picture slides away from it: CSS px in one frame. @param {Point} at on the glass  @param {Size} glass @returns {Point} */
export function pulled([x, y], glass) {
  const edge = 30;
  const pull = (/** @type {number} */ there, /** @type {number} */ length) => (there < edge ? Math.min(6, (edge - there) / 5) : there > length - edge ? -Math.min(6, (there - length + edge) / 5) : 0);
  return [pull(x, glass.width), pull(y, glass.height)];
}

/**
 * The standard uncertainty of a point that was set by hand, in px of the picture. A point is told no better than to the pixel it lies in: a
 * rectangular distribution one px wide has 1/sqrt(12) = 0.29 (GUM, JCGM 100:2008, 4.3.7; from memory). Less magnified, the hand is the worse of
 * the two: taken as 1.5 CSS px each way on the glass, our own estimate of what a thumb with a loupe does.
 * @param {number} scale CSS px to one of the picture
 */
export const pinU = (scale) => Math.max(1 / Math.sqrt(12), 1.5 / scale);

/** One standard uncertainty for two pins that were set apart: such that their distance is as unsure as with both. @param {number[]} u */
export const bothU = (u) => Math.sqrt(u.reduce((sum, one) => sum + one * one, 0) / u.length);
