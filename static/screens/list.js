/** All records of one kind. */
import { percent } from "../bench/display_units.js";
import { sizeVessel, USUAL_MIX } from "../bench/sizing.js";
import * as store from "../records/store.js";
import { InputError, t } from "../words/door.js";
import { card, cloneTemplate, slot } from "./dom.js";
import { aboutKind } from "./workshop.js";

/** What the bench does as long as there is none. @type {Record<string, string>} */
const SO_LONG = {
  wick: "A recipe can name one, and the log then shows it.",
  jug: "Until then every jug is taken to be large enough.",
  heater: "With one, the bench says how long the wax takes to melt.",
  scale: "Until then it is taken to read to 1 g and to carry 5 kg.",
  thermometer: "Until then it is taken to read to 0.1 °C.",
};

/** @param {HTMLElement} place @param {string[]} path with a second step of 'deleted', those that were
 * @param {any} context */
export async function show(place, [kind, which], { units, go }) {
  const about = aboutKind(kind);
  if (about.many === undefined) {
    go("workshop");
    return;
  }
  place.append(cloneTemplate("screen-list"));
  const [records, gone] = await Promise.all([store.all(kind), store.deleted(kind)]);
  const back = slot(place, "back");
  if (kind === "recipe") [back.href, back.textContent] = ["#/recipes", "Recipes"];
  if (which === "deleted") {
    slot(place, "empty").hidden = gone.length > 0;
    slot(place, "empty").textContent = "Nothing is deleted.";
    slot(place, "many").textContent = `${about.many}, deleted`;
    slot(place, "new").hidden = true;
    slot(place, "cards").replaceChildren(
      ...gone.map(({ id, name }) => card({ href: `#/history/${kind}/${id}`, name, under: "see, or bring back" })),
    );
    return;
  }
  slot(place, "deleted").hidden = gone.length === 0;
  slot(place, "deleted").href = `#/list/${kind}/deleted`;
  slot(place, "many").textContent = about.many;
  slot(place, "new").href = `#/edit/${kind}/new`;
  slot(place, "new").textContent = `New ${about.one}`;
  const empty = slot(place, "empty");
  empty.hidden = records.length > 0;
  empty.textContent = `None yet. ${about.hint} ${SO_LONG[kind] ?? ""}`;
  if (records.length === 0) {
    slot(place, "new").hidden = true;
    slot(place, "first").hidden = false;
    slot(place, "next").href = `#/edit/${kind}/new`;
    slot(place, "next").textContent = `New ${about.one}`;
  }
  slot(place, "cards").replaceChildren(
    ...records.map((record) =>
      card({ href: `#/edit/${kind}/${record.id}`, name: record.name, right: inShort(kind, record, units) }),
    ),
  );
}

/** What matters most of a record, in few words.
 * @param {string} kind @param {Record<string, any>} record @param {import("../bench/display_units.js").DisplayUnits} units */
function inShort(kind, record, units) {
  switch (kind) {
    case "wax":
      return typeof record.highest_load === "number" ? `up to ${percent(record.highest_load)}` : "";
    case "fragrance":
      return typeof record.flash_c === "number" ? `flash ${units.text(record.flash_c, "temperature", 1)}` : "";
    case "vessel":
      try {
        return `${units.text(sizeVessel(record, USUAL_MIX).wax_g, "mass")} wax`;
      } catch (error) {
        if (!(error instanceof InputError)) throw error;
        return "";
      }
    case "jug":
      return units.text(record.volume_ml, "volume");
    case "scale":
      return units.text(record.step_g, "mass", record.step_g);
    case "heater":
      return `${record.power_w} W`;
    case "thermometer":
      return `${record.step_c} °C`;
    case "additive":
      if (typeof record.rate !== "number") return "";
      return record.per === "kilo"
        ? t("{rate} g per kg", { rate: record.rate })
        : t("{rate} % of the wax", { rate: record.rate });
    case "wick":
      return [record.series, record.size].filter(Boolean).join(" ");
    default:
      return "";
  }
}
