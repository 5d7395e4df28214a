/** All that is wanted by a day, and what there is to do for it. */
import { phoneNow } from "../bench/clock.js";
import * as store from "../records/store.js";
import { KINDS_OF_WANTED, readKept, workOut } from "../shelf/wanted.js";
import { localDate } from "../words/dates.js";
import { plural, t } from "../words/door.js";
import { card, cloneTemplate, download, h, replaceKeepingFocus, setText, showToast, slot } from "./dom.js";
import { drawOnChange, ofKinds } from "./screen.js";
import { calendarOfWanted } from "./wanted_calendar.js";
import { orderCard, toDo } from "./wanted_lines.js";
import { showOne } from "./wanted_one.js";
import { anyDay, nameOf } from "./wanted_words.js";

/** @param {HTMLElement} place @param {string[]} path the id of one, or all of them
 * @param {import("./screen.js").Context} context */
export async function show(place, [id], context) {
  if (id) return showOne(place, id, context);
  place.append(cloneTemplate("screen-wanted"));
  const { units } = context;
  slot(place, "file").addEventListener("click", async () => {
    const today = localDate(phoneNow());
    const orders = workOut(await readKept(today, context));
    const stored = await store.stored([store.ofKind("wanted")]);
    const text = calendarOfWanted(orders, stored, units, today, phoneNow());
    if (text === null) showToast(t("Nothing is wanted, so there is no day to save."));
    else download(new File([text], `${t("Wanted")}.ics`, { type: "text/calendar" }));
  });
  return drawOnChange(ofKinds(...KINDS_OF_WANTED), async () => {
    const today = localDate(phoneNow());
    const kept = await readKept(today, context);
    const orders = workOut(kept);
    slot(place, "empty").hidden = orders.length > 0;
    replaceKeepingFocus(
      slot(place, "cards"),
      ...orders.map((order) =>
        h("section", { class: "wants" }, orderCard(order, units, today), ...toDo(order, units, today)),
      ),
    );
    const over = kept.wanted.filter(({ done }) => done === "yes").sort((a, b) => (a.by < b.by ? 1 : -1));
    slot(place, "past").hidden = over.length === 0;
    setText(slot(place, "many"), plural(over.length, "{n} that is done", "{n} that are done"));
    replaceKeepingFocus(
      slot(place, "over"),
      ...over.map((each) =>
        card({
          href: `#/wanted/${each.id}`,
          name: nameOf(each),
          line: anyDay(each.by, today),
          right: String(each.count ?? ""),
        }),
      ),
    );
  });
}
