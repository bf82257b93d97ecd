// How a browser trusts a home the proper way, as a person would have it do: by the list of authorities that it reads. No flag makes it
// look away from a certificate, and nothing of the machine is changed.
import { execFileSync, spawnSync } from 'node:child_process';
import { appendFileSync, copyFileSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';

/** @typedef {import('./harness.mjs').Known} Known */

/** What WebKitGTK reads: its library has the path of the list built in. */
const bundle = '/etc/ssl/certs/ca-certificates.crt';

/**
 * A folder to be Chromium's HOME, with a list of authorities of its own in it (NSS). Without an authority the list is empty.
 * @param {string} profile  @param {Known} known
 */
export function trustingHome(profile, { authority }) {
  const home = join(profile, 'home');
  const store = join(home, '.pki', 'nssdb');
  mkdirSync(store, { recursive: true });
  execFileSync('certutil', ['-d', `sql:${store}`, '-N', '--empty-password']);
  if (authority) execFileSync('certutil', ['-d', `sql:${store}`, '-A', '-t', 'C,,', '-n', 'home', '-i', authority]);
  return home;
}

/** How a mount namespace is made here; outside of root that takes a user namespace. */
const unshare = ['unshare', '--mount', ...(process.getuid?.() === 0 ? [] : ['--map-root-user'])];

/** Whether this machine lets us mount what nobody else sees. */
export const mountsAllowed = () => spawnSync(unshare[0], [...unshare.slice(1), 'mount', '--bind', '/etc/hosts', '/etc/hosts']).status === 0;

/**
 * What stands before a command so that it sees a list of authorities and of names with the home's in it. Gone when it ends.
 * @param {string} profile  @param {Known} known
 */
export function trustingMounts(profile, { host, authority }) {
  const at = (/** @type {string} */ name) => join(profile, name);
  copyFileSync(bundle, at('authorities'));
  if (authority) appendFileSync(at('authorities'), `\n${readFileSync(authority, 'utf8')}`);
  writeFileSync(at('hosts'), `127.0.0.1 localhost ${host}\n`);
  return mounted(profile, [`mount --bind "$0/authorities" ${bundle}`, 'mount --bind "$0/hosts" /etc/hosts']);
}

/** What stands before a command so that it sees these mounts, and nobody else does. @param {string} folder  @param {string[]} mounts shell commands; "$0" is the folder */
export const mounted = (folder, mounts) => [...unshare, 'sh', '-c', `${mounts.join(' && ')} && exec "$@"`, folder];
