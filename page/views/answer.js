/**
 * The answer on one screen: what to do now; where, by when, the call, the way. More on demand. No band,
 * score or chance is ever shown: what was found, and clock times.
 */
import { calledAnswer, measureAgainAt, nextQuestion, placeToCall, wayOf } from '../case.js';
import { button, el, linkButton, more, telephone } from '../dom.js';
import { afterAPause } from '../press.js';
import { kept } from '../store.js';
import { careNames, has, language, nameOf, say } from '../texts.js';
import { clock, countdown, span } from '../time.js';
import * as women from '../women.js';
import { everySecond, showAgain, showCase, trouble } from './frame.js';

export async function answer(one) {
  if (women.isBehind(one)) {
    if (!one.answer) await showCase(one, { title: say('answer.title'), content: [el('p', {}, say('answer.asking'))] });
    try {
      one = await women.askAgain(one.id);
    } catch (error) {
      return withoutAnswer(one, error);
    }
    if (!location.hash.startsWith(`#/case/${one.id}`)) return undefined;
  }
  const { value } = one.answer;
  const { assessment } = value;
  await showCase(one, {
    title: say('answer.title'),
    back: '#/',
    notice: assessment.protocol.approved ? null : el('aside.bar.small', { 'aria-label': say('answer.not_approved') }, approval(assessment)),
    foot: calling(one),
    content: [
      problems(one),
      found(one),
      measuring(one),
      doNow(one),
      where(one),
      // Beside one stop these stand within it; beside two only what cannot wait is above the call.
      wayOf(one).stages.length > 1 ? whoElse(one) : null,
      journey(one),
      el('div', {}, ...details(one)),
      el('p.small', {}, assessment.cautions.join(' '), ' ', age(one.answer)),
    ],
  });
  fitAboveTheCall();
}

/**
 * What to do, where and by when stand above the call, unscrolled, in every language: of the steps as many as
 * fit, with the way to all of them, and where that is not enough what was found, then the ways to the family's
 * screens and the next reading, stand below them. A step of a few words never stands alone.
 */
function fitAboveTheCall() {
  const place = document.querySelector('.where');
  const call = document.querySelector('.call');
  if (!place || !call) return;
  const isHidden = () => place.getBoundingClientRect().bottom > call.getBoundingClientRect().top;
  const list = document.querySelector('ol.steps');
  const least = list?.firstChild?.textContent.length < aFewWords ? 2 : 1;
  while (list?.children.length > least && isHidden()) {
    list.lastChild.remove();
    document.querySelector('a.all').hidden = false;
  }
  if (isHidden()) place.after(document.querySelector('p.found'));
  for (const less of [place.querySelector('.row'), document.querySelector('main > .clock')]) {
    if (less && isHidden()) place.after(less);
  }
}
const aFewWords = 40;

/** The server and the phone are both silent: say so, and show the first actions that were kept. */
async function withoutAnswer(one, error) {
  const kinds = (await kept('first_actions')) ?? {};
  const first = one.sign ? (kinds[language()] ?? Object.values(kinds)[0])?.[one.sign] : null;
  return showCase(one, {
    title: say('answer.title'),
    content: [
      first ? el('section.box.first', {}, el('h2', {}, say('answer.do_now')), steps(first.texts.flatMap(sentences)), el('p.small', {}, say('answer.kept', { time: clock(first.at) }))) : null,
      trouble(one.answer ? say('trouble.old_answer', { time: clock(one.answer.given) }) : say('trouble.no_answer', { why: error.message }), showAgain),
      one.answer ? where(one) : el('p', {}, say('trouble.follow_paper')),
      el('p.small', {}, first?.cautions.join(' ') ?? say('caution.short')),
    ],
  });
}

export function age({ by, at, given }) {
  if (by === 'phone') return say('answer.by_phone', { time: clock(at) });
  return say('answer.by_server', { given: clock(given) });
}

/** Values that cannot be right, and those to be looked at again. @param {Node} [again] the way to enter them again */
export function doubtful({ refused, confirm }, again) {
  if (!refused.length && !confirm.length) return null;
  return el('div.box.first', { role: 'alert' }, refused.map((value) => el('p', {}, say('answer.refused', { field: nameOf('short', value.field), given: value.given, why: value.why }))), confirm.map((value) => el('p', {}, say('answer.confirm', { field: nameOf('short', value.field), given: value.given, why: value.why }))), again);
}
const problems = (one) => doubtful(one.answer.value.assessment, button(say('reading.again'), () => { location.hash = `#/case/${one.id}/reading`; }));

