/**
 * The dispatcher's view: open referrals by the time left, one plan for all of them, the map, the vehicles.
 * Nothing is sent before what it costs and what it leaves for the next call has been read and confirmed.
 */
import * as api from '../api.js';
import { button, el, linkButton } from '../dom.js';
import { released } from '../press.js';
import { follow, Refused } from '../server.js';
import { nameOf, say } from '../texts.js';
import { clock, span, toInstant } from '../time.js';
import { confirmed } from './confirm.js';
import { everySecond, show } from './frame.js';

const concerns = new Set(['referral', 'vehicle', 'road_conditions', 'readiness']);
/** What can be said of a vehicle, as `POST /v1/vehicles/{id}/reports` takes it. */
const states = ['free', 'rest', 'refuelling', 'repair', 'mission', 'breakdown', 'no_fuel', 'taken', 'off_duty'];
/** What comes after what on her way. */
const steps = ['transport_sent', 'with_the_woman', 'departed', 'arrived', 'received'];
/** Weighted lateness below this is no lateness: thousandths are what the plan counts in. */
const noticed = 0.0005;

/** @returns {Promise<() => void>} ends the following */
export async function dispatch() {
  const parts = { notice: el('p', { role: 'alert' }), since: el('span.since'), cover: el('section.box', { 'aria-label': say('dispatch.cover') }), women: el('div'), vehicles: el('div') };
  const map = el('div.map', { role: 'region', 'aria-label': say('map.own'), tabindex: '0' });
  show({
    title: say('dispatch.title'),
    tab: 'dispatch',
    wide: true,
    lead: [el('h1.who', { tabindex: '-1' }, say('dispatch.title')), parts.since],
    hidesTitle: true,
    content: [
      parts.notice,
      el('div.desk', {}, el('div.desk-list', {}, parts.cover, parts.women), el('div.desk-map', {}, map, el('h2', {}, say('dispatch.vehicles')), parts.vehicles)),
    ],
  });
  const board = new Board(parts, await api.placeNames());
  const end = await follow(() => board.load(), ({ name }) => concerns.has(name), (is) => board.live(is));
  board.useMap(await drawMap(map, board));
  everySecond((now) => board.tick(now));
  return () => {
    end();
    board.end();
  };
}

/** Without a connection there is no map; the list says everything that the map does. */
async function drawMap(place, board) {
  const { planMap } = await import('./plan_map.js');
  return planMap(place, (code, vehicle) => board.consider(code, [vehicle])).catch(() => {
    place.replaceWith(el('p.box', {}, say('dispatch.no_map')));
    return null;
  });
}

class Board {
  constructor(parts, nameOfPlace) {
    this.parts = parts;
    this.nameOfPlace = nameOfPlace;
    this.known = null;
    this.ways = null; // of the one woman whose other ways are shown
    this.asked = 0;
    this.isOver = false;
  }

  end() {
    this.isOver = true;
    this.map?.remove();
  }

  live(is) {
    this.parts.since.textContent = is ? say('arrivals.live') : say('arrivals.not_live', { time: clock(this.known?.at ?? Date.now()) });
  }

  useMap(map) {
    this.map = map;
    if (this.isOver) map?.remove();
    else if (this.known) map?.draw(this.known);
  }

  async load() {
    const mine = ++this.asked;
    try {
      const [{ value, etag }, { vehicles }] = await Promise.all([api.openPlan(), api.vehicles()]);
      const at = Date.now();
      const ways = this.ways && (await this.waysOf(this.ways.code));
      await released();
      if (mine !== this.asked || this.isOver) return;
      this.known = { ...value, etag, vehicles, at };
      if (this.ways?.code === ways?.code) this.ways = ways;
      this.tell('');
    } catch (error) {
      if (error instanceof Refused && error.status !== 429) this.tell(error.message);
      throw error;
    }
    this.draw();
  }

  again() {
    return this.load().catch(() => {});
  }

  tell(words) {
    this.parts.notice.textContent = words;
    this.parts.notice.className = words ? 'box first' : '';
  }

  async waysOf(code) {
    try {
      return { code, list: (await api.openPlan(`referral=${code}`)).value.plan.ways };
    } catch (error) {
      if (error instanceof Refused) return null; // nothing is planned for her any more
      throw error;
    }
  }

