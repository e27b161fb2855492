/**
 * A case by telephone, with the keyboard alone: where she is, however the name is spelt, and what is known.
 * Everything may be left out; nothing that was not said counts as a no.
 */
import * as api from '../api.js';
import { urgentSigns } from '../case.js';
import { button, el, linkButton } from '../dom.js';
import { nameOf, say } from '../texts.js';
import { clock, toInstant } from '../time.js';
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
    this.asked = 0;
    this.timer = 0;
    this.found = [];
    this.places = el('fieldset', { 'aria-live': 'polite' }, el('legend.small', {}, say('intake.which')));
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
      { onsubmit: (event) => { event.preventDefault(); this.ask(); } },
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
    this.asked += 1;
  }

  heard() {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.find(), pause);
  }

  /** The places that may be meant; the nearest name is taken unless another is chosen. */
  async find() {
    clearTimeout(this.timer);
    const mine = ++this.asked;
    const name = this.place.value.trim();
    const found = name ? (await api.namedPlaces(name)).places : [];
    if (mine !== this.asked) return;
    this.found = found;
    this.places.replaceChildren(
      el('legend.small', {}, found.length || !name ? say('intake.which') : say('intake.no_such_place')),
      ...found.map((one, index) => el('label.tick', {}, el('input', { type: 'radio', name: 'intake-place', value: index, checked: index === 0 }), ` ${one.name} (${nameOf('place_kind', one.kind)})`)),
    );
  }

  meant() {
    return this.found[Number(this.places.querySelector('input:checked')?.value ?? 0)];
  }

  request() {
    const place = this.meant();
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
    try {
      await this.find();
      if (!this.meant()) return this.told(el('p.box.first', { role: 'alert' }, say('intake.no_such_place')));
      const request = this.request();
      const { value } = await api.recommend(request);
      return this.told(this.recommended(request, this.meant(), value));
    } catch (error) {
      return this.told(el('p.box.first', { role: 'alert' }, error.message || say('sign_in.no_connection')));
    }
  }

  told(content) {
    this.answer.replaceChildren(content);
    this.answer.querySelector('button')?.focus();
  }

  recommended(request, place, { assessment, stages, outcome }) {
    const first = stages[0];
    const open = async () => {
      try {
        const { code } = await api.openReferral({ request, sender: place.facility, ...(first && { to: first.facility }), channel: 'telephone', persons: [{ person: 'mother' }] });
        this.told(el('section.box.first', { role: 'status' }, el('p.strong', {}, say('intake.opened', { code })), linkButton(say('dispatch.title'), '#/dispatch', { kind: 'main' })));
        this.answer.querySelector('a')?.focus();
      } catch (error) {
        this.told(el('p.box.first', { role: 'alert' }, error.message || say('sign_in.no_connection')));
      }
    };
    return el(
      'section.box.first',
      {},
      el('p', {}, place.name),
      assessment.suspected.length ? el('p', {}, say('arrivals.found', { text: assessment.suspected.map(({ text }) => text).join('; ') })) : null,
      assessment.earliest_deadline ? el('p.strong', {}, say('intake.deadline', { time: clock(assessment.earliest_deadline) })) : null,
      first ? el('p.place', {}, first.name) : el('p', {}, say(outcome === 'stay' ? 'intake.stay' : 'intake.nowhere')),
      el('ul', {}, assessment.do_now.slice(0, 3).map(({ text }) => el('li', {}, text))),
      button(say('intake.open'), open, { kind: 'main' }),
    );
  }
}

const labelled = (words, field) => el('div', {}, el('label', { for: field.id }, words), field);
const choice = (id, values, words) => el('select', { id }, values.map((value) => el('option', { value }, words(value))));
const number = (id, min, max) => el('input', { id, type: 'number', inputmode: 'numeric', min, max });
const numberIn = ({ value }) => (value ? Number(value) : null);

function tick(id, words, findings) {
  const box = el('input', { type: 'checkbox', id: `intake-${id}` });
  return { box, findings, label: el('label.tick', {}, box, ` ${words}`) };
}
