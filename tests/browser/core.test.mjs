// The core on the phone answers as the server does, byte for byte, and takes only packs it can trust.
import assert from 'node:assert/strict';
import { spawn, spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { openPage, root, serveCore } from './support/core_page.mjs';
import { randomCase, randomFrom } from './support/cases.mjs';

const program = process.env.WAYBOURNE_PROGRAM ?? join(root, 'build', 'release', 'server', 'waybourne');
const start = '2026-03-04T09:40:00Z';
const seed = 20260304;
const rounds = 10;
const cases = 2000;

let folder;
let child;
let server; // its address
let origin; // of the empty page
let browser;
let key;

before(async () => {
  assert.ok(existsSync(program), `${program} is not built`);
  assert.ok(existsSync(join(root, 'page', 'core', 'waybourne.wasm')), 'the core is not built');
  folder = mkdtempSync(join(tmpdir(), 'waybourne-core-'));
  child = spawn(program, ['serve', '--port', '0', '--now', start, '--journal', join(folder, 'journal.db'), '--pack-key', join(folder, 'pack.key')], {
    cwd: root, stdio: ['ignore', 'pipe', 'ignore'],
  });
  server = await new Promise((resolve, reject) => {
    let heard = '';
    child.stdout.on('data', (piece) => {
      heard += piece;
      const found = heard.match(/http:\/\/127\.0\.0\.1:\d+/);
      if (found) resolve(found[0]);
    });
    child.on('exit', (code) => reject(new Error(`serve ended with ${code}`)));
  });
  key = (await (await fetch(`${server}/v1/pack-key`)).json()).public_key;
  origin = await serveCore();
  browser = await openPage(origin.address, join(folder, 'browser'));
  await browser.tab.evaluate(async () => {
    const { openCore } = await import('/page/core.js');
    globalThis.core = await openCore();
  });
});

after(async () => {
  await browser?.context.close();
  origin?.close();
  child?.removeAllListeners('exit');
  child?.kill('SIGTERM');
  rmSync(folder, { recursive: true, force: true });
});

async function send(method, path, body, language = '') {
  const answer = await fetch(server + path, {
    method, headers: { ...(body && { 'Content-Type': 'application/json' }), ...(language && { 'Accept-Language': language }) }, body,
  });
  return { status: answer.status, contentType: answer.headers.get('content-type'), text: await answer.text() };
}

/** Lets the phone load what the server has for it now. */
async function loadPack(bytes, publicKey = key) {
  const name = `/pack-${origin.packs.size}`;
  origin.packs.set(name, Buffer.from(bytes));
  return browser.tab.evaluate(async ([path, trusted]) => {
    const answer = await fetch(path);
    try {
      return { info: await globalThis.core.loadPack(answer, { publicKey: trusted }) };
    } catch (error) {
      return { status: error.status, problem: error.problem };
    }
  }, [name, publicKey]);
}

const newestPack = async () => new Uint8Array(await (await fetch(`${server}/v1/pack`)).arrayBuffer());

/**
 * The server's clock shows `start` and the time since it began; only its whole seconds can be seen from
 * outside. How far it is ahead of ours is found at the turn of a second.
 */
async function clockOffset() {
  const shown = async () => {
    const sent = performance.now();
    const { at } = await (await fetch(`${server}/v1/road-conditions`)).json();
    return { at: Date.parse(at), middle: (sent + performance.now()) / 2, took: performance.now() - sent };
  };
  for (let before = await shown(); ;) {
    const next = await shown();
    if (next.at > before.at && before.took < 100 && next.took < 100) return next.at - (before.middle + next.middle) / 2;
    before = next;
  }
}

/** Sends the case again when the second turned while it was answered: `now` is what the server went by. */
async function answeredByServer({ path, body, language }, offset) {
  const unsure = 120; // ms that the offset may be wrong by
  for (;;) {
    const least = performance.now() + offset - unsure;
    const answer = await send('POST', path, body, language);
    const most = performance.now() + offset + unsure;
    if (Math.floor(least / 1000) === Math.floor(most / 1000)) return { ...answer, now: Math.floor(least / 1000) * 1000 };
    await new Promise((resolve) => setTimeout(resolve, Math.max(0, 1000 - ((most - 2 * unsure) % 1000)) % 300));
  }
}

/** Something changes on the roads and in a place of care, told to the server. */
async function change(random, facilities, roads, now) {
  const until = new Date(now + 86400000).toISOString().replace(/\.\d+Z/, 'Z');
  for (let i = 0; i < 2; ++i) {
    const kind = random.among(['closed', 'closed', 'slower']);
    const told = await send('POST', '/v1/road-conditions', JSON.stringify({
      kind, where: { road: random.among(roads) }, until, reason: 'water on the road', ...(kind === 'slower' && { slower_by: random.between(1, 9, 3) }),
    }));
    assert.ok([200, 201].includes(told.status), told.text);
  }
  const { id } = random.among(facilities);
  const told = await send('POST', `/v1/facilities/${id}/readiness`, JSON.stringify({
    reports: [{ about: 'whole_facility', state: random.among(['ready', 'not_ready']), until }],
  }));
  assert.ok([200, 201].includes(told.status), told.text);
}

test(`${cases} random cases are answered as the server answers them, byte for byte`, { timeout: 600_000 }, async () => {
  const random = randomFrom(seed);
  const { fields } = await (await fetch(`${server}/v1/protocol`)).json();
  const { facilities } = await (await fetch(`${server}/v1/facilities`)).json();
  const capabilities = [...new Set(facilities.flatMap((facility) => facility.capabilities))];
  const map = readFileSync(join(root, 'maps-sample', 'roads.osm'), 'utf8');
  const ways = map.match(/<way [^]*?<\/way>/g).filter((way) => /k=["']highway["']/.test(way));
  const roads = [...new Set(ways.map((way) => way.match(/k=["']name["'] v=["']([^"']+)["']/)?.[1]).filter(Boolean))];
  const offset = await clockOffset();
  const seen = new Map();
  let equal = 0;
  for (let round = 0; round < rounds; ++round) {
    const now = performance.now() + offset;
    if (round > 0) await change(random, facilities, roads, now);
    const { info, problem } = await loadPack(await newestPack());
    assert.ok(info, JSON.stringify(problem));
    const district = { fields, facilities, capabilities, now };
    const asked = Array.from({ length: cases / rounds }, () => ({ ...randomCase(district, random), language: random.among(['', 'en', 'fr', 'sw']) }));
    const answered = [];
    for (const one of asked) answered.push(await answeredByServer(one, offset));
    const onPhone = await browser.tab.evaluate(
      (questions) => Promise.all(questions.map(({ path, body, language, now }) => globalThis.core.ask('POST', path, body, { language, now }))),
      asked.map((one, i) => ({ ...one, now: answered[i].now })),
    );
    for (const [i, phone] of onPhone.entries()) {
      const { status, contentType, text, now: at } = answered[i];
      const what = `seed ${seed}, round ${round}, case ${i} at ${new Date(at).toISOString()}: ${asked[i].path} ${asked[i].body}`;
      assert.equal(phone.text, text, what);
      assert.equal(phone.status, status, what);
      assert.equal(phone.contentType, contentType, what);
      const kind = status === 200 ? (JSON.parse(text).outcome ?? asked[i].path) : String(status);
      seen.set(kind, (seen.get(kind) ?? 0) + 1);
      ++equal;
    }
  }
  console.log(`${equal} answers were equal: ${[...seen].map(([kind, count]) => `${count} ${kind}`).join(', ')}`);
  assert.equal(equal, cases);
  // the cases reach what they should
  for (const kind of ['in_time', 'late', 'stay', '/v1/assessments', '/v1/routes', '400', '404']) assert.ok(seen.get(kind) > 0, kind);
});

test('The protocol and the places of care are the server\'s too', async () => {
  const { facilities } = await (await fetch(`${server}/v1/facilities`)).json();
  await loadPack(await newestPack());
  for (const path of ['/v1/protocol', '/v1/facilities', ...facilities.map(({ id }) => `/v1/facilities/${id}`), '/v1/facilities/nowhere', '/v1/nothing']) {
    const { status, text } = await send('GET', path);
    const phone = await browser.tab.evaluate((asked) => globalThis.core.ask('GET', asked), path);
    assert.deepEqual([phone.status, phone.text], [status, text], path);
  }
});

test('What a pack is and how old it is can be read', async () => {
  const bytes = await newestPack();
  const { info } = await loadPack(bytes);
  assert.equal(info.district, 'Oruvesh');
  assert.equal(info.bytes, bytes.length);
  assert.ok(info.facilities > 0 && info.reports > 0);
  const ages = await browser.tab.evaluate(() => {
    const { madeAt } = globalThis.core.packInfo();
    const later = madeAt.getTime() + 3_600_000;
    const first = globalThis.core.packAge(later);
    globalThis.core.confirm(later - 60_000);
    return [first, globalThis.core.packAge(later), globalThis.core.packAge(madeAt.getTime() - 5000)];
  });
  assert.deepEqual(ages, [3_600_000, 60_000, 0]);
});

test('A damaged, foreign or older pack is refused with the reason, and the one before goes on', async () => {
  const good = await newestPack();
  const { info } = await loadPack(good);
  const changed = (at, value) => {
    const bytes = Uint8Array.from(good);
    bytes[at] = value ?? bytes[at] ^ 1;
    return bytes;
  };
  const otherKey = join(folder, 'other.key');
  const file = join(folder, 'other.pack');
  const made = spawnSync(program, ['pack', '--key', otherKey, '--output', file, '--now', start], { cwd: root, encoding: 'utf8' });
  assert.equal(made.status, 0, made.stderr);
  const foreign = readFileSync(file);
  const forged = Buffer.from(foreign);
  forged.write(key, 72, 'hex');
  for (const [what, bytes, why] of [
    ['not a pack', new TextEncoder().encode('<!doctype html>'), /no district pack/],
    ['cut short', good.slice(0, good.length - 1), /cut short/],
    ['a bit changed in it', changed(good.length - 100), /damaged/],
    ['older', changed(8, 0), /older version/],
    ['its time changed', changed(33), /signature/],
    ['its signature changed', changed(120), /signature/],
    ['of another server', foreign, /another server/],
    ['of another server, with our key written in', forged, /signature/],
  ]) {
    const { status, problem } = await loadPack(bytes);
    assert.equal(status, 422, what);
    assert.equal(problem.type, '/problems/unusable-pack', what);
    assert.match(problem.detail, why, what);
  }
  assert.deepEqual(await browser.tab.evaluate(() => globalThis.core.packInfo().sha256), info.sha256);
  const { status } = await browser.tab.evaluate(() => globalThis.core.ask('GET', '/v1/protocol'));
  assert.equal(status, 200);
});

test('A pack from a file is taken as the one from the server is', async () => {
  const file = join(folder, 'stick.pack');
  const made = spawnSync(program, ['pack', '--key', join(folder, 'pack.key'), '--output', file, '--now', start], { cwd: root, encoding: 'utf8' });
  assert.equal(made.status, 0, made.stderr);
  const { info } = await loadPack(readFileSync(file));
  assert.equal(info.madeAt.toISOString(), '2026-03-04T09:40:00.000Z');
});

test('Without a pack it says so, and refusals come as problems', async () => {
  const told = await browser.tab.evaluate(async () => {
    const { openCore } = await import('/page/core.js');
    const empty = await openCore();
    const caught = async (asked) => asked.then(() => null, ({ name, status, problem }) => ({ name, status, problem }));
    const answers = [await caught(empty.recommend({})), empty.packInfo(), empty.packAge(), await caught(globalThis.core.assess({ findings: { convulsoins: 'yes' } }))];
    empty.close();
    return answers;
  });
  assert.equal(told[0].status, 503);
  assert.equal(told[0].name, 'CoreProblem');
  assert.deepEqual(told.slice(1, 3), [null, null]);
  assert.equal(told[3].status, 400);
  assert.match(told[3].problem.errors[0].detail, /convulsions/);
});

test('Nothing was against the page\'s strict policy', () => {
  assert.deepEqual(browser.errors, []);
});
