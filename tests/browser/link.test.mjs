// The link that a printed note carries: it leads to her referral, and says nothing about her.
import assert from 'node:assert/strict';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { folder, instant, makeKey, now, openBrowser, picture, serve } from './support/sample.mjs';

let server;
let keys;
let code;

async function signedIn(key) {
  const answer = await fetch(`${server.address}/v1/tokens`, { method: 'POST', headers: { Authorization: `Waybourne-Key ${key}`, 'Content-Type': 'application/json' }, body: '{}' });
  assert.ok(answer.ok, await answer.clone().text());
  return { Authorization: `Bearer ${(await answer.json()).token}`, 'Content-Type': 'application/json' };
}

before(async () => {
  const file = join(folder(), 'keys.json');
  keys = {
    clinic: makeKey(file, 'health_worker', 'tamvrelo', 'tamvrelo-clinic'),
    hospital: makeKey(file, 'facility', 'venzhoth', 'venzhoth-hospital'),
    other: makeKey(file, 'facility', 'pellumvo', 'pellumvo-hospital'),
  };
  server = await serve('--keys', file);
  const sent = await fetch(`${server.address}/v1/referrals`, {
    method: 'POST',
    headers: await signedIn(keys.clinic),
    body: JSON.stringify({ request: { findings: { status: 'pregnant', gestation_weeks: 36, convulsions: 'yes' }, from: { facility: 'tamvrelo-clinic' } }, sender: 'tamvrelo-clinic', to: 'venzhoth-hospital', persons: [{ person: 'mother' }] }),
  });
  assert.equal(sent.status, 201, await sent.clone().text());
  ({ code } = await sent.json());
});
after(() => server.stop());

/** From the link on the paper to what is shown to the holder of this key. */
async function opened(key, written = code) {
  const { context, page, requests, errors } = await openBrowser();
  await page.goto(`${server.address}/#/referral/${written}`);
  await page.getByLabel('Key').fill(key);
  await page.keyboard.press('Enter');
  await page.getByRole('heading', { name: 'Referral' }).waitFor();
  return { context, page, requests, errors };
}

test('The hospital scans the note, signs in, and reads who is coming; the address holds the code alone', async () => {
  const { context, page, requests, errors } = await opened(keys.hospital);
  await page.getByText('From Tamvrelo clinic').waitFor();
  const text = await page.locator('main').innerText();
  assert.match(text, /word was sent/);
  assert.match(text, /To Venzhoth hospital/);
  assert.match(text, /magnesium sulfate/);
  assert.equal(new URL(page.url()).hash, `#/referral/${code}`);
  assert.ok(requests.every((url) => !/eclampsia|convulsions|gestation/.test(url)));
  await picture(page, 'en-phone-referral-by-link');
  await page.getByRole('link', { name: 'Who is coming' }).waitFor();
  assert.deepEqual(errors, []);
  await context.close();
});

test('Written by hand in small letters with a dash, the code is the same', async () => {
  const { context, page } = await opened(keys.hospital, `${code.slice(0, 4)}-${code.slice(4)}`.toLowerCase());
  await page.getByText('From Tamvrelo clinic').waitFor();
  await context.close();
});

test('When the connection is lost, what was known of her stays, with the time from which it is', async () => {
  const { context, page, errors } = await opened(keys.hospital);
  await page.getByText('From Tamvrelo clinic').waitFor();
  const one = `**/v1/referrals/${code}`;
  let looks = 0;
  await page.route(one, (route) => { looks += 1; return route.abort(); });
  const tell = async (step) => {
    const event = { id: `${step}-by-phone`, step, place: 'venzhoth-hospital', occurred_at: instant(now()), recorded_at: instant(now()), recorded_late: true };
    const answer = await fetch(`${server.address}/v1/referrals/${code}/events`, { method: 'POST', headers: await signedIn(keys.clinic), body: JSON.stringify(event) });
    assert.ok(answer.ok, await answer.clone().text());
  };
  await tell('informed');
  await page.getByText(/^No connection\. As known at \d\d:\d\d\.$/).waitFor();
  assert.ok(looks > 0);
  assert.match(await page.locator('main').innerText(), /From Tamvrelo clinic/);
  await page.unroute(one);
  await tell('accepted');
  await page.getByText(/No connection/).waitFor({ state: 'detached' });
  assert.deepEqual(errors, []);
  await context.close();
});

test('A place that she does not come to learns nothing, not even that she exists', async () => {
  const { context, page } = await opened(keys.other);
  const text = await page.locator('main').innerText();
  assert.match(text, /There is no referral/);
  assert.doesNotMatch(text, /Tamvrelo|Venzhoth|magnesium/);
  await context.close();
});

test('What is no code is not sent to the server', async () => {
  const { context, page, requests } = await opened(keys.hospital, '..%2fv1');
  await page.getByText('This is not the code of a referral').waitFor();
  assert.deepEqual(requests.filter((url) => url.includes('/v1/referrals')), []);
  await context.close();
});
