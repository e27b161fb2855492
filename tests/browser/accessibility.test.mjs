// Everybody can use it: WCAG 2.2 AA as far as axe-core can tell, the keyboard alone, 200 % zoom, less motion.
import assert from 'node:assert/strict';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { violations } from './support/axe.mjs';
import { catalogue, desk, folder, languages, makeKey, openBrowser, picture, serve, settleAt, phone, type } from './support/sample.mjs';

let server;
let guarded;
before(async () => {
  const keys = join(folder(), 'keys.json');
  makeKey(keys, 'health_worker', 'kezhiru', 'kezhiru-clinic');
  [server, guarded] = await Promise.all([serve(), serve('--keys', keys)]);
});
after(() => Promise.all([server.stop(), guarded.stop()]));

/** What can be pressed on the view that is shown, and cannot be got to with Tab or does not show that it has the focus. */
async function outOfReach(page) {
  const count = await page.evaluate(() => {
    const parts = [...document.querySelectorAll('a[href], button:not([disabled]), input, select, summary, [tabindex="0"]')].filter((one) => one.checkVisibility());
    const reached = new Set();
    document.addEventListener('focusin', ({ target }) => {
      // The outline of a field that scrolls is its own matter; everything else shows the ring.
      if (target.matches('main, .map, h1') || getComputedStyle(target).outlineStyle !== 'none') reached.add(target);
    });
    globalThis.missed = () => parts.filter((one) => one.isConnected && !reached.has(one)).map(({ outerHTML }) => outerHTML.slice(0, 120));
    return parts.length + document.querySelectorAll('.leaflet-interactive').length; // marks on a map take the focus too
  });
  for (let pressed = 0; pressed < count + 6; pressed += 1) await page.keyboard.press('Tab');
  return page.evaluate(() => globalThis.missed());
}

/** Goes there; what comes then is looked for beside the view before it. */
async function onTo(page, address) {
  await page.locator('main').evaluate((main) => { main.dataset.before = ''; });
  await page.goto(address);
  await page.locator('main:not([data-before]):not([inert])').waitFor();
}

/** Every view, each with the woman who was begun on the way. */
async function eachView(page, words, visit) {
  await page.goto(`${guarded.address}/`);
  await page.getByLabel(words['sign_in.key']).waitFor();
  await visit('sign-in');
  await page.goto(`${server.address}/`);
  await page.getByRole('heading', { name: words['place.title'] }).waitFor();
  await visit('place');
  await page.getByRole('button', { name: 'Kezhiru clinic' }).click();
  await page.getByRole('heading', { name: words['here.title'] }).waitFor();
  await visit('here');
  await page.getByRole('button', { name: words.save }).click();
  await page.getByRole('heading', { name: words['home.title'] }).waitFor();
  await visit('home');
  await page.getByRole('button', { name: words['urgent.fits'] }).click();
  await page.locator('.where').waitFor();
  await visit('answer');
  const [, , id] = new URL(page.url()).hash.split('/');
  for (const view of ['ask', 'reading', 'status', 'actions', 'family', 'no', 'where', 'away', 'way']) {
    await onTo(page, `${server.address}/#/case/${id}/${view}`);
    await page.locator('main:not([inert]) h2, .family').first().waitFor();
    if (view === 'way') await page.locator('.leaflet-interactive').first().waitFor();
    await visit(view);
    if (view === 'reading') {
      await type(page, '17');
      await page.reload();
      await page.getByRole('button', { name: words['ask.anew'] }).waitFor();
      await visit('half-typed');
    }
  }
  const sent = await fetch(`${server.address}/v1/referrals`, {
    method: 'POST',
    headers: { 'Content-Type': 'application/json' },
    body: JSON.stringify({ request: { findings: { convulsions: 'yes' }, from: { facility: 'tamvrelo-clinic' } }, sender: 'tamvrelo-clinic', to: 'venzhoth-hospital', persons: [{ person: 'mother' }] }),
  });
  const { code } = await sent.json();
  await onTo(page, `${server.address}/#/referral/${code}`);
  await page.getByText(words['arrivals.from'].replace('{name}', 'Tamvrelo clinic')).waitFor();
  await visit('referral');
  for (const view of ['arrivals', 'ready', 'dispatch', 'intake', 'shift', 'planning', 'map', 'settings']) {
    await onTo(page, `${server.address}/#/${view}`);
    const own = { intake: '#intake-place', shift: '#shift-leave' };
    await page.locator(own[view] ?? `nav.tabs a[aria-current][href$="#/${view}"]`).waitFor();
    if (view === 'dispatch') await page.locator('.desk article').first().waitFor();
    if (view === 'planning') await page.locator('.legend').waitFor();
    if (['map', 'dispatch'].includes(view)) await page.locator('.leaflet-interactive').first().waitFor();
    await visit(view);
  }
}

/** What was seen on each view, in one walk for the tests below. */
async function walkIn(language) {
  const { context, page } = await openBrowser({ language });
  const seen = [];
  await eachView(page, catalogue(language), async (view) => {
    const onPhone = await violations(page);
    const missed = language === 'en' ? await outOfReach(page) : [];
    // 200 % on a phone of 360 by 640 leaves 180 by 320 (WCAG 2.2, 1.4.4).
    await page.setViewportSize({ width: phone.width / 2, height: phone.height / 2 });
    const wide = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
    await picture(page, `${language}-zoom-${view}`);
    await page.setViewportSize(desk);
    const onDesk = await violations(page);
    await page.setViewportSize(phone);
    seen.push({ view, onPhone, onDesk, missed, wide });
  });
  await context.close();
  assert.equal(seen.length, 24);
  return seen;
}
const walks = new Map();
const walked = (language) => {
  if (!walks.has(language)) walks.set(language, walkIn(language));
  return walks.get(language);
};

