// The whole story by touch, in both browsers: install, no server, count, verdict, the browser killed, all there.
import { describe, test } from 'node:test';
import { browser, browsers, serve } from './harness.mjs';
import { story } from './story.mjs';

// Both browsers at once: each has a core to itself.
describe('a day without network', { concurrency: true }, () => {
  for (const kind of browsers) test(`${kind}: a maker counts with no network, reads what to change, and finds it all after the browser was killed`, async (t) => {
    const [server, window] = await Promise.all([serve(), browser(kind)]);
    t.after(() => Promise.all([window.close(), server.stop()]));
    await story(window, server);
  });
});
