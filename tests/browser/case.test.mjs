// One woman as the phone knows her: pure functions, without a browser.
import assert from 'node:assert/strict';
import { join } from 'node:path';
import { test } from 'node:test';
import { root } from './support/sample.mjs';

const cases = await import(join(root, 'page', 'case.js'));
const here = { place: 'kezhiru-clinic', available: ['oxygen'], means: 'car', ready_in: null, can_phone: true };
const minute = 60000;
const answered = (assessment, more = {}) => ({ value: { assessment: { within_minutes: null, questions: [], measure_again: null, assessed_at: '2026-03-04T10:00:00Z', ...assessment }, call_first: [], stages: [], ...more }, by: 'server', at: 0 });

test('A sign that was tapped is told; everything else stays unknown', () => {
  const one = cases.newCase('1', 'A', 0, 'fits');
  assert.deepEqual(cases.requestOf(one, here).findings, { convulsions: 'yes' });
});

test('A question that was answered “not known” is not asked again, and is no answer', () => {
  let one = cases.withAnswer(cases.newCase('1', 'A', 0), ['fainting'], {});
  one = cases.withRecommendation(one, answered({ questions: [{ field: 'fainting', could: {} }, { field: 'pallor', could: null }, { field: 'trauma', could: {} }] }), 0);
  assert.equal(cases.nextQuestion(one).field, 'trauma');
  assert.deepEqual(one.findings, {});
});

test('The question before can be taken back, a reading too', () => {
  let one = cases.withAnswer(cases.newCase('1', 'A', 0), ['status'], { status: 'pregnant' });
  one = cases.withReading(one, { taken_at: '2026-03-04T10:00:00Z', systolic_mmhg: 165, diastolic_mmhg: 112, pulse_per_minute: 96 });
  one = cases.withoutLastAnswer(one);
  assert.deepEqual(one.readings, []);
  assert.deepEqual(cases.withoutLastAnswer(one).findings, {});
});

test('What is half typed is no answer, keeps its time, and goes when that question is answered or deleted', () => {
  const begun = cases.withUnfinished(cases.newCase('1', 'A', 0), cases.readingFields, ['16', '', ''], 7);
  const both = cases.withUnfinished(begun, ['temp_c'], ['3'], 9);
  assert.deepEqual(cases.unfinishedOf(both, cases.readingFields), { fields: cases.readingFields, given: ['16', '', ''], since: 7 });
  assert.deepEqual(cases.requestOf(both, here), cases.requestOf(cases.newCase('1', 'A', 0), here));
  assert.equal(cases.unfinishedOf(cases.withUnfinished(both, ['temp_c'], [''], null), ['temp_c']), null);
  const answered = [
    cases.withReading(both, { taken_at: '2026-03-04T10:00:00Z', systolic_mmhg: 165, diastolic_mmhg: null, pulse_per_minute: null }),
    cases.withAnswer(both, cases.readingFields, {}),
    cases.withAnswer(both, ['pressure_not_recordable', ...cases.readingFields], { pressure_not_recordable: 'yes' }),
  ];
  for (const one of answered) assert.deepEqual(one.unfinished.map(({ fields }) => fields), [['temp_c']]);
});

test('Time limits run from the sign that sets the shortest one; milder answers later never move them', () => {
  let one = cases.withRecommendation(cases.newCase('1', 'A', 0), answered({ within_minutes: 240, assessed_at: '2026-03-04T10:00:00Z' }), 0);
  const first = one.from_when;
  one = cases.withRecommendation(one, answered({ within_minutes: 240, assessed_at: '2026-03-04T10:30:00Z' }), 0);
  assert.equal(one.from_when, first);
  one = cases.withRecommendation(one, answered({ within_minutes: 60, assessed_at: '2026-03-04T10:40:00Z' }), 0);
  assert.equal(one.from_when, Date.parse('2026-03-04T10:40:00Z'));
  one = cases.withRecommendation(one, answered({ within_minutes: 240, assessed_at: '2026-03-04T10:50:00Z' }), 0);
  assert.equal(one.from_when, Date.parse('2026-03-04T10:40:00Z'));
});

test('The repeat reading is due by the clock, so many minutes after the last reading', () => {
  let one = cases.withReading(cases.newCase('1', 'A', 0), { taken_at: '2026-03-04T10:05:00Z', systolic_mmhg: 145, diastolic_mmhg: 92, pulse_per_minute: 80 });
  one = cases.withRecommendation(one, answered({ measure_again: { after_minutes: 15, why: '' } }), 0);
  assert.equal(cases.measureAgainAt(one).at, Date.parse('2026-03-04T10:05:00Z') + 15 * minute);
});

test('On the way, what only the clinic can give no longer counts', () => {
  const one = { ...cases.newCase('1', 'A', 0), now_at: { place: { latitude: 0.1, longitude: 0.2 } } };
  const request = cases.requestOf(one, here);
  assert.deepEqual(request.from, { latitude: 0.1, longitude: 0.2 });
  assert.equal(request.available_here, undefined);
});

test('A place that was chosen instead stays hers while the best one is the same, and never hides a better one', () => {
  const way = (facility) => ({ stages: [{ facility, name: facility, phones: [] }] });
  const best = (first, ...others) => ({ ...answered({}), value: { ...answered({}).value, ...way(first), alternatives: others.map(way) } });
  const chosen = { ...cases.newCase('1', 'A', 0), chosen: { to: 'b', over: 'a' } };
  const goes = (answer, one = chosen) => cases.wayOf({ ...one, answer }).stages[0].facility;
  assert.equal(goes(best('a', 'b', 'c')), 'b');
  assert.equal(cases.placeToCall({ ...chosen, answer: best('a', 'b') }).facility, 'b');
  assert.equal(goes(best('c', 'a', 'b')), 'c', 'something better came up');
  assert.equal(goes(best('a', 'c')), 'a', 'it is no way any more');
  assert.equal(goes(best('a', 'b'), cases.withCall(chosen, 'b', 'refused', 0)), 'a', 'it said no');
  assert.equal(goes(best('a', 'b'), cases.withCall(chosen, 'b', 'accepted', 0)), 'b');
  assert.deepEqual(cases.wayOf(cases.newCase('1', 'A', 0)), { stages: [], isOther: false });
});

test('Two women have two letters', () => {
  const a = cases.newCase('1', cases.freeLetter([]), 0);
  assert.equal(cases.freeLetter([a]), 'B');
  assert.equal(cases.freeLetter([{ letter: 'B' }]), 'A');
});

test('A code that the phone makes passes the check of referral codes', () => {
  // referral/referral_code.hpp: the sum of value × 5^(7 - position) is 1 modulo 23.
  const alphabet = '23456789ACEFHJKMNPRTWXY';
  for (let round = 0; round < 500; round += 1) {
    const code = cases.referralCode(Array.from({ length: 7 }, (_, i) => (round * 7919 + i * 104729 + round * i) % 251));
    assert.equal(code.length, 8);
    assert.equal([...code].reduce((sum, letter) => (sum * 5 + alphabet.indexOf(letter)) % 23, 0), 1, code);
  }
});
