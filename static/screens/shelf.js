/** The shelf: what is there of each material. */
import { phoneNow } from "../bench/clock.js";
import { MATERIALS, readShelf } from "../shelf/stock.js";
import { localDate } from "../words/dates.js";
import { plural, t } from "../words/door.js";
import { card, chip, cloneTemplate, h, replaceKeepingFocus, slot } from "./dom.js";
import { aboutKind } from "./kinds.js";
import { drawOnChange, ofKinds } from "./screen.js";
import { amountText, keepsText } from "./shelf_words.js";

/** @typedef {import("../shelf/stock.js").Material} Material */

/** It is told so many days before that something expires (our choice). */
const SOON_DAYS = 30;

/** @param {HTMLElement} place @param {string[]} _path @param {import("./screen.js").Context} context */
export async function show(place, _path, { units }) {
  place.append(cloneTemplate("screen-shelf"));
  return drawOnChange(ofKinds("lot", "pour", "supplier", ...MATERIALS), async () => {
    const { materials, lots, today } = await readShelf(localDate(phoneNow()));
    const soon = localDate(phoneNow() + SOON_DAYS * 86_400_000);
    const counted = [...materials.values()].filter(({ lots }) => lots.length > 0);
    slot(place, "empty").hidden = lots.size > 0;
    slot(place, "count").hidden = counted.length === 0;
    const groups = MATERIALS.flatMap((kind) => {
      const lines = counted.filter((each) => each.kind === kind).map((each) => lineOf(each, today, soon, units));
      return lines.length > 0 ? [h("h2", { class: "group" }, aboutKind(kind).many), ...lines] : [];
    });
    const lost = [...lots.values()].filter(({ material, is_open }) => is_open && !materials.has(material));
    const lostLines = lost.map(({ id, name, state, record }) =>
      card({
        href: `#/lot/${id}`,
        name,
        chip: chip(t("its material was deleted"), "past"),
        right: amountText(state.here, record.by === "pieces", units),
      }),
    );
    replaceKeepingFocus(slot(place, "cards"), ...groups, ...lostLines);
  });
}

/** @param {Material} material @param {string} today @param {string} soon @param {import("../bench/display_units.js").DisplayUnits} units */
function lineOf(material, today, soon, units) {
  const open = material.lots.filter(({ is_open }) => is_open);
  const [first] = open;
  const line =
    open.length === 0 ? t("none is left") : plural(open.length, "{lot}", "{n} lots, {lot} first", { lot: first.name });
  return card({
    href: `#/material/${material.kind}/${material.id}`,
    name: material.name,
    line,
    chip: stateOf(material, today, soon),
    right: amountText(material.here, material.pieces, units),
  });
}

/** What she must see of a material, the worst first. @param {Material} material @param {string} today @param {string} soon */
function stateOf({ lots, here, record }, today, soon) {
  const open = lots.filter(({ is_open }) => is_open);
  if (open.some(({ state }) => state.counted_wrong)) return chip(t("counted wrong?"), "past");
  const withdrawn = open.find(({ state }) => state.withdrawn !== null);
  if (withdrawn) return chip(t("{lot} is withdrawn", { lot: withdrawn.name }), "past");
  const first = open.find(({ state }) => state.expires_on !== null && state.expires_on <= soon);
  if (first)
    return chip(`${first.name}: ${keepsText(first, today)}`, String(first.state.expires_on) < today ? "past" : "now");
  return typeof record.reorder_at === "number" && here < record.reorder_at && chip(t("time to order"), "now");
}
