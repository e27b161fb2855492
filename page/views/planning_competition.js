/** Where many share little: what comes to each place against its room, and the room within reach. */
import * as api from '../api.js';
import { button, el } from '../dom.js';
import { say } from '../texts.js';
import { percent } from './planning_charts.js';
import { csv, question, rowsOf, save, section, setCapacities, table } from './planning_parts.js';

const rounded = (value) => (value === null ? '–' : new Intl.NumberFormat(document.documentElement.lang, { maximumFractionDigits: 2 }).format(value));

/** The fifth of the births that each settlement is in, the least room first. */
function fifthsOf(settlements) {
  const known = settlements.filter(({ score }) => score !== null).sort((one, other) => one.score - other.score);
  const all = known.reduce((sum, one) => sum + one.births_per_year, 0) || 1;
  let before = 0;
  return known.map((one) => {
    const fifth = Math.min(5, 1 + Math.floor((5 * before) / all));
    before += one.births_per_year;
    return { ...one, fifth };
  });
}

/** One table of the settlements and places. */
function rowsToKeep({ settlements, facilities }) {
  return [
    ['what', 'id', 'name', 'births_per_year', 'capacity_births_per_year', 'of_capacity', 'score'],
    ...settlements.map((one) => ['settlement', one.id, one.name, one.births_per_year, '', '', one.score]),
    ...facilities.map((one) => ['facility', one.facility, one.name, one.births_per_year, one.capacity_births_per_year, one.of_capacity, one.score]),
  ];
}

function geojson({ settlements, facilities }) {
  const feature = ({ latitude, longitude, ...properties }) => ({ type: 'Feature', geometry: { type: 'Point', coordinates: [longitude, latitude] }, properties });
  return JSON.stringify({ type: 'FeatureCollection', features: [...settlements, ...facilities].map(feature) });
}

export function competition(map) {
  const file = el('input', { name: 'capacities', type: 'file', accept: '.csv,text/csv' });
  file.addEventListener('change', async () => setCapacities(file.files[0] ? rowsOf(await file.files[0].text(), ['facility']) : []));
  const catchment = el('select', { name: 'catchment' }, ['two_step', 'three_step'].map((one) => el('option', { value: one }, say(`planning.catchment.${one}`))));
  const { node } = section(say('planning.competition'), (run) => [
    el('p.small', {}, say('planning.capacities_form')),
    el('div.questions', {}, el('label', {}, say('planning.capacities'), file), el('label', {}, say('planning.catchment'), catchment)),
    button(say('planning.show_competition'), run),
  ], async () => {
    if (!file.files[0]) return el('p', {}, say('planning.no_capacities'));
    const answer = await api.plan('competition', question({ catchment: catchment.value }));
    const fifths = fifthsOf(answer.settlements);
    map.scores(fifths);
    const nameOfPlace = (id) => answer.facilities.find(({ facility }) => facility === id)?.name ?? id;
    const left = [...answer.without_capacity, ...answer.without_readiness].map(nameOfPlace);
    const loads = answer.facilities.filter((one) => one.births_per_year > 0 || one.capacity_births_per_year !== null);
    return [
      table(say('planning.loads'), ['facility', 'births_a_year', 'room', 'of_room'].map((name) => say(`planning.${name}`)), loads.map((one) => [one.name, Math.round(one.births_per_year), one.capacity_births_per_year === null ? say('planning.class.unknown') : Math.round(one.capacity_births_per_year), percent(one.of_capacity)])),
      table(say('planning.competition'), ['settlement', 'births_a_year', 'score'].map((name) => say(`planning.${name}`)), fifths.slice(0, 12).map((one) => [one.name, Math.round(one.births_per_year), rounded(one.score)])),
      el('p.small', {}, say('planning.fifths')),
      el('p.small', {}, say('planning.score_caution')),
      left.length ? el('p', {}, say('planning.left_out', { names: left.join(', ') })) : null,
      el('div.row', {}, button(say('planning.keep_csv'), () => save('competition.csv', csv(rowsToKeep(answer)), 'text/csv')), button(say('planning.keep_geojson'), () => save('competition.geojson', geojson(answer), 'application/geo+json'))),
    ];
  });
  return node;
}
