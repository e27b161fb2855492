// Interruptions are normal: at every step the browser is killed, sixteen minutes pass, and she goes on.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { folder, inStore, kill, openBrowser, serve, settleAt, type } from './support/sample.mjs';

let server;
before(async () => { server = await serve(); });
after(() => server.stop());

const passed = 16 * 60000;

/** The first browser lives sixteen minutes ago; the second one now. */
async function interrupted(begin, resume) {
  const memory = folder();
  const earlier = await openBrowser({ memory });
  await earlier.context.clock.install({ time: Date.now() - passed });
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
const clockOf = (ms) => new Date(ms).toISOString().slice(11, 16);

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
  const taken = Date.now() - passed;
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