/** That no clinician has signed the rules. */
export const approval = ({ protocol }) => (protocol.approved ? null : el('p.strong', {}, say('answer.not_approved')));

/** The rest and the repeat reading, by the clock. */
function measuring(one) {
  const due = measureAgainAt(one);
  if (!due) return null;
  const take = button('', () => { location.hash = `#/case/${one.id}/reading`; }, { kind: 'clock slim' });
  everySecondLater(take, (now) => (due.at <= now ? say('measure.now') : say('measure.at', { time: clock(due.at), left: countdown(due.at, now) })));
  return take;
}

/** Ticks begin only once the view stands. */
function everySecondLater(place, words) {
  place.textContent = words(Date.now());
  queueMicrotask(() => setTimeout(() => everySecond((now) => { const text = words(now); if (place.textContent !== text) place.textContent = text; })));
}

function found(one) {
  const { suspected } = one.answer.value.assessment;
  const open = nextQuestion(one);
  const words = suspected[0]?.text ?? nothingFound(one);
  return el(
    'p.found',
    {},
    el('span.strong', {}, `${say('answer.found')}: `),
    words,
    suspected.length > 1 ? ` ${say('answer.and_more', { count: suspected.length - 1 })}` : '',
    ' ',
    open ? el('a', { href: `#/case/${one.id}/ask` }, say('answer.more_questions')) : null,
  );
}

export const nothingFound = (one) => say(nextQuestion(one) ? 'answer.ask_first' : 'answer.nothing_found');

/** A text of the protocol as its sentences: nothing is added, nothing left out. */
export function sentences(text) {
  return text.split(/(?<=[.!?])\s+(?=[A-ZÀ-Þ])/u).filter(Boolean);
}
export const steps = (list) => el('ol.steps', {}, list.map((text) => el('li', {}, text)));

/** The first whole sentences, never a part of one: what can be taken in at once. */
export function firstSteps(all) {
  const room = 170;
  let used = 0;
  const taken = all.findIndex((text, index) => {
    used += text.length;
    return index > 0 && used > room;
  });
  return taken < 0 ? all : all.slice(0, taken);
}

function doNow(one) {
  const { assessment } = one.answer.value;
  const all = assessment.do_now.flatMap(({ text }) => sentences(text));
  if (!all.length) return null;
  const first = firstSteps(all);
  return el(
    'section.box.first',
    {},
    el('div.line', {}, el('h2', {}, say('answer.do_now')), el('a.all', { href: `#/case/${one.id}/actions`, hidden: all.length === first.length }, say('answer.all_steps', { count: all.length }))),
    steps(first),
  );
}

/** Every step and dose, with where it comes from. */
export function actions(one) {
  const { assessment, meanwhile } = one.answer.value;
  return showCase(one, {
    title: say('answer.do_now'),
    back: `#/case/${one.id}`,
    content: [
      el('h2', {}, say('answer.do_now')),
      assessment.do_now.map(instruction),
      withheld(assessment),
      untilCare(meanwhile),
      el('p.small', {}, assessment.cautions.join(' ')),
    ],
  });
}

const listed = (title, texts) => (texts.length ? el('section.box', {}, el('h2', {}, title), el('ul', {}, texts.map((text) => el('li', {}, text)))) : null);
/** What is not to be given, and why. */
export const withheld = (assessment) => listed(say('answer.withheld'), assessment.withheld.map(({ name, because }) => `${name}: ${because}`));
export const untilCare = (meanwhile) => listed(say('answer.meanwhile'), meanwhile);

export function instruction({ text, sources }) {
  const list = sentences(text);
  return el('section.box', {}, list.length > 1 ? steps(list) : el('p', {}, text), sources.length ? el('p.small', {}, say('answer.sources', { sources: sources.join('; ') })) : null);
}

