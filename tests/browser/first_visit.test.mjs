// What the first visit costs on a cheap phone's data plan; how long it takes is measured by `npm run bench`.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { openBrowser, serve } from './support/sample.mjs';

let server;
before(async () => { server = await serve(); });
after(() => server.stop());

/** Written down by the page itself at the moment at which the first place can be tapped. */
function noteWhatCame() {
  const watch = new MutationObserver(() => {
    if (!document.querySelector('.stack .large')) return;
    watch.disconnect();
    const came = [...performance.getEntriesByType('navigation'), ...performance.getEntriesByType('resource')];
    globalThis.cameFirst = came.map(({ name, transferSize }) => [name, transferSize]);
  });
  watch.observe(document, { childList: true, subtree: true });
}

test('Before the first screen less than 400 KB come over the network, neither the core nor the pack among them', async () => {
  const { context, page } = await openBrowser({ serviceWorkers: 'block', at: null });
  await context.addInitScript(noteWhatCame);
  await page.goto(`${server.address}/`);
  await page.getByRole('button', { name: 'Kezhiru clinic', exact: true }).waitFor();
  const came = await page.evaluate(() => globalThis.cameFirst);
  const bytes = came.reduce((sum, [, size]) => sum + size, 0);
  assert.ok(bytes > 20_000 && bytes < 400_000, `${bytes} bytes`);
  assert.deepEqual(came.filter(([url]) => /waybourne\.wasm|\/v1\/pack$/.test(url)), []);
  await context.close();
});
