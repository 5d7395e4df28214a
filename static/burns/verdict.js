/**
 * What the burned candles of one wick prove: too small, too large, right, or not known yet.
 *
 * 'Right' has to be earned, candle by candle: three at least that count, each with a whole sitting, looked at for
 * everything, no dangerous end of any (not even of one that was set aside), flames that leave room to the limit for one
 * more candle, the pool at the wall in time, nothing bad seen, and short after-smoke. A dangerous end or a flame above
 * the limit is enough for 'large'; what is a matter of degree is when half of the candles show it. Nothing is told from
 * one candle, and signs both ways are no verdict. Consumption is the candles' mean with its t interval; sittings are no
 * repeats.
 */
import { displayUnits } from "../bench/display_units.js";
import { burningHours, fallOf, heatW, hoursAsItFalls, residueG } from "../formulas/burning.js";
import { meanOf, nextLike } from "../formulas/means.js";
import { interval } from "../formulas/regression.js";
import { roundDown, write } from "../formulas/rounding.js";
import { MOST_DF } from "../formulas/student_t.js";
import { InputError, plural, t } from "../words/door.js";
import { numberText } from "../words/numbers.js";
import { GRADED } from "./burn_fold.js";
import * as facts from "./candle_facts.js";
import { AFTER_SMOKE, CANDLES, FLAME, RESIDUE } from "./limits.js";

/** @typedef {import("./candle_facts.js").CandleResult} CandleResult */
/** @typedef {import("./candle_facts.js").WickResult} WickResult */
/** @typedef {import("./candle_facts.js").Asked} Asked */
/** @typedef {import("../bench/display_units.js").DisplayUnits} DisplayUnits */

/** What an interval covers of all candles like these. */
export const LEVEL = 0.9;

/** What is taken of flames beside her own: from candle to candle of one wick the highest differs by some 6 mm, which
 * counts for as much as four candles (our choice). @type {import("../formulas/means.js").Usual} */
export const USUAL_FLAME = { sd: 6, worth: 4 };

/** One candle in a hundred may be above the bound that is held against the limit (our choice: it is a matter of fire). */
const FLAME_LEVEL = 0.98;

/** Flames of so many candles have to be measured: that they are lower than the limit does not say by how much. */
const FEWEST_FLAMES = 2;

/** More candles than anybody would burn to settle one wick. */
const MOST_MORE = 9;

/** @typedef {{text: string, weighs: "for" | "against" | "missing"}} Reason */

/**
 * @typedef {object} Numbers what was measured; null where it was not
 * @property {number} candles that count and have a whole sitting
 * @property {{mean: number, low: number | null, high: number | null, sd: number | null} | null} rate g/h, of all candles
 *   like these; of one candle nothing but the mean
 * @property {number | null} heat_w of one flame
 * @property {{mean: number, low: number | null, high: number | null, measured: number, reckoned: number} | null} hours
 *   burning time to 10 mm of wax: of how many candles it was measured, and of how many reckoned from how they burned
 *   so far
 * @property {number | null} claim_h the lower end in whole hours, rounded down: what may be promised
 * @property {{mean: number, low: number | null, high: number | null} | null} full_h hours until the pool was at the
 *   wall; null where it did not get there in some candle
 * @property {{mean: number, highest: number, next: number, measured: number} | null} flame_mm the candles' highest
 *   flames, and the bound that one more candle will be under
 * @property {number | null} smoke_s mean of the candles
 */

/**
 * @typedef {object} Verdict
 * @property {"small" | "large" | "right" | "unknown"} verdict
 * @property {Reason[]} reasons what speaks against it first, then what is missing, then what speaks for it
 * @property {number | null} more how many more candles would settle it; 0: none, but another sitting of these; null: no
 *   number would, or it is settled
 * @property {Numbers} numbers
 */

/**
 * The verdict on one wick.
 * @param {WickResult} result @param {Asked} asked @param {DisplayUnits} [units] hers, for the words
 * @returns {Verdict}
 */
