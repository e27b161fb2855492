// What the first visit costs on a slow phone: bytes as they come over the network, compressed, and the time
// until the first screen can be tapped, with the browser's processor slowed four times (CDP). Prints one
// figure a line, as the other benchmarks do.
//
//     node tests/browser/bench_page.mjs [--only NAME,…]
import { openBrowser, phone, serve } from './support/sample.mjs';

const names = ['page_size', 'page_whole', 'page_ready', 'page_again', 'page_answer'];
const at = process.argv.indexOf('--only');
const only = at < 0 || !process.argv[at + 1] ? names : process.argv[at + 1].split(',');
if (!names.some((name) => only.includes(name))) process.exit(0);

const slowdown = 4;
const visits = 5;
const server = await serve();

/** What comes over the network for the page itself; the service worker fetches by itself, afterwards. */
async function counted(context, page) {
  const devtools = await context.newCDPSession(page);
  const came = { bytes: 0 };
  devtools.on('Network.loadingFinished', ({ encodedDataLength }) => { came.bytes += encodedDataLength; });
  await devtools.send('Network.enable');
  await devtools.send('Emulation.setCPUThrottlingRate', { rate: slowdown });
  return came;
}

/** Milliseconds from the begin of the visit until what is named can be tapped, by the page's own clock. */
async function shownAfter(page, selector) {
  await page.locator(selector).first().waitFor();
  return page.evaluate(() => new Promise((resolve) => {
    requestAnimationFrame(() => setTimeout(() => resolve(performance.now())));
  }));
}

const median = (list) => [...list].sort((a, b) => a - b)[Math.floor(list.length / 2)];

const firstBytes = [];
const wholeBytes = [];
const first = [];
const later = [];
const answers = [];
for (let visit = 0; visit < visits; visit += 1) {
  const { context, page } = await openBrowser({ size: phone, at: null });
  const came = await counted(context, page);
  await page.goto(`${server.address}/`, { waitUntil: 'commit' });
  first.push(await shownAfter(page, '.stack .large'));
  firstBytes.push(came.bytes);
  await page.getByRole('button', { name: 'Kezhiru clinic', exact: true }).click();
  await page.locator('main > button.main').click();
  await page.locator('.stack .large').first().waitFor();
  await page.evaluate(() => navigator.serviceWorker.ready.then(() => undefined));
  const kept = await page.evaluate(async () => {
    const [name] = (await caches.keys()).filter((one) => one.startsWith('waybourne-'));
    const cache = await caches.open(name);
    return Promise.all((await cache.keys()).map(async (request) => {
      const answer = await cache.match(request);
      const length = Number(answer.headers.get('Content-Length'));
      return length || (await answer.arrayBuffer()).byteLength;
    }));
  });
  wholeBytes.push(kept.reduce((sum, bytes) => sum + bytes, 0));
  await page.reload({ waitUntil: 'commit' });
  later.push(await shownAfter(page, '.stack .large'));
  const began = await page.evaluate(() => performance.now());
  await page.getByRole('button', { name: 'She is having fits' }).click();
  answers.push((await shownAfter(page, '.where')) - began);
  await context.close();
}
await server.stop();

const round = (value) => Number(value.toFixed(1));
const against = `a browser's processor slowed ${slowdown} times`;
const kilobytes = (list) => round(median(list) / 1000);
const figures = [
  { name: 'page_size', what: 'what comes before the first useful screen, compressed', value: kilobytes(firstBytes), unit: 'KB', against: '', goal: '< 400', met: median(firstBytes) < 400_000, network: 'sample' },
  { name: 'page_whole', what: 'everything that a phone keeps, the core included, compressed, without the pack', value: kilobytes(wholeBytes), unit: 'KB', against: '', goal: '', network: 'sample' },
  { name: 'page_ready', what: 'first visit: until the first screen can be tapped', value: round(median(first)), unit: 'ms', goal: '< 2000', met: median(first) < 2000, against, network: 'sample' },
  { name: 'page_again', what: 'later visit: until the first screen can be tapped', value: round(median(later)), unit: 'ms', goal: '< 2000', met: median(later) < 2000, against, network: 'sample' },
  { name: 'page_answer', what: 'from the tap on a sign to what to do and where, with the server', value: round(median(answers)), unit: 'ms', goal: '', against, network: 'sample' },
];
for (const figure of figures.filter(({ name }) => only.includes(name))) console.log(JSON.stringify(figure));
process.exit(0); // without waiting for the test runner
