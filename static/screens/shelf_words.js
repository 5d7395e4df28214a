/** What is on the shelf, in words: amounts, lots, and how long they keep. */

import { daysBetween } from "../formulas/calendar_day.js";
import { isExpired } from "../shelf/stock.js";
import { dayText } from "../words/dates.js";
import { plural, t } from "../words/door.js";

/** @typedef {import("../bench/display_units.js").DisplayUnits} DisplayUnits */
/** @typedef {import("../shelf/stock.js").Lot} Lot */
/** @typedef {import("../shelf/stock.js").Material} Material */

/** Less than this is weighed finely (g). */
const FINE_BELOW_G = 100;

/** A day within half a year is told without its year. */
const NEAR_DAYS = 183;

/** So much of a material. @param {number} amount grams or pieces @param {boolean} pieces @param {DisplayUnits} units */
export function amountText(amount, pieces, units) {
  if (pieces) return plural(amount, "{n} piece", "{n} pieces");
  return units.text(amount, "mass", amount !== 0 && Math.abs(amount) < FINE_BELOW_G ? "fine" : null);
}

/** Such as 'FF-2609, 560 g left, expires Thu 3 Dec'. @param {Lot} lot @param {boolean} pieces @param {DisplayUnits} units
 * @param {string} today */
export function lotText(lot, pieces, units, today) {
  const left = t("{lot}, {amount} left", { lot: lot.name, amount: amountText(lot.state.here, pieces, units) });
  const keeps = keepsText(lot, today);
  return keeps === "" ? left : `${left}, ${keeps}`;
}

/** A day, with its year where it is not near. @param {string} day @param {string} today */
export function farDay(day, today) {
  const text = dayText(day);
  return Math.abs(daysBetween(today, day)) < NEAR_DAYS ? text : t("{day} {year}", { day: text, year: day.slice(0, 4) });
}

/** How long it keeps; "" where nothing says so. @param {Lot} lot @param {string} today */
export function keepsText(lot, today) {
  const { expires_on, withdrawn } = lot.state;
  if (withdrawn !== null) return t("withdrawn");
  if (expires_on === null) return "";
  const day = farDay(expires_on, today);
  return isExpired(lot, today) ? t("expired {day}", { day }) : t("keeps until {day}", { day });
}

/** What to beware of in a lot that is to be used. @param {Lot} lot @param {string} today
 * @returns {import("../bench/mixing.js").Caution[]} */
export function lotCautions(lot, today) {
  const { withdrawn, expires_on } = lot.state;
  const name = lot.name;
  if (withdrawn !== null) {
    const text = t("{name} was withdrawn: {why}. Do not use it unless you know that it is safe.", {
      name,
      why: withdrawn,
    });
    return [{ level: "caution", text }];
  }
  /** @type {import("../bench/mixing.js").Caution[]} */
  const left = lot.record.left_of
    ? [
        {
          level: "warning",
          text: t("{name} was left of a pour: its fragrance is in it already, and so is what that pour was made of.", {
            name,
          }),
        },
      ]
    : [];
  if (!isExpired(lot, today)) return left;
  const text = t("{name} expired on {day}. Ask the supplier's sheet before you use it.", {
    name,
    day: farDay(/** @type {string} */ (expires_on), today),
  });
  return [...left, { level: "caution", text }];
}
