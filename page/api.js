/**
 * The one way in which the page asks anything. Whether the phone's own engine or the server answers is
 * hidden here: the shapes are the same (docs/openapi.yaml). Server first, since it knows the newest
 * reports; the phone when the server cannot be reached in a few seconds.
 */
import { ask, Offline, Refused } from './server.js';
import { keep, kept } from './store.js';
import { language } from './texts.js';

/**
 * @typedef {{value: any, by: 'server'|'phone'|'kept', at: number}} Answered
 * `by`: who answered; `kept`: an answer that was given earlier. `at`: how old what it rests on is,
 * as the moment in milliseconds from which it is known.
 */

/** How long the server may take while the phone could answer itself. */
const patience = 3500;

/** @type {any} the phone's engine (page/core.js), once it has a pack */
let core = null;
export const usePhone = (engine) => { core = engine; };
export const phone = () => core;

/** Loads the engine and the pack that was kept, when the first question finds no server. */
let fetchPhone = async () => {};
export const phoneComesFrom = (load) => { fetchPhone = load; };

const words = () => ({ headers: { 'Accept-Language': language() } });

async function either(path, body, onPhone) {
  try {
    const { value } = await ask('POST', path, body, { ...words(), limit: core ? patience : undefined });
    return { value, by: 'server', at: Date.now() };
  } catch (error) {
    if (error instanceof Refused && error.status < 500) throw error;
    if (!core?.packInfo()) await fetchPhone().catch(() => {});
    if (!core?.packInfo()) throw error instanceof Refused ? new Offline() : error;
    return { value: await onPhone(core), by: 'phone', at: Date.now() - core.packAge() };
  }
}

/** What may be wrong and what she needs. @returns {Promise<Answered>} */
export const assess = (request) => either('/v1/assessments', request, (engine) => engine.assess(request, { language: language() }));

/** Where to send her, and how. @returns {Promise<Answered>} */
export const recommend = (request) => either('/v1/recommendations', request, (engine) => engine.recommend(request, { language: language() }));

/** Kept on the phone: asked anew when there is a connection. */
async function keptOrAsked(name, path, onPhone) {
  try {
    const { value } = await ask('GET', path, undefined, { ...words(), limit: 6000 });
    await keep(name, { value, at: Date.now() });
    return { value, by: 'server', at: Date.now() };
  } catch (error) {
    const before = await kept(name);
    if (before) return { ...before, by: 'kept' };
    if (!core?.packInfo()) await fetchPhone().catch(() => {});
    if (core?.packInfo()) return { value: await onPhone(core), by: 'phone', at: Date.now() - core.packAge() };
    throw error;
  }
}

/** @returns {Promise<Answered>} the places of the district */
export const facilities = () => keptOrAsked('facilities', '/v1/facilities', (engine) => engine.facilities());
/** What each place is called: for one that is not known, its id. @returns {Promise<(id: string|null) => string>} */
export async function placeNames() {
  const { value } = await facilities().catch(() => ({ value: { facilities: [] } }));
  const names = new Map(value.facilities.map(({ id, name }) => [id, name]));
  return (id) => names.get(id) ?? id ?? '–';
}
/** @returns {Promise<Answered>} the protocol with its fields */
export const protocol = () => keptOrAsked(`protocol.${language()}`, '/v1/protocol', (engine) => engine.protocol({ language: language() }));

