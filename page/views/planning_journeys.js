/** How long each delay really took by the journal, and what journeys say of the speed table. */
import * as api from '../api.js';
import { button, el, more } from '../dom.js';
import { nameOf, say } from '../texts.js';
import { span } from '../time.js';
import { csv, save, section, table } from './planning_parts.js';

const spanOrDash = (seconds) => (seconds === null ? '–' : span(seconds * 1000));
const factor = (value) => new Intl.NumberFormat(document.documentElement.lang, { maximumFractionDigits: 2 }).format(value);

function groupTitle({ group, referrals: count }, places) {
  if (group.startsWith('to ')) return say('planning.referrals_to', { name: places.find(({ id }) => id === group.slice(3))?.name ?? group.slice(3), count });
  return group.startsWith('sent ') ? say('planning.referrals_sent', { hours: group.slice(5), count }) : say('planning.all_referrals', { count });
}

function delaysOf(group, title) {
  const rows = group.delays.map((one) => [say(`planning.delay.${one.delay}`), one.recorded, spanOrDash(one.median_s), spanOrDash(one.ninetieth_s)]);
  return table(title, ['delay', 'recorded', 'median', 'ninetieth'].map((name) => say(`planning.${name}`)), rows);
}

function changeWords({ offered, time_factor: known }) {
  if (known === null) return say('planning.too_few');
  return say(offered ? 'planning.is_offered' : 'planning.not_offered');
}

function roads({ classes }) {
  const rows = classes.map((one) => [nameOf('road', one.road_class), say(`planning.surface.${one.surface}`), say(`planning.light.${one.light ?? 'both'}`), changeWords(one), one.journeys, one.time_factor === null ? '–' : `${factor(one.time_factor)} ± ${factor(one.error)}`]);
  return table(say('planning.by_road'), ['road', 'surface', 'hours_of_day', 'offered', 'journey_count', 'time_factor'].map((name) => say(`planning.${name}`)), rows, 4);
}

/** @param {Array<any>} places */
export function journeys(places) {
  const { node } = section(say('planning.journeys'), (run) => [button(say('planning.show_journeys'), run)], async () => {
    const answer = await api.journeys();
    const [all, ...groups] = answer.groups;
    const rows = answer.groups.flatMap((group) => group.delays.map((one) => [group.group, one.delay, one.recorded, one.median_s, one.ninetieth_s]));
    return [
      el('p', {}, groupTitle(all, places)),
      delaysOf(all, groupTitle(all, places)),
      groups.map((group) => more(groupTitle(group, places), delaysOf(group, groupTitle(group, places)))),
      answer.classes.length ? [roads(answer), el('p.small', {}, say('planning.offer_words'))] : null,
      el(
        'div.row',
        {},
        button(say('planning.keep_csv'), () => save('journeys.csv', csv([['group', 'delay', 'recorded', 'median_s', 'ninetieth_s'], ...rows]), 'text/csv'), { kind: 'plain' }),
        answer.offer.changes.length ? button(say('planning.keep_offer'), () => save('offer.json', `${JSON.stringify(answer.offer, null, 2)}\n`, 'application/json'), { kind: 'plain' }) : null,
      ),
    ];
  });
  return node;
}
