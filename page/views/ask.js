/** One question at a time, and only what can still change the answer. */
import { protocol } from '../api.js';
import { nextQuestion, readingFields, unfinishedOf, withAnswer, withoutLastAnswer, withReading, withUnfinished } from '../case.js';
import { button, el } from '../dom.js';
import { has, nameOf, say } from '../texts.js';
import { clock, toInstant } from '../time.js';
import * as women from '../women.js';
import { goTo, showCase, trouble } from './frame.js';

/** What is on the screen takes no more taps: it has been answered. */
function freeze() {
  const main = document.getElementById('main');
  if (!main || main.inert) return;
  main.inert = true;
  setTimeout(() => main.isConnected && main.inert && main.append(el('p.strong', { role: 'status' }, say('answer.asking'))), 400);
}

/** On to the next view. */
function go(hash) {
  freeze();
  goTo(hash);
}

/** Changes her record, then goes on. */
async function changeAndGo(id, how, hash) {
  freeze();
  await women.change(id, how);
  go(hash);
}

/**
 * What is typed or tapped for a question, kept while that question is not answered, so that it stands there again
 * after the browser was killed. One woman's changes follow one another: it never comes after the answer.
 */
function keeping(one, fields) {
  const before = unfinishedOf(one, fields);
  let since = before?.since ?? null;
  return {
    given: before?.given ?? [],
    /** When the first of it was typed or tapped; null when nothing is. */
    since: () => since,
    /** What cannot be kept (a full disk) can still be answered. */
    async keep(given) {
      since = given.some(Boolean) ? since ?? Date.now() : null;
      await women.change(one.id, (now) => withUnfinished(now, fields, given, since)).catch(() => {});
    },
    /** Says since when it stands there, and takes it away. */
    notice(words) {
      if (!before) return null;
      const anew = () => changeAndGo(one.id, (now) => withUnfinished(now, fields, []), location.hash);
      return el('div.line', {}, el('p.small', {}, say(words, { time: clock(before.since) })), button(say('ask.anew'), anew, { kind: 'slim' }));
    },
  };
}

/** The next question, or the answer when none is left. */
export async function ask(one) {
  if (women.isBehind(one)) {
    try {
      one = await women.askAgain(one.id);
    } catch (error) {
      if (!one.answer) return cannotAsk(one, error);
    }
  }
  const question = nextQuestion(one);
  if (!question) return go(`#/case/${one.id}`);
  const fields = question.fields ?? [question.field];
  const about = (await protocol()).value.fields;
  const declared = fields.map((name) => about.find((field) => field.name === name));
  if (declared.some((field) => field?.in_readings)) return reading(one, true);
  const give = (values) => changeAndGo(one.id, (now) => withAnswer(now, fields, values), `#/case/${one.id}/ask`);
  const kept = keeping(one, fields);
  return showCase(one, {
    title: say('ask.title'),
    content: [
      el('h2', {}, fields.length > 1 ? say('ask.signs') : question.text),
      kept.notice('ask.unfinished'),
      fields.length > 1 ? group(declared, give, kept) : single(declared[0], give, kept),
      foot(one, fields.length > 1 ? null : () => give({})),
    ],
  });
}

function foot(one, unknown) {
  return el(
    'div.row.foot',
    {},
    unknown ? button(say('ask.unknown'), unknown) : null,
    one.asked.length ? button(say('ask.back'), () => changeAndGo(one.id, withoutLastAnswer, `#/case/${one.id}/ask`)) : null,
    button(say('ask.enough'), () => go(`#/case/${one.id}`)),
  );
}

