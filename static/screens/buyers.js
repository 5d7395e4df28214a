/** Choosing a buyer in a list. */
import * as store from "../records/store.js";
import { t } from "../words/door.js";
import { h } from "./dom.js";

/** Fill a list with her buyers; what was chosen stays chosen. @param {HTMLSelectElement} select */
export async function fillBuyers(select) {
  const before = select.value;
  const buyers = await store.all("buyer");
  select.replaceChildren(
    h("option", { value: "" }, t("nobody who is known by name")),
    ...buyers.map(({ id, name }) => h("option", { value: id }, String(name ?? ""))),
  );
  select.value = buyers.some(({ id }) => id === before) ? before : "";
}