export function verdictOf(result, asked, units = displayUnits({})) {
  const burned = result.candles.filter((candle) => candle.counts && facts.isBurned(candle));
  const tested = burned.filter(facts.isTested);
  const numbers = numbersOf(burned, tested, asked);
  const found = new Evidence(units);
  found.dangers(result.candles);
  found.flames(result.candles, tested, numbers);
  found.pool(burned, asked);
  found.grades(burned, tested);
  found.smoke(burned, tested, numbers);
  found.heat(burned, asked);
  found.enough(tested);
  const seen = result.candles.filter(facts.isBurned).length;
  return { verdict: found.verdict(seen), reasons: found.reasons(), more: found.more(seen), numbers };
}

// ---- the numbers -----------------------------------------------------------------------------------

/** @param {CandleResult[]} burned that count @param {CandleResult[]} tested @param {Asked} asked @returns {Numbers} */
function numbersOf(burned, tested, asked) {
  const rates = burned.flatMap((candle) => facts.rateOf(candle) ?? []);
  const rate =
    rates.length > 0
      ? meanOf(
          rates.map((each) => each.g_per_h),
          LEVEL,
        )
      : null;
  const hours = hoursOf(burned, asked);
  const low = hours?.low ?? null;
  const fulls = burned.flatMap((candle) => facts.fullOf(candle) ?? []);
  const isFull = burned.every((candle) => ["in time", "late", null].includes(facts.poolOf(candle, asked)));
  const flames = burned.flatMap((candle) => facts.flameOf(candle).mm ?? []);
  const next = flames.length > 0 ? nextLike(flames, USUAL_FLAME, FLAME_LEVEL) : null;
  const smokes = burned.flatMap((candle) => facts.smokeOf(candle) ?? []);
  return {
    candles: tested.length,
    rate: rate && { mean: rate.mean, low: rate.low, high: rate.high, sd: rate.sd },
    heat_w: rate && heatW(rate.mean),
    hours,
    claim_h: low === null ? null : Math.max(0, roundDown(low, 1)),
    full_h: fulls.length > 0 && isFull ? meanOf(fulls, LEVEL) : null,
    flame_mm: next && { mean: next.mean, highest: Math.max(...flames), next: next.high, measured: next.n },
    smoke_s: smokes.length > 0 ? meanOf(smokes).mean : null,
  };
}

/** Burning time to 10 mm of wax. What a candle that is not yet down has left is reckoned at a rate that goes on falling
 * as it fell in these candles; how sure that is widens the interval.
 * @param {CandleResult[]} burned @param {Asked} asked @returns {Numbers["hours"]} */
function hoursOf(burned, asked) {
  const { fuel_g } = asked;
  try {
    const residue_g = residueG(asked.width_mm, asked.solid_density, RESIDUE.value);
    // Refuses a candle that holds no more than the residue.
    burningHours(fuel_g, residue_g, 1);
    const { fall, sd: unsure } = fallOf(
      burned.map(facts.weighedSittings).filter((sittings) => sittings.length > 0),
      fuel_g,
    );
    /** @type {number[]} */
    const all = [];
    let reckoned = 0;
    let doubt = 0;
    for (const candle of burned) {
      const measured = candle.burned_down ? facts.hoursBurned(candle) : null;
      const rate = facts.rateOf(candle);
      if (measured !== null) all.push(measured);
      else if (rate !== null) {
        const at = (/** @type {number} */ f) =>
          hoursAsItFalls(fuel_g, residue_g, rate, Math.min(0.8, Math.max(-0.8, f)));
        all.push(at(fall));
        reckoned += 1;
        doubt += Math.abs(at(fall + unsure) - at(fall - unsure)) / 2;
      }
    }
    if (all.length === 0) return null;
    const { n, mean, sd } = meanOf(all);
    const counts = { measured: n - reckoned, reckoned };
    if (sd === null) return { mean, low: null, high: null, ...counts };
    // Two doubts together: degrees of freedom after Welch and Satterthwaite (from memory), where the fall's has no end.
    const scatter = sd ** 2 / n;
    const both = scatter + (doubt / n) ** 2;
    const df = scatter > 0 ? Math.min(MOST_DF, (n - 1) * (both / scatter) ** 2) : MOST_DF;
    const [low, high] = interval(mean, Math.sqrt(both), df, LEVEL);
    return { mean, low, high, ...counts };
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return null;
  }
}

// ---- what speaks for which verdict -----------------------------------------------------------------

