/** Deleting what belongs to a product's file: it is asked why, for as long as the file has to be kept. */
import { phoneNow } from "../bench/clock.js";
import { keptFor } from "../products/kept_for.js";
import * as store from "../records/store.js";
import { localDate } from "../words/dates.js";
import { InputError, t } from "../words/door.js";
import { wholeDayText } from "../words/whole_days.js";
import { askInBox } from "./ask_in_box.js";
import { readFiles } from "./product_sources.js";

/**
 * What is kept of a delete besides, once she has said why; nothing is asked of what may go.
 * @param {string} kind @param {string} id @returns {Promise<{deleted_why?: string} | null>} null: she went back
 */
export async function whyDeleted(kind, id) {
  const kept = await keptOf(kind, id);
  if (kept === null || kept.until < localDate(phoneNow())) return {};
  const { product, until } = kept;
  const question = t("It belongs to the file of {product}, which is kept until {day}. Why is it deleted?", {
    product,
    day: wholeDayText(until),
  });
  const why = await askInBox(question, "", reasonOf, "text", t("Delete it"));
  return why === null ? null : { deleted_why: why };
}

/** Until when a record has to be kept, and for which product; null: it belongs to none. @param {string} kind @param {string} id */
async function keptOf(kind, id) {
  const [record, files] = await Promise.all([store.get(kind, id), readFiles()]);
  if (record === undefined || files.length === 0) return null;
  if (kind === "attachment" && Array.isArray(record.of)) return keptOf(record.of[0], record.of[1]);
  const of_recipe = kind === "made_label" && (await store.get("label", record.label))?.recipe;
  return keptFor({ ...record, ...(of_recipe && { of_recipe }) }, files);
}

/** @param {string} text @throws {InputError} it says nothing */
function reasonOf(text) {
  if (text === "") throw new InputError("Say why. It stands in the file.", {}, "text");
  return text;
}
