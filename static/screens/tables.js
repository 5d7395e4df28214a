/** Tables of a spreadsheet: what is here saved as one, and one brought in. */

import { phoneNow } from "../bench/clock.js";
import { COMMAS, csvOf, POINTS } from "../bench/csv.js";
import { ask, NoSignal, onSyncStatus, ServerError, syncStatus } from "../records/exchange.js";
import { plainOf } from "../records/merge.js";
import * as store from "../records/store.js";
import { MATERIALS } from "../shelf/lots.js";
import { localDate } from "../words/dates.js";
import { t } from "../words/door.js";
import { decimalSign } from "../words/numbers.js";
import { cloneTemplate, download, h, setText, slot } from "./dom.js";
import { aboutKind } from "./kinds.js";
import { bringing } from "./table_bringing.js";
import { cellsOf, columnsOf, headingOf } from "./table_fields.js";

/** @typedef {import("./table_bringing.js").Kept} Kept */

/** What tables are of. */
const KINDS = [...MATERIALS, "supplier", "lot", "prices"];

/** More than the server reads. */
const MOST_BYTES = 5_000_000;

/** @param {HTMLElement} place @param {string[]} path the kind, if it is known @param {import("./screen.js").Context} context */
export async function show(place, [asked], { units }) {
  place.append(cloneTemplate("screen-tables"));
  const [kind, input, said, choose] = ["kind", "file", "said", "choose"].map((each) => slot(place, each));
  kind.replaceChildren(...KINDS.map((each) => h("option", { value: each }, aboutKind(each).many)));
  kind.value = KINDS.includes(asked) ? asked : KINDS[0];
  slot(place, "style").value = decimalSign() === "," ? "commas" : "points";
  const tell = (/** @type {string} */ text) => {
    setText(said, text);
    said.hidden = text === "";
  };

  const table = bringing(slot(place, "found"), { units, readKept, kind: () => kind.value });
  kind.addEventListener("change", () => {
    tell("");
    table.match();
  });
  choose.addEventListener("click", () => input.click());
  input.addEventListener("change", async () => {
    const [file] = input.files;
    if (file === undefined) return;
    tell("");
    table.close();
    choose.disabled = true;
    try {
      if (file.size > MOST_BYTES)
        tell(t("The file is larger than {n} MB. Save it in parts, and bring them in one by one.", { n: 5 }));
      else table.open(file.name, await ask("/api/table", file.slice(0, file.size, "text/csv")));
    } catch (error) {
      if (error instanceof ServerError) tell(error.message);
      else if (error instanceof NoSignal)
        tell(t("{why} The server reads the file: try again when it answers.", { why: error.message }));
      else throw error;
    } finally {
      choose.disabled = false;
      // The same file may be chosen again.
      input.value = "";
    }
  });
  slot(place, "save").addEventListener("click", async () => {
    const style = slot(place, "style").value === "commas" ? COMMAS : POINTS;
    const text = await tableText(kind.value, style);
    download(new File([text], `${kind.value}-${localDate(phoneNow())}.csv`, { type: "text/csv" }));
  });
  const drawServer = () => {
    const isIn = syncStatus.workshop !== null && syncStatus.state !== "out";
    slot(place, "unpaired").hidden = isIn;
    choose.hidden = !isIn;
  };
  drawServer();
  const stop = [onSyncStatus(drawServer), store.onChange((changes) => table.follow(changes))];
  return () => {
    stop.forEach((each) => each());
    table.close();
  };
}

/** All living records of a kind as the text of a file, by name. @param {string} kind @param {import("../bench/csv.js").Style} style */
export async function tableText(kind, style) {
  const { plain, currency } = await readKept();
  const names = new Map([...plain.values()].flat().map((each) => [`${each.kind} ${each.id}`, each.name]));
  const named = (/** @type {string} */ of, /** @type {string} */ id) => names.get(`${of} ${id}`);
  const columns = columnsOf(kind, currency);
  const records = await store.all(kind);
  return csvOf([columns.map(headingOf), ...records.map((each) => cellsOf(each, columns, named, currency))], style);
}

/** All that a table may hold or name. @returns {Promise<Kept>} */
export async function readKept() {
  const stored = await store.stored(KINDS.map(store.ofKind));
  /** @type {Kept["plain"]} */
  const plain = new Map(KINDS.map((kind) => [kind, []]));
  for (const record of stored) plain.get(record.kind)?.push(plainOf(record));
  const seen = new Map(stored.map((record) => [`${record.kind} ${record.id}`, record]));
  return { plain, seen, currency: plain.get("prices")?.[0]?.currency };
}
