/** How far the bench is from working with no signal, for whoever shows it. */

import { t } from "../words/door.js";

/** @typedef {import("../offline.js").OfflineState} State */

const oldest = () => ({ oldest: document.body.dataset.oldest ?? "" });

/** @type {Set<() => void>} */
const listeners = new Set();

export const offline = {
  /** @type {State} */
  state: "asking",
  newer: false,
  /** By what the oldest browser of each make was the first to have; tests/oldest holds it to that. */
  old: !CSS.supports("height: 1dvh") || !CSS.supports("container-type: size"),

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
    const stands = {
      asking: () => "",
      ready: () => t("Works offline: the whole bench is on this phone."),
      preparing: () =>
        t(
          "The bench is still loading on to this phone. Stay where you have signal until it says that it works offline.",
        ),
      "bench only": () =>
        t(
          "This phone has room for a pour only. The log, lists and forms open only while the server answers. " +
            "Free some space and reload.",
        ),
      failed: () =>
        t(
          "The bench could not be saved on this phone, so it works only while the server answers. Reload to try again. " +
            "If that does not help, update the browser: {oldest} or newer can keep it.",
          oldest(),
        ),
      "too old": () =>
        t(
          "This browser is too old to keep the bench, so it works only while the server answers. " +
            "Update the browser: {oldest} or newer can.",
          oldest(),
        ),
      unsupported: () =>
        t(
          "This browser can't save the bench for use offline. Open it over https or on the server's own computer, " +
            "in an ordinary window.",
        ),
    }[offline.state]();
    if (!offline.old) return stands;
    const old = t(
      "This browser is older than the bench needs: screens may be cut off, and some of it may not work. " +
        "Update the browser before you pour: {oldest} or newer will do.",
      oldest(),
    );
    return `${old} ${stands}`;
  },
};
