/**
 * The planner's view: who reaches care in time and who does not, what would change it, and the report.
 * Nothing here is about a person.
 */
import * as api from '../api.js';
import { button, el, more } from '../dom.js';
import { nameOf, say } from '../texts.js';
import { kilometres, span } from '../time.js';
import { show, trouble } from './frame.js';
import { ground } from './map.js';
import { chart, classes, mark, percent } from './planning_charts.js';
import { competition } from './planning_competition.js';
import { journeys } from './planning_journeys.js';
import { asked, births, care, careName, csv, forReport, kept, question, rowsOf, save, section, select, table } from './planning_parts.js';
import { compared, savedPlans } from './planning_saved.js';
import { upgrades } from './planning_upgrades.js';

// --- the map

class CoverageMap {
  constructor(place) {
    this.place = place;
    this.layers = {};
  }

  async open() {
    Object.assign(this, await ground(this.place));
    this.chart.fitBounds(this.whole, { animate: false });
    return this;
  }

  layer(name) {
    this.layers[name]?.remove();
    this.layers[name] = this.L.layerGroup().addTo(this.chart);
    return this.layers[name];
  }

  put(layer, latitude, longitude, picture) {
    const size = Number(picture.getAttribute('width'));
    this.L.marker([latitude, longitude], { interactive: false, keyboard: false, icon: this.L.divIcon({ className: 'mark', html: picture, iconSize: [size, size] }) }).addTo(layer);
  }

  settlements({ settlements, facilities }) {
    const layer = this.layer('settlements');
    for (const { latitude, longitude, access, births_per_year: count } of settlements) this.put(layer, latitude, longitude, mark(access, 3 + Math.sqrt(count) * 0.3));
    for (const { latitude, longitude, births_in_time: count } of facilities) if (count > 0) this.put(layer, latitude, longitude, mark('care', 8));
  }

  /** Each settlement with its fifth: 1 has the least room within reach. */
  scores(fifths) {
    const layer = this.layer('scores');
    for (const { latitude, longitude, fifth } of fifths) {
      this.L.marker([latitude, longitude], { interactive: false, keyboard: false, icon: this.L.divIcon({ className: 'map-fifth', html: String(fifth), iconSize: [18, 18] }) }).addTo(layer);
    }
  }

  links(links) {
    const layer = this.layer('links');
    for (const { geometry } of links) this.L.polyline(geometry.coordinates.map((line) => line.map(([longitude, latitude]) => [latitude, longitude])), { color: '#17142b', weight: 7, opacity: 0.8, interactive: false }).addTo(layer);
  }

  upgrades(upgrades) {
    const layer = this.layer('upgrades');
    for (const { latitude, longitude, name } of upgrades) {
      this.L.circleMarker([latitude, longitude], { radius: 13, color: '#17142b', weight: 4, fill: false, interactive: false }).bindTooltip(name, { permanent: true, direction: 'right', className: 'map-name' }).addTo(layer);
    }
  }

  /**
   * One thing that can be moved: by hand, by arrow keys, or by a tap where it should be. `moved` is called while
   * it is. @param {{name?: string, words?: string, east?: number}} more of several things the later ones are not
   * moved by a tap
   */
  movable(moved, { name = 'placed', words = say('planning.move'), east = 0 } = {}) {
    const layer = this.layer(name);
    const middle = this.chart.latLngToContainerPoint(this.chart.getCenter());
    const icon = this.L.divIcon({ className: 'mark', html: mark('care', 14), iconSize: [44, 44] });
    const thing = this.L.marker(this.chart.containerPointToLatLng([middle.x + east, middle.y]), { draggable: true, keyboard: true, icon, title: words, alt: words }).addTo(layer);
    const put = (at) => { thing.setLatLng(at); moved(thing.getLatLng()); };
    const element = thing.getElement();
    element?.setAttribute('aria-label', words);
    element?.addEventListener('keydown', (event) => {
      const step = { ArrowLeft: [-12, 0], ArrowRight: [12, 0], ArrowUp: [0, -12], ArrowDown: [0, 12] }[event.key];
      if (!step) return;
      event.preventDefault();
      event.stopPropagation();
      const at = this.chart.latLngToContainerPoint(thing.getLatLng());
      put(this.chart.containerPointToLatLng([at.x + step[0], at.y + step[1]]));
    });
    thing.on('drag', () => moved(thing.getLatLng()));
    if (name === 'placed') this.chart.on('click', ({ latlng }) => layer.hasLayer(thing) && put(latlng));
    moved(thing.getLatLng());
  }

