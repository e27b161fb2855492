// Makes opening_hours.json: what the npm package opening_hours (LGPL-3.0), the reference evaluation
// of OpenStreetMap's opening_hours, answers for expressions × instants × time zones.
//
//   npm install opening_hours@3.15.0 && node make_opening_hours.mjs > opening_hours.json
//
// The package reads the machine's local time, so each zone is set as TZ before it is asked.
import {readFileSync} from 'node:fs';
import {createRequire} from 'node:module';
import opening_hours from 'opening_hours';

const version = JSON.parse(readFileSync(
    createRequire(import.meta.url).resolve('opening_hours').replace(/build.*/, 'package.json'))).version;
const berlin = {lat: 52.5, lon: 13.4, address: {country_code: 'de', state: 'Berlin'}};

const expressions = [
  '24/7', 'Mo-Fr 08:00-17:00', 'Mo-Fr 07:00-19:00; Sa 08:00-12:00', '08:00-17:00',
  'Mo-Fr 08:00-12:00,13:00-17:00', 'Mo-Su 19:00-07:00', 'Fr-Mo 22:00-06:00', 'Mo-Fr 22:00-30:00',
  'Mo-Fr 08:00-08:00', 'Mo-Fr 00:00-24:00', 'Sa,Su 00:00-24:00', 'Mo-Fr 00:00-48:00',
  'Mo-Fr 08:00-17:00, We 18:00-20:00', 'Mo-Fr 08:00-17:00; We 18:00-20:00',
  'Mo-Fr 08:00-17:00; We off', 'Mo-Su 22:00-02:00; We off', 'Mo-Su 22:00-02:00; We 10:00-12:00',
  'Mo-Su 20:00-06:00; We 22:00-26:00', 'Mo-Su 20:00-06:00; We 23:00-01:00 off',
  '24/7; 12:00-13:00 off', 'Mo-Fr 08:00-17:00; PH off', 'Mo-Fr 08:00-17:00; PH 10:00-12:00',
  'Mo-Fr,PH 08:00-17:00', '24/7; Su,PH off', 'Mo-Fr 22:00-06:00; PH off',
  'PH off; Mo-Fr 08:00-17:00', '24/7; Dec 25 off', '24/7; Dec 24-Jan 2 off',
  '24/7; 2026 Dec 24-2027 Jan 2 off', 'Mo-Fr 08:00-17:00; 2026 Dec 25 off',
  'Mo-Fr 22:00-06:00; 2026 Mar 4 off', 'Nov-Feb 08:00-17:00; Mar-Oct 06:00-20:00',
  'Mar-Apr Mo-Fr 09:00-12:00', '2026 Mar 9 09:00-12:00', '24/7; Feb 29 off', '24/7; 2026 Dec off',
  'Dec 25-26 10:00-11:00; Mar 29 00:00-05:00', 'Mo-Su 02:00-03:00', 'Mo-Su 01:30-02:30',
  'Su 00:30-02:15, Su 02:45-04:00', 'Mo-Su 23:30-00:30', 'Su 02:30-10:00; Oct 25 off',
  '10:00-12:00, 14:00-16:00', 'Mo 22:00-26:00; Tu 00:00-01:00 off',
];

// Europe: clocks forward 2026-03-29 01:00 UTC, back 2026-10-25 01:00 UTC. New York: 2026-03-08
// 07:00 UTC and 2026-11-01 06:00 UTC. Lord Howe moves by half an hour: 2026-04-04 15:00 UTC and
// 2026-10-03 15:30 UTC. Blantyre and Kathmandu (+05:45) never move.
const moments = {
  'Africa/Blantyre': ['2026-03-03T05:59:00Z', '2026-03-03T06:00:00Z', '2026-03-04T09:40:00Z',
    '2026-03-07T23:15:00Z', '2026-12-24T22:00:00Z', '2026-12-25T08:30:00Z', '2028-02-28T22:00:00Z'],
  'Europe/Berlin': ['2026-03-29T00:15:00Z', '2026-03-29T00:59:00Z', '2026-03-29T01:00:00Z',
    '2026-03-29T01:30:00Z', '2026-10-24T23:45:00Z', '2026-10-25T00:15:00Z', '2026-10-25T01:15:00Z',
    '2026-10-25T02:10:00Z', '2026-05-01T04:30:00Z', '2026-05-01T21:30:00Z', '2026-10-03T08:30:00Z',
    '2027-01-02T22:59:00Z'],
  'America/New_York': ['2026-03-08T06:30:00Z', '2026-03-08T07:10:00Z', '2026-11-01T05:30:00Z',
    '2026-11-01T06:30:00Z', '2026-03-04T03:00:00Z', '2026-03-04T05:30:00Z'],
  'Australia/Lord_Howe': ['2026-04-04T14:40:00Z', '2026-04-04T15:10:00Z', '2026-10-03T15:20:00Z',
    '2026-10-03T15:40:00Z', '2026-12-25T13:00:00Z'],
  'Asia/Kathmandu': ['2026-03-03T18:14:00Z', '2026-03-03T18:15:00Z', '2026-03-06T17:45:00Z'],
};

const iso = (date) => date ? date.toISOString().replace('.000Z', 'Z') : null;
const rows = [];
for (const [zone, instants] of Object.entries(moments)) {
  process.env.TZ = zone;
  for (const hours of expressions) {
    const known = new opening_hours(hours, berlin, 0);
    for (const at of instants) {
      const date = new Date(at);
      rows.push({name: `${hours} in ${zone} at ${at}`, hours, zone, at, open: known.getState(date)});
    }
  }
}

// The days that the package itself takes for public holidays.
process.env.TZ = 'Etc/UTC';
const ph = new opening_hours('PH 00:00-24:00', berlin, 0);
const holidays = [];
for (let day = Date.UTC(2026, 0, 1); day < Date.UTC(2029, 0, 1); day += 86400000) {
  if (ph.getState(new Date(day + 43200000))) holidays.push(iso(new Date(day)).slice(0, 10));
}
// When it opens next, in a zone without changes of the clock, where the package's stepping is plain.
process.env.TZ = 'Africa/Blantyre';
const next = [];
for (const hours of expressions) {
  const known = new opening_hours(hours, berlin, 0);
  for (const at of moments['Africa/Blantyre']) {
    const date = new Date(at);
    const open = known.getState(date);
    const change = open ? null : known.getNextChange(date);
    const opens = open ? at : change && change - date < 399 * 86400000 ? iso(change) : null;
    next.push({name: `${hours} from ${at}`, hours, zone: 'Africa/Blantyre', at, opens});
  }
}
console.log(JSON.stringify({
  source: `npm package opening_hours ${version} (github.com/opening-hours/opening_hours.js)`,
  retrieved: '2026-11-25', licence: 'LGPL-3.0-only (the package); the table is its output',
  holidays, rows, next}, null, 0).replaceAll('{"name"', '\n{"name"'));
