// Her family: what they are shown and hear, where she really goes, and what happens when they say no.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { catalogue, inStore, languages, openBrowser, picture, serve, settleAt } from './support/sample.mjs';

let server;
before(async () => { server = await serve(); });
after(() => server.stop());

/** To the answer of a woman who fits; gives the address of her views. */
async function fitting(page, words = catalogue('en')) {
  await settleAt(page, server.address);
  await page.getByRole('button', { name: words['urgent.fits'] }).click();
  await page.locator('.where').waitFor();
  return page.url();
}

for (const language of languages) {
  test(`${language}: the family's screen is whole on a phone, says whose it is, and no mark begins a line`, async () => {
    const words = catalogue(language);
    const { context, page, errors } = await openBrowser({ language });
    const hers = await fitting(page, words);
    await page.goto(`${hers}/family`);
    await page.locator('.family').waitFor();
    assert.ok((await page.locator('header').innerText()).includes(words['case.woman'].replace('{letter}', 'A')));
    assert.ok(await page.locator('main').evaluate((main) => main.scrollHeight <= main.clientHeight), 'nothing has to be scrolled');
    assert.doesNotMatch(await page.locator('.family').innerText(), / [:;?!]/);
    await picture(page, `${language}-phone-family`);
    await page.goto(`${hers}/no`);
    const soon = page.getByRole('button', { name: words['time.minutes'].other.replace('{count}', '15'), exact: true });
    await soon.waitFor();
    const { y, height } = await soon.boundingBox();
    assert.ok(y + height < 640, 'the time to ask again is in sight');
    await picture(page, `${language}-phone-says-no`);
    assert.deepEqual(errors, []);
    await context.close();
  });
}

test('Sent knowingly to another place: every screen says that place, until it says no', async () => {
  const { context, page } = await openBrowser();
  const hers = await fitting(page);
  const place = page.locator('.where .place');
  const best = await place.innerText();
  await page.getByText('Other places').click();
  await page.getByRole('button', { name: /^Send her to/ }).first().click();
  await place.filter({ hasNotText: best }).waitFor();
  const other = await place.innerText();
  assert.equal(await page.locator('.call a.main').innerText(), `Call ${other}`);
  assert.equal(await page.getByRole('button', { name: /^She now goes to/ }).count(), 0);
  await page.getByText('Other places').click();
  await page.getByRole('button', { name: `Send her to ${best}` }).waitFor();
  for (const [view, shown] of [['family', '.family .place'], ['way', 'main h2']]) {
    await page.goto(`${hers}/${view}`);
    await page.locator(shown).filter({ hasText: other }).waitFor();
  }
  await page.goto(hers);
  await page.getByRole('button', { name: 'Refused', exact: true }).click();
  await place.filter({ hasText: best }).waitFor();
  await page.getByRole('button', { name: `She now goes to ${best}` }).waitFor();
  const [one] = await inStore(page, 'cases');
  assert.equal(one.referral.to === one.answer.value.stages[0].facility, false);
  await context.close();
});

/** A browser whose voices come late, as they do; what it is told to say is written down. */
function voicesThatComeLate(list) {
  const target = new EventTarget();
  let voices = [];
  const said = [];
  globalThis.SpeechSynthesisUtterance = class { constructor(text) { this.text = text; } };
  Object.defineProperty(globalThis, 'speechSynthesis', {
    value: Object.assign(target, { said, getVoices: () => voices, cancel() {}, speak: ({ text, voice }) => said.push([voice.name, text]) }),
  });
  globalThis.letVoicesCome = () => {
    voices = list;
    target.dispatchEvent(new Event('voiceschanged'));
  };
}

test('The family’s screen is read aloud by a voice of the phone, never by one that is elsewhere', async () => {
  const away = { name: 'away', lang: 'en-GB', localService: false };
  const here = { name: 'here', lang: 'en_GB', localService: true };
  for (const [list, speaks] of [[[away], false], [[{ ...here, lang: 'fr-FR' }], false], [[away, here], true]]) {
    const { context, page } = await openBrowser();
    await context.addInitScript(voicesThatComeLate, list);
    const hers = await fitting(page);
    await page.goto(`${hers}/family`);
    await page.locator('.family').waitFor();
    const read = page.getByRole('button', { name: 'Read aloud' });
    assert.equal(await read.count(), 0);
    await page.evaluate(() => globalThis.letVoicesCome());
    assert.equal(await read.count(), speaks ? 1 : 0);
    if (speaks) {
      await read.click();
      const [[voice, text]] = await page.evaluate(() => globalThis.speechSynthesis.said);
      assert.equal(voice, 'here');
      assert.match(text, /Go to .*Be there by [^.]*\d\d:\d\d.*Bring/);
      assert.doesNotMatch(text, /eclampsia|fits|pressure/i);
      await page.goto(hers); // nothing is read on any other screen
      await page.locator('.where').waitFor();
      await page.evaluate(() => globalThis.letVoicesCome());
      assert.equal(await read.count(), 0);
    }
    await context.close();
  }
});