  clear(name) {
    this.layers[name]?.remove();
    delete this.layers[name];
  }
}

const legend = ({ total }) => el(
  'ul.legend',
  {},
  classes.map((one) => el('li', {}, mark(one, 6), `${say(`planning.class.${one}`)}: ${births(total[one])}`)),
  el('li', {}, mark('care', 6), say('planning.class.care')),
);

function curveOf({ curve }) {
  const last = curve.at(-1)?.standard_s ?? 1;
  const line = (name, dashes, key) => ({ name, dashes, points: curve.map((point) => [point.standard_s / last, point[key]]) });
  return chart(
    say('planning.curve'),
    [line(say('planning.curve.at_least'), 'none', 'at_least'), line(say('planning.curve.at_most'), '7 5', 'at_most'), line(say('planning.curve.way_only'), '2 4', 'way_only')],
    [0, 1, 2, 3, 4, 5, 6].map((hours) => say('planning.hours', { value: hours })),
  );
}

const careAfter = ({ care_s: time }) => (time ? span(time.allow * 1000) : '–');

function gaps({ settlements }) {
  const outside = settlements.filter(({ access }) => access !== 'in_time').sort((a, b) => b.births_per_year - a.births_per_year);
  const rows = (list) => list.map((one) => [one.name, say(`planning.class.${one.access}`), Math.round(one.births_per_year), careAfter(one)]);
  const headings = [say('planning.settlement'), say('planning.why'), say('planning.births_a_year'), say('planning.care_after')];
  const most = 12;
  return [
    el('h2', {}, say('planning.gaps', { count: outside.length })),
    outside.length ? table(say('planning.gaps', { count: outside.length }), headings, rows(outside.slice(0, most)), 2) : el('p', {}, say('planning.no_gaps')),
    outside.length > most ? more(say('planning.all'), table(say('planning.all'), headings, rows(outside), 2)) : null,
  ];
}

/** What must be known of the figures comes before the map. */
function trustWords(trust) {
  const off = trust.far_from_road.filter(({ off_road_m: far }) => far === null).length;
  const [farthest] = trust.far_from_road;
  const sum = (key) => trust.speeds.reduce((metres, one) => metres + one[key], 0);
  return el(
    'section.box',
    {},
    el('h2', {}, say('planning.trust')),
    el('p', {}, say('planning.trust.births', { births: Math.round(trust.births_per_year), settlements: trust.settlements, estimated: Math.round(trust.births_estimated) })),
    trust.areas.some(({ official_births_per_year: official }) => official !== null) ? null : el('p', {}, say('planning.trust.no_official')),
    el('p', {}, say('planning.trust.off', { count: off }), ' ', farthest?.off_road_m ? say('planning.trust.farthest', { name: farthest.name, far: kilometres(farthest.off_road_m) }) : ''),
    el('p', {}, say('planning.trust.never', { count: trust.never_confirmed.length })),
    el('p', {}, say(sum('observed_m') > 0 ? 'planning.trust.speeds_observed' : 'planning.trust.speeds', { assumed: kilometres(sum('assumed_m')), measured: kilometres(sum('measured_elsewhere_m')), observed: kilometres(sum('observed_m')) })),
  );
}

// --- what if

/** Kinds of change by what they need to be told. */
const kinds = ['service', 'hours', 'waiting_home', 'facility', 'vehicle_post', 'new_bridge', 'bridged', 'paved', 'closed'];

