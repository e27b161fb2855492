// The dispatcher's main job: three women, four vehicles, from the alert to the handover, by mouse and by
// keyboard alone; what is overdue; two who decide at once.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { violations } from './support/axe.mjs';
import { catalogue, desk, inStore, instant, languages, now, openBrowser, picture, serve, until } from './support/sample.mjs';

const clinics = ['kezhiru-clinic', 'luzhenni-clinic', 'tamvrelo-clinic'];
const steps = ['transport_sent', 'with_the_woman', 'departed', 'arrived', 'received'];

/** A district of its own, in which four of the sample's vehicles work, whatever the hour is. */
async function district() {
  const server = await serve();
  const post = (path, body) => fetch(server.address + path, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body) });
  for (const id of ['sorvrith-2', 'ammovreth-1', 'quovreth-1', 'uvrissa-1']) {
    assert.equal((await post(`/v1/vehicles/${id}/reports`, { state: 'off_duty' })).status, 200);
  }
  const send = async (clinic, more = {}) => {
    const answer = await post('/v1/referrals', { request: { findings: { status: 'pregnant', gestation_weeks: 36, convulsions: 'yes' }, from: { facility: clinic } }, sender: clinic, to: 'sorvrith-hospital', persons: [{ person: 'mother' }], ...more });
    assert.equal(answer.status, 201, await answer.clone().text());
    return (await answer.json()).code;
  };
  const referral = async (code) => (await fetch(`${server.address}/v1/referrals/${code}`)).json();
  return { server, send, referral };
}

async function openDesk(server, more = {}) {
  const opened = await openBrowser({ size: desk, ...more });
  await opened.page.goto(`${server.address}/#/dispatch`);
  await opened.page.locator('.desk h2').first().waitFor();
  return opened;
}

const her = (page, code) => page.getByRole('article', { name: code });

for (const language of languages) {
  test(`${language}: three women and four vehicles, from the alert to handed over, with the mouse`, async () => {
    const { server, send, referral } = await district();
    const words = catalogue(language);
    const { page, errors, requests, context } = await openDesk(server, { language });
    await page.getByText(words['arrivals.live']).waitFor();
    const codes = [];
    for (const clinic of clinics) codes.push(await send(clinic));
    for (const code of codes) await her(page, code).waitFor(); // they came by themselves
    await page.locator('.map-woman').nth(2).waitFor();
    assert.deepEqual(await violations(page), []);
    await picture(page, `${language}-desk-dispatch`);
    // Each is confirmed with what it costs and what it leaves for the next call.
    for (const code of codes) {
      await her(page, code).getByRole('button', { name: words['dispatch.send'] }).click();
      const dialog = page.getByRole('dialog');
      await dialog.getByText(words['dispatch.costs_nothing']).waitFor();
      await dialog.getByRole('heading', { name: words['dispatch.cover'] }).waitFor();
      if (code === codes[0]) {
        assert.deepEqual(await violations(page), []);
        await picture(page, `${language}-desk-dispatch-confirm`);
      }
      await dialog.getByRole('button', { name: words['dispatch.do_it'] }).click();
      await dialog.waitFor({ state: 'detached' });
      await her(page, code).getByRole('button', { name: words['dispatch.send'] }).waitFor({ state: 'detached' });
    }
    const used = new Set();
    for (const code of codes) used.add((await referral(code)).vehicle);
    assert.equal(used.size, 3);
    // What drivers say by telephone is entered for them.
    for (const code of codes) {
      for (const step of steps) {
        await her(page, code).getByRole('button', { name: words[`dispatch.step.${step}`] }).click();
        await her(page, code).getByRole('button', { name: words[`dispatch.step.${step}`] }).waitFor({ state: 'detached' });
      }
      await her(page, code).waitFor({ state: 'detached' });
      assert.equal((await referral(code)).state, 'received');
    }
    await page.getByText(words['dispatch.none']).waitFor();
    assert.deepEqual(errors, []);
    assert.deepEqual(requests.filter((url) => !url.startsWith(server.address)), []);
    await context.close();
    await server.stop();
  });
}

