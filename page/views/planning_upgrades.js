/** What to raise first: by which measure, for what money, and what the report prints. */
import * as api from '../api.js';
import { button, el, more } from '../dom.js';
import { nameOf, say } from '../texts.js';
import { chart } from './planning_charts.js';
import { csv, forReport, kept, question, save, section, table } from './planning_parts.js';

const objectives = ['covering', 'capacity', 'median', 'centre'];
const choices = ['free', 'in', 'out'];

/** Costs by kind of place, and what must or must not be raised. */
class Costs {
  /** @param {Array<any>} places */
  constructor(places) {
    this.places = places;
    this.kinds = [...new Set(places.map(({ kind }) => kind))];
    const amount = (value) => el('input', { type: 'number', min: 0, step: 'any', value });
    this.money = new Map(this.kinds.map((kind) => [kind, { capital: amount(1), running: amount(0) }]));
    this.choice = new Map(places.map(({ id }) => [id, el('select', {}, choices.map((one) => el('option', { value: one }, say(`planning.choice.${one}`))))]));
    for (const [kind, { capital, running }] of this.money) {
      capital.setAttribute('aria-label', `${say('planning.capital')}: ${nameOf('place_kind', kind)}`);
      running.setAttribute('aria-label', `${say('planning.running')}: ${nameOf('place_kind', kind)}`);
    }
    for (const { id, name } of places) this.choice.get(id).setAttribute('aria-label', `${say('planning.choice')}: ${name}`);
  }

  node() {
    return [
      table(say('planning.costs_by_kind'), ['kind_of_place', 'capital', 'running'].map((name) => say(`planning.${name}`)), this.kinds.map((kind) => [nameOf('place_kind', kind), this.money.get(kind).capital, this.money.get(kind).running])),
      more(say('planning.choices'), table(say('planning.choices'), ['facility', 'choice'].map((name) => say(`planning.${name}`)), this.places.map(({ id, name }) => [name, this.choice.get(id)]), 2)),
    ];
  }

  /** What of it is not as it would be anyway. */
  given() {
    const all = this.places.map(({ id, kind }) => ({
      facility: id,
      cost: Number(this.money.get(kind).capital.value),
      running_per_year: Number(this.money.get(kind).running.value),
      choice: this.choice.get(id).value,
    }));
    return all.filter(({ cost, running_per_year: running, choice }) => cost !== 1 || running !== 0 || choice !== 'free');
  }
}

const oneDecimal = (value) => new Intl.NumberFormat(document.documentElement.lang, { maximumFractionDigits: 1 }).format(value);

/** What the plan brings, by the measure that was asked for. */
function planWords(plan) {
  const { minutes, objective } = plan;
  const proof = say(plan.is_proven ? 'planning.is_proven' : 'planning.gap', { gap: oneDecimal(plan.gap * 100) });
  if (minutes) return say(`planning.plan_${objective}`, { before: oneDecimal(minutes.before), after: oneDecimal(minutes.after), bound: oneDecimal(minutes.no_plan_has_less_than) }) + ' ' + proof;
  if (objective === 'capacity') return say('planning.plan_capacity', { births: Math.round(plan.worth), bound: Math.round(plan.no_plan_gains_more_than) }) + ' ' + proof;
  if (plan.robust) return say('planning.plan_robust', { births: Math.round(plan.births_in_time_at_worst), bound: Math.round(plan.no_plan_gains_more_than) });
  return say(plan.is_proven ? 'planning.plan_proven' : 'planning.plan_within', { births: Math.round(plan.births_gained), bound: Math.round(plan.no_plan_gains_more_than) });
}

/** What would be lost without one place, by the same measure. */
function onlyByIt(plan, one) {
  if (plan.objective === 'median') return oneDecimal(one.worth_lost_without_it / (plan.before.births_per_year || 1));
  if (plan.objective === 'centre') return oneDecimal(one.worth_lost_without_it);
  return Math.round(plan.objective === 'capacity' ? one.worth_lost_without_it : one.births_lost_without_it);
}

