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

const serverKey = async () => (await ask('GET', '/v1/pack-key')).value.public_key;

/**
 * Loads a pack with the key that is known. Where that is refused the server is asked for its key again: it
 * may have a new one since. The key comes from the same server as the page: who has the page from it
 * believes its packs.
 * @param {KeptPack} pack
 * @returns {Promise<{info: any, pack: KeptPack}>} with the key that fits
 * @throws when it is damaged, old in its form, or signed by another
 */
async function loadTrusted(pack) {
  try {
    return { info: await load(pack), pack };
  } catch (refused) {
    const key = await serverKey().catch(() => pack.key);
    if (key === pack.key) throw refused;
    const renewed = { ...pack, key };
    return { info: await load(renewed), pack: renewed };
  }
}

let loading = null;

/** The pack that is on the phone already, if there is one; loaded once. */
export function loadKept() {
  loading ??= (async () => {
    const before = await kept('pack');
    if (!before) return;
    const { pack } = await loadTrusted(before);
    if (pack !== before) await keep('pack', pack);
  })().catch(() => { loading = null; });
  return loading;
}

/** The pack that is on the phone already, then a newer one if there is one. */
export async function startOffline() {
  await loadKept();
  // With the key alone a phone can already take a pack that somebody carries to it.
  if (!(await kept('pack_key'))) await serverKey().then((key) => keep('pack_key', key)).catch(() => {});
  await refreshPack().catch(() => {});
  setInterval(() => refreshPack().catch(() => {}), 10 * 60000);
  addEventListener('online', () => refreshPack().catch(() => {}));
}

/** Asks whether the pack is still the newest. A new one is used only once it has been checked. */
export async function refreshPack() {
  const before = await kept('pack');
  // One that could not be used is not the newest, whatever its tag says.
  const { bytes, etag, date } = await askBytes('/v1/pack', core?.packInfo() ? before?.etag : '');
  if (!bytes) {
    core.confirm(date);
    return keep('pack', { ...before, confirmed: date });
  }
  const pack = { bytes, etag, key: await serverKey(), confirmed: date };
  await load(pack);
  return keep('pack', pack);
}

/**
 * A pack that was carried here. It is used when it is newer than the one on the phone.
 * @returns {Promise<{info: any, isOlder: boolean}>}
 * @throws when it is damaged, old in its form, or signed by another
 */
export async function packFromFile(file) {
  const before = await kept('pack');
  const key = before?.key ?? (await kept('pack_key')) ?? (await serverKey());
  const given = { bytes: await file.arrayBuffer(), etag: '', key, confirmed: undefined };
  const known = core?.packInfo();
  const { info, pack } = await loadTrusted(given);
  if (known && info.madeAt < known.madeAt) {
    await load(before);
    return { info, isOlder: true };
  }
  await keep('pack', { ...pack, etag: `"${info.sha256}"` });
  return { info, isOlder: false };
}

/** The pack of this phone as a file, for a phone that has no connection. */
export async function packAsFile() {
  const { bytes } = await kept('pack');
  return new Blob([bytes], { type: 'application/octet-stream' });
}
