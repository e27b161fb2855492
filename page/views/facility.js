/** The receiving facility: who is coming and what to prepare, yes or no, and what can be given. */
import * as api from '../api.js';
import { button, el } from '../dom.js';
import { growingId, post } from '../outbox.js';
import { released } from '../press.js';
import { follow, Refused } from '../server.js';
import { kept } from '../store.js';
import { careNames, nameOf, say } from '../texts.js';
import { clock, toInstant } from '../time.js';
import { show } from './frame.js';

/**
 * Everything here is shown again whenever `/v1/live` says that something has changed.
 * @returns {Promise<() => void>} ends the following
 */
export async function arrivals() {
  const place = await kept('place');
  const title = (await kept('place_name')) ?? '';
  const nameOfPlace = await api.placeNames();
  let known = { list: [], at: 0 };
  /** Undefined until it is known. */
  let isLive;
  /** Why the last answer or the last look did not go well; stays until the next one. */
  let notice = '';
  let trouble = '';
  let asked = 0;
  let shown = '';
  const gone = new AbortController();
  const draw = async () => {
    await released();
    // Whoever is in the middle of saying why not is not interrupted, nor is anybody for nothing new.
    const now = JSON.stringify([known.list, known.at > 0, isLive, isLive === false && known.at, notice, trouble]);
    if (gone.signal.aborted || now === shown || document.querySelector('details.why[open]')) return;
    drawArrivals({ isAgain: shown !== '', title, known, isLive, notice: notice || trouble, cards: known.list.map((one) => arrival(one, { place, nameOfPlace, again, draw, tell })) });
    shown = now;
  };
  const load = async () => {
    const mine = ++asked;
    try {
      const { arrivals: list } = await api.arrivals(place);
      if (mine === asked) known = { list, at: Date.now() };
      trouble = '';
    } catch (error) {
      if (error instanceof Refused && error.status !== 429) trouble = error.message;
      throw error;
    } finally {
      draw();
    }
  };
  const again = () => load().catch(() => {});
  const tell = (words) => { notice = words; };
  const end = await follow(load, ({ name }) => name === 'referral', (is) => {
    isLive = is;
    draw();
  });
  return () => {
    gone.abort();
    end();
  };
}

function drawArrivals({ isAgain, title, known, isLive, notice, cards }) {
  const since = isLive ? say('arrivals.live') : isLive === false ? say('arrivals.not_live', { time: clock(known.at || Date.now()) }) : '';
  show({
    title: say('arrivals.title'),
    tab: 'arrivals',
    isAgain,
    lead: [el('span.who', {}, title), el('span.since', {}, since)],
    content: [
      notice ? el('p.box.first', { role: 'alert' }, notice) : null,
      cards.length ? el('ul.list', {}, cards.map((card) => el('li', {}, card))) : known.at ? el('p', {}, say('arrivals.none')) : null,
    ],
  });
}

