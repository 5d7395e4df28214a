/** How far the bench is from working with no signal, for whoever shows it. */

import { message, worded } from "../words/door.js";

/** @typedef {import("../offline.js").OfflineState} State */

/** @type {Set<() => void>} */
const listeners = new Set();

const WORDS = {
  ready: message("The bench is whole on this phone: it works with no signal."),
  preparing: message("Still fetching the bench on to this phone. Stay in signal until it says it is ready."),
  failed: message(
    "The bench could not be kept on this phone: it works only while the server answers. Reload to try again.",
  ),
  unsupported: message(
    "This browser can't keep the bench for use with no signal. Open it over https or on the machine itself, in an " +
      "ordinary window.",
  ),
};

export const offline = {
  /** @type {State} */
  state: "preparing",
  newer: false,

  /** @param {State} state @param {boolean} newer */
  set(state, newer) {
    offline.state = state;
    offline.newer = newer;
    for (const listener of listeners) listener();
  },

  /** @param {() => void} listener @returns {() => void} unsubscribe */
  onChange(listener) {
    listeners.add(listener);
    return () => listeners.delete(listener);
  },

  /** In words. */
  text: () => worded(WORDS[offline.state]),
};
