// What the first visit costs on a slow phone: bytes over the wire, and how long until the first screen can be
// used, the browser's processor slowed four times (CDP). Prints one figure a line, as the other benchmarks do.
//
//     node tests/browser/bench_page.mjs [--only NAME,…]
import { openBrowser, phone, serve } from './support/sample.mjs';

const names = ['page_size', 'page_ready'];
const at = process.argv.indexOf('--only');
const only = at < 0 || !process.argv[at + 1] ? names : process.argv[at + 1].split(',');
if (!names.some((name) => only.includes(name))) process.exit(0);

const slowdown = 4;
const visits = 7;
const server = await serve();

/** One first visit: nothing is known to the browser. */
async function visit() {
  const { context, page } = await openBrowser({ size: phone });
  const devtools = await context.newCDPSession(page);
  await devtools.send('Network.enable');
  await devtools.send('Emulation.setCPUThrottlingRate', { rate: slowdown });
  let bytes = 0;
  devtools.on('Network.loadingFinished', ({ encodedDataLength }) => { bytes += encodedDataLength; });
  const begin = Date.now();
  await page.goto(server.address, { waitUntil: 'commit' });
  // The first screen asks where the phone is: it can be pressed.
  const place = page.getByRole('button', { name: 'Kezhiru clinic' });
  await place.waitFor();
  await place.click();
  await page.locator('h1').filter({ hasNotText: 'Where' }).waitFor();
  const ready = Date.now() - begin;
  const firstScreen = bytes;
  await context.close();
  return { ready, firstScreen };
}

const seen = [];
for (let i = 0; i < visits; ++i) seen.push(await visit());
await server.stop();

const median = (name) => seen.map((one) => one[name]).sort((a, b) => a - b)[Math.floor(visits / 2)];
const kilobytes = (name) => Number((median(name) / 1000).toFixed(1));
const slow = `a browser's processor slowed ${slowdown} times`;
const figures = [
  { name: 'page_size', what: 'first visit, until the first screen has been used, compressed', value: kilobytes('firstScreen'), unit: 'KB', against: '', goal: '< 400', met: median('firstScreen') < 400_000, network: 'sample' },
  { name: 'page_ready', what: 'until the first screen has been used, median of 7', value: median('ready'), unit: 'ms', against: slow, goal: '< 2000', met: median('ready') < 2000, network: 'sample' },
];
for (const figure of figures.filter(({ name }) => only.includes(name))) console.log(JSON.stringify(figure));
