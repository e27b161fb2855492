// How long the core takes on a slow phone: the browser's processor slowed four times (CDP), the core on the
// main thread, since only that is slowed. Prints one figure a line, as the other benchmarks do.
//
//     node tests/browser/bench_core.mjs [--only NAME,…]
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { gzipSync } from 'node:zlib';
import { openPage, root, serveCore } from './support/core_page.mjs';
import { randomCase, randomFrom } from './support/cases.mjs';

const names = ['phone_size', 'phone_pack', 'phone_load', 'phone_first_answer', 'phone_answer'];
const at = process.argv.indexOf('--only');
const only = at < 0 || !process.argv[at + 1] ? names : process.argv[at + 1].split(',');
if (!names.some((name) => only.includes(name))) process.exit(0);

const program = process.env.WAYBOURNE_PROGRAM ?? join(root, 'build', 'release', 'server', 'waybourne');
const now = '2026-03-04T09:40:00Z';
const slowdown = 4;
const folder = mkdtempSync(join(tmpdir(), 'waybourne-bench-'));
const packFile = join(folder, 'district.pack');
const made = spawnSync(program, ['pack', '--key', join(folder, 'pack.key'), '--output', packFile, '--now', now, '--json'], { cwd: root, encoding: 'utf8' });
if (made.status !== 0) throw new Error(made.stderr);
const key = JSON.parse(made.stdout).public_key;

const origin = await serveCore();
origin.packs.set('/pack', readFileSync(packFile));
const { context, tab } = await openPage(origin.address, join(folder, 'browser'));
const devtools = await context.newCDPSession(tab);
await devtools.send('Emulation.setCPUThrottlingRate', { rate: slowdown });

const load = await tab.evaluate(async (publicKey) => {
  const { tasks } = await import('/page/core/door.js');
  globalThis.tasks = tasks;
  const bytes = await (await fetch('/pack')).arrayBuffer();
  await tasks.start();
  const begin = performance.now();
  const { status, text } = await tasks.load({ bytes, publicKey });
  if (status !== 200) throw new Error(text);
  return performance.now() - begin;
}, key);
const { fields } = JSON.parse(await tab.evaluate(async () => (await globalThis.tasks.ask({ method: 'GET', path: '/v1/protocol', body: '', now: 0 })).text));
const { facilities } = JSON.parse(await tab.evaluate(async () => (await globalThis.tasks.ask({ method: 'GET', path: '/v1/facilities', body: '', now: 0 })).text));
const capabilities = [...new Set(facilities.flatMap((facility) => facility.capabilities))];
const random = randomFrom(20260304);
const district = { fields, facilities, capabilities, now: Date.parse(now) };
const asked = [];
while (asked.length < 400) {
  const one = randomCase(district, random);
  if (one.path === '/v1/recommendations') asked.push(one);
}
const took = await tab.evaluate(async ([questions, seconds]) => {
  const times = [];
  for (const { path, body } of questions) {
    const begin = performance.now();
    await globalThis.tasks.ask({ method: 'POST', path, body, now: seconds });
    times.push(performance.now() - begin);
  }
  return times;
}, [asked, Date.parse(now) / 1000]);
await context.close();
origin.close();
rmSync(folder, { recursive: true, force: true });

const warm = took.slice(100).sort((a, b) => a - b);
const round = (value) => Number(value.toFixed(1));
const size = ['waybourne.wasm', 'waybourne.js'].reduce((sum, file) => sum + gzipSync(readFileSync(join(root, 'page', 'core', file)), { level: 9 }).length, 0);
const slow = `a browser's processor slowed ${slowdown} times`;
const common = { against: slow, network: 'sample' };
const figures = [
  { name: 'phone_size', what: 'the core and its loader, compressed', value: round(size / 1000), unit: 'KB', against: '', goal: '<= 250', met: size <= 250_000, network: '' },
  { name: 'phone_pack', what: 'a district pack', value: round(JSON.parse(made.stdout).bytes / 1000), unit: 'KB', against: '', goal: '< 3000', met: JSON.parse(made.stdout).bytes < 3_000_000, network: 'sample' },
  { name: 'phone_load', what: 'checking and opening the pack, with one question asked ahead', value: round(load), unit: 'ms', goal: '', ...common },
  { name: 'phone_first_answer', what: 'the first recommendation', value: round(took[0]), unit: 'ms', goal: '< 100', met: took[0] < 100, ...common },
  { name: 'phone_answer', what: 'a recommendation, median of 300', value: round(warm[150]), p99: round(warm[296]), unit: 'ms', goal: '< 100', met: warm[296] < 100, ...common },
];
for (const figure of figures.filter(({ name }) => only.includes(name))) console.log(JSON.stringify(figure));
