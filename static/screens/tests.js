/** All burn tests: those that go on, and those that are closed. */

import { ofEach } from "../bench/pours.js";
import { countsOf } from "../burns/test_sheet.js";
import { allTests } from "../burns/tests.js";
import * as store from "../records/store.js";
import { dayText, localDate } from "../words/dates.js";
import { t } from "../words/door.js";
import { card, chip, cloneTemplate, h, replaceKeepingFocus, slot } from "./dom.js";
import { drawOnChange, ofKinds } from "./screen.js";
import { comesNext } from "./test_words.js";

/** @param {HTMLElement} place */
export async function show(place) {
  place.append(cloneTemplate("screen-tests"));
  return drawOnChange(ofKinds("burn_test"), async () => {
    const [tests, { gone }] = await Promise.all([allTests(), store.apart("burn_test")]);
    slot(place, "empty").hidden = tests.length > 0;
    slot(place, "deleted").hidden = gone.length === 0;
    const open = tests.filter(({ state }) => state.closed === null);
    const closed = tests.filter(({ state }) => state.closed !== null);
    replaceKeepingFocus(slot(place, "cards"), ...group(t("Going on"), open), ...group(t("Closed"), closed));
  });
}

/** @param {string} heading @param {import("../burns/tests.js").BurnTest[]} tests */
function group(heading, tests) {
  const lines = ofEach(tests, (test) => [lineOf(test)]);
  return lines.length === 0 ? [] : [h("h2", { class: "group" }, heading), ...lines];
}

/** @param {import("../burns/tests.js").BurnTest} test */
function lineOf(test) {
  const { id, sheet, state, record } = test;
  return card({
    href: `#/test/${id}`,
    of: sheet,
    name: sheet.title,
    line: [countsOf(sheet), state.closed === null && comesNext(test)].filter(Boolean).join("; "),
    chip: state.clashes.length > 0 && chip(t("two phones differ"), "now"),
    under: dayText(localDate(state.closed?.at ?? record.started_at)),
  });
}
