/** All records of one kind. */

import { percent } from "../bench/display_units.js";
import { vesselsOf } from "../bench/due.js";
import { ofEach } from "../bench/pours.js";
import { openSheet } from "../bench/sheet_versions.js";
import { sizeVessel, USUAL_MIX } from "../bench/sizing.js";
import { countsOf } from "../burns/test_sheet.js";
import { opened } from "../records/findings.js";
import * as store from "../records/store.js";
import { dayText, localDate } from "../words/dates.js";
import { InputError, message, t, worded } from "../words/door.js";
import { wholeDayText } from "../words/whole_days.js";
import { card, chip, cloneTemplate, replaceKeepingFocus, setText, slot } from "./dom.js";
import { aboutKind } from "./kinds.js";
import { drawOnChange, ofKinds } from "./screen.js";

/** What the bench does as long as there is none. @type {Record<string, import("../words/door.js").Message | undefined>} */
const SO_LONG = {
  wick: message("When a recipe has one, the log shows it."),
  jug: message("Until you add one, the bench takes every jug to be large enough."),
  heater: message("Add one, and the bench says how long the wax takes to melt."),
  scale: message("Until you add one, the bench takes it to read in steps of 1 g, up to 5 kg."),
  thermometer: message("Until you add one, the bench takes it to read in steps of 0.1 °C."),
};

/** What has a page of its own is looked at and brought back there.
 * @type {Record<string, {back: string, room: import("../words/door.js").Message, deleted: import("../words/door.js").Message,
 *   page: string, lineOf: (record: store.Plain) => {of?: Record<string, any>, name: string, line: string, at: number}}>} */
const PAGES = {
  pour: {
    back: "#/log",
    room: message("Log"),
    deleted: message("Deleted pours"),
    page: "entry",
    lineOf({ sheet: kept, started_at }) {
      const sheet = openSheet(kept);
      return { of: sheet, name: sheet.title, line: vesselsOf(sheet), at: started_at };
    },
  },
  burn_test: {
    back: "#/tests",
    room: message("Burn tests"),
    deleted: message("Deleted burn tests"),
    page: "test",
    lineOf: ({ sheet, started_at }) => ({ of: sheet, name: sheet.title, line: countsOf(sheet), at: started_at }),
  },
  made_label: {
    back: "#/labels",
    room: message("Labels"),
    deleted: message("Deleted labels"),
    page: "made_label",
    lineOf(record) {
      const { name, asked, made_at } = opened(record);
      return { name, line: asked.batch ?? "", at: made_at };
    },
  },
};

/** Where a kind that the workshop does not list is shown. @type {Record<string, [string, import("../words/door.js").Message] | undefined>} */
const ROOMS = {
  recipe: ["recipes", message("Recipes")],
  product: ["products", message("Products")],
  complaint: ["complaints", message("Complaints and accidents")],
};

/** @param {HTMLElement} place @param {string[]} path with a second step of 'deleted', those that were
 * @param {import("./screen.js").Context} context */
export async function show(place, [kind, which], { units, go }) {
  const ofPages = Object.hasOwn(PAGES, kind) && which === "deleted";
  if (aboutKind(kind).many === undefined && !ofPages) {
    go("workshop");
    return;
  }
  place.append(cloneTemplate("screen-list"));
  const back = slot(place, "back");
  if (ofPages) {
    [back.href, back.textContent] = [PAGES[kind].back, worded(PAGES[kind].room)];
    return drawOnChange(ofKinds(kind), () => drawDeletedPages(place, kind));
  }
  const room = ROOMS[kind];
  if (room) [back.href, back.textContent] = [`#/${room[0]}`, worded(room[1])];
  return drawOnChange(
    ofKinds(kind),
    which === "deleted" ? () => drawDeleted(place, kind) : () => draw(place, kind, units),
  );
}

/** @param {HTMLElement} place @param {string} kind */
async function drawDeletedPages(place, kind) {
  const { deleted, page, lineOf } = PAGES[kind];
  const lines = ofEach(await store.deleted(kind), (record) => {
    const told = lineOf(record);
    return [{ id: record.id, ...told, line: [told.line, whyGone(record)].filter(Boolean).join(". ") }];
  });
  const cards = lines
    .sort((a, b) => b.at - a.at)
    .map(({ id, at, ...line }) =>
      card({
        href: `#/${page}/${id}`,
        ...line,
        chip: chip(t("see it or bring it back")),
        under: dayText(localDate(at)),
      }),
    );
  showDeleted(place, worded(deleted), cards);
}

