/** Starts the page, and shows the view that the address names. Addresses hold nothing about a woman. */
import * as api from './api.js';
import { urgentSigns } from './case.js';
import { flush, onOutbox } from './outbox.js';
import { released } from './press.js';
import { Offline, SignedOut, session } from './server.js';
import { keep, kept } from './store.js';
import { language, preferredLanguage, say, useLanguage } from './texts.js';
import { useTimeZone } from './time.js';
import * as women from './women.js';
import { answer, actions } from './views/answer.js';
import { ask, reading, status } from './views/ask.js';
import { show, trouble, useTabs } from './views/frame.js';
import { home } from './views/home.js';

/** Views that are not needed in the first minute come when they are called for. */
const later = {
  others: () => import('./views/others.js'),
  family: () => import('./views/family.js'),
  facility: () => import('./views/facility.js'),
  dispatch: () => import('./views/dispatch.js'),
  intake: () => import('./views/intake.js'),
  map: () => import('./views/map.js'),
  planning: () => import('./views/planning.js'),
  referral: () => import('./views/referral.js'),
  setup: () => import('./views/setup.js'),
  shift: () => import('./views/shift.js'),
};

const ofCase = {
  '': answer,
  actions,
  ask: (one) => ask(one),
  reading: (one) => reading(one),
  status,
  family: async (one) => (await later.family()).family(one),
  no: async (one) => (await later.others()).no(one),
  where: async (one) => (await later.others()).elsewhere(one),
  away: async (one) => (await later.others()).away(one),
  way: async (one) => (await later.map()).way(one),
};

const views = {
  '': home,
  arrivals: async () => (await later.facility()).arrivals(),
  ready: async () => (await later.facility()).ready(),
  dispatch: async () => (await later.dispatch()).dispatch(),
  intake: async () => (await later.intake()).intake(),
  map: async () => (await later.map()).map(),
  planning: async () => (await later.planning()).planning(),
  settings: async () => (await later.setup()).settingsView(),
  place: async () => (await later.setup()).placeView(),
  here: async () => (await later.setup()).hereView(),
};

function tabsFor(role) {
  const list = [
    { id: 'women', href: '#/', roles: ['open', 'health_worker', 'dispatcher', 'administrator'] },
    { id: 'arrivals', href: '#/arrivals', roles: ['open', 'facility', 'health_worker', 'dispatcher'] },
    { id: 'dispatch', href: '#/dispatch', roles: ['open', 'dispatcher'] },
    { id: 'ready', href: '#/ready', roles: ['open', 'facility', 'health_worker'] },
    { id: 'planning', href: '#/planning', roles: ['open', 'planner'] },
    { id: 'map', href: '#/map', roles: [role] },
    { id: 'settings', href: '#/settings', roles: [role] },
  ];
  return list.filter(({ roles }) => roles.includes(role));
}

let leave = () => {};

async function route() {
  leave();
  leave = () => {};
  const [name = '', id = '', view = ''] = location.hash.replace(/^#\/?/, '').split('/');
  try {
    if (!(await (await later.setup()).isSignedIn())) return (await later.setup()).signInView();
    const { role } = await session();
    useTabs(tabsFor(role));
    // Who comes from the code on a paper note sees that referral, whatever else is still to be set up.
    if (name === 'referral' && id) return (leave = (await (await later.referral()).referral(id)) ?? leave);
    // Neither a planner nor a district's desk stands at a place of care: everybody else's questions begin at one.
    if (name === 'planning' || (name === '' && role === 'planner')) return (leave = (await views.planning()) ?? leave);
    if (name === 'shift') return (leave = await (await later.shift()).shiftOrTrouble(id));
    if (name === 'intake') return (leave = await views.intake());
    if (name === 'dispatch' || (name === '' && role === 'dispatcher')) return (leave = (await views.dispatch()) ?? leave);
    if (role !== 'planner' && !(await kept('place')) && name !== 'place') return await views.place();
    if (name === '' && role === 'facility') return (leave = (await views.arrivals()) ?? leave);
    if (name === 'case') {
      const one = await women.find(id);
      if (!one) return void (location.hash = '#/');
      return (leave = (await (ofCase[view] ?? answer)(one)) ?? leave);
    }
    return (leave = (await (views[name] ?? home)()) ?? leave);
  } catch (error) {
    if (error instanceof SignedOut) return (await later.setup()).signInView();
    return show({ title: say('trouble.title'), content: [trouble(error instanceof Offline ? say('trouble.offline_first') : error.message, route)] });
  }
}

/** Views come one after the other, so that a slow one never appears over a newer one. */
let turn = Promise.resolve();
function showNext() {
  turn = turn.then(route, route);
  // After the first view stands; whoever signs in later is prepared for then.
  if (hasBegun) turn.then(prepare);
}
let hasBegun = false;

/** The first actions of every sign that cannot wait, kept for the moment when nobody answers. */
async function keepFirstActions() {
  const actionsBySign = {};
  for (const [sign, findings] of Object.entries(urgentSigns)) {
    const { value, by } = await api.assess({ findings });
    if (by !== 'server') return;
    actionsBySign[sign] = { texts: value.do_now.map(({ text }) => text), cautions: value.cautions, at: Date.now() };
  }
  await keep('first_actions', { ...(await kept('first_actions')), [language()]: actionsBySign });
}

/**
 * The service worker. A new release takes over on the first screen only, where nothing is half done; what
 * is known of each woman is on the disk either way.
 */
async function keepPage() {
  const workers = navigator.serviceWorker;
  if (!workers) return;
  const hadOne = Boolean(workers.controller);
  const registration = await workers.register('/worker.js', { updateViaCache: 'none' }).catch(() => undefined);
  if (!registration) return;
  const offer = () => isHome() && registration.waiting?.postMessage('take over');
  let reloading = false;
  workers.addEventListener('controllerchange', () => {
    if (!hadOne || reloading) return;
    reloading = true;
    location.reload();
  });
  registration.addEventListener('updatefound', () => registration.installing?.addEventListener('statechange', offer));
  addEventListener('hashchange', offer);
  addEventListener('visibilitychange', () => document.visibilityState === 'visible' && registration.update().catch(() => {}));
  offer();
}

const isHome = () => /^(#\/)?$/.test(location.hash);

async function start() {
  await useLanguage((await kept('language')) ?? preferredLanguage());
  useTimeZone(await kept('zone'));
  api.phoneComesFrom(async () => (await import('./offline.js')).loadKept());
  addEventListener('hashchange', showNext);
  onOutbox(async () => {
    await released();
    if (isHome() && !document.activeElement?.matches('main button')) showNext();
  });
  showNext();
  await turn;
  hasBegun = true;
  keepPage();
  navigator.storage?.persist?.();
  flush();
  await prepare();
}

let offlineStarts = null;
const prepared = new Set();

/** Puts by what the phone needs without a connection; once for each language, as soon as somebody is signed in. */
async function prepare() {
  if (prepared.has(language()) || !(await session())) return;
  prepared.add(language());
  await Promise.allSettled([api.facilities(), api.protocol()]);
  await keepFirstActions().catch(() => {});
  offlineStarts ??= import('./offline.js').then(({ startOffline }) => startOffline());
  await offlineStarts;
}

start();
