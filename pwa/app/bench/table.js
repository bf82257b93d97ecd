// Everything a page can ask the bench, by name.
import * as intents from './intents.js';
import { draft, drafts } from './drafts.js';
import { call, start } from './engine.js';
import { fail } from './codes.js';
import { limits } from './limits.js';
import { setting, settings } from './settings.js';
import { pad } from './views/pad.js';
import { projects } from './views/projects.js';
import { isPaired, none, woke } from './wake.js';

/** What each screen needs, ready to show; the head of each file says the shape. Those that are not needed to count are loaded when asked for. */
export const views = {
  projects, pad,
  home: async () => (await isPaired() ? (await import('./link.js')).view() : none),
  pictures: later(() => import('./pictures.js'), 'pictures'),
  loose: later(() => import('./views/loose.js'), 'loose'),
  bin: later(() => import('./views/bin.js'), 'bin'),
  suggestions: later(() => import('./views/suggestions.js'), 'suggestions'),
  project: later(() => import('./views/project.js'), 'project'),
  readings: later(() => import('./views/readings.js'), 'readings'),
  verdict: later(() => import('./views/verdict.js'), 'verdict'),
  workings: later(() => import('./views/workings.js'), 'workings'),
  checks: later(() => import('./views/checks.js'), 'checks'),
  history: later(() => import('./views/history.js'), 'history'),
  photo: later(() => import('./views/photo.js'), 'photo'),
  outline: later(() => import('./views/photo.js'), 'outline'),
  print: later(() => import('./views/print.js'), 'print'),
  pins: later(() => import('./views/pins.js'), 'pins'),
  forms: later(() => import('./views/forms.js'), 'forms'),
  form: later(() => import('./views/forms.js'), 'form'),
  lay: later(() => import('./views/forms.js'), 'lay'),
  propose: later(() => import('./views/forms.js'), 'propose'),
  bag: later(() => import('./views/wool.js'), 'bag'),
  wool: later(() => import('./views/wool.js'), 'wool'),
  hand: later(() => import('./views/wool.js'), 'hand'),
  group: later(() => import('./views/wool.js'), 'group'),
  wire: later(() => import('./views/wool.js'), 'wire'),
  order: later(() => import('./views/order.js'), 'order'),
};

/**
 * A function of a module that is loaded when it is first called.
 * @template {Record<string, any>} Module  @template {keyof Module} Name
 * @param {() => Promise<Module>} load  @param {Name} name @returns {Module[Name]}
 */
function later(load, name) {
  return /** @type {any} */ (async (/** @type {any} */ params) => (await load().catch((/** @type {unknown} */ error) => fail('second-half', {}, error)))[name](params));
}

const { newProject, addParts, addPlace, addPiece, set, bin: binIt, strike, startSitting, keepReading, firstReading, loosePart, give, keepCheck, choose } = intents;

/** How much of the store is used, whether the browser has promised to keep it, and the largest file that can be taken in, all in bytes. */
async function storage() {
  const manager = globalThis.navigator?.storage;
  const { usage = null, quota = null } = await manager?.estimate?.() ?? {};
  return { persisted: await manager?.persisted?.() ?? false, usage, quota, import_limit: limits.file };
}

export const methods = {
  newProject, addParts, addPlace, addPiece, set, bin: binIt, strike, startSitting, keepReading, firstReading, loosePart, give, keepCheck, choose,
  draft, drafts, setting, settings, storage,
  addForms: later(() => import('./forms.js'), 'addForms'),
  addWool: later(() => import('./forms.js'), 'addWool'),
  addGroup: later(() => import('./forms.js'), 'addGroup'),
  weigh: later(() => import('./forms.js'), 'weigh'),
  tryWeighing: later(() => import('./forms.js'), 'tryWeighing'),
  tick: later(() => import('./forms.js'), 'tick'),
  addDemo: later(() => import('../demo/demo.js'), 'addDemo'),
  export: later(() => import('./files.js'), 'exportFile'),
  importPreview: later(() => import('./files.js'), 'importPreview'),
  importApply: later(() => import('./files.js'), 'importApply'),
  stop: later(() => import('./progress.js'), 'stop'),
  pair: later(() => import('./pair.js'), 'pair'),
  unpair: later(() => import('./pair.js'), 'unpair'),
  devices: later(() => import('./pair.js'), 'devices'),
  renameDevice: later(() => import('./pair.js'), 'renameDevice'),
  strikeDevice: later(() => import('./pair.js'), 'strikeDevice'),
  newCode: later(() => import('./pair.js'), 'newCode'),
  tryNow: later(() => import('./link.js'), 'tryNow'),
  addPicture: later(() => import('./pictures.js'), 'addPicture'),
  pictureBytes: later(() => import('./pictures.js'), 'pictureBytes'),
  along: later(() => import('./pictures.js'), 'along'),
  look: later(() => import('./photo-engine.js'), 'look'),
  lookStop: later(() => import('./photo-engine.js'), 'lookStop'),
  keepPins: later(() => import('./pins.js'), 'keepPins'),
  keepOutline: later(() => import('./pins.js'), 'keepOutline'),
  woke,
  /** @param {{name: keyof typeof views} & Record<string, any>} what */
  view: (what) => (Object.hasOwn(views, what.name) ? views[what.name](/** @type {any} */ (what)) : fail('no-such-method', { method: `view ${what.name}` })),
  /** A question straight to the engine. @param {{method: any, request: any}} what */
  engine: ({ method, request }) => call(method, request),
  /** Starts the engine without asking anything. */
  warm: async () => { await start().ready; },
};
