/** What a list shows of a pour, and by what it is found: kept, so that none is folded again for it. Pure. */
import { filledOf } from "../bench/fold.js";
import { folded, isOnBench } from "../bench/pours.js";
import { codeOf } from "../shelf/batches.js";
import { candlesOf } from "../shelf/candles.js";
import { lotsIn } from "../shelf/trace.js";
import { percentOf } from "./kinds.js";

/** @typedef {import("../records/store.js").Plain} Plain */
/** @typedef {import("../records/event_types.js").AnyEvent} AnyEvent */
/**
 * @typedef {object} PourTold
 * @property {string} title
 * @property {string | null} recipe its id
 * @property {string | null} code
 * @property {string[]} lots ids of those that are in it
 * @property {{count: number, name: string}[]} sizes of its vessels
 * @property {string | null} vessel id @property {string[]} scents ids
 * @property {number} load mean of its jugs, of the wax; 0: none
 * @property {number} planned vessels @property {number} filled
 * @property {string | null} tops
 * @property {"bench" | "setting" | "given_up" | "put_away"} stage
 * @property {string | null} set_on ISO 8601 @property {number | null} cure_least_days
 * @property {number} made candles @property {number} here of them
 * @property {boolean} withdrawn the batch is not to be sold
 */

/**
 * @param {Plain} record @param {Record<string, AnyEvent[]>} events of the streams `pour` and `batch`
 * @returns {{title: string, texts: string[], others: string[], pour: PourTold} | null} `texts` and the rows of `others`
 *   are what it is found by; null: no version of the bench wrote it
 */
export function pourTold(record, { pour: happened = [], batch = [] }) {
  try {
    const events = /** @type {import("../bench/pours.js").PourEvent[]} */ (happened);
    const candles = /** @type {import("../records/event_types.js").BatchEvent[]} */ (batch);
    const pour = { ...folded(record, events), candles };
    const { sheet, state } = pour;
    const parts = [...sheet.waxes, ...sheet.oils, ...sheet.extras, ...(sheet.wick ? [sheet.wick] : [])];
    const loads = state.jugs.filter(({ fragrance_g, wax_g }) => fragrance_g > 0 && wax_g > 0).map(({ load }) => load);
    const load = loads.length > 0 ? loads.reduce((sum, each) => sum + each, 0) / loads.length : 0;
    const lots = [...lotsIn(pour)];
    const code = codeOf(pour);
    const { made, here, withdrawn } = candlesOf(pour);
    const { filled, planned } = filledOf(state);
    return {
      title: sheet.title,
      texts: [
        ...[...sheet.sizes, ...parts].map(({ name }) => name ?? ""),
        ...sheet.sizes.map(({ count }) => String(count)),
        ...(code === null ? [] : [code, code.replace("-", "")]),
        percentOf(load),
      ],
      others: lots.map((lot) => `lot ${lot}`),
      pour: {
        title: sheet.title,
        recipe: sheet.recipe ?? null,
        code,
        lots,
        sizes: sheet.sizes.map(({ count, name }) => ({ count, name })),
        vessel: sheet.vessel.id ?? null,
        scents: sheet.oils.flatMap(({ id }) => id ?? []),
        load,
        ...{ filled, planned },
        tops: state.tops,
        stage: stageTold(pour.stage),
        set_on: state.set_on,
        cure_least_days: sheet.cure_least_days ?? null,
        ...{ made, here, withdrawn: withdrawn !== null },
      },
    };
  } catch {
    return null;
  }
}

/** @param {import("../bench/pours.js").Pour["stage"]} stage @returns {PourTold["stage"]} */
function stageTold(stage) {
  if (isOnBench({ stage })) return "bench";
  return stage === "setting" ? "setting" : stage === "abandoned" ? "given_up" : "put_away";
}
