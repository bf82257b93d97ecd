// What a person does before a screen: looks, taps, slides, types. Everything waits for what it needs and for no longer.
import assert from 'node:assert/strict';
import webdriver from 'selenium-webdriver';
import { Command, Name } from 'selenium-webdriver/lib/command.js';
import { until } from './processes.mjs';

const { Key } = webdriver;

/**
 * What is looked for: a CSS selector, a text it shows (or is called by), or both.
 * @typedef {string | {css?: string, text?: string | RegExp, nth?: number}} Target
 */

/** Runs in the page: finds what a person could see, brings it into view, and says where a finger would land on it. */
const SPOT = `
  const [css, text, source, flags, nth, reach] = arguments;
  const pattern = source === null ? null : new RegExp(source, flags);
  const tidy = (words) => (words ?? '').replace(/\\s+/g, ' ').trim();
  const called = (e) => [tidy(e.innerText), tidy(e.getAttribute('aria-label')), tidy(e.labels?.[0]?.innerText), tidy(e.placeholder)];
  const fits = (e) => pattern ? called(e).some((name) => pattern.test(name)) : text === null || called(e).includes(tidy(text));
  const seen = (e) => e.checkVisibility({ checkVisibilityCSS: true, opacityProperty: true }) && e.getClientRects().length > 0;
  const open = [...document.querySelectorAll('dialog:modal')].at(-1) ?? document;
  const found = [...open.querySelectorAll(css)].filter((e) => seen(e) && fits(e));
  const e = nth < 0 ? found.at(nth) : found[nth];
  if (!e) return { missing: 'not there', there: [...open.querySelectorAll('button, a, input, select')].filter(seen).map((b) => called(b).find(Boolean)).join(' | ') };
  if (!reach) return { x: 0, y: 0, text: tidy(e.innerText), name: called(e).find(Boolean) ?? '' };
  if (e.disabled) return { missing: 'disabled' };
  const lies = (block) => {
    if (block) e.scrollIntoView({ block, inline: 'nearest', behavior: 'instant' });
    const box = e.getBoundingClientRect();
    const x = Math.round(box.x + box.width / 2), y = Math.round(box.y + box.height / 2);
    const top = document.elementFromPoint(x, y);
    return top && (e === top || e.contains(top) || [...(e.labels ?? [])].some((l) => l.contains(top))) ? { x, y, width: box.width, height: box.height, text: tidy(e.innerText) } : null;
  };
  return lies() ?? lies('center') ?? lies('end') ?? lies('start') ?? { missing: 'covered, or out of reach' };
`;

export class Person {
  /** @param {import('selenium-webdriver').WebDriver} driver  @param {'chromium' | 'webkit'} kind */
  constructor(driver, kind) { this.driver = driver; this.kind = kind; }

  /** @param {string | Function} script  @param {...unknown} args @returns {Promise<any>} */
  js(script, ...args) { return this.driver.executeScript(script, ...args); }

  /** An answer that the page gives later. The script's last argument is who to tell. @param {string} script  @param {...unknown} args @returns {Promise<any>} */
  async later(script, ...args) {
    const answer = await this.driver.executeAsyncScript(`const args = [...arguments], done = args.pop(); (async () => { ${script} })().then((value) => done({ value }), (error) => done({ error: String(error?.stack ?? error) }));`, ...args);
    if (answer.error) throw new Error(answer.error);
    return answer.value;
  }

  /** Chromium's own commands. @param {string} method  @param {Record<string, unknown>} [params] @returns {Promise<any>} */
  cdp(method, params = {}) { return /** @type {any} */ (this.driver).execute(new Command('executeCdpCommand').setParameter('cmd', method).setParameter('params', params)); }

  /** Where Chromium's debugger listens. @returns {Promise<string>} */
  async debuggerAddress() { return (await this.driver.getCapabilities()).get('goog:chromeOptions').debuggerAddress; }

  /** @param {{width: number, height: number}} size */
  async resize({ width, height }) {
    if (this.kind === 'chromium') {
      await this.cdp('Emulation.setDeviceMetricsOverride', { width, height, deviceScaleFactor: 1, mobile: width < 600 });
      await this.cdp('Emulation.setTouchEmulationEnabled', { enabled: width < 600 });
    } else {
      await this.driver.manage().window().setRect({ width, height });
      await until(async () => (await this.js('return innerWidth')) === width, `a window ${width} px wide`);
    }
  }

  /** Light or dark. @param {'light' | 'dark'} look */
  async look(look) {
    if (this.kind === 'chromium') await this.cdp('Emulation.setEmulatedMedia', { features: [{ name: 'prefers-color-scheme', value: look }] });
    else await this.js('document.documentElement.dataset.theme = arguments[0]', look); // WebKitGTK takes its scheme from the desk's theme
  }

