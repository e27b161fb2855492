// Two stops are the longest answer: on the smallest screen all of it still stands above the call, unscrolled.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { catalogue, filled, inStore, languages, openBrowser, phone, picture, serve, settleAt, until } from './support/sample.mjs';

// Fits on the wrong side of the river after the last ferry (maps-sample/README.md): Druvaneth, then Venzhoth.
const at = '2026-07-08T19:40:00Z';
const her = {
  id: 'two-stops', letter: 'A', began: Date.parse(at), sign: '',
  findings: { status: 'pregnant', gestation_weeks: 36, avpu: 'V', convulsions: 'yes', bleeding: 'none', temp_c: 37.4 },
  readings: [{ taken_at: '2026-07-08T19:35:00Z', systolic_mmhg: 172, diastolic_mmhg: 114, pulse_per_minute: 104 }],
  asked: [], from_when: Date.parse(at), limit: null, now_at: null, calls: [], calling: null, answer: null, referral: null, refusal: null,
};

let server;
before(async () => { server = await serve('--now', at); });
after(() => server.stop());

for (const language of languages) {
  test(`${language}: what to do, both stops and their times stand above the call bar`, async () => {
    const { context, page, errors } = await openBrowser({ size: phone, language, at: Date.parse(at) });
    await settleAt(page, server.address, 'Tamvrelo clinic');
    await inStore(page, 'kept', 'available', { name: 'available', value: ['oral_antihypertensive', 'iv_fluids'] });
    await inStore(page, 'cases', her.id, her);
    await page.goto(`${server.address}/#/case/${her.id}`);
    await page.locator('.where').waitFor();
    const text = await page.locator('.where').innerText();
    for (const stop of ['Druvaneth health centre', 'Venzhoth hospital']) assert.ok(text.includes(stop), text);
    await picture(page, `${language}-phone-two-stops`);
    const bottom = ({ y, height }) => y + height;
    const end = bottom(await page.locator('.where').boundingBox());
    const bar = (await page.locator('.call').boundingBox()).y;
    assert.ok(end <= bar, `it ends ${end - bar} below the upper edge of the call bar`);
    assert.ok((await page.locator('ol.steps li').count()) >= 1);
    assert.deepEqual(errors, []);
    await context.close();
  });
}

/** Findings of which the steps fit the smallest screens in part only. */
const cut = [
  { name: 'too little oxygen', findings: { status: 'pregnant', spo2: 75 }, size: phone },
  { name: 'too little blood', findings: { status: 'pregnant', hb_g_dl: 1.5 }, size: { width: 320, height: 568 } },
];

for (const language of languages) {
  test(`${language}: where not every step is shown, the way to all of them is`, async () => {
    const words = catalogue(language);
    let less = 0;
    for (const { name, findings, size } of cut) {
      const { context, page, errors } = await openBrowser({ size, language, at: Date.parse(at) });
      await settleAt(page, server.address, 'Tamvrelo clinic');
      await inStore(page, 'cases', her.id, { ...her, findings, readings: [] });
      await page.goto(`${server.address}/#/case/${her.id}`);
      await page.locator('.where').waitFor();
      const [one] = await inStore(page, 'cases');
      const all = one.answer.value.assessment.do_now.flatMap(({ text }) => text.split(/(?<=[.!?])\s+(?=[A-ZÀ-Þ])/u));
      const shown = await page.locator('ol.steps li').count();
      const link = page.getByRole('link', { name: filled(words['answer.all_steps'], `${all.length}`) });
      await picture(page, `${language}-phone-${name.replaceAll(' ', '-')}`);
      assert.equal(await link.count(), shown < all.length ? 1 : 0, `${name}: ${shown} of ${all.length} steps`);
      if (shown < all.length) {
        less += 1;
        await link.click();
        const plain = (text) => text.replace(/\s/g, ' ');
        await until('all steps stand there', async () => {
          const text = plain(await page.locator('main').innerText());
          return all.every((step) => text.includes(plain(step)));
        });
      }
      assert.deepEqual(errors, []);
      await context.close();
    }
    assert.ok(less > 0);
  });
}

test('A place that said yes is not left by a tap on the main button when the answer comes to name a stop before it', async () => {
  const { context, page } = await openBrowser({ at: Date.parse(at) });
  await settleAt(page, server.address, 'Tamvrelo clinic');
  await inStore(page, 'kept', 'available', { name: 'available', value: ['oral_antihypertensive', 'iv_fluids'] });
  const yes = { facility: 'venzhoth-hospital', answer: 'accepted', at: Date.parse(at) };
  const sent = { ...her, calls: [yes], referral: { code: '7K3M9HXA', to: 'venzhoth-hospital', departed: null } };
  await inStore(page, 'cases', her.id, sent);
  await page.goto(`${server.address}/#/case/${her.id}`);
  const change = page.getByRole('button', { name: 'She now goes to Druvaneth health centre' });
  await change.waitFor();
  assert.ok(!(await change.getAttribute('class') ?? '').includes('main'));
  await page.getByText('Venzhoth hospital said yes. Phone there before you change where she goes.').waitFor();
  await inStore(page, 'cases', her.id, { ...sent, calls: [] });
  await page.reload();
  await change.waitFor();
  assert.ok((await change.getAttribute('class')).includes('main'));
  assert.equal(await page.getByText('said yes. Phone there').count(), 0);
  await context.close();
});
