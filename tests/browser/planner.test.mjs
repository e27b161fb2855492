// The planner's main job: from the map of who is in time to the three best upgrades and the printed report.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { violations } from './support/axe.mjs';
import { catalogue, desk, folder, languages, makeKey, openBrowser, picture, serve } from './support/sample.mjs';

let server;
before(async () => { server = await serve(); });
after(() => server.stop());

async function plan(context, page, language = 'en') {
  await page.goto(`${server.address}/#/planning`);
  await page.locator('.legend').waitFor();
  return catalogue(language);
}

/** The share that the sentence above the map tells. */
const told = (page) => page.locator('main .strong').first().innerText();

/** Waits until what `read` gives is another than before: the page's own policy lets no test run a text in it. */
async function changed(read, before) {
  for (let tried = 0; tried < 200; tried += 1) {
    const now = await read();
    if (now !== before) return now;
    await new Promise((resolve) => { setTimeout(resolve, 100); });
  }
  return assert.fail(`still ${before}`);
}

/** Opens a section of the view. */
const open = (page, title) => page.locator('summary', { hasText: title }).click();

for (const language of languages) {
  test(`${language}: from the map to the three best upgrades and the report`, async () => {
    const { context, page, errors, requests } = await openBrowser({ language, size: desk, acceptDownloads: true });
    const words = await plan(context, page, language);
    // What the figures rest on stands above the map.
    const trust = await page.getByRole('heading', { name: words['planning.trust'] }).boundingBox();
    const map = await page.getByRole('region', { name: words['planning.map'] }).boundingBox();
    assert.ok(trust.y < map.y);
    assert.ok((await page.locator('.map .marks').count()) > 172);
    await open(page, words['planning.upgrades']);
    await page.getByRole('button', { name: words['planning.best'], exact: true }).click();
    const table = page.getByRole('region', { name: words['planning.upgrades'] });
    await table.waitFor();
    assert.equal(await table.locator('tbody tr').count(), 3);
    await page.locator('.map').scrollIntoViewIfNeeded();
    await picture(page, `${language}-desk-planning`);
    const [download] = await Promise.all([page.waitForEvent('download'), page.getByRole('button', { name: words['planning.report'] }).click()]);
    const path = join(folder(), 'coverage.html');
    await download.saveAs(path);
    assert.match(readFileSync(path, 'utf8'), /<svg/);
    const printed = await context.newPage();
    await printed.goto(`file://${path}`);
    assert.ok((await printed.locator('table').count()) >= 6);
    assert.deepEqual(await violations(printed), []);
    assert.ok((await printed.pdf({ format: 'A4' })).length > 20000);
    await picture(printed, `${language}-report`);
    assert.deepEqual(errors, []);
    assert.deepEqual(requests.filter((url) => !url.startsWith(server.address) && !url.startsWith('file:') && !url.startsWith('blob:')), []);
    await context.close();
  });
}

test('axe-core finds nothing on the view with everything open', async () => {
  const { context, page } = await openBrowser({ size: desk });
  const words = await plan(context, page);
  for (const [title, press] of [['planning.upgrades', 'planning.best'], ['planning.losses', 'planning.show_losses'], ['planning.links', 'planning.show_links'], ['planning.indicators', 'planning.show_indicators'], ['planning.saved', 'planning.list_saved'], ['planning.journeys', 'planning.show_journeys']]) {
    await open(page, words[title]);
    await page.getByRole('button', { name: words[press], exact: true }).click();
  }
  await open(page, words['planning.what_if']);
  await page.getByRole('region', { name: words['planning.links'] }).waitFor();
  await page.getByRole('region', { name: words['planning.indicators'] }).waitFor();
  await page.getByRole('region', { name: words['planning.all_referrals'].replace('{count}', '0') }).waitFor();
  assert.equal(await page.getByRole('region', { name: words['planning.losses'] }).locator('tbody tr').count(), 3);
  assert.deepEqual(await violations(page), []);
  await context.close();
});

