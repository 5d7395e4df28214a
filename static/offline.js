// Working with no signal, seen from the page: registers the service worker, says how far it is,
// and lets a newer version in only where nobody is in the middle of something.

/**
 * @typedef {'asking' | 'unsupported' | 'too old' | 'preparing' | 'ready' | 'bench only' | 'failed'} OfflineState
 *   asking: the worker has not answered yet; ready: the whole app is on this phone and works with no signal;
 *   too old: the browser runs no worker of modules; bench only: there is no room for more than the bench
 *
 * @callback OnState
 * @param {OfflineState} state
 * @param {boolean} newerWaits a newer version is on the phone and waits to take over
 * @returns {void}
 *
 * @callback MayTakeOver
 * @returns {boolean | Promise<boolean>} whether this page can be reloaded now without losing work
 */

const HOUR_MS = 3_600_000;
const SETTLE_MS = 500;

// Script addresses pass through one policy, which lets nothing in from elsewhere. Browsers
// without Trusted Types take the plain string.
const policy = /** @type {any} */ (globalThis).trustedTypes?.createPolicy("app-url", {
  createScriptURL: sameOrigin,
});

/** @param {string} path */
function sameOrigin(path) {
  if (new URL(path, location.href).origin !== location.origin) {
    throw new TypeError(`${path} is not one of this app's own scripts`);
  }
  return path;
}

/**
 * The address of one of our own scripts, for the service worker. The browser lets a page make the
 * policy only once: who needs another script asks here as well.
 * @param {string} path
 * @returns {string} a TrustedScriptURL where the browser has them
 * @throws {TypeError} for another origin
 */
function scriptUrl(path) {
  return policy ? policy.createScriptURL(path) : sameOrigin(path);
}

/** A first visit waits no longer than this for the bench (ms). */
const FIRST_MS = 15_000;

let takesModules = false;

/** @param {ServiceWorkerContainer} container */
const register = (container) =>
  container.register(scriptUrl("/sw.js"), {
    scope: "/",
    // Only a browser that knows of such workers asks for it.
    get type() {
      takesModules = true;
      return /** @type {const} */ ("module");
    },
    updateViaCache: "none",
  });

/**
 * Wait on the first visit until the bench is on this phone: as one pack it comes sooner than file by
 * file, and once instead of twice. Where it can't be kept, or takes too long, there is no more waiting.
 * @returns {Promise<void>}
 */
export async function firstVisit() {
  const container = navigator.serviceWorker;
  if (!container || container.controller) return;
  try {
    const taken = new Promise((resolve) => container.addEventListener("controllerchange", resolve, { once: true }));
    const { installing } = await register(container);
    if (!installing) return;
    const refused = new Promise((resolve) =>
      installing.addEventListener("statechange", () => installing.state === "redundant" && resolve(undefined)),
    );
    await Promise.race([taken, refused, new Promise((resolve) => setTimeout(resolve, FIRST_MS))]);
  } catch {
    // `registerWorker` says so.
  }
}

/** What the worker in charge keeps. Where there was none at the start, it has not all yet. @type {OfflineState} */
let kept = navigator.serviceWorker?.controller ? "asking" : "preparing";
/** @type {ServiceWorkerRegistration | undefined} */
let registration;
/** @type {MayTakeOver} */
let mayTakeOver = () => false;
/** @type {() => Promise<unknown>} */
let begun = () => Promise.resolve();
/** When the last file for the page came, ms. */
let came_ms = 0;
/** @type {Map<string, () => void>} */
const poursHeld = new Map();
let reloadDue = false;
let reloading = false;

/**
 * Register the service worker and keep it fresh. Call once, early.
 * A version that already waits takes over now, if `mayTakeOver` agrees and no pour is running.
 * @param {{ mayTakeOver: MayTakeOver, begun: () => Promise<unknown>, onState: OnState, onShow: (hash: string) => void }} options
 *   `begun`: the page has all that its start needs; `onShow`: a notification was touched, which is about this screen
 * @returns {Promise<void>}
 */
