/**
 * What heat does to a pour: melting, mixing, warm vessels, and a jug that empties as it cools.
 *
 * Grams, °C, seconds, watts, joules; heat capacities in J/(g·K). A wax's own figures take the place of the defaults.
 * Nothing here counts wax that sets while it is mixed or poured: it gives off heat, so real wax below its melting
 * temperature is warmer than told. Temperatures are −20 to 300 °C, heat capacities 0.1 to 5 J/(g·K). Only the phone
 * reckons with heat, so this file has no twin.
 */
import { InputError, message } from "../words/door.js";
import * as checks from "./checks.js";
import * as weigh from "./weigh.js";

/** @typedef {import("../words/door.js").Message} Message */
/** @typedef {{solid_heat: number, liquid_heat: number, melting_c: number, latent_j_per_g: number}} Wax */

/**
 * What to take for a wax of which nothing else is known.
 *
 * Paraffin: 2.14 to 2.9 J/(g·K), melting at 46 to 68 °C with 200 to 220 J/g (an encyclopaedia, read second-hand);
 * liquid, the n-alkanes C24 to C28 at 70 °C take 2.28 (computed, library thermo). The solid's figure is the
 * encyclopaedia's lower end: our choice.
 * Vegetable: fats 2.01 at 20 °C and 2.06 at 70 °C (Choi and Okos 1986, read second-hand), liquid tristearin 2.19 at
 * 70 °C; tristearin and tripalmitin melt with 172 and 170 J/g (computed, library thermo). Container soya melts near
 * 50 °C: common practice, no source.
 * @type {Record<string, Wax>}
 */
export const WAXES = {
  paraffin: { solid_heat: 2.2, liquid_heat: 2.28, melting_c: 57, latent_j_per_g: 210 },
  vegetable: { solid_heat: 2.0, liquid_heat: 2.1, melting_c: 50, latent_j_per_g: 170 },
};

/** Molten wax of either kind, J/(g·K): between the two above (our choice). */
export const WAX_HEAT = 2.2;

/**
 * A fragrance oil, J/(g·K). Liquids that fragrance is made of take, at 20 °C: limonene 1.84, isopropyl myristate
 * 1.99, benzyl alcohol 2.02, phenethyl alcohol 2.07, diethyl phthalate 1.64 (computed, library thermo); within
 * them, our choice.
 */
export const FRAGRANCE_HEAT = 1.9;

/** What jugs and vessels are made of, J/(g·K): OpenStax College Physics 2e, table of specific heats (read). */
export const HEATS = { aluminium: 0.9, glass: 0.84, steel: 0.452, water: 4.186 };

export const JUG_HEAT = HEATS.aluminium;

/**
 * How much of the power reaches the wax, before any melt of her own: our choice, from memory. A bain-marie heats its
 * water, pot and steam too; wax takes up microwaves poorly; a wax melter loses through its walls.
 */
export const EFFICIENCIES = { bain_marie: 0.3, microwave: 0.4, melter: 0.7 };

/** How many melts the default efficiency counts for beside her own (our choice). */
export const DEFAULT_MELTS = 2;

/** From this long on a melt counts in full: a shorter one is timed too roughly (our choice). */
export const FULL_MELT_S = 300;

export const LEAST_EFFICIENCY = 0.01;

/**
 * The temperature in °C of several parts put together: Σ m·c·T / Σ m·c. Calorimetry without loss and without
 * melting: what one part gives the others take.
 * @param {[number, number, number][]} parts grams (0 or more), J/(g·K) and °C of each
 * @throws {InputError} no part weighs anything, or a number out of range
 */
export function mixed(parts) {
  let holds = 0;
  let heat = 0;
  for (const [mass_g, heat_j_per_g_k, temp_c] of parts) {
    const part =
      checks.notNegative(mass_g, message("The weight of a part"), "parts") * capacity(heat_j_per_g_k, "parts");
    holds += part;
    heat += part * temperature(temp_c, message("The temperature of a part in °C"), "parts");
  }
  if (holds < checks.SMALLEST) {
    throw new InputError("There is nothing to mix: enter what goes together.", {}, "parts");
  }
  return heat / holds;
}

/**
 * @typedef {object} Adding heat capacities in J/(g·K)
 * @property {number} [wax_heat] the molten wax's
 * @property {number} [fragrance_heat] the fragrance's
 * @property {number} [jug_g] the empty jug; 0 leaves it out
 * @property {number} [jug_heat] the jug's
 */

