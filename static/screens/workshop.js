/** All kinds of things she keeps, and how safe they are on this phone. */

import { takeOver } from "../offline.js";
import { exchangeNow, onSyncStatus, syncStatus } from "../records/exchange.js";
import { LISTED } from "../records/kinds.js";
import { tryRefused } from "../records/outbox.js";
import * as keeping from "../records/persistence.js";
import * as store from "../records/store.js";
import { message, t, worded } from "../words/door.js";
import { card, chip, cloneTemplate, h, replaceKeepingFocus, setText, slot } from "./dom.js";
import { aboutKind } from "./kinds.js";
import { offline } from "./offline_state.js";
import { drawOnChange, ofKinds } from "./screen.js";
import { clockWarning, serverText } from "./server_state.js";

/** Whether the browser may clear what is kept. */
const PROMISES = {
  kept: message("The browser has promised not to clear your records."),
  "may be cleared": message("The browser may clear your records if the phone runs short of room."),
  unknown: message("This browser can’t promise to keep your records. Save a copy now and then, or pair a server."),
};

/** @param {HTMLElement} place */
export async function show(place) {
  place.append(cloneTemplate("screen-workshop"));
  const drawKept = async () => {
    setText(slot(place, "offline"), offline.text());
    slot(place, "renew").hidden = !offline.newer;
    const kept = await keeping.keeping();
    setText(slot(place, "kept"), worded(PROMISES[kept]));
    slot(place, "ask").hidden = kept !== "may be cleared";
  };
  slot(place, "ask").addEventListener("click", async () => {
    const kept = await keeping.askToKeep();
    await drawKept();
    if (kept === "may be cleared") {
      const how = t("The browser has not promised it yet. Installing the bench to the home screen usually helps.");
      setText(slot(place, "kept"), how);
    }
  });
  slot(place, "renew").addEventListener("click", () => void takeOver());
  slot(place, "resend").addEventListener("click", async () => {
    await tryRefused();
    await exchangeNow();
  });
  await drawKept();
  drawServer(place);
  const unsubscribe = [
    await drawOnChange(ofKinds(...LISTED), () => drawKinds(place)),
    offline.onChange(() => void drawKept()),
    onSyncStatus(() => drawServer(place)),
  ];
  return () => unsubscribe.forEach((stop) => stop());
}

/** @param {HTMLElement} place */
async function drawKinds(place) {
  const counts = await Promise.all(LISTED.map(async (kind) => (await store.all(kind)).length));
  const kinds = LISTED.map((kind, index) => {
    const { many = "", hint } = aboutKind(kind);
    return card({ href: `#/list/${kind}`, name: many, line: hint, right: String(counts[index]) });
  });
  const { many = "", hint } = aboutKind("workshop");
  const bench = { name: t("At the bench"), line: t("Voice, sound, sunlight, hands-free, instruments.") };
  const shelf = { name: t("The shelf"), line: t("What is there, what came in, and what it cost.") };
  const wanted = { name: t("Wanted"), line: t("How many candles must be ready by when, and what to buy for them.") };
  const labels = { name: t("Labels"), line: t("What stands on a candle for sale, and printing it to the millimetre.") };
  const sell = { name: t("Sell"), line: t("One touch a candle, and the day’s list.") };
  const recalls = { name: t("Recalls"), line: t("Who has candles that must come back, and what to tell them.") };
  const tests = { name: t("Burn tests"), line: t("Which wick is right, and how long a candle burns.") };
  const products = {
    name: t("Products"),
    line: t("What you sell, what its file has to hold, and what is missing in it."),
  };
  const complaints = { name: t("Complaints and accidents"), line: t("What buyers say, and what you did about it.") };
  const hazards = {
    name: t("Hazard class"),
    line: t("What the label of a candle must warn of, by suppliers’ sheets."),
  };
  replaceKeepingFocus(
    slot(place, "cards"),
    card({ href: "#/shelf", ...shelf }),
    card({ href: "#/wanted", ...wanted }),
    card({ href: "#/sell", ...sell }),
    card({ href: "#/recall", ...recalls }),
    card({ href: "#/tests", ...tests }),
    card({ href: "#/labels", ...labels }),
    card({ href: "#/hazard", ...hazards }),
    card({ href: "#/products", ...products }),
    card({ href: "#/complaints", ...complaints }),
    ...kinds,
    card({ href: "#/edit/workshop/workshop", name: many, line: hint }),
    card({ href: "#/bench", ...bench }),
  );
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
  replaceKeepingFocus(
    slot(place, "refused"),
    ...refused.map(({ kind, id, why }) => {
      const { one } = aboutKind(kind);
      return one === undefined
        ? h("p", { class: "beware notice" }, why)
        : card({
            href: `#/edit/${kind}/${id}`,
            name: why,
            line: t("The server refused: {kind}", { kind: one }),
            chip: chip(t("change it"), "past"),
          });
    }),
  );
}
