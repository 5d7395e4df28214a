/** Every pour, the newest first. */

import { percent } from "../bench/display_units.js";
import { nameOf } from "../bench/due.js";
import { allPours, isOnBench, ofEach } from "../bench/pours.js";
import * as store from "../records/store.js";
import { dayText, localDate } from "../words/dates.js";
import { card, cloneTemplate, slot } from "./dom.js";
import { leadOn } from "./onboarding.js";

/** @param {HTMLElement} place */
export async function show(place) {
  place.append(cloneTemplate("screen-log"));
  const [pours, kept] = await Promise.all([allPours(), store.all("pour")]);
  slot(place, "empty").hidden = pours.length > 0;
  if (pours.length === 0) await leadOn(place, "#/recipes/pour", "Start a pour");
  const lines = ofEach(pours, ({ id, sheet, state, record, stage }) => {
    const loads = state.jugs.filter(({ fragrance_g, wax_g }) => fragrance_g > 0 && wax_g > 0).map(({ load }) => load);
    const about = card({
      href: `#/entry/${id}`,
      over: dayText(localDate(record.started_at)),
      name: nameOf(sheet),
      right: loads.length ? percent(loads.reduce((sum, load) => sum + load, 0) / loads.length) : "",
      under: isOnBench({ stage }) ? "on the bench" : stage === "setting" ? "setting" : (state.tops ?? "cured"),
    });
    return [about];
  });
  slot(place, "cards").replaceChildren(...lines);
  const lost = kept.length - lines.length;
  const unread = slot(place, "unread");
  unread.hidden = lost === 0;
  const which = lost === 1 ? "One pour" : `${lost} pours`;
  unread.textContent = `${which} can't be read by this version of the bench. Nothing is lost: it is kept, and in every copy.`;
}