/** One place's readiness now. */
export const readiness = async (facility) => (await ask('GET', `/v1/facilities/${facility}/readiness`, undefined, words())).value;
/** Who is coming. */
export const arrivals = async (facility) => (await ask('GET', `/v1/facilities/${facility}/arrivals`, undefined, words())).value;
/** The plan for all open referrals. @param {string} [query] as `GET /v1/transport-plans` takes it */
export async function openPlan(query = '') {
  const { value, etag } = await ask('GET', `/v1/transport-plans${query && `?${query}`}`, undefined, words());
  return { value, etag };
}
/** A change that counts once, however often it is sent; `etag`: what it was decided on. */
const once = (etag) => ({ headers: { 'Idempotency-Key': crypto.randomUUID(), ...(etag && { 'If-Match': etag }) } });
/** What a dispatcher decides of it. @param {{referral: string, vehicles: string[]}[]} carried */
export async function acceptTransport(carried, etag) {
  return (await ask('POST', '/v1/transport-plans/accepted', { carried }, once(etag))).value;
}
/** What is open at the end of a shift, and the lists that were signed. */
export async function shiftNow() {
  const { value, etag } = await ask('GET', '/v1/shift-handovers/now', undefined, words());
  return { value, etag };
}
export const shiftHandovers = async () => (await ask('GET', '/v1/shift-handovers')).value;
export async function shiftHandover(id) {
  const { value, etag } = await ask('GET', `/v1/shift-handovers/${id}`, undefined, words());
  return { value, etag };
}
/** The one who leaves signs; the one who comes acknowledges. @param {string} etag of the list as it was read */
export const leaveShift = async (etag) => (await ask('POST', '/v1/shift-handovers', {}, once(etag))).value;
export const takeShift = async (id, etag) => (await ask('POST', `/v1/shift-handovers/${id}/acknowledgement`, {}, once(etag))).value;
/** Places by a name that was heard, spelt as it may be. */
export const namedPlaces = async (name) => (await ask('POST', '/v1/named-places', { name }, words())).value;
/** A case that is opened at once, not from the outbox: whoever telephones waits for the code. */
export const openReferral = async (body) => (await ask('POST', '/v1/referrals', body, once())).value;
/** Vehicles as they are known now, and what somebody says of one. */
export const vehicles = async () => (await ask('GET', '/v1/vehicles', undefined, words())).value;
export async function reportVehicle(id, report) {
  return (await ask('POST', `/v1/vehicles/${id}/reports`, report, once())).value;
}
/** One step of a referral (`version`: as it was seen). */
export async function tellStep(code, event, version) {
  return (await ask('POST', `/v1/referrals/${code}/events`, event, once(`"${version}"`))).value;
}
/** A referral as the server has it. */
export const referral = async (code) => (await ask('GET', `/v1/referrals/${code}`, undefined, words())).value;
/** A facility's reports, and its answer to a referral (`version`: as it was seen). */
export async function report(facility, call, key, version) {
  const headers = { 'Idempotency-Key': key, ...(version && { 'If-Match': `"${version}"` }) };
  return (await ask('POST', `/v1/facilities/${facility}/readiness`, call, { headers })).value;
}
/** What planners ask may be worked out for half a minute, one question after the other. */
const planning = { limit: 60000 };
/** @param {string} what e.g. `access`, `what-ifs` */
export const plan = async (what, question) => (await ask('POST', `/v1/coverage/${what}`, question, planning)).value;
/** The report, as a page of its own. @returns {Promise<string>} */
export const coverageReport = async (question) => (await ask('POST', '/v1/coverage/report', question, { ...planning, ...words() })).text;
export const journeys = async () => (await ask('GET', '/v1/coverage/journeys', undefined, planning)).value;
export const scenarios = async () => (await ask('GET', '/v1/scenarios')).value.scenarios;
export const scenario = async (name) => (await ask('GET', `/v1/scenarios/${name}`)).value;
/** The same question asked again, beside what it said then. */
export const scenarioAgain = async (name) => (await ask('GET', `/v1/scenarios/${name}/replay`, undefined, planning)).value;
export const saveScenario = async (name, question) => (await ask('PUT', `/v1/scenarios/${name}`, question, planning)).value;

/** The drawing of the map: what there is, and one square of it. */
export const mapAbout = () => keptOrAsked('map', '/v1/map', () => { throw new Offline(); });
/** A square that was looked at before is drawn without a connection too. */
export async function mapSquare(zoom, x, y) {
  const path = `/v1/map/${zoom}/${x}/${y}`;
  const squares = await caches.open('map-squares').catch(() => undefined);
  try {
    const { value } = await ask('GET', path);
    await squares?.put(path, new Response(JSON.stringify(value))).catch(() => {});
    return value;
  } catch (error) {
    const before = await squares?.match(path);
    if (before) return before.json();
    throw error;
  }
}