/**
 * The temperature in °C once the fragrance is stirred in.
 * @param {number} wax_g wax in the jug, above zero @param {number} wax_c its temperature, and the jug's
 * @param {number} fragrance_g fragrance added, 0 or more @param {number} fragrance_c its temperature, as a rule the
 *   room's
 * @param {Adding} [options]
 * @throws {InputError} a number out of range
 */
export function afterFragrance(wax_g, wax_c, fragrance_g, fragrance_c, options = {}) {
  const { wax_heat = WAX_HEAT, fragrance_heat = FRAGRANCE_HEAT } = options;
  const { jug_g = 0, jug_heat = JUG_HEAT } = options;
  return mixed([
    [
      checks.positive(wax_g, message("The wax"), "wax_g"),
      wax_heat,
      temperature(wax_c, message("The wax in °C"), "wax_c"),
    ],
    [
      checks.notNegative(fragrance_g, message("The fragrance"), "fragrance_g"),
      fragrance_heat,
      temperature(fragrance_c, message("The fragrance in °C"), "fragrance_c"),
    ],
    [checks.notNegative(jug_g, message("The jug"), "jug_g"), jug_heat, wax_c],
  ]);
}

/**
 * The temperature in °C that wax and jug need for the mix to be at `wanted_c`: the inverse of `afterFragrance`. It
 * knows nothing of the wax's highest safe temperature: hold the answer against that.
 * @param {number} wanted_c @param {number} wax_g @param {number} fragrance_g @param {number} fragrance_c
 * @param {Adding} [options]
 * @throws {InputError} a number out of range, or no wax temperature from −20 to 300 °C will do
 */
export function warmTo(wanted_c, wax_g, fragrance_g, fragrance_c, options = {}) {
  const { wax_heat = WAX_HEAT, fragrance_heat = FRAGRANCE_HEAT } = options;
  const { jug_g = 0, jug_heat = JUG_HEAT } = options;
  const wanted = temperature(wanted_c, message("The temperature wanted in °C"), "wanted_c");
  let holds = checks.positive(wax_g, message("The wax"), "wax_g") * capacity(wax_heat, "wax_heat");
  holds += checks.notNegative(jug_g, message("The jug"), "jug_g") * capacity(jug_heat, "jug_heat");
  const takes =
    checks.notNegative(fragrance_g, message("The fragrance"), "fragrance_g") *
    capacity(fragrance_heat, "fragrance_heat");
  const lift = takes * (wanted - temperature(fragrance_c, message("The fragrance in °C"), "fragrance_c"));
  const needed = wanted + lift / holds;
  if (holds < checks.SMALLEST || !(-20 <= needed && needed <= 300)) {
    throw new InputError(
      "No wax temperature will do for that much fragrance: check the weights, or warm the fragrance first.",
      {},
      "fragrance_g",
    );
  }
  return needed;
}

/**
 * @typedef {object} Pouring
 * @property {number} rate k in °C^(1−n)/s with `rate_mass_g` in the jug, above zero
 * @property {number} rate_mass_g the mass that the rate was found with
 * @property {number} exponent n, 0.5 to 3; about 5/4 in still air
 * @property {number} seconds_each from the start of one vessel to the start of the next, 0 to 3600
 */

/**
 * The mix in °C as vessel after vessel is poured from a jug that empties as it cools: at the start of each vessel,
 * and at the end of the last.
 *
 * The excess over the room falls as dθ/dt = −k(m)·θ^n with k(m) = rate·(m / rate_mass_g)^(−1/3): the less is in the
 * jug, the more surface each gram has. While a vessel is poured m falls evenly, and the law has a closed integral,
 * exact also for the vessel that empties the jug: ∫k dt is rate·rate_mass_g^(1/3)·seconds times the mean of m^(−1/3)
 * over the pour.
 * @param {number} mix_g what is in the jug at the start @param {number} mix_c above the room
 * @param {number} each_g what goes into a vessel, above zero @param {number} count vessels poured, 1 to 5000;
 *   together no more than the jug holds
 * @param {number} room_c −20 to 50 °C @param {Pouring} pouring
 * @throws {InputError} not enough in the jug, a mix no warmer than the room, or a number out of range
 */
