/** What two phones said differently of a burn test, and which is right. */
import { t } from "../words/door.js";
import { h } from "./dom.js";
import { toldOf } from "./test_happened.js";

/** @typedef {import("../burns/tests.js").BurnTest} BurnTest */

/** @param {BurnTest} test @param {import("../bench/display_units.js").DisplayUnits} units
 * @param {(ids: string[]) => void} undo let these events not count */
export function testClashes(test, units, undo) {
  const told = toldOf(test, units);
  return test.state.clashes.map(({ answers }) => {
    const choices = answers.standing.map((answer) => {
      const { event } = answer;
      const field = ["read_g", "mm", "temp_c", "grade"].find((name) => name in event) ?? "";
      const value = told.value(event, field, /** @type {Record<string, unknown>} */ (event)[field]);
      const words = [told.words(event), value].filter(Boolean).join(": ");
      return { words: event.by ? t("{what}, by {who}", { what: words, who: event.by }) : words, answer };
    });
    return h(
      "div",
      { class: "beware notice" },
      h("p", {}, t("Two phones differ. Which is right?")),
      h(
        "p",
        { class: "links" },
        ...choices.map(({ words, answer }) =>
          h("button", { type: "button", class: "quiet", onclick: () => undo(answers.against(answer)) }, words),
        ),
      ),
    );
  });
}
