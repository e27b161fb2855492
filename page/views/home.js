/** The first screen: the moments that cannot wait, in one or two taps. */
import { urgentSigns } from '../case.js';
import { button, el } from '../dom.js';
import { dismiss } from '../outbox.js';
import { all, kept } from '../store.js';
import { say } from '../texts.js';
import { clock } from '../time.js';
import * as women from '../women.js';
import { show } from './frame.js';

export async function home() {
  const [open, entries, name] = [await women.open(), await all('outbox'), await kept('place_name')];
  const start = (sign) => async () => {
    const one = await women.begin(sign);
    // Whether the baby is born decides what stops the bleeding.
    location.hash = sign === 'bleeding' ? `#/case/${one.id}/status` : sign ? `#/case/${one.id}` : `#/case/${one.id}/ask`;
  };
  show({
    title: say('home.title'),
    tab: 'women',
    lead: [el('span.who', {}, name ?? 'Waybourne'), el('span.since', {}, say('home.trial'))],
    content: [
      el('div.stack', {}, Object.keys(urgentSigns).map((sign) => button(say(`urgent.${sign}`), start(sign), { kind: 'large' }))),
      button(say('home.step_by_step'), start(''), { kind: 'main large' }),
      open.length ? el('h2', {}, say('home.open', { count: open.length })) : null,
      open.length ? el('ul.list', {}, open.map(woman)) : null,
      unsent(entries),
    ],
  });
}

function woman(one) {
  const found = one.answer?.value.assessment.suspected[0]?.text;
  return el(
    'li',
    {},
    el('a.button.large', { href: `#/case/${one.id}` }, el('span', {}, say('case.woman', { letter: one.letter }), ' · ', say('case.since', { time: clock(one.began) }), found ? el('span.small', {}, ` ${found}`) : null)),
  );
}

/** What still has to be sent, and what the server did not take. */
export function unsent(entries) {
  const waits = entries.filter(({ state }) => state === 'waiting').length;
  const no = entries.filter(({ state }) => state === 'refused');
  if (!waits && !no.length) return null;
  return el(
    'div.box',
    {},
    waits ? el('p', {}, say('outbox.waiting', { count: waits })) : null,
    no.map((entry) => el('p', {}, say('outbox.refused', { why: entry.detail }), ' ', button(say('outbox.dismiss'), async () => { await dismiss(entry.id); await home(); }, { kind: 'plain' }))),
  );
}
