// The service worker: keeps the whole shell on the phone and answers from there.
//
// The server puts two lines before this file: PACK, the SHA-256 of all the files of the shell in
// one answer, and VERSION, a hash over that and everything below. One cache a version. Data never
// passes through the cache: pages read it from IndexedDB.
//
// It also shows what the server pushes, and does what its buttons say, with no page open.

/* global VERSION, PACK */

import { headlineOf } from "/static/bench/due.js";
import { ready } from "/static/formulas/cure.js";
import { exchangeAll } from "/static/records/exchange.js";
import { resubscribe } from "/static/records/push.js";
import { append } from "/static/records/store.js";
import { localDate } from "/static/words/dates.js";
import { t } from "/static/words/door.js";

const PREFIX = "shell-";
const CACHE = PREFIX + VERSION;
const PAGE = "/";
const SHELL = /^\/(manifest\.webmanifest|static\/.+)?$/;
const NEVER = ["/api/", "/calendar/", "/demo.json"];

self.addEventListener("install", (event) => event.waitUntil(fill()));
self.addEventListener("activate", (event) => event.waitUntil(begin()));
self.addEventListener("message", (event) => {
  if (event.data?.type === "take over") event.waitUntil(takeOver());
});
self.addEventListener("push", (event) => event.waitUntil(tell(event.data)));
self.addEventListener("notificationclick", (event) => {
  event.notification.close();
  event.waitUntil(touched(event.action, event.notification.data ?? {}));
});
self.addEventListener("sync", (event) => {
  if (event.tag === LATER) event.waitUntil(exchangeAll());
});
self.addEventListener("pushsubscriptionchange", (event) => {
  event.waitUntil(resubscribe(self.registration));
});
self.addEventListener("fetch", (event) => {
  const url = keyFor(event.request);
  if (url) event.respondWith(answer(url));
});

/** Store every file or none. The worker only installs if this succeeds. */
async function fill() {
  // All are fetched and checked before the first is stored, so a bad byte touches no cache.
  const files = unpacked(await fetchChecked());
  // A version that comes back may find its cache still in use: then failing must not delete it.
  const mine = !(await caches.has(CACHE));
  try {
    const cache = await caches.open(CACHE);
    await Promise.all(files.map(([url, response]) => cache.put(url, response)));
  } catch (error) {
    if (mine) await caches.delete(CACHE);
    throw error;
  }
}

/**
 * Fetch the pack and refuse anything but the very bytes that were announced. One that has come
 * before is only asked about again ('no-cache'); where that gives other bytes, past every cache.
 */
async function fetchChecked() {
  try {
    return await fetchOnce("no-cache");
  } catch {
    return fetchOnce("reload");
  }
}

async function fetchOnce(cache) {
  const response = await fetch(`/shell.pack?${PACK}`, { cache, redirect: "error" });
  if (response.status !== 200 || response.type !== "basic") {
    throw new Error(`The shell answered ${response.status}`);
  }
  const bytes = new Uint8Array(await response.arrayBuffer());
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", bytes));
  const hex = Array.from(digest, (byte) => byte.toString(16).padStart(2, "0")).join("");
  if (hex !== PACK) throw new Error("The shell is not the one that was announced");
  return bytes;
}

/** The files of a pack, as [url, what is stored]. Its format stands in benchapp/web/shell.py. */
function unpacked(pack) {
  let at = pack.indexOf(10) + 1;
  const { headers, files } = JSON.parse(new TextDecoder().decode(pack.subarray(0, at)));
  return files.map(([url, type, length]) => {
    const body = pack.subarray(at, (at += length));
    return [url, new Response(body, { headers: { ...headers, "Content-Type": type } })];
  });
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
  if (!held.some((lock) => lock.name === "pour")) await self.skipWaiting();
}

