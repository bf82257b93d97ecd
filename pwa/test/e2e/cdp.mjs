// Chromium's own protocol, for what WebDriver cannot reach: the workers of a page.
import WebSocket from 'ws';

/** Speaks with a browser at this address of the debugger ("127.0.0.1:9222"). @param {string} address */
export async function cdp(address) {
  const { webSocketDebuggerUrl } = /** @type {any} */ (await (await fetch(`http://${address}/json/version`)).json());
  const socket = new WebSocket(webSocketDebuggerUrl, { perMessageDeflate: false });
  await new Promise((resolve, reject) => { socket.once('open', resolve); socket.once('error', reject); });
  let asked = 0;
  /** @type {Map<number, {done: (value: any) => void, failed: (error: Error) => void}>} */
  const waiting = new Map();
  /** @type {Map<string, any>} every target seen, by its session */
  const targets = new Map();
  socket.on('message', (data) => {
    const message = JSON.parse(String(data));
    if (message.method === 'Target.attachedToTarget') attached(message.params);
    if (message.method === 'Target.detachedFromTarget') targets.delete(message.params.sessionId);
    const asker = waiting.get(message.id);
    waiting.delete(message.id);
    if (message.error) asker?.failed(new Error(message.error.message)); else asker?.done(message.result);
  });

  /** @param {string} method  @param {Record<string, unknown>} [params]  @param {string} [sessionId] @returns {Promise<any>} */
  function send(method, params = {}, sessionId = undefined) {
    return new Promise((done, failed) => {
      waiting.set(++asked, { done, failed });
      socket.send(JSON.stringify({ id: asked, method, params, sessionId }));
    });
  }

  /** A target's own workers are attached as they come. @param {{sessionId: string, targetInfo: any}} found */
  function attached({ sessionId, targetInfo }) {
    targets.set(sessionId, targetInfo);
    send('Target.setAutoAttach', { autoAttach: true, waitForDebuggerOnStart: false, flatten: true }, sessionId).catch(() => {});
  }
  await send('Target.setAutoAttach', { autoAttach: true, waitForDebuggerOnStart: false, flatten: true });

  return {
    send,
    /** The session of the newest target whose type and address fit, or undefined. @param {string} type  @param {RegExp} url */
    find: (type, url) => [...targets].findLast(([, info]) => info.type === type && url.test(info.url))?.[0],
    targets: () => [...targets.values()],
    /** @param {string} session  @param {string} expression @returns {Promise<any>} */
    async evaluate(session, expression) {
      const { result, exceptionDetails } = await send('Runtime.evaluate', { expression, awaitPromise: true, returnByValue: true }, session);
      if (exceptionDetails) throw new Error(exceptionDetails.exception?.description ?? exceptionDetails.text);
      return result.value;
    },
    close: () => socket.close(),
  };
}