test('From the island: the boat that fetches her, and at which landing and when an ambulance takes her over', async () => {
  const server = await serve();
  const post = (path, body) => fetch(server.address + path, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body) });
  const request = { readings: [{ taken_at: instant(now() - 300000), systolic_mmhg: 165, diastolic_mmhg: 112, pulse_per_minute: 96 }], findings: { status: 'pregnant', gestation_weeks: 34, severe_headache: 'yes' }, from: { facility: 'uvrissa-health-post' } };
  const answer = await post('/v1/referrals', { request, sender: 'uvrissa-health-post', to: 'sorvrith-hospital', persons: [{ person: 'mother' }] });
  assert.equal(answer.status, 201, await answer.clone().text());
  const { code } = await answer.json();
  const { page, errors, context } = await openDesk(server);
  const words = catalogue('en');
  await her(page, code).getByText(/^Uvrissa motor boat, .*: Sorvrith district hospital$/).waitFor();
  await her(page, code).getByText(/The second vehicle takes over at Sorvrith landing, at \d\d:\d\d at the latest\./).waitFor();
  await page.locator('.map-woman').first().waitFor();
  assert.deepEqual(await violations(page), []);
  await picture(page, 'en-desk-dispatch-boat');
  await her(page, code).getByRole('button', { name: words['dispatch.send'] }).click();
  const dialog = page.getByRole('dialog');
  await dialog.getByRole('button', { name: words['dispatch.do_it'] }).click();
  await dialog.waitFor({ state: 'detached' });
  await her(page, code).getByText(/Decided: Uvrissa motor boat/).waitFor();
  const referral = await (await fetch(`${server.address}/v1/referrals/${code}`)).json();
  assert.equal(referral.vehicle, 'uvrissa-1');
  assert.deepEqual(errors, []);
  await context.close();
  await server.stop();
});

test('With the keyboard alone: another vehicle, its cost, the decision, every step to the handover', async () => {
  const { server, send, referral } = await district();
  const words = catalogue('en');
  const codes = [];
  for (const clinic of clinics) codes.push(await send(clinic));
  const { page, context } = await openDesk(server);
  for (const code of codes) await her(page, code).waitFor();
  const tabTo = async (key) => {
    for (let pressed = 0; pressed < 120; pressed += 1) {
      await page.keyboard.press('Tab');
      const at = await page.evaluate(() => ({ key: document.activeElement.dataset.key, outline: getComputedStyle(document.activeElement).outlineStyle }));
      if (at.key === key) {
        assert.notEqual(at.outline, 'none', `${key} shows that it has the focus`);
        return;
      }
    }
    assert.fail(`${key} cannot be reached`);
  };
  const yes = async () => {
    const dialog = page.getByRole('dialog');
    await dialog.waitFor();
    for (let pressed = 0; pressed < 20 && (await page.evaluate(() => document.activeElement.textContent)) !== 'Yes, make it so'; pressed += 1) await page.keyboard.press('Tab');
    await page.keyboard.press('Enter');
    await dialog.waitFor({ state: 'detached' });
  };
  // Pellumvo is far away: it costs something, which is said before it counts.
  await tabTo(`pick ${codes[0]}`);
  await page.keyboard.type('Pellumvo');
  await tabTo(`cost ${codes[0]}`);
  await page.keyboard.press('Enter');
  await page.getByRole('dialog').getByText(/later .*than need be/).waitFor();
  await page.keyboard.press('Escape');
  assert.equal((await referral(codes[0])).vehicle, null);
  await tabTo(`cost ${codes[0]}`);
  await page.keyboard.press('Enter');
  await yes();
  await her(page, codes[0]).getByText('Decided: Pellumvo ambulance').waitFor();
  for (const code of codes.slice(1)) {
    await tabTo(`send ${code}`);
    await page.keyboard.press('Enter');
    await yes();
    await her(page, code).getByText('Decided:').waitFor();
  }
  for (const code of codes) {
    for (const state of ['transport_sent', 'with_the_woman', 'departed', 'arrived', 'received']) {
      await tabTo(`step ${code}`);
      await page.keyboard.press('Enter');
      for (let looked = 0; (await referral(code)).journey !== state; looked += 1) {
        assert.ok(looked < 50, `${code} is not ${state}`);
        await page.waitForTimeout(100);
      }
      const button = her(page, code).getByRole('button', { name: words[`dispatch.step.${state}`] });
      await button.waitFor({ state: 'detached' });
    }
  }
  await page.getByText('No woman waits for transport').waitFor();
  await context.close();
  await server.stop();
});

