/** The smaller views of one woman: a no, where she is now, putting her record away. */
import { facilities } from '../api.js';
import { button, el } from '../dom.js';
import { waiting } from '../outbox.js';
import { say } from '../texts.js';
import { clock, countdown } from '../time.js';
import * as women from '../women.js';
import { sentences } from './answer.js';
import { everySecond, showAgain, showCase } from './frame.js';

const back = (one) => { location.hash = `#/case/${one.id}`; };

/** She or her family says no: care here, and a time to ask again. */
export function no(one) {
  const assessment = one.answer?.value.assessment;
  const care = assessment ? assessment.do_now.flatMap(({ text }) => sentences(text)) : [];
  const until = (minutes) => async () => {
    await women.refused(one.id, Date.now() + minutes * 60000);
    showAgain();
  };
  const left = el('p.clock.strong');
  if (one.refusal) setTimeout(() => everySecond((now) => { left.textContent = one.refusal.ask_again <= now ? say('no.ask_now') : say('no.ask_at', { time: clock(one.refusal.ask_again), left: countdown(one.refusal.ask_again, now) }); }));
  return showCase(one, {
    title: say('no.title'),
    back: `#/case/${one.id}`,
    content: [
      el('h2', {}, say('no.title')),
      el('p', {}, say('caution.long.6')),
      one.refusal ? left : null,
      one.refusal ? button(say('no.agreed'), async () => { await women.agreed(one.id); back(one); }, { kind: 'main' }) : null,
      el('h2', {}, say('no.when')),
      el('div.row', {}, [15, 30, 60].map((minutes) => button(say('time.minutes', { count: minutes }), until(minutes)))),
      assessment?.earliest_deadline ? el('p', {}, say('no.limit', { time: clock(assessment.earliest_deadline) })) : null,
      el('section.box.first', {}, el('h2', {}, say('no.care_here')), care.length ? el('ol.steps', {}, care.map((text) => el('li', {}, text))) : el('p', {}, say('no.care_watch'))),
      el('p.small', {}, say('no.stays_open')),
      assessment ? el('p.small', {}, assessment.cautions.join(' ')) : null,
    ],
  });
}

/** Where she is now, when not at this clinic: the answer is asked from there. */
export async function elsewhere(one) {
  const list = (await facilities()).value.facilities;
  const be = (place) => async () => {
    await women.change(one.id, (now) => ({ ...now, now_at: place }));
    back(one);
  };
  const trouble = el('p', { role: 'alert' });
  const position = () => new Promise((resolve) => {
    navigator.geolocation.getCurrentPosition(
      async ({ coords }) => {
        await be({ place: { latitude: Number(coords.latitude.toFixed(5)), longitude: Number(coords.longitude.toFixed(5)) }, name: say('elsewhere.position') })();
        resolve();
      },
      () => { trouble.textContent = say('elsewhere.no_position'); resolve(); },
      { enableHighAccuracy: true, timeout: 15000, maximumAge: 60000 },
    );
  });
  return showCase(one, {
    title: say('elsewhere.title'),
    back: `#/case/${one.id}`,
    content: [
      el('h2', {}, say('elsewhere.title')),
      one.now_at ? el('p', {}, say('elsewhere.now', { name: one.now_at.name })) : null,
      el('div.stack', {}, button(say('elsewhere.here'), be(null), { kind: 'large' }), 'geolocation' in navigator ? button(say('elsewhere.use_position'), position, { kind: 'large' }) : null, trouble),
      el('h2', {}, say('elsewhere.near')),
      el('div.stack', {}, list.map((place) => button(place.name, be({ place: { facility: place.id }, name: place.name }), { kind: 'large' }))),
    ],
  });
}

/** Her record leaves the phone, once everything has been sent. */
export async function away(one) {
  const unsent = (await waiting()).filter((entry) => entry.case_id === one.id).length;
  return showCase(one, {
    title: say('away.title'),
    back: `#/case/${one.id}`,
    content: [
      el('h2', {}, say('away.title')),
      el('p', {}, say(one.referral ? 'away.sent' : 'away.not_sent')),
      unsent ? el('p.strong', {}, say('outbox.waiting', { count: unsent })) : null,
      button(say('away.yes', { letter: one.letter }), async () => { await women.putAway(one.id); location.hash = '#/'; }, { kind: 'main' }),
    ],
  });
}