export function pourOut(mix_g, mix_c, each_g, count, room_c, pouring) {
  const mix = checks.positive(mix_g, message("The mix in the jug"), "mix_g");
  const each = checks.positive(each_g, message("What goes into a vessel"), "each_g");
  const vessels = checks.whole(count, message("The number of vessels"), 1, weigh.MOST_VESSELS, "count");
  const room = checks.within(room_c, message("The room in °C"), -20, 50, "room_c");
  let over = temperature(mix_c, message("The mix in °C"), "mix_c") - room;
  let pace = checks.positive(pouring.rate, message("The rate"), "rate");
  pace *= Math.cbrt(
    checks.positive(pouring.rate_mass_g, message("The weight that the rate was found with"), "rate_mass_g"),
  );
  const power = checks.within(pouring.exponent, message("The exponent"), 0.5, 3, "exponent");
  const seconds = checks.within(pouring.seconds_each, message("The seconds for a vessel"), 0, 3600, "seconds_each");
  if (over < checks.SMALLEST) {
    throw new InputError("The mix is not warmer than the room: check both temperatures before you pour.", {}, "mix_c");
  }
  if (each * vessels > mix * (1 + 1e-9)) {
    throw new InputError(
      "There is not enough in the jug for that many vessels: pour fewer, or less into each.",
      {},
      "count",
    );
  }
  const temps = [room + over];
  for (let index = 0; index < vessels; index += 1) {
    const before = Math.cbrt(mix - each * index);
    const after = Math.cbrt(Math.max(0, mix - each * (index + 1)));
    // The mean of m^(−1/3) from a to b is 3/2·(b^(2/3) − a^(2/3))/(b − a), without what cancels.
    const lightness = (1.5 * (before + after)) / (before ** 2 + before * after + after ** 2);
    over = cooled(over, pace * lightness * seconds, power);
    temps.push(room + over);
  }
  return temps;
}

/**
 * How many of `count` vessels are poured to the end before the mix is under `low_c`; the rest as in `pourOut`.
 * @param {number} mix_g @param {number} mix_c @param {number} each_g @param {number} count @param {number} room_c
 * @param {number} low_c the lowest temperature to pour at, °C @param {Pouring} pouring
 */
export function vesselsInWindow(mix_g, mix_c, each_g, count, room_c, low_c, pouring) {
  const low = temperature(low_c, message("The lowest pouring temperature in °C"), "low_c");
  const ends = pourOut(mix_g, mix_c, each_g, count, room_c, pouring).slice(1);
  const under = ends.findIndex((temp) => temp < low - 1e-9);
  return under < 0 ? ends.length : under;
}

/**
 * Joules that bring wax from `from_c` to `to_c`, melting it if that lies between. Real wax softens over several
 * degrees; here it melts at one temperature, at which it counts as molten. The sum is the same from well below to
 * well above it.
 * @param {number} mass_g the wax, 0 or more @param {number} from_c its temperature now @param {number} to_c the
 *   temperature wanted, no lower
 * @param {{wax?: string, solid_heat?: number | null, liquid_heat?: number | null, melting_c?: number | null,
 *   latent_j_per_g?: number | null}} [options] `wax`: whose figures stand in for those not given, a key of `WAXES`;
 *   melting at −20 to 150 °C with 0 to 500 J/g
 * @throws {InputError} a target below the wax's temperature, a kind of wax that is not in the table, or a number out
 *   of range
 */
export function meltEnergyJ(mass_g, from_c, to_c, options = {}) {
  const { wax = "paraffin" } = options;
  if (typeof wax !== "string" || !Object.hasOwn(WAXES, wax)) {
    throw new InputError("The wax must be one of: paraffin, vegetable.", {}, "wax");
  }
  const known = WAXES[wax];
  const mass = checks.notNegative(mass_g, message("The wax"), "mass_g");
  const start = temperature(from_c, message("The wax in °C"), "from_c");
  const end = temperature(to_c, message("The temperature wanted in °C"), "to_c");
  const solid = capacity(options.solid_heat ?? known.solid_heat, "solid_heat");
  const liquid = capacity(options.liquid_heat ?? known.liquid_heat, "liquid_heat");
  const melting = checks.within(
    options.melting_c ?? known.melting_c,
    message("The melting temperature in °C"),
    -20,
    150,
    "melting_c",
  );
  const latent = checks.within(
    options.latent_j_per_g ?? known.latent_j_per_g,
    message("The heat of melting in J/g"),
    0,
    500,
    "latent_j_per_g",
  );
  if (end < start) {
    throw new InputError("The wax is already hotter than that: check both temperatures.", {}, "to_c");
  }
  // Joules in a gram, counted from the solid at its melting temperature.
  const content = (/** @type {number} */ temp) => {
    const above = temp - melting;
    return above < 0 ? solid * above : latent + liquid * above;
  };
  return mass * (content(end) - content(start));
}

