/**
 * The notice by which candles are called back.
 *
 * Its headings are those of Regulation (EU) 2023/988, Art. 36 (read second-hand; the form is in Regulation (EU) 2024/1435,
 * which was not seen): what it is and its batch numbers, when and where it was sold, the danger, what to do, what is
 * offered, and whom to ask.
 */
import { dayText, localDate } from "../words/dates.js";
import { listed, t } from "../words/door.js";

/** @typedef {Record<string, any>} Fields */
/** @typedef {import("../shelf/trace.js").Batch} Batch */
/** @typedef {import("../shelf/recall.js").Holder} Holder */

/** What stands in place of what she has not said yet. */
const NOTHING = "…";

/**
 * @param {{batches: Batch[], holders: Holder[], places: string[]}} found `places`: where they were sold, as far as that is
 *   no person's name
 * @param {Fields} maker her name and address @param {Fields} recall its danger and what she offers
 * @param {string} [to] a name and address above it
 */
export function letterOf({ batches, holders, places }, maker, { risk, remedy }, to = "") {
  const times = holders.flatMap(({ first_ms, last_ms }) => [first_ms, last_ms]).sort((a, b) => a - b);
  const [first, last] = [times[0], times.at(-1)].map((each) => (each ? dayText(localDate(each)) : ""));
  const names = [...new Set(batches.map(({ pour }) => pour.sheet.title))];
  const codes = batches.flatMap(({ code }) => code ?? []);
  const lines = [
    ...(to ? [to, ""] : []),
    t("Product safety recall"),
    "",
    t("Product: {names}", { names: listed(names) || NOTHING }),
    t("Maker: {maker}", { maker: maker.called || NOTHING }),
    t("Batch codes: {codes}", { codes: listed(codes) || NOTHING }),
    ...(times.length > 0
      ? [first === last ? t("Sold on {first}.", { first }) : t("Sold from {first} to {last}.", { first, last })]
      : []),
    ...(places.length > 0 ? [t("Sold at: {places}", { places: listed(places) })] : []),
    "",
    t("The danger: {risk}", { risk: risk || NOTHING }),
    t("Stop using the candle at once, and keep it where nobody lights it."),
    t("What we offer: {remedy}", { remedy: remedy || NOTHING }),
    t("Write or call us, and say which batch code your candle has."),
    "",
    [maker.called, ...String(maker.address ?? "").split("\n"), maker.electronic, maker.telephone]
      .filter(Boolean)
      .join(", ") || NOTHING,
  ];
  return lines.join("\n");
}

/** Where they were sold, as far as it is no person's name. @param {Holder[]} holders @param {Map<string, Fields>} buyers */
export function placesOf(holders, buyers) {
  const found = holders.flatMap(({ buyer, where }) => {
    const known = buyer === null ? undefined : buyers.get(buyer);
    if (known === undefined) return where;
    return known.what === "shop" || known.what === "market" ? String(known.name ?? "") : [];
  });
  return [...new Set(found.filter((each) => each !== ""))];
}

/** The name and address of a buyer, as above a letter. @param {Fields | undefined} buyer */
export const addressOf = (buyer) => [buyer?.name, buyer?.address].filter(Boolean).join("\n");