test('A vehicle is dragged onto a woman, from the list or on the map: what it costs is asked, nothing is sent', async () => {
  const { server, send, referral } = await district();
  const code = await send('kezhiru-clinic');
  const { page, context } = await openDesk(server);
  const dialog = page.getByRole('dialog');
  const onTheMap = async () => {
    await page.getByRole('img', { name: 'Vehicle Venzhoth ambulance' }).hover();
    await page.mouse.down();
    await page.getByRole('img', { name: `Woman of referral ${code}` }).hover({ force: true });
    await page.mouse.up();
  };
  const inTheList = () => page.getByRole('article', { name: 'Venzhoth ambulance' }).dragTo(her(page, code));
  await page.locator('.map-woman').waitFor();
  for (const drag of [onTheMap, inTheList]) {
    await drag();
    await dialog.getByText('Venzhoth ambulance:').waitFor();
    await dialog.getByRole('button', { name: 'No, leave it' }).click();
    await dialog.waitFor({ state: 'detached' });
  }
  assert.equal((await referral(code)).vehicle, null);
  await context.close();
  await server.stop();
});

test('Two dispatchers decide at once: the second is told, and overwrites nothing', async () => {
  const { server, send, referral } = await district();
  const code = await send('kezhiru-clinic');
  const [one, other] = [await openDesk(server), await openDesk(server)];
  for (const { page } of [one, other]) {
    await her(page, code).getByLabel('Another vehicle').selectOption(page === one.page ? 'sorvrith-1' : 'venzhoth-1');
    await her(page, code).getByRole('button', { name: 'What would it cost?' }).click();
    await page.getByRole('dialog').waitFor();
  }
  await one.page.getByRole('button', { name: 'Yes, make it so' }).click();
  await her(one.page, code).getByText('Decided: Sorvrith ambulance 1').waitFor();
  await other.page.getByRole('button', { name: 'Yes, make it so' }).click();
  await other.page.getByRole('alert').getByText('Somebody else has decided meanwhile').waitFor();
  await her(other.page, code).getByText('Decided: Sorvrith ambulance 1').waitFor();
  assert.equal((await referral(code)).vehicle, 'sorvrith-1');
  await one.context.close();
  await other.context.close();
  await server.stop();
});

test('What is overdue is said in words and framed twice, and somebody takes it on', async () => {
  const { server, send } = await district();
  const opened = instant(now() - 20 * 60000);
  const code = await send('kezhiru-clinic', { recorded_late: true, opened_at: opened });
  const { page, context } = await openDesk(server);
  const overdue = her(page, code).getByRole('group', { name: 'Overdue' });
  await overdue.first().waitFor();
  assert.match(await overdue.first().innerText(), /^OVERDUE since \d\d:\d\d: /);
  // What is drawn anew just then has no style any more.
  const frame = await until('it is framed', () => overdue.first().evaluate((one) => { const style = getComputedStyle(one); return one.isConnected && [style.borderTopStyle, parseFloat(style.borderTopWidth)]; }));
  assert.equal(frame[0], 'double');
  assert.ok(frame[1] >= 4);
  await picture(page, 'en-desk-dispatch-overdue');
  const before = await overdue.getByRole('button', { name: 'I take it on' }).count();
  await overdue.first().getByRole('button', { name: 'I take it on' }).click();
  await her(page, code).getByText('Somebody took it on').first().waitFor();
  assert.equal(await overdue.getByRole('button', { name: 'I take it on' }).count(), before - 1);
  await context.close();
  await server.stop();
});