function single(field, give, kept) {
  const choose = (value) => () => give({ [field.name]: value });
  if (field.type === 'sign') {
    return el('div.stack', {}, button(say('yes'), choose('yes'), { kind: 'large' }), button(say('no'), choose('no'), { kind: 'large' }));
  }
  if (field.type === 'choice') {
    return el('div.stack', {}, field.choices.map((value) => button(nameOf(`choice.${field.name}`, value), choose(value), { kind: 'large' })));
  }
  if (field.type === 'step') {
    const { from, to } = field.accept ?? { from: 0, to: 4 };
    const steps = Array.from({ length: to - from + 1 }, (_, index) => from + index);
    return el('div.stack', {}, steps.map((value) => button(say(`step.${value}`), choose(value), { kind: 'large' })));
  }
  return numbers([{ ...field, label: unitOf(field) }], ([value]) => give({ [field.name]: value }), kept);
}

const unitOf = (field) => (has(`unit.${field.name}`) ? say(`unit.${field.name}`) : field.unit ?? '');

/** Several signs at once: those that are tapped are yes, the others no. */
function group(fields, give, kept) {
  const chosen = new Set(kept.given);
  const done = button('', () => give(Object.fromEntries(fields.map(({ name }) => [name, chosen.has(name) ? 'yes' : 'no']))), { kind: 'main large' });
  const tiles = fields.map(({ name, ...field }) => button(nameOfSign({ name, ...field }), async () => {
    if (!chosen.delete(name)) chosen.add(name);
    await kept.keep([...chosen]);
    draw();
  }, { attributes: { 'aria-pressed': 'false' } }));
  const draw = () => {
    tiles.forEach((tile, index) => tile.setAttribute('aria-pressed', String(chosen.has(fields[index].name))));
    done.textContent = chosen.size ? say('ask.these', { count: chosen.size }) : say('ask.none');
  };
  draw();
  return el('div.stack', {}, done, el('div.tiles', { role: 'group', 'aria-label': say('ask.signs') }, tiles), button(say('ask.unknown'), () => give({})));
}
const nameOfSign = (field) => (has(`sign.${field.name}`) ? say(`sign.${field.name}`) : field.question);

/**
 * Numbers with keys of our own, large enough for a thumb.
 * @param {Array<{name: string, label: string, accept?: {from: number, to: number}|null}>} fields
 * @param {(values: (number|null)[]) => Promise<void>} done
 * @param {ReturnType<typeof keeping>} kept
 */
function numbers(fields, done, kept) {
  const typed = fields.map((_, index) => kept.given[index] ?? '');
  const isFull = (index) => typed[index].split('.')[0].length >= String(Math.trunc(fields[index].accept?.to ?? 999)).length;
  // Where the next digit belongs: behind the last one that was typed.
  let at = Math.max(0, typed.findLastIndex(Boolean));
  if (isFull(at) && at < fields.length - 1) at += 1;
  const wrong = el('p', { role: 'alert' });
  const boxes = fields.map((field, index) =>
    el('button', { type: 'button', 'aria-pressed': String(index === 0), onclick: () => { at = index; draw(); } }, el('span.name', {}, field.label), el('span.value', {}, '–')),
  );
  const draw = () => {
    boxes.forEach((box, index) => {
      box.setAttribute('aria-pressed', String(index === at));
      box.querySelector('.value').textContent = typed[index] || '–';
    });
  };
  draw();
  /** Nothing is given back, so that the same key can be tapped again at once. */
  const press = (key) => {
    wrong.textContent = '';
    if (key === 'delete') typed[at] = typed[at].slice(0, -1);
    else if (key === '.' && typed[at].includes('.')) return;
    else if (typed[at].length < 6) typed[at] += key;
    if (key !== 'delete' && key !== '.' && isFull(at) && at < fields.length - 1) at += 1;
    kept.keep([...typed]).then(draw);
  };
  const finish = async () => {
    const values = typed.map((text) => (text === '' ? null : Number(text)));
    const outside = fields.find((field, index) => values[index] !== null && field.accept && (values[index] < field.accept.from || values[index] > field.accept.to));
    if (outside) {
      wrong.textContent = say('number.outside', { name: outside.label, from: outside.accept.from, to: outside.accept.to });
      return;
    }
    if (values.every((value) => value === null)) {
      wrong.textContent = say('number.none');
      return;
    }
    await done(values);
  };
  const keys = ['1', '2', '3', '4', '5', '6', '7', '8', '9', '.', '0', 'delete'];
  const pad = el(
    'div.keys',
    {
      role: 'group',
      'aria-label': say('number.keys'),
    },
    keys.map((key) => button(key === 'delete' ? say('number.delete') : key === '.' ? say('number.point') : key, () => press(key), key === '.' ? { attributes: { 'aria-label': say('number.point_name') } } : {})),
  );
  return el('div.stack', { onkeydown: (event) => {
    if (/^[0-9]$/.test(event.key)) press(event.key);
    else if (event.key === 'Backspace') press('delete');
    else if (event.key === '.' || event.key === ',') press('.');
    else return;
    event.preventDefault();
  } }, el('div.fields', {}, boxes), wrong, pad, button(say('number.done'), finish, { kind: 'main' }));
}

