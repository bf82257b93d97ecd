// Pairing this device with a home, and what a paired device may ask of it: the devices there, a code for another one.
import { askJSON } from './api.js';
import { fail } from './codes.js';
import { words } from './fields.js';
import { minute } from './ids.js';
import { forgetHome, keepHome, knownHome, needHome, renewHome } from './known-home.js';
import { begin, end, over } from './link.js';
import { noteMakers } from './makers.js';

/**
 * @typedef {{id: string, name: string, added: string, seen: string, struck: boolean | string, here: boolean, you: boolean, makes: string[]}} Device
 */

/** A code as it is sent: how people write and say it is not looked at. @param {unknown} code */
const digits = (code) => String(code ?? '').replace(/[\s\p{Pd}]/gu, '');

/** Pairs this device with the home that this app came from. @param {{code: string, name: string}} what */
export async function pair({ code, name }) {
  const called = words(name, 'name');
  if (!called) fail('name-empty', { at: 'name' });
  const { device, token, home } = await askJSON(null, 'pair', { method: 'POST', json: { code: digits(code), name: called } });
  const { name: home_name, origins, addresses, house_port } = home;
  const before = await knownHome();
  const now = { id: device, token, called, name: home_name, origins, addresses, house_port, paired: minute() };
  await end();
  await keepHome(now);
  over();
  await begin();
  // What this device was there until now would stay in the list, with a token that nobody holds any more. Another home does not know it.
  if (before && !before.struck) await askJSON(now, `devices/${before.id}/strike`, { method: 'POST', json: {}, ms: 4000 }).catch(() => {});
  return { home: { name: home_name } };
}

/** Forgets home. What is on this device stays; home strikes the device off if it can be asked. */
export async function unpair() {
  const home = await needHome();
  await end();
  const told = await askJSON(home, `devices/${home.id}/strike`, { method: 'POST', json: {}, ms: 4000 }).then(() => true, () => false);
  await forgetHome();
  over();
  await begin();
  return { told };
}

/** @returns {Promise<{devices: Device[]}>} */
export async function devices() {
  const told = await askJSON(await needHome(), 'devices');
  await noteMakers(told.devices).catch(() => {}); // a history can then name them with no home near
  return told;
}

/** @param {{id: string, name: string}} what */
export async function renameDevice({ id, name }) {
  const home = await needHome();
  const called = words(name, 'name');
  if (!called) fail('name-empty', { at: 'name' });
  await askJSON(home, `devices/${encodeURIComponent(id)}`, { method: 'POST', json: { name: called } });
  if (id === home.id) { await renewHome(home.token, { called }); await begin(); }
  return devices();
}

/** @param {{id: string}} what */
export async function strikeDevice({ id }) {
  await askJSON(await needHome(), `devices/${encodeURIComponent(id)}/strike`, { method: 'POST', json: {} });
  return devices();
}

/** A code for another device, and where it is used. @returns {Promise<{code: string, expires_s: number, app: string, here: string, welcome: string, qr: string[], welcome_qr: string[]}>} */
export async function newCode() { return askJSON(await needHome(), 'code', { method: 'POST', json: {} }); }