test('By key alone: costs by kind, a place forced in, years of money, and the least mean wait', async () => {
  const { context, page, errors } = await openBrowser({ size: desk });
  const words = await plan(context, page);
  await page.locator('summary', { hasText: words['planning.upgrades'] }).focus();
  await page.keyboard.press('Enter');
  await page.locator('select[name=objective]').focus();
  await page.keyboard.type(words['planning.objective.median']);
  assert.equal(await page.locator('select[name=objective]').inputValue(), 'median');
  await page.locator('summary', { hasText: words['planning.costs'] }).focus();
  await page.keyboard.press('Enter');
  const once = page.getByLabel(`${words['planning.capital']}: ${words['place_kind.health_centre']}`);
  await once.focus();
  await once.fill('3');
  await page.keyboard.press('Tab');
  await page.keyboard.type('2'); // each year, before what stands there
  await page.locator('summary', { hasText: words['planning.choices'] }).focus();
  await page.keyboard.press('Enter');
  const forced = page.getByLabel(`${words['planning.choice']}: Thezhanna`).first();
  await forced.focus();
  await page.keyboard.type(words['planning.choice.in']);
  assert.equal(await forced.inputValue(), 'in');
  await page.locator('input[name=phases]').fill('1, 30, 30');
  const best = page.getByRole('button', { name: words['planning.best'], exact: true });
  await best.focus();
  await page.keyboard.press('Enter');
  const years = page.getByRole('region', { name: words['planning.phases'] });
  await years.waitFor();
  assert.equal(await years.locator('tbody tr').count(), 3);
  // the forced one is bought in the first year, whose money reaches no other
  assert.match(await years.locator('tbody tr').first().innerText(), /Thezhanna/);
  assert.match(await page.locator('details .strong').first().innerText(), /mean time until care/);
  assert.deepEqual(await violations(page), []);
  assert.deepEqual(errors, []);
  await context.close();
});

test('A table of capacities shows what comes to each place, and the fifths on the map', async () => {
  const { context, page, errors } = await openBrowser({ size: desk, acceptDownloads: true });
  const words = await plan(context, page);
  await open(page, words['planning.competition']);
  await page.getByRole('button', { name: words['planning.show_competition'] }).click();
  await page.getByText(words['planning.no_capacities']).waitFor();
  await page.locator('input[name=capacities]').setInputFiles({ name: 'room.csv', mimeType: 'text/csv', buffer: Buffer.from('facility,births_per_year\nsorvrith-hospital,2000\n') });
  await page.getByRole('button', { name: words['planning.show_competition'] }).click();
  const loads = page.getByRole('region', { name: words['planning.loads'] });
  await loads.waitFor();
  assert.match(await loads.innerText(), /2000/);
  assert.ok((await page.locator('.map .map-fifth').count()) > 100);
  const [download] = await Promise.all([page.waitForEvent('download'), page.locator('details[open]').getByRole('button', { name: words['planning.keep_csv'] }).first().click()]);
  const path = join(folder(), 'competition.csv');
  await download.saveAs(path);
  assert.equal(readFileSync(path, 'utf8').trim().split('\n').length, 1 + 172 + 20);
  assert.deepEqual(await violations(page), []);
  assert.deepEqual(errors, []);
  await context.close();
});

test('Another season, hour and care: the map and its sentence follow', async () => {
  const { context, page } = await openBrowser({ size: desk });
  await plan(context, page);
  const wet = await told(page);
  await page.locator('select[name=surface]').selectOption('dry');
  const dry = await changed(() => told(page), wet);
  await page.locator('select[name=within]').selectOption('30');
  await changed(() => told(page), dry);
  await context.close();
});

/** Adds the closing of a road to the plan on the screen. */
async function close(page, words, road) {
  await page.locator('select[name=kind]').selectOption('closed');
  await page.locator('input[name=road]').fill(road);
  await page.getByRole('button', { name: words['planning.add_change'] }).click();
}