  /** Whoever is in the middle of something keeps the place: the focus comes back to what bore it. */
  draw() {
    if (this.isOver || !this.known) return;
    const key = document.activeElement?.dataset?.key;
    const begun = new Map([...document.querySelectorAll('.desk [data-key]:is(select, input)')].map((field) => [field.dataset.key, field.value]));
    const { referrals, cover } = this.known;
    const summaries = () => [...this.parts.cover.querySelectorAll('summary')];
    const opened = new Map(summaries().map((one) => [one.dataset.key, one.parentElement.open]));
    this.parts.cover.replaceChildren(el('h2', {}, say('dispatch.cover')), ...coverWords(cover));
    for (const one of summaries()) one.parentElement.open = opened.get(one.dataset.key) ?? one.parentElement.open;
    this.parts.women.replaceChildren(
      el('div.line', {}, el('h2', {}, say('dispatch.open', { count: referrals.length })), linkButton(say('intake.title'), '#/intake', { attributes: { 'data-key': 'intake' } }), linkButton(say('shift.title'), '#/shift', { attributes: { 'data-key': 'shift' } })),
      referrals.length ? el('ol.list', {}, referrals.map((one) => el('li', {}, this.woman(one)))) : el('p', {}, say('dispatch.none')),
    );
    this.parts.vehicles.replaceChildren(el('ul.list', {}, this.known.vehicles.map((one) => el('li', {}, this.vehicle(one)))));
    this.map?.draw(this.known);
    this.tick(Date.now());
    for (const field of document.querySelectorAll('.desk [data-key]:is(select, input)')) {
      const value = begun.get(field.dataset.key);
      // How a vehicle is comes from the server, unless somebody is choosing just now.
      if (value !== undefined && (field.dataset.key === key || !field.dataset.key.startsWith('state '))) field.value = value;
    }
    if (key) document.querySelector(`[data-key="${CSS.escape(key)}"]`)?.focus({ preventScroll: true });
  }

  /** Time left, in words, worked out from the clock. */
  tick(now) {
    for (const place of this.parts.women.querySelectorAll('[data-deadline]')) {
      const words = timeLeft(place.dataset.deadline, now);
      if (place.textContent !== words) place.textContent = words;
      place.closest('article').classList.toggle('late', Date.parse(place.dataset.deadline) <= now);
    }
  }

  carriedOf(code) {
    return this.known.plan.carried.find(({ referral }) => referral === code);
  }

  woman(one) {
    const carried = this.carriedOf(one.code);
    const change = this.known.plan.changed.find(({ referral }) => referral === one.code);
    const article = el(
      'article.box.first',
      {
        'aria-label': one.code,
        ondragover: (event) => event.dataTransfer.types.includes(dragged) && event.preventDefault(),
        ondrop: (event) => { event.preventDefault(); this.consider(one.code, [event.dataTransfer.getData(dragged)]); },
      },
      one.deadline ? el('p.place', { 'data-deadline': one.deadline }) : el('p.place', {}, say('dispatch.no_limit')),
      el('p', {}, say('arrivals.from', { name: this.nameOfPlace(one.sender) }), ` · ${one.code} · ${nameOf('course', one.state)}`),
      one.practice ? el('p.strong', {}, say('referral.practice')) : null,
      one.overdue.map((alert) => this.overdue(one, alert)),
      el('ul', {}, one.needs.map(({ text, deadline }) => el('li', {}, deadline ? say('arrivals.by', { care: text, time: clock(deadline) }) : text))),
      one.why.map((text) => el('p', {}, text)),
      this.promised(one),
      change ? el('p.strong', {}, say('dispatch.changed', { why: change.why })) : null,
      one.planning === 'planned' && carried ? this.proposal(one, carried) : null,
      one.planning === 'planned' ? this.choices(one) : null,
      this.nextStep(one),
    );
    return article;
  }

  /** Impossible to miss without colour: a double frame, the word, who is to act. */
  overdue(one, alert) {
    const take = async () => {
      await this.tellStep(one, { step: 'alert_acknowledged', alert: alert.alert });
    };
    return el(
      'div.overdue',
      { role: 'group', 'aria-label': say('dispatch.overdue') },
      el('p.strong', {}, say('dispatch.overdue_since', { time: clock(alert.due), text: alert.text })),
      el('p', {}, alert.acknowledged_at ? say('dispatch.taken_on', { time: clock(alert.acknowledged_at) }) : say('dispatch.owner', { who: say(`owner.${alert.owner}`) })),
      alert.acknowledged_at ? null : button(say('dispatch.take_on'), take, { attributes: { 'data-key': `take ${one.code} ${alert.alert}` } }),
    );
  }