function whatIf(map, places) {
  const changes = [];
  const list = el('ul', {});
  const fields = el('div.questions', {});
  let point;
  let end;
  const input = (name, attributes) => el('label', {}, say(`planning.change.${name}`), el('input', { name, autocomplete: 'off', ...attributes }));
  const placeField = () => el('label', {}, say('planning.facility'), el('select', { name: 'facility' }, places.map(({ id, name }) => el('option', { value: id }, name))));
  const forKind = {
    service: () => [placeField()],
    hours: () => [placeField(), input('hours', { value: '24/7' })],
    waiting_home: () => [placeField(), input('births_per_year', { type: 'number', min: 0, value: 100 })],
    facility: () => [el('p', {}, say('planning.change.drag'))],
    vehicle_post: () => [el('p', {}, say('planning.change.drag')), input('mobilisation_minutes', { type: 'number', min: 0, value: 15 })],
    new_bridge: () => [el('p', {}, say('planning.change.drag_two')), input('speed_kmh', { type: 'number', min: 1, max: 140, value: 40 })],
    bridged: () => [input('road', {})],
    paved: () => [input('road', {})],
    closed: () => [input('road', {})],
  };
  const value = (name) => fields.querySelector(`[name="${name}"]`)?.value.trim() ?? '';
  const change = (kind) => ({
    kind,
    ...(['service', 'facility'].includes(kind) && { capabilities: care[asked.care] }),
    ...(['service', 'hours', 'waiting_home'].includes(kind) && { facility: value('facility') }),
    ...(kind === 'hours' && { hours: value('hours') }),
    ...(kind === 'waiting_home' && { births_per_year: Number(value('births_per_year')) }),
    ...(kind === 'vehicle_post' && { mobilisation_minutes: Number(value('mobilisation_minutes')) }),
    ...(['facility', 'vehicle_post'].includes(kind) && { latitude: point.lat, longitude: point.lng }),
    ...(kind === 'new_bridge' && { from: { latitude: point.lat, longitude: point.lng }, to: { latitude: end.lat, longitude: end.lng }, speed_kmh: Number(value('speed_kmh')) }),
    ...(['bridged', 'paved', 'closed'].includes(kind) && { where: /^\d+$/.test(value('road')) ? { road_id: Number(value('road')) } : { road: value('road') } }),
  });
  const isPlaced = (kind) => ['facility', 'vehicle_post', 'new_bridge'].includes(kind);
  const words = (one) => [say(`planning.kind.${one.kind}`), places.find(({ id }) => id === one.facility)?.name ?? one.where?.road ?? one.where?.road_id ?? ''].filter(Boolean).join(': ');
  const draw = () => list.replaceChildren(...beside.map((one, index) => el('li', {}, `${one.name}: ${one.changes.map(words).join('; ')} `, button(say('planning.take_away'), () => { beside.splice(index, 1); draw(); }, { kind: 'plain' }))), ...changes.map((one, index) => el('li', {}, words(one), ' ', button(say('planning.take_away'), () => { changes.splice(index, 1); draw(); }, { kind: 'plain' }))));
  const chosen = el('select', { name: 'kind' }, kinds.map((kind) => el('option', { value: kind }, say(`planning.kind.${kind}`))));
  const name = el('input', { name: 'scenario', value: 'plan-1', pattern: '[A-Za-z0-9_.:\\-]+', maxlength: 80, autocomplete: 'off' });
  /** Plans that stay beside the one that is being made. */
  const beside = [];
  const mostBeside = 9;
  const scenarios = (all) => [...beside, ...(all.length ? [{ name: name.value || 'plan', changes: all }] : [])];
  const ask = (all) => question({ scenarios: scenarios(all) });
  forReport.scenarios = () => scenarios(changes);

  const compare = section(say('planning.what_if'), (run) => {
    // While a thing is moved the answer follows, one question at a time, the last place always asked about.
    let under = false;
    let again = false;
    const follow = async () => {
      again = under;
      if (under) return;
      under = true;
      await run();
      under = false;
      if (again) follow();
    };
    const shown = () => {
      ['placed', 'end'].forEach((layer) => map.clear(layer));
      fields.replaceChildren(...forKind[chosen.value]());
      if (chosen.value === 'new_bridge') map.movable((at) => { end = at; if (point) follow(); }, { name: 'end', words: say('planning.move_end'), east: 60 });
      if (isPlaced(chosen.value)) map.movable((at) => { point = at; follow(); });
    };
    chosen.addEventListener('change', shown);
    shown();
    return [
      el('label.field', {}, say('planning.kind'), chosen),
      fields,
      list,
      el('label.field', {}, say('planning.name'), name),
      el(
        'div.row',
        {},
        button(say('planning.add_change'), () => { changes.push(change(chosen.value)); draw(); return run(); }),
        button(say('planning.compare'), run),
        button(say('planning.keep_beside'), () => {
          if (!changes.length || beside.length >= mostBeside) return run();
          beside.push({ name: name.value || 'plan', changes: changes.splice(0) });
          name.value = `plan-${beside.length + 1}`;
          draw();
          return run();
        }),
        button(say('planning.save'), async () => { await api.saveScenario(name.value, ask(changes.length || beside.length ? changes : [change(chosen.value)])); await saved.run(); }),
      ),
    ];
  }, async () => {
    const all = isPlaced(chosen.value) && point ? [...changes, change(chosen.value)] : changes;
    if (!all.length && !beside.length) return el('p', {}, say('planning.no_changes'));
    return compared(await api.plan('what-ifs', ask(all)));
  });

  const saved = savedPlans();
  return [compare.node, saved.node];
}