test('What is pressed or dragged while something happens elsewhere stays in the hand', async () => {
  const { server, send } = await district();
  const code = await send('kezhiru-clinic');
  const { page, context } = await openDesk(server);
  await page.getByText('Followed live').waitFor();
  await page.locator('.map-woman').waitFor();
  const button = her(page, code).getByRole('button', { name: 'Send as proposed' });
  const inTheList = page.getByRole('article', { name: 'Venzhoth ambulance' });
  const onTheMap = page.getByRole('img', { name: 'Vehicle Venzhoth ambulance' });
  const woman = page.getByRole('img', { name: `Woman of referral ${code}` });
  for (const [what, from, to, sender] of [['a button', button, button, 'luzhenni-clinic'], ['a vehicle of the list', inTheList, her(page, code), 'tamvrelo-clinic'], ['a vehicle of the map', onTheMap, woman, 'luzhenni-clinic']]) {
    await from.hover();
    await page.mouse.down();
    if (to !== from) await to.hover({ force: true }); // a drag begins with the first movement
    const look = page.waitForResponse('**/v1/vehicles');
    const other = await send(sender);
    await (await look).finished();
    await page.evaluate(() => new Promise((resolve) => { setTimeout(resolve, 1000); }));
    assert.equal(await her(page, other).count(), 0, `drawn while ${what} is held`);
    await to.hover({ force: true });
    await page.mouse.up();
    await page.getByRole('dialog').getByRole('button', { name: 'No, leave it' }).click();
    await her(page, other).waitFor();
  }
  await context.close();
  await server.stop();
});

test('A vehicle breaks down: it is said in two keys, and the plan is another one with the reason', async () => {
  const { server, send, referral } = await district();
  const code = await send('kezhiru-clinic');
  const { page, context } = await openDesk(server);
  await her(page, code).getByRole('button', { name: 'Send as proposed' }).click();
  await page.getByRole('button', { name: 'Yes, make it so' }).click();
  await her(page, code).getByText('Decided:').waitFor();
  const { vehicle } = await referral(code);
  await page.locator(`[data-key="state ${vehicle}"]`).selectOption('breakdown');
  await page.locator(`[data-key="say ${vehicle}"]`).click();
  await her(page, code).getByText('What was promised is not possible any more').waitFor();
  await her(page, code).getByRole('button', { name: 'Send as proposed' }).click();
  await page.getByRole('button', { name: 'Yes, make it so' }).click();
  await page.getByRole('dialog').waitFor({ state: 'detached' });
  await her(page, code).getByRole('button', { name: 'Send as proposed' }).waitFor({ state: 'detached' });
  assert.notEqual((await referral(code)).vehicle, vehicle);
  await context.close();
  await server.stop();
});

