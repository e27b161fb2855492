/**
 * One woman, as the phone knows her: a plain value, and pure functions from one to the next. Nothing
 * here looks at the clock, the screen or the network.
 *
 * Nothing that could name her is kept: a letter, times, findings, answers.
 *
 * @typedef {object} Case
 * @property {string} id of this phone
 * @property {string} letter by which two women are told apart on the screen
 * @property {number} began ms
 * @property {Record<string, string|number>} findings
 * @property {Array<{taken_at: string, systolic_mmhg: number|null, diastolic_mmhg: number|null, pulse_per_minute: number|null}>} readings
 * @property {string[][]} asked the fields of each question that was answered, in order
 * @property {Unfinished[]} [unfinished] what is typed or tapped for questions that are not answered yet
 * @property {number|null} from_when deadlines run from here
 * @property {number|null} limit the shortest time limit seen, minutes
 * @property {{place: object}|null} now_at where she is, when not at this clinic
 * @property {Array<{facility: string, answer: string, at: number}>} calls
 * @property {{facility: string, at: number}|null} calling
 * @property {{value: any, by: string, at: number, given: number}|null} answer the last one
 * @property {{code: string, to: string, opened: number, departed: number|null, measured: number|null}|null} referral
 * @property {{at: number, ask_again: number}|null} refusal
 * @property {{to: string, over: string}} [chosen] a place that was taken knowingly instead of the best one
 *
 * @typedef {object} Unfinished
 * @property {string[]} fields of the question
 * @property {string[]} given the digits of each number so far, or the signs that are tapped
 * @property {number} since ms: when the first of them was
 */

/** The signs that cannot wait, and what each says. The rest stays unknown. */
export const urgentSigns = {
  fits: { convulsions: 'yes' },
  bleeding: { bleeding: 'heavy' },
  not_awake: { avpu: 'U' },
  cord: { cord_visible: 'yes' },
  baby: { baby_not_breathing: 'yes' },
};

const letters = 'ABCDEFGHJKLMNPQRSTUVWXYZ';

/** The first letter that no open case has. @param {Case[]} open */
export function freeLetter(open) {
  const taken = new Set(open.map((one) => one.letter));
  return [...letters].find((letter) => !taken.has(letter)) ?? `${letters[open.length % letters.length]}${open.length}`;
}

/** @returns {Case} */
export function newCase(id, letter, now, sign = '') {
  return {
    id, letter, began: now, sign,
    findings: { ...urgentSigns[sign] },
    readings: [], asked: sign ? [Object.keys(urgentSigns[sign])] : [],
    from_when: null, limit: null, now_at: null, calls: [], calling: null,
    answer: null, referral: null, refusal: null,
  };
}

/** What is typed or tapped so far and no part of any answer yet; nothing given: it was deleted. */
export function withUnfinished(one, fields, given, since) {
  const others = (one.unfinished ?? []).filter((part) => !part.fields.some((field) => fields.includes(field)));
  return { ...one, unfinished: given.some(Boolean) ? [...others, { fields, given, since }] : others };
}

/** @returns {Unfinished|null} */
export const unfinishedOf = (one, fields) => one.unfinished?.find((part) => part.fields.join() === fields.join()) ?? null;

/** What the next question's answers add; `values` null: not known. */
export function withAnswer(one, fields, values) {
  const findings = { ...one.findings };
  for (const field of fields) delete findings[field];
  return { ...withUnfinished(one, fields, []), findings: { ...findings, ...values }, asked: [...one.asked, fields] };
}

/** Takes the last answer back. */
export function withoutLastAnswer(one) {
  const last = one.asked.at(-1) ?? [];
  const findings = { ...one.findings };
  for (const field of last) delete findings[field];
  const readings = last.includes('sys_bp') ? one.readings.slice(0, -1) : one.readings;
  return { ...one, findings, readings, asked: one.asked.slice(0, -1) };
}

/** The fields of a measurement of pressure and pulse. */
export const readingFields = ['sys_bp', 'dia_bp', 'pulse'];

/** A measurement of pressure and pulse. */
export function withReading(one, reading) {
  return { ...withUnfinished(one, readingFields, []), readings: [...one.readings, reading], asked: [...one.asked.filter((step) => !step.includes('sys_bp')), readingFields] };
}

