// The health worker's main job, from the first load to the answer, in three languages, on a phone and on
// a desk.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { catalogue, desk, filled, inStore, languages, openBrowser, phone, picture, serve, settleAt, type } from './support/sample.mjs';

let server;
before(async () => { server = await serve(); });
after(() => server.stop());

/** Whole and without scrolling. */
async function isInSight(page, locator) {
  const box = await locator.boundingBox();
  const { height, width } = page.viewportSize();
  return box !== null && box.y >= 0 && box.y + box.height <= height && box.x >= 0 && box.x + box.width <= width;
}

const noBands = /\b(score|chance|band|category|level \d|\d ?%)/i;

for (const language of languages) {
  for (const [name, size] of [['phone', phone], ['desk', desk]]) {
    test(`${language}, ${name}: she is fitting, and two taps later there is what to do and the call`, async () => {
      const words = await catalogue(language);
      const { context, page, requests, errors } = await openBrowser({ language, size });
      await settleAt(page, server.address);
      assert.equal(await page.locator('html').getAttribute('lang'), language);
      await picture(page, `${language}-${name}-home`);
      await page.getByRole('button', { name: words['urgent.fits'] }).click();
      const call = page.locator('.call a.main');
      await call.waitFor();
      assert.match(await call.getAttribute('href'), /^tel:\+999/);
      assert.ok(await isInSight(page, call), 'the call is in sight');
      assert.ok(await isInSight(page, page.locator('ol.steps li').first()), 'the first action is in sight');
      assert.ok(await isInSight(page, page.locator('.where .place')), 'the place is in sight');
      assert.ok(await isInSight(page, page.locator('.call').getByRole('link', { name: words['where.way'] })), 'the way is in sight');
      assert.match(await page.locator('.where').innerText(), /\d\d:\d\d/);
      assert.doesNotMatch(await page.locator('main').innerText(), noBands);
      await picture(page, `${language}-${name}-fits`);
      assert.deepEqual(errors, []);
      assert.deepEqual(requests.filter((url) => !url.startsWith(server.address)), [], 'no request leaves the origin');
      await context.close();
    });

    test(`${language}, ${name}: one question after the other leads to where, by when and how`, async () => {
      const words = await catalogue(language);
      const { context, page, errors } = await openBrowser({ language, size });
      await settleAt(page, server.address);
      await page.getByRole('button', { name: words['home.step_by_step'] }).click();
      await page.getByRole('button', { name: words['ask.none'] }).waitFor();
      await picture(page, `${language}-${name}-signs`);
      await page.getByRole('button', { name: words['sign.severe_headache'] }).click();
      await page.locator('.stack > button.main.large').click();
      for (let asked = 0; asked < 40; asked += 1) {
        await page.locator('main:not([inert])').locator('.keys, .stack .large, .where').first().waitFor();
        if (!/\/(ask|reading)$/.test(page.url())) break;
        if ((await page.locator('.fields button').count()) === 3) {
          await picture(page, `${language}-${name}-reading`);
          await type(page, '165112');
          await type(page, '96');
          await page.locator('.stack > button.main').click();
        } else if (await page.locator('.keys').count()) {
          await page.getByRole('button', { name: words['ask.unknown'] }).click();
        } else {
          await page.locator('.stack .large').first().click();
        }
      }
      assert.ok(!page.url().endsWith('/ask'), 'the questions come to an end');
      await page.locator('.call a.main').waitFor();
      const found = await page.locator('.found').innerText();
      assert.ok(found.length > 10);
      await page.locator('details > summary').first().click();
      assert.match(await page.locator('details[open]').first().innerText(), /165|112/);
      await picture(page, `${language}-${name}-pressure`);
      assert.deepEqual(errors, []);
      await context.close();
    });
  }
}

test('Heavy bleeding asks one thing, whether the baby is born, and no number', async () => {
  const { context, page } = await openBrowser();
  await settleAt(page, server.address, 'Luzhenni clinic');
  await page.getByRole('button', { name: 'She is bleeding heavily' }).click();
  await page.getByRole('button', { name: 'Yes', exact: true }).click();
  await page.locator('.call a.main').waitFor();
  assert.match(await page.locator('ol.steps').first().innerText(), /womb/);
  assert.equal(await page.locator('input').count(), 0);
  await context.close();
});

test('Each of the five moments that cannot wait has its first actions', async () => {
  const { context, page } = await openBrowser();
  await settleAt(page, server.address);
  const expected = { 'She is having fits': /left side/, 'She does not wake up': /airway/, 'The cord can be seen or felt': /hand in the vagina/, 'The baby is not breathing': /Dry, warm and rub/ };
  for (const [sign, action] of Object.entries(expected)) {
    await page.goto(`${server.address}/#/`);
    await page.getByRole('button', { name: sign }).click();
    await page.locator('ol.steps li').first().waitFor();
    assert.match(await page.locator('ol.steps').first().innerText(), action, sign);
  }
  await context.close();
});