/** @param {HTMLElement} place @param {string} kind */
async function drawDeleted(place, kind) {
  const gone = await store.deleted(kind);
  const cards = gone.map((record) => {
    const { id, name } = record;
    const href = `#/history/${kind}/${id}`;
    return card({ href, name, line: whyGone(record), chip: chip(t("see it or bring it back")) });
  });
  showDeleted(place, t("Deleted: {kinds}", { kinds: aboutKind(kind).many ?? "" }), cards);
}

/** Why it was deleted, where she was asked. @param {store.Plain} record */
const whyGone = ({ deleted_why: why }) => (why ? t("Deleted because: {why}", { why }) : "");

/** @param {HTMLElement} place @param {string} heading @param {HTMLElement[]} cards */
function showDeleted(place, heading, cards) {
  slot(place, "empty").hidden = cards.length > 0;
  setText(slot(place, "empty"), t("Nothing was deleted."));
  setText(slot(place, "many"), heading);
  slot(place, "new").hidden = true;
  replaceKeepingFocus(slot(place, "cards"), ...cards);
}

/** @param {HTMLElement} place @param {string} kind @param {import("../bench/display_units.js").DisplayUnits} units */
async function draw(place, kind, units) {
  const { one = "", many = "", hint = "" } = aboutKind(kind);
  const [records, gone] = await Promise.all([store.all(kind), store.deleted(kind)]);
  slot(place, "deleted").hidden = gone.length === 0;
  slot(place, "deleted").href = `#/list/${kind}/deleted`;
  setText(slot(place, "many"), many);
  const isEmpty = records.length === 0;
  for (const name of ["new", "next"]) {
    slot(place, name).href = `#/edit/${kind}/new`;
    setText(slot(place, name), t("New {kind}", { kind: one }));
  }
  slot(place, "new").hidden = isEmpty;
  slot(place, "next").hidden = !isEmpty;
  slot(place, "empty").hidden = !isEmpty;
  const so_long = SO_LONG[kind];
  setText(slot(place, "empty"), [t("There is none yet."), hint, so_long && worded(so_long)].filter(Boolean).join(" "));
  const cards = records.map((record) =>
    card({
      href: kind === "buyer" ? `#/buyer/${record.id}` : `#/edit/${kind}/${record.id}`,
      of: lookOf(kind, record.id),
      name: record.name,
      right: inShort(kind, record, units),
    }),
  );
  replaceKeepingFocus(slot(place, "cards"), ...cards);
}

/** @param {string} kind @param {string} id */
function lookOf(kind, id) {
  if (kind === "vessel") return { vessel: id };
  return kind === "fragrance" ? { oils: [{ id }] } : undefined;
}

/** What matters most of a record, in few words.
 * @param {string} kind @param {Record<string, any>} record @param {import("../bench/display_units.js").DisplayUnits} units */
function inShort(kind, record, units) {
  switch (kind) {
    case "wax":
      return typeof record.highest_load === "number" ? t("up to {load}", { load: percent(record.highest_load) }) : "";
    case "fragrance":
      return typeof record.flash_c === "number"
        ? t("flash point {temperature}", { temperature: units.text(record.flash_c, "temperature", 1) })
        : "";
    case "vessel":
      try {
        return t("{mass} wax", { mass: units.text(sizeVessel(record, USUAL_MIX).wax_g, "mass") });
      } catch (error) {
        if (!(error instanceof InputError)) throw error;
        return "";
      }
    case "jug":
      return record.volume_ml ? units.text(record.volume_ml, "volume") : "";
    case "scale":
      return record.step_g ? units.text(record.step_g, "mass", record.step_g) : "";
    case "heater":
      return record.power_w ? `${record.power_w} W` : "";
    case "thermometer":
      return record.step_c ? `${record.step_c} °C` : "";
    case "additive":
      if (typeof record.rate !== "number") return "";
      return record.per === "kilo"
        ? t("{rate} g per kg", { rate: record.rate })
        : t("{rate} % of the wax", { rate: record.rate });
    case "safety_sheet":
      return record.dated ? wholeDayText(record.dated) : "";
    case "wick":
      return [record.series, record.size].filter(Boolean).join(" ");
    default:
      return "";
  }
}
