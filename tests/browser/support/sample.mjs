// The sample district, served by the program that was built (or, to try a page in the making, by whatever
// answers at WAYBOURNE_ADDRESS), and a browser that knows nothing yet.
import assert from 'node:assert/strict';
import { spawn, spawnSync } from 'node:child_process';
import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { after } from 'node:test';
import { fileURLToPath } from 'node:url';
import { chromium } from 'playwright-core';

export const root = join(dirname(fileURLToPath(import.meta.url)), '..', '..', '..');
export const program = process.env.WAYBOURNE_PROGRAM ?? join(root, 'build', 'release', 'server', 'waybourne');
const browser = process.env.WAYBOURNE_BROWSER ?? '/usr/bin/chromium';
const flags = [
  '--headless', '--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking',
  '--disable-component-update', '--disable-sync',
];

export const phone = { width: 360, height: 640 };
export const desk = { width: 1280, height: 800 };
export const languages = ['en', 'fr', 'sw'];

/**
 * Every test is served a moment, so that nothing hangs on the hour at which the tests run: a morning, or what
 * WAYBOURNE_MOMENT says. It runs on from there, for the server and for the page alike.
 */
const isElsewhere = Boolean(process.env.WAYBOURNE_ADDRESS);
const moment = isElsewhere ? Date.now() : Date.parse(process.env.WAYBOURNE_MOMENT ?? '2026-03-04T09:40:00Z');
assert.ok(moment, 'WAYBOURNE_MOMENT is a moment such as 2026-03-04T22:40:00Z');
/** Milliseconds, as `Date.now()` says on the page. */
export const now = () => Math.round(moment + performance.now());
/** RFC 3339 in UTC, whole seconds. */
export const instant = (ms) => new Date(ms).toISOString().replace(/\.\d+Z$/, 'Z');

const folders = [];
process.on('exit', () => folders.forEach((path) => rmSync(path, { recursive: true, force: true })));

/** A folder of its own that goes with the tests. */
export function folder() {
  const path = mkdtempSync(join(tmpdir(), 'waybourne-browser-'));
  folders.push(path);
  return path;
}

/**
 * @param {string[]} more arguments of `serve`
 * @returns {Promise<{address: string, stop: () => Promise<void>}>}
 */
export async function serve(...more) {
  if (isElsewhere && !more.length) return { address: process.env.WAYBOURNE_ADDRESS, stop: async () => {} };
  assert.ok(existsSync(program), `${program} is not built`);
  const otherwise = (name, value) => (more.includes(name) ? [] : [name, value]);
  const child = spawn(program, ['serve', ...otherwise('--port', '0'), ...otherwise('--now', instant(now())), ...otherwise('--journal', join(folder(), 'journal.db')), ...more], { cwd: root, stdio: ['ignore', 'pipe', 'ignore'] });
  const address = await new Promise((resolve, reject) => {
    let heard = '';
    child.stdout.on('data', (piece) => {
      heard += piece;
      const found = heard.match(/https?:\/\/[\d.]+:\d+/);
      if (found) resolve(found[0]);
    });
    child.on('exit', (code) => reject(new Error(`serve ended with ${code}`)));
  });
  const ended = new Promise((resolve) => child.removeAllListeners('exit').on('exit', resolve));
  const stop = () => {
    child.kill('SIGTERM');
    return ended;
  };
  served.push(stop);
  return { address, stop };
}

// A test that fails leaves its server and its browser: without this the program would wait for them for ever.
const served = [];
const opened = [];
after(() => Promise.all([...served.map((stop) => stop()), ...opened.map((context) => context.close().catch(() => {}))]));

/** A key, as its holder gets it once. */
export function makeKey(file, role, account, ...facilities) {
  const made = spawnSync(program, ['keys', 'add', '--keys', file, '--role', role, ...facilities.flatMap((id) => ['--facility', id]), account], { encoding: 'utf8' });
  assert.equal(made.status, 0, made.stderr);
  return made.stdout.match(/\S+\.\S{43}/)[0];
}

/**
 * A browser with a memory of its own, in which every request is written down.
 * @param {{size?: {width: number, height: number}, language?: string, memory?: string, motion?: 'reduce'|'no-preference', at?: number|null}} how
 *   `at`: the moment at which the page's clock begins, in ms; null leaves it as the machine's
 */
