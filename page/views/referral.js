/**
 * A referral by its code, as the link on a printed note opens it (`#/referral/CODE`). The code says nothing
 * about her; what the server shows for it depends on who is signed in.
 */
import * as api from '../api.js';
import { el, linkButton } from '../dom.js';
import { released } from '../press.js';
import { follow, Offline, Refused, session } from '../server.js';
import { kept } from '../store.js';
import { nameOf, say } from '../texts.js';
import { clock } from '../time.js';
import * as women from '../women.js';
import { needWords } from './facility.js';
import { show, showAgain, trouble } from './frame.js';

const isCode = (text) => /^[2-9A-Z]{8}$/.test(text);

/**
 * Shown anew whenever somebody tells something of her.
 * @param {string} written as it stands in the address
 * @returns {Promise<(() => void)|undefined>} ends the following
 */
export async function referral(written) {
  const code = written.toUpperCase().replaceAll('-', '');
  const own = (await women.open()).find((one) => one.referral?.code === code);
  // Whoever sent her has more about her on this phone than the server shows.
  if (own) return void location.replace(`#/case/${own.id}`);
  const title = say('referral.title', { code: isCode(code) ? code : '' });
  if (!isCode(code)) return void show({ title, back: '#/', content: [trouble(say('referral.no_code'))] });
  const gone = new AbortController();
  /** What the server said last, and when: it stays while there is no connection. */
  let known = null;
  let isShown = false;
  const load = async () => {
    const content = await found(code);
    const at = Date.now();
    await released();
    if (gone.signal.aborted) return;
    known = content ? { content, at } : known;
    const notice = content || !known ? null : el('p.bar.strong', { role: 'status' }, say('arrivals.not_live', { time: clock(known.at) }));
    show({ title, back: '#/', content: known?.content ?? [trouble(say('referral.offline'), showAgain)], notice, isAgain: isShown });
    isShown = true;
  };
  const end = await follow(load, ({ name, data }) => name === 'referral' && data.code === code);
  return () => {
    gone.abort();
    end();
  };
}

/** What there is to show; nothing without a connection. */
async function found(code) {
  try {
    const one = await api.referral(code);
    return await about(one, await api.placeNames());
  } catch (error) {
    if (error instanceof Offline) return null;
    if (!(error instanceof Refused)) throw error;
    return [trouble([403, 404].includes(error.status) ? say('referral.not_found', { code }) : error.message, showAgain)];
  }
}

async function about(one, nameOfPlace) {
  const coming = one.expected && !['arrived', 'received', 'closed'].includes(one.state);
  return [
    one.practice ? el('p.strong', {}, say('referral.practice')) : null,
    el(
      'section.box.first',
      {},
      el('p.place', {}, nameOf('course', one.state)),
      el('p', {}, say('arrivals.from', { name: nameOfPlace(one.sender) })),
      one.at ?? one.asked ? el('p', {}, say('referral.to', { name: nameOfPlace(one.at ?? one.asked) })) : null,
      coming ? el('p', {}, say('arrivals.time', { typical: clock(one.expected.typical), allow: clock(one.expected.allow) })) : null,
    ),
    one.is_open && (await isAskedHere(one)) ? linkButton(say('arrivals.title'), '#/arrivals', { kind: 'main' }) : null,
    one.suspected.length ? el('p', {}, say('arrivals.found', { text: one.suspected.join('; ') })) : null,
    one.needs.length ? el('section.box', {}, el('h2', {}, say('more.needs')), el('ul', {}, one.needs.map((need) => el('li', {}, needWords(need))))) : null,
    one.history.length ? el('section.box', {}, el('h2', {}, say('referral.history')), el('ol.plain', {}, one.history.map((event) => step(event, nameOfPlace)))) : null,
  ];
}

async function isAskedHere({ asked }) {
  const own = (await session())?.facilities ?? [];
  return asked !== null && (asked === (await kept('place')) || own.includes(asked));
}

function step({ step: name, occurred_at: at, place, reason }, nameOfPlace) {
  const more = [place ? nameOfPlace(place) : '', reason ? nameOf('reason', reason) : ''].filter(Boolean).join('; ');
  return el('li', {}, `${clock(at)}: ${nameOf('course', name)}`, more ? ` (${more})` : '');
}
