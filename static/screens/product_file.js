/** A product's file, asked of the desk: what stands on its paper, and the records beside it. */
import { now } from "../bench/clock.js";
import { keptFor } from "../products/kept_for.js";
import { askFile } from "../records/ask_file.js";
import { makeCopy } from "../records/copies.js";
import { syncStatus } from "../records/exchange.js";
import { KINDS } from "../records/kinds.js";
import * as store from "../records/store.js";
import { localDate } from "../words/dates.js";
import { languageTag, t } from "../words/door.js";
import { wholeDayText } from "../words/whole_days.js";
import { drawParts } from "./file_parts.js";
import { readFiles } from "./product_sources.js";

/** @typedef {import("./product_sources.js").Sources} Sources */
/** @typedef {import("../products/kept_for.js").File} Kept */
/** @typedef {[kind: string, id: string]} Name */

/** Kinds that no form draws, and that may belong to a file. */
const OTHERS = ["pour", "burn_test", "hazard_finding", "net_finding", "made_label"];

/** @param {Sources} sources @param {import("../bench/display_units.js").DisplayUnits} units @param {"pdf" | "zip"} want
 * @returns {Promise<File>} */
export async function fileOf(sources, units, want) {
  const { product } = sources;
  const files = await readFiles(product.id);
  const names = namesIn(sources);
  const [gone, recalls, attached] = await Promise.all([goneFrom(files), recallsOf(names), attachedTo(names)]);
  const at_ms = Math.round(now());
  const parts = await drawParts(sources, units, { gone: [...gone, ...attached.gone], recalls });
  const body = {
    ...{ want, title: String(product.name ?? ""), language: languageTag() },
    made: t("Made on {day}", { day: wholeDayText(localDate(at_ms)) }),
    made_ms: at_ms,
    parts,
    records: await keptText(
      [...names, ...[...gone, ...recalls, ...attached.living, ...attached.gone].map(nameOf)],
      at_ms,
    ),
    attachments: attached.living.map(toAsk),
  };
  const answer = await askFile("/api/desk/file", body);
  const type = want === "pdf" ? "application/pdf" : "application/zip";
  const name = `${String(product.name ?? "").replace(/[/\\:*?"<>|]/g, " ")} ${localDate(at_ms)}.${want}`;
  return new File([answer], name, { type });
}

/** @param {{kind: string, id: string}} record @returns {Name} */
const nameOf = ({ kind, id }) => [kind, id];

/** What belongs to the file, by kind and id. Who bought is no part of it. @param {Sources} sources @returns {Name[]} */
function namesIn({ product, recipe, label, maker, materials, made, hazards, nets, tests, pours, complaints }) {
  const all = [
    ...[product, recipe, label, maker].flatMap((each) => each ?? []),
    ...materials.flatMap(({ record, sheets, lots }) => [...(record ? [record] : []), ...sheets, ...lots]),
    ...[...made, ...hazards, ...nets, ...complaints.map(({ record }) => record)],
    ...[...tests.map(({ record }) => record), ...pours.map(({ record }) => record)],
  ];
  const suppliers = materials.flatMap(({ record, lots }) =>
    [record, ...lots].flatMap((each) => (each?.supplier ? [/** @type {Name} */ (["supplier", each.supplier])] : [])),
  );
  const names = [...all.map(nameOf), ...suppliers];
  return [...new Map(names.map((each) => [each.join(), each])).values()];
}

/** What was deleted of it. @param {Kept[]} files @returns {Promise<store.Plain[]>} */
async function goneFrom(files) {
  const deleted = await Promise.all([...KINDS, ...OTHERS].map((kind) => store.deleted(kind)));
  const labels = new Map((await store.all("label")).map(({ id, recipe }) => [id, recipe]));
  return deleted.flat().filter((each) => keptFor({ ...each, of_recipe: labels.get(each.label) }, files) !== null);
}

/** What was called back of it. @param {Name[]} names @returns {Promise<store.Plain[]>} */
async function recallsOf(names) {
  const known = new Set(names.map((each) => each.join()));
  return (await store.living("recall")).filter(({ of }) => Array.isArray(of) && known.has(of.join()));
}

/** What is attached to it, and what was until it was deleted. @param {Name[]} names */
async function attachedTo(names) {
  const known = new Set(names.map((each) => each.join()));
  const { living, gone } = await store.apart("attachment");
  const own = (/** @type {store.Plain[]} */ all) => all.filter(({ of }) => Array.isArray(of) && known.has(of.join()));
  return { living: own(living), gone: own(gone) };
}

/** An attachment as it is told to the desk: the server has its bytes. @param {store.Plain} attachment */
const toAsk = ({ of, what, sha256, bytes, type, name }) => ({
  ...{ of, what: String(what ?? ""), sha256, bytes: Number(bytes), type: String(type ?? ""), name: String(name ?? "") },
});

/** The records with all that they ever said, and what happened to them, as a copy. @param {Name[]} names @param {number} at_ms */
async function keptText(names, at_ms) {
  const records = await store.stored(names);
  // What becomes of candles is of their batch, which has the pour's id.
  const streams = names.flatMap(([kind, id]) =>
    kind === "pour"
      ? [
          [kind, id],
          ["batch", id],
        ]
      : [[kind, id]],
  );
  const events = await Promise.all(streams.map(([kind, id]) => store.events(/** @type {any} */ (kind), id)));
  return makeCopy({ records, events: events.flat() }, syncStatus.workshop?.name ?? t("Workshop"), at_ms).join("");
}