test('The shift is handed over with the keyboard alone: read, signed, acknowledged, read again, printed', async () => {
  const { server, send } = await district();
  const words = catalogue('en');
  const code = await send('kezhiru-clinic');
  const { page, errors, context } = await openDesk(server);
  await her(page, code).waitFor();
  const tabTo = async (key) => {
    for (let pressed = 0; pressed < 120; pressed += 1) {
      await page.keyboard.press('Tab');
      if ((await page.evaluate(() => document.activeElement.dataset.key)) === key) return;
    }
    assert.fail(`${key} cannot be reached`);
  };
  const yes = async (label) => {
    await page.getByRole('dialog').waitFor();
    for (let pressed = 0; pressed < 20 && (await page.evaluate(() => document.activeElement.textContent)) !== label; pressed += 1) await page.keyboard.press('Tab');
    await page.keyboard.press('Enter');
    await page.getByRole('dialog').waitFor({ state: 'detached' });
  };
  await tabTo('shift');
  await page.keyboard.press('Enter');
  await page.getByRole('heading', { name: words['shift.leave'] }).waitFor();
  await her(page, code).locator('li').first().waitFor(); // what she needs
  assert.deepEqual(await violations(page), []);
  await picture(page, 'en-desk-shift');
  await tabTo('sign');
  await page.keyboard.press('Enter');
  await page.getByRole('dialog').waitFor();
  await page.keyboard.press('Escape'); // not yet
  await page.getByRole('dialog').waitFor({ state: 'detached' });
  assert.deepEqual((await (await fetch(`${server.address}/v1/shift-handovers`)).json()).handovers, []);
  await tabTo('sign');
  await page.keyboard.press('Enter');
  await yes(words['shift.sign']);
  await page.getByRole('heading', { name: words['shift.take'] }).waitFor();
  await page.getByText(words['shift.not_taken']).first().waitFor();
  assert.deepEqual(await violations(page), []);
  await tabTo('acknowledge');
  await page.keyboard.press('Enter');
  await yes(words['shift.acknowledge']);
  await page.getByRole('heading', { name: words['shift.take'] }).waitFor({ state: 'detached' });
  const { handovers } = await (await fetch(`${server.address}/v1/shift-handovers`)).json();
  assert.equal(handovers.length, 1);
  assert.ok(handovers[0].taken_at);
  await tabTo(`past ${handovers[0].id}`);
  await page.keyboard.press('Enter');
  await page.getByText(/^Taken over by local/).waitFor();
  await her(page, code).waitFor(); // as it was signed
  await page.emulateMedia({ media: 'print' });
  assert.equal(await page.getByRole('button', { name: words['more.print'] }).isVisible(), false);
  assert.ok(await page.locator('.paper').first().isVisible());
  assert.deepEqual(errors, []);
  await context.close();
  await server.stop();
});

test('What changes while the list is read is not signed, and that is said', async () => {
  const { server, send } = await district();
  const words = catalogue('en');
  await send('kezhiru-clinic');
  const { page, context } = await openBrowser({ size: desk });
  await page.goto(`${server.address}/#/shift`);
  await page.getByRole('button', { name: words['shift.sign'] }).click();
  const dialog = page.getByRole('dialog');
  await dialog.waitFor();
  const code = await send('luzhenni-clinic');
  await dialog.getByRole('button', { name: words['shift.sign'] }).click();
  await page.getByText(words['shift.overtaken']).waitFor();
  await her(page, code).waitFor();
  assert.deepEqual((await (await fetch(`${server.address}/v1/shift-handovers`)).json()).handovers, []);
  await context.close();
  await server.stop();
});

test('The cover says where free vehicles should wait and who should move up, before anything is sent', async () => {
  const { server, send } = await district();
  const words = catalogue('en');
  const code = await send('kezhiru-clinic');
  const { page, context } = await openDesk(server);
  await her(page, code).waitFor();
  const { cover } = await (await fetch(`${server.address}/v1/transport-plans`)).json();
  const box = page.getByRole('region', { name: words['dispatch.cover'] });
  for (const [key, list] of [['waiting', cover.waiting], ['last_before', cover.last_vehicles], ['move_ups', cover.move_ups]]) {
    const summary = box.locator(`summary[data-key="cover ${key}"]`);
    assert.equal(await summary.count(), list.length ? 1 : 0, key);
    if (!list.length) continue;
    if (!(await summary.evaluate((one) => one.parentElement.open))) {
      await summary.focus();
      await page.keyboard.press('Enter');
    }
    await box.getByText(list[0].text).first().waitFor();
  }
  assert.ok(cover.last_vehicles.length > 0, 'with three vehicles somebody is the last one somewhere');
  assert.deepEqual(await violations(page), []);
  await context.close();
  await server.stop();
});

