/** What heat does to a pour: melting, mixing, warm vessels, and a jug that empties as it cools.
 * Grams, °C, seconds, watts, joules; heat capacities in J/(g·K). */
import { InputError } from "../words/door.js";
import * as checks from "./checks.js";
import * as weigh from "./weigh.js";

/** @typedef {{solid_heat: number, liquid_heat: number, melting_c: number,
 *   latent_j_per_g: number}} Wax */

/** What to take for a wax of which nothing else is known; sources in the Python.
 * @type {Record<string, Wax>} */
export const WAXES = {
  paraffin: { solid_heat: 2.2, liquid_heat: 2.28, melting_c: 57, latent_j_per_g: 210 },
  vegetable: { solid_heat: 2.0, liquid_heat: 2.1, melting_c: 50, latent_j_per_g: 170 },
};

/** Molten wax of either kind (our choice, between the two). */
export const WAX_HEAT = 2.2;

/** A fragrance oil (our choice, within what such liquids take). */
export const FRAGRANCE_HEAT = 1.9;

/** What jugs and vessels are made of: OpenStax College Physics 2e. */
export const HEATS = { aluminium: 0.9, glass: 0.84, steel: 0.452, water: 4.186 };

export const JUG_HEAT = HEATS.aluminium;
export const VESSEL_HEAT = HEATS.glass;

/** How much of the power reaches the wax, before any melt of her own: our choice, from memory. */
export const EFFICIENCIES = { bain_marie: 0.3, microwave: 0.4, melter: 0.7 };

/** How many melts the default efficiency counts for beside her own (our choice). */
export const DEFAULT_MELTS = 2;

/** From this long on a melt counts in full (our choice). */
export const FULL_MELT_S = 300;

export const LEAST_EFFICIENCY = 0.01;

/** The temperature of several parts put together: Σ m·c·T / Σ m·c.
 * @param {[number, number, number][]} parts grams, J/(g·K) and °C of each */
export function mixed(parts) {
  let holds = 0;
  let heat = 0;
  for (const [mass_g, heat_j_per_g_k, temp_c] of parts) {
    const part = checks.notNegative(mass_g, "The weight of a part") * capacity(heat_j_per_g_k);
    holds += part;
    heat += part * temperature(temp_c, "The temperature of a part in °C");
  }
  if (holds < checks.SMALLEST) {
    throw new InputError("There is nothing to mix: enter what goes together.");
  }
  return heat / holds;
}

/** @typedef {{wax_heat?: number, fragrance_heat?: number, jug_g?: number, jug_heat?: number}} Adding */

/** The temperature once the fragrance is stirred in.
 * @param {number} wax_g @param {number} wax_c @param {number} fragrance_g
 * @param {number} fragrance_c @param {Adding} [options] */
export function afterFragrance(wax_g, wax_c, fragrance_g, fragrance_c, options = {}) {
  const { wax_heat = WAX_HEAT, fragrance_heat = FRAGRANCE_HEAT } = options;
  const { jug_g = 0, jug_heat = JUG_HEAT } = options;
  return mixed([
    [checks.positive(wax_g, "The wax"), wax_heat, temperature(wax_c, "The wax in °C")],
    [checks.notNegative(fragrance_g, "The fragrance"), fragrance_heat, temperature(fragrance_c, "The fragrance in °C")],
    [checks.notNegative(jug_g, "The jug"), jug_heat, wax_c],
  ]);
}

/** The temperature that wax and jug need for the mix to be at `wanted_c`; hold it against the
 * wax's highest safe temperature.
 * @param {number} wanted_c @param {number} wax_g @param {number} fragrance_g
 * @param {number} fragrance_c @param {Adding} [options] */
export function warmTo(wanted_c, wax_g, fragrance_g, fragrance_c, options = {}) {
  const { wax_heat = WAX_HEAT, fragrance_heat = FRAGRANCE_HEAT } = options;
  const { jug_g = 0, jug_heat = JUG_HEAT } = options;
  const wanted = temperature(wanted_c, "The temperature wanted in °C");
  let holds = checks.positive(wax_g, "The wax") * capacity(wax_heat);
  holds += checks.notNegative(jug_g, "The jug") * capacity(jug_heat);
  const takes = checks.notNegative(fragrance_g, "The fragrance") * capacity(fragrance_heat);
  const lift = takes * (wanted - temperature(fragrance_c, "The fragrance in °C"));
  const needed = wanted + lift / holds;
  if (holds < checks.SMALLEST || !(-20 <= needed && needed <= 300)) {
    throw new InputError(
      "No wax temperature will do for that much fragrance: check the weights, or warm " + "the fragrance first.",
    );
  }
  return needed;
}

/** The temperature that a cool or a warmed vessel and the mix poured into it meet at.
 * @param {number} mix_g @param {number} mix_c @param {number} vessel_g @param {number} vessel_c
 * @param {{mix_heat?: number, vessel_heat?: number, share?: number}} [options] */
export function inVessel(mix_g, mix_c, vessel_g, vessel_c, options = {}) {
  const { mix_heat = WAX_HEAT, vessel_heat = VESSEL_HEAT, share = 1 } = options;
  const part = checks.within(share, "The part of the vessel that is filled", 0, 1);
  return mixed([
    [checks.positive(mix_g, "The mix"), mix_heat, temperature(mix_c, "The mix in °C")],
    [checks.notNegative(vessel_g, "The empty vessel") * part, vessel_heat, temperature(vessel_c, "The vessel in °C")],
  ]);
}

/** @typedef {{rate: number, rate_mass_g: number, exponent: number, seconds_each: number}} Pouring */

