/** What has changed in the store, told to every screen in every tab. */

/** @typedef {{kind: string, id: string, event?: true, from?: "server"}} Change the record that changed, or, with
 * `event`, to which something happened */

/** @type {Set<(changes: Change[]) => void>} */
const listeners = new Set();
const channel = typeof BroadcastChannel === "undefined" ? null : new BroadcastChannel("pour-bench");
channel?.addEventListener("message", (event) => tell(event.data));

/** Hear of every change, made here or in another tab; what came together is told together.
 * @param {(changes: Change[]) => void} listener
 * @returns {() => void} stop hearing */
export function onChange(listener) {
  listeners.add(listener);
  return () => listeners.delete(listener);
}

/** @param {Change[]} changes */
export function announce(changes) {
  if (changes.length === 0) return;
  tell(changes);
  channel?.postMessage(changes);
}

/** @param {Change[]} changes */
function tell(changes) {
  for (const listener of listeners) listener(changes);
}

/** What to tell of records and events.
 * @param {{kind: string, id: string}[]} records @param {{of: [kind: string, id: string]}[]} events
 * @param {"server"} [from] @returns {Change[]} */
export function changesOf(records, events, from) {
  const streams = new Map(events.map(({ of }) => [of.join(" "), of]));
  return [
    ...records.map(({ kind, id }) => ({ kind, id, from })),
    ...[...streams.values()].map(([kind, id]) => ({ kind, id, event: /** @type {const} */ (true), from })),
  ];
}

/** `work`, begun again once it is over if it was asked for meanwhile: what changes a hundred times is
 * not read a hundred times. @param {() => Promise<void>} work @returns {() => void} */
export function oneAtATime(work) {
  let running = false;
  let again = false;
  const run = async () => {
    again = running;
    if (running) return;
    running = true;
    await work().finally(() => (running = false));
    if (again) void run();
  };
  return () => void run();
}
