/**
 * The women that this phone is looking after, and what happens to them: each change is on the disk
 * before the screen shows it. Steps of one woman follow one another, so that an answer that comes late
 * never writes over a newer finding, and never reaches another woman.
 */
import * as api from './api.js';
import * as cases from './case.js';
import { growingId, post } from './outbox.js';
import { all, get, kept, put, remove } from './store.js';
import { language } from './texts.js';
import { toInstant } from './time.js';

const turns = new Map();

/** @returns {Promise<cases.Case[]>} those who are looked after, the longest first */
export async function open() {
  return (await all('cases')).filter((one) => !one.closed).sort((a, b) => a.began - b.began);
}
export const find = (id) => get('cases', id);

/** Changes one woman's record after everything before has been written. */
export function change(id, how) {
  const turn = (turns.get(id) ?? Promise.resolve()).catch(() => {}).then(async () => {
    const before = await get('cases', id);
    if (!before) return undefined;
    const after = await how(before);
    if (after && after !== before) await put('cases', after);
    return after ?? before;
  });
  turns.set(id, turn);
  return turn;
}

/** @returns {Promise<cases.Case>} */
export async function begin(sign = '') {
  const made = cases.newCase(crypto.randomUUID(), cases.freeLetter(await open()), Date.now(), sign);
  await put('cases', made);
  return made;
}

/** What this clinic is and can do: the settings that every request rests on. */
export async function here() {
  return {
    place: await kept('place'),
    available: (await kept('available')) ?? [],
    means: (await kept('means')) ?? 'car',
    ready_in: (await kept('ready_in')) ?? null,
    can_phone: (await kept('can_phone')) ?? true,
  };
}

/** What an answer rests on: it is asked again when any of this has changed, or the language. */
const basis = (one) => JSON.stringify([language(), one.findings, one.readings, one.calls, one.now_at, one.referral?.departed ?? null]);

/**
 * Asks for the answer to what is known of her. An answer to what was known before is not taken over.
 * @throws as api.recommend, and then her record is as it was
 */
export async function askAgain(id) {
  const one = await find(id);
  const request = cases.requestOf(one, await here());
  const answered = await api.recommend(request);
  return change(id, (now) => (basis(now) === basis(one) ? { ...cases.withRecommendation(now, answered, Date.now()), basis: basis(now) } : now));
}

/** Whether the answer on the screen is older than what is known. */
export const isBehind = (one) => !one.answer || one.basis !== basis(one);

const event = (step, at, more = {}) => ({ id: growingId(), step, occurred_at: toInstant(at), recorded_at: toInstant(Math.max(at, Date.now())), recorded_late: true, ...more });

const eventsPath = (code) => `/v1/referrals/${code}/events`;

/** Tells the server that something happened to her, never before her referral began; kept until it can be told. */
export const tell = (one, step, more = {}, at = Math.max(Date.now(), one.referral.opened)) => post(one.id, eventsPath(one.referral.code), event(step, at, more));

/**
 * Sends her to a place: opens the referral, or takes it on to another place.
 * @param {string} [over] the best place, where another one is chosen knowingly
 */
export async function send(id, facility, over) {
  const place = await here();
  return change(id, async (before) => {
    const isChosen = over && over !== facility;
    const one = { ...before, chosen: isChosen ? { to: facility, over } : before.chosen?.to === facility && !over ? before.chosen : undefined };
    // The answer may carry the server's time: a phone whose clock is behind must not tell of a referral
    // opened before it was asked for.
    const now = Math.max(Date.now(), one.from_when ?? 0);
    if (one.referral?.to === facility) return one;
    if (one.referral) {
      await post(id, eventsPath(one.referral.code), event('diverted', now, { place: facility }));
      return { ...one, referral: { ...one.referral, to: facility } };
    }
    const code = cases.referralCode([...crypto.getRandomValues(new Uint8Array(56))].filter((byte) => byte < 253));
    await post(id, '/v1/referrals', {
      request: cases.requestOf(one, place), sender: place.place, to: facility, channel: 'page', code,
      opened_at: toInstant(now), recorded_late: true, persons: [{ person: 'mother' }],
    });
    return { ...one, referral: { code, to: facility, opened: now, departed: null } };
  });
}

/** What the place said on the telephone. A yes sends her; the rest gives the next place. */
export async function called(id, facility, answer) {
  let one = await change(id, (before) => cases.withCall(before, facility, answer, Date.now()));
  if (answer === 'accepted') {
    one = await send(id, facility);
    await tell(one, 'informed', { place: facility });
    await tell(one, 'accepted', { place: facility });
  } else if (one.referral?.to === facility) {
    await tell(one, answer === 'refused' ? 'declined' : 'unanswered', { place: facility });
  }
  return one;
}

/** She has left. */
export async function departed(id) {
  const one = await change(id, (before) => ({ ...before, referral: { ...before.referral, departed: Math.max(Date.now(), before.referral.opened) } }));
  await tell(one, 'departed', {}, one.referral.departed);
  return one;
}

/** She or her family says no: care goes on here, and it is asked again. */
export async function refused(id, again) {
  const one = await change(id, (before) => ({ ...before, refusal: { at: Date.now(), ask_again: again } }));
  if (one.referral) await tell(one, 'refused', { ask_again_at: toInstant(again) });
  return one;
}
export async function agreed(id) {
  const one = await change(id, (before) => ({ ...before, refusal: null }));
  if (one.referral) await tell(one, 'agreed');
  return one;
}

/** Her record goes from the phone; what must still be sent stays until it is sent. */
export const putAway = (id) => remove('cases', id);
