/**
 * A dispatcher's shift handed to the next one (`#/shift`): what is open, signed by the one who leaves and
 * acknowledged by the one who comes. What was signed stands there as it was, and prints on its own
 * (`#/shift/ID`).
 */
import * as api from '../api.js';
import { button, el, linkButton } from '../dom.js';
import { released } from '../press.js';
import { follow, Refused } from '../server.js';
import { nameOf, say } from '../texts.js';
import { clock, span } from '../time.js';
import { confirmed } from './confirm.js';
import { show, trouble } from './frame.js';

const concerns = new Set(['referral', 'vehicle', 'shift']);

/**
 * @param {string} [id] of one that was signed; none: what is open now
 * @returns {Promise<() => void>} ends the following
 */
export async function shift(id) {
  const nameOfPlace = await api.placeNames();
  if (id) {
    const signed = await api.shiftHandover(id);
    show({ title: say('shift.title'), back: '#/shift', wide: true, content: [...signatures(signed.value), printButton(), ...listOf(signed.value.list, nameOfPlace, signed.value.left_at), ...paperLines(signed.value)] });
    return () => {};
  }
  const desk = new Desk(nameOfPlace);
  const end = await follow(() => desk.load(), ({ name }) => concerns.has(name));
  return () => {
    desk.isOver = true;
    end();
  };
}

class Desk {
  constructor(nameOfPlace) {
    this.nameOfPlace = nameOfPlace;
    this.notice = el('p', { role: 'alert' });
    this.place = el('div');
    this.isOver = false;
    show({ title: say('shift.title'), back: '#/dispatch', wide: true, content: [this.notice, this.place] });
  }

  async load() {
    const [now, { handovers }] = await Promise.all([api.shiftNow(), api.shiftHandovers()]);
    const newest = handovers[0];
    const waiting = newest && !newest.taken_at ? await api.shiftHandover(newest.id) : null;
    await released();
    if (this.isOver) return;
    const key = document.activeElement?.dataset?.key;
    this.place.replaceChildren(...this.content(now, waiting, handovers));
    if (key) document.querySelector(`[data-key="${CSS.escape(key)}"]`)?.focus({ preventScroll: true });
  }

  content(now, waiting, handovers) {
    return [
      waiting?.value.list ? this.toTake(waiting) : null,
      el(
        'section.box',
        { 'aria-labelledby': 'shift-leave' },
        el('h2', { id: 'shift-leave' }, say('shift.leave')),
        el('p', {}, say('shift.leave_how')),
        ...listOf(now.value.list, this.nameOfPlace, now.value.at),
        el('div.row', {}, button(say('shift.sign'), () => this.sign(now), { kind: 'main', attributes: { 'data-key': 'sign' } }), printButton()),
      ),
      handovers.length
        ? el('section', {}, el('h2', {}, say('shift.past')), el('ul.list', {}, handovers.map((one) => el('li', {}, linkButton(say('shift.past_one', { left: clock(one.left_at), by: one.left_by, taken: one.taken_at ? say('shift.taken_by', { time: clock(one.taken_at), by: one.taken_by }) : say('shift.not_taken') }), `#/shift/${one.id}`, { kind: 'plain', attributes: { 'data-key': `past ${one.id}` } })))))
        : null,
    ].filter(Boolean);
  }

  /** What somebody has signed and nobody has taken over. */
  toTake(waiting) {
    return el(
      'section.box.first',
      { 'aria-labelledby': 'shift-take' },
      el('h2', { id: 'shift-take' }, say('shift.take')),
      ...signatures(waiting.value),
      ...listOf(waiting.value.list, this.nameOfPlace, waiting.value.left_at),
      button(say('shift.acknowledge'), () => this.take(waiting), { kind: 'main', attributes: { 'data-key': 'acknowledge' } }),
    );
  }

  sign({ etag }) {
    return this.tell(say('shift.sign_sure'), say('shift.sign'), () => api.leaveShift(etag));
  }

  take({ value, etag }) {
    return this.tell(say('shift.take_sure', { by: value.left_by, time: clock(value.left_at) }), say('shift.acknowledge'), () => api.takeShift(value.id, etag));
  }