/**
 * Seconds for `energy_j` to reach the wax: energy / (power · efficiency).
 * @param {number} energy_j joules the wax takes, 0 or more @param {number} power_w what the hob, microwave or melter
 *   is rated at, 1 to 20000 W
 * @param {number} efficiency how much of it reaches the wax, 0.01 to 1
 * @throws {InputError} a number out of range
 */
export function meltTimeS(energy_j, power_w, efficiency) {
  const energy = checks.notNegative(energy_j, message("The heat to put in"), "energy_j");
  return energy / (wattage(power_w, "power_w") * reaching(efficiency, "efficiency"));
}

/**
 * A melt in a microwave, in bursts with stirring between: the whole bursts, and the seconds of a last shorter one (0
 * if none is needed).
 * @param {number} energy_j as in `meltTimeS`, as are the power and the efficiency
 * @param {number} power_w @param {number} efficiency @param {number} burst_s how long one burst lasts, 1 to 3600 s
 * @returns {[number, number]}
 * @throws {InputError} a number out of range
 */
export function meltBursts(energy_j, power_w, efficiency, burst_s) {
  const burst = checks.within(burst_s, message("The seconds of a burst"), 1, 3600, "burst_s");
  const time = meltTimeS(energy_j, power_w, efficiency);
  const whole = Math.floor(time / burst + 1e-9);
  return [whole, Math.max(0, time - whole * burst)];
}

/**
 * How much of the power reaches the wax, 0.01 to 1, from past melts with the same means; the default if there is none.
 *
 * A weighted mean of energy / (power · time): a melt counts for its length up to `FULL_MELT_S`, and one that seems to
 * have used more than all the power counts as using all of it. The default stands beside them as `DEFAULT_MELTS`
 * melts, so the first moves it by a third of the way at most, and ten outweigh it five to one.
 * @param {[number, number, number][]} melts joules the wax took (above zero), rated power (1 to 20000 W) and seconds
 *   (above zero) of each
 * @param {number} default_efficiency where to start from, 0.01 to 1; see `EFFICIENCIES`
 * @throws {InputError} a number out of range
 */
export function learnEfficiency(melts, default_efficiency) {
  let counted = DEFAULT_MELTS;
  let total = DEFAULT_MELTS * reaching(default_efficiency, "default_efficiency");
  for (const [energy_j, power_w, took_s] of melts) {
    const took = checks.positive(took_s, message("The time that a melt took"), "melts");
    const energy = checks.positive(energy_j, message("The heat that a melt took"), "melts");
    const weight = Math.min(1, took / FULL_MELT_S);
    counted += weight;
    total += weight * Math.min(1, energy / (wattage(power_w, "melts") * took));
  }
  return Math.min(1, Math.max(LEAST_EFFICIENCY, total / counted));
}

/** θ after ∫k dt = `spent` of dθ/dt = −k·θ^n; exponential at n = 1.
 * @param {number} over @param {number} spent @param {number} power */
function cooled(over, spent, power) {
  const fall = over > 0 ? spent * over ** (power - 1) : 0;
  if (Math.abs(power - 1) < 1e-12) return over * Math.exp(-fall);
  const line = (power - 1) * fall;
  // Below n = 1 the law reaches the room in a finite time, and stays there.
  return line > -1 ? over * Math.exp(-Math.log1p(line) / (power - 1)) : 0;
}

/** @param {unknown} value @param {Message} name @param {string} about */
function temperature(value, name, about) {
  return checks.within(value, name, -20, 300, about);
}

/** @param {unknown} value @param {string} about */
function capacity(value, about) {
  return checks.within(value, message("The heat capacity in J/(g·K)"), 0.1, 5, about);
}

/** @param {unknown} value @param {string} about */
function wattage(value, about) {
  return checks.within(value, message("The power in watts"), 1, 20000, about);
}

/** @param {unknown} value @param {string} about */
function reaching(value, about) {
  return checks.within(value, message("The efficiency"), LEAST_EFFICIENCY, 1, about);
}