// --- links, indicators, report

const linkKind = ({ ferry, ford, bridge }) => (ferry ? 'ferry' : ford ? 'ford' : bridge ? 'bridge' : 'road');

function criticalLinks(map) {
  const { node } = section(say('planning.links'), (run) => [button(say('planning.show_links'), run)], async () => {
    const answer = await api.plan('links', question());
    const worst = answer.links.slice(0, 10);
    map.links(worst);
    const rows = (list) => list.map((one) => [one.road || nameOf('road', one.road_class), say(`planning.link.${linkKind(one)}`), kilometres(one.length_m), Math.round(one.births_lost), Math.round(one.births_cut_off)]);
    const headings = [say('planning.road'), say('planning.kind_of_road'), say('planning.length'), say('planning.lost'), say('planning.cut_off')];
    return [
      table(say('planning.links'), headings, rows(worst), 2),
      answer.waiting_is_counted ? null : el('p.small', {}, say('planning.no_waiting')),
      button(say('planning.keep_csv'), () => save('roads.csv', csv([['road', 'road_id', 'class', 'births_lost', 'births_cut_off'], ...answer.links.map((one) => [one.road, one.road_id, one.road_class, one.births_lost, one.births_cut_off])]), 'text/csv'), { kind: 'plain' }),
    ];
  });
  return node;
}

const when = ({ surface, light }) => `${say(`planning.surface.${surface}`)}, ${say(`planning.light.${light}`)}`;

function losses() {
  const { node } = section(say('planning.losses'), (run) => [button(say('planning.show_losses'), run)], async () => {
    const answer = await api.plan('losses', question());
    const rows = answer.losses.map((one) => [when(one.road_conditions), one.lost.map(({ name }) => name).join(', ') || '–', Math.round(one.births_lost), Math.round(one.births_in_doubt)]);
    return [
      table(say('planning.losses'), [say('planning.when'), say('planning.settlement'), say('planning.lost'), say('planning.in_doubt')], rows, 2),
      button(say('planning.keep_csv'), () => save('losses.csv', csv([['when', 'id', 'name', 'births_per_year'], ...answer.losses.flatMap(({ road_conditions: then, lost }) => lost.map((one) => [`${then.surface} ${then.light}`, one.id, one.name, one.births_per_year]))]), 'text/csv'), { kind: 'plain' }),
    ];
  });
  return node;
}

function indicators() {
  const last = el('input', { name: 'last_month', type: 'month', value: new Date(Date.now() - 31 * 86400000).toISOString().slice(0, 7) });
  const file = el('input', { name: 'months', type: 'file', accept: '.csv,text/csv' });
  const journal = el('input', { name: 'from_journal', type: 'checkbox' });
  const counted = async () => ({ last_month: last.value, months: file.files[0] ? rowsOf(await file.files[0].text(), ['facility', 'month']) : [] });
  forReport.indicators = counted;
  const { node } = section(say('planning.indicators'), (run) => [
    el('div.questions', {}, el('label', {}, say('planning.last_month'), last), el('label', {}, say('planning.months'), file)),
    el('label.check', {}, journal, ' ', say('planning.from_journal')),
    button(say('planning.show_indicators'), run),
  ], async () => {
    const answer = await api.plan('indicators', { ...(await counted()), from_journal: journal.checked });
    const judged = ({ acceptable }) => (acceptable === null ? '' : say(acceptable ? 'planning.as_it_should' : 'planning.not_as_it_should'));
    const number = (value) => (value === null ? '–' : new Intl.NumberFormat(document.documentElement.lang, { maximumFractionDigits: 1 }).format(value));
    const headings = ['indicator', 'judged', 'numerator', 'denominator', 'value'].map((name) => say(`planning.${name}`));
    const rows = (list) => list.map((one) => [say(`planning.indicator.${one.indicator}`), one.value === null ? say('planning.missing', { names: one.missing.join(', ') }) : judged(one), number(one.numerator), number(one.denominator), percent(one.value)]);
    const told = answer.from_journal;
    return [
      el('p.small', {}, answer.profile.source),
      table(say('planning.indicators'), headings, rows(answer.indicators), 2),
      told && [
        el('p', {}, say('planning.referred', { received: told.received, other: told.other_conditions, without: told.without_findings, outcome: told.without_outcome })),
        table(say('planning.from_journal'), headings, rows(told.indicators), 2),
        told.above_monthly.length ? el('p', {}, say('planning.above_monthly', { names: told.above_monthly.join(', ') })) : null,
      ],
      answer.not_functioning.length ? el('p', {}, say('planning.not_functioning', { names: answer.not_functioning.join(', ') })) : null,
      answer.missing.length ? el('p', {}, say('planning.months_missing', { count: answer.missing.length })) : null,
    ];
  });
  return node;
}

