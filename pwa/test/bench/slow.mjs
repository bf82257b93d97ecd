// Makes a browser's pages slow, as on a cheap phone: each renderer process runs for 4 ms and stands still for 12.
// Chromium's own throttle slows only the page, not its workers; this slows both. A process of its own, so that its clock is not
// held up by what is measured: node slow.mjs BROWSER_PID [SHARE], ended by SIGTERM, which lets every renderer run on.
import { commandLine, descendants } from '../e2e/processes.mjs';

const on = 4;
/** How much longer they stand than run; who measures sets it so that the factor comes out at four. */
const share = Number(process.argv[3] ?? 3);
const browser = Number(process.argv[2]);
const clock = new Int32Array(new SharedArrayBuffer(4));
/** Sleeps without a timer queue, which would be late. @param {number} ms */
const sleep = (ms) => Atomics.wait(clock, 0, 0, ms);

const renderers = () => descendants(browser).filter((pid) => /--type=renderer/.test(commandLine(pid).join(' ')));
/** @param {number[]} pids  @param {NodeJS.Signals} signal */
function send(pids, signal) {
  for (const pid of pids) { try { process.kill(pid, signal); } catch { /* a page that was closed */ } }
}

let pids = renderers();
let ran = performance.now();
process.on('exit', () => send(renderers(), 'SIGCONT'));
process.on('disconnect', () => process.exit());
let looked = ran;
/** A page that was opened meanwhile is slowed too. */
function look() {
  looked = performance.now();
  const now = renderers();
  send(now.filter((pid) => !pids.includes(pid)), 'SIGSTOP');
  pids = now;
}

/** One turn, then the signals of this process are heard. How long they really ran decides how long they stand still. */
function turn() {
  send(pids, 'SIGSTOP');
  const stopped = performance.now();
  if (stopped > looked + 12) look();
  sleep(Math.max(0, (stopped - ran) * share - (performance.now() - stopped)));
  ran = performance.now();
  send(pids, 'SIGCONT');
  sleep(on);
  setImmediate(turn);
}
turn();