test('What went wrong with an earlier question never stands where the answer to a later one does', async () => {
  const { context, page } = await openBrowser({ size: desk });
  const words = await plan(context, page);
  /** The next question fails, but only once the one after it has been answered. */
  const failLate = async (path) => {
    let questions = 0;
    let letThrough;
    const mayFail = new Promise((resolve) => { letThrough = resolve; });
    await page.route(path, async (route) => {
      questions += 1;
      if (questions > 1) return route.continue();
      await mayFail;
      return route.fulfill({ status: 503, contentType: 'application/problem+json', body: '{"detail":"too late"}' });
    });
    return async () => {
      const failed = page.waitForResponse((answer) => answer.status() === 503);
      letThrough();
      await (await failed).finished();
      await page.waitForTimeout(300);
      assert.equal(await page.getByText('too late').count(), 0, path);
    };
  };
  const access = await failLate('**/v1/coverage/access');
  const wet = await told(page);
  await page.locator('select[name=surface]').selectOption('dry');
  await page.locator('select[name=within]').selectOption('30');
  await changed(() => told(page), wet);
  await access();
  await open(page, words['planning.what_if']);
  await page.locator('select[name=kind]').selectOption('closed');
  await page.locator('input[name=road]').fill('Valley road');
  const whatIf = await failLate('**/v1/coverage/what-ifs');
  await page.getByRole('button', { name: words['planning.add_change'] }).click();
  await page.getByRole('button', { name: words['planning.compare'] }).click();
  await page.getByRole('region', { name: words['planning.what_if'] }).waitFor();
  await whatIf();
  await page.getByRole('region', { name: words['planning.what_if'] }).waitFor();
  await context.close();
});

test('A closed road is compared with now, kept under a name, and read again', async () => {
  const { context, page, errors } = await openBrowser({ size: desk });
  const words = await plan(context, page);
  await open(page, words['planning.what_if']);
  await close(page, words, 'Valley road');
  const table = page.getByRole('region', { name: words['planning.what_if'] });
  await table.waitFor();
  assert.equal(await table.locator('tbody tr').count(), 2);
  const said = await table.innerText();
  await page.locator('input[name=scenario]').fill('valley');
  await page.getByRole('button', { name: words['planning.save'] }).click();
  await open(page, words['planning.saved']);
  await page.getByRole('button', { name: words['planning.open'], exact: true }).click();
  const kept = page.locator('.box').getByRole('region', { name: words['planning.what_if'] });
  await kept.waitFor();
  assert.equal((await kept.innerText()).split('\n')[1], said.split('\n')[1]);  // as it is now
  // every figure can be traced: the map is told by its fingerprint
  await page.locator('.box summary', { hasText: words['planning.inputs'] }).click();
  assert.match(await page.locator('.box').getByRole('region', { name: words['planning.inputs'] }).innerText(), /map\s+[0-9a-f]{12}/);
  await page.getByRole('button', { name: words['planning.again'], exact: true }).click();
  await page.getByText(words['planning.again.identical']).waitFor();
  // a road that is not there is told in words
  await page.locator('input[name=road]').fill('No such road');
  await page.getByRole('button', { name: words['planning.add_change'] }).click();
  await page.getByText('no road of the map').waitFor();
  assert.deepEqual(errors, []);
  await context.close();
});

test('Two plans stand side by side, each beside what is there now', async () => {
  const { context, page, errors } = await openBrowser({ size: desk });
  const words = await plan(context, page);
  await open(page, words['planning.what_if']);
  await close(page, words, 'Valley road');
  const table = page.getByRole('region', { name: words['planning.what_if'] });
  await table.waitFor();
  await page.getByRole('button', { name: words['planning.keep_beside'] }).click();
  await page.locator('input[name=road]').fill('Ford road');
  await page.getByRole('button', { name: words['planning.add_change'] }).click();
  await table.locator('tbody tr').nth(2).waitFor();
  const rows = await table.locator('tbody tr').allInnerTexts();
  assert.match(rows[1], /plan-1/);
  assert.match(rows[2], /plan-2/);
  assert.deepEqual(errors, []);
  await context.close();
});