function arrival(one, { place, nameOfPlace, again, draw, tell }) {
  const answer = (word, reason) => async () => {
    tell('');
    try {
      await api.report(place, { reply: { code: one.code, answer: word, ...(reason && { reason }) } }, growingId(), one.version);
    } catch (error) {
      tell(error instanceof Refused && error.status === 412 ? say('arrivals.overtaken') : error.message || say('sign_in.no_connection'));
    }
    document.querySelectorAll('details.why[open]').forEach((open) => { open.open = false; });
    await again();
  };
  const step = (word) => async () => {
    await post('', `/v1/referrals/${one.code}/events`, { id: growingId(), step: word, occurred_at: toInstant(Date.now()), recorded_at: toInstant(Date.now()), recorded_late: true, ...(word === 'arrived' && { place }) });
    setTimeout(again, 300);
  };
  const times = one.expected ? say('arrivals.time', { typical: clock(one.expected.typical), allow: clock(one.expected.allow) }) : say('arrivals.no_time');
  const isHere = ['arrived', 'received'].includes(one.state);
  const said = { accepted: 'arrivals.said_yes', declined: 'arrivals.said_no' }[one.reply];
  return el(
    'article.box.first',
    { 'aria-label': one.code },
    el('p.place', {}, isHere ? nameOf('state', one.state) : times),
    el('p', {}, say('arrivals.from', { name: nameOfPlace(one.sender) }), ` · ${one.code} · ${nameOf('state', one.state)}`),
    one.suspected.length ? el('p', {}, say('arrivals.found', { text: one.suspected.join('; ') })) : null,
    el('h2', {}, say('arrivals.prepare')),
    el('ul', {}, one.needs.map((need) => el('li', {}, needWords(need)))),
    one.treatments?.length ? [el('h2', {}, say('arrivals.given')), el('ul', {}, one.treatments.map(({ action, at, text }) => el('li', {}, at ? `${clock(at)} · ` : '', text ?? action)))] : null,
    said ? el('p.strong', {}, say(said)) : null,
    one.reply === 'accepted' || isHere
      ? null
      : button(say('arrivals.yes'), answer('accepted'), { kind: 'main', attributes: { 'data-key': `yes ${one.code}` } }),
    isHere ? null : el('details.why', { ontoggle: ({ target }) => target.open || draw() }, el('summary', { 'data-key': `no ${one.code}` }, say('arrivals.no')), el('p', {}, say('arrivals.why')), el('div.row', {}, ['no_surgeon', 'no_blood', 'no_bed', 'no_staff', 'no_power', 'other'].map((reason) => button(say(`reason.${reason}`), answer('declined', reason))))),
    one.state === 'arrived' ? button(say('arrivals.received'), step('received'), { attributes: { 'data-key': `received ${one.code}` } }) : isHere ? null : button(say('arrivals.arrived'), step('arrived'), { attributes: { 'data-key': `arrived ${one.code}` } }),
  );
}

/** What she needs, and by when. */
export function needWords({ any_of: any, deadline }) {
  const care = careNames(any);
  return deadline ? say('arrivals.by', { care, time: clock(deadline) }) : care;
}

/** What this place can give, told in two taps: what has changed, and how it is. */
export async function ready() {
  const place = await kept('place');
  const gone = new AbortController();
  let open = '';
  let notice = '';
  let isShown = false;
  const load = async () => {
    const told = await api.readiness(place).catch(() => null);
    const about = told?.readiness ?? (await api.facilities()).value.facilities.find(({ id }) => id === place).capabilities.map((capability) => ({ capability, state: 'unconfirmed', reasons: [] }));
    await released();
    if (!gone.signal.aborted) draw(about);
  };
  const tell = (about, state) => async () => {
    await post('', `/v1/facilities/${place}/readiness`, { reports: [{ about, state, at: toInstant(Date.now()) }] });
    notice = say('ready.said', { what: `${about === 'whole_facility' ? say('ready.whole') : nameOf('capability', about)}: ${say(state === 'ready' ? 'ready.is_ready' : 'ready.is_not')}` });
    open = '';
    setTimeout(load, 300);
  };
  const row = (id, name, state, reasons, all) =>
    el(
      'li',
      {},
      button(`${name}: ${state}`, () => {
        open = open === id ? '' : id;
        draw(all);
      }, { attributes: { 'aria-expanded': String(open === id), 'data-key': `about ${id}` }, kind: 'wide' }),
      reasons.length ? el('p.small', {}, reasons.join('; ')) : null,
      open === id ? el('div.row', {}, button(say('ready.is_ready'), tell(id, 'ready'), { kind: 'main', attributes: { 'data-key': `ready ${id}` } }), button(say('ready.is_not'), tell(id, 'not_ready'), { kind: 'main', attributes: { 'data-key': `not_ready ${id}` } })) : null,
    );
  const draw = (all) => {
    show({
      title: say('ready.title'),
      tab: 'ready',
      isAgain: isShown,
      content: [
        notice ? el('p.box', { role: 'status' }, notice) : null,
        el('p', {}, say('ready.how')),
        el('ul.list', {}, row('whole_facility', say('ready.whole'), say('ready.how_is_it'), [], all), all.map(({ capability, state, ready_at: when, reasons }) => row(capability, nameOf('capability', capability), stateWords(state, when), reasons, all))),
      ],
    });
    isShown = true;
  };
  const end = await follow(load, ({ name, data }) => name === 'readiness' && data.facility === place);
  return () => {
    gone.abort();
    end();
  };
}

function stateWords(state, when) {
  if (state === 'ready') return say('ready.is_ready');
  if (state === 'ready_by') return say('ready.by', { time: clock(when) });
  return say(state === 'not_ready' ? 'ready.is_not' : 'ready.unconfirmed');
}