function answerOf(plan, places) {
  const all = plan.before.births_per_year || 1;
  const most = plan.curve.at(-1)?.budget || 1;
  const line = { name: say('planning.best_choice'), points: [[0, plan.before.in_time / all], ...plan.curve.map(({ budget: spent, births_gained: gained }) => [spent / most, (plan.before.in_time + gained) / all])] };
  const nameOfPlace = (id) => places.find((one) => one.id === id)?.name ?? id;
  const names = (list) => list.map(nameOfPlace).join(', ') || '–';
  const measure = { median: 'only_by_it_minutes', centre: 'only_by_it_minutes', capacity: 'only_by_it_room' }[plan.objective] ?? 'only_by_it';
  return [
    el('p.strong', {}, planWords(plan)),
    table(say('planning.upgrades'), ['facility', 'rank', 'cost', measure].map((name) => say(`planning.${name}`)), plan.upgrades.map((one) => [one.name, say(one.rank_is_sure ? 'planning.rank_sure' : 'planning.rank_unsure'), one.cost, onlyByIt(plan, one)]), 2),
    plan.phases.length ? table(say('planning.phases'), ['year', 'facility', 'cost', 'in_time_more'].map((name) => say(`planning.${name}`)), plan.phases.map((one, index) => [String(index + 1), names(one.facilities), one.cost, Math.round(one.births_gained)]), 2) : null,
    plan.without_capacity.length ? el('p', {}, say('planning.room_unknown', { names: names(plan.without_capacity) })) : null,
    plan.minutes?.beyond_any_plan.length ? el('p', {}, say('planning.beyond_any_plan', { names: plan.minutes.beyond_any_plan.map(({ name }) => name).join(', ') })) : null,
    plan.curve.length ? kept(chart(say('planning.budget_curve'), [line], [0, 0.25, 0.5, 0.75, 1].map((share) => String(Math.round(most * share * 10) / 10))), 'births-for-cost') : null,
    button(say('planning.keep_csv'), () => save('upgrades.csv', csv([['facility', 'name', 'cost', 'births_lost_without_it', 'worth_lost_without_it', 'rank_is_sure'], ...plan.upgrades.map((one) => [one.facility, one.name, one.cost, one.births_lost_without_it, one.worth_lost_without_it, one.rank_is_sure])]), 'text/csv'), { kind: 'plain' }),
  ];
}

/** @param {any} map @param {Array<any>} places */
export function upgrades(map, places) {
  const objective = el('select', { name: 'objective' }, objectives.map((one) => el('option', { value: one }, say(`planning.objective.${one}`))));
  const count = el('input', { name: 'count', type: 'number', min: 1, max: 50, value: 3 });
  const budget = el('input', { name: 'budget', type: 'number', min: 0, step: 'any' });
  const phases = el('input', { name: 'phases', autocomplete: 'off', placeholder: '5, 5, 3' });
  const years = el('input', { name: 'years', type: 'number', min: 1, max: 50, value: 1 });
  const robust = el('input', { name: 'robust', type: 'checkbox' });
  const costs = new Costs(places);
  const limit = () => {
    if (phases.value.trim()) return { phases: phases.value.split(/[\s,;]+/).filter(Boolean).map(Number) };
    return budget.value ? { budget: Number(budget.value) } : { count: Number(count.value) };
  };
  const asked = () => question({ ...limit(), objective: objective.value, years: Number(years.value), robust: robust.checked, costs: costs.given() });
  const printed = async () => save('coverage.html', await api.coverageReport({ ...asked(), scenarios: forReport.scenarios(), indicators: await forReport.indicators() }), 'text/html');
  const field = (name, input) => el('label', {}, say(`planning.${name}`), input);
  const { node } = section(say('planning.upgrades'), (run) => [
    el('div.questions', {}, field('objective', objective), field('count', count), field('budget', budget), field('phases', phases), field('years', years)),
    el('label.check', {}, robust, ' ', say('planning.robust')),
    more(say('planning.costs'), costs.node()),
    el('div.row', {}, button(say('planning.best'), run, { kind: 'main' }), button(say('planning.report'), printed)),
  ], async () => {
    const plan = await api.plan('upgrades', asked());
    map.upgrades(plan.upgrades);
    return answerOf(plan, places);
  });
  return node;
}
