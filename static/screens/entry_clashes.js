/** What two phones said differently of a pour that has left the bench, and which is right. */
import { askedOf, choicesOf, toldBy } from "../bench/clash_prompt.js";
import { t } from "../words/door.js";
import { h, rich } from "./dom.js";

/** @param {import("../bench/pours.js").Pour} pour @param {import("../bench/display_units.js").DisplayUnits} units
 * @param {(ids: string[]) => void} undo let these events not count */
export function clashNotices({ sheet, state }, units, undo) {
  return state.jugs.flatMap((jug, index) =>
    jug.clashes.map((clash) => {
      const asked = askedOf(clash, jug);
      const lines = clash.answers.standing.map((answer) => h("p", {}, ...rich(toldBy(answer, sheet, jug, units))));
      const buttons = choicesOf(clash, sheet, jug, units).map(({ label, undo: ids = [] }) =>
        h("button", { type: "button", class: "quiet", onclick: () => undo(ids) }, label),
      );
      return h(
        "div",
        { class: "beware notice" },
        h("p", {}, state.jugs.length > 1 ? t("Jug {n}: {asked}", { n: index + 1, asked }) : asked),
        ...lines,
        h("p", { class: "links" }, ...buttons),
      );
    }),
  );
}
