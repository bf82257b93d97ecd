// A line that snaps to the edge while the finger draws it roughly. The finger leaves a trail; the engine is asked for the edge between
// the last settled point and the newest place of the trail it can reach, one question at a time, so that a slow answer makes the line
// late and never wrong. What lies far enough behind the finger is settled and moves no more.
import { apart, lengthOf } from './rings.js';

/**
 * @typedef {import('./rings.js').Point} Point
 * @typedef {{reach: number, settle: number, loose: number}} Lengths  px of the picture: how far one question goes, from what length on a path is settled, and how much of its end stays loose
 */

/** A path in two: what is settled, and the last px that may still move. @param {Point[]} path  @param {number} loose @returns {[Point[], Point[]]} */
export function parted(path, loose) {
  let left = loose;
  for (let i = path.length - 1; i > 0; i--) {
    left -= apart(path[i - 1], path[i]);
    if (left <= 0) return [path.slice(0, i), path.slice(i - 1)];
  }
  return [[], path];
}

/**
 * The farthest place of the trail that one question may go to: in reach, also along the trail, and not beyond where the finger turned back,
 * since round a leg the way across it would be shorter. A jump is taken in steps.
 * @param {Point[]} trail  @param {number} from  @param {Point} anchor  @param {number} reach @returns {{index: number, to: Point}}
 */
export function target(trail, from, anchor, reach) {
  let index = from;
  let farthest = apart(anchor, trail[from]);
  for (let gone = farthest; index + 1 < trail.length; index++) {
    gone += apart(trail[index], trail[index + 1]);
    const far = apart(anchor, trail[index + 1]);
    if (far > reach || gone > reach * 1.4 || far < farthest - reach * 0.1) break;
    farthest = Math.max(far, farthest);
  }
  const far = apart(anchor, trail[index]);
  if (far <= reach) return { index, to: trail[index] };
  const share = reach / far;
  return { index: index - 1, to: [anchor[0] + share * (trail[index][0] - anchor[0]), anchor[1] + share * (trail[index][1] - anchor[1])] };
}

/**
 * @param {object} does
 * @param {(from: Point, to: Point) => Promise<Point[]>} does.path  the edge between two places
 * @param {() => void} does.changed                                  there is more to show
 */
export function snapping(does) {
  /** @typedef {{trail: Point[], at: number, settled: Point[], loose: Point[], up: boolean, lengths: Lengths, done: (path: Point[] | null) => void}} Line */
  /** @type {Line | null} */
  let me = null;
  let busy = false;
  /** @type {unknown} */
  let trouble = null;

  async function follow() {
    if (busy || !me) return;
    busy = true;
    const mine = me;
    try {
      while (mine === me && behind(mine)) await step(mine);
    } catch (error) { failed(mine, error); } finally { busy = false; }
    if (mine === me && mine.up) over(mine);
    if (me && mine !== me) follow();
  }

  const anchorOf = (/** @type {Line} */ one) => one.settled[one.settled.length - 1] ?? one.trail[0];
  const behind = (/** @type {Line} */ one) => one.at < one.trail.length - 1;

  /** @param {Line} mine */
  async function step(mine) {
    const { index, to } = target(mine.trail, mine.at + 1, anchorOf(mine), mine.lengths.reach);
    const found = await does.path(anchorOf(mine), to);
    if (mine !== me) return;
    const path = found.length ? found : [to];
    mine.at = Math.max(index, mine.at);
    if (behind(mine) || (!mine.up && lengthOf(path) > mine.lengths.settle)) settle(mine, path);
    else if (mine.up) { mine.settled.push(...path); mine.loose = []; }
    else mine.loose = path;
    does.changed();
  }

  /** Settles what is far enough from the finger: where it ends the path leaves the edge for it. @param {Line} mine  @param {Point[]} path */
  function settle(mine, path) {
    const short = lengthOf(path) < 2 * mine.lengths.loose;
    const [kept, loose] = short ? [[], path] : parted(path, mine.lengths.loose);
    mine.settled.push(...kept);
    mine.loose = loose;
  }

  /** Without the engine the line is kept as it was drawn. @param {Line} mine  @param {unknown} error */
  function failed(mine, error) {
    trouble = error;
    mine.settled.push(...mine.loose, ...mine.trail.slice(mine.at + 1));
    mine.loose = [];
    mine.at = mine.trail.length - 1;
  }

  /** @param {Line} mine */
  function over(mine) {
    me = null;
    mine.done([mine.trail[0], ...mine.settled, ...mine.loose]);
  }

  return {
    /** The finger comes down. @param {Point} at  @param {Lengths} lengths */
    start(at, lengths) {
      me?.done(null);
      trouble = null;
      me = { trail: [at], at: 0, settled: [], loose: [], up: false, lengths, done: () => {} };
    },
    /** @param {Point} at */
    move(at) { if (me && !me.up) { me.trail.push(at); follow(); } },
    /** The finger goes up: the line as it then is, once the last answer has come; null when another was begun meanwhile. @returns {Promise<Point[] | null>} */
    end() {
      const mine = me;
      if (!mine) return Promise.resolve(null);
      mine.up = true;
      const path = /** @type {Promise<Point[] | null>} */ (new Promise((resolve) => { mine.done = resolve; }));
      // The end was loose: it is asked for once more, to where the finger went up.
      if (mine.loose.length && !behind(mine)) mine.at = mine.trail.length - 2;
      if (behind(mine)) follow(); else over(mine);
      return path;
    },
    drop() { me?.done(null); me = null; },
    /** What there is to show: what is settled, what may still move, and the finger's own trail from there. */
    get shown() {
      if (!me) return null;
      const { trail, at, settled, loose } = me;
      return { settled: [trail[0], ...settled], loose, trail: trail.slice(at), up: me.up };
    },
    /** The finger's own way. */
    get trail() { return me?.trail ?? []; },
    /** Why the last line is as it was drawn, or null. */
    get trouble() { return trouble; },
  };
}