export async function registerWorker(options) {
  ({ mayTakeOver, begun } = options);
  if (!("serviceWorker" in navigator)) {
    options.onState("unsupported", false);
    return;
  }
  const container = navigator.serviceWorker;
  reloadOnNewVersion(container);
  container.addEventListener("message", ({ data }) => {
    if (data?.type === "show") options.onShow(data.hash);
  });
  options.onState(kept, false);
  try {
    registration = await register(container);
  } catch {
    if (container.controller) askToKeep(container.controller, () => options.onState(kept, false));
    else options.onState(takesModules ? "failed" : "too old", false);
    return;
  }
  const found = registration;
  const report = () => options.onState(stateOf(found), Boolean(found.active && found.waiting));
  const keep = () => {
    if (found.active?.state === "activated") askToKeep(found.active, report);
  };
  const changed = () => {
    report();
    keep();
  };
  const watch = () => {
    for (const worker of [found.installing, found.waiting, found.active]) {
      worker?.addEventListener("statechange", changed);
    }
    changed();
  };
  found.addEventListener("updatefound", watch);
  watch();
  // A page that stays open never looks for a newer version by itself.
  const look = () => void found.update().catch(() => undefined);
  setInterval(look, HOUR_MS);
  addEventListener("online", keep);
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState !== "visible") return;
    look();
    keep();
    void reloadWhenFree();
  });
  new PerformanceObserver((list) => {
    for (const { startTime, duration } of list.getEntries()) came_ms = Math.max(came_ms, startTime + duration);
  }).observe({ type: "resource", buffered: true });
  if (found.waiting) await takeOver();
}

/**
 * The page has begun, and the older worker has answered its last request for it. A take-over ends that worker; where
 * the page asks for a file just then, Chromium starts it again and jams: the newer worker waits on, for minutes, and
 * reloads hang (measured with version 156 on a busy machine: one take-over in forty where only the page was waited for).
 * @returns {Promise<void>}
 */
async function settled() {
  await begun();
  // The icon is fetched after the page, and nothing tells of it.
  for (let rest = SETTLE_MS; rest > 0; rest = came_ms + SETTLE_MS - performance.now()) {
    await new Promise((resolve) => setTimeout(resolve, rest));
  }
}

const KEPT = /** @type {const} */ ({
  kept: "ready",
  fetching: "preparing",
  "no answer": "preparing",
  "no room": "bench only",
});

/**
 * Let the worker fetch what it does not keep yet: what follows the bench, or was cleared away.
 * @param {ServiceWorker} worker @param {() => void} report it has said how far it is
 */
function askToKeep(worker, report) {
  const { port1, port2 } = new MessageChannel();
  port1.onmessage = (/** @type {MessageEvent<keyof typeof KEPT>} */ { data }) => {
    kept = KEPT[data];
    report();
  };
  worker.postMessage({ type: "keep" }, [port2]);
}

/**
 * @param {ServiceWorkerRegistration} found
 * @returns {OfflineState}
 */
function stateOf(found) {
  if (found.active?.state === "activated") return kept;
  return found.installing || found.waiting || found.active ? "preparing" : "failed";
}

/**
 * Ask a waiting version to take over. It still refuses while any tab holds a pour's lock.
 * @returns {Promise<boolean>} whether it was asked
 */
export async function takeOver() {
  await settled();
  const waiting = registration?.waiting;
  if (!waiting || !registration?.active || !(await mayTakeOver())) return false;
  waiting.postMessage({ type: "take over" });
  return true;
}

/** @param {ServiceWorkerContainer} container */
function reloadOnNewVersion(container) {
  // The very first worker takes a page that has just been loaded: nothing to reload for.
  let controlled = Boolean(container.controller);
  container.addEventListener("controllerchange", () => {
    if (controlled) reloadDue = true;
    controlled = true;
    void reloadWhenFree();
  });
}

/** A take-over begun in another tab must not cut this one short either. */
async function reloadWhenFree() {
  if (!reloadDue || reloading || poursHeld.size > 0 || !(await mayTakeOver())) return;
  if (reloading) return;
  reloading = true;
  location.reload();
}

/**
 * Say that a pour is running in this tab, so that no tab lets a newer version in. The browser
 * frees the lock by itself when the tab goes. Holding one pour twice is holding it once.
 * @param {string} pourId
 * @returns {() => void} ends the hold; safe to call twice
 */
export function holdPourLock(pourId) {
  const already = poursHeld.get(pourId);
  if (already) return already;
  /** @type {() => void} */
  let free = () => undefined;
  const done = new Promise((resolve) => {
    free = () => resolve(undefined);
  });
  const release = () => {
    if (poursHeld.get(pourId) !== release) return;
    poursHeld.delete(pourId);
    free();
    void reloadWhenFree();
  };
  poursHeld.set(pourId, release);
  // Shared: several pours may be on the bench, in one tab or more.
  void navigator.locks?.request("pour", { mode: "shared" }, () => done).catch(() => undefined);
  return release;
}
