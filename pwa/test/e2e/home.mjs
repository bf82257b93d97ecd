// A home as it is: the real program with its real certificate, on this machine alone.
import assert from 'node:assert/strict';
import { execFile } from 'node:child_process';
import { createHash } from 'node:crypto';
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { promisify } from 'node:util';
import { binary, browsers, folder } from './harness.mjs';
import { freePort, run, until } from './processes.mjs';
import { mounted, mountsAllowed } from './trusting.mjs';

const execute = promisify(execFile);

/**
 * The browsers that can be made to trust a home on this machine. One that cannot is told and is a failure, unless a person has said,
 * with NOT_RUN_IS_FINE=1, that she knows.
 * @param {import('node:test').TestContext | null} t
 */
export function trustingBrowsers(t = null) {
  if (!browsers.includes('webkit') || mountsAllowed()) return browsers;
  const told = 'NOT RUN: this machine does not let a test mount (unshare --mount), and without that WebKit cannot be shown whom to trust';
  console.error(told);
  if (process.env.NOT_RUN_IS_FINE !== '1') assert.fail(`${told}; set NOT_RUN_IS_FINE=1 to go on without WebKit, or run where mounting is permitted`);
  t?.diagnostic(told);
  return browsers.filter((kind) => kind !== 'webkit');
}

/** Why a test that mounts is not run, or false; it is a failure unless a person has said that she knows. */
export function mounting() {
  if (mountsAllowed()) return false;
  const told = 'NOT RUN: this machine does not let a test mount (unshare --mount)';
  console.error(told);
  if (process.env.NOT_RUN_IS_FINE !== '1') assert.fail(`${told}; set NOT_RUN_IS_FINE=1 to go on without, or run where mounting is permitted`);
  return told;
}

/** Serves in a mount namespace of its own until the program ends by itself. @param {string} data  @param {string[]} mounts shell commands; "$0" is the folder */
export async function runsOut(data, mounts) {
  const [command, ...args] = mounted(data, mounts);
  const process = run(command, [...args, binary, 'serve', '--here', '--port', '0', '--data', data]);
  await until(() => process.over(), 'the program to end');
  return { code: process.code(), text: process.output() };
}

/**
 * A home that can be stopped, killed and started again on the same folder and ports.
 * @param {{args?: string[], data?: string, env?: Record<string, string>, mounts?: string[]}} [how] mounts: shell commands in a mount namespace of its own; "$0" is the data folder
 */
export async function openHome({ args = [], data = join(folder(), 'home'), env = {}, mounts = [] } = {}) {
  const [port, house, welcome] = [await freePort(), await freePort(), await freePort()];
  const command = ['serve', '--data', data, '--listen', '127.0.0.1', '--port', String(port), '--house-port', String(house), '--welcome-port', String(welcome), ...args];
  const here = `http://127.0.0.1:${port}/`;
  const [program, ...before] = [...(mounts.length ? mounted(data, mounts) : []), binary];
  const begin = () => run(program, [...before, ...command], env, folder());
  let process = begin();
  await process.answers(here);
  const host = 'needlesight.local';
  const seen = () => (mounts.length ? `/proc/${process.pid}/root${data}` : data);
  const welcomed = `http://127.0.0.1:${welcome}/`;
  return {
    data, host, port, house,
    /** The file that the welcome page gives, as PEM for a browser's list. @returns {Promise<string>} its path */
    async authority() {
      const at = join(folder(), 'authority.pem');
      writeFileSync(at, pem(await file(welcomed)));
      return at;
    },
    /** The app on the home computer itself, over the house's line, and the page that leads to trust. */
    here, local: `http://localhost:${port}/`, url: `https://${host}:${house}/`, welcome: welcomed,
    /** What the terminal shows. */
    output: () => process.output(),
    /** The data folder as the program sees it, also when it is mounted for it alone. */
    folder: seen,
    /** Ends it as Ctrl-C does. */
    async stop() { await process.end('SIGINT'); await gone(here); },
    /** The plug is pulled. */
    async kill() { await process.end('SIGKILL'); await gone(here); },
    async start() { process = begin(); await process.answers(here); },
    /** One of the program's commands on this home's folder; its output. @param {...string} words */
    async command(...words) {
      const { stdout } = await execute(binary, [...words, '--data', seen()], { env: { ...globalThis.process.env, ...env } });
      return stdout;
    },
    /** A code to pair with, as the terminal shows it. */
    async code() {
      const text = await this.command('pair');
      const found = /\b\d{3}[ -]\d{3}[ -]\d{3}\b/.exec(text);
      assert.ok(found, `no code in:\n${text}`);
      return found[0];
    },
  };
}

/** @typedef {Awaited<ReturnType<typeof openHome>>} Home */

/** @param {string} url */
const gone = (url) => until(() => fetch(url).then(() => false, () => true), 'home to be gone');

/** The fingerprint of an authority's file as DER, as openssl, sha256sum or a phone show it. @param {Uint8Array} der */
export const fingerprint = (der) => [...createHash('sha256').update(der).digest()].map((byte) => byte.toString(16).padStart(2, '0').toUpperCase()).join(':');

/** The authority's file, as DER. @param {string} welcome */
async function file(welcome) { return new Uint8Array(await (await fetch(`${welcome}needlesight-home.crt`)).arrayBuffer()); }

/** @param {Uint8Array} der */
const pem = (der) => `-----BEGIN CERTIFICATE-----\n${Buffer.from(der).toString('base64').replace(/.{64}/g, '$&\n').trimEnd()}\n-----END CERTIFICATE-----\n`;
