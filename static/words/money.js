/** Money in the language that is spoken. */
import { locale } from "./door.js";

/** Such as '€84.50'; without a currency the bare amount.
 * @param {string} plain digits with a full stop before the decimals @param {string} [currency] its code of ISO 4217 */
export function moneyText(plain, currency) {
  const digits = plain.split(".")[1]?.length ?? 0;
  /** @type {Intl.NumberFormatOptions} */
  const way = { minimumFractionDigits: digits, maximumFractionDigits: digits };
  if (currency) Object.assign(way, { style: "currency", currency, currencyDisplay: "narrowSymbol" });
  return new Intl.NumberFormat(locale(), way).format(Number(plain));
}
