/**
 * Talking to the server over HTTP: tokens, problems, time limits, the live stream. Only `api.js`, `outbox.js`
 * and `offline.js` ask over it; views take its errors, who is signed in, and what is followed live.
 */
import { keep, kept } from './store.js';

/** The server could not be reached, or not in time. */
export class Offline extends Error {}

/** The server said no (RFC 9457). */
export class Refused extends Error {
  constructor(status, problem) {
    super(problem?.detail ?? `HTTP ${status}`);
    this.status = status;
    this.problem = problem ?? {};
  }
}

/** Nobody is signed in, or the key was removed. */
export class SignedOut extends Error {}

let token = '';
let tokenUntil = 0;

/** @returns {Promise<{role: string, facilities: string[], account: string}|undefined>} */
export const session = () => kept('session');

async function exchange(authorization) {
  const answer = await send('POST', '/v1/tokens', {}, { Authorization: authorization });
  token = answer.value.token;
  tokenUntil = Date.now() + (answer.value.token_expires_in_s - 30) * 1000;
  const { refresh_secret, account, role, facilities, practice } = answer.value;
  await keep('session', { refresh_secret, account, role, facilities, practice });
  return session();
}

/** @param {string} key as `waybourne keys add` showed it */
export const signIn = (key) => exchange(`Waybourne-Key ${key.trim()}`);

/** A server without keys takes everybody on its own machine. */
export async function askWhetherOpen() {
  const answer = await fetch('/v1/facilities', { cache: 'no-store' }).catch(() => undefined);
  if (!answer) throw new Offline();
  if (answer.status === 401) return false;
  await keep('session', { open: true, account: '', role: 'open', facilities: [] });
  return true;
}

async function authorization() {
  const known = await session();
  if (!known) throw new SignedOut();
  if (known.open) return {};
  if (Date.now() >= tokenUntil) {
    try {
      await exchange(`Waybourne-Refresh ${known.refresh_secret}`);
    } catch (error) {
      if (error instanceof Refused && error.status === 401) throw new SignedOut();
      throw error;
    }
  }
  return { Authorization: `Bearer ${token}` };
}

async function send(method, path, body, headers, limit = 12000) {
  let answer;
  try {
    answer = await fetch(path, {
      method,
      headers: { ...(body !== undefined && { 'Content-Type': 'application/json' }), ...headers },
      body: body === undefined ? undefined : JSON.stringify(body),
      signal: AbortSignal.timeout(limit),
      cache: 'no-cache',
      credentials: 'omit',
    });
  } catch {
    throw new Offline();
  }
  const text = await answer.text().catch(() => {
    throw new Offline();
  });
  let value;
  try {
    value = JSON.parse(text);
  } catch {
    value = undefined;
  }
  if (!answer.ok) throw new Refused(answer.status, value);
  return { value, text, etag: answer.headers.get('ETag') ?? '', status: answer.status };
}

/**
 * @param {string} method
 * @param {string} path
 * @param {object} [body]
 * @param {{headers?: Record<string, string>, limit?: number}} [more] limit in milliseconds
 * @returns {Promise<{value: any, text: string, etag: string, status: number}>} `value`: of JSON, `text`: as it came
 * @throws {Offline|Refused|SignedOut}
 */
export async function ask(method, path, body, { headers = {}, limit } = {}) {
  try {
    return await send(method, path, body, { ...(await authorization()), ...headers }, limit);
  } catch (error) {
    if (!(error instanceof Refused) || error.status !== 401) throw error;
    tokenUntil = 0;  // the server was started anew and has forgotten its tokens
    return send(method, path, body, { ...(await authorization()), ...headers }, limit);
  }
}

/**
 * Bytes, e.g. the district's pack.
 * @returns {Promise<{bytes: ArrayBuffer|null, etag: string, date: number}>} no bytes: as they were
 */
export async function askBytes(path, etag = '') {
  let answer;
  try {
    answer = await fetch(path, { headers: { ...(await authorization()), ...(etag && { 'If-None-Match': etag }) }, signal: AbortSignal.timeout(120000), cache: 'no-store', credentials: 'omit' });
  } catch (error) {
    if (error instanceof SignedOut) throw error;
    throw new Offline();
  }
  const date = Date.parse(answer.headers.get('Date') ?? '') || Date.now();
  if (answer.status === 304) return { bytes: null, etag, date };
  if (!answer.ok) throw new Refused(answer.status);
  return { bytes: await answer.arrayBuffer(), etag: answer.headers.get('ETag') ?? '', date };
}

/** How soon a look that failed is tried again, in milliseconds. */
const nextLook = 5000;
/** The server says something every 15 seconds: a stream that is silent for much longer is dead. */
const longestSilence = 40000;

/**
 * Keeps what a view shows true. `load` is called at once; whenever the stream of `/v1/live` comes to stand,
 * since what was told before that is not in it; after every event that concerns the view; and while there is
 * no stream, each time one is tried. A look that fails is tried again.
 * @param {() => Promise<void>} load throws when it could not look
 * @param {(event: {name: string, data: any}) => boolean} concerns
 * @param {(connected: boolean) => void} [state] whether changes are shown as they happen
 * @returns {Promise<() => void>} after the first look; ends it
 */
export async function follow(load, concerns, state = () => {}) {
  const stop = new AbortController();
  let timer = 0;
  const look = async () => {
    clearTimeout(timer);
    await load().catch(() => {
      clearTimeout(timer);
      if (!stop.signal.aborted) timer = setTimeout(look, nextLook);
    });
  };
  const first = look();
  followStream(stop.signal, (event) => concerns(event) && look(), (connected) => {
    state(connected);
    look();
  });
  await first;
  return () => {
    clearTimeout(timer);
    stop.abort();
  };
}

/** Comes back after losing the connection, from where it was. */
async function followStream(signal, told, state) {
  let last = '';
  let wait = 1000;
  const listen = async () => {
    const silent = new AbortController();
    let timer = 0;
    const heard = () => {
      clearTimeout(timer);
      timer = setTimeout(() => silent.abort(), longestSilence);
    };
    const end = () => silent.abort();
    signal.addEventListener('abort', end);
    try {
      heard();
      const answer = await fetch('/v1/live', {
        headers: { ...(await authorization()), ...(last && { 'Last-Event-ID': last }) },
        signal: silent.signal,
        cache: 'no-store',
        credentials: 'omit',
      });
      if (!answer.ok) throw new Refused(answer.status);
      state(true);
      wait = 1000;
      const reader = answer.body.pipeThrough(new TextDecoderStream()).getReader();
      let text = '';
      for (;;) {
        const { value, done } = await reader.read();
        if (done) return;
        heard();
        text += value;
        const blocks = text.split('\n\n');
        text = blocks.pop();
        for (const block of blocks) last = hear(block, told) || last;
      }
    } finally {
      clearTimeout(timer);
      signal.removeEventListener('abort', end);
    }
  };
  while (!signal.aborted) {
    await listen().catch(() => {});
    if (signal.aborted) return;
    state(false);
    await new Promise((resolve) => setTimeout(resolve, wait));
    wait = Math.min(wait * 2, 30000);
  }
}

function hear(block, told) {
  const fields = Object.fromEntries(
    block.split('\n').filter((line) => /^(id|event|data):/.test(line)).map((line) => [line.split(':')[0], line.slice(line.indexOf(':') + 1).trim()]),
  );
  if (fields.event) told({ name: fields.event, data: JSON.parse(fields.data || '{}') });
  return fields.id ?? '';
}