test('A new place is dragged over the map, and the figures follow', async () => {
  const { context, page, errors } = await openBrowser({ size: desk });
  const words = await plan(context, page);
  await open(page, words['planning.what_if']);
  await page.locator('select[name=kind]').selectOption('facility');
  const table = page.getByRole('region', { name: words['planning.what_if'] });
  await table.waitFor();
  const before = await table.innerText();
  const thing = page.getByRole('button', { name: words['planning.move'] });
  await thing.scrollIntoViewIfNeeded();
  const from = await thing.boundingBox();
  await page.mouse.move(from.x + from.width / 2, from.y + from.height / 2);
  await page.mouse.down();
  // on and on until another number of births is in time, the thing still under the hand
  let turn = 0;
  await changed(async () => {
    turn += 1;
    await page.mouse.move(from.x + 250 * Math.cos(turn / 4), from.y + 150 * Math.sin(turn / 4));
    await new Promise((resolve) => { setTimeout(resolve, 300); });
    return (await table.count()) ? table.innerText().catch(() => before) : before; // away between two answers
  }, before);
  await page.mouse.up();
  assert.deepEqual(errors, []);
  await context.close();
});

test('By key alone a place is moved over the map, and a new bridge has two ends', async () => {
  const { context, page, errors } = await openBrowser({ size: desk });
  const words = await plan(context, page);
  await open(page, words['planning.what_if']);
  await page.locator('select[name=kind]').selectOption('facility');
  const thing = page.getByRole('button', { name: words['planning.move'] });
  await thing.focus();
  const before = await thing.boundingBox();
  for (let pressed = 0; pressed < 3; pressed += 1) await page.keyboard.press('ArrowRight');
  const after = await thing.boundingBox();
  assert.ok(Math.abs(after.x - before.x - 36) < 4 && Math.abs(after.y - before.y) < 2);
  await page.locator('select[name=kind]').selectOption('new_bridge');
  const end = page.getByRole('button', { name: words['planning.move_end'] });
  await end.focus();
  const [asked] = await Promise.all([page.waitForRequest(/what-ifs/), page.keyboard.press('ArrowDown')]);
  const [bridge] = asked.postDataJSON().scenarios[0].changes;
  assert.equal(bridge.kind, 'new_bridge');
  assert.ok(bridge.from.longitude < bridge.to.longitude);
  assert.deepEqual(errors, []);
  await context.close();
});

test('A planner with a key sees plans and no person', async () => {
  const keys = join(folder(), 'keys.json');
  const key = makeKey(keys, 'planner', 'district-planner');
  const guarded = await serve('--keys', keys);
  const { context, page, errors, requests } = await openBrowser({ size: desk });
  await page.goto(`${guarded.address}/`);
  await page.locator('input').first().fill(key);
  await page.locator('main button').first().click();
  await page.locator('.legend').waitFor();
  assert.equal(await page.getByRole('link', { name: 'Women' }).count(), 0);
  assert.deepEqual(requests.filter((url) => /\/v1\/(referrals|live)/.test(url)), []);
  assert.deepEqual(errors, []);
  await context.close();
  await guarded.stop();
});

