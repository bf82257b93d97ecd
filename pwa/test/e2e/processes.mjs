// The processes a test starts, and how they end: by id, and nothing left behind.
import { spawn } from 'node:child_process';
import { readFileSync, readdirSync } from 'node:fs';
import { createServer } from 'node:net';
import { setTimeout as wait } from 'node:timers/promises';

/** A port of this machine that is free now. @returns {Promise<number>} */
export function freePort() {
  return new Promise((resolve, reject) => {
    const server = createServer();
    server.once('error', reject);
    server.listen(0, '127.0.0.1', () => {
      const { port } = /** @type {import('node:net').AddressInfo} */ (server.address());
      server.close(() => resolve(port));
    });
  });
}

/** Asks until the answer is neither false nor an error. @template T @param {() => Promise<T> | T} ask @param {string} what @param {number} [ms] @returns {Promise<NonNullable<T>>} */
export async function until(ask, what, ms = 15_000) {
  const end = Date.now() + ms;
  /** @type {unknown} */
  let last;
  for (;;) {
    try {
      const answer = await ask();
      if (answer) return /** @type {NonNullable<T>} */ (answer);
      last = answer;
    } catch (error) { last = error; }
    if (Date.now() > end) throw new Error(`waited ${ms} ms for ${what}`, { cause: last });
    await wait(25);
  }
}

/** The groups of processes that still run: none of them outlives this one, however it ends. @type {Set<number>} */
const running = new Set();
process.on('exit', () => { for (const group of running) { try { process.kill(-group, 'SIGKILL'); } catch { /* gone already */ } } });
for (const signal of /** @type {const} */ (['SIGTERM', 'SIGINT', 'SIGHUP'])) process.once(signal, () => process.exit(1));

/**
 * A process in a session of its own, so that what it starts ends with it. Its output is shown only if it fails.
 * @param {string} command  @param {string[]} args  @param {Record<string, string>} [env]  @param {string} [cwd]
 */
export function run(command, args, env = {}, cwd = undefined) {
  const child = spawn(command, args, { detached: true, stdio: ['ignore', 'pipe', 'pipe'], env: { ...process.env, ...env }, cwd });
  let output = '';
  child.stdout.on('data', (text) => { output += text; });
  child.stderr.on('data', (text) => { output += text; });
  /** @type {Error | null} */
  let failed = null;
  child.on('error', (error) => { failed = error; });
  const gone = new Promise((resolve) => { child.on('exit', resolve); child.on('error', resolve); });
  const group = child.pid;
  if (group) running.add(group);
  const over = () => failed !== null || child.exitCode !== null || child.signalCode !== null;
  return {
    pid: /** @type {number} */ (child.pid),
    output: () => output,
    over,
    code: () => child.exitCode,
    /** Waits for the port to answer. @param {string} url */
    answers: (url) => until(async () => {
      if (over()) throw new Error(`${command} ended: ${failed?.message ?? output}`);
      return (await fetch(url)).status > 0;
    }, `${command} to answer at ${url}`),
    /** @param {NodeJS.Signals} [signal] */
    async end(signal = 'SIGTERM') {
      if (!group) return;
      try { process.kill(-group, signal); } catch { /* gone already */ }
      await Promise.race([gone, wait(3000, undefined, { ref: false })]);
      try { process.kill(-group, 'SIGKILL'); } catch { /* gone already */ }
      await gone;
      running.delete(group);
    },
  };
}

/** Every process started by this one, itself not. @param {number} pid @returns {number[]} */
export function descendants(pid) {
  /** @type {number[]} */
  const found = [];
  let tasks;
  try { tasks = readdirSync(`/proc/${pid}/task`); } catch { return found; }
  for (const task of tasks) {
    let children = '';
    try { children = readFileSync(`/proc/${pid}/task/${task}/children`, 'utf8'); } catch { continue; }
    for (const child of children.split(' ').filter(Boolean).map(Number)) found.push(child, ...descendants(child));
  }
  return found;
}

/** Whether a process is there and not merely waiting to be reaped. @param {number} pid */
export function alive(pid) {
  try { return !/^\d+ \(.*\) [ZX]/s.test(readFileSync(`/proc/${pid}/stat`, 'utf8')); } catch { return false; }
}

/** @param {number} pid @returns {string[]} */
export const commandLine = (pid) => { try { return readFileSync(`/proc/${pid}/cmdline`, 'utf8').split('\0'); } catch { return []; } };

/** Kills processes at once, as a phone does that runs out of power, and waits until they are gone. @param {number[]} pids */
export async function kill(pids) {
  for (const pid of pids) { try { process.kill(pid, 'SIGKILL'); } catch { /* gone already */ } }
  await until(() => pids.every((pid) => !alive(pid)), `processes ${pids} to be gone`);
}
