/** What is wanted by a day, in sentences: what is there, what is to do, and what is no longer possible. */
import { InputError, listed, plural, t } from "../words/door.js";
import { amountText, farDay } from "./shelf_words.js";

/** @typedef {import("../bench/display_units.js").DisplayUnits} DisplayUnits */
/** @typedef {import("../bench/mixing.js").Caution} Caution */
/** @typedef {import("../shelf/missing.js").Missing} Missing */
/** @typedef {import("../shelf/wanted.js").Order} Order */
/** @typedef {{text: string, day: string, href: string, past: boolean}} Task what she must do, and by which day */

/** So many days are told one by one (our choice). */
const MOST_DAYS_TOLD = 3;

/** What it is called; an older bench may have kept one without a name.
 * @param {import("../records/store.js").Plain} record */
export const nameOf = ({ name }) => name || t("one without a name");

/** Such as '24 × Wet slate'. @param {Order} order */
export function whatText({ record, recipe }) {
  const count = record.count ?? 0;
  return recipe ? t("{count} × {vessel}", { count, vessel: nameOf(recipe) }) : String(count);
}

/** Such as '24 × Wet slate by Sat 2 Jan'. @param {Order} order @param {string} today */
export function wantedText(order, today) {
  const { by } = order.record;
  return by ? t("{what} by {day}", { what: whatText(order), day: anyDay(by, today) }) : whatText(order);
}

/** A day in words; one that is none as it is written. @param {string | undefined} day @param {string} today */
export function anyDay(day, today) {
  if (!day) return "";
  try {
    return farDay(day, today);
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return day;
  }
}

/** What is there already of what is wanted; "" where nothing is. @param {Order} order @param {string} today */
export function metText({ given, worked, record }, today) {
  const met = worked?.met ?? 0;
  const said = [];
  if (given > 0) said.push(plural(given, "{n} of them went out already.", "{n} of them went out already."));
  if (met > 0 && worked && worked.pour + worked.none + worked.cured.met + worked.cured.pour === 0) {
    said.push(t("All are there or will be cured by {day}.", { day: farDay(record.by, today) }));
  } else if (met > 0) {
    said.push(plural(met, "{n} is there or will be cured in time.", "{n} are there or will be cured in time."));
  }
  return said.join(" ");
}

/** What there is to pour and to order, the first first. @param {Order} order @param {DisplayUnits} units
 * @param {string} today @returns {Task[]} */
export function tasksOf(order, units, today) {
  const tasks = [...orderTasks(order, units, today), ...pourTasks(order, today)];
  return tasks.sort((a, b) => (a.day < b.day ? -1 : a.day > b.day ? 1 : 0));
}

/** @param {Order} order @param {string} today @returns {Task[]} */
function pourTasks({ record, recipe, days }, today) {
  const told = days.slice(0, MOST_DAYS_TOLD).map(({ day, n }, index) => {
    const values = { n, day: farDay(day, today) };
    const hers = day === record.pour_on;
    const text = hers
      ? t("Pour {n} on {day}, as you planned.", values)
      : day === today
        ? t("Pour {n} today.", values)
        : index === 0 || days.length <= MOST_DAYS_TOLD
          ? t("Pour {n} by {day}.", values)
          : t("Pour {n} more by {day}.", values);
    return { text, day, href: `#/plan/${recipe?.id}/${n}`, past: false };
  });
  const rest = days.slice(MOST_DAYS_TOLD);
  const last = rest.at(-1);
  if (last === undefined) return told;
  const n = rest.reduce((sum, each) => sum + each.n, 0);
  const values = { n, days: rest.length, day: farDay(last.day, today) };
  const text = t("Pour {n} more on {days} further days, the last of them {day}.", values);
  return [...told, { text, day: rest[0].day, href: `#/day/${rest[0].day}`, past: false }];
}

/** @param {Order} order @param {DisplayUnits} units @param {string} today @returns {Task[]} */
function orderTasks({ missing }, units, today) {
  return missing.map((each) => {
    const values = { what: itemText(each, units), day: farDay(each.order_by, today) };
    const past = each.order_by < today;
    const text = past
      ? t("Order {what} at once: {day} was the last day to get it in time.", values)
      : each.order_by === today
        ? t("Order {what} today.", values)
        : t("Order {what} by {day}.", values);
    return { text, day: each.order_by, href: "#/shopping", past };
  });
}

/** Such as '28 × lid for tin 120' or '458 g of Wet slate'.
 * @param {{name: string, amount: number, pieces: boolean}} missing @param {DisplayUnits} units */
export function itemText(missing, units) {
  const { name, amount, pieces } = missing;
  if (pieces) return t("{count} × {vessel}", { count: wholePieces(amount), vessel: name });
  return t("{amount} of {name}", { amount: missingText(missing, units), name });
}

/** @param {number} amount */
const wholePieces = (amount) => Math.ceil(amount - 1e-6);

/** So much that it is enough to order it. @param {{amount: number, pieces: boolean}} missing @param {DisplayUnits} units */
export function missingText({ amount, pieces }, units) {
  return amountText(pieces ? wholePieces(amount) : amount, pieces, units);
}

/** What will not come out as she wants it. @param {Order} order @param {string} today @returns {Caution[]} */
export function warningsOf({ record, problem, worked, days }, today) {
  const said = [];
  if (problem !== null) said.push(problem);
  if (worked === null) return said.map(warning);
  const { by, pour_on, count } = record;
  if (by < today) {
    said.push(t("{day} is over. Tick it off, or change the day.", { day: farDay(by, today) }));
    return said.map(warning);
  }
  if (pour_on && !days.some(({ day }) => day === pour_on) && worked.pour + worked.cured.pour + worked.none > 0) {
    const day = farDay(pour_on, today);
    const over = t("You planned to pour them on {day}, and that day is over.", { day });
    said.push(pour_on < today ? over : t("You planned to pour them on {day}: that is too late.", { day }));
  }
  const cured = worked.cured.met + worked.cured.pour;
  const soonest = farDay(worked.soonest, today);
  const best = record.cured !== "least";
  if (cured > 0) {
    const text = plural(
      cured,
      "{n} can only be cured, not at its best: for full cure it is too late.",
      "{n} can only be cured, not at their best: for full cure it is too late.",
    );
    said.push(best && days.some(({ late }) => late) ? `${text} ${readyText(soonest)}` : text);
  }
  if (worked.none > 0) {
    const text =
      worked.none >= count
        ? t("It is too late to have any of them cured by then.")
        : plural(
            worked.none,
            "It is too late for {n} of them to be cured by then.",
            "It is too late for {n} of them to be cured by then.",
          );
    said.push(cured > 0 ? text : `${text} ${readyText(soonest)}`);
  }
  return said.map(warning);
}

/** @param {string} day */
const readyText = (day) => t("What is poured today is ready on {day}.", { day });

/** @param {string} text @returns {Caution} */
const warning = (text) => ({ level: "warning", text });

/** What it reckons with that nobody has said. @param {Order} order @returns {string[]} */
export function assumedOf({ missing, uncounted }) {
  const said = [];
  const unsaid = [...missing].filter(({ lead_days }) => lead_days === null).map(({ name }) => name);
  if (unsaid.length > 0) {
    const names = listed(unsaid);
    said.push(t("How soon it arrives is not known of {names}: the day to order is the day to pour.", { names }));
  }
  if (uncounted.length > 0) {
    const names = listed(uncounted.map(({ name }) => name));
    said.push(t("The shelf does not count these, so look whether there is enough: {names}.", { names }));
  }
  return said;
}