  /** Goes to a screen of the app by its address, and waits until the one before is gone. @param {string} hash */
  async to(hash) {
    const old = await this.js(`const name = (hash) => hash.split(/[/?]/)[1] ?? ''; const old = document.querySelector('main h1');
      window.left = old && name(location.hash) !== name(arguments[0]) ? old : null; location.hash = arguments[0]; return Boolean(window.left)`, hash);
    if (old) await this.until(() => this.js('return !window.left.isConnected'), `${hash} to open`);
  }

  /** @param {Target} target  @param {boolean} reach  @param {number} [ms] */
  async spot(target, reach, ms) {
    const { css = '*', text = null, nth = 0 } = typeof target === 'string' ? { css: target } : target;
    const pattern = text instanceof RegExp ? text : null;
    let last;
    let before = '';
    try {
      return await until(async () => {
        last = await this.js(SPOT, css, pattern ? null : text, pattern?.source ?? null, pattern?.flags ?? '', nth, reach);
        // What still moves is not tapped yet: it would be gone from under the finger.
        const now = `${last.x},${last.y}`;
        const still = !reach || now === before;
        before = now;
        return last.missing || !still ? null : last;
      }, '', ms);
    } catch (error) {
      throw new Error(`${JSON.stringify({ css, text: String(text), nth })}: ${last?.missing ?? /** @type {Error} */ (error).message}${last?.there ? `; there are: ${last.there}` : ''}\n--- on screen:\n${await this.text().catch(() => 'no page')}`);
    }
  }

  /** Waits until it is there, and says what it shows. @param {Target} target  @param {number} [ms] @returns {Promise<string>} */
  async see(target, ms) { return (await this.spot(target, false, ms)).text; }

  /** Waits until it is nowhere. @param {Target} target */
  async miss(target) {
    const { css = '*', text = null } = typeof target === 'string' ? { css: target } : target;
    const pattern = text instanceof RegExp ? text : null;
    await until(async () => (await this.js(SPOT, css, pattern ? null : text, pattern?.source ?? null, pattern?.flags ?? '', 0, false)).missing, `${JSON.stringify(target)} to be gone`);
  }

  /** All the words on the screen. @returns {Promise<string>} */
  text() { return this.js('return document.body.innerText'); }

  /** Waits until it is so; when it never is, says what was on the screen. @template T @param {() => Promise<T>} ask @param {string} what @param {number} [ms] */
  async until(ask, what, ms) {
    try {
      return await until(ask, what, ms);
    } catch (error) { throw new Error(`${/** @type {Error} */ (error).message}\n--- on screen:\n${await this.text().catch(() => 'no page')}`, { cause: error }); }
  }

  /** Waits until the screen says this. @param {string | RegExp} words  @param {number} [ms] */
  reads(words, ms) {
    return this.until(async () => { const text = (await this.text()).replace(/\s+/g, ' '); return typeof words === 'string' ? text.includes(words) : words.test(text); }, `the words ${words}`, ms);
  }

  /** One finger. WebKitGTK's driver knows no touch and makes a mouse of it; the page hears pointer events either way. @param {object[]} actions */
  async finger(actions) {
    const command = new Command(Name.ACTIONS).setParameter('actions', [{ type: 'pointer', id: 'finger', parameters: { pointerType: 'touch' }, actions }]);
    await /** @type {any} */ (this.driver).execute(command);
  }

  /** @param {Target} target  @param {number} [times] */
  async tap(target, times = 1) {
    const { x, y } = await this.spot(target, true);
    const once = [{ type: 'pointerDown', button: 0 }, { type: 'pause', duration: 12 }, { type: 'pointerUp', button: 0 }, { type: 'pause', duration: 12 }];
    await this.finger([{ type: 'pointerMove', duration: 0, x, y }, ...Array.from({ length: times }, () => once).flat()]);
  }

  /** A finger that stays. @param {Target} target  @param {number} [ms] */
  async hold(target, ms = 800) {
    const { x, y } = await this.spot(target, true);
    await this.finger([{ type: 'pointerMove', duration: 0, x, y }, { type: 'pointerDown', button: 0 }, { type: 'pause', duration: ms }, { type: 'pointerUp', button: 0 }]);
  }

  /** A finger that slides, up when it is positive, and rests before it is lifted: one that flings makes Chromium ignore the next tap. @param {Target} target  @param {number} up  @param {number} [right] */
  async slide(target, up, right = 0) {
    const { x, y } = await this.spot(target, true);
    const steps = Array.from({ length: 6 }, (_, i) => ({ type: 'pointerMove', duration: 16, x: Math.round(x + (right * (i + 1)) / 6), y: Math.round(y - (up * (i + 1)) / 6) }));
    await this.finger([{ type: 'pointerMove', duration: 0, x, y }, { type: 'pointerDown', button: 0 }, ...steps, { type: 'pause', duration: 80 }, { type: 'pointerUp', button: 0 }]);
  }

