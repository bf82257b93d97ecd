// Lets node find what the build will put into lib/: import this before anything of the app. A module of the app imported with
// ?tab=2 gets its own copy of everything it imports, as another tab would.
import 'fake-indexeddb/auto';
import { register } from 'node:module';

register('data:text/javascript,' + encodeURIComponent(`
const libs = { 'idb.js': 'idb', 'fflate.js': 'fflate', 'lit-html.js': 'lit-html' };
export async function resolve(specifier, context, next) {
  const lib = /\\/lib\\/([^/]+)$/.exec(specifier)?.[1];
  if (lib && libs[lib] && specifier.startsWith('.')) return next(libs[lib], { ...context, parentURL: ${JSON.stringify(import.meta.url)} });
  const found = await next(specifier, context);
  const tab = /[?]tab=.*$/.exec(context.parentURL ?? '')?.[0];
  return tab && specifier.startsWith('.') ? { ...found, url: found.url + tab } : found;
}`));
