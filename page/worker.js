/**
 * The service worker: keeps one whole release of the page on the phone and serves only that, so that the
 * page opens without a connection and never mixes two releases.
 *
 * The server writes the first line, `const release = {version, files}`. A new release is fetched whole
 * beside the old one; it takes over when no page of the old one is open any more, or when the page says
 * so (between two views, never in the middle of one).
 */
/* global release */

const cacheName = `waybourne-${release.version}`;

self.addEventListener('install', (event) => {
  // Nothing is kept unless everything is: a half-loaded release never becomes active.
  event.waitUntil(
    caches.open(cacheName).then((cache) => Promise.all(release.files.map((path) => fetched(path).then((answer) => cache.put(path, answer))))),
  );
});

async function fetched(path) {
  const answer = await fetch(path, { cache: 'no-cache', credentials: 'omit' });
  if (!answer.ok) throw new Error(`${path}: ${answer.status}`);
  return answer;
}

self.addEventListener('activate', (event) => {
  event.waitUntil(
    caches.keys()
      .then((names) => Promise.all(names.filter((name) => name.startsWith('waybourne-') && name !== cacheName).map((name) => caches.delete(name))))
      .then(() => self.clients.claim()),
  );
});

self.addEventListener('message', (event) => {
  // Only when no other view of the page is open: there something may be half done.
  if (event.data === 'take over') event.waitUntil(self.clients.matchAll().then((open) => open.length <= 1 && self.skipWaiting()));
});

self.addEventListener('fetch', (event) => {
  const { pathname, origin } = new URL(event.request.url);
  // What the API answers is never kept here: the page decides itself what it keeps.
  if (event.request.method !== 'GET' || origin !== self.location.origin || !release.files.includes(pathname)) return;
  event.respondWith(
    caches.open(cacheName)
      .then((cache) => cache.match(pathname))
      .then((kept) => kept ?? fetch(event.request)),
  );
});
