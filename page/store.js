/**
 * What the phone remembers, in IndexedDB. Everything is written to the disk before the screen goes on
 * (`durability: strict`), so that a browser that is killed or a battery that dies loses nothing.
 *
 * | store    | holds                                                        | key    |
 * |----------|--------------------------------------------------------------|--------|
 * | `cases`  | one woman each: findings, half-typed digits, answer, times   | `id`   |
 * | `outbox` | what must still be sent                                      | `id`   |
 * | `kept`   | settings, session, places, protocol, first actions           | `name` |
 */

const keyPaths = { cases: 'id', outbox: 'id', kept: 'name' };
let opened;

function open() {
  opened ??= new Promise((resolve, reject) => {
    const asked = indexedDB.open('waybourne', 1);
    asked.onupgradeneeded = () => {
      for (const [name, keyPath] of Object.entries(keyPaths)) asked.result.createObjectStore(name, { keyPath });
    };
    asked.onsuccess = () => {
      // A newer page in another tab may need to change the stores: let it.
      asked.result.onversionchange = () => asked.result.close();
      resolve(asked.result);
    };
    asked.onerror = () => reject(asked.error);
  });
  return opened;
}

async function run(store, mode, work) {
  const database = await open();
  return new Promise((resolve, reject) => {
    const transaction = database.transaction(store, mode, { durability: 'strict' });
    const asked = work(transaction.objectStore(store));
    transaction.oncomplete = () => resolve(asked?.result);
    transaction.onabort = () => reject(transaction.error);
    transaction.onerror = () => reject(transaction.error);
  });
}

export const get = (store, key) => run(store, 'readonly', (from) => from.get(key));
export const all = (store) => run(store, 'readonly', (from) => from.getAll());
/** Written when this resolves. */
export const put = (store, value) => run(store, 'readwrite', (into) => into.put(value));
export const remove = (store, key) => run(store, 'readwrite', (from) => from.delete(key));

/** A setting or something kept; undefined when there is none. */
export async function kept(name) {
  return (await get('kept', name))?.value;
}
export const keep = (name, value) => put('kept', { name, value });

/** Everything, e.g. when somebody signs out. */
export async function forgetEverything() {
  for (const store of Object.keys(keyPaths)) await run(store, 'readwrite', (all) => all.clear());
}