for (const language of languages) {
  test(`${language}: in each of those moments what to do, where and by when stand whole above the call`, async () => {
    const words = catalogue(language);
    const { context, page } = await openBrowser({ language });
    await settleAt(page, server.address);
    for (const sign of ['fits', 'bleeding', 'not_awake', 'cord', 'baby']) {
      await page.goto(`${server.address}/#/`);
      await page.getByRole('button', { name: words[`urgent.${sign}`] }).click();
      if (sign === 'bleeding') await page.getByRole('button', { name: words['born.postpartum'] }).click();
      await page.locator('.where').waitFor();
      const [end, bar] = [await page.locator('.where').boundingBox(), await page.locator('.call').boundingBox()];
      assert.ok(end.y + end.height <= bar.y, `${sign}: it ends ${end.y + end.height - bar.y} below the upper edge of the call bar`);
      assert.ok((await page.locator('ol.steps li').count()) >= 1, sign);
      const tight = await page.locator('.call button').evaluateAll((list) => list.filter((one) => one.scrollWidth > one.clientWidth).map(({ textContent }) => textContent));
      assert.deepEqual(tight, [], 'the words are within their buttons');
      await picture(page, `${language}-phone-${sign}`);
    }
    await context.close();
  });
}

for (const language of languages) {
  test(`${language}: refused, no answer: one tap gives the next place; accepted: she is sent, once`, async () => {
    const words = catalogue(language);
    const sentWords = filled(words['journey.code'], '[0-9A-Z]{8}');
    const { context, page } = await openBrowser({ language });
    await settleAt(page, server.address);
    await page.getByRole('button', { name: words['urgent.fits'] }).click();
    const called = page.locator('.call a.main');
    await called.waitFor();
    const first = await called.innerText();
    await page.getByRole('button', { name: words['call.refused'], exact: true }).click();
    await called.filter({ hasNotText: first }).waitFor();
    const second = await called.innerText();
    await page.getByRole('button', { name: words['call.no_answer'], exact: true }).click();
    await called.filter({ hasNotText: second }).waitFor();
    const third = await called.innerText();
    assert.equal(new Set([first, second, third]).size, 3);
    await page.getByRole('button', { name: words['call.accepted'], exact: true }).click();
    const sent = page.getByText(sentWords);
    await sent.waitFor();
    const [, code] = (await sent.innerText()).match(sentWords);
    await page.getByRole('button', { name: words['journey.left'] }).click();
    await page.getByText(words['where.left'].split('{')[0]).waitFor();
    await assert.doesNotReject(async () => {
      for (let tries = 0; ; tries += 1) {
        const answer = await fetch(`${server.address}/v1/referrals/${code}`);
        const { state, reply, flags } = answer.ok ? await answer.json() : {};
        if (state === 'departed') {
          assert.equal(reply, 'accepted');
          return assert.deepEqual(flags, []);
        }
        assert.ok(tries < 40, 'the server has word that she left');
        await new Promise((resolve) => setTimeout(resolve, 250));
      }
    });
    const list = await (await fetch(`${server.address}/v1/referrals?open=true`)).json();
    assert.equal(list.referrals.filter((one) => one.code === code).length, 1);
    await context.close();
  });
}

test('A double tap on a no is a no of one place: of the next one, which nobody has phoned, nothing is said', async () => {
  const { context, page, errors } = await openBrowser();
  await settleAt(page, server.address);
  for (const [word, apart] of [['Refused', 120], ['No answer', 250], ['Refused', 400]]) {
    await page.goto(`${server.address}/#/`);
    await page.getByRole('button', { name: 'She is having fits' }).click();
    const called = page.locator('.call a.main');
    await called.waitFor();
    const first = await called.innerText();
    const button = page.getByRole('button', { name: word, exact: true });
    await button.click({ trial: true });
    const { x, y, width, height } = await button.boundingBox();
    const tap = () => page.mouse.click(x + width / 2, y + height / 2);
    const calls = async () => (await inStore(page, 'cases')).sort((a, b) => b.began - a.began)[0].calls;
    await tap();
    await page.waitForTimeout(apart);
    await tap();
    await called.filter({ hasNotText: first }).waitFor();
    await page.waitForTimeout(400);
    assert.deepEqual((await calls()).map(({ answer }) => answer), [word === 'Refused' ? 'refused' : 'no_answer'], `${apart} ms apart`);
    // Whoever has phoned the next one says so in one tap.
    const second = await called.innerText();
    await button.click();
    await called.filter({ hasNotText: second }).waitFor();
    assert.equal((await calls()).length, 2);
  }
  assert.deepEqual(errors, []);
  await context.close();
});

test('A second tap where word of her was sent a moment ago does not say that she has left', async () => {
  const { context, page } = await openBrowser({ size: desk });
  await settleAt(page, server.address);
  await page.getByRole('button', { name: 'She is having fits' }).click();
  await page.getByRole('button', { name: /^Send word to/ }).click();
  const left = page.locator('button', { hasText: 'She has left' });
  await left.waitFor();
  const { x, y, width, height } = await left.boundingBox();
  await page.mouse.click(x + width / 2, y + height / 2);
  await page.waitForTimeout(400);
  const departed = async () => (await inStore(page, 'cases'))[0].referral.departed;
  assert.equal(await departed(), null);
  await left.click();
  await page.getByText(/She left at/).waitFor();
  assert.ok(await departed());
  await context.close();
});

