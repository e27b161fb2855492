// Without a connection: the page opens, what is known stays, what must be sent waits and is sent once.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { inStore, openBrowser, serve, settleAt, until } from './support/sample.mjs';

let server;
before(async () => { server = await serve(); });
after(() => server.stop());

async function whenKept(page) {
  await page.evaluate(() => navigator.serviceWorker.ready.then(() => undefined));
  await until('the first actions of every sign have been put by', () => inStore(page, 'kept', 'first_actions'));
}

test('After the first visit the page opens without a connection, and the first actions are there', async () => {
  const { context, page, errors } = await openBrowser();
  await settleAt(page, server.address);
  await whenKept(page);
  await context.setOffline(true);
  await page.reload();
  await page.getByRole('button', { name: 'She is having fits' }).click();
  await page.locator('ol.steps li').first().waitFor();
  assert.match(await page.locator('ol.steps').first().innerText(), /left side/);
  assert.deepEqual(errors, []);
  await context.close();
});

test('Without a connection each word of a call gives the next place in one tap, and is told once afterwards', async () => {
  const { context, page, errors } = await openBrowser();
  await settleAt(page, server.address);
  await whenKept(page);
  await until('the phone has its pack', () => inStore(page, 'kept', 'pack'));
  await context.setOffline(true);
  await page.reload();
  await page.getByRole('button', { name: 'She is having fits' }).click();
  const called = page.locator('.call a.main');
  await called.waitFor();
  const places = [await called.innerText()];
  for (const word of ['Refused', 'No answer']) {
    await page.getByRole('button', { name: word, exact: true }).click();
    await called.filter({ hasNotText: places.at(-1) }).waitFor();
    places.push(await called.innerText());
  }
  assert.equal(new Set(places).size, 3);
  await page.getByRole('button', { name: 'Accepted', exact: true }).click();
  await page.getByText(/^Referral [0-9A-Z]{8}$/).waitFor();
  const code = (await page.getByText(/^Referral [0-9A-Z]{8}$/).innerText()).split(' ')[1];
  const [one] = await inStore(page, 'cases');
  assert.equal(one.answer.by, 'phone');
  assert.deepEqual(one.calls.map(({ answer }) => answer), ['refused', 'no_answer', 'accepted']);
  assert.equal((await fetch(`${server.address}/v1/referrals/${code}`)).status, 404);
  await context.setOffline(false);
  await page.evaluate(() => dispatchEvent(new Event('online')));
  await until('everything was sent', async () => (await inStore(page, 'outbox')).length === 0);
  const { reply, history, flags } = await (await fetch(`${server.address}/v1/referrals/${code}`)).json();
  assert.equal(reply, 'accepted');
  assert.deepEqual(flags, [], 'each step where it belongs, though all were in one second');
  for (const step of ['opened', 'accepted']) assert.equal(history.filter((told) => told.step === step).length, 1, step);
  assert.deepEqual(errors, []);
  await context.close();
});

test('What is told without a connection waits, survives a reload, and is sent once when it is back', async () => {
  const { context, page } = await openBrowser();
  await settleAt(page, server.address);
  await page.getByRole('button', { name: 'She is having fits' }).click();
  await page.locator('.where').waitFor();
  await whenKept(page);
  await context.setOffline(true);
  await page.getByRole('button', { name: /^Send word to/ }).click();
  await page.getByText(/^Referral [0-9A-Z]{8}$/).waitFor();
  const code = (await page.getByText(/^Referral [0-9A-Z]{8}$/).innerText()).split(' ')[1];
  await page.getByRole('button', { name: 'She has left', exact: true }).click();
  await page.goto(`${server.address}/#/`);
  await page.getByText('2 messages wait for a connection.').waitFor();
  await page.reload();
  await page.getByText('2 messages wait for a connection.').waitFor();
  assert.equal((await fetch(`${server.address}/v1/referrals/${code}`)).status, 404);
  await context.setOffline(false);
  await page.evaluate(() => dispatchEvent(new Event('online')));
  for (let tries = 0; ; tries += 1) {
    const answer = await fetch(`${server.address}/v1/referrals/${code}`);
    if (answer.ok) {
      const { history, state } = await answer.json();
      if (state === 'departed') {
        assert.equal(history.filter(({ step }) => step === 'opened').length, 1);
        assert.equal(history.filter(({ step }) => step === 'departed').length, 1);
        break;
      }
    }
    assert.ok(tries < 80, 'it was sent');
    await new Promise((resolve) => setTimeout(resolve, 250));
  }
  await page.getByText(/wait for a connection/).waitFor({ state: 'detached' });
  await context.close();
});

test('What is told while an earlier message is still on its way goes behind it, and nothing stays in the phone', async () => {
  const { context, page, errors } = await openBrowser();
  await settleAt(page, server.address);
  await page.getByRole('button', { name: 'She is having fits' }).click();
  await page.locator('.call a.main').waitFor();
  const told = [];
  page.on('request', (request) => {
    if (request.method() === 'POST' && /\/v1\/referrals/.test(request.url())) told.push(request.postDataJSON().step ?? 'opened');
  });
  await page.route('**/v1/referrals', async (route) => {
    await until('the yes is written', async () => (await inStore(page, 'outbox')).length === 3);
    await route.continue();
  });
  await page.getByRole('button', { name: 'Accepted', exact: true }).click();
  await page.getByText(/^Referral [0-9A-Z]{8}$/).waitFor();
  await until('everything was sent', async () => (await inStore(page, 'outbox')).length === 0);
  assert.deepEqual(told, ['opened', 'informed', 'accepted']);
  assert.deepEqual(errors, []);
  await context.close();
});

test('The page can be installed: its manifest, its icons and its worker are in order', async () => {
  const { context, page } = await openBrowser();
  await page.goto(`${server.address}/`);
  const session = await context.newCDPSession(page);
  const { errors } = await session.send('Page.getAppManifest');
  assert.deepEqual(errors, []);
  const { installabilityErrors } = await session.send('Page.getInstallabilityErrors');
  // A private browser never installs; nothing else may stand in the way.
  assert.deepEqual(installabilityErrors.map(({ errorId }) => errorId).filter((id) => id !== 'in-incognito'), []);
  await context.close();
});
