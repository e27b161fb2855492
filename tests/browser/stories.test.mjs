// The three stories of maps-sample/README.md on a phone without a connection: answered by the phone as the
// server answers them, queued, and delivered once when the connection is back.
import assert from 'node:assert/strict';
import { join } from 'node:path';
import { test } from 'node:test';
import { catalogue, filled, openBrowser, phone, picture, root, serve, settleAt, inStore, until } from './support/sample.mjs';

const { requestOf } = await import(join(root, 'page', 'case.js'));

const reading = (at, systolic, diastolic, pulse) => ({ taken_at: at.replace(/:..Z$/, ':00Z'), systolic_mmhg: systolic, diastolic_mmhg: diastolic, pulse_per_minute: pulse });

const stories = [
  {
    language: 'en', name: 'Very high pressure at the hill clinic, in the wet: over the ridge to Venzhoth',
    at: '2026-03-04T10:00:00Z', place: ['kezhiru-clinic', 'Kezhiru clinic'], available: ['oral_antihypertensive'],
    readings: [reading('2026-03-04T09:55:00Z', 165, 112, 96)],
    findings: { status: 'pregnant', gestation_weeks: 34, avpu: 'A', convulsions: 'no', bleeding: 'none', severe_headache: 'yes', urine_protein: 2, temp_c: 37.2 },
    stops: ['Venzhoth hospital'], within: 240,
  },
  {
    language: 'fr', name: 'Bleeding after birth at night: past Pellumvo, which cannot operate, to Sorvrith',
    at: '2026-07-08T01:30:00Z', place: ['luzhenni-clinic', 'Luzhenni clinic'], available: ['uterotonics', 'iv_fluids'],
    readings: [reading('2026-07-08T01:25:00Z', 112, 70, 98)],
    findings: { status: 'postpartum', days_postpartum: 0, avpu: 'A', convulsions: 'no', bleeding: 'heavy', blood_loss_ml: 700, placenta_delivered: 'yes', uterus_soft: 'yes', temp_c: 36.9 },
    stops: ['Sorvrith district hospital'], within: 120,
  },
  {
    language: 'sw', name: 'Fits on the wrong side of the river after the last ferry: Druvaneth first, then Venzhoth',
    at: '2026-07-08T19:40:00Z', place: ['tamvrelo-clinic', 'Tamvrelo clinic'], available: ['oral_antihypertensive', 'iv_fluids'],
    readings: [reading('2026-07-08T19:35:00Z', 172, 114, 104)],
    findings: { status: 'pregnant', gestation_weeks: 36, avpu: 'V', convulsions: 'yes', bleeding: 'none', temp_c: 37.4 },
    stops: ['Druvaneth health centre', 'Venzhoth hospital'], within: 60,
  },
];

/** What a health worker goes by: where, how long, what to do, what is needed, whom to call. */
const essence = ({ outcome, stages, assessment, call_first: calls, passed_over: passed, alternatives }) => ({
  outcome,
  stages: stages.map(({ facility, travel_time_s, distance_m, legs, geometry }) => ({ facility, travel_time_s, distance_m, legs, geometry })),
  within: assessment.within_minutes,
  suspected: assessment.suspected,
  needs: assessment.needs.map(({ any_of, critical, within_minutes }) => ({ any_of, critical, within_minutes })),
  do_now: assessment.do_now,
  withheld: assessment.withheld,
  on_the_way: assessment.on_the_way,
  questions: assessment.questions,
  calls,
  passed,
  alternatives: alternatives.map((one) => one.stages.map(({ facility, travel_time_s }) => ({ facility, travel_time_s }))),
});

for (const [number, story] of stories.entries()) {
  test(`Without a connection, ${story.language}: ${story.name}`, async () => {
    const words = catalogue(story.language);
    const sentWords = filled(words['journey.code'], '[0-9A-Z]{8}');
    const server = await serve('--now', story.at);
    const { context, page, errors } = await openBrowser({ size: phone, language: story.language, at: Date.parse(story.at) });
    await settleAt(page, server.address, story.place[1]);
    await page.evaluate(() => navigator.serviceWorker.ready.then(() => undefined));
    await until('the phone has its pack', () => inStore(page, 'kept', 'pack'));
    await context.setOffline(true);
    await page.reload();
    await page.locator('.stack .large').first().waitFor();
    // What she would have been asked, question after question, is written where the page keeps it.
    const id = `story-${number}`;
    await inStore(page, 'kept', 'available', { name: 'available', value: story.available });
    await inStore(page, 'cases', id, {
      id, letter: 'A', began: Date.parse(story.at), sign: '', findings: story.findings, readings: story.readings, asked: [],
      from_when: Date.parse(story.at), limit: null, now_at: null, calls: [], calling: null, answer: null, referral: null, refusal: null,
    });
    await page.goto(`${server.address}/#/case/${id}`);
    await page.locator('.where').waitFor();
    const shown = await page.locator('.where').innerText();
    for (const stop of story.stops) assert.ok(shown.includes(stop), shown);
    assert.ok((await page.locator('main').innerText()).includes(words['answer.by_phone'].split('{')[0]), 'it says who answered');
    await picture(page, `offline-story-${number + 1}`);

    const one = await inStore(page, 'cases', id);
    assert.equal(one.answer.by, 'phone');
    assert.equal(one.answer.value.assessment.within_minutes, story.within);
    const asked = requestOf({ ...one, from_when: Date.parse(story.at) }, { place: story.place[0], available: story.available, means: 'car', ready_in: null, can_phone: true });
    const answer = await fetch(`${server.address}/v1/recommendations`, { method: 'POST', headers: { 'Content-Type': 'application/json', 'Accept-Language': story.language }, body: JSON.stringify(asked) });
    assert.deepEqual(essence(one.answer.value), essence(await answer.json()));

    await page.getByRole('button', { name: filled(words['journey.send']) }).click();
    const sent = page.getByText(sentWords);
    await sent.waitFor();
    const [, code] = (await sent.innerText()).match(sentWords);
    assert.equal((await fetch(`${server.address}/v1/referrals/${code}`)).status, 404);
    await context.setOffline(false);
    await page.evaluate(() => dispatchEvent(new Event('online')));
    const { history } = await until('it was delivered', async () => {
      const told = await fetch(`${server.address}/v1/referrals/${code}`);
      return told.ok && told.json();
    });
    assert.equal(history.filter(({ step }) => step === 'opened').length, 1);
    await until('nothing waits any more', async () => (await inStore(page, 'outbox')).length === 0);
    assert.deepEqual(errors, []);
    await context.close();
    await server.stop();
  });
}