test('All ways compared: every vehicle stands there, and each of the others says why it lost', async () => {
  const { server, send } = await district();
  const code = await send('kezhiru-clinic');
  const { page, context } = await openDesk(server);
  await her(page, code).getByRole('button', { name: 'All ways compared' }).click();
  const ways = her(page, code).locator('li.box');
  await ways.nth(7).waitFor();
  const texts = await ways.allInnerTexts();
  assert.ok(texts.every((text, index) => text.includes(index ? 'Against it:' : 'The best for her alone')), texts.join('\n'));
  assert.ok(texts.some((text) => text.includes('it is off duty')), 'who cannot come says why');
  await context.close();
  await server.stop();
});

test('A case by telephone, with the keyboard alone: the village misspelt, little known, opened within a minute', async () => {
  const { server, referral } = await district();
  const { page, context, requests } = await openDesk(server);
  await page.getByRole('link', { name: 'A case by telephone' }).focus();
  const began = Date.now();
  await page.keyboard.press('Enter');
  await page.getByLabel('Where is she?').waitFor();
  await page.keyboard.type('Kezheru clinc'); // two slips
  // What half of the word was taken for may stand there for a moment.
  await page.getByRole('radio', { name: /Kezhiru clinic/, checked: true }).waitFor();
  const tabTo = async (name) => {
    for (let pressed = 0; pressed < 40; pressed += 1) {
      await page.keyboard.press('Tab');
      if (await page.evaluate((words) => (document.activeElement.labels?.[0]?.textContent ?? document.activeElement.textContent).trim() === words, name)) return;
    }
    assert.fail(`${name} cannot be reached`);
  };
  await tabTo('She is having fits');
  await page.keyboard.press('Space');
  await tabTo('Where to?');
  await page.keyboard.press('Enter');
  await page.getByRole('button', { name: 'Open the referral' }).waitFor();
  await picture(page, 'en-desk-intake');
  await page.waitForTimeout(100);
  await page.keyboard.press('Enter'); // it has the focus
  const told = await page.getByText(/^Opened: /).innerText();
  assert.ok(Date.now() - began < 60000, 'it took more than a minute');
  const one = await referral(told.match(/[2-9A-Z]{8}/)[0]);
  assert.equal(one.sender, 'kezhiru-clinic');
  assert.equal(one.channel, 'telephone');
  assert.equal(one.findings.findings.convulsions, 'yes');
  assert.equal(one.findings.findings.bleeding, undefined, 'what was not said is not known');
  assert.ok(requests.every((url) => !/kezh/i.test(url)), 'where she is stands in no address');
  await page.keyboard.press('Enter');
  await her(page, one.code).waitFor();
  await context.close();
  await server.stop();
});

/** The form for a case by telephone, with a place found by name. */
async function openIntake(server, name, more = {}) {
  const opened = await openBrowser({ size: desk, ...more });
  await opened.page.goto(`${server.address}/#/intake`);
  await opened.page.locator('#intake-place').fill(name);
  await opened.page.locator('input[type=radio]').first().waitFor();
  return opened;
}
const recommendations = '**/v1/recommendations';
const ask = (page) => page.getByRole('button', { name: 'Where to?' }).click();
/** Asks, and gives what was asked and what the server said. */
async function asked(page) {
  const [answer] = await Promise.all([page.waitForResponse(recommendations), ask(page)]);
  return { request: answer.request().postDataJSON(), answer: await answer.json() };
}

