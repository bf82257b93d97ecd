// A server, a browser and a person before it. Nothing here knows the app: tests say what is looked for, tapped and typed.
import { existsSync, mkdirSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import webdriver from 'selenium-webdriver';
import { alive, commandLine, descendants, freePort, kill, run, until } from './processes.mjs';
import { Person } from './person.mjs';
import { trustingHome, trustingMounts } from './trusting.mjs';

const { Builder, Capabilities } = webdriver;
const root = fileURLToPath(new URL('../../..', import.meta.url));

/** The program under test; `make test` has built it. */
export const binary = process.env.NEEDLESIGHT ?? join(root, 'needlesight');

/** The browsers to drive: all of them, or those named in E2E_BROWSERS. @type {('chromium' | 'webkit')[]} */
export const browsers = /** @type {any} */ ((process.env.E2E_BROWSERS ?? 'chromium,webkit').split(','));

export const phone = { width: 390, height: 844 };
export const desk = { width: 1280, height: 800 };

/** @type {string[]} */
const folders = [];
process.on('exit', () => { for (const made of folders) rmSync(made, { recursive: true, force: true }); });

/** A folder that is gone when the tests are over. */
export function folder() {
  const made = mkdtempSync(join(tmpdir(), 'needlesight-e2e-'));
  folders.push(made);
  return made;
}

/**
 * The server of the app, which can be stopped and started again at the same address.
 * @param {string} [from] a build to serve, instead of the one inside the program
 */
export async function serve(from = process.env.NEEDLESIGHT_FROM) {
  if (!existsSync(binary)) throw new Error(`${binary} is not there: run make build first`);
  const port = await freePort();
  const url = `http://127.0.0.1:${port}/`;
  const data = folder();
  const begin = () => run(binary, ['serve', '--here', '--data', data, '--port', String(port), ...(from ? ['--from', from] : [])], {}, folder());
  let server = begin();
  await server.answers(url);
  return {
    url,
    /** Ends the process, and makes sure that nobody answers any more. */
    async stop() {
      await server.end();
      await until(() => fetch(url).then(() => false, () => true), 'the server to be gone');
    },
    async start() { server = begin(); await server.answers(url); },
  };
}

/** @typedef {Awaited<ReturnType<typeof serve>>} Server */

/** A home whose name a browser finds, and whose authority it trusts. @typedef {{host: string, authority: string | null}} Known */

/** The first rule that fits counts, and the last but one keeps the browser off every network. @param {string} profile  @param {Known} [known] */
const chromiumArgs = (profile, known) => [
  '--headless=new', '--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking',
  '--disable-component-update', '--disable-sync', '--disable-dev-shm-usage', '--mute-audio', '--lang=en-GB', `--user-data-dir=${profile}`,
  `--host-resolver-rules=${known ? `MAP ${known.host} 127.0.0.1 , MAP localhost 127.0.0.1 , ` : ''}MAP * ~NOTFOUND , EXCLUDE 127.0.0.1`,
];

const drivers = {
  /** @param {number} port  @param {string} profile  @param {Known} [known] */
  chromium: (port, profile, known) => run('/usr/bin/chromedriver', [`--port=${port}`], known ? { HOME: trustingHome(profile, known) } : {}),
  /** @param {number} port  @param {string} profile  @param {Known} [known] */
  webkit: (port, profile, known) => {
    const [command, ...args] = [...(known ? trustingMounts(profile, known) : []), '/usr/bin/xvfb-run', '-a', '-s', '-screen 0 1400x1000x24', '/usr/bin/WebKitWebDriver', `--port=${port}`];
    return run(command, args, { WEBKIT_DISABLE_SANDBOX_THIS_IS_DANGEROUS: '1', WEBKIT_PROFILE: profile, LANG: 'en_GB.UTF-8', NO_AT_BRIDGE: '1' });
  },
};

/** @param {'chromium' | 'webkit'} kind  @param {string} profile  @param {string[]} more  @param {Known} [known] */
function capabilities(kind, profile, more, known) {
  if (kind === 'webkit') return new Capabilities({ browserName: 'WebKitWindow', 'webkitgtk:browserOptions': { binary: fileURLToPath(new URL('webkit-window.py', import.meta.url)), args: [] } });
  return new Capabilities({
    browserName: 'chrome',
    'goog:loggingPrefs': { browser: 'ALL' },
    'goog:chromeOptions': { binary: '/usr/bin/chromium', args: [...chromiumArgs(profile, known), ...more], prefs: { 'download.default_directory': join(profile, 'downloads') } },
  });
}

/**
 * A browser with a profile of its own. It can be killed and opened again with the same profile.
 * @param {'chromium' | 'webkit'} kind  @param {{size?: {width: number, height: number}, args?: string[], known?: Known}} [how]
 */
export async function browser(kind, { size = phone, args = [], known = undefined } = {}) {
  const profile = folder();
  const downloads = join(profile, 'downloads');
  mkdirSync(downloads);
  const port = await freePort();
  const driver = drivers[kind](port, profile, known);
  await driver.answers(`http://127.0.0.1:${port}/status`);
  /** @type {import('selenium-webdriver').WebDriver | null} */
  let session = null;

  /** The driver starts the browser; under Xvfb it is itself started by another. */
  const browserProcesses = () => descendants(kind === 'chromium' ? driver.pid : descendants(driver.pid).find((pid) => commandLine(pid)[0].endsWith('WebKitWebDriver')) ?? 0);

  return {
    kind, profile, downloads, browserProcesses,
    /** Opens a window at the address. @param {string} url */
    async open(url) {
      session = await new Builder().usingServer(`http://127.0.0.1:${port}`).withCapabilities(capabilities(kind, profile, args, known)).build();
      /** @type {any} */ (session).getExecutor().defineCommand('executeCdpCommand', 'POST', '/session/:sessionId/goog/cdp/execute');
      const person = new Person(session, kind);
      await person.resize(size);
      await session.get(url);
      return person;
    },
    /** kill -9 on everything the driver has started as a browser. */
    async kill() {
      const pids = browserProcesses();
      if (!pids.length) throw new Error('no browser process to kill');
      await kill(pids);
      await session?.quit().catch(() => {});
      session = null;
    },
    /** Ends browser and driver. */
    async close() {
      const pids = descendants(driver.pid);
      await Promise.race([session?.quit().catch(() => {}), new Promise((resolve) => { setTimeout(resolve, 3000).unref(); })]);
      await driver.end();
      await kill(pids.filter(alive));
    },
  };
}
