/** An invented workshop, where the server offers one and nothing is kept here yet. */

import { playPour } from "../bench/played_pour.js";
import { EARLIEST } from "../records/stamp.js";
import * as store from "../records/store.js";
import { yieldToMain } from "./dom.js";

/** @typedef {import("../bench/played_pour.js").DemoRecord} DemoRecord */
/** @typedef {import("../bench/played_pour.js").PastPour} PastPour */
/** @typedef {import("../records/event_types.js").AnyEvent} AnyEvent */

/** @throws {store.StoreError} nothing can be kept on this phone */
export async function bringDemo() {
  if ((await store.count()) > 0) return;
  const answer = await fetch("/demo.json").catch(() => null);
  if (answer === null || !answer.ok) return;
  /** @type {{records: DemoRecord[], pours: PastPour[], tests: (DemoRecord & {events: AnyEvent[]})[]}} */
  const { records, pours, tests } = await answer.json();
  const played = [];
  for (const past of pours) {
    played.push(playPour(past, records));
    await yieldToMain();
  }
  await store.bringIn(
    [...records, ...tests, ...played.map(({ record }) => record)].map(({ kind, id, fields }) => ({
      kind,
      id,
      // Anything she changes is later than this.
      fields: Object.fromEntries(Object.entries(fields).map(([name, value]) => [name, { value, stamp: EARLIEST }])),
    })),
    [...played, ...tests].flatMap(({ events }) => /** @type {AnyEvent[]} */ (events)),
  );
}
