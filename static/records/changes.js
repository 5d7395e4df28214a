/** What has changed in the store, told to every screen in every tab. */

/** @typedef {{kind: string, id: string, from?: "server"}} Change a pour's event tells its pour, as kind "event" */

/** @type {Set<(change: Change) => void>} */
const listeners = new Set();
const channel = typeof BroadcastChannel === "undefined" ? null : new BroadcastChannel("pour-bench");
channel?.addEventListener("message", (event) => tell(event.data));

/** Hear of every change, made here or in another tab. @param {(change: Change) => void} listener
 * @returns {() => void} stop hearing */
export function onChange(listener) {
  listeners.add(listener);
  return () => listeners.delete(listener);
}

/** @param {Change} change */
export function announce(change) {
  tell(change);
  channel?.postMessage(change);
}

/** @param {Change} change */
function tell(change) {
  for (const listener of listeners) listener(change);
}
