/** Plans that were saved: as they were then, and made again from the inputs that were recorded with them. */
import * as api from '../api.js';
import { button, el, more } from '../dom.js';
import { say } from '../texts.js';
import { percent } from './planning_charts.js';
import { section, table } from './planning_parts.js';

const signed = (count) => new Intl.NumberFormat(document.documentElement.lang, { signDisplay: 'exceptZero', maximumFractionDigits: 0 }).format(count);

/** What the figures rest on: each with the beginning of its fingerprint, enough to tell two apart. */
const short = (fingerprint) => fingerprint.slice(0, 12);

function inputs({ inputs: { program, leave_at: at, sha256 } }) {
  const rows = [[say('planning.input.moment'), at], [say('planning.input.program'), program ?? '–'], ...Object.entries(sha256).map(([name, value]) => [say(`planning.input.${name}`), short(value)])];
  return more(say('planning.inputs'), table(say('planning.inputs'), [say('planning.input'), say('planning.fingerprint')], rows, 2));
}

/** Scenarios side by side. */
export function compared(answer) {
  const { before, scenarios } = answer;
  const row = (name, total, change) => [name, Math.round(total.in_time), percent(total.share_at_least), change];
  const names = (list) => list.map(({ name, births_per_year: count }) => `${name} (${Math.round(count)})`).join(', ');
  return [
    table(say('planning.what_if'), [say('planning.scenario'), say('planning.in_time'), say('planning.share'), say('planning.change')], [row(say('planning.now'), before, ''), ...scenarios.map(({ name, total, births_more_in_time: change }) => row(name, total, signed(change)))]),
    scenarios.map(({ gained, lost }) => [gained.length ? el('p', {}, say('planning.gain', { names: names(gained) })) : null, lost.length ? el('p', {}, say('planning.lose', { names: names(lost) })) : null]),
    inputs(answer),
  ];
}

/** @param {any} replay as `GET /v1/scenarios/{name}/replay` answers */
function again({ inputs_are_the_same: sameInputs, figures_are_the_same: sameFigures, changed, then, now, failure }) {
  if (sameInputs && sameFigures) return el('p', {}, say('planning.again.identical'));
  const was = (fingerprint) => (fingerprint === '' ? say('planning.again.not_recorded') : short(fingerprint));
  const rows = () => [[say('planning.now'), then.before, now.before], ...now.scenarios.map(({ name, total }, index) => [name, then.scenarios[index].total, total])]
    .map(([name, before, after]) => [name, Math.round(before.in_time), percent(before.share_at_least), Math.round(after.in_time), percent(after.share_at_least)]);
  return [
    el('p', {}, say(sameInputs ? 'planning.again.otherwise' : 'planning.again.changed')),
    changed.length ? table(say('planning.again.inputs'), [say('planning.input'), say('planning.again.then'), say('planning.again.today')], changed.map((one) => [say(`planning.input.${one.what}`), was(one.then), short(one.now)]), 3) : null,
    now ? table(say('planning.again.figures'), [say('planning.scenario'), say('planning.again.in_time_then'), say('planning.again.share_then'), say('planning.again.in_time_today'), say('planning.again.share_today')], rows()) : el('p', {}, say('planning.again.cannot', { why: failure })),
  ];
}

function savedPlan({ name, saved_at: at }) {
  const place = el('div', {});
  const put = (content) => place.replaceChildren(...[content].flat(9).filter(Boolean));
  return el(
    'div.box',
    {},
    el(
      'div.line',
      {},
      `${name} · ${at}`,
      button(say('planning.open'), async () => put(compared((await api.scenario(name)).answer))),
      button(say('planning.again'), async () => put(again(await api.scenarioAgain(name)))),
    ),
    place,
  );
}

export const savedPlans = () => section(say('planning.saved'), (run) => [button(say('planning.list_saved'), run)], async () => {
  const all = await api.scenarios();
  return all.length ? all.map(savedPlan) : el('p', {}, say('planning.none_saved'));
});
