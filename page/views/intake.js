/**
 * A case by telephone, with the keyboard alone: where she is, however the name is spelt, and what is known.
 * Everything may be left out; nothing that was not said counts as a no.
 */
import * as api from '../api.js';
import { placeToCall, urgentSigns } from '../case.js';
import { button, el, linkButton, more, telephone } from '../dom.js';
import { afterAPause, released } from '../press.js';
import { nameOf, say } from '../texts.js';
import { toInstant } from '../time.js';
import { age, approval, doubtful, firstSteps, instruction, nothingFound, sentences, steps, untilCare, where, withheld } from './answer.js';
import { show } from './frame.js';

const otherSigns = ['severe_headache', 'visual_disturbance', 'upper_abdominal_pain', 'breathless', 'fever_reported', 'constant_abdominal_pain'];
/** How long somebody who types is waited for, in milliseconds. */
const pause = 200;

export function intake() {
  const form = new Intake();
  show({ title: say('intake.title'), back: '#/dispatch', content: [form.element, form.answer] });
  form.place.focus();
  return () => form.end();
}

class Intake {
  constructor() {
    /** Each question, and each change of what is asked about, is a turn: an answer of an earlier one is not shown. */
    this.turn = 0;
    this.timer = 0;
    this.searched = '';
    this.found = [];
    this.chosen = null;
    this.places = el('fieldset', { 'aria-live': 'polite', oninput: () => { this.chosen = this.meant().id; } }, el('legend.small', {}, say('intake.which')));
    this.place = el('input', { id: 'intake-place', autocomplete: 'off', spellcheck: 'false', required: true, oninput: () => this.heard() });
    this.status = choice('intake-status', ['', 'pregnant', 'in_labour', 'postpartum', 'post_abortion'], (id) => (id ? nameOf('choice.status', id) : say('ask.unknown')));
    this.means = choice('intake-means', ['', 'on_foot', 'motorcycle', 'car', 'four_wheel_drive'], (id) => (id ? nameOf('means', id) : say('intake.no_transport')));
    this.weeks = number('intake-weeks', 1, 45);
    this.upper = number('intake-upper', 30, 300);
    this.lower = number('intake-lower', 10, 200);
    this.pulse = number('intake-pulse', 20, 250);
    this.signs = [
      ...Object.entries(urgentSigns).map(([sign, findings]) => tick(sign, say(`urgent.${sign}`), findings)),
      ...otherSigns.map((sign) => tick(sign, nameOf('sign', sign), { [sign]: 'yes' })),
    ];
    this.answer = el('div', { 'aria-live': 'polite' });
    this.element = el(
      'form.stack',
      { onsubmit: (event) => { event.preventDefault(); this.ask(); }, oninput: () => this.changed() },
      labelled(say('intake.place'), this.place),
      this.places,
      labelled(say('intake.status'), this.status),
      labelled(say('intake.weeks'), this.weeks),
      el('fieldset', {}, el('legend.strong', {}, say('ask.signs')), el('div.ticks', {}, this.signs.map(({ label }) => label))),
      el('div.fields', {}, labelled(say('reading.sys_bp'), this.upper), labelled(say('reading.dia_bp'), this.lower), labelled(say('reading.pulse'), this.pulse)),
      labelled(say('settings.means'), this.means),
      el('button.main', { type: 'submit' }, say('intake.ask')),
    );
  }

  end() {
    clearTimeout(this.timer);
    this.turn += 1;
  }

  /** What was answered is no answer to what stands here now. A code stays until the next question: it is read out. */
  changed() {
    this.turn += 1;
    if (!this.answer.querySelector('[role=status]')) this.answer.replaceChildren();
    return this.turn;
  }

  heard() {
    clearTimeout(this.timer);
    this.chosen = null;
    this.timer = setTimeout(() => this.find().catch(() => {}), pause);
  }

  /** The places that may be meant by what is written, sought once; the nearest name is taken unless another is chosen. */
  async find() {
    clearTimeout(this.timer);
    const name = this.place.value.trim();
    const isOver = () => name === this.searched || name !== this.place.value.trim();
    if (isOver()) return;
    const found = name ? (await api.namedPlaces(name)).places : [];
    await released();
    if (isOver()) return;
    this.searched = name;
    this.found = found;
    const hadFocus = this.places.contains(document.activeElement);
    const taken = Math.max(0, found.findIndex(({ id }) => id === this.chosen));
    this.places.replaceChildren(
      el('legend.small', {}, found.length || !name ? say('intake.which') : say('intake.no_such_place')),
      ...found.map((one, index) => el('label.tick', {}, el('input', { type: 'radio', name: 'intake-place', value: index, checked: index === taken }), ` ${placeWords(one)}`)),
    );
    if (hadFocus) this.places.querySelector('input:checked')?.focus();
  }

  meant() {
    return this.found[Number(this.places.querySelector('input:checked')?.value ?? 0)];
  }

