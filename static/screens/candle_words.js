/** Candles in words: why some may not be sold, and where they stand. */
import { t } from "../words/door.js";

/** @typedef {import("../shelf/read_recall.js").Block} Block */

/** @param {Block} block */
export function blockText({ by, name, why }) {
  const values = { name, why };
  if (by === "recall") return t("Do not sell it: it is called back ({name}). {why}", values);
  if (by === "lot") return t("Do not sell it: the delivery {name} that is in it was withdrawn. {why}", values);
  return t("Do not sell it: the batch was withdrawn. {why}", values);
}