const isAsked = (one, fields) => fields.every((field) => one.asked.some((step) => step.includes(field)));

/** The next question that can still change the answer; null when there is none. */
export function nextQuestion(one) {
  const questions = one.answer?.value.assessment.questions ?? [];
  return questions.find(({ field, fields, could }) => could && !isAsked(one, fields ?? [field])) ?? null;
}

/**
 * The request that is asked with what is known.
 * @param {Case} one
 * @param {{place: string, available: string[], means: string, ready_in: number|null, can_phone: boolean}} here
 */
export function requestOf(one, here) {
  const request = {
    ...(one.from_when && { at: iso(one.from_when) }),
    readings: one.readings,
    findings: one.findings,
    from: one.now_at?.place ?? { facility: here.place },
    transport: { means: here.means, ready_in_minutes: one.referral?.departed ? 0 : here.ready_in },
    calls: one.calls.map(({ facility, answer }) => ({ facility, answer })),
  };
  // What the clinic can give counts only while she is there.
  if (!one.now_at && here.available.length) request.available_here = here.available;
  if (!here.can_phone) request.can_phone = false;
  return request;
}

const iso = (ms) => `${new Date(Math.floor(ms / 1000) * 1000).toISOString().slice(0, 19)}Z`;

/**
 * The answer to it. Time limits run from the moment at which the sign that sets the shortest one was
 * told: a later, milder answer never moves them.
 */
export function withRecommendation(one, answered, now) {
  const within = answered.value.assessment.within_minutes;
  const shorter = within !== null && (one.limit === null || within < one.limit);
  return {
    ...one,
    answer: { ...answered, given: now },
    from_when: within === null ? one.from_when : shorter || !one.from_when ? Date.parse(answered.value.assessment.assessed_at) : one.from_when,
    limit: within === null ? one.limit : Math.min(within, one.limit ?? within),
  };
}

/** When to measure again: null when nothing asks for it. */
export function measureAgainAt(one) {
  const again = one.answer?.value.assessment.measure_again;
  if (!again || one.closed) return null;
  const last = one.readings.at(-1);
  const from = last ? Date.parse(last.taken_at) : one.from_when ?? one.answer.given;
  return { at: from + again.after_minutes * 60000, from, why: again.why };
}

/**
 * The stops of her way: those of the place that was chosen instead, as long as the best one is still the one that
 * it was chosen over; else those of the best one, so that a better way that comes up later is never hidden.
 */
export function wayOf(one) {
  const { stages, alternatives } = one.answer?.value ?? { stages: [], alternatives: [] };
  const other = one.chosen && one.chosen.over === stages[0]?.facility && alternatives.find(({ stages: [first] }) => first.facility === one.chosen.to);
  return other ? { stages: other.stages, isOther: true } : { stages, isOther: false };
}

/** The place to be phoned: the first in the order of calls, else where she goes. */
export function placeToCall(one) {
  const { stages, isOther } = wayOf(one);
  const [call] = one.answer?.value.call_first ?? [];
  if (call && !isOther) return { facility: call.facility, name: call.name, phones: call.phones, wait: call.wait_minutes, otherwise: call.if_declined, unsure: true };
  const [stage] = stages;
  return stage ? { facility: stage.facility, name: stage.name, phones: stage.phones, wait: 5, otherwise: null, unsure: false } : null;
}

/** What was said on the telephone. */
export function withCall(one, facility, answer, now) {
  const others = one.calls.filter((call) => call.facility !== facility);
  const chosen = answer !== 'accepted' && one.chosen?.to === facility ? undefined : one.chosen;
  return { ...one, calls: [...others, { facility, answer, at: now }], calling: null, chosen };
}

export const calledAnswer = (one, facility) => one.calls.find((call) => call.facility === facility)?.answer ?? null;

const alphabet = '23456789ACEFHJKMNPRTWXY';

/** A referral's code from seven random numbers below 23 (docs/referral-life.md): the last letter checks. */
export function referralCode(numbers) {
  const values = numbers.slice(0, 7).map((value) => value % alphabet.length);
  const sum = values.reduce((so_far, value) => (so_far * 5 + value) % 23, 0);
  const check = (23 + 1 - ((sum * 5) % 23)) % 23;
  return [...values, check].map((value) => alphabet[value]).join('');
}