  async tell(question, yes, work) {
    if (!(await confirmed(say('shift.title'), [el('p', {}, question)], yes))) return;
    let words = '';
    try {
      await work();
    } catch (error) {
      words = error instanceof Refused && error.status === 412 ? say('shift.overtaken') : error.message || say('sign_in.no_connection');
    }
    this.notice.textContent = words;
    this.notice.className = words ? 'box first' : '';
    await this.load().catch(() => {});
  }
}

const printButton = () => button(say('more.print'), () => print(), { attributes: { 'data-key': 'print' } });

function signatures(one) {
  return [
    one.practice ? el('p.strong', {}, say('referral.practice')) : null,
    el('p.strong', {}, say('shift.left_by', { time: clock(one.left_at), by: one.left_by })),
    el('p', {}, one.taken_at ? say('shift.taken_by', { time: clock(one.taken_at), by: one.taken_by }) : say('shift.not_taken')),
    one.list ? el('p.small', {}, say('shift.fingerprint', { sha256: one.sha256.slice(0, 16) })) : el('p', {}, say('shift.erased')),
  ].filter(Boolean);
}

/** For pen and ink beside the keys. */
const paperLines = (one) => [el('p.paper', {}, `${one.left_by}: ______________________`), el('p.paper', {}, `${one.taken_by ?? ''}: ______________________`)];

function listOf(list, nameOfPlace, at) {
  if (!list) return [];
  const vehicleName = new Map(list.vehicles.map(({ id, name }) => [id, name]));
  const nameOfVehicles = (ids) => ids.map((id) => vehicleName.get(id) ?? id).join(', ');
  return [
    el('h3', {}, say('dispatch.open', { count: list.referrals.length })),
    list.referrals.length ? el('ol.list', {}, list.referrals.map((one) => el('li', {}, woman(one, nameOfPlace, nameOfVehicles, at)))) : el('p', {}, say('dispatch.none')),
    el('h3', {}, say('dispatch.vehicles')),
    el('ul.plain', {}, list.vehicles.map((one) => el('li', {}, vehicle(one)))),
  ];
}

function woman(one, nameOfPlace, nameOfVehicles, at) {
  const sent = nameOfVehicles(one.vehicles);
  return el(
    'article.box',
    { 'aria-label': one.code },
    el('p.place', {}, one.deadline ? leftAt(one.deadline, at) : say('dispatch.no_limit')),
    el('p', {}, `${one.code} · ${nameOf('course', one.state)} · ${say('arrivals.from', { name: nameOfPlace(one.sender) })}`, one.asked ? ` · ${say('referral.to', { name: nameOfPlace(one.asked) })}` : ''),
    one.alerts.map((alert) => el('p.strong', {}, say('dispatch.overdue_since', { time: clock(alert.due), text: alert.text }), alert.acknowledged_at ? ` ${say('dispatch.taken_on', { time: clock(alert.acknowledged_at) })}` : '')),
    el('ul', {}, one.needs.map(({ text, deadline }) => el('li', {}, deadline ? say('arrivals.by', { care: text, time: clock(deadline) }) : text))),
    el('p', {}, [
      one.waits ? say('dispatch.accepted_waits') : sent ? say('dispatch.accepted', { vehicle: sent }) : say('shift.nothing_promised'),
      one.with_her_by ? say('shift.with_her_by', { time: clock(one.with_her_by) }) : '',
      one.expected_by ? say('shift.expected_by', { time: clock(one.expected_by) }) : '',
    ].filter(Boolean).join(' ')),
  );
}

function vehicle({ name, state, until, referral }) {
  return [el('strong', {}, name), `: ${say(`hold.${state}`)}`, until ? `, ${say('shift.until', { time: clock(until) })}` : '', referral ? ` · ${referral}` : ''];
}

/** Counted from when the list was made: what is printed does not run on. */
function leftAt(deadline, at) {
  const left = Date.parse(deadline) - Date.parse(at);
  return left > 0 ? say('dispatch.left', { span: span(left), time: clock(deadline) }) : say('dispatch.over', { span: span(-left), time: clock(deadline) });
}

/** What cannot be shown is said, with the way back. */
export const shiftOrTrouble = (id) =>
  shift(id).catch((error) => {
    if (!(error instanceof Refused)) throw error;
    show({ title: say('shift.title'), back: '#/dispatch', content: [trouble(error.message)] });
    return () => {};
  });
