// Interruptions are normal: at every step the browser is killed, sixteen minutes pass, and she goes on.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { folder, inStore, instant, kill, now, openBrowser, picture, serve, settleAt, type } from './support/sample.mjs';

let server;
before(async () => { server = await serve(); });
after(() => server.stop());

const passed = 16 * 60000;

/** The first browser lives sixteen minutes ago; the second one now. */
async function interrupted(begin, resume) {
  const memory = folder();
  const earlier = await openBrowser({ memory, at: now() - passed });
  await settleAt(earlier.page, server.address);
  const left = await begin(earlier.page);
  const address = earlier.page.url();
  await kill(earlier.context, memory);
  const later = await openBrowser({ memory });
  await later.page.goto(address);
  await resume(later.page, left);
  assert.deepEqual(later.errors, []);
  await later.context.close();
}

const tap = (page, name) => page.getByRole('button', { name, exact: true }).click();
const clockOf = (ms) => instant(ms).slice(11, 16);

test('Killed at the first actions: they are there again, and neither time has moved', async () => {
  // The server gave both, and its clock stands where it stood: only the phone's moves on.
  const times = async (page) => [
    (await page.locator('.where').innerText()).match(/Care by (\d\d:\d\d)/)[1],
    (await page.getByRole('button', { name: /^Measure again/ }).innerText()).match(/\d\d:\d\d/)[0],
  ];
  await interrupted(
    async (page) => {
      await tap(page, 'She is having fits');
      await page.locator('.call a.main').waitFor();
      return times(page);
    },
    async (page, before) => {
      await page.locator('.where').waitFor();
      assert.deepEqual(await times(page), before);
      assert.match(await page.locator('ol.steps').first().innerText(), /left side/);
    },
  );
});

test('Killed in the middle of the questions: the same question stands there, the answers before it are kept', async () => {
  await interrupted(
    async (page) => {
      await tap(page, 'None of these: ask step by step');
      await tap(page, 'None of these');
      await page.locator('main:not([inert]) h2').filter({ hasNotText: 'Does she have any of these' }).waitFor();
      return page.locator('main h2').innerText();
    },
    async (page, question) => {
      await page.locator('main h2').waitFor();
      assert.equal(await page.locator('main h2').innerText(), question);
      await tap(page, 'Question before');
      await page.getByRole('button', { name: 'None of these', exact: true }).waitFor();
    },
  );
});

test('Killed after a reading: it keeps the time at which it was taken, and the repeat is due by the clock', async () => {
  const taken = now() - passed;
  await interrupted(
    async (page) => {
      await tap(page, 'She is having fits');
      await page.locator('.where').waitFor();
      await page.getByRole('button', { name: /^Measure again/ }).click();
      await type(page, '172114');
      await type(page, '98');
      await page.locator('.stack > button.main').click();
      await page.locator('main:not([inert]) .where').waitFor();
    },
    async (page) => {
      await page.locator('.where').waitFor();
      await page.locator('details > summary').first().click();
      const text = await page.locator('details[open]').first().innerText();
      const times = [0, 1, 2, 3, 4].map((minutes) => clockOf(taken + minutes * 60000));
      assert.ok(times.some((time) => text.includes(`${time}: 172/114, 98`)), text);
      await page.getByText('Measure again now').waitFor();
    },
  );
});

test('Killed while the call was ringing: the page knows whom she called and that no answer came in time', async () => {
  await interrupted(
    async (page) => {
      await tap(page, 'She is having fits');
      const call = page.locator('.call a.main');
      await call.waitFor();
      await call.evaluate((link) => { link.addEventListener('click', (event) => event.preventDefault()); link.click(); });
      await page.waitForTimeout(300);
      return call.innerText();
    },
    async (page, called) => {
      await page.getByText(/Woman A: no answer to the call of/).waitFor();
      assert.equal(await page.locator('.call a.main').innerText(), called);
      await tap(page, 'No answer');
      await page.locator('.call a.main').filter({ hasNotText: called.replace('Call ', '') }).waitFor();
    },
  );
});

test('Killed after a refusal: the time to ask again has come, and her case is open', async () => {
  await interrupted(
    async (page) => {
      await tap(page, 'She is having fits');
      await page.getByRole('link', { name: 'She says no' }).click();
      await tap(page, '15 minutes');
      await page.getByText(/Ask again at/).waitFor();
    },
    async (page) => {
      await page.getByText('Ask again now').waitFor();
      await page.getByText('Woman A: ask her and her family again').waitFor();
      await tap(page, 'She agrees now');
      await page.locator('.where').waitFor();
    },
  );
});

