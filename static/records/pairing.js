/** This phone comes into a workshop of the server's. */
import { announce } from "./changes.js";
import { write } from "./database.js";
import { serverOf } from "./device.js";
import { stopListening } from "./live.js";
import { queueAll } from "./outbox.js";

/** @typedef {import("./exchange.js").Named} Named */

/**
 * This phone has been let in: all that it keeps waits for the server from now on.
 * @param {{workshop: Named, device: Named}} answer @param {{bring?: boolean}} [options] `bring` her records
 *   of another workshop into this one
 * @returns {Promise<boolean>} false where they are of another workshop and `bring` was not said
 */
export async function joined({ workshop, device }, { bring = false } = {}) {
  const done = await write(["records", "events"], async (stores) => {
    const before = await serverOf(stores.device);
    if (before && before.workshop.id !== workshop.id && !bring) return false;
    stores.device.put({ key: "server", workshop, device, era: null, cursor: 0, heard_at: null });
    await queueAll(stores);
    return true;
  });
  if (!done) return false;
  // What listens is of the device that it was before.
  stopListening();
  announce([{ kind: "server", id: "server" }]);
  return true;
}
