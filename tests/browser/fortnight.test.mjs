// A phone that had no connection for 14 days still opens and answers, and sends what waited when it has one
// again, without anybody typing its key. A lost one is shut out.
import assert from 'node:assert/strict';
import { spawnSync } from 'node:child_process';
import { join } from 'node:path';
import { test } from 'node:test';
import { folder, inStore, instant, makeKey, now, openBrowser, program, serve, until } from './support/sample.mjs';

const fortnight = 14 * 24 * 3600 * 1000;
const place = folder();
const keys = join(place, 'keys.json');
const journal = join(place, 'journal.db');

/** The phone's first day: signed in, at its clinic, with all that it needs to answer alone. */
async function firstDay(memory, began, key) {
  const server = await serve('--keys', keys, '--journal', journal, '--now', instant(began));
  const { context, page } = await openBrowser({ memory, at: began });
  await page.goto(`${server.address}/`);
  await page.getByLabel('The key of this phone').fill(key);
  await page.keyboard.press('Enter');
  await page.getByRole('button', { name: 'Kezhiru clinic', exact: true }).click();
  await page.locator('main > button.main').click();
  await page.locator('.stack .large').first().waitFor();
  await page.evaluate(() => navigator.serviceWorker.ready.then(() => undefined));
  await until('the phone has its pack', () => inStore(page, 'kept', 'pack'));
  await context.close();
  await server.stop();
  return server.address;
}

test('After 14 days without a connection the phone opens, answers, and later sends what waited', async () => {
  const key = makeKey(keys, 'health_worker', 'kezhiru', 'kezhiru-clinic');
  const desk = makeKey(keys, 'dispatcher', 'desk');
  const memory = folder();
  const address = await firstDay(memory, now() - fortnight, key);

  // two weeks later there is still nothing to be reached
  const { context, page, errors } = await openBrowser({ memory });
  await page.goto(`${address}/`);
  await page.getByRole('button', { name: 'She is having fits' }).click();
  await page.locator('.call a.main').waitFor();
  const [one] = await inStore(page, 'cases');
  assert.equal(one.answer.by, 'phone');
  await page.getByRole('button', { name: /^Send word to/ }).click();
  const referral = page.getByText(/^Referral [0-9A-Z]{8}$/);
  await referral.waitFor();
  const code = (await referral.innerText()).split(' ')[1];
  await page.getByRole('button', { name: 'She has left', exact: true }).click();
  await until('both wait', async () => (await inStore(page, 'outbox')).length === 2);

  // the network is back
  const server = await serve('--keys', keys, '--journal', journal, '--port', new URL(address).port);
  const exchange = await fetch(`${address}/v1/tokens`, { method: 'POST', headers: { 'Content-Type': 'application/json', Authorization: `Waybourne-Key ${desk}` }, body: '{}' });
  const { token } = await exchange.json();
  const seen = async () => (await fetch(`${address}/v1/referrals/${code}`, { headers: { Authorization: `Bearer ${token}` } })).json();
  assert.equal((await seen()).status, 404);
  await page.evaluate(() => dispatchEvent(new Event('online')));
  await until('it was sent', async () => (await seen()).state === 'departed');
  const { history } = await seen();
  assert.deepEqual(history.map(({ step }) => step).filter((step) => step === 'opened' || step === 'departed'), ['opened', 'departed']);
  await until('nothing waits', async () => (await inStore(page, 'outbox')).length === 0);
  assert.equal(await page.getByLabel('The key of this phone').count(), 0);
  assert.deepEqual(errors, []);

  // lost now: at its next contact within a minute of that it gets nothing more
  const removed = spawnSync(program, ['keys', 'remove', '--keys', keys, 'kezhiru'], { encoding: 'utf8' });
  assert.equal(removed.status, 0, removed.stderr);
  const begun = Date.now();
  const { refresh_secret: secret } = (await inStore(page, 'kept', 'session')).value;
  const status = async () => (await fetch(`${address}/v1/tokens`, { method: 'POST', headers: { 'Content-Type': 'application/json', Authorization: `Waybourne-Refresh ${secret}` }, body: '{}' })).status;
  await until('it is shut out', async () => (await status()) === 401);
  assert.ok(Date.now() - begun < 60000);
  await context.close();
  await server.stop();
});