test('Of two places of one name the one that the dispatcher chooses is asked about, and opened', async () => {
  const { server } = await district();
  const { page, context } = await openIntake(server, 'Luzhenni');
  await page.getByRole('radio', { name: 'Luzhenni clinic (clinic)' }).check();
  await page.getByLabel('She is having fits').check();
  const { request } = await asked(page);
  assert.deepEqual(request.from, { facility: 'luzhenni-clinic' });
  const open = page.getByRole('button', { name: 'Open the referral' });
  await open.waitFor();
  assert.ok(await page.getByRole('radio', { name: 'Luzhenni clinic (clinic)' }).isChecked());
  const [opening] = await Promise.all([page.waitForRequest('**/v1/referrals'), open.click()]);
  assert.deepEqual(opening.postDataJSON().request, request);
  await page.getByText(/^Opened: [2-9A-Z]{8}/).waitFor();
  await context.close();
  await server.stop();
});

test('Pressed twice before the search has answered, nothing is asked about the name that stood there before', async () => {
  const { server } = await district();
  const { page, context } = await openIntake(server, 'Luzhenni clinic');
  const from = [];
  page.on('request', (request) => { if (request.url().endsWith('/v1/recommendations')) from.push(request.postDataJSON().from); });
  let letThrough;
  const mayAnswer = new Promise((resolve) => { letThrough = resolve; });
  let searches = 0;
  await page.route('**/v1/named-places', async (route) => {
    searches += 1;
    if (searches > 1) await mayAnswer;
    else await until('the second search', () => searches > 1);
    await route.continue();
  });
  const field = page.locator('#intake-place');
  await field.fill('Kezhiru clinic');
  await field.press('Enter');
  await field.press('Enter');
  await page.waitForTimeout(500);
  letThrough();
  await page.getByRole('button', { name: 'Open the referral' }).waitFor();
  assert.deepEqual(from, [{ facility: 'kezhiru-clinic' }]);
  await context.close();
  await server.stop();
});

for (const language of languages) {
  test(`${language}: two numbers that were exchanged are told as not taken over, before anything can be opened`, async () => {
    const { server } = await district();
    const words = catalogue(language);
    const { page, context, errors } = await openIntake(server, 'Kezhiru clinic', { language });
    await page.locator('#intake-upper').fill('112');
    await page.locator('#intake-lower').fill('165');
    const heard = page.waitForResponse(recommendations);
    await page.getByRole('button', { name: words['intake.ask'] }).click();
    const { assessment } = await (await heard).json();
    assert.equal(assessment.refused.length, 2);
    const warning = page.getByRole('alert');
    await warning.waitFor();
    for (const { why } of assessment.refused) assert.ok((await warning.innerText()).replace(/\s/g, ' ').includes(why.replace(/\s/g, ' ')), why);
    const open = page.getByRole('button', { name: words['intake.open'] });
    assert.ok(!(await open.evaluate((one) => one === document.activeElement)), 'the key that asked does not open it');
    const text = await page.locator('main').innerText();
    for (const key of ['answer.not_approved', 'stay.not_yet', 'caution.no_limit', 'caution.short']) assert.ok(text.includes(words[key].replace(/ (?=[:;?!»])/g, '\u00a0')), key);
    assert.deepEqual(await violations(page), []);
    await picture(page, `${language}-desk-intake-exchanged`);
    assert.deepEqual(errors, []);
    await context.close();
    await server.stop();
  });

  test(`${language}: late, by two stops, with what is not to be given: the answer by telephone says it all`, async () => {
    // Fits and heavy bleeding on the wrong side of the river after the last ferry (maps-sample/README.md).
    const at = '2026-07-08T19:40:00Z';
    const server = await serve('--now', at);
    const words = catalogue(language);
    const { page, context, errors } = await openIntake(server, 'Tamvrelo clinic', { language, at: Date.parse(at) });
    const told = async () => {
      const heard = page.waitForResponse(recommendations);
      await page.getByRole('button', { name: words['intake.ask'] }).click();
      const answer = await (await heard).json();
      await page.getByRole('button', { name: words['intake.open'] }).waitFor();
      return { answer, text: (await page.locator('main').innerText()).replace(/\s/g, ' ') };
    };
    await page.locator('#intake-status').selectOption('pregnant');
    await page.locator('#intake-fits').check();
    await page.locator('#intake-bleeding').check();
    const late = await told();
    assert.equal(late.answer.outcome, 'late');
    assert.equal(late.answer.stages.length, 2);
    const expected = [words['where.late'], ...late.answer.stages.map(({ name }) => name), ...late.answer.meanwhile, ...late.answer.assessment.cautions];
    for (const one of expected) assert.ok(late.text.includes(one.replace(/\s/g, ' ')), one);
    assert.deepEqual(await violations(page), []);
    await picture(page, `${language}-desk-intake-late`);
    await page.locator('#intake-status').selectOption('postpartum');
    await page.locator('#intake-fits').uncheck();
    const { answer, text } = await told();
    assert.ok(answer.assessment.withheld.length > 0);
    for (const { because } of answer.assessment.withheld) assert.ok(text.includes(because.replace(/\s/g, ' ')), because);
    assert.deepEqual(errors, []);
    await context.close();
    await server.stop();
  });
}

