/** What the form of a safety data sheet has beside its boxes: a place to paste section 3, and the desk that reads it. */
import { ask, NoSignal, ServerError } from "../records/exchange.js";
import { filled } from "../records/merge.js";
import { t, worded } from "../words/door.js";
import { boxOf } from "./boxes.js";
import { h, setText } from "./dom.js";
import { fillField } from "./form.js";
import { ownField, rowsOf } from "./form_fields.js";
import { complain, readForm } from "./form_reading.js";

/** @typedef {import("./form_fields.js").DisplayUnits} DisplayUnits */
/** @typedef {import("../words/door.js").Message} Message */
/** @typedef {{cells: Record<string, string>, understood: Message | null, problems: {cell: string, said: Message}[],
 *   notes: Message[]}} ReadRow */
/** @typedef {{rows: ReadRow[], problems: Message[], left: {line: number, said: Message}[]}} Read */

const PATH = "/api/desk/sheet";

/** @param {HTMLFormElement} form @param {string | undefined} material that it is to be of, 'wax,k3v9q2ax'
 * @param {DisplayUnits} units @param {import("./form.js").Others} others */
export function beginSheet(form, material, units, others) {
  const of = boxOf(/** @type {HTMLElement} */ (ownField(form, "material")));
  if (material && of.value === "") of.value = material;
  const field = /** @type {HTMLElement} */ (ownField(form, "substances"));
  const text = /** @type {HTMLTextAreaElement} */ (h("textarea", { rows: 5, spellcheck: "false" }));
  const said = h("div", { role: "status", class: "read" });
  const take = h("button", { type: "button", class: "quiet" }, t("Make lines of it"));
  const check = h("button", { type: "button", class: "quiet" }, t("Check with the desk"));
  const paste = h(
    "details",
    { class: "paste" },
    h("summary", {}, t("Paste section 3")),
    h("label", {}, h("span", { class: "name" }, t("The table of section 3, copied out of the sheet")), text),
    h(
      "p",
      { class: "help" },
      t("Its lines come after those that are there. Look at each: a copied table is easily torn."),
    ),
    h("p", { class: "links" }, take),
  );
  field.before(paste);
  field.after(h("p", { class: "links" }, check), said);

  /** @param {HTMLElement} button @param {() => Promise<void>} work */
  const trying = (button, work) => async () => {
    said.replaceChildren();
    button.setAttribute("aria-busy", "true");
    try {
      await work();
    } catch (error) {
      if (!(error instanceof NoSignal) && !(error instanceof ServerError)) throw error;
      said.replaceChildren(h("p", { class: "beware notice" }, error.message));
    } finally {
      button.removeAttribute("aria-busy");
    }
  };
  take.addEventListener(
    "click",
    trying(take, async () => {
      /** @type {Read} */
      const read = await ask(PATH, { text: text.value });
      const { substances = [] } = readForm(form, units).values;
      const before = substances
        .map(filled)
        .filter((/** @type {object} */ row) => Object.keys(row).some((key) => key !== "alone"));
      const most = Number(field.dataset.most);
      if (before.length + read.rows.length > most) {
        const values = { n: before.length + read.rows.length, most };
        said.replaceChildren(
          h("p", { class: "beware notice" }, t("That would be {n} lines, and a sheet has {most} at most.", values)),
        );
        return;
      }
      fillField(field, [...before, ...read.rows.map(({ cells }) => cells)], units, others);
      field.dispatchEvent(new Event("change", { bubbles: true }));
      text.value = "";
      /** @type {HTMLDetailsElement} */ (paste).open = false;
      tell(read, before.length);
    }),
  );
  check.addEventListener(
    "click",
    trying(check, async () => {
      const { substances = [] } = readForm(form, units).values;
      if (substances.length === 0) {
        said.replaceChildren(h("p", {}, t("There is no line to check.")));
        return;
      }
      tell(await ask(PATH, { rows: substances.map(filled) }), 0);
    }),
  );
  field.addEventListener("input", ({ target }) => {
    if (target instanceof Element) target.closest("[data-row]")?.querySelector(".understood")?.remove();
  });

  /** Put beside each row what was understood of it, and what to set right. @param {Read} read @param {number} first */
  function tell({ rows, problems, left }, first) {
    const places = rowsOf(field).slice(first);
    for (const [n, { understood, problems: wrong, notes }] of rows.entries()) {
      const row = places[n];
      if (!row) continue;
      row.querySelector(".understood")?.remove();
      for (const cell of ["name", "cas", "ec", "share", "classes", "limits"])
        complain(row, cell, wrong.flatMap((each) => (each.cell === cell ? worded(each.said) : [])).join(" "));
      if (understood)
        row.append(
          h(
            "div",
            { class: "understood" },
            h("p", {}, t("Understood: {said}", { said: understood })),
            ...notes.map((note) => h("p", { class: "help" }, worded(note))),
          ),
        );
    }
    const bad = rows.filter((row) => row.problems.length > 0).length;
    const all = [...problems.map(worded), ...left.map(({ said: why }) => worded(why))];
    said.replaceChildren(...all.map((each) => h("p", { class: "beware notice" }, each)), summary(bad, rows.length));
  }
}

/** @param {number} bad @param {number} all */
function summary(bad, all) {
  const place = h("p", {});
  setText(
    place,
    bad === 0
      ? t("The desk could read all {n} lines. Look whether it understood them as the sheet means them.", { n: all })
      : t("Of {n} lines {bad} can’t be taken yet: what to do stands beside their boxes.", { n: all, bad }),
  );
  return place;
}