/** Collects what the candles show. */
class Evidence {
  /** @type {string[]} */
  #large = [];
  /** @type {string[]} */
  #small = [];
  /** Keeps it from being right, and proves neither. @type {string[]} */
  #doubts = [];
  /** @type {string[]} */
  #missing = [];
  /** @type {string[]} */
  #for = [];
  /** What more candles could do nothing about. */
  #isStuck = false;
  #more = 0;

  /** @param {DisplayUnits} units */
  constructor(units) {
    this.units = units;
  }

  /** @param {number} seen candles that were lit at all @returns {Verdict["verdict"]} */
  verdict(seen) {
    if (seen < 2 || (this.#large.length > 0 && this.#small.length > 0)) return "unknown";
    if (this.#large.length > 0) return "large";
    if (this.#small.length > 0) return "small";
    return this.#doubts.length > 0 || this.#missing.length > 0 ? "unknown" : "right";
  }

  /** @returns {Reason[]} */
  reasons() {
    const both = this.#large.length > 0 && this.#small.length > 0;
    const contradiction = both ? [t("Some signs say that it is too large, and some that it is too small.")] : [];
    const against = [...this.#large, ...this.#small, ...contradiction, ...this.#doubts];
    return [
      ...against.map((text) => ({ text, weighs: /** @type {const} */ ("against") })),
      ...this.#missing.map((text) => ({ text, weighs: /** @type {const} */ ("missing") })),
      ...this.#for.map((text) => ({ text, weighs: /** @type {const} */ ("for") })),
    ];
  }

  /** @param {number} seen */
  more(seen) {
    if (this.verdict(seen) !== "unknown" || this.#isStuck) return null;
    if (this.#large.length > 0 || this.#small.length > 0) return seen < 2 ? this.#more : null;
    return this.#more;
  }

  /** A candle that had to be put out. @param {CandleResult[]} candles set aside or not */
  dangers(candles) {
    const all = candles.filter(facts.isBurned).length;
    for (const [why, told] of DANGERS) {
      const n = candles.filter(({ failed }) => failed === why).length;
      if (n > 0) this.#large.push(told(some(n, all)));
    }
  }

  /** @param {CandleResult[]} candles set aside or not @param {CandleResult[]} tested @param {Numbers} numbers */
  flames(candles, tested, { flame_mm }) {
    const limit = this.#mm(FLAME.value);
    const measured = candles.filter((candle) => facts.flameOf(candle).mm !== null);
    const over = measured.filter((candle) => (facts.flameOf(candle).mm ?? 0) > FLAME.value);
    if (over.length > 0) {
      const where = some(over.length, measured.length);
      this.#large.push(t("The flame of {candles} was above {limit}.", { candles: where, limit }));
      return;
    }
    const unseen = tested.filter((candle) => facts.flameRange(candle) === null).length;
    if (unseen > 0) {
      const where = some(unseen, tested.length);
      this.#missing.push(t("Nobody looked at how high the flame of {candles} was.", { candles: where }));
    }
    const low = tested.filter((candle) => facts.flameOf(candle).isLow).length;
    if (low > 0) {
      const where = some(low, tested.length);
      const text = t("The flame of {candles} was only said to be lower than {limit}.", { candles: where, limit });
      this.#for.push(text);
    }
    if (flame_mm === null || flame_mm.measured < FEWEST_FLAMES) {
      this.#missing.push(
        t("Measure the flame of at least two candles: how far it is below {limit} counts.", { limit }),
      );
      return;
    }
    const [highest, next] = [this.#mm(flame_mm.highest), this.#mm(Math.ceil(flame_mm.next))];
    if (flame_mm.next < FLAME.value) {
      const values = { highest, next, limit };
      this.#for.push(
        t(
          "The highest flame was {highest}, and one more candle would hardly be above {next}. {limit} is the limit.",
          values,
        ),
      );
      return;
    }
    this.#doubts.push(
      t("The highest flame was {highest}, but one more candle might be above {limit}.", { highest, limit }),
    );
    this.#needs(moreFlames(flame_mm.mean, candles));
  }

  /** @param {CandleResult[]} burned @param {Asked} asked */
  pool(burned, asked) {
    const pools = burned.map((candle) => facts.poolOf(candle, asked));
    const told = pools.filter((each) => each !== null).length;
    const count = (/** @type {string} */ what) => pools.filter((each) => each === what).length;
    const due = this.#h(facts.dueH(asked));
    if (count("never") > 0) {
      const where = some(count("never"), told);
      const text = t("The pool of {candles} did not reach the wall by the last mark.", { candles: where });
      this.#degree(this.#small, text, count("never"), told);
    }
    if (count("late") > 0) {
      const values = { candles: some(count("late"), told), hours: due };
      this.#doubts.push(t("The pool of {candles} was late at the wall: after {hours} is common practice.", values));
      this.#isStuck = true;
    }
    if (told < burned.length) {
      const where = some(burned.length - told, burned.length);
      this.#missing.push(
        t("Look whether the pool of {candles} is at the wall after {hours}.", { candles: where, hours: due }),
      );
    }
    if (told > 0 && count("in time") === told) {
      const values = { candles: some(told, told), hours: due };
      this.#for.push(
        t("The pool of {candles} was at the wall when it was due: after {hours}, by common practice.", values),
      );
    }
  }

  /** @param {CandleResult[]} burned @param {CandleResult[]} tested */
  grades(burned, tested) {
    for (const thing of GRADED) {
      const { worst, side, told } = GRADES[thing];
      const grades = burned.flatMap((candle) => facts.gradeOf(candle, thing) ?? []);
      const bad = grades.filter((grade) => grade >= worst).length;
      if (bad === 0) continue;
      const text = told(some(bad, grades.length));
      if (side === "neither") {
        this.#doubts.push(text);
        this.#isStuck = true;
      } else this.#degree(side === "large" ? this.#large : this.#small, text, bad, grades.length);
    }
    const out = burned.filter(({ failed }) => failed === "went_out").length;
    if (out > 0) {
      const text = t("The flame of {candles} went out by itself.", { candles: some(out, burned.length) });
      this.#degree(this.#small, text, out, burned.length);
    }
    const unseen = tested.filter((candle) => GRADED.some((thing) => facts.gradeOf(candle, thing) === null));
    if (unseen.length > 0) {
      const where = some(unseen.length, tested.length);
      this.#missing.push(
        t("Say of {candles} whether there was soot, a mushroom, flicker, drowning or wax on the wall.", {
          candles: where,
        }),
      );
    }
    const isClean = burned.every((candle) =>
      GRADED.every((thing) => (facts.gradeOf(candle, thing) ?? 3) < GRADES[thing].worst),
    );
    if (burned.length > 0 && isClean) {
      this.#for.push(t("There was hardly any soot or drowning, and nothing else was bad."));
    }
  }

  /** @param {CandleResult[]} burned @param {CandleResult[]} tested @param {Numbers} numbers */
  smoke(burned, tested, { smoke_s }) {
    const values = { limit: this.#s(AFTER_SMOKE.value), mean: this.#s(smoke_s ?? 0) };
    const timed = burned.filter((candle) => facts.smokeOf(candle) !== null).length;
    if (smoke_s !== null && smoke_s > AFTER_SMOKE.value) {
      const text = t("The wick smoked for {mean} on average after it was out, and {limit} is the limit.", values);
      if (timed > 1) this.#large.push(text);
      else this.#doubts.push(text);
      return;
    }
    const untimed = tested.filter((candle) => facts.smokeOf(candle) === null).length;
    if (untimed > 0) {
      const where = some(untimed, tested.length);
      this.#missing.push(t("Time how long the wick of {candles} smokes once it is out.", { candles: where }));
    }
    if (smoke_s !== null) {
      this.#for.push(t("The wick smoked for {mean} on average after it was out; {limit} is the limit.", values));
    }
  }

  /** Only where she set how hot a place may get. @param {CandleResult[]} burned @param {Asked} asked */
  heat(burned, { hottest_c = null }) {
    if (hottest_c === null) return;
    const read = burned.flatMap((candle) => facts.hottestOf(candle) ?? []);
    const over = read.filter((temp_c) => temp_c > hottest_c).length;
    const limit = this.units.text(hottest_c, "temperature", 1);
    if (over > 0) {
      const where = some(over, read.length);
      this.#large.push(t("The hottest place of {candles} was above your {limit}.", { candles: where, limit }));
    } else if (read.length > 0) {
      this.#for.push(t("No place was hotter than your {limit}.", { limit }));
    } else this.#missing.push(t("Measure the hottest place: you set {limit} as its limit.", { limit }));
  }

  /** @param {CandleResult[]} tested */
  enough(tested) {
    const short = CANDLES.value - tested.length;
    if (short <= 0) {
      const n = tested.length;
      this.#for.push(
        plural(n, "{n} candle burned for a whole sitting.", "{n} candles burned for a whole sitting each."),
      );
      return;
    }
    this.#missing.push(
      plural(
        short,
        "{n} candle more has to burn for a whole sitting, be weighed before and after, and be looked at at every mark.",
        "{n} candles more have to burn for a whole sitting, be weighed before and after, and be looked at at every mark.",
      ),
    );
    this.#needs(short);
  }

  /** What is a matter of degree speaks where half of the candles show it; fewer keep the wick from being right.
   * @param {string[]} side @param {string} text @param {number} n @param {number} total */
  #degree(side, text, n, total) {
    if (total > 1 && 2 * n >= total) side.push(text);
    else {
      this.#doubts.push(text);
      this.#isStuck ||= total > 1;
    }
  }

