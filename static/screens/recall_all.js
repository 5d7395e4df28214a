/** All recalls, those that go on first. */

import * as store from "../records/store.js";
import { readRecall } from "../shelf/read_recall.js";
import { t } from "../words/door.js";
import { card, chip, cloneTemplate, replaceKeepingFocus, slot } from "./dom.js";
import { drawOnChange, ofKinds } from "./screen.js";

/** @typedef {import("../shelf/read_recall.js").Recall} Recall */

/** @param {HTMLElement} place @param {import("./screen.js").Context} _context */
export async function showAll(place, _context) {
  place.append(cloneTemplate("screen-recalls"));
  return drawOnChange(ofKinds("recall"), async () => {
    const found = await Promise.all((await store.all("recall")).map(({ id }) => readRecall(id)));
    const recalls = found.filter((each) => each !== null);
    recalls.sort((a, b) => Number(isOver(a)) - Number(isOver(b)));
    slot(place, "empty").hidden = recalls.length > 0;
    replaceKeepingFocus(slot(place, "cards"), ...recalls.map(lineOf));
  });
}

/** @param {Recall} recall */
const isOver = ({ state }) => state.closed !== null;

/** @param {Recall} recall */
function lineOf({ record, state, isRehearsal }) {
  const stands = state.closed !== null ? t("closed") : t("open");
  return card({
    href: `#/recall/${record.id}`,
    name: String(record.name ?? ""),
    line: String(record.risk ?? ""),
    chip: chip(isRehearsal ? t("rehearsal") : stands, state.closed !== null ? "past" : ""),
  });
}