  promised({ vehicles, accepted, planning, expected }) {
    const names = vehicles.map(({ name, id }) => name ?? id).join(', ');
    if (planning === 'under_way') return el('p', {}, say('dispatch.under_way', { vehicle: names || say('dispatch.own'), time: expected ? clock(expected.allow) : say('arrivals.no_time') }));
    if (accepted?.waits) return el('p', {}, say('dispatch.accepted_waits'));
    if (accepted && !names) return el('p', {}, say('dispatch.accepted_own'));
    if (!names) return null;
    return el('p', {}, say('dispatch.accepted', { vehicle: names }), accepted?.with_her ? ` ${say('dispatch.with_her', { typical: clock(accepted.with_her.typical), allow: clock(accepted.with_her.allow) })}` : '');
  }

  proposal(one, { way, tour }) {
    const isAccepted = one.accepted && !one.accepted.waits && sameVehicles(way.vehicles, one.vehicles);
    return el(
      'div',
      {},
      el('h3', {}, say('dispatch.plan')),
      this.wayWords(way),
      tour.length ? el('p', {}, say('dispatch.tour', { codes: tour.join(', ') })) : null,
      way.possible && !isAccepted ? button(say('dispatch.send'), () => this.consider(one.code), { kind: 'main', attributes: { 'data-key': `send ${one.code}` } }) : null,
    );
  }

  wayWords(way) {
    if (!way.possible) return el('p', {}, way.against.join('; '));
    return el(
      'div',
      {},
      el('p.strong', {}, `${vehicleNames(way)}: ${way.places.map(({ name }) => name).join(', ')}`),
      el('p', {}, [
        way.sets_out ? say('dispatch.sets_out', { time: clock(way.sets_out) }) : '',
        way.with_her ? say('dispatch.with_her', { typical: clock(way.with_her.typical), allow: clock(way.with_her.allow) }) : '',
        way.meeting ? meetingWords(way.meeting) : '',
        say('dispatch.care', { typical: clock(way.care_begins.typical), allow: clock(way.care_begins.allow) }),
        say(way.outcome === 'in_time' ? 'dispatch.in_time' : 'dispatch.late'),
      ].filter(Boolean).join(' ')),
      way.on_board.length ? el('p.small', {}, say('dispatch.on_board', { what: way.on_board.map((id) => nameOf('capability', id)).join(', ') })) : null,
      way.remarks.map((text) => el('p.small', {}, text)),
    );
  }

  /** By key: another vehicle from a list. Every way there is, with why it lost, on demand. */
  choices(one) {
    const shown = this.ways?.code === one.code ? this.ways.list : null;
    const pick = el('select', { id: `vehicle-${one.code}`, 'data-key': `pick ${one.code}` }, [
      el('option', { value: 'none' }, say('dispatch.no_vehicle')),
      this.known.vehicles.map(({ id, name }) => el('option', { value: id }, name)),
    ]);
    return el(
      'div',
      {},
      el('label', { for: pick.id }, say('dispatch.another')),
      el('div.line', {}, pick, button(say('dispatch.cost'), () => this.consider(one.code, pick.value === 'none' ? [] : [pick.value]), { attributes: { 'data-key': `cost ${one.code}` } })),
      button(say(shown ? 'dispatch.fewer' : 'dispatch.compare'), async () => {
        this.ways = shown ? null : await this.waysOf(one.code).catch(() => null);
        this.draw();
      }, { kind: 'plain', attributes: { 'aria-expanded': String(Boolean(shown)), 'data-key': `ways ${one.code}` } }),
      shown ? el('ol.list', {}, shown.map((way) => this.otherWay(one, way))) : null,
    );
  }