  request(place) {
    const findings = Object.assign({}, ...this.signs.filter(({ box }) => box.checked).map(({ findings: said }) => said));
    if (this.status.value) findings.status = this.status.value;
    if (this.weeks.value) findings.gestation_weeks = Number(this.weeks.value);
    const reading = { taken_at: toInstant(Date.now()), systolic_mmhg: numberIn(this.upper), diastolic_mmhg: numberIn(this.lower), pulse_per_minute: numberIn(this.pulse) };
    return {
      from: place.is_facility ? { facility: place.id } : { latitude: place.latitude, longitude: place.longitude },
      findings,
      ...([this.upper, this.lower, this.pulse].some(({ value }) => value) && { readings: [reading] }),
      ...(this.means.value && { transport: { means: this.means.value } }),
    };
  }

  async ask() {
    const mine = this.changed();
    const tell = (content) => mine === this.turn && this.told(content);
    this.answer.replaceChildren(el('p', {}, say('answer.asking')));
    try {
      await this.find();
      if (mine !== this.turn) return;
      const place = this.meant();
      if (!place) return void tell(trouble(say('intake.no_such_place')));
      const request = this.request(place);
      const answered = await api.recommend(request);
      tell(this.recommended(request, place, { ...answered, given: Date.now() }));
    } catch (error) {
      tell(trouble(error.message || say('sign_in.no_connection')));
    }
  }

  /** Read from its beginning; a warning in it is not passed over by the key that asked. */
  told(content) {
    this.answer.replaceChildren(content);
    if (!this.answer.querySelector('[role=alert]')) this.answer.querySelector('button, a.main')?.focus({ preventScroll: true });
    this.answer.scrollIntoView({ block: 'start' });
  }

  /** Opens what was answered, as it was asked: meanwhile nothing else can be entered. */
  async open(request, place, to) {
    this.element.inert = true;
    try {
      const { code } = await api.openReferral({ request, sender: place.facility, ...(to && { to }), channel: 'telephone', persons: [{ person: 'mother' }] });
      this.told(el('section.box.first', { role: 'status' }, el('p.strong', {}, say('intake.opened', { code })), linkButton(say('dispatch.title'), '#/dispatch', { kind: 'main' })));
    } catch (error) {
      this.told(trouble(error.message || say('sign_in.no_connection')));
    }
    this.element.inert = false;
  }

  /** As on a health worker's phone; she has no record on this one. */
  recommended(request, place, answer) {
    const { assessment, stages, meanwhile, remarks } = answer.value;
    const one = { answer, findings: request.findings, readings: request.readings ?? [], asked: [], calls: [] };
    const all = assessment.do_now.flatMap(({ text }) => sentences(text));
    const first = firstSteps(all);
    const call = placeToCall(one);
    const items = (texts) => el('ul', {}, texts.map((text) => el('li', {}, text)));
    return el(
      'div.stack',
      {},
      approval(assessment),
      doubtful(assessment),
      el('p.strong', {}, placeWords(place)),
      el('p', {}, say('arrivals.found', { text: assessment.suspected.map(({ text }) => text).join('; ') || nothingFound(one) })),
      assessment.measure_again ? el('p', {}, assessment.measure_again.why) : null,
      all.length ? el('section.box.first', {}, el('h2', {}, say('answer.do_now')), steps(first)) : null,
      all.length > first.length ? more(say('answer.all_steps', { count: all.length }), assessment.do_now.map(instruction)) : null,
      withheld(assessment),
      where(one),
      call?.phones.length ? el('p', {}, `${call.name}: `, call.phones.map((number) => [telephone(number), ' '])) : null,
      untilCare(meanwhile),
      afterAPause(button(say('intake.open'), () => this.open(request, place, stages[0]?.facility), { kind: 'main' }), `answer ${this.turn}`),
      stages.length && assessment.on_the_way.length ? more(say('more.on_the_way'), items(assessment.on_the_way.map(({ text }) => text))) : null,
      remarks.length ? more(say('more.assumed_all'), items(remarks)) : null,
      el('p.small', {}, assessment.cautions.join(' '), ' ', age(answer)),
    );
  }
}

const trouble = (words) => el('p.box.first', { role: 'alert' }, words);
const placeWords = ({ name, kind }) => `${name} (${nameOf('place_kind', kind)})`;
const labelled = (words, field) => el('div', {}, el('label', { for: field.id }, words), field);
const choice = (id, values, words) => el('select', { id }, values.map((value) => el('option', { value }, words(value))));
const number = (id, min, max) => el('input', { id, type: 'number', inputmode: 'numeric', min, max });
const numberIn = ({ value }) => (value ? Number(value) : null);

function tick(id, words, findings) {
  const box = el('input', { type: 'checkbox', id: `intake-${id}` });
  return { box, findings, label: el('label.tick', {}, box, ` ${words}`) };
}