/** Where to send her, by when; with the ways to her own screens, if she has any on this phone. */
export function where(one) {
  const { outcome, assessment, remarks } = one.answer.value;
  const { stages, isOther } = wayOf(one);
  if (outcome === 'stay') return stay(one);
  if (!stages.length) return el('section.box.first', {}, el('h2', {}, say('where.nowhere')), careBy(assessment), el('ul', {}, remarks.map((text) => el('li', {}, text))), refusal(one));
  const [stage, onward] = stages;
  const call = placeToCall(one);
  const goes = one.referral?.to;
  const isElsewhere = call.unsure && call.facility !== stage.facility;
  const leaving = [one.referral?.departed ? say('where.left', { time: clock(one.referral.departed) }) : leave(assessment, stage), ' ', careBy(assessment)];
  const there = say('where.there', { typical: clock(stage.arrival.typical), allow: clock(stage.arrival.allow) });
  return el(
    'section.box.first.where',
    {},
    isElsewhere ? el('p', {}, el('span.strong', {}, say('where.call_first', { name: call.name })), ' ', say('where.else_go', { name: stage.name })) : null,
    el('h2', {}, say(goes === stage.facility ? 'where.goes' : 'where.title'), ' ', el('span.place', {}, stage.name)),
    call.unsure && !isElsewhere ? el('p', {}, say('where.unsure')) : null,
    isOther ? late(stages) : outcome === 'late' ? el('p.strong', {}, say('where.late')) : null,
    onward ? el('p', {}, leaving, ' ', there) : [el('p', {}, leaving), el('p', {}, there)],
    onward ? el('p', {}, say('where.onward', { name: onward.name, time: clock(onward.arrival.allow) })) : whoElse(one),
  );
}

const careBy = ({ earliest_deadline: deadline }) => (deadline ? el('span.strong', {}, say('where.care_by', { time: clock(deadline) })) : null);

/** A place that was chosen instead of the best one is late by its own times. */
const late = (stages) => (stages.some(({ margin_s: margin }) => margin !== null && margin < 0) ? el('p.strong', {}, say('where.late_here')) : null);

/** For the family, and where they say no. */
const whoElse = (one) => one.id && el('div.row', {}, linkButton(say('where.family'), `#/case/${one.id}/family`), linkButton(say('where.no'), `#/case/${one.id}/no`));
const refusal = (one) => one.id && linkButton(say('where.no'), `#/case/${one.id}/no`);

function leave(assessment, stage) {
  if (assessment.leave_now || !stage.leave_by || Date.parse(stage.leave_by) <= Date.now()) return say('where.leave_now');
  return say('where.leave_by', { time: clock(stage.leave_by) });
}

/** Nothing is needed elsewhere, or everything can be given here. */
function stay(one) {
  const { assessment } = one.answer.value;
  const here = assessment.needs.filter(({ available_here: can }) => can);
  const open = nextQuestion(one);
  return el(
    'section.box.first',
    {},
    el('h2', {}, here.length ? say('stay.here') : open ? say('stay.not_yet') : say('stay.nothing')),
    here.length && assessment.earliest_deadline ? el('p', {}, say('stay.by', { time: clock(assessment.earliest_deadline) })) : null,
    here.length ? el('ul', {}, here.map((need) => el('li', {}, careNames(need.any_of)))) : null,
    here.length ? null : el('p.small', {}, say('caution.no_limit')),
  );
}

/** The call, and what came of it: one tap gives the next place. */
function calling(one) {
  const call = placeToCall(one);
  if (!call) return null;
  const said = calledAnswer(one, call.facility);
  const [phone] = call.phones;
  const began = () => women.change(one.id, (now) => ({ ...now, calling: { facility: call.facility, at: Date.now(), until: Date.now() + call.wait * 60000 } }));
  const told = (word) => async () => {
    await women.called(one.id, call.facility, word);
    showAgain();
  };
  return el(
    'aside.call',
    { 'aria-label': say('call.call', { name: call.name }) },
    el('div.row', {}, phone ? linkButton(say('call.call', { name: call.name }), `tel:${phone}`, { kind: 'main', attributes: { onclick: began } }) : el('p.strong', {}, say('call.no_phone')), linkButton(say('where.way'), `#/case/${one.id}/way`)),
    one.calling?.facility === call.facility ? el('p.small', {}, say('call.wait_until', { time: clock(one.calling.until) })) : null,
    said === 'accepted'
      ? el('p.strong', {}, say('call.accepted_by', { name: call.name }))
      : afterAPause(el('div.row', { role: 'group', 'aria-label': say('call.what', { name: call.name }) }, ['accepted', 'refused', 'no_answer'].map((word) => button(say(`call.${word}`), told(word)))), `call ${one.id} ${call.facility}`),
  );
}