  otherWay(one, way) {
    const ids = way.vehicles.map(({ id }) => id);
    return el(
      'li.box',
      {},
      way.possible ? this.wayWords(way) : el('p.strong', {}, vehicleNames(way)),
      way.against.length ? el('p', {}, say('dispatch.against', { why: way.against.join('; ') })) : el('p', {}, say('dispatch.best')),
      way.possible ? button(say('dispatch.cost'), () => this.consider(one.code, ids), { attributes: { 'data-key': `way ${one.code} ${ids.join(' ')}`, 'aria-label': say('dispatch.cost_of', { vehicle: vehicleNames(way) }) } }) : null,
    );
  }

  /** What drivers without data say by telephone is entered for them, with its time. */
  nextStep(one) {
    const at = one.journey === 'not_begun' ? 0 : steps.indexOf(one.journey) + 1;
    const next = one.takeover && steps[one.takeover === 'not_begun' ? 0 : steps.indexOf(one.takeover) + 1];
    const possible = steps.slice(at, at + 1).filter((step) => step !== 'transport_sent' || one.vehicles.length);
    const list = one.journey === 'not_begun' && !one.vehicles.length ? ['departed'] : possible;
    if (!list.length && !next) return null;
    const when = el('input', { type: 'time', id: `when-${one.code}`, 'data-key': `when ${one.code}` });
    const tell = (step, vehicle) => () => this.tellStep(one, { step, ...(vehicle && { vehicle }), ...(when.value && { occurred_at: toInstant(lastTime(when.value)) }) });
    return el(
      'div.line',
      {},
      el('label', { for: when.id }, say('dispatch.when')),
      when,
      list.map((step) => button(say(`dispatch.step.${step}`), tell(step), { attributes: { 'data-key': `step ${one.code}` } })),
      next ? button(say('dispatch.takes_over', { step: say(`dispatch.step.${next}`) }), tell(next, one.second_vehicle), { attributes: { 'data-key': `takeover ${one.code}` } }) : null,
    );
  }

  async tellStep(one, event) {
    try {
      await api.tellStep(one.code, event, one.version);
      this.tell('');
    } catch (error) {
      this.tell(error instanceof Refused && error.status === 412 ? say('dispatch.overtaken') : error.message || say('sign_in.no_connection'));
    }
    await this.again();
  }

  /**
   * What it would cost, then, if it is confirmed, make it so.
   * @param {string[]} [ids] none given: as the plan has it
   */
  async consider(code, ids) {
    try {
      const query = ids && `referral=${code}&vehicles=${ids.length ? ids.join(',') : 'none'}`;
      const { value, etag } = query ? await api.openPlan(query) : { value: this.known, etag: this.known.etag };
      const carried = value.plan.carried.find(({ referral }) => referral === code);
      if (!carried) return this.tell(say('dispatch.nothing_to_plan'));
      const yes = await confirmed(say('dispatch.confirm', { code }), this.cost(value, carried), say('dispatch.do_it'));
      if (!yes) return undefined;
      await api.acceptTransport(decisions(value.plan, carried), etag);
      this.tell('');
    } catch (error) {
      this.tell(error instanceof Refused && error.status === 412 ? say('dispatch.overtaken') : error.message || say('sign_in.no_connection'));
    }
    return this.again();
  }

  cost({ plan, cover }, { way, referral, tour }) {
    const { lateness, seconds } = plan.decision_costs_more;
    const others = plan.changed.filter((one) => one.referral !== referral);
    return [
      way.possible ? this.wayWords(way) : el('p.strong', {}, say('dispatch.she_waits')),
      tour.length ? el('p', {}, say('dispatch.tour', { codes: tour.join(', ') })) : null,
      el('h3', {}, say('dispatch.what_it_costs')),
      lateness < noticed && seconds <= 0 ? el('p', {}, say('dispatch.costs_nothing')) : null,
      lateness >= noticed ? el('p.strong', {}, say('dispatch.costs_lateness', { percent: Math.round(lateness * 100) })) : null,
      lateness < noticed && seconds > 0 ? el('p', {}, say('dispatch.costs_time', { span: span(seconds * 1000) })) : null,
      others.map((one) => el('p', {}, say('dispatch.other_changes', { code: one.referral, was: listed(one.was), now: listed(one.now), why: one.why }))),
      el('h3', {}, say('dispatch.cover')),
      coverWords(cover),
    ];
  }

