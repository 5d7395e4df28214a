/** What a product is made of, on paper: its recipe as it is and as it was poured, its materials with their papers. */
import { percent } from "../bench/display_units.js";
import { materials } from "../bench/materials.js";
import { recipeFacts } from "../bench/recipe_facts.js";
import { versionsOf } from "../products/versions.js";
import * as store from "../records/store.js";
import { codeOf } from "../shelf/batches.js";
import { InputError, listed, t } from "../words/door.js";
import { facts, heading, line, list, onDay, tableOf } from "./file_words.js";
import { fieldInWords, fieldNames } from "./form_words.js";
import { namesOf, writings } from "./history.js";
import { aboutKind } from "./kinds.js";
import { dayOrNone } from "./product_words.js";

/** @typedef {import("./file_blocks.js").Block} Block */
/** @typedef {import("./product_sources.js").Sources} Sources */
/** @typedef {import("../bench/display_units.js").DisplayUnits} DisplayUnits */

/** @param {Sources} sources @param {DisplayUnits} units @returns {Promise<Block[]>} */
export async function recipeBlocks({ recipe, pours }, units) {
  const versions = versionsOf(pours);
  /** @type {Block[]} */
  const found = [];
  if (recipe) {
    found.push(heading(t("As it is now")), ...recipeNow(recipe, await materials(), units));
    if (recipe.notes) found.push(line(recipe.notes));
  }
  versions.forEach((version, at) => found.push(...versionBlocks(version, at, units)));
  const stored = recipe && (await store.getStored("recipe", recipe.id));
  if (stored) {
    const names = await namesOf();
    const named = (/** @type {string} */ kind, /** @type {string} */ id) => names.get(`${kind} ${id}`);
    const told = writings(stored, fieldNames("recipe"), (name, value) =>
      fieldInWords("recipe", name, value, units, named),
    );
    const items = told.map(
      ({ when, lines }) => `${when}. ${lines.map(({ label, text }) => `${label}: ${text}`).join("; ")}`,
    );
    found.push(heading(t("What was written into it, and when")), list(items));
  }
  return found;
}

/** A recipe that can't be reckoned says why. @param {Parameters<typeof recipeFacts>} given @returns {Block[]} */
function recipeNow(...given) {
  try {
    const { facts: rows, found } = recipeFacts(...given);
    return [facts(rows), ...found.map(({ text }) => line(text))];
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return [line(error.message)];
  }
}

/** @param {import("../products/versions.js").Version & {pours: Sources["pours"]}} version @param {number} at
 * @param {DisplayUnits} units @returns {Block[]} */
function versionBlocks({ sheet, pours }, at, units) {
  const parts = (/** @type {{name: string, share: number}[]} */ all) =>
    listed(all.map(({ name, share }) => (all.length > 1 ? `${name} ${percent(share, 1)}` : name)));
  const [first, last] = [pours[0], pours[pours.length - 1]].map(({ record }) => onDay(record.started_at));
  const when = first === last ? first : t("{first} to {last}", { first, last });
  const extras = sheet.extras.map(({ name, fraction }) => `${name} ${percent(fraction, 0.01)}`);
  const warm = (/** @type {{target_c: number} | undefined} */ window) =>
    typeof window?.target_c === "number" && units.text(window.target_c, "temperature", 1);
  return [
    heading(t("As it was poured: state {n}, {when}", { n: at + 1, when })),
    facts([
      [t("Batches"), listed(pours.map((pour) => codeOf(pour) ?? t("without a code")))],
      [t("Wax"), parts(sheet.waxes)],
      [t("Fragrance"), sheet.oils.length > 0 && parts(sheet.oils)],
      [t("Load"), percent(sheet.load)],
      [t("Dye and additives"), extras.length > 0 && listed(extras)],
      [t("Vessel"), listed(sheet.sizes.map(({ name }) => name))],
      [t("Wick"), sheet.wick?.name],
      [t("Fragrance goes in at"), sheet.oils.length > 0 && warm(sheet.fragrance)],
      [t("Pour at"), warm(sheet.pour)],
    ]),
  ];
}

/** @param {Sources} sources @returns {Promise<Block[]>} */
export async function materialBlocks({ materials: all }) {
  const suppliers = new Map((await store.living("supplier")).map((each) => [each.id, String(each.name ?? "")]));
  return all.flatMap(({ kind, name, record, sheets, lots }) => {
    const told = sheets.map((sheet) =>
      [
        ...[sheet.name, sheet.edition && t("version {edition}", { edition: sheet.edition }), dayOrNone(sheet.dated)],
        sheet.stands === "classified" && t("classified: {classes}", { classes: sheet.supplied ?? "" }),
        sheet.stands === "not" && t("not classified by its supplier"),
      ]
        .filter(Boolean)
        .join(", "),
    );
    const rows = lots.map((lot) => [
      ...[lot.name ?? "", dayOrNone(lot.received_on), suppliers.get(lot.supplier) ?? ""],
      [lot.certificate, lot.certificate_revision, dayOrNone(lot.certificate_on)].filter(Boolean).join(", "),
    ]);
    return [
      heading(`${name || t("one that is not here")} (${aboutKind(kind).one ?? kind})`),
      facts([
        [t("Supplier"), record?.supplier && suppliers.get(record.supplier)],
        [t("Safety data sheet"), told.length > 0 ? told.join("\n") : t("none is kept here")],
      ]),
      ...(rows.length > 0
        ? [tableOf([t("Delivery"), t("Came on"), t("Supplier"), t("Certificate or sheet")], rows)]
        : []),
    ];
  });
}