export async function openBrowser({ size = phone, language = 'en', memory = folder(), motion = 'no-preference', at = isElsewhere ? null : now(), args = [], ...more } = {}) {
  const context = await chromium.launchPersistentContext(memory, {
    executablePath: browser, args: [...flags, ...args], viewport: size, locale: language, reducedMotion: motion, timezoneId: 'Etc/UTC', ...more,
  });
  opened.push(context);
  if (at !== null) await context.clock.install({ time: at });
  const requests = [];
  const errors = [];
  context.on('request', (request) => requests.push(request.url()));
  const page = context.pages()[0] ?? (await context.newPage());
  page.setDefaultTimeout(20000);
  page.on('pageerror', (error) => errors.push(error.message));
  page.on('console', (message) => {
    // A missing part of the page is an error; what the network does in these tests is not.
    if (message.type() === 'error' && /Content Security Policy|Refused to/.test(message.text())) errors.push(message.text());
  });
  return { context, page, requests, errors, memory };
}

/** The browser's own process ends at once, as when a phone kills it. */
export async function kill(context, memory) {
  const found = spawnSync('pgrep', ['-f', '--', `--user-data-dir=${memory}`], { encoding: 'utf8' });
  const ended = new Promise((resolve) => context.on('close', resolve));
  for (const id of found.stdout.split('\n').filter(Boolean)) process.kill(Number(id), 'SIGKILL');
  await ended;
  rmSync(join(memory, 'SingletonLock'), { force: true });
}

/** Waits, half a minute at most, until it holds; gives what `holds` gave. */
export async function until(what, holds) {
  for (let tries = 0; tries < 120; tries += 1) {
    const value = await holds();
    if (value) return value;
    await new Promise((resolve) => setTimeout(resolve, 250));
  }
  return assert.fail(what);
}

/** From the first load to the first screen of a phone that stands at a place. */
export async function settleAt(page, address, place = 'Kezhiru clinic') {
  await page.goto(`${address}/`);
  await page.getByRole('button', { name: place, exact: true }).click();
  await page.locator('main > button.main').click();
  await page.locator('.stack .large').first().waitFor();
}

const pictures = join(root, 'build', 'screenshots');

/** Kept as an artefact of the build, to be looked at. */
export async function picture(page, name) {
  mkdirSync(pictures, { recursive: true });
  await page.screenshot({ path: join(pictures, `${name}.png`) });
}

/** The page's words in a language, by key. */
export function catalogue(language) {
  return JSON.parse(readFileSync(join(root, 'page', 'texts', `${language}.json`), 'utf8')).texts;
}

/** A text of a catalogue with whatever values in it: `{code}` stands for each `value`, a space for any space. */
export function filled(text, value = '.+') {
  const literal = (part) => part.replace(/[.*+?^${}()|[\]\\]/g, '\\$&').replace(/ /g, '\\s');
  return new RegExp(`^${text.split(/\{\w+\}/).map(literal).join(`(${value})`)}$`);
}

/**
 * What the page remembers: everything of a store, or what is kept under a key; written first where a value is
 * given.
 */
export function inStore(page, store, key, value) {
  return page.evaluate(([name, wanted, given]) => new Promise((resolve, reject) => {
    const asked = indexedDB.open('waybourne');
    asked.onerror = () => reject(asked.error);
    asked.onsuccess = () => {
      const database = asked.result;
      const from = database.transaction(name, 'readwrite').objectStore(name);
      if (given) from.put(given);
      const got = wanted ? from.get(wanted) : from.getAll();
      // Bytes of a pack are not carried over: that they are there is enough.
      const small = (one) => one && JSON.parse(JSON.stringify(one));
      got.onsuccess = () => { database.close(); resolve(Array.isArray(got.result) ? got.result.map(small) : small(got.result)); };
      got.onerror = () => reject(got.error);
    };
  }), [store, key, value]);
}

/** Keys of the number pad. */
export async function type(page, digits) {
  for (const digit of digits) await page.locator('.keys button').filter({ hasText: new RegExp(`^${digit === '.' ? '[.,]' : digit}$`) }).click();
}