function geojson({ settlements }) {
  return JSON.stringify({ type: 'FeatureCollection', features: settlements.map(({ latitude, longitude, ...properties }) => ({ type: 'Feature', geometry: { type: 'Point', coordinates: [longitude, latitude] }, properties })) });
}

const settlementRows = ({ settlements }) => [['id', 'name', 'births_per_year', 'access', 'facility', 'care_allow_s'], ...settlements.map((one) => [one.id, one.name, one.births_per_year, one.access, one.facility, one.care_s?.allow])];

/** @returns {Promise<() => void>} */
export async function planning() {
  const place = el('div.map', { role: 'region', 'aria-label': say('planning.map'), tabindex: '0' });
  const head = el('div.stack', { 'aria-live': 'polite' }, el('p', {}, say('planning.working')));
  const trust = el('div', {});
  const side = el('div.stack', {});
  const tools = el('div', {});
  const form = el(
    'form',
    {},
    el(
      'div.questions',
      {},
      select('care', Object.keys(care), careName),
      select('within', [30, 60, 120, 240], (minutes) => span(minutes * 60000)),
      select('surface', ['dry', 'wet'], (one) => say(`planning.surface.${one}`)),
      select('light', ['day', 'night'], (one) => say(`planning.light.${one}`)),
      select('readiness', ['as_registered', 'by_hour', 'as_reported'], (one) => say(`planning.readiness.${one}`)),
      select('transport', ['at_hand', 'on_foot', 'sent'], (one) => say(`planning.transport.${one}`)),
    ),
  );
  show({ title: say('planning.title'), tab: 'planning', wide: true, content: [form, trust, head, el('div.halves', {}, place, el('div.stack', {}, side, tools))] });
  const [map, list, known] = await Promise.all([new CoverageMap(place).open(), api.facilities(), api.plan('trust', question())]);
  trust.replaceChildren(trustWords(known));

  let turn = 0;
  async function answer() {
    const mine = (turn += 1);
    try {
      const access = await api.plan('access', question());
      if (mine !== turn) return;
      map.settlements(access);
      head.replaceChildren(
        el('p.strong', {}, say('planning.answer', { in_time: Math.round(access.total.in_time), births: Math.round(access.total.births_per_year), share: percent(access.total.share_at_least) })),
        el('p', {}, say('planning.assumed', { span: span(access.inputs.handover_s * 1000) })),
        legend(access),
      );
      const curve = curveOf(access);
      side.replaceChildren(
        ...[
          gaps(access),
          el('h2', {}, say('planning.curve')),
          kept(curve, 'births-in-time'),
          el('div.row', {}, button(say('planning.keep_csv'), () => save('settlements.csv', csv(settlementRows(access)), 'text/csv')), button(say('planning.keep_geojson'), () => save('settlements.geojson', geojson(access), 'application/geo+json'))),
        ].flat(9).filter(Boolean),
      );
    } catch (error) {
      if (mine === turn) head.replaceChildren(trouble(error.message, answer));
    }
  }
  form.addEventListener('submit', (event) => event.preventDefault());
  form.addEventListener('change', ({ target }) => {
    asked[target.name] = target.value;
    ['links', 'upgrades', 'scores'].forEach((name) => map.clear(name));
    answer();
  });
  tools.replaceChildren(upgrades(map, list.value.facilities), competition(map), ...whatIf(map, list.value.facilities), losses(), criticalLinks(map), indicators(), journeys(list.value.facilities));
  await answer();
  return () => map.chart.remove();
}