/** The mix at the start of each vessel, and at the end of the last, from a jug that empties as it
 * cools: dθ/dt = −k(m)·θ^n, k(m) = rate·(m / rate_mass_g)^(−1/3), integrated in closed form.
 * @param {number} mix_g @param {number} mix_c @param {number} each_g @param {number} count
 * @param {number} room_c @param {Pouring} pouring */
export function pourOut(mix_g, mix_c, each_g, count, room_c, pouring) {
  const mix = checks.positive(mix_g, "The mix in the jug");
  const each = checks.positive(each_g, "What goes into a vessel");
  const vessels = checks.whole(count, "The number of vessels", 1, weigh.MOST_VESSELS);
  const room = checks.within(room_c, "The room in °C", -20, 50);
  let over = temperature(mix_c, "The mix in °C") - room;
  let pace = checks.positive(pouring.rate, "The rate");
  pace *= Math.cbrt(checks.positive(pouring.rate_mass_g, "The weight that the rate was found with"));
  const power = checks.within(pouring.exponent, "The exponent", 0.5, 3);
  const seconds = checks.within(pouring.seconds_each, "The seconds for a vessel", 0, 3600);
  if (over < checks.SMALLEST) {
    throw new InputError("The mix is not warmer than the room: check both temperatures before you pour.");
  }
  if (each * vessels > mix * (1 + 1e-9)) {
    throw new InputError("There is not enough in the jug for that many vessels: pour fewer, or less into each.");
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

/** How many of `count` vessels are poured to the end before the mix is under `low_c`.
 * @param {number} mix_g @param {number} mix_c @param {number} each_g @param {number} count
 * @param {number} room_c @param {number} low_c @param {Pouring} pouring */
export function vesselsInWindow(mix_g, mix_c, each_g, count, room_c, low_c, pouring) {
  const low = temperature(low_c, "The lowest pouring temperature in °C");
  const ends = pourOut(mix_g, mix_c, each_g, count, room_c, pouring).slice(1);
  const under = ends.findIndex((temp) => temp < low - 1e-9);
  return under < 0 ? ends.length : under;
}

/** Joules that bring wax from `from_c` to `to_c`, melting it if that lies between.
 * @param {number} mass_g @param {number} from_c @param {number} to_c
 * @param {{wax?: string, solid_heat?: number | null, liquid_heat?: number | null,
 *   melting_c?: number | null, latent_j_per_g?: number | null}} [options] */
export function meltEnergyJ(mass_g, from_c, to_c, options = {}) {
  const { wax = "paraffin" } = options;
  if (typeof wax !== "string" || !Object.hasOwn(WAXES, wax)) {
    throw new InputError("The wax must be one of: paraffin, vegetable.");
  }
  const known = WAXES[wax];
  const mass = checks.notNegative(mass_g, "The wax");
  const start = temperature(from_c, "The wax in °C");
  const end = temperature(to_c, "The temperature wanted in °C");
  const solid = capacity(options.solid_heat ?? known.solid_heat);
  const liquid = capacity(options.liquid_heat ?? known.liquid_heat);
  const melting = checks.within(options.melting_c ?? known.melting_c, "The melting temperature in °C", -20, 150);
  const latent = checks.within(options.latent_j_per_g ?? known.latent_j_per_g, "The heat of melting in J/g", 0, 500);
  if (end < start) {
    throw new InputError("The wax is already hotter than that: check both temperatures.");
  }
  // Joules in a gram, counted from the solid at its melting temperature.
  const content = (/** @type {number} */ temp) => {
    const above = temp - melting;
    return above < 0 ? solid * above : latent + liquid * above;
  };
  return mass * (content(end) - content(start));
}

/** Seconds for `energy_j` to reach the wax. @param {number} energy_j @param {number} power_w
 * @param {number} efficiency */
export function meltTimeS(energy_j, power_w, efficiency) {
  const energy = checks.notNegative(energy_j, "The heat to put in");
  return energy / (wattage(power_w) * reaching(efficiency));
}

/** A melt in bursts with stirring between: the whole bursts, and the seconds of a last shorter one.
 * @param {number} energy_j @param {number} power_w @param {number} efficiency
 * @param {number} burst_s @returns {[number, number]} */
export function meltBursts(energy_j, power_w, efficiency, burst_s) {
  const burst = checks.within(burst_s, "The seconds of a burst", 1, 3600);
  const time = meltTimeS(energy_j, power_w, efficiency);
  const whole = Math.floor(time / burst + 1e-9);
  return [whole, Math.max(0, time - whole * burst)];
}

/** How much of the power reaches the wax, from past melts: a weighted mean beside which the
 * default counts as `DEFAULT_MELTS` melts.
 * @param {[number, number, number][]} melts joules, watts and seconds of each
 * @param {number} default_efficiency */
export function learnEfficiency(melts, default_efficiency) {
  let counted = DEFAULT_MELTS;
  let total = DEFAULT_MELTS * reaching(default_efficiency);
  for (const [energy_j, power_w, took_s] of melts) {
    const took = checks.positive(took_s, "The time that a melt took");
    const energy = checks.positive(energy_j, "The heat that a melt took");
    const weight = Math.min(1, took / FULL_MELT_S);
    counted += weight;
    total += weight * Math.min(1, energy / (wattage(power_w) * took));
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

/** @param {unknown} value @param {string} name */
function temperature(value, name) {
  return checks.within(value, name, -20, 300);
}

/** @param {unknown} value */
function capacity(value) {
  return checks.within(value, "The heat capacity in J/(g·K)", 0.1, 5);
}

/** @param {unknown} value */
function wattage(value) {
  return checks.within(value, "The power in watts", 1, 20000);
}

/** @param {unknown} value */
function reaching(value) {
  return checks.within(value, "The efficiency", LEAST_EFFICIENCY, 1);
}
