// A real Chromium before the home of browser_test.go, which says where everything is in its one argument and reads
// what was seen from standard output. The authority is trusted as a person would have it trusted, in the browser's
// own store; no flag makes the browser look away from a certificate.
import { execFileSync } from 'node:child_process';
import { readFileSync, writeFileSync, mkdirSync } from 'node:fs';
import { createRequire } from 'node:module';
import { join } from 'node:path';

const require = createRequire(new URL('../../../pwa/package.json', import.meta.url));
const { Builder, By, until } = require('selenium-webdriver');
const chrome = require('selenium-webdriver/chrome.js');
const axe = readFileSync(require.resolve('axe-core/axe.min.js'), 'utf8');

const at = JSON.parse(process.argv[2]); // {welcome, ports: {home, evil, forged}, authority, folder, shots}
process.env.HOME = at.folder;
const iphone = 'Mozilla/5.0 (iPhone; CPU iPhone OS 18_0 like Mac OS X) AppleWebKit/605.1.15 (KHTML, like Gecko) Version/18.0 Mobile/15E148 Safari/604.1';

async function browser(profile) {
  const options = new chrome.Options();
  options.setBinaryPath('/usr/bin/chromium');
  options.addArguments('--headless=new', '--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking', '--disable-component-update',
    '--disable-sync', '--disable-dev-shm-usage', '--lang=en-GB', `--user-data-dir=${join(at.folder, profile)}`,
    // The first rule that fits counts, and the last but one keeps the browser off every network.
    '--host-resolver-rules=MAP localhost 127.0.0.1 , MAP needlesight.local 127.0.0.1 , MAP printer.local 127.0.0.1 , MAP evil.example.com 127.0.0.1 , MAP * ~NOTFOUND , EXCLUDE 127.0.0.1');
  const service = new chrome.ServiceBuilder('/usr/bin/chromedriver');
  return new Builder().forBrowser('chrome').setChromeOptions(options).setChromeService(service).build();
}

/** What opening an address came to: the page's own title, or the browser's word for why not. */
async function open(driver, url) {
  try {
    await driver.get(url);
    const refused = /ERR_[A-Z_]+/.exec(await driver.executeScript(`return location.protocol === 'chrome-error:' || document.title === 'Privacy error' ? document.documentElement.textContent : ''`));
    return refused?.[0] ?? await driver.getTitle();
  } catch (error) {
    return /net::(ERR_[A-Z_]+)/.exec(error.message)?.[1] ?? error.message;
  }
}

/** What the welcome page says of the device, once it has looked. */
async function welcome(driver) {
  await driver.get(at.welcome);
  return driver.executeAsyncScript(`const done = arguments[0]; const look = () => { const p = document.querySelector('[data-when]:not([hidden])'); p && !['checking', 'unknown'].includes(p.dataset.when) ? done(p.dataset.when) : setTimeout(look, 50); }; look();`);
}

async function size(driver, width, height, mobile) {
  await driver.sendDevToolsCommand('Emulation.setDeviceMetricsOverride', { width, height, deviceScaleFactor: mobile ? 2 : 1, mobile });
}

async function shot(driver, name) {
  writeFileSync(join(at.shots, `${name}.png`), await driver.takeScreenshot(), 'base64');
}

