/**
 * What lets the phone answer by itself: its engine and the district's pack, from the server or from a
 * file. Without either the page still works with the server.
 */
import { usePhone } from './api.js';
import { ask, askBytes } from './server.js';
import { keep, kept } from './store.js';

let core = null;
let starting = null;

/** @typedef {{bytes: ArrayBuffer, etag: string, key: string, confirmed: number|undefined}} KeptPack */

async function engine() {
  starting ??= import('./core.js').then(({ openCore }) => openCore());
  starting.catch(() => { starting = null; });
  core = await starting;
  return core;
}

async function load({ bytes, key, confirmed }) {
  const info = await (await engine()).loadPack(bytes, { publicKey: key, confirmedAt: confirmed });
  usePhone(core);
  return info;
}

/** The pack that is on the phone already, then a newer one if there is one. */
export async function startOffline() {
  const before = await kept('pack');
  if (before) await load(before).catch(() => {});
  await refreshPack().catch(() => {});
  setInterval(() => refreshPack().catch(() => {}), 10 * 60000);
  addEventListener('online', () => refreshPack().catch(() => {}));
}

/**
 * Asks whether the pack is still the newest. A new one is used only once it has been checked. The key
 * comes from the same server as the page: who has the page from it believes its packs.
 */
export async function refreshPack() {
  const before = await kept('pack');
  const { bytes, etag, date } = await askBytes('/v1/pack', before?.etag);
  if (!bytes) {
    if (core?.packInfo()) core.confirm(date);
    else await load(before);
    return keep('pack', { ...before, confirmed: date });
  }
  const key = (await ask('GET', '/v1/pack-key')).value.public_key;
  const pack = { bytes, etag, key, confirmed: date };
  await load(pack);
  return keep('pack', pack);
}

/**
 * A pack that was carried here, signed with the key that this phone had from its server.
 * @throws when it is damaged, old in its form, or signed by another
 */
export async function packFromFile(file) {
  const key = (await kept('pack'))?.key ?? (await ask('GET', '/v1/pack-key')).value.public_key;
  const pack = { bytes: await file.arrayBuffer(), etag: '', key, confirmed: undefined };
  const info = await load(pack);
  await keep('pack', pack);
  return info;
}
