/** One referral, opened from the code on a printed note: how it stands, when she comes, what happened. */
import * as api from '../api.js';
import { el, linkButton } from '../dom.js';
import { follow, Refused, session } from '../server.js';
import { nameOf, say } from '../texts.js';
import { clock } from '../time.js';
import { show, trouble } from './frame.js';

/**
 * Shown anew whenever somebody tells something of her.
 * @param {string} code as it stands in the address
 * @returns {Promise<() => void>} ends the following
 */
export async function referral(code) {
  const gone = new AbortController();
  const load = async () => {
    let content;
    try {
      content = await told(await api.referral(code));
    } catch (error) {
      if (!(error instanceof Refused)) throw error;
      content = [trouble(error.status === 404 ? say('referral.not_found', { code }) : error.message)];
    }
    if (!gone.signal.aborted) show({ title: say('referral.title', { code }), back: '#/', content });
  };
  await load();
  const end = follow(({ name, data }) => name === 'referral' && data.code === code && load(), () => {});
  return () => {
    gone.abort();
    end();
  };
}

async function told(one) {
  const names = new Map((await api.facilities()).value.facilities.map(({ id, name }) => [id, name]));
  const name = (id) => names.get(id) ?? id ?? '–';
  const isTheirs = (await session())?.role !== 'driver';
  return [
    el('p.place', {}, nameOf('state', one.state)),
    el('p', {}, say('arrivals.from', { name: name(one.sender) }), ' · ', say('referral.to', { name: name(one.at ?? one.asked) })),
    el('p', {}, one.expected ? say('arrivals.time', { typical: clock(one.expected.typical), allow: clock(one.expected.allow) }) : say('arrivals.no_time')),
    one.needs?.length ? el('section', {}, el('h2', {}, say('arrivals.prepare')), el('ul', {}, one.needs.map(need))) : null,
    el('h2', {}, say('referral.history')),
    el('ol.list', {}, one.history.map((event) => el('li', {}, `${clock(event.occurred_at)} ${nameOf('state', event.step)}`, event.place ? ` · ${name(event.place)}` : ''))),
    isTheirs ? linkButton(say('tab.arrivals'), '#/arrivals') : null,
  ];
}

function need({ any_of: any, deadline }) {
  const care = any.map((id) => nameOf('capability', id)).join(` ${say('or')} `);
  return el('li', {}, deadline ? say('arrivals.by', { care, time: clock(deadline) }) : care);
}