/** Looks at the page in all looks, and has axe-core go over it with everything opened. */
async function looks(driver, name) {
  const wrong = [];
  for (const [kind, width, height] of [['phone', 390, 844], ['desk', 1280, 800]]) {
    await size(driver, width, height, kind === 'phone');
    for (const scheme of ['light', 'dark']) {
      await driver.sendDevToolsCommand('Emulation.setEmulatedMedia', { features: [{ name: 'prefers-color-scheme', value: scheme }] });
      await driver.executeScript('scrollTo(0, 0)');
      await shot(driver, `${name}-${kind}-${scheme}`);
      const before = await driver.executeScript(`return [...document.querySelectorAll('details')].map((d) => { const was = d.open; d.open = true; return was; })`);
      const sideways = await driver.executeScript('return document.documentElement.scrollWidth - innerWidth');
      if (sideways > 0) wrong.push(`${name} ${kind} ${scheme}: ${sideways} px too wide`);
      const { violations } = await driver.executeAsyncScript(`const done = arguments[0]; ${axe}; axe.run(document, { rules: { 'color-contrast-enhanced': { enabled: true }, 'target-size': { enabled: true } } }).then(done)`);
      for (const v of violations) wrong.push(`${name} ${kind} ${scheme}: ${v.id}: ${v.nodes.map((n) => n.html).join(' ')}`);
      if (at.whole) {
        const height = await driver.executeScript('return document.documentElement.scrollHeight');
        await size(driver, width, height, kind === 'phone');
        await shot(driver, `${name}-${kind}-${scheme}-whole`);
        await size(driver, width, 844, kind === 'phone');
      }
      await driver.executeScript(`document.querySelectorAll('details').forEach((d, i) => { d.open = arguments[0][i]; })`, before);
    }
  }
  return wrong;
}

mkdirSync(at.shots, { recursive: true });
const home = `https://needlesight.local:${at.ports.home}/`;
const seen = {};

let driver = await browser('before');
try {
  seen.before = await open(driver, home);
  await driver.sendDevToolsCommand('Network.setUserAgentOverride', { userAgent: iphone });
  seen.welcomeBefore = await welcome(driver);
  seen.first = await driver.executeScript(`return document.querySelector('details.platform').id + ' ' + document.querySelector('details.platform').open`);
  seen.wrong = await looks(driver, 'untrusted');
  await driver.sendDevToolsCommand('Emulation.setTouchEmulationEnabled', { enabled: true, maxTouchPoints: 5 });
  await driver.sendDevToolsCommand('Network.setUserAgentOverride', { userAgent: 'Mozilla/5.0 (Macintosh; Intel Mac OS X 10_15_7) AppleWebKit/605.1.15 Version/18.0 Safari/605.1.15' });
  await welcome(driver);
  seen.tablet = await driver.executeScript(`return document.querySelector('details.platform').id + ' ' + document.querySelector('details.platform').open`);
} finally {
  await driver.quit();
}

const store = join(at.folder, '.pki', 'nssdb');
mkdirSync(store, { recursive: true });
execFileSync('certutil', ['-d', `sql:${store}`, '-N', '--empty-password']);
execFileSync('certutil', ['-d', `sql:${store}`, '-A', '-t', 'C,,', '-n', 'home', '-i', at.authority]);

driver = await browser('after');
try {
  seen.after = await open(driver, home);
  seen.secure = await driver.executeScript('return isSecureContext && "serviceWorker" in navigator');
  seen.byAddress = await open(driver, `https://127.0.0.1:${at.ports.home}/`);
  seen.localhost = await open(driver, `https://localhost:${at.ports.home}/`);
  seen.evil = await open(driver, `https://evil.example.com:${at.ports.evil}/`);
  seen.forged = await open(driver, `https://printer.local:${at.ports.forged}/`);
  seen.welcomeAfter = await welcome(driver);
  seen.next = await driver.executeScript(`return [document.querySelector('#steps > :first-child').id, document.querySelectorAll('details.platform[open]').length, document.querySelector('h1:not([hidden] *)').textContent].join(' ')`);
  seen.wrong.push(...await looks(driver, 'trusted'));
  await driver.findElement(By.id('open')).click();
  await driver.wait(until.titleIs('home'), 5000);
  seen.handedOver = await driver.getCurrentUrl();
  await driver.sendDevToolsCommand('Emulation.setScriptExecutionDisabled', { value: true });
  await driver.get(at.welcome);
  seen.withoutScript = await driver.findElement(By.css('[data-when="unknown"]')).isDisplayed() && await driver.findElement(By.id('open')).isDisplayed();
} finally {
  await driver.quit();
}
console.log(JSON.stringify(seen));
