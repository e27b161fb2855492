// The receiving facility's main job: who is coming and what to prepare, yes or no, readiness in two taps.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { catalogue, desk, filled, languages, openBrowser, phone, picture, serve, settleAt, until } from './support/sample.mjs';

let server;
before(async () => { server = await serve(); });
after(() => server.stop());

const post = (path, body, headers = {}) => fetch(server.address + path, { method: 'POST', headers: { 'Content-Type': 'application/json', ...headers }, body: JSON.stringify(body) });

async function sendOne(to = 'venzhoth-hospital') {
  const answer = await post('/v1/referrals', { request: { findings: { status: 'pregnant', gestation_weeks: 36, convulsions: 'yes' }, from: { facility: 'tamvrelo-clinic' } }, sender: 'tamvrelo-clinic', to, persons: [{ person: 'mother' }], treatments: [{ action: 'A2' }] });
  assert.equal(answer.status, 201);
  return (await answer.json()).code;
}

for (const language of languages) {
  for (const [name, size] of [['phone', phone], ['desk', desk]]) {
    test(`${language}, ${name}: who is coming, when, what to prepare, and a yes in one tap`, async () => {
      const words = await catalogue(language);
      const { context, page, errors, requests } = await openBrowser({ language, size });
      await settleAt(page, server.address, 'Venzhoth hospital');
      await page.getByRole('link', { name: words['tab.arrivals'] }).click();
      await page.getByText(words['arrivals.live']).waitFor();
      const code = await sendOne();
      const her = page.getByRole('article', { name: code });
      await her.waitFor();  // it came by itself
      const text = await her.innerText();
      assert.match(text, /\d\d:\d\d/);
      assert.match(text, /Tamvrelo clinic/);
      assert.ok(text.includes(words['capability.magnesium_sulfate']), text);
      await picture(page, `${language}-${name}-arrivals`);
      await her.getByRole('button', { name: words['arrivals.yes'] }).click();
      await page.getByRole('article', { name: code }).getByText(words['arrivals.said_yes']).waitFor();
      assert.equal((await (await fetch(`${server.address}/v1/referrals/${code}`)).json()).reply, 'accepted');
      assert.deepEqual(errors, []);
      assert.deepEqual(requests.filter((url) => !url.startsWith(server.address)), []);
      await context.close();
    });
  }
}

test('The code on a printed note opens her referral, before anything is set up on the phone', async () => {
  const code = await sendOne();
  const { context, page, errors } = await openBrowser();
  await page.goto(`${server.address}/#/referral/${code}`);
  await page.getByRole('heading', { name: `Referral ${code}` }).waitFor();
  const text = await page.locator('main').innerText();
  assert.match(text, /From Tamvrelo clinic\s+To Venzhoth hospital/);
  assert.match(text, /\d\d:\d\d: word was sent/);
  await picture(page, 'en-phone-referral');
  await page.goto(`${server.address}/#/referral/2477PHME`);
  await page.getByText('that you may see').waitFor();
  assert.deepEqual(errors, []);
  await context.close();
});

test('Who is announced while the live stream is not yet there is shown as soon as it is', async () => {
  const { context, page } = await openBrowser();
  await settleAt(page, server.address, 'Venzhoth hospital');
  let letThrough;
  const mayFollow = new Promise((resolve) => { letThrough = resolve; });
  await page.route('**/v1/live', async (route) => { await mayFollow; await route.continue(); });
  const firstLook = page.waitForResponse('**/arrivals');
  await page.getByRole('link', { name: 'Arrivals' }).click();
  await (await firstLook).finished();
  const code = await sendOne();
  assert.equal(await page.getByText('Followed live').count(), 0);
  letThrough();
  await page.getByText('Followed live').waitFor();
  await page.getByRole('article', { name: code }).waitFor();
  await context.close();
});

test('A look that the server cannot answer just now is repeated without anybody asking', async () => {
  const { context, page } = await openBrowser();
  await settleAt(page, server.address, 'Venzhoth hospital');
  await page.getByRole('link', { name: 'Arrivals' }).click();
  await page.getByText('Followed live').waitFor();
  const busy = { status: 429, contentType: 'application/problem+json', body: '{"detail":"too many"}' };
  await page.route('**/v1/facilities/*/arrivals', async (route) => {
    await page.unroute('**/v1/facilities/*/arrivals');
    await route.fulfill(busy);
  });
  const code = await sendOne();
  await page.getByRole('article', { name: code }).waitFor();
  await context.close();
});

