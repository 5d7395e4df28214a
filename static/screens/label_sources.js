/** What a label is put together from, read from what is kept. */

import { materials } from "../bench/materials.js";
import { ofEach, poursOf } from "../bench/pours.js";
import { latestFinding } from "../hazards/request.js";
import { findings } from "../records/findings.js";
import * as store from "../records/store.js";
import { codeOf } from "../shelf/batches.js";
import { newest, readable } from "../shelf/net_asked.js";
import { InputError } from "../words/door.js";
import { changesUnder, RESTS_ON } from "./hazard.js";
import { readTested, TESTED_BY } from "./tested_words.js";

/** @typedef {Record<string, any>} Fields */
/** @typedef {import("../labels/label_spec.js").Sources} Sources */

/** What a label's page is drawn anew for. */
export const LABELLED_BY = ["label", "maker", "net_finding", "pour", ...RESTS_ON, ...TESTED_BY];

/** The sources of a label, for a batch or for none. @param {Fields} label @param {string} pourId "": none
 * @returns {Promise<Sources & {pour: import("../bench/pours.js").Pour | null, net: Fields | null}>} `net`: the batch's newest finding by the
 *   market's law */
export async function readSources(label, pourId) {
  const [recipe, maker, finding, nets, pours] = await Promise.all([
    label.recipe ? store.get("recipe", label.recipe) : undefined,
    store.get("maker", "maker"),
    latestFinding(label.recipe, label.market),
    findings("net_finding"),
    pourId ? poursOf([pourId]) : [],
  ]);
  const pour = ofEach(pours, (each) => [each]).find(({ record }) => !record.deleted) ?? null;
  return {
    label,
    recipe: recipe ?? { name: "" },
    maker: maker ?? null,
    finding: finding ?? null,
    older: Boolean(recipe && finding && (await changesUnder(recipe, finding)).length > 0),
    batch: pour && codeOf(pour),
    claim_h: await claimOf(recipe),
    pour,
    // Of a batch of several sizes, that of the recipe's vessel.
    net:
      newest(
        readable(nets),
        ({ pour: of, asked, found }) => of === pourId && asked.vessel === recipe?.vessel && found.law === label.market,
      ) ?? null,
  };
}

/** The burning time that the recipe's tests let promise. @param {Fields | undefined} recipe */
async function claimOf(recipe) {
  if (recipe === undefined || recipe.deleted) return null;
  try {
    return (await readTested(recipe, await materials())).claim_h;
  } catch (error) {
    // A recipe that can't be reckoned was not tested as it is.
    if (!(error instanceof InputError)) throw error;
    return null;
  }
}