  vehicle(one) {
    const state = el('select', { id: `state-${one.id}`, 'data-key': `state ${one.id}` }, states.map((id) => el('option', { value: id, selected: id === one.state }, say(`hold.${id}`))));
    const report = async () => {
      try {
        await api.reportVehicle(one.id, { state: state.value });
        this.tell('');
      } catch (error) {
        this.tell(error.message || say('sign_in.no_connection'));
      }
      await this.again();
    };
    return el(
      'article.box',
      { 'aria-label': one.name, draggable: 'true', ondragstart: (event) => event.dataTransfer.setData(dragged, one.id) },
      el('p.strong', {}, one.name),
      el('p', {}, one.reasons.length ? one.reasons.join('; ') : say('hold.free'), one.referral ? ` · ${one.referral}` : ''),
      el('p.small', {}, one.position ? say('dispatch.seen', { time: clock(one.position.at), span: span(one.position.age_s * 1000) }) : say('dispatch.at_base', { name: one.base.facility ? this.nameOfPlace(one.base.facility) : '' })),
      one.phones.length ? el('p.small', {}, one.phones.map((phone) => el('a', { href: `tel:${phone}` }, phone))) : null,
      el('label', { for: state.id }, say('dispatch.say_state')),
      el('div.line', {}, state, button(say('dispatch.say'), report, { attributes: { 'data-key': `say ${one.id}`, 'aria-label': say('dispatch.say_of', { vehicle: one.name }) } })),
    );
  }
}

/** What is dragged from the list of vehicles. */
const dragged = 'application/x-waybourne-vehicle';

/** Her, who rides with her, and whoever is given something else because of it. */
function decisions(plan, { referral, tour }) {
  const codes = new Set([referral, ...tour, ...plan.changed.map((one) => one.referral)]);
  return plan.carried
    .filter((one) => codes.has(one.referral))
    .map(({ referral: code, way }) => ({ referral: code, vehicles: way.vehicles.map(({ id }) => id) }));
}

/** What is left for the next call; which areas lose their last vehicle is said with their number first. */
function coverWords(cover) {
  if (!cover) return [el('p', {}, say('dispatch.no_cover'))];
  const { words, warnings, waiting, move_ups: moveUps, last_vehicles: lasts } = cover;
  const lost = warnings.length ? el('details', {}, el('summary', { 'data-key': 'areas' }, say('dispatch.last_vehicle', { count: warnings.length })), el('ul', {}, warnings.map((text) => el('li', {}, text)))) : null;
  const advice = [['waiting', waiting], ['last_before', lasts], ['move_ups', moveUps]].filter(([, list]) => list.length);
  return [
    ...words.map((text) => el('p', {}, text)),
    ...(lost ? [lost] : []),
    ...advice.map(([id, list]) => el('details', { open: id === 'waiting' }, el('summary', { 'data-key': `cover ${id}` }, say(`dispatch.${id}`)), el('ul', {}, list.map(({ text }) => el('li', {}, text))))),
  ];
}

const sameVehicles = (one, other) => one.length === other.length && one.every(({ id }, index) => id === other[index].id);
const listed = (vehicles) => vehicles.map(({ name, id }) => name ?? id).join(', ') || say('dispatch.no_vehicle');
const vehicleNames = (way) => (way.vehicles.length ? listed(way.vehicles) : say(way.possible ? 'dispatch.own' : 'dispatch.no_vehicle'));

/** She goes on when both are there. */
function meetingWords({ first_arrives: first, second_arrives: second, landing }) {
  const time = clock(first.allow > second.allow ? first.allow : second.allow);
  return landing ? say('dispatch.meets_at_landing', { landing, time }) : say('dispatch.meets', { time });
}

function timeLeft(deadline, now) {
  const left = Date.parse(deadline) - now;
  return left > 0 ? say('dispatch.left', { span: span(left), time: clock(deadline) }) : say('dispatch.over', { span: span(-left), time: clock(deadline) });
}

/** The last time at which a clock here showed this: somebody who telephones speaks of the past. */
function lastTime(shown) {
  const [hours, minutes] = shown.split(':').map(Number);
  const now = Date.now();
  const day = 86400000;
  for (let at = now; at > now - day; at -= 60000) {
    if (clock(at, at) === `${String(hours).padStart(2, '0')}:${String(minutes).padStart(2, '0')}`) return Math.floor(at / 60000) * 60000;
  }
  return now;
}
