// The service worker: keeps the whole shell on the phone and answers from there.
//
// The server puts two lines before this file: VERSION, a hash over everything below and every
// file of the shell, and FILES, a list of [url, first 32 hexadecimal digits of its SHA-256]. One
// cache a version. Data never passes through here: pages read it from IndexedDB.

/* global VERSION, FILES */

const PREFIX = 'shell-';
const CACHE = PREFIX + VERSION;
const PAGE = '/';
const URLS = new Set(FILES.map(([url]) => url));
const NEVER = ['/api/', '/demo.json'];

self.addEventListener('install', (event) => event.waitUntil(fill()));
self.addEventListener('activate', (event) => event.waitUntil(begin()));
self.addEventListener('message', (event) => {
  if (event.data?.type === 'take over') event.waitUntil(takeOver());
});
self.addEventListener('fetch', (event) => {
  const url = keyFor(event.request);
  if (url) event.respondWith(answer(url));
});

/** Store every file or none. The worker only installs if this succeeds. */
async function fill() {
  // All are fetched and checked before the first is stored, so a bad file touches no cache.
  const answers = await Promise.all(FILES.map(fetchChecked));
  // A version that comes back may find its cache still in use: then failing must not delete it.
  const mine = !(await caches.has(CACHE));
  try {
    const cache = await caches.open(CACHE);
    await Promise.all(answers.map((response, i) => cache.put(FILES[i][0], response)));
  } catch (error) {
    if (mine) await caches.delete(CACHE);
    throw error;
  }
}

/**
 * Fetch a file and refuse anything but the very bytes that were announced. What the page has just
 * loaded is only asked about again ('no-cache'); where that gives other bytes, past every cache.
 */
async function fetchChecked(file) {
  try {
    return await fetchOnce(file, 'no-cache');
  } catch {
    return fetchOnce(file, 'reload');
  }
}

async function fetchOnce([url, sha256], cache) {
  const response = await fetch(url, { cache, redirect: 'error' });
  if (response.status !== 200 || response.type !== 'basic') {
    throw new Error(`${url} answered ${response.status}`);
  }
  const digest = await crypto.subtle.digest('SHA-256', await response.clone().arrayBuffer());
  const hex = Array.from(new Uint8Array(digest), (byte) => byte.toString(16).padStart(2, '0'));
  if (!hex.join('').startsWith(sha256)) throw new Error(`${url} is not the file that was announced`);
  return response;
}

/** Take the pages that are open (the first visit's too) and clear away older versions. */
async function begin() {
  await self.clients.claim();
  // A still newer worker may be filling its cache: then the clearing is left to it.
  if (self.registration.installing || self.registration.waiting) return;
  for (const name of await caches.keys()) {
    if (name.startsWith(PREFIX) && name !== CACHE) await caches.delete(name);
  }
}

/** Replace the older version, unless a page anywhere holds the lock of a running pour. */
async function takeOver() {
  const { held = [] } = await navigator.locks.query();
  if (!held.some((lock) => lock.name === 'pour')) await self.skipWaiting();
}

/** The stored URL that answers this request, or null to leave it to the network. */
function keyFor(request) {
  const { origin, pathname } = new URL(request.url);
  if (request.method !== 'GET' || origin !== self.location.origin) return null;
  if (NEVER.some((path) => pathname.startsWith(path))) return null;
  // By path alone: a query changes nothing in the shell.
  if (URLS.has(pathname)) return pathname;
  return request.mode === 'navigate' ? PAGE : null;
}

async function answer(url) {
  const stored = await caches.match(url, { cacheName: CACHE, ignoreVary: true });
  return stored ?? fetch(url);
}
