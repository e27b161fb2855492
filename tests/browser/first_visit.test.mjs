// What the first visit costs on a cheap phone's data plan; how long it takes is measured by `npm run bench`.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { openBrowser, serve } from './support/sample.mjs';

let server;
before(async () => { server = await serve(); });
after(() => server.stop());

test('Before the first screen less than 400 KB come over the network, neither the core nor the pack among them', async () => {
  const { context, page, requests } = await openBrowser({ serviceWorkers: 'block' });
  const devtools = await context.newCDPSession(page);
  let bytes = 0;
  devtools.on('Network.loadingFinished', ({ encodedDataLength }) => { bytes += encodedDataLength; });
  await devtools.send('Network.enable');
  await page.goto(`${server.address}/`);
  await page.getByRole('button', { name: 'Kezhiru clinic', exact: true }).waitFor();
  const [came, asked] = [bytes, [...requests]];
  assert.ok(came > 20_000 && came < 400_000, `${came} bytes`);
  assert.deepEqual(asked.filter((url) => /waybourne\.wasm|\/v1\/pack$/.test(url)), []);
  await context.close();
});