  /** @param {number | null} candles null: no number would do */
  #needs(candles) {
    if (candles === null) this.#isStuck = true;
    else this.#more = Math.max(this.#more, candles);
  }

  /** @param {number} mm */
  #mm(mm) {
    return this.units.text(mm, "length", 1);
  }

  /** @param {number} hours */
  #h(hours) {
    return t("{n} h", { n: numberText(write(hours, hours % 1 === 0 ? 1 : 0.1)) });
  }

  /** @param {number} seconds */
  #s(seconds) {
    return t("{n} s", { n: numberText(write(seconds, 1)) });
  }
}

/** How many more flames like these would bring the bound for the next below the limit; null: none would.
 * @param {number} mean @param {CandleResult[]} candles */
function moreFlames(mean, candles) {
  const flames = candles.flatMap((candle) => (candle.counts ? (facts.flameOf(candle).mm ?? []) : []));
  for (let more = 1; more <= MOST_MORE; more += 1) {
    // As many more, scattered as these are: pairs of them at both sides of the mean.
    const like = Array.from({ length: more }, (_, i) => 2 * mean - flames[i % flames.length]);
    if (nextLike([...flames, ...like], USUAL_FLAME, FLAME_LEVEL).high < FLAME.value) return more;
  }
  return null;
}

