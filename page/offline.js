/**
 * What lets the phone answer by itself: its engine and the district's pack, from the server or from a
 * file. Without either the page still works with the server.
 */
import { usePhone } from './api.js';
import { ask, askBytes } from './server.js';
import { keep, kept } from './store.js';

let core = null;
let starting = null;

/** @typedef {{bytes: ArrayBuffer, etag: string, confirmed: number}} KeptPack */

async function engine() {
  starting ??= import('./core.js').then(({ openCore }) => openCore());
  starting.catch(() => { starting = null; });
  core = await starting;
  return core;
}

/** Who has the page from this server has the key by which its packs are signed. */
async function publicKey() {
  const before = await kept('pack_key');
  if (before) return before;
  const { value } = await ask('GET', '/v1/pack-key');
  await keep('pack_key', value.public_key);
  return value.public_key;
}

async function load(bytes, confirmed) {
  const info = await (await engine()).loadPack(bytes, { publicKey: await publicKey(), confirmedAt: confirmed });
  usePhone(core);
  return info;
}

/** The pack that is on the phone already, then a newer one if there is one. */
export async function startOffline() {
  /** @type {KeptPack|undefined} */
  const before = await kept('pack');
  if (before) await load(before.bytes, before.confirmed).catch(() => {});
  await refreshPack().catch(() => {});
  setInterval(() => refreshPack().catch(() => {}), 10 * 60000);
  addEventListener('online', () => refreshPack().catch(() => {}));
}

/** Asks whether the pack is still the newest. A new one is used only once it has been checked. */
export async function refreshPack() {
  const before = await kept('pack');
  const { bytes, etag, date } = await askBytes('/v1/pack', before?.etag);
  const pack = { bytes: bytes ?? before.bytes, etag, confirmed: date };
  await load(pack.bytes, pack.confirmed);
  await keep('pack', pack);
}

/** A pack that was carried here. @throws when it is damaged, old in its form, or signed by another */
export async function packFromFile(file) {
  const bytes = await file.arrayBuffer();
  const info = await load(bytes, undefined);
  await keep('pack', { bytes, etag: '', confirmed: info.madeAt.getTime() });
  return info;
}
