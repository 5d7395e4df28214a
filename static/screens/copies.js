/** Copies of everything: saved, sent and brought in, with no signal; and the pours as a table. */

import { KIND } from "../attachments/attachments.js";
import { bringInBytes, fitting, written } from "../attachments/copied.js";
import { phoneNow } from "../bench/clock.js";
import { fold } from "../bench/fold.js";
import { allPours } from "../bench/pours.js";
import { rowOf, tableOf } from "../bench/pours_csv.js";
import { foldTest } from "../burns/burn_fold.js";
import { MOST_BYTES, makeCopy, readCopy } from "../records/copies.js";
import { paired } from "../records/exchange.js";
import { plainRecord } from "../records/merge.js";
import { AHEAD_MS } from "../records/stamp.js";
import * as store from "../records/store.js";
import { localDate, timeText } from "../words/dates.js";
import { InputError, message, plural, t, worded } from "../words/door.js";
import { cloneTemplate, download, h, setText, slot } from "./dom.js";
import { aboutKind } from "./kinds.js";
import { sizeText } from "./size_text.js";

/** @typedef {import("../records/event_types.js").PourEvent} PourEvent */
/** @typedef {import("../records/event_types.js").BurnTestEvent} BurnTestEvent */
/** @typedef {import("../records/copies.js").Copy} Copy */

/** @param {HTMLElement} place */
export async function show(place) {
  place.append(cloneTemplate("screen-copies"));
  const [input, said, held, bring] = ["file", "said", "holds", "bring"].map((each) => slot(place, each));
  /** @type {Copy | null} */
  let found = null;
  const tell = (/** @type {string} */ text) => {
    setText(said, text);
    said.hidden = text === "";
  };
  /** @param {HTMLElement} element @param {string} event @param {() => Promise<unknown>} what */
  const on = (element, event, what) =>
    element.addEventListener(event, async () => {
      try {
        await what();
      } catch (error) {
        if (!(error instanceof InputError || error instanceof store.StoreError)) throw error;
        tell(error.message);
      }
    });
  const draw = (/** @type {Copy | null} */ copy) => {
    found = copy;
    held.replaceChildren(...(copy ? holds(copy) : []).map((line) => h("li", {}, line)));
    bring.hidden = !copy;
    setText(bring, copy?.unreadable ? t("Bring in the rest") : t("Bring it in"));
    tell("");
  };

  await drawAttachments(place);
  const withThem = () => slot(place, "with").checked;
  on(slot(place, "save"), "click", async () => download(await copyFile(withThem())));
  const share = slot(place, "share");
  // Not every phone that can send takes this type of file.
  share.hidden = !navigator.canShare?.({ files: [jsonFile(["{}"], "a")] });
  // She may think better of it.
  on(share, "click", async () => navigator.share({ files: [await copyFile(withThem())] }).catch(() => undefined));
  on(slot(place, "table"), "click", async () => {
    const text = tableOf((await allPours()).reverse());
    download(new File([text], `pours-${localDate(Date.now())}.csv`, { type: "text/csv" }));
  });
  on(slot(place, "choose"), "click", async () => input.click());
  on(input, "change", async () => {
    const [file] = input.files;
    draw(null);
    const text = file.size > MOST_BYTES ? "" : await file.text().catch(() => "");
    // The same file may be chosen again.
    input.value = "";
    const copy = tried(readCopy(text, phoneNow() + AHEAD_MS));
    draw(copy);
    const about = {
      name: copy.name,
      made: `${localDate(copy.made_ms)}, ${timeText(copy.made_ms)}`,
      lost: copy.unreadable,
    };
    tell(
      copy.unreadable > 0
        ? t(
            "This is a copy of “{name}”, made {made}. Some of it can’t be read, or has a date in the future, and is left out: {lost}. It holds:",
            about,
          )
        : t("This is a copy of “{name}”, made {made}. It holds:", about),
    );
    bring.scrollIntoView({ block: "center" });
  });
  on(bring, "click", async () => {
    if (found === null) return;
    const { records, events, attachments } = found;
    bring.disabled = true;
    try {
      // First the bytes, as when they are added: what names them comes then.
      const bytes = await bringInBytes(attachments);
      const count = (await store.bringIn(records, events)) + bytes.count;
      draw(null);
      const all = records.length + events.length + attachments.length;
      const lost = plural(bytes.wrong, "{n} photo or paper can’t be read.", "{n} photos and papers can’t be read.");
      tell(
        [
          count > 0 ? t("The copy is in. {count} of {all} are new here.", { count, all }) : "",
          count === 0 && bytes.wrong === 0 ? t("Everything in it was here already.") : "",
          bytes.wrong > 0 ? lost : "",
        ]
          .filter(Boolean)
          .join(" "),
      );
    } finally {
      bring.disabled = false;
    }
  });
}