test('A plan that was saved before a road was closed is made again: what changed is named, today stands beside it', async () => {
  const own = await serve('--now', '2026-03-04T09:40:00Z');
  const { context, page, errors } = await openBrowser({ size: desk });
  const words = catalogue('en');
  const ask = async (method, path, body) => {
    const answer = await fetch(`${own.address}${path}`, { method, headers: { 'Content-Type': 'application/json' }, body: JSON.stringify(body) });
    assert.ok(answer.ok, await answer.text());
  };
  await ask('PUT', '/v1/scenarios/theatre', {
    needs: ['operative_delivery'],
    within_minutes: 60,
    scenarios: [{ name: 'theatre', changes: [{ kind: 'service', facility: 'druvaneth-health-centre', capabilities: ['operative_delivery'] }] }],
  });
  await ask('POST', '/v1/road-conditions', { kind: 'closed', where: { road: 'Valley road' }, until: '2026-03-06T00:00:00Z' });
  await page.goto(`${own.address}/#/planning`);
  await page.locator('.legend').waitFor();
  await open(page, words['planning.saved']);
  await page.getByRole('button', { name: words['planning.list_saved'] }).click();
  await page.getByRole('button', { name: words['planning.again'], exact: true }).click();
  const inputs = page.getByRole('region', { name: words['planning.again.inputs'] });
  await inputs.waitFor();
  assert.equal(await inputs.locator('tbody tr').count(), 1);
  assert.match(await inputs.innerText(), new RegExp(words['planning.input.road_changes']));
  const [now] = await page.getByRole('region', { name: words['planning.again.figures'] }).locator('tbody tr').all();
  const [, then, , today] = await now.locator('td').allInnerTexts();
  assert.ok(Number(today) < Number(then), `${today} of ${then}`);
  assert.deepEqual(await violations(page), []);
  assert.deepEqual(errors, []);
  await context.close();
  await own.stop();
});

test('The printed report tells plans side by side, what facilities counted and how long steps took, on whole pages', async () => {
  const { context, page, errors } = await openBrowser({ size: desk, acceptDownloads: true });
  const words = await plan(context, page);
  await open(page, words['planning.what_if']);
  await close(page, words, 'Valley road');
  await page.getByRole('region', { name: words['planning.what_if'] }).waitFor();
  await open(page, words['planning.indicators']);
  await page.locator('input[name=last_month]').fill('2026-02');
  await page.locator('input[name=months]').setInputFiles({ name: 'counts.csv', mimeType: 'text/csv', buffer: Buffer.from('facility,month,births,caesareans\nsorvrith-hospital,2026-02,120,18\n') });
  await open(page, words['planning.upgrades']);
  const [download] = await Promise.all([page.waitForEvent('download'), page.getByRole('button', { name: words['planning.report'] }).click()]);
  const path = join(folder(), 'whole.html');
  await download.saveAs(path);
  const printed = await context.newPage();
  await printed.goto(`file://${path}`);
  const under = (heading) => printed.locator(`h2:has-text("${heading}") ~ table`).first();
  const plans = await under('Plans side by side').locator('tbody tr').allInnerTexts();
  assert.equal(plans.length, 2);
  assert.match(plans[0], /^as it is now\t\d+\t\d+ %/);
  assert.match(plans[1], /^plan-1\t\d+\t\d+ %\t-\d+$/);
  await printed.getByText('Valley road: closed').waitFor();
  const counted = await under('What facilities count').locator('tbody tr').allInnerTexts();
  assert.equal(counted.length, 9);
  assert.ok(counted.some((row) => row.includes('18 of ')));
  const steps = await under('How long each step really took').locator('tbody tr').allInnerTexts();
  assert.equal(steps.length, 12);
  assert.match(await printed.locator('pre').innerText(), /"monthly_counts_sha256": "[0-9a-f]{64}"/);
  // for somebody without statistics, and the same in print: nothing is wider than the paper
  assert.doesNotMatch(await printed.locator('main').evaluate((main) => main.innerText.replace(main.querySelector('pre').innerText, '')), /median|percentile|quantile|Gini/i);
  await printed.emulateMedia({ media: 'print' });
  await printed.setViewportSize({ width: 718, height: 1000 });  // 19 cm at 96 dots an inch
  assert.deepEqual(await printed.locator('table, svg, pre').evaluateAll((all) => all.filter((one) => one.scrollWidth > 718 || one.getBoundingClientRect().right > 719).map((one) => one.outerHTML.slice(0, 80))), []);
  assert.deepEqual(await violations(printed), []);
  assert.ok((await printed.pdf({ format: 'A4' })).length > 20000);
  await picture(printed, 'report-whole');
  assert.deepEqual(errors, []);
  await context.close();
});