/** @typedef {(candles: string) => string} Told a sentence about some candles */

/** @type {[string, Told][]} */
const DANGERS = [
  ["flame", (candles) => t("The flame of {candles} was too high, and you put it out.", { candles })],
  ["second_flame", (candles) => t("There was a second flame in {candles}.", { candles })],
  ["cracked", (candles) => t("The vessel of {candles} cracked.", { candles })],
  ["soot", (candles) => t("There was so much soot from {candles} that you put it out.", { candles })],
];

/** From which grade on a thing counts, and what it speaks for.
 * @type {Record<facts.Graded, {worst: number, side: "large" | "small" | "neither", told: Told}>} */
const GRADES = {
  soot: { worst: 2, side: "large", told: (candles) => t("There was soot from {candles}.", { candles }) },
  mushroom: {
    worst: 3,
    side: "large",
    told: (candles) => t("The wick of {candles} grew a bad mushroom.", { candles }),
  },
  flicker: { worst: 3, side: "neither", told: (candles) => t("The flame of {candles} flickered badly.", { candles }) },
  drowning: { worst: 2, side: "small", told: (candles) => t("The wick of {candles} drowned.", { candles }) },
  wall: {
    worst: 3,
    side: "small",
    told: (candles) => t("A lot of wax was left on the wall of {candles}.", { candles }),
  },
};

/** 'all 3 candles', '1 of 3 candles'. @param {number} n @param {number} total */
function some(n, total) {
  if (n === total) return plural(total, "the one candle", "all {n} candles");
  return t("{n} of {total} candles", { n, total });
}
