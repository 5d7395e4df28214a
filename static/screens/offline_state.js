/** How far the bench is from working with no signal, for whoever shows it. */

import { t } from "../words/door.js";

/** @typedef {import("../offline.js").OfflineState} State */

/** @type {Set<() => void>} */
const listeners = new Set();

export const offline = {
  /** @type {State} */
  state: "asking",
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

  /** In words; none while it is not known. */
  text() {
    return {
      asking: () => "",
      ready: () => t("The bench is whole on this phone: it works with no signal."),
      preparing: () => t("Still fetching the bench on to this phone. Stay in signal until it says it is ready."),
      "bench only": () =>
        t(
          "There is no room on this phone for more than a pour: log, lists and forms open only while the server answers. " +
            "Make room, and reload.",
        ),
      failed: () =>
        t("The bench could not be kept on this phone: it works only while the server answers. Reload to try again."),
      unsupported: () =>
        t(
          "This browser can't keep the bench for use with no signal. Open it over https or on the machine itself, " +
            "in an ordinary window.",
        ),
    }[offline.state]();
  },
};