test('The family reads where, by when, what to bring and who travels, and nothing of what is suspected', async () => {
  const { context, page } = await openBrowser();
  await settleAt(page, server.address);
  await page.getByRole('button', { name: 'She is having fits' }).click();
  await page.getByRole('link', { name: 'Family' }).click();
  await page.locator('.family').waitFor();
  const text = await page.locator('body').innerText();
  assert.match(text, /Be there by [^.]*\d\d:\d\d/);
  assert.match(text, /Bring/);
  assert.match(text, /With her/);
  assert.doesNotMatch(text, /eclampsia|fits|magnesium|pressure/i);
  await picture(page, 'en-phone-family');
  await context.close();
});

test('When she says no, there is care here and a time to ask again, and her case stays open', async () => {
  const { context, page } = await openBrowser();
  await settleAt(page, server.address);
  await page.getByRole('button', { name: 'She is having fits' }).click();
  await page.getByRole('link', { name: 'She says no' }).click();
  await page.getByRole('button', { name: '30 minutes' }).click();
  await page.getByText(/Ask again at \d\d:\d\d/).waitFor();
  assert.match(await page.locator('ol.steps').innerText(), /left side/);
  const [{ answer }] = await inStore(page, 'cases');
  const text = await page.locator('main').innerText();
  for (const caution of answer.value.assessment.cautions) assert.ok(text.includes(caution), caution);
  await picture(page, 'en-phone-no');
  await page.goto(`${server.address}/#/`);
  await page.getByRole('link', { name: /Woman A/ }).waitFor();
  await context.close();
});

test('Two women never mix: each keeps her own findings, answer and calls', async () => {
  const { context, page } = await openBrowser();
  await settleAt(page, server.address);
  await page.getByRole('button', { name: 'She is having fits' }).click();
  await page.locator('.call a.main').waitFor();
  await page.goto(`${server.address}/#/`);
  await page.getByRole('button', { name: 'The cord can be seen or felt' }).click();
  await page.getByText('Woman B').waitFor();
  await page.locator('.call a.main').waitFor();
  assert.match(await page.locator('.found').innerText(), /cord/i);
  await page.getByRole('button', { name: 'Refused' }).click();
  await page.goto(`${server.address}/#/`);
  await page.getByRole('link', { name: /Woman A/ }).click();
  await page.locator('.found').waitFor();
  assert.match(await page.locator('.found').innerText(), /eclampsia/);
  const women = await inStore(page, 'cases');
  const calls = Object.fromEntries(women.map(({ letter, calls: made }) => [letter, made.length]));
  assert.deepEqual(calls, { A: 0, B: 1 });
  await context.close();
});

test('On the way, a new reading asks again from where she is, and her time limit does not move', async () => {
  const { context, page } = await openBrowser({ permissions: ['geolocation'], geolocation: { latitude: 0, longitude: 0 } });
  await settleAt(page, server.address);
  await page.getByRole('button', { name: 'She is having fits' }).click();
  await page.locator('.where').waitFor();
  const limit = (await page.locator('.where').innerText()).match(/Care by (\d\d:\d\d)/)[1];
  const [, , id] = new URL(page.url()).hash.split('/');
  await page.getByRole('button', { name: /^Send word to/ }).click();
  await page.getByRole('button', { name: 'She has left' }).click();
  await page.getByText(/She left at/).waitFor();
  // The phone stands at Ammovreth health centre now.
  const { facilities } = await (await fetch(`${server.address}/v1/facilities`)).json();
  const { latitude, longitude } = facilities.find((one) => one.id === 'ammovreth-health-centre');
  await context.setGeolocation({ latitude, longitude });
  await page.goto(`${server.address}/#/case/${id}/where`);
  const [asked] = await Promise.all([
    page.waitForRequest((request) => request.url().endsWith('/v1/recommendations')),
    page.getByRole('button', { name: 'Where this phone is' }).click(),
  ]);
  assert.deepEqual(asked.postDataJSON().from, { latitude: Number(latitude.toFixed(5)), longitude: Number(longitude.toFixed(5)) });
  await page.locator('main:not([inert]) .where').waitFor();
  await page.goto(`${server.address}/#/case/${id}/reading`);
  await type(page, '172114');
  await type(page, '98');
  const [again] = await Promise.all([
    page.waitForRequest((request) => request.url().endsWith('/v1/recommendations')),
    page.locator('.stack > button.main').click(),
  ]);
  assert.equal(again.postDataJSON().readings.at(-1).systolic_mmhg, 172);
  assert.deepEqual(again.postDataJSON().from, asked.postDataJSON().from);
  assert.equal(again.postDataJSON().available_here, undefined, 'what only the clinic can give no longer counts');
  await page.locator('main:not([inert]) .where').waitFor();
  assert.equal((await page.locator('.where').innerText()).match(/Care by (\d\d:\d\d)/)[1], limit);
  await context.close();
});