test('What was answered goes as soon as anything else is said, so that nothing else is opened than what is read', async () => {
  const { server } = await district();
  const { page, context } = await openIntake(server, 'Luzhenni');
  const open = page.getByRole('button', { name: 'Open the referral' });
  const changes = [
    () => page.getByLabel('She is having fits').check(),
    () => page.locator('#intake-upper').fill('170'),
    () => page.locator('#intake-means').selectOption('car'),
    () => page.getByRole('radio', { name: 'Luzhenni clinic (clinic)' }).check(),
    () => page.locator('#intake-place').fill('Luzhenni c'),
  ];
  for (const change of changes) {
    await ask(page);
    await open.waitFor();
    await change();
    assert.equal(await open.count(), 0);
  }
  await context.close();
  await server.stop();
});

test('A second click where “Where to?” stood a moment ago does not open the referral', async () => {
  const { server } = await district();
  const { page, context, requests } = await openIntake(server, 'Kezhiru clinic');
  await page.getByLabel('She is having fits').check();
  await ask(page);
  const open = page.getByRole('button', { name: 'Open the referral' });
  await open.waitFor();
  const { x, y, width, height } = await open.boundingBox();
  await page.mouse.click(x + width / 2, y + height / 2);
  await page.waitForTimeout(300);
  assert.equal(requests.filter((url) => url.endsWith('/v1/referrals')).length, 0);
  await open.click();
  await page.getByText(/^Opened: /).waitFor();
  await context.close();
  await server.stop();
});

test('A slow answer to an earlier question never stands where the later one’s does', async () => {
  const { server } = await district();
  const { page, context } = await openIntake(server, 'Kezhiru clinic');
  let letThrough;
  const mayAnswer = new Promise((resolve) => { letThrough = resolve; });
  let questions = 0;
  await page.route(recommendations, async (route) => {
    questions += 1;
    if (questions === 1) await mayAnswer;
    await route.continue();
  });
  const first = page.waitForResponse(recommendations);
  await ask(page);
  await until('the first one is asked', () => questions === 1);
  await page.getByLabel('The cord can be seen or felt').check();
  await ask(page);
  const found = page.getByText(/^Found: .*cord/i);
  await found.waitFor();
  letThrough();
  await (await first).finished();
  await page.waitForTimeout(300);
  assert.equal(await page.getByText(/^Found: /).count(), 1);
  assert.ok(await found.isVisible());
  await context.close();
  await server.stop();
});

test('When the server cannot answer and the phone does, the answer by telephone says so', async () => {
  const { server } = await district();
  const { page, context } = await openIntake(server, 'Kezhiru clinic');
  await until('the phone has its pack', () => inStore(page, 'kept', 'pack'));
  await page.route(recommendations, (route) => route.fulfill({ status: 503, contentType: 'application/problem+json', body: '{"detail":"busy"}' }));
  await page.getByLabel('She is having fits').check();
  await ask(page);
  await page.getByText(/By this phone, as known at/).waitFor();
  await context.close();
  await server.stop();
});