/** Pressure and pulse of one measurement. */
export async function reading(one, isAsked = false) {
  const about = (await protocol()).value.fields;
  const fields = readingFields.map((name) => ({ ...about.find((field) => field.name === name), name, label: say(`reading.${name}`) }));
  const kept = keeping(one, readingFields);
  const take = async ([systolic, diastolic, pulse]) => {
    // Measured before it is typed: whoever comes back to it later has not measured anew.
    const taken = { taken_at: toInstant(kept.since()), systolic_mmhg: systolic, diastolic_mmhg: diastolic, pulse_per_minute: pulse };
    await changeAndGo(one.id, (now) => withReading(now, taken), isAsked || !one.answer ? `#/case/${one.id}/ask` : `#/case/${one.id}`);
  };
  const asking = `#/case/${one.id}/ask`;
  const notFound = () => changeAndGo(one.id, (now) => withAnswer(now, ['pressure_not_recordable', ...readingFields], { pressure_not_recordable: 'yes' }), asking);
  const none = () => changeAndGo(one.id, (now) => withAnswer(now, readingFields, {}), asking);
  const last = one.readings.at(-1);
  return showCase(one, {
    title: say('reading.title'),
    back: `#/case/${one.id}`,
    content: [
      el('h2', {}, say('reading.title')),
      last ? el('p.small', {}, say('reading.last', { numbers: readingWords(last) })) : null,
      kept.notice('reading.unfinished'),
      numbers(fields, take, kept),
      el('div.row.foot', {}, isAsked ? button(say('reading.not_taken'), none) : null, button(say('reading.not_found'), notFound), isAsked && one.asked.length ? button(say('ask.back'), () => changeAndGo(one.id, withoutLastAnswer, `#/case/${one.id}/ask`)) : null),
      el('details.why', {}, el('summary', {}, say('reading.how')), el('p', {}, say('reading.how.rest')), el('p', {}, say('reading.how.at_once'))),
    ],
  });
}

/** `165/112, pulse 96` */
export function readingWords(one) {
  const number = (value) => value ?? '–';
  return say('reading.words', { pressure: `${number(one.systolic_mmhg)}/${number(one.diastolic_mmhg)}`, pulse: number(one.pulse_per_minute) });
}

/** Whether the baby is born: the one thing that bleeding needs to know, without a number. */
export function status(one) {
  const choose = (values) => () => changeAndGo(one.id, (now) => withAnswer(now, ['status'], values), `#/case/${one.id}`);
  return showCase(one, {
    title: say('status.title'),
    back: '#/',
    content: [
      el('h2', {}, say('status.title')),
      el('div.stack', {}, ['postpartum', 'in_labour', 'pregnant', 'post_abortion'].map((value) => button(say(`born.${value}`), choose({ status: value }), { kind: 'large' })), button(say('ask.unknown'), choose({}), { kind: 'large' })),
    ],
  });
}

function cannotAsk(one, error) {
  return showCase(one, { title: say('ask.title'), back: '#/', content: [trouble(say('trouble.no_answer', { why: error.message }), () => go(`#/case/${one.id}/ask`))] });
}
