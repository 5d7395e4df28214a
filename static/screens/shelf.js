/** The shelf: what is there of each material. */
import { phoneNow } from "../bench/clock.js";
import { MATERIALS } from "../shelf/lots.js";
import { readShelf } from "../shelf/stock.js";
import { localDate } from "../words/dates.js";
import { t } from "../words/door.js";
import { card, chip, cloneTemplate, h, replaceKeepingFocus, slot } from "./dom.js";
import { aboutKind } from "./kinds.js";
import { drawOnChange, ofKinds } from "./screen.js";
import { materialCard } from "./shelf_lines.js";
import { amountText } from "./shelf_words.js";

/** @param {HTMLElement} place @param {string[]} _path @param {import("./screen.js").Context} context */
export async function show(place, _path, { units }) {
  place.append(cloneTemplate("screen-shelf"));
  return drawOnChange(ofKinds("lot", "pour", "supplier", ...MATERIALS), async () => {
    const { materials, lots, today } = await readShelf(localDate(phoneNow()));
    const counted = [...materials.values()].filter(({ lots }) => lots.length > 0);
    slot(place, "empty").hidden = lots.size > 0;
    slot(place, "count").hidden = counted.length === 0;
    const groups = MATERIALS.flatMap((kind) => {
      const lines = counted.filter((each) => each.kind === kind).map((each) => materialCard(each, today, units));
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
