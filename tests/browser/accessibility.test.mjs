// Everybody can use it: WCAG 2.2 AA as far as axe-core can tell, the keyboard alone, 200 % zoom, less motion.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { violations } from './support/axe.mjs';
import { openBrowser, picture, serve, settleAt, phone } from './support/sample.mjs';

let server;
before(async () => { server = await serve(); });
after(() => server.stop());

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

/** Every view, each with the woman who was begun on the way. */
async function eachView(page, visit) {
  await page.goto(`${server.address}/`);
  await page.getByRole('heading', { name: 'Where is this phone?' }).waitFor();
  await visit('place');
  await page.getByRole('button', { name: 'Kezhiru clinic' }).click();
  await page.getByRole('heading', { name: 'What can be given here now' }).waitFor();
  await visit('here');
  await page.getByRole('button', { name: 'Save' }).click();
  await page.getByRole('heading', { name: 'What do you see?' }).waitFor();
  await visit('home');
  await page.getByRole('button', { name: 'She is having fits' }).click();
  await page.locator('.where').waitFor();
  await visit('answer');
  const [, , id] = new URL(page.url()).hash.split('/');
  for (const view of ['ask', 'reading', 'status', 'actions', 'family', 'no', 'where', 'away', 'way']) {
    await page.goto(`${server.address}/#/case/${id}/${view}`);
    await page.locator('main:not([inert]) h2, .family').first().waitFor();
    if (view === 'way') await page.locator('.leaflet-interactive').first().waitFor();
    await visit(view);
  }
  const sent = await fetch(`${server.address}/v1/referrals`, {
    method: 'POST',
    headers: { 'Content-Type': 'application/json' },
    body: JSON.stringify({ request: { findings: { convulsions: 'yes' }, from: { facility: 'tamvrelo-clinic' } }, sender: 'tamvrelo-clinic', to: 'venzhoth-hospital', persons: [{ person: 'mother' }] }),
  });
  const { code } = await sent.json();
  await page.goto(`${server.address}/#/referral/${code}`);
  await page.getByText('From Tamvrelo clinic').waitFor();
  await visit('referral');
  for (const view of ['arrivals', 'ready', 'dispatch', 'intake', 'planning', 'map', 'settings']) {
    await page.goto(`${server.address}/#/${view}`);
    // The view itself, not the one before it.
    await page.locator(view === 'intake' ? '#intake-place' : `nav.tabs a[aria-current][href$="#/${view}"]`).waitFor();
    if (view === 'dispatch') await page.locator('.desk article').first().waitFor();
    if (view === 'planning') await page.locator('.legend').waitFor();
    if (['map', 'dispatch'].includes(view)) await page.locator('.leaflet-interactive').first().waitFor();
    await visit(view);
  }
}

/** What was seen on each view, in one walk for the three tests below. */
let walk;
const walked = () => (walk ??= (async () => {
  const { context, page } = await openBrowser();
  const seen = [];
  await eachView(page, async (view) => {
    const found = await violations(page);
    const missed = await outOfReach(page);
    // 200 % on a phone of 360 by 640 leaves 180 by 320 (WCAG 2.2, 1.4.4).
    await page.setViewportSize({ width: phone.width / 2, height: phone.height / 2 });
    const wide = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
    await picture(page, `zoom-${view}`);
    await page.setViewportSize(phone);
    seen.push({ view, found, missed, wide });
  });
  await context.close();
  assert.equal(seen.length, 21);
  return seen;
})());

test('axe-core finds nothing on any view', async () => {
  for (const { view, found } of await walked()) assert.deepEqual(found, [], view);
});

test('With Tab alone everything on every view that can be pressed is reached, and shows that it is', async () => {
  for (const { view, missed } of await walked()) assert.deepEqual(missed, [], view);
});

test('At 200 % zoom nothing is cut off sideways on any view', async () => {
  for (const { view, wide } of await walked()) assert.ok(wide <= 0, `${view} is ${wide} pixels too wide`);
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