test('What comes by itself moves nothing under a finger, and nobody loses the place', async () => {
  const { context, page } = await openBrowser();
  await settleAt(page, server.address, 'Venzhoth hospital');
  const code = await sendOne();
  for (let more = 0; more < 3; more += 1) await sendOne();
  await page.getByRole('link', { name: 'Arrivals' }).click();
  await page.getByText('Followed live').waitFor();
  const her = page.getByRole('article', { name: code });
  const yes = her.getByRole('button', { name: 'Yes, we take her' });
  const scrolled = () => page.locator('main').evaluate((main) => main.scrollTop);
  await yes.scrollIntoViewIfNeeded();
  await yes.focus();
  const at = await scrolled();
  const one = await sendOne();
  await page.getByRole('article', { name: one }).waitFor();
  assert.equal(await page.evaluate(() => document.activeElement.dataset.key), `yes ${code}`);
  if (at > 0) assert.equal(await scrolled(), at);
  // The finger is down while another woman is announced: it still says yes for this one.
  await yes.hover();
  await page.mouse.down();
  const look = page.waitForResponse('**/arrivals');
  const other = await sendOne();
  await (await look).finished();
  await page.evaluate(() => new Promise((resolve) => { setTimeout(resolve, 300); }));
  assert.equal(await page.getByRole('article', { name: other }).count(), 0, 'drawn under the finger');
  await page.mouse.up();
  await page.getByRole('article', { name: other }).waitFor();
  await until('she is taken', async () => (await (await fetch(`${server.address}/v1/referrals/${code}`)).json()).reply === 'accepted');
  await context.close();
});

for (const language of languages) {
  test(`${language}: a no has its reason, and the sender can read it`, async () => {
    const words = catalogue(language);
    const { context, page } = await openBrowser({ language });
    await settleAt(page, server.address, 'Venzhoth hospital');
    const code = await sendOne();
    await page.getByRole('link', { name: words['tab.arrivals'] }).click();
    const her = page.getByRole('article', { name: code });
    await her.getByText(words['arrivals.no']).click();
    await her.getByRole('button', { name: words['reason.no_blood'] }).click();
    await page.getByRole('article', { name: code }).getByText(words['arrivals.said_no'], { exact: true }).waitFor();
    const referral = await (await fetch(`${server.address}/v1/referrals/${code}`)).json();
    assert.equal(referral.reply, 'declined');
    assert.equal(referral.history.find(({ step }) => step === 'declined').reason, 'no_blood');
    await context.close();
  });
}

test('Whoever answers second is told how it stands instead', async () => {
  const { context, page } = await openBrowser();
  await settleAt(page, server.address, 'Venzhoth hospital');
  const code = await sendOne();
  await page.getByRole('link', { name: 'Arrivals' }).click();
  await page.getByRole('article', { name: code }).waitFor();
  // A colleague answers while this screen still shows the question.
  await page.route('**/v1/facilities/*/readiness', async (route) => {
    await page.unroute('**/v1/facilities/*/readiness');
    const seen = await (await fetch(`${server.address}/v1/referrals/${code}`)).headers.get('etag');
    await post(`/v1/referrals/${code}/events`, { step: 'accepted' }, { 'If-Match': seen });
    await route.continue();
  });
  await page.getByRole('article', { name: code }).getByRole('button', { name: 'Yes, we take her' }).click();
  await page.getByText(/already|meanwhile|You said yes/).first().waitFor();
  await context.close();
});

for (const language of languages) {
  test(`${language}: what a place can give is told in two taps, and counts at once`, async () => {
    const words = catalogue(language);
    // Another one for each language, so that each changes something.
    const about = { en: 'blood_transfusion', fr: 'magnesium_sulfate', sw: 'uterotonics' }[language];
    const name = words[`capability.${about}`];
    const { context, page } = await openBrowser({ language });
    await settleAt(page, server.address, 'Venzhoth hospital');
    await page.getByRole('link', { name: words['tab.ready'] }).click();
    await page.getByRole('button', { name: filled(`${name}: {state}`) }).click();
    await page.getByRole('button', { name: words['ready.is_not'], exact: true }).click();
    await page.getByText(words['ready.said'].replace('{what}', `${name}: ${words['ready.is_not']}`)).waitFor();
    await picture(page, `${language}-phone-readiness`);
    for (let tries = 0; ; tries += 1) {
      const { readiness } = await (await fetch(`${server.address}/v1/facilities/venzhoth-hospital/readiness`)).json();
      if (readiness.find(({ capability }) => capability === about).state === 'not_ready') break;
      assert.ok(tries < 40);
      await new Promise((resolve) => setTimeout(resolve, 250));
    }
    await context.close();
  });
}
