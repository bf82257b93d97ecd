// Stands between a browser and the server and counts what comes over the wire, headers and all. What is refused is never asked of the server.
import { createServer, connect } from 'node:net';

const refusal = 'HTTP/1.1 503 Service Unavailable\r\nContent-Length: 0\r\nConnection: close\r\n\r\n';

/** @param {number} port  of the server  @param {RegExp} [refused] paths @returns {Promise<{url: string, came: {at: number, bytes: number}[], close: () => void}>} `at` is in ms since 1970 */
export function wire(port, refused = /^$/) {
  /** @type {{at: number, bytes: number}[]} */
  const came = [];
  const server = createServer((browser) => {
    const home = connect(port, '127.0.0.1');
    home.on('data', (data) => { came.push({ at: performance.timeOrigin + performance.now(), bytes: data.length }); browser.write(data); });
    browser.on('data', (data) => {
      const path = /^GET (\S+)/.exec(String(data))?.[1] ?? '';
      // The server answers only to its own address, and asks where the page that asks came from.
      if (refused.test(path)) browser.end(refusal); else home.write(data.toString('latin1').replaceAll(`127.0.0.1:${own()}`, `127.0.0.1:${port}`), 'latin1');
    });
    for (const [one, other] of [[browser, home], [home, browser]]) { one.on('end', () => other.end()); one.on('error', () => other.destroy()); }
  });
  const own = () => /** @type {import('node:net').AddressInfo} */ (server.address()).port;
  return new Promise((resolve) => {
    server.listen(0, '127.0.0.1', () => resolve({ url: `http://127.0.0.1:${own()}/`, came, close: () => server.close() }));
  });
}