for (const language of languages) {
  test(`${language}: axe-core finds nothing on any view, on a phone and on a desk`, async () => {
    for (const { view, onPhone, onDesk } of await walked(language)) assert.deepEqual([onPhone, onDesk], [[], []], view);
  });

  test(`${language}: at 200 % zoom nothing is cut off sideways on any view`, async () => {
    for (const { view, wide } of await walked(language)) assert.ok(wide <= 0, `${view} is ${wide} pixels too wide`);
  });
}

test('With Tab alone everything on every view that can be pressed is reached, and shows that it is', async () => {
  for (const { view, missed } of await walked('en')) assert.deepEqual(missed, [], view);
});

test('With the keyboard alone: from the first screen to the call, and back', async () => {
  const { context, page } = await openBrowser();
  await settleAt(page, server.address);
  const tabTo = async (name) => {
    for (let pressed = 0; pressed < 60; pressed += 1) {
      await page.keyboard.press('Tab');
      const focused = await page.evaluate(() => {
        // The main part can be scrolled by key, and begins with the words of whatever stands first in it.
        const { textContent, tagName } = document.activeElement;
        const style = getComputedStyle(document.activeElement);
        return { text: tagName === 'MAIN' ? '' : textContent.trim(), outline: style.outlineStyle };
      });
      if (focused.text.startsWith(name)) {
        assert.notEqual(focused.outline, 'none', `${name} shows that it has the focus`);
        return;
      }
    }
    assert.fail(`${name} cannot be reached`);
  };
  await tabTo('She is having fits');
  await page.keyboard.press('Enter');
  await page.locator('.where').waitFor();
  await tabTo('Call ');
  const called = await page.locator('.call a.main').innerText();
  await tabTo('Refused');
  await page.keyboard.press('Enter');
  // The next place stands there: the view that was tapped on is gone, and no later one follows.
  await page.locator('.call a.main').filter({ hasNotText: called }).waitFor();
  await tabTo('Measure again');
  await page.keyboard.press('Space');
  await page.locator('.keys').waitFor();
  await tabTo('Upper');
  await page.keyboard.type('172114');
  await tabTo('Pulse');
  await page.keyboard.press('Enter');
  await page.keyboard.type('98');
  await tabTo('Done');
  await page.keyboard.press('Enter');
  await page.locator('main:not([inert]) .where').waitFor();
  await context.close();
});

test('Whoever asks for less motion sees none', async () => {
  const { context, page } = await openBrowser({ motion: 'reduce' });
  await settleAt(page, server.address);
  const moving = await page.evaluate(() => [...document.querySelectorAll('*')].filter((one) => {
    const { transitionDuration, animationName } = getComputedStyle(one);
    return transitionDuration.split(',').some((span) => parseFloat(span) > 0) || animationName !== 'none';
  }).length);
  assert.equal(moving, 0);
  await context.close();
});

test('Written from right to left, the page mirrors itself', async () => {
  const { context, page } = await openBrowser();
  await settleAt(page, server.address);
  await page.getByRole('button', { name: 'She is having fits' }).click();
  await page.locator('.where').waitFor();
  await page.evaluate(() => { document.documentElement.dir = 'rtl'; });
  const back = await page.getByRole('link', { name: 'Back' }).boundingBox();
  assert.ok(back.x > phone.width / 2);
  const wide = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
  assert.ok(wide <= 0);
  // Numbers, telephone numbers and maps are the same way round everywhere.
  await page.goto(`${page.url()}/reading`);
  const keyOf = (digit) => page.locator('.keys button').filter({ hasText: digit }).boundingBox();
  await page.locator('.keys').waitFor();
  const [one, three] = [await keyOf('1'), await keyOf('3')];
  assert.ok(one.x < three.x && one.y === three.y);
  await page.goto(page.url().replace('/reading', '/family'));
  assert.equal(await page.locator('.family a').getAttribute('dir'), 'ltr');
  await page.goto(page.url().replace('/family', '/way'));
  const name = page.locator('.map-name').filter({ hasText: 'Kezhiru clinic' });
  await name.waitFor();
  const [map, words] = [await page.locator('.map').boundingBox(), await name.boundingBox()];
  assert.ok(words.x >= map.x && words.x + words.width <= map.x + map.width, 'the name of this place is within the map');
  await context.close();
});

test('No field shows the browser’s own little arrows: numbers are typed, and dots say that there is a choice', async () => {
  const { context, page } = await openBrowser({ size: desk });
  for (const [view, field] of [['intake', '#intake-weeks'], ['planning', 'input[name=count]']]) {
    await page.goto(`${server.address}/#/${view}`);
    await page.locator(field).waitFor({ state: 'attached' });
    const fields = (kind) => page.locator(kind).evaluateAll((all) => all.map((one) => { const { appearance, backgroundImage } = getComputedStyle(one); return { appearance, dots: backgroundImage.split('radial-gradient').length - 1 }; }));
    const choices = await fields('select');
    assert.ok(choices.length > 0 && choices.every(({ appearance, dots }) => appearance === 'none' && dots === 3), JSON.stringify(choices));
    assert.ok((await fields('input[type=number]')).every(({ appearance }) => appearance === 'textfield'), view);
  }
  await page.goto(`${server.address}/#/intake`);
  await page.locator('#intake-weeks').hover(); // Chromium draws its arrows under the mouse
  await picture(page, 'en-desk-intake-fields');
  await context.close();
});
