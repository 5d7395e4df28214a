/** What past months come to, as a table for a spreadsheet: a row for each month and recipe, in g and °C. */
import { COMMAS, csvOf, POINTS } from "../bench/csv.js";
import { plainMoney } from "../formulas/money.js";
import { write } from "../formulas/rounding.js";
import { monthsIn, recipesOf } from "../shelf/back_sums.js";
import { message, worded } from "../words/door.js";
import { decimalSign } from "../words/numbers.js";

/** @typedef {import("../shelf/back_told.js").Told} Told */
/** @typedef {import("../shelf/back_sums.js").Period} Period */
/** @typedef {import("../shelf/back_sums.js").Sums} Sums */

const number = (/** @type {number} */ value, /** @type {number} */ step) => Number(write(value, step));

/** @type {[head: import("../words/door.js").Message, of: (sums: Sums) => string | number][]} */
const COLUMNS = [
  [message("Pours"), ({ pours }) => pours],
  [message("Given up"), ({ given_up }) => given_up],
  [message("Vessels filled"), ({ filled }) => filled],
  [message("Vessels planned, of what was put away"), ({ planned }) => planned],
  [message("Candles made"), ({ made }) => made],
  [message("Sold"), ({ gone }) => gone.sold],
  [message("Given away"), ({ gone }) => gone.given],
  [message("Went out otherwise"), ({ gone }) => gone.handed_out],
  [message("Came back"), ({ gone }) => gone.returned],
  [message("Broken"), ({ gone }) => gone.broken],
  [message("Destroyed"), ({ gone }) => gone.destroyed],
  [message("Burned in a test"), ({ gone }) => gone.test_burned],
  [message("Sold without a price"), ({ unpriced }) => unpriced],
  [message("Weighed in, where all was read (g)"), ({ grams }) => number(grams.weighed_g, 0.01)],
  [message("Came into vessels, where all was read (g)"), ({ grams }) => number(grams.filled_g, 0.01)],
  [message("Jugs of which the load was read"), ({ off_load }) => off_load?.n ?? 0],
  [message("Load reached, mean (% of wax)"), ({ load }) => (load ? number(load.mean * 100, 0.01) : "")],
  [
    message("Load from what was planned, mean (%)"),
    ({ off_load }) => (off_load ? number(off_load.mean * 100, 0.01) : ""),
  ],
  [message("Jugs of which the temperature was read"), ({ off_c }) => off_c?.n ?? 0],
  [message("Fragrance in, from its target, mean (°C)"), ({ off_c }) => (off_c ? number(off_c.mean, 0.01) : "")],
];

/** @param {Told[]} pours @param {Period} period */
export function backTable(pours, period) {
  const rows = monthsIn(pours, period).flatMap((month) =>
    recipesOf(pours, { from: month, to: month }).map(({ title, sums }) => ({ month, title, sums })),
  );
  const currencies = [...new Set(rows.flatMap(({ sums }) => [...sums.earned.keys()]))].sort();
  const heads = [message("Month"), message("Recipe"), ...COLUMNS.map(([head]) => head)].map(worded);
  const earned = currencies.map((currency) => worded(message("Earned ({currency})", { currency })));
  const table = rows.map(({ month, title, sums }) => [
    month,
    title,
    ...COLUMNS.map(([, of]) => of(sums)),
    ...currencies.map((currency) => Number(plainMoney(sums.earned.get(currency) ?? 0, currency))),
  ]);
  return csvOf([[...heads, ...earned], ...table], decimalSign() === "," ? COMMAS : POINTS);
}
