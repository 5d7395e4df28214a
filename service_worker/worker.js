// The service worker: keeps the whole app on the phone and answers from there.
//
// The server puts two lines before this file: PACKS, the SHA-256 of each of the two packs that the
// app is fetched in, and VERSION, a hash over those and the worker's own code. Each pack of a version
// has a cache. Data never passes through them: pages read it from IndexedDB.
//
// On a first visit the bench pack installs the worker, and the desk pack follows when a page asks for
// it. A version that replaces another installs with both or not at all: what was whole stays whole.
// What a page is given is of the worker's own version, out of the very pack, so no two versions meet
// in it.
//
// It also shows what the server pushes, and does what its buttons say, with no page open.

/* global VERSION, PACKS */

import { headlineOf } from "/static/bench/due.js";
import { ready } from "/static/formulas/cure.js";
import { exchangeAll } from "/static/records/exchange.js";
import { resubscribe } from "/static/records/push.js";
import { append, timeNow } from "/static/records/store.js";
import { localDate } from "/static/words/dates.js";
import { t } from "/static/words/door.js";
import { fetchPack, isStored, readPack, storePacks, unpacked } from "./precache.js";

const PREFIX = "shell-";
/** @typedef {import("./precache.js").Pack} Pack */
/** From a cold start to a finished pour. @type {Pack} */
const BENCH = { path: "/bench.pack", hash: PACKS.bench, cache: PREFIX + VERSION };
/** All the rest. @type {Pack} */
const DESK = { path: "/desk.pack", hash: PACKS.desk, cache: `${PREFIX}${VERSION}-desk` };

const PAGE = "/";
const SHELL = /^\/(desk\.html|manifest\.webmanifest|static\/.+)?$/;
const NEVER = ["/api/", "/calendar/", "/demo.json"];

self.addEventListener("install", (event) => event.waitUntil(install()));
self.addEventListener("activate", (event) => event.waitUntil(begin()));
self.addEventListener("message", (event) => {
  if (event.data?.type === "take over") event.waitUntil(takeOver());
  if (event.data?.type === "keep") event.waitUntil(keepAll((state) => event.ports[0]?.postMessage(state)));
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

// ---- keeping the app ---------------------------------------------------------------------------

/** The worker only installs if this succeeds. */
async function install() {
  const packs = self.registration.active ? [BENCH, DESK] : [BENCH];
  // All are fetched and checked before the first is stored, so a bad byte touches no cache.
  await storePacks(await Promise.all(packs.map(async (pack) => [pack, await fetchPack(pack)])));
}

/** @type {Promise<void> | undefined} */
let fetching;
/** The files of both packs, by the pack's path: as long as the worker runs, also where there is no room to keep them.
 * @type {Map<string, Promise<import("./precache.js").Files | null>>} */
const opened = new Map();

/**
 * Keep both packs, where one is missing: the network may have gone between them, the worker been ended, a cache cleared.
 * @param {(state: 'fetching' | 'kept' | 'no answer' | 'no room') => void} report how far it is
 */
async function keepAll(report) {
  const whole = async () => (await isStored(BENCH)) && (await isStored(DESK));
  if (await whole()) {
    report("kept");
    return;
  }
  report("fetching");
  try {
    await fetchMissing();
    report((await whole()) ? "kept" : "no room");
  } catch {
    report("no answer");
  }
}

/** Fetch what is missing, once for all who ask. @returns {Promise<void>} */
function fetchMissing() {
  fetching ??= (async () => {
    for (const pack of [BENCH, DESK]) {
      if (await isStored(pack)) continue;
      const bytes = await fetchPack(pack);
      opened.set(pack.path, Promise.resolve(unpacked(bytes)));
      await storePacks([[pack, bytes]]).catch(() => undefined);
    }
  })().finally(() => {
    fetching = undefined;
  });
  return fetching;
}

/** Take the pages that are open (the first visit's too) and clear away older versions. */
async function begin() {
  await self.clients.claim();
  // A still newer worker may be filling its caches: then the clearing is left to it.
  if (self.registration.installing || self.registration.waiting) return;
  for (const name of await caches.keys()) {
    if (name.startsWith(PREFIX) && name !== BENCH.cache && name !== DESK.cache) await caches.delete(name);
  }
}

/** Replace the older version, unless a page anywhere holds the lock of a running pour. */
async function takeOver() {
  const { held = [] } = await navigator.locks.query();
  if (!held.some((lock) => lock.name === "pour")) await self.skipWaiting();
}

// ---- answering pages ---------------------------------------------------------------------------

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
  const stored = await fromPacks(url);
  if (stored) return stored;
  // Where the browser has cleared the cache, all comes from the server, as before the worker was there.
  if ((await isStored(DESK)) || !(await isStored(BENCH))) return fetch(url);
  // Asked for before it is there: out of the pack, as the server may have another version by now.
  try {
    await fetchMissing();
  } catch {
    return Response.error();
  }
  return (await fromPacks(url)) ?? Response.error();
}

/** @param {string} url @returns {Promise<Response | undefined>} */
async function fromPacks(url) {
  for (const pack of [BENCH, DESK]) {
    const file = (await filesOf(pack))?.get(url);
    if (file) return new Response(file.body, { headers: file.headers });
  }
  return undefined;
}

/** @param {Pack} pack */
function filesOf(pack) {
  const known = opened.get(pack.path);
  if (known) return known;
  const found = readPack(pack);
  opened.set(pack.path, found);
  // Not there yet, or unreadable just now: it is looked for again.
  const forget = () => opened.get(pack.path) === found && opened.delete(pack.path);
  found.then((files) => files ?? forget(), forget);
  return found;
}

// ---- what the server pushes --------------------------------------------------------------------

const LATER = "exchange";
const actions = () => [
  { action: "done", title: t("OK") },
  { action: "tomorrow", title: t("Tomorrow") },
];

/** Taken back before it has come to the desktop, it may stay there for good (Chromium on Linux). */
const ARRIVED_MS = 1000;

/** What is shown whatever has come: a push that shows nothing costs the subscription on iPhones. */
const unreadable = () => ({
  title: t("Something is due"),
  body: t("Open Today to see what it is."),
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
  await self.registration.showNotification(name ? headlineOf(name, reminder, on, await timeNow()) : title, {
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
  // The bench is one page of this very server, whatever the message says.
  const hash = String(about.navigate).replace(/^[^#]*/, "");
  const [page] = await pages();
  if (page === undefined) {
    await self.clients.openWindow(PAGE + hash);
    return;
  }
  page.postMessage({ type: "show", hash });
  await page.focus();
}

async function keep(action, { pour, reminder, day }) {
  try {
    const at = await timeNow();
    await append(
      "pour",
      pour,
      action === "done"
        ? { type: "seen_to", at, reminder, on: day }
        : { type: "put_off", at, reminder, on: day, until: ready(localDate(at), 1) },
    );
  } catch (error) {
    await self.registration.showNotification(t("That could not be saved"), {
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
