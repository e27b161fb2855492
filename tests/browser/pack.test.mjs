// A district pack that somebody carries to a phone, and a server that has a new key.
import assert from 'node:assert/strict';
import { spawnSync } from 'node:child_process';
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { folder, inStore, openBrowser, picture, program, root, serve, settleAt, until } from './support/sample.mjs';

const place = folder();
const key = join(place, 'pack.key');
const file = join(place, 'district.pack');
let server;

function makePack(output, keyFile, ...more) {
  const made = spawnSync(program, ['pack', '--key', keyFile, '--output', output, ...more], { cwd: root, encoding: 'utf8' });
  assert.equal(made.status, 0, made.stderr);
}

before(async () => {
  makePack(file, key);
  server = await serve('--pack-key', key);
});
after(() => server.stop());

/** A phone whose connection is too slow for the pack: it has the page and the key, and nothing more. */
async function phoneWithoutPack() {
  const opened = await openBrowser();
  await opened.context.route('**/v1/pack', (route) => route.abort());
  await settleAt(opened.page, server.address);
  await opened.page.evaluate(() => navigator.serviceWorker.ready.then(() => undefined));
  for (let tries = 0; !(await inStore(opened.page, 'kept', 'pack_key')); tries += 1) {
    assert.ok(tries < 120, 'the phone has the key');
    await new Promise((resolve) => setTimeout(resolve, 250));
  }
  await opened.context.setOffline(true);
  await opened.page.goto(`${server.address}/#/settings`);
  await opened.page.getByText('This phone cannot answer by itself yet.').waitFor();
  return opened;
}

test('A pack that somebody carries is taken without a connection, and the phone answers with it', async () => {
  const { context, page, errors } = await phoneWithoutPack();
  await page.getByLabel('District from a file').setInputFiles(file);
  await page.getByText(/^Taken: the district as it was at/).waitFor();
  await picture(page, 'en-phone-pack-taken');
  await page.reload(); // it is on the phone now
  await page.goto(`${server.address}/#/`);
  await page.getByRole('button', { name: 'She is having fits' }).click();
  await page.locator('.where').waitFor();
  const [one] = await inStore(page, 'cases');
  assert.equal(one.answer.by, 'phone');
  await page.goto(`${server.address}/#/settings`);
  const saved = page.waitForEvent('download');
  await page.getByRole('button', { name: 'Save it as a file' }).click();
  assert.deepEqual(readFileSync(await (await saved).path()), readFileSync(file)); // for the next phone
  assert.deepEqual(errors, []);
  await context.close();
});

test('A damaged pack and one that another server signed are refused in words', async () => {
  const { context, page } = await phoneWithoutPack();
  const damaged = join(place, 'damaged.pack');
  const bytes = readFileSync(file);
  bytes[bytes.length - 9] ^= 1;
  writeFileSync(damaged, bytes);
  const foreign = join(place, 'foreign.pack');
  makePack(foreign, join(place, 'other.key'));
  for (const [name, why] of [[damaged, /damaged/], [foreign, /another server/]]) {
    await page.getByLabel('District from a file').setInputFiles(name);
    await page.getByText(/^This file was not taken/).filter({ hasText: why }).waitFor();
  }
  await context.close();
});

test('When the server has a new key, the phone asks for it instead of refusing its packs', async () => {
  const { context, page } = await openBrowser();
  await settleAt(page, server.address);
  await until('the phone has its pack', () => inStore(page, 'kept', 'pack'));
  await page.evaluate(() => new Promise((resolve) => {
    indexedDB.open('waybourne').onsuccess = ({ target }) => {
      const store = target.result.transaction('kept', 'readwrite').objectStore('kept');
      store.get('pack').onsuccess = ({ target: { result } }) => {
        store.put({ name: 'pack', value: { ...result.value, key: '11'.repeat(32) } }).onsuccess = resolve;
      };
    };
  }));
  await context.route('**/v1/pack', (route) => route.abort()); // the pack that is there has to do
  await page.reload();
  const right = readFileSync(file).subarray(72, 104).toString('hex'); // where a pack names its key
  await until('the key was renewed', async () => (await inStore(page, 'kept', 'pack')).value.key === right);
  await page.goto(`${server.address}/#/settings`);
  await page.getByText('This phone can answer by itself').waitFor();
  await context.close();
});
