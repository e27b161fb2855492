// Served over TLS from the district's own authority (docs/howto/certificates.md) under a name that is not
// loopback: the page installs, and goes on without a connection.
import assert from 'node:assert/strict';
import { spawnSync } from 'node:child_process';
import { mkdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { folder, inStore, makeKey, openBrowser, root, serve } from './support/sample.mjs';

const name = 'waybourne.lan';
const place = folder();
const home = join(place, 'home');
let server;
let key;

function run(program, list, options = {}) {
  const done = spawnSync(program, list, { encoding: 'utf8', ...options });
  assert.equal(done.status, 0, `${program}: ${done.stderr}`);
}

/** The commands are those that a district types. */
function makeCertificates() {
  const page = readFileSync(join(root, 'docs', 'howto', 'certificates.md'), 'utf8');
  const [, commands] = page.match(/```sh\n(: "\$\{name:[^]*?)```/);
  run('sh', ['-euc', commands], { cwd: place, env: { ...process.env, name, address: '127.0.0.1' } });
}

/** As a phone's settings do it for the whole phone: this browser's home trusts the authority. */
function trustAuthority() {
  const store = join(home, '.pki', 'nssdb');
  mkdirSync(store, { recursive: true });
  run('certutil', ['-N', '-d', `sql:${store}`, '--empty-password']);
  run('certutil', ['-A', '-d', `sql:${store}`, '-n', 'district', '-t', 'C,,', '-i', join(place, 'district-authority.pem')]);
}

before(async () => {
  makeCertificates();
  trustAuthority();
  const keys = join(place, 'keys.json');
  key = makeKey(keys, 'health_worker', 'kezhiru', 'kezhiru-clinic');
  server = await serve('--host', '0.0.0.0', '--keys', keys, '--tls-certificate', join(place, 'server.pem'), '--tls-key', join(place, 'server.key'));
});
after(() => server.stop());

/** A browser that finds the name in the district's network, here this machine. */
const openThere = () => openBrowser({ args: [`--host-resolver-rules=MAP ${name} 127.0.0.1`], env: { ...process.env, HOME: home } });

test('Under the name of its own certificate the page is trusted, can be installed, and answers without a connection', async () => {
  const address = `https://${name}:${new URL(server.address).port}`;
  const { context, page, requests, errors } = await openThere();
  await page.goto(`${address}/`);
  assert.equal(await page.evaluate(() => isSecureContext), true);
  await page.getByLabel('The key of this phone').fill(key);
  await page.keyboard.press('Enter');
  await page.getByRole('button', { name: 'Kezhiru clinic', exact: true }).click();
  await page.locator('main > button.main').click();
  await page.locator('.stack .large').first().waitFor();
  await page.evaluate(() => navigator.serviceWorker.ready.then(() => undefined));
  const session = await context.newCDPSession(page);
  const { installabilityErrors } = await session.send('Page.getInstallabilityErrors');
  assert.deepEqual(installabilityErrors.map(({ errorId }) => errorId).filter((id) => id !== 'in-incognito'), []);
  for (let tries = 0; !(await inStore(page, 'kept', 'pack')); tries += 1) {
    assert.ok(tries < 120, 'the phone has its pack');
    await new Promise((resolve) => setTimeout(resolve, 250));
  }
  await context.setOffline(true);
  await page.reload();
  await page.getByRole('button', { name: 'She is having fits' }).click();
  await page.locator('.call a.main').waitFor();
  const [one] = await inStore(page, 'cases');
  assert.equal(one.answer.by, 'phone');
  assert.deepEqual(requests.filter((url) => !url.startsWith(address)), []);
  assert.deepEqual(errors, []);
  await context.close();
});

test('A browser that does not know the authority is stopped before it sees the page', async () => {
  const { context, page } = await openBrowser({ args: [`--host-resolver-rules=MAP ${name} 127.0.0.1`], env: { ...process.env, HOME: join(place, 'nobody') } });
  await assert.rejects(page.goto(`https://${name}:${new URL(server.address).port}/`), /ERR_CERT_AUTHORITY_INVALID/);
  await context.close();
});
