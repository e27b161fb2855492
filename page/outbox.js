/**
 * What must be sent, kept until the server has it. Every entry has its own Idempotency-Key and a body
 * that never changes, so that sending it again is harmless; entries go one after the other in the order
 * in which they were written. Events carry the time at which they happened and `recorded_late`: they
 * are never refused because others were quicker.
 */
import { ask, Offline, Refused } from './server.js';
import { all, put, remove } from './store.js';

let listeners = [];
let running = null;
let isAskedAgain = false;
let timer = 0;

/** @param {(entries: any[]) => void} heard called after every change */
export function onOutbox(heard) {
  listeners.push(heard);
}
async function changed() {
  const entries = await all('outbox');
  listeners.forEach((heard) => heard(entries));
}

let lastId = 0;
/**
 * Grows with time, also within one millisecond: of events of one second the order is that of ids. Begins with a
 * letter behind the server's `e`: what follows an opening in the same second stands behind it.
 */
export function growingId() {
  lastId = Math.max(Date.now(), lastId + 1);
  const random = crypto.getRandomValues(new Uint32Array(1))[0].toString(36).padStart(7, '0');
  return `p${lastId.toString(36).padStart(9, '0')}-${random}`;
}

/** Stores it, then tries to send. Resolves once it is stored. */
export async function post(caseId, path, body) {
  const id = growingId();
  await put('outbox', { id, case_id: caseId, path, body, key: id, state: 'waiting', detail: '' });
  await changed();
  flush();
}

export const waiting = async () => (await all('outbox')).filter((entry) => entry.state === 'waiting');

/**
 * Sends what waits; one run at a time, in one tab at a time. What is written during a run may not be in its list:
 * another run follows it.
 */
export function flush() {
  isAskedAgain = running !== null;
  running ??= (navigator.locks ? navigator.locks.request('waybourne-outbox', run) : run()).finally(() => {
    running = null;
    if (isAskedAgain) flush();
  });
  return running;
}

async function run() {
  clearTimeout(timer);
  for (const entry of await waiting()) {
    try {
      await ask('POST', entry.path, entry.body, { headers: { 'Idempotency-Key': entry.key } });
      await remove('outbox', entry.id);
    } catch (error) {
      if (!isFinal(error)) {
        timer = setTimeout(flush, 20000);
        break;
      }
      await put('outbox', { ...entry, state: 'refused', detail: error.message });
    }
    await changed();
  }
}

/** A refusal that trying again does not mend. */
function isFinal(error) {
  return error instanceof Refused && error.status < 500 && ![401, 408, 429].includes(error.status) && !(error instanceof Offline);
}

/** Whoever reads that something was refused may put it away. */
export async function dismiss(id) {
  await remove('outbox', id);
  await changed();
}

addEventListener('online', flush);
addEventListener('visibilitychange', () => document.visibilityState === 'visible' && flush());