test('Killed after she was sent: the referral, its code and that she left are kept, and nothing is sent twice', async () => {
  await interrupted(
    async (page) => {
      await tap(page, 'She is having fits');
      await page.locator('.where').waitFor();
      await page.getByRole('button', { name: /^Send word to/ }).click();
      await page.getByText(/^Referral [0-9A-Z]{8}$/).waitFor();
      await tap(page, 'She has left');
      await page.getByText(/She left at/).waitFor();
      return (await page.getByText(/^Referral [0-9A-Z]{8}$/).innerText()).split(' ')[1];
    },
    async (page, code) => {
      await page.getByText(`Referral ${code}`).waitFor();
      await page.getByText(/She left at/).waitFor();
      for (let tries = 0; tries < 60; tries += 1) {
        const answer = await fetch(`${server.address}/v1/referrals/${code}`);
        const referral = answer.ok ? await answer.json() : { history: [] };
        if (referral.state === 'departed') {
          assert.equal(referral.history.filter(({ step }) => step === 'departed').length, 1);
          return;
        }
        await new Promise((resolve) => setTimeout(resolve, 250));
      }
      assert.fail('the server never had word that she left');
    },
  );
});

test('Killed at the question whether the baby is born: it stands there still, and her case is in the list', async () => {
  await interrupted(
    async (page) => {
      await tap(page, 'She is bleeding heavily');
      await page.getByRole('button', { name: 'No, she is in labour' }).waitFor();
    },
    async (page) => {
      await page.getByRole('heading', { name: 'Is the baby born?' }).waitFor();
      await page.goto(page.url().replace(/#.*/, '#/'));
      await page.getByRole('link', { name: /Woman A · since \d\d:\d\d/ }).waitFor();
      await page.goBack();
      await tap(page, 'Yes');
      await page.locator('.where').waitFor();
      assert.match(await page.locator('ol.steps').first().innerText(), /womb/);
    },
  );
});

test('Killed on the way: where she is, the yes and the place that was chosen for her are kept', async () => {
  await interrupted(
    async (page) => {
      await tap(page, 'She is having fits');
      await page.locator('.where').waitFor();
      await page.getByText('Other places').click();
      await page.getByRole('button', { name: /^Send her to/ }).first().click();
      await page.getByText(/^Referral [0-9A-Z]{8}$/).waitFor();
      await tap(page, 'Accepted');
      await page.getByText(/said yes$/).waitFor();
      await tap(page, 'She has left');
      const hers = page.url();
      await page.goto(`${hers}/where`);
      await tap(page, 'Luzhenni clinic');
      await page.locator('main:not([inert]) .where').waitFor();
      const [one] = await inStore(page, 'cases');
      return { one, shown: await page.locator('.where .place').innerText() };
    },
    async (page, { one, shown }) => {
      await page.locator('.where').waitFor();
      const [after] = await inStore(page, 'cases');
      for (const what of ['began', 'limit', 'from_when', 'now_at', 'calls', 'chosen', 'referral', 'findings']) assert.deepEqual(after[what], one[what], what);
      assert.equal(after.now_at.place.facility, 'luzhenni-clinic');
      assert.equal(await page.locator('.where .place').innerText(), shown);
      await page.getByText(/She left at/).waitFor();
    },
  );
});

/** What the number pad shows: each number, and which of them the next digit belongs to. */
const pad = (page) => page.locator('.fields button').evaluateAll((boxes) => boxes.map((box) => [box.querySelector('.value').textContent, box.getAttribute('aria-pressed') === 'true']));
const halfTyped = async (page) => (await inStore(page, 'cases'))[0].unfinished ?? [];

test('Killed while a pressure is typed: the digits stand there, and count as measured when they were typed', async () => {
  const half = [['172', false], ['1', true], ['–', false]];
  await interrupted(
    async (page) => {
      await tap(page, 'She is having fits');
      await page.locator('.where').waitFor();
      await page.getByRole('button', { name: /^Measure again/ }).click();
      await page.locator('.keys').waitFor();
      const address = page.url();
      await type(page, '1721');
      await page.locator('.fields .value').filter({ hasText: /^1$/ }).waitFor();
      assert.deepEqual(await pad(page), half);
      assert.equal(page.url(), address, 'nothing of it is in the address');
      assert.deepEqual((await inStore(page, 'cases'))[0].readings, [], 'it is no reading yet');
      return page.evaluate(() => Date.now());
    },
    async (page, typed) => {
      await page.locator('.keys').waitFor();
      assert.deepEqual(await pad(page), half);
      const [{ since }] = await halfTyped(page);
      assert.ok(since <= typed && typed - since < 60000);
      await page.getByText(`Typed at ${clockOf(since)}, not taken yet.`).waitFor();
      await picture(page, 'phone-half-typed');
      await type(page, '1498');
      await tap(page, 'Done');
      await page.locator('main:not([inert]) .where').waitFor();
      const [one] = await inStore(page, 'cases');
      assert.deepEqual(one.readings, [{ taken_at: instant(since), systolic_mmhg: 172, diastolic_mmhg: 114, pulse_per_minute: 98 }]);
      assert.deepEqual(one.unfinished, []);
    },
  );
});

test('Killed while a number is typed, at every question that wants one: it is finished where it was left', async () => {
  const { fields } = await (await fetch(`${server.address}/v1/protocol`)).json();
  const memory = folder();
  let { context, page } = await openBrowser({ memory });
  await settleAt(page, server.address);
  await tap(page, 'None of these: ask step by step');
  const seen = [];
  for (let questions = 0; questions < 60; questions += 1) {
    await page.locator('main:not([inert])').filter({ has: page.locator('.foot') }).or(page.locator('.found')).waitFor();
    if (await page.locator('.found').count()) break;
    if (await page.locator('.fields').count() === 0) {
      // Fever leads to most numbers; for the rest the first of these that there is.
      if (await page.locator('.tiles').count()) await tap(page, 'Fever, felt hot');
      const answers = page.locator('main .stack > button').filter({ hasText: /^(This|Pregnant|Yes|Awake and clear|No bleeding)/ });
      await ((await answers.count()) ? answers : page.locator('main button').filter({ hasText: /^Not known$/ })).first().click();
      continue;
    }
    await type(page, '1');
    await page.locator('.fields .value').filter({ hasText: /^1$/ }).first().waitFor();
    const [{ fields: [name] }] = await halfTyped(page);
    seen.push(name);
    const address = page.url();
    await kill(context, memory);
    ({ context, page } = await openBrowser({ memory }));
    await page.goto(address);
    await page.locator('.fields').waitFor();
    assert.deepEqual((await pad(page))[0], ['1', true], name);
    const { accept: { from, to } } = fields.find((field) => field.name === name);
    await tap(page, 'Delete');
    await type(page, String(Math.round((from + to) / 2)));
    await tap(page, 'Done');
    await page.locator('main:not([inert])').waitFor();
  }
  assert.ok(seen.length >= 6, seen.join());
  for (const name of ['sys_bp', 'temp_c', 'resp_rate']) assert.ok(seen.includes(name), name);
  await context.close();
});

test('Killed while signs are tapped: those that were tapped still are, and none is an answer yet', async () => {
  await interrupted(
    async (page) => {
      await tap(page, 'None of these: ask step by step');
      const tiles = page.locator('.tiles button');
      await tiles.nth(1).click();
      await page.locator('.tiles [aria-pressed=true]').waitFor();
      return tiles.nth(1).innerText();
    },
    async (page, tapped) => {
      const pressed = page.locator('.tiles [aria-pressed=true]');
      await pressed.waitFor();
      assert.deepEqual(await pressed.allInnerTexts(), [tapped]);
      assert.deepEqual((await inStore(page, 'cases'))[0].findings, {});
      await tap(page, 'Begin anew');
      await page.locator('main:not([inert]) .tiles').waitFor();
      await pressed.waitFor({ state: 'detached' });
      assert.deepEqual(await halfTyped(page), []);
    },
  );
});

test('What is half typed goes with her record, and is kept nowhere else', async () => {
  const { context, page } = await openBrowser();
  await settleAt(page, server.address);
  await tap(page, 'She is having fits');
  await page.locator('.where').waitFor();
  const hers = page.url();
  await page.goto(`${hers}/reading`);
  await page.locator('.keys').waitFor();
  await type(page, '1634');
  await page.locator('.fields .value').filter({ hasText: /^4$/ }).waitFor();
  const everywhere = () => page.evaluate(() => JSON.stringify([location.href, document.cookie, { ...localStorage }, { ...sessionStorage }]));
  assert.doesNotMatch(await everywhere(), /163/);
  await page.goto(`${hers}/away`);
  await tap(page, 'Put Woman A away');
  await page.getByRole('heading', { name: 'What do you see?' }).waitFor();
  assert.deepEqual(await inStore(page, 'cases'), []);
  for (const store of ['outbox', 'kept']) assert.doesNotMatch(JSON.stringify(await inStore(page, store)), /unfinished/, store);
  await context.close();
});
