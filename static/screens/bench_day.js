/** A day at the bench: what must be poured on it, in which order, and about when. */
import { phoneNow } from "../bench/clock.js";
import { settingsOf } from "../bench/due.js";
import { pastPours } from "../bench/past_pours.js";
import { daysBetween } from "../formulas/calendar_day.js";
import { instant } from "../formulas/day.js";
import { dayOf } from "../shelf/bench_day.js";
import { KINDS_OF_WANTED, readKept, workOut } from "../shelf/wanted.js";
import { localDate, timeText } from "../words/dates.js";
import { InputError, listed, plural, t } from "../words/door.js";
import { card, chip, cloneTemplate, replaceKeepingFocus, setText, slot } from "./dom.js";
import { drawOnChange, ofKinds } from "./screen.js";
import { farDay } from "./shelf_words.js";
import { nameOf } from "./wanted_words.js";

/** @typedef {import("../shelf/bench_day.js").DayPour} DayPour */

/** @param {HTMLElement} place @param {string[]} path the day; today without @param {import("./screen.js").Context} context */
export async function show(place, [given], context) {
  place.append(cloneTemplate("screen-bench_day"));
  slot(place, "print").addEventListener("click", () => print());
  return drawOnChange(ofKinds(...KINDS_OF_WANTED), async () => {
    const today = localDate(phoneNow());
    const day = given || today;
    const kept = await readKept(today, context);
    const orders = workOut(kept);
    const problem = problemOf(day, today);
    setText(slot(place, "day"), problem ? t("A day at the bench") : farDay(day, today));
    setText(slot(place, "error"), problem);
    slot(place, "error").hidden = problem === "";
    const past = { materials: kept.materials, pours: await pastPours(kept.tools.jugs) };
    const turns = problem ? [] : dayOf(orders, day, beginOf(day, today, context.workshop), past);
    slot(place, "empty").hidden = turns.length > 0 || problem !== "";
    setText(slot(place, "empty"), day < today ? t("This day is over.") : t("Nothing has to be poured on this day."));
    replaceKeepingFocus(slot(place, "cards"), ...turns.map(lineOf));
    slot(place, "took").hidden = turns.length === 0;
    setText(slot(place, "took"), tookText(turns));
    const start = slot(place, "start");
    start.hidden = turns.length === 0;
    slot(place, "print").disabled = turns.length === 0;
    if (turns.length > 0) start.href = planOf(turns[0]);
    const others = [...new Set(orders.flatMap(({ days }) => days.map((each) => each.day)))].filter(
      (each) => each !== day,
    );
    slot(place, "coming").hidden = others.length === 0;
    replaceKeepingFocus(
      slot(place, "others"),
      ...others.sort().map((each) => {
        const n = orders.flatMap(({ days }) => days).reduce((sum, one) => (one.day === each ? sum + one.n : sum), 0);
        return card({ href: `#/day/${each}`, name: farDay(each, today), right: String(n) });
      }),
    );
  });
}

/** Why it is no day to plan; "" if it is one. @param {string} day @param {string} today */
function problemOf(day, today) {
  try {
    daysBetween(today, day);
    return "";
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return error.message;
  }
}

/** When she starts: at the hour at which she is reminded, or now if that is over.
 * @param {string} day @param {string} today @param {Record<string, any>} workshop */
function beginOf(day, today, workshop) {
  const { remind_at, zone } = settingsOf(workshop);
  try {
    const begin_ms = instant(day, remind_at, zone);
    return day === today ? Math.max(begin_ms, phoneNow()) : begin_ms;
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return phoneNow();
  }
}

/** @param {DayPour} pour */
const planOf = ({ recipe, count }) => `#/plan/${recipe.id}/${count}`;

/** @param {DayPour} pour */
function lineOf(pour) {
  const { recipe, count, jugs, wanted, dyed, start_ms, end_ms } = pour;
  const names = listed([...new Set(wanted.map(nameOf))]);
  return card({
    href: planOf(pour),
    of: recipe,
    name: t("{count} × {vessel}", { count, vessel: nameOf(recipe) }),
    line: plural(jugs, "one jug, for {names}", "{n} jugs, for {names}", { names }),
    chip: dyed && chip(t("has dye")),
    right: timeText(start_ms),
    under: t("to about {time}", { time: timeText(end_ms) }),
  });
}

/** What the times are reckoned from. @param {DayPour[]} turns */
function tookText(turns) {
  const told = turns.filter(({ took }) => took.pours > 0);
  const guessed = turns.length > told.length;
  if (told.length === 0) return t("No pour of yours has told yet how long it takes: two hours are reckoned for each.");
  const said = t("The times are what your past pours took from ready to set aside, in the middle of them.");
  return guessed ? `${said} ${t("Where none has told, two hours are reckoned.")}` : said;
}
