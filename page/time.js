/**
 * Times as the clocks on the wall of this place show them, and spans in words. What is due is always
 * worked out from the clock, never counted in ticks, so that a phone that slept is right when it wakes.
 */
import { language, say } from './texts.js';

let zone;

/** @param {string|undefined} name of the IANA database; unknown ones leave the phone's own zone */
export function useTimeZone(name) {
  try {
    new Intl.DateTimeFormat('en', { timeZone: name });
    zone = name;
  } catch {
    zone = undefined;
  }
}

/** RFC 3339 in UTC, whole seconds, as the server writes it. */
export function toInstant(ms) {
  return `${new Date(Math.floor(ms / 1000) * 1000).toISOString().slice(0, 19)}Z`;
}

/** @param {string|number} instant */
const asMs = (instant) => (typeof instant === 'number' ? instant : Date.parse(instant));

const dayOf = (ms) => new Intl.DateTimeFormat('en-CA', { timeZone: zone, dateStyle: 'short' }).format(ms);

/** `14:05`; with the day when that is not today. */
export function clock(instant, now = Date.now()) {
  const ms = asMs(instant);
  const time = new Intl.DateTimeFormat(language(), { timeZone: zone, hour: '2-digit', minute: '2-digit', hourCycle: 'h23' }).format(ms);
  if (dayOf(ms) === dayOf(now)) return time;
  const day = new Intl.DateTimeFormat(language(), { timeZone: zone, weekday: 'short', day: 'numeric', month: 'short' }).format(ms);
  return `${day} ${time}`;
}

/** `1 hour 5 minutes`, rounded up to whole minutes. */
export function span(ms) {
  const minutes = Math.max(0, Math.ceil(ms / 60000));
  const hours = Math.floor(minutes / 60);
  const rest = minutes % 60;
  const parts = [];
  if (hours) parts.push(say('time.hours', { count: hours }));
  if (rest || !hours) parts.push(say('time.minutes', { count: rest }));
  return parts.join(' ');
}

/** `12:34` to go: minutes and seconds; `0:00` once it is over. */
export function countdown(until, now = Date.now()) {
  const seconds = Math.max(0, Math.ceil((asMs(until) - now) / 1000));
  return `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, '0')}`;
}

/** Metres as kilometres. */
export function kilometres(metres) {
  const km = metres / 1000;
  return say('time.kilometres', { value: new Intl.NumberFormat(language(), { maximumFractionDigits: km < 10 ? 1 : 0 }).format(km) });
}