/** @param {boolean} withAttachments */
async function copyFile(withAttachments) {
  const [kept, server] = await Promise.all([store.everything(), paired()]);
  const now_ms = Date.now();
  const attached = withAttachments ? await written((await fitting(await roomLeft())).hashes) : [];
  const parts = makeCopy(kept, server?.workshop.name ?? t("Workshop"), now_ms, attached);
  return jsonFile(parts, `pour-bench-${localDate(now_ms)}`);
}

/** Bytes that a copy has left beside the records. */
async function roomLeft() {
  const text = JSON.stringify(await store.everything());
  return MOST_BYTES - new TextEncoder().encode(text).length - 10_000;
}

/** Whether photos and papers go along, and which do not. @param {HTMLElement} place */
async function drawAttachments(place) {
  if (!(await store.hasAny(KIND))) return;
  const { hashes, size, left_out } = await fitting(await roomLeft());
  slot(place, "attachments").hidden = hashes.length + left_out === 0;
  const values = { size: sizeText(size) };
  setText(
    slot(place, "with_text"),
    plural(hashes.length, "With {n} photo or paper ({size})", "With {n} photos and papers ({size})", values),
  );
  slot(place, "left_out").hidden = left_out === 0;
  setText(
    slot(place, "left_out"),
    plural(
      left_out,
      "{n} is left out: it is not on this phone, or a copy has no room for it.",
      "{n} are left out: they are not on this phone, or a copy has no room for them.",
    ),
  );
}

/** @param {string[]} parts @param {string} name */
function jsonFile(parts, name) {
  return new File(parts, `${name}.json`, { type: "application/json" });
}

/** A pour or burn test that can't be shown is left out: every screen that lists them would fail.
 * @param {Copy} given @returns {Copy} */
function tried(given) {
  const { records, events } = given;
  /** @type {Map<string, Copy["events"]>} */
  const steps = new Map(records.map(({ kind, id }) => [`${kind} ${id}`, []]));
  for (const each of events) steps.get(each.of.join(" "))?.push(each);
  const good = records.filter((record) => {
    const { kind } = record;
    if (kind !== "pour" && kind !== "burn_test") return true;
    const plain = plainRecord(record);
    const told = steps.get(`${kind} ${plain.id}`) ?? [];
    try {
      if (kind === "burn_test") return foldTest(plain.sheet, /** @type {BurnTestEvent[]} */ (told));
      const events = /** @type {PourEvent[]} */ (told);
      return rowOf({ record: plain, sheet: plain.sheet, state: fold(plain.sheet, events) });
    } catch {
      return false;
    }
  });
  return { ...given, records: good, unreadable: given.unreadable + records.length - good.length };
}

/** What is kept without being typed into a form. @type {Record<string, import("../words/door.js").Message | undefined>} */
const UNTYPED = {
  pour: message("Pours"),
  burn_test: message("Burn tests"),
  hazard_finding: message("Hazard classes"),
  net_finding: message("Net contents"),
  made_label: message("Labels made"),
  label_picture: message("Pictures of labels"),
  attachment: message("Photos and papers"),
};

/** What has happened, by what it happened to. @type {Record<string, import("../words/door.js").Message>} */
const HAPPENED = {
  pour: message("Steps of pours"),
  burn_test: message("Steps of burn tests"),
  lot: message("Changes of deliveries"),
  made_label: message("Prints of labels"),
  batch: message("What happened to candles"),
  recall: message("Steps of recalls"),
  complaint: message("Steps of complaints"),
};

/** What it holds, in lines. @param {Copy} given */
function holds({ records, events, attachments }) {
  /** @type {Map<string, number>} */
  const counts = new Map();
  const count = (/** @type {string} */ what, number = 1) => counts.set(what, (counts.get(what) ?? 0) + number);
  for (const record of records) {
    const { kind, deleted } = plainRecord(record);
    const many = UNTYPED[kind] ? worded(UNTYPED[kind]) : aboutKind(kind).many;
    count(deleted ? t("Deleted") : (many ?? kind));
  }
  for (const [kind, many] of Object.entries(HAPPENED)) {
    const steps = events.filter((each) => each.of[0] === kind).length;
    if (steps > 0 || kind === "pour") count(worded(many), steps);
  }
  if (attachments.length > 0) count(t("Photos and papers in full"), attachments.length);
  return [...counts].map(([what, number]) => `${what}: ${number}`);
}