/** The best way leads elsewhere by now. A place that has said yes is not left by a tap on the main button. */
function goesElsewhere(one, stage, onward) {
  const said = calledAnswer(one, one.referral.to);
  const name = onward.find(({ facility }) => facility === one.referral.to)?.name ?? one.referral.to;
  const send = async () => { await women.send(one.id, stage.facility); showAgain(); };
  return [
    said === 'accepted' ? el('p.strong', {}, say('journey.has_yes', { name })) : null,
    button(say('journey.now_to', { name: stage.name }), send, { kind: said === 'accepted' ? 'plain' : 'main' }),
  ];
}

/** What is known of her way: sent, left. */
function journey(one) {
  const [stage, ...onward] = wayOf(one).stages;
  if (!stage) return null;
  if (!one.referral) {
    return button(say('journey.send', { name: stage.name }), async () => { await women.send(one.id, stage.facility); showAgain(); });
  }
  return el(
    'section.box',
    {},
    el('p', {}, say('journey.code', { code: one.referral.code })),
    one.referral.to !== stage.facility ? goesElsewhere(one, stage, onward) : null,
    one.referral.departed ? null : afterAPause(button(say('journey.left'), async () => { await women.departed(one.id); showAgain(); }), `left ${one.id}`),
  );
}

function details(one) {
  const { assessment, passed_over: passed, referral_note: note, remarks } = one.answer.value;
  const { stages } = wayOf(one);
  const others = [one.answer.value, ...one.answer.value.alternatives].filter((way) => way.stages.length && way.stages !== stages);
  const over = one.answer.value.stages[0]?.facility;
  const items = (list) => el('ul', {}, list);
  return [
    more(say('more.why'), assessment.suspected.map(({ text, because, sources }) => el('div', {}, el('p.strong', {}, text), items(because.map(({ rule, facts }) => el('li', {}, facts.join(', '), el('span.small', {}, ` ${rule}`)))), el('p.small', {}, say('answer.sources', { sources: sources.join('; ') })))), readings(one)),
    stages.some(({ phones }) => phones.length) ? more(say('more.phones'), items(stages.map(({ name, phones }) => el('li', {}, `${name}: `, phones.map((number) => [telephone(number), ' ']))))) : null,
    more(say('more.needs'), items(assessment.needs.map((need) => el('li', {}, careNames(need.any_of), need.deadline ? `, ${say('needs.by', { time: clock(need.deadline) })}` : '', need.available_here ? `, ${say('needs.here')}` : '')))),
    stages.length ? more(say('more.on_the_way'), items(assessment.on_the_way.map(({ text }) => el('li', {}, text)))) : null,
    others.length ? more(say('more.alternatives'), items(others.map(({ stages: [first] }) => el('li', {}, el('span.strong', {}, first.name), ` ${say('where.there', { typical: clock(first.arrival.typical), allow: clock(first.arrival.allow) })} `, first.phones.slice(0, 1).map((number) => telephone(number)), ' ', button(say('journey.send_instead', { name: first.name }), async () => { await women.send(one.id, first.facility, over); showAgain(); }, { kind: 'plain' }))))) : null,
    passed.length ? more(say('more.passed_over'), items(passed.map(({ name, reasons, travel_time_s: time }) => el('li', {}, el('span.strong', {}, name), time ? ` (${span(time.typical * 1000)})` : '', `: ${reasons.join('; ')}`)))) : null,
    more(say('more.note'), el('pre.note', { tabindex: '0' }, note), button(say('more.print'), () => print())),
    remarks.length ? more(say('more.assumed_all'), items(remarks.map((text) => el('li', {}, text)))) : null,
    more(say('more.manage'), el('div.stack', {}, linkButton(say('elsewhere.title'), `#/case/${one.id}/where`), linkButton(say('reading.title'), `#/case/${one.id}/reading`), nextQuestion(one) ? linkButton(say('answer.more_questions'), `#/case/${one.id}/ask`) : null, linkButton(say('away.title'), `#/case/${one.id}/away`))),
    more(say('more.cautions'), cautions()),
  ].filter(Boolean);
}

function readings(one) {
  if (!one.readings.length) return null;
  return el('ul', {}, one.readings.map((reading) => el('li', {}, `${clock(reading.taken_at)}: ${reading.systolic_mmhg ?? '–'}/${reading.diastolic_mmhg ?? '–'}, ${reading.pulse_per_minute ?? '–'}`)));
}

export function cautions() {
  const list = [];
  for (let number = 1; has(`caution.long.${number}`); number += 1) list.push(el('li', {}, say(`caution.long.${number}`)));
  return el('ol', {}, list);
}
