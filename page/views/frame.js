/** What stands around every view: the bar with who it is about, what is due, the places to go. */
import { measureAgainAt } from '../case.js';
import { button, el } from '../dom.js';
import { say } from '../texts.js';
import { clock } from '../time.js';
import * as women from '../women.js';

const root = () => document.getElementById('page');

/** Each entry: until when, and what to do when the clock gets there. Worked out anew at each look. */
let ticking = [];
setInterval(() => ticking.forEach((tick) => tick(Date.now())), 1000);
document.addEventListener('visibilitychange', () => ticking.forEach((tick) => tick(Date.now())));

/** Calls `tick` now and every second while this view is shown. */
export function everySecond(tick) {
  ticking.push(tick);
  tick(Date.now());
}

/**
 * @param {object} view
 * @param {string} view.title
 * @param {Node|string} [view.lead] what stands in the bar, instead of the title
 * @param {string} [view.back] where the way back leads
 * @param {string} [view.tab]
 * @param {Array<any>} view.content
 * @param {Node} [view.notice] above the content
 * @param {Node} [view.foot] stays at the foot of the screen
 * @param {boolean} [view.hidesTitle] the title is in the bar already
 * @param {boolean} [view.isAgain] drawn anew by itself: whoever reads it keeps the place, on the screen and by key
 * @param {boolean} [view.wide] uses the whole width of a desk's screen
 */
export function show({ title, lead, back, tab, content, hidesTitle = false, notice, foot, isAgain = false, wide = false }) {
  ticking = [];
  // On a tall screen `main` scrolls, on a low one the whole page.
  const before = isAgain ? { page: scrollY, main: document.getElementById('main').scrollTop, focus: document.activeElement } : { page: 0, main: 0, focus: null };
  document.title = `${title} – Waybourne`;
  const main = el('main', { id: 'main', tabindex: '0' }, hidesTitle ? null : el('h1', { tabindex: '-1' }, title), content);
  const bar = el(
    'header.top',
    {},
    back ? el('a.button.plain', { href: back, 'aria-label': say('frame.back') }, say('frame.back')) : null,
    el('div.grow', {}, lead ?? el('span.who', {}, 'Waybourne')),
  );
  root().replaceChildren(
    el(wide ? 'div.frame.wide' : 'div.frame', {}, el('a.skip', { href: '#main', onclick: (event) => { event.preventDefault(); main.querySelector('h1,button,a,input')?.focus(); } }, say('frame.skip')), bar, el('div', { id: 'due', role: 'status', 'aria-live': 'polite' }), notice ?? null, main, foot ?? null, tabs(tab)),
  );
  scrollTo(0, before.page);
  main.scrollTop = before.main;
  const heading = main.querySelector('h1') ?? bar.querySelector('h1');
  const wasNowhere = isAgain && before.focus === document.body;
  if (!wasNowhere) (sameAs(before.focus) ?? heading)?.focus({ preventScroll: true });
  watchDue();
}

/** What now stands where `one`, which is gone, bore the focus; a link is known by where it leads. */
function sameAs(one) {
  const { key } = one?.dataset ?? {};
  if (key) return root().querySelector(`[data-key="${CSS.escape(key)}"]`);
  if (one?.matches('a[href]')) return root().querySelector(`a[href="${CSS.escape(one.getAttribute('href'))}"]`);
  return one?.matches('main, h1') ? root().querySelector(one.localName) : null;
}

/** On to another view, or the same one shown again as things stand now. */
export function goTo(hash) {
  if (location.hash === hash) dispatchEvent(new HashChangeEvent('hashchange'));
  else location.hash = hash;
}
export const showAgain = () => goTo(location.hash);

let tabList = [];
export const useTabs = (list) => { tabList = list; };

function tabs(current) {
  if (!current) return null;
  return el('nav.tabs', { 'aria-label': say('frame.tabs') }, tabList.map(({ id, href }) => el('a', { href, 'aria-current': id === current ? 'page' : false }, say(`tab.${id}`))));
}

const told = new Set();

/** What is due for any of the women, wherever one is on the page. */
async function watchDue() {
  const open = await women.open();
  everySecond((now) => {
    const due = open.flatMap((one) => dueOf(one, now));
    const place = document.getElementById('due');
    if (!place) return;
    const text = JSON.stringify(due.map(({ key }) => key));
    if (place.dataset.due === text) return;
    place.dataset.due = text;
    place.className = due.length ? 'bar' : '';
    place.replaceChildren(...due.map(({ words, href }) => el('p', {}, el('a.strong', { href }, words))));
    for (const { key } of due) {
      if (!told.has(key)) navigator.vibrate?.([300, 150, 300]);
      told.add(key);
    }
  });
}

function dueOf(one, now) {
  const due = [];
  const again = measureAgainAt(one);
  if (again && again.at <= now && again.at > again.from) {
    due.push({ key: `${one.id} measure ${again.at}`, words: say('due.measure', { letter: one.letter, time: clock(again.at) }), href: `#/case/${one.id}/reading` });
  }
  if (one.refusal && one.refusal.ask_again <= now) {
    due.push({ key: `${one.id} ask ${one.refusal.ask_again}`, words: say('due.ask', { letter: one.letter }), href: `#/case/${one.id}/no` });
  }
  if (one.calling && one.calling.until <= now) {
    due.push({ key: `${one.id} call ${one.calling.until}`, words: say('due.call', { letter: one.letter, time: clock(one.calling.at) }), href: `#/case/${one.id}` });
  }
  return due;
}

/** The bar of one woman: her letter, since when, and the way to the others. */
export function caseLead(one, others) {
  return [
    el('h1.who', { tabindex: '-1' }, say('case.woman', { letter: one.letter })),
    el('span.since', {}, say('case.since', { time: clock(one.began) }), others.length ? ' · ' : '', others.length ? el('a', { href: '#/' }, say('case.others', { count: others.length })) : null),
  ];
}

/** Shows one woman's view. */
export async function showCase(one, view) {
  const others = (await women.open()).filter(({ id }) => id !== one.id);
  show({ ...view, title: `${say('case.woman', { letter: one.letter })}: ${view.title}`, lead: caseLead(one, others), hidesTitle: true });
}

/** Something went wrong: in words, with what to do. */
export function trouble(words, again) {
  return el('div.box.first', { role: 'alert' }, el('p', {}, words), again ? button(say('again'), again) : null);
}
