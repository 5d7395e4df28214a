/** All kinds of things she keeps, and how safe they are on this phone. */

import { takeOver } from "../offline.js";
import { exchangeNow, onSyncStatus, syncStatus } from "../records/exchange.js";
import { tryRefused } from "../records/outbox.js";
import * as keeping from "../records/persistence.js";
import * as store from "../records/store.js";
import { card, cloneTemplate, h, setText, slot } from "./dom.js";
import { KINDS } from "./kinds.js";
import { offline } from "./offline_state.js";
import { clockWarning, serverText } from "./server_state.js";

/** @param {HTMLElement} place */
export async function show(place) {
  place.append(cloneTemplate("screen-workshop"));
  const counts = await Promise.all(KINDS.map(async (kind) => (await store.all(kind)).length));
  slot(place, "cards").replaceChildren(
    ...KINDS.map((kind, index) => {
      const { many = "", hint = "" } = aboutKind(kind);
      return card({ href: `#/list/${kind}`, name: many, over: hint, right: String(counts[index]) });
    }),
    card({
      href: "#/edit/workshop/workshop",
      name: aboutKind("workshop").many ?? "",
      over: aboutKind("workshop").hint,
    }),
    card({ href: "#/bench", name: "At the bench", over: "Voice, sound, sunlight, hands-free, instruments." }),
  );
  const draw = async () => {
    slot(place, "offline").textContent = offline.text();
    slot(place, "renew").hidden = !offline.newer;
    const kept = await keeping.keeping();
    slot(place, "kept").textContent = {
      kept: "The browser has promised not to clear your records.",
      "may be cleared": "The browser may clear your records if the phone runs short of room.",
      unknown: "This browser does not say whether it may clear your records.",
    }[kept];
    slot(place, "ask").hidden = kept === "kept";
  };
  slot(place, "ask").addEventListener("click", async () => {
    const kept = await keeping.askToKeep();
    await draw();
    if (kept === "may be cleared") {
      slot(place, "kept").textContent =
        "The browser has not promised it yet. Installing the bench to the home screen usually helps.";
    }
  });
  slot(place, "renew").addEventListener("click", () => void takeOver());
  slot(place, "resend").addEventListener("click", async () => {
    await tryRefused();
    await exchangeNow();
  });
  await draw();
  drawServer(place);
  const unsubscribe = [offline.onChange(() => void draw()), onSyncStatus(() => drawServer(place))];
  return () => unsubscribe.forEach((stop) => stop());
}

/** @param {HTMLElement} place */
function drawServer(place) {
  const { workshop, refused, state } = syncStatus;
  setText(slot(place, "server"), serverText());
  const clock = clockWarning();
  setText(slot(place, "clock"), clock);
  slot(place, "clock").hidden = clock === "";
  slot(place, "pair").hidden = workshop !== null && state !== "out";
  slot(place, "devices").hidden = workshop === null;
  slot(place, "resend").hidden = refused.length === 0;
  slot(place, "refused").replaceChildren(
    ...refused.map(({ kind, id, why }) =>
      aboutKind(kind).one === undefined
        ? h("p", { class: "beware notice" }, why)
        : card({ href: `#/edit/${kind}/${id}`, over: `refused: ${aboutKind(kind).one}`, name: why, under: "mend it" }),
    ),
  );
}

/** How a kind is called, as the server drew it. @param {string} kind */
export function aboutKind(kind) {
  const template = /** @type {HTMLElement | null} */ (document.getElementById(`form-${kind}`));
  return template?.dataset ?? {};
}
