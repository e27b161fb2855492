// A new release of the page: fetched whole beside the old one, never in the middle of something, never half.
import assert from 'node:assert/strict';
import { createServer, request } from 'node:http';
import { after, before, test } from 'node:test';
import { openBrowser, serve, settleAt } from './support/sample.mjs';

let server;
let between;
/** What the release that is served next differs in. */
let next = null;

/** Stands between browser and server, and gives out the next release as a newer program would. */
function relay(asked, answer) {
  const { hostname, port } = new URL(server.address);
  // Whole and as it is, whatever the browser has of it.
  const headers = { ...asked.headers, 'accept-encoding': 'identity', 'if-none-match': '' };
  asked.pipe(request({ hostname, port, path: asked.url, method: asked.method, headers }, (from) => {
    if (next?.missing === asked.url) return void answer.writeHead(503).end(from.resume() && '');
    if (!next || !['/worker.js', '/page/texts/en.json'].includes(asked.url)) return void from.pipe(answer.writeHead(from.statusCode, from.headers));
    let text = '';
    from.setEncoding('utf8').on('data', (piece) => { text += piece; }).on('end', () => {
      const changed = text.replace(/("?version"?: *")[^"]+/, `$1${next.version}`).replace('What do you see?', `What do you see now (${next.version})?`);
      answer.writeHead(200, { 'Content-Type': from.headers['content-type'] }).end(changed);
    });
    return undefined;
  }));
}

before(async () => {
  server = await serve();
  between = createServer(relay);
  await new Promise((resolve) => between.listen(0, '127.0.0.1', resolve));
});
after(async () => {
  between.closeAllConnections();
  between.close();
  await server.stop();
});

/** A phone with the release of today; `look` asks whether there is a newer one, as it does whenever it is taken up again. */
async function phoneOfToday() {
  next = null;
  const { context, page, errors } = await openBrowser();
  const address = `http://127.0.0.1:${between.address().port}`;
  await settleAt(page, address);
  await page.evaluate(() => navigator.serviceWorker.ready.then(() => undefined));
  await page.reload(); // from here on this release answers
  await page.getByRole('heading', { name: 'What do you see?' }).waitFor();
  const look = () => page.evaluate(async () => {
    const registration = await navigator.serviceWorker.getRegistration();
    await registration.update().catch(() => {});
    const { installing } = registration;
    if (installing) await new Promise((resolve) => installing.addEventListener('statechange', resolve, { once: true }));
    return registration.waiting !== null;
  });
  return { context, page, errors, address, look };
}

test('A new release waits while a woman is on the screen, and takes over on the first screen', async () => {
  const { context, page, errors, address, look } = await phoneOfToday();
  await page.getByRole('button', { name: 'She is having fits' }).click();
  await page.locator('.where').waitFor();
  await page.evaluate(() => { globalThis.isTheSamePage = true; });
  next = { version: 'b' };
  assert.equal(await look(), true, 'it is there, whole, and waits');
  await page.waitForTimeout(500);
  assert.equal(await page.evaluate(() => globalThis.isTheSamePage), true, 'nothing is reloaded under her hands');
  assert.deepEqual(await page.evaluate(() => caches.keys().then((names) => names.filter((name) => name.startsWith('waybourne-')).length)), 2);
  await page.goto(`${address}/#/`);
  await page.getByRole('heading', { name: 'What do you see now (b)?' }).waitFor();
  await page.getByRole('link', { name: /Woman A/ }).waitFor(); // nothing is lost
  assert.deepEqual(await page.evaluate(() => caches.keys().then((names) => names.filter((name) => name.startsWith('waybourne-')))), ['waybourne-b']);
  await context.setOffline(true);
  await page.reload();
  await page.getByRole('heading', { name: 'What do you see now (b)?' }).waitFor();
  assert.deepEqual(errors, []);
  await context.close();
});

test('A release of which one part does not come is not taken, and the one before goes on, also without a connection', async () => {
  const { context, page, look } = await phoneOfToday();
  next = { version: 'c', missing: '/page/views/answer.js' };
  assert.equal(await look(), false);
  await context.setOffline(true);
  await page.reload();
  await page.getByRole('heading', { name: 'What do you see?' }).waitFor();
  await page.getByRole('button', { name: 'She is having fits' }).click();
  await page.locator('ol.steps li').first().waitFor();
  await context.close();
});
