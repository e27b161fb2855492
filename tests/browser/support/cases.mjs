// Random questions about women in a district: what a health worker could enter, and now and then what nobody
// should. The same seed gives the same cases.

/** mulberry32, a small generator of well-spread numbers (public domain, Tommy Ettinger). */
export function randomFrom(seed) {
  let state = seed >>> 0;
  const next = () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = state;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
  const below = (end) => Math.floor(next() * end);
  return {
    below,
    chance: (share) => next() < share,
    among: (list) => list[below(list.length)],
    between: (least, most, decimals = 0) => Number((least + next() * (most - least)).toFixed(decimals)),
  };
}

const means = ['on_foot', 'motorcycle', 'car', 'four_wheel_drive'];
const answers = ['accepted', 'refused', 'no_answer'];
const instant = (ms) => new Date(ms).toISOString().replace(/\.\d+Z/, 'Z');

function reading(random, now) {
  return {
    taken_at: instant(now - random.below(5 * 3600) * 1000),
    ...(random.chance(0.9) && { systolic_mmhg: random.between(60, 200) }),
    ...(random.chance(0.9) && { diastolic_mmhg: random.between(30, 130) }),
    ...(random.chance(0.9) && { pulse_per_minute: random.between(40, 180) }),
  };
}

function valueOf(field, random) {
  if (field.type === 'sign') return random.among(['yes', 'no', 'no', 'unknown']);
  if (field.type === 'choice') return random.among(field.choices);
  const { from, to } = field.accept;
  return random.between(from, to, random.chance(0.02) || field.name === 'temp_c' ? 1 : 0);
}

function findings(fields, random) {
  const share = random.among([0.03, 0.1, 0.3, 0.9]);
  const own = fields.filter((field) => !field.in_readings && random.chance(field.name === 'status' ? 0.9 : share));
  return Object.fromEntries(own.map((field) => [field.name, valueOf(field, random)]));
}

function place(facilities, random) {
  const near = random.among(facilities);
  if (random.chance(0.5)) return { facility: near.id };
  const spread = random.among([0.001, 0.02, 0.2]); // the last is off the map now and then
  return {
    latitude: random.between(near.latitude - spread, near.latitude + spread, 6),
    longitude: random.between(near.longitude - spread, near.longitude + spread, 6),
  };
}

/** What nobody should send, in every part of a request. */
function spoiled(request, random) {
  const ways = [
    () => ({ ...request, findings: { ...request.findings, convulsoins: 'yes' } }),
    () => ({ ...request, from: { latitude: 97.1, longitude: 200 } }),
    () => ({ ...request, from: undefined }),
    () => ({ ...request, from: { facility: 'kezhiru-clinc' } }),
    () => ({ ...request, at: '2031-01-01T00:00:00Z' }),
    () => ({ ...request, at: 'today' }),
    () => ({ ...request, transport: { means: 'carr', ready_in_minutes: -3 } }),
    () => ({ ...request, findings: { ...request.findings, temp_c: 412, convulsions: true } }),
    () => ({ ...request, readings: [{ taken_at: request.at, systolic_mmhg: 60, diastolic_mmhg: 120 }] }),
    () => ({ ...request, readings: [{ systolic_mmhg: 1e3 }], available_here: ['blod_transfusion'] }),
    () => ({ ...request, calls: [{ facility: 'nowhere', answer: 'accepted' }] }),
  ];
  return random.among(ways)();
}

/**
 * @param {{fields: any[], facilities: any[], capabilities: string[], now: number}} district `now` in ms
 * @returns {{path: string, body: string}}
 */
export function randomCase({ fields, facilities, capabilities, now }, random) {
  const request = {
    ...(random.chance(0.8) && { at: instant(now - random.below(2 * 3600) * 1000) }),
    readings: Array.from({ length: random.among([0, 1, 1, 1, 2, 3]) }, () => reading(random, now)),
    findings: findings(fields, random),
    available_here: capabilities.filter(() => random.chance(0.08)),
  };
  if (random.chance(0.1)) return { path: '/v1/assessments', body: JSON.stringify(request) };
  if (random.chance(0.1)) {
    const route = { from: place(facilities, random), to: place(facilities, random), means: random.among(means) };
    return { path: '/v1/routes', body: JSON.stringify({ ...route, ...(random.chance(0.5) && { leave_at: instant(now + random.below(86400) * 1000) }) }) };
  }
  request.from = place(facilities, random);
  if (random.chance(0.8)) request.transport = { means: random.among(means), ready_in_minutes: random.below(90) };
  if (random.chance(0.5)) request.road_conditions = { surface: random.among(['dry', 'wet']), light: random.among(['day', 'night']) };
  if (random.chance(0.2)) request.can_phone = random.chance(0.5);
  if (random.chance(0.3)) {
    const called = new Set(Array.from({ length: 1 + random.below(4) }, () => random.among(facilities).id));
    request.calls = [...called].map((facility) => ({ facility, answer: random.among(answers) }));
  }
  const body = JSON.stringify(random.chance(0.06) ? spoiled(request, random) : request);
  return { path: '/v1/recommendations', body: random.chance(0.01) ? body.slice(0, -3) : body };
}
