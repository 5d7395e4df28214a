/** All complaints and accidents, the open ones first. */
import { isUnreported } from "../products/complaints.js";
import * as store from "../records/store.js";
import { t } from "../words/door.js";
import { card, chip, cloneTemplate, replaceKeepingFocus, slot } from "./dom.js";
import { dayOf, readComplaints } from "./product_sources.js";
import { dayOrNone, harmText } from "./product_words.js";
import { drawOnChange, ofKinds } from "./screen.js";

/** @param {HTMLElement} place */
export async function show(place) {
  place.append(cloneTemplate("screen-complaints"));
  return drawOnChange(ofKinds("complaint"), async () => {
    const { living, gone } = await store.apart("complaint");
    const found = await readComplaints(living);
    const open = found.filter(({ state }) => state.closed_at === null);
    const closed = found.filter(({ state }) => state.closed_at !== null);
    slot(place, "empty").hidden = found.length > 0;
    slot(place, "deleted").hidden = gone.length === 0;
    replaceKeepingFocus(slot(place, "cards"), ...[...open, ...closed].map(complaintCard));
  });
}

/** @param {import("./product_sources.js").Complaint} complaint */
export function complaintCard({ record, state }) {
  const day = dayOf(record);
  const isOpen = state.closed_at === null;
  const said = isUnreported(record, state) ? t("not reported yet") : isOpen ? t("open") : t("closed");
  return card({
    ...{ href: `#/complaint/${record.id}`, name: record.name ?? "" },
    line: [record.harm === "injury" || record.harm === "damage" ? harmText(record.harm) : "", record.code]
      .filter(Boolean)
      .join(", "),
    ...{ chip: chip(said, isOpen ? "past" : ""), under: dayOrNone(day) },
  });
}