  /** Keys one after another, each one character or one of selenium's Key. @param {...string} keys */
  async press(...keys) {
    const actions = keys.flatMap((key) => [...key].flatMap((value) => [{ type: 'keyDown', value }, { type: 'keyUp', value }]));
    await /** @type {any} */ (this.driver).execute(new Command(Name.ACTIONS).setParameter('actions', [{ type: 'key', id: 'keys', actions }]));
  }

  /** @param {string} modifier  @param {string} key */
  async chord(modifier, key) {
    const actions = [{ type: 'keyDown', value: modifier }, { type: 'keyDown', value: key }, { type: 'keyUp', value: key }, { type: 'keyUp', value: modifier }];
    await /** @type {any} */ (this.driver).execute(new Command(Name.ACTIONS).setParameter('actions', [{ type: 'key', id: 'keys', actions }]));
  }

  /** Taps a field, empties it and types. @param {Target} field  @param {string} words */
  async type(field, words) {
    await this.tap(field);
    await this.js('document.activeElement.select?.()');
    await this.press(words);
  }

  /** Chooses in a list by the words shown. @param {string} css  @param {string | RegExp} words */
  async choose(css, words) {
    await this.see(css);
    const value = await this.js(`const [css, words, source] = arguments; const list = document.querySelector(css); const one = [...list.options].find((o) => source ? new RegExp(source).test(o.text) : o.text === words); if (!one) return null; list.value = one.value; list.dispatchEvent(new Event('input', { bubbles: true })); list.dispatchEvent(new Event('change', { bubbles: true })); return one.text;`,
      css, String(words), words instanceof RegExp ? words.source : null);
    assert.ok(value, `no choice ${words} in ${css}`);
  }

  /** What has the focus: its names, and whether one sees that it has it. A field that is drawn by what stands beside it may show it there. @returns {Promise<{tag: string, names: string[], visible: boolean}>} */
  focus() {
    return this.js(`const e = document.activeElement; const tidy = (w) => (w ?? '').replace(/\\s+/g, ' ').trim();
      const ring = (one) => { if (!one) return false; const style = getComputedStyle(one); return style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) > 0; };
      return { tag: e.tagName, names: [e.dataset.testid ?? '', e.name ?? '', tidy(e.getAttribute('aria-label')), ...[...(e.labels ?? [])].map((l) => tidy(l.innerText)), tidy(e.innerText).slice(0, 90)].filter(Boolean),
        visible: e.matches(':focus-visible') && (ring(e) || ring(e.nextElementSibling) || ring(e.closest('label'))) }`);
  }

  /** Presses Tab until this has the focus, and sees at every stop which thing has it. @param {string | RegExp} name  @param {string} [key] */
  async tabTo(name, key = Key.TAB) {
    const fits = (/** @type {string} */ one) => (typeof name === 'string' ? one === name : name.test(one));
    /** @type {string[]} */
    const passed = [];
    for (let n = 0; n < 80; n++) {
      const at = await this.focus();
      if (n > 0 && !at.visible && at.tag !== 'BODY' && at.tag !== 'HTML') throw new Error(`one cannot see that ${at.tag} ${at.names.join(' / ')} has the focus`);
      if (at.names.some(fits)) return;
      passed.push(at.names[0] ?? at.tag);
      await this.press(key);
    }
    throw new Error(`no way to ${name} by Tab; there were: ${passed.join(' | ')}`);
  }

  /** Waits until the app is served by its own worker, installed whole. */
  async installed() {
    await until(() => this.later('const r = await navigator.serviceWorker.getRegistration(); return Boolean(r?.active && r.active.state === "activated" && !r.installing)'), 'the service worker to be installed', 30_000);
  }

  /** Faults the browser wrote down since last asked: script errors, refusals of the security policy. Chromium only; WebKitGTK's driver keeps no log. @returns {Promise<string[]>} */
  async faults() {
    if (this.kind !== 'chromium') return [];
    const log = await this.driver.manage().logs().get('browser');
    return log.filter((entry) => entry.level.name === 'SEVERE' || /Content Security Policy/.test(entry.message)).map((entry) => entry.message).filter((message) => !/net::ERR_(CONNECTION_(REFUSED|RESET|CLOSED)|EMPTY_RESPONSE|SOCKET_NOT_CONNECTED|INTERNET_DISCONNECTED)|An unknown error occurred when fetching the script/.test(message));
  }
}