/** The stored URL that answers this request, or null to leave it to the network. */
function keyFor(request) {
  const { origin, pathname } = new URL(request.url);
  if (request.method !== "GET" || origin !== self.location.origin) return null;
  if (NEVER.some((path) => pathname.startsWith(path))) return null;
  // By path alone: a query changes nothing in the shell.
  if (SHELL.test(pathname)) return pathname;
  return request.mode === "navigate" ? PAGE : null;
}

async function answer(url) {
  const stored = await caches.match(url, { cacheName: CACHE });
  return stored ?? fetch(url);
}

// ---- what the server pushes --------------------------------------------------------------------

const LATER = "exchange";
const actions = () => [
  { action: "done", title: t("Done") },
  { action: "tomorrow", title: t("Tomorrow") },
];

/** Taken back before it has come to the desktop, it may stay there for good (Chromium on Linux). */
const ARRIVED_MS = 1000;

/** What is shown whatever has come: a push that shows nothing costs the subscription on iPhones. */
const unreadable = () => ({
  title: t("Something is due"),
  body: t("Today says what."),
  navigate: "/",
  tag: "unreadable",
});

/** Show a push. */
async function tell(data) {
  try {
    const { notification, app_badge } = data.json();
    await show(notification);
    if (app_badge !== undefined) await badge(app_badge);
  } catch {
    // Sent by a newer server, or empty.
    await show(unreadable());
  }
}

/** A bell stays silent, and goes, where the bench itself is in view. */
async function show(notification) {
  // A notification that rings again must have a tag.
  const { title, body = "", navigate = "/", tag = "bench", data: about = {} } = notification;
  if (typeof title !== "string") throw new TypeError("It has no title");
  const inView = about.bell && (await pages()).some((page) => page.visibilityState === "visible");
  // 'Cured today' may be read a week later, by a phone that was off.
  const { name, reminder, on } = about;
  await self.registration.showNotification(name ? headlineOf(name, reminder, on, Date.now()) : title, {
    body,
    tag,
    data: { ...about, navigate },
    icon: "/static/icons/icon-192.png",
    actions: reminder ? actions() : [],
    requireInteraction: Boolean(about.bell && !inView),
    renotify: true,
    silent: Boolean(inView),
  });
  if (!inView) return;
  await new Promise((resolve) => setTimeout(resolve, ARRIVED_MS));
  for (const shown of await self.registration.getNotifications({ tag })) shown.close();
}

/** A tap opens what it is about; its buttons are kept here and sent when there is signal. */
async function touched(action, about) {
  if (action === "done" || action === "tomorrow") {
    await keep(action, about);
    await badge((await self.registration.getNotifications()).filter(({ data }) => data?.reminder).length);
    await send();
    return;
  }
  const { pathname, hash } = new URL(about.navigate ?? "/", self.location.href);
  const [page] = await pages();
  if (page === undefined) {
    await self.clients.openWindow(pathname + hash);
    return;
  }
  page.postMessage({ type: "show", hash });
  await page.focus();
}

async function keep(action, { pour, reminder, day }) {
  const at = Date.now();
  try {
    await append(
      "pour",
      pour,
      action === "done"
        ? { type: "seen_to", at, reminder, on: day }
        : { type: "put_off", at, reminder, on: day, until: ready(localDate(at), 1) },
    );
  } catch (error) {
    await self.registration.showNotification(t("That could not be kept"), {
      body: /** @type {Error} */ (error).message,
      data: { navigate: `/#/entry/${pour}` },
    });
  }
}

async function send() {
  try {
    await exchangeAll();
  } catch {
    // Where the browser can, it says when there is signal again; else the next page sends it.
    await self.registration.sync?.register(LATER).catch(() => undefined);
  }
}

async function badge(count) {
  if (count > 0) await navigator.setAppBadge?.(count).catch(() => undefined);
  else await navigator.clearAppBadge?.().catch(() => undefined);
}

/** The pages of the bench, the one that was looked at last first. */
function pages() {
  return self.clients.matchAll({ type: "window", includeUncontrolled: true });
}
