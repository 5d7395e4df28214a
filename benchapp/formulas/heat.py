"""What heat does to a pour: melting, mixing, warm vessels, and a jug that empties as it cools.

Base units: grams, °C, seconds, watts, joules; heat capacities in J/(g·K). A wax's own figures
take the place of the defaults. Nothing here counts wax that sets while it is mixed or poured: it
gives off heat, so real wax below its melting temperature is warmer than told.
"""

import math
from collections.abc import Sequence

from benchapp.formulas import checks, weigh

WAXES = {
    "paraffin": {
        "solid_heat": 2.2,
        "liquid_heat": 2.28,
        "melting_c": 57.0,
        "latent_j_per_g": 210.0,
    },
    "vegetable": {
        "solid_heat": 2.0,
        "liquid_heat": 2.1,
        "melting_c": 50.0,
        "latent_j_per_g": 170.0,
    },
}
"""What to take for a wax of which nothing else is known.

Paraffin: 2.14 to 2.9 J/(g·K), melting at 46 to 68 °C with 200 to 220 J/g (an encyclopaedia, read
second-hand); liquid, the n-alkanes C24 to C28 at 70 °C take 2.28 (computed, library thermo).
The solid's figure is the encyclopaedia's lower end: our choice.
Vegetable: fats 2.01 at 20 °C and 2.06 at 70 °C (Choi and Okos 1986, read second-hand), liquid
tristearin 2.19 at 70 °C; tristearin and tripalmitin melt with 172 and 170 J/g (computed, library
thermo). Container soya melts near 50 °C: common practice, no source.
"""

WAX_HEAT = 2.2
"""Molten wax of either kind, J/(g·K): between the two above (our choice)."""

FRAGRANCE_HEAT = 1.9
"""A fragrance oil, J/(g·K). Liquids that fragrance is made of take, at 20 °C: limonene 1.84,
isopropyl myristate 1.99, benzyl alcohol 2.02, phenethyl alcohol 2.07, diethyl phthalate 1.64
(computed, library thermo); within them, our choice."""

HEATS = {"aluminium": 0.9, "glass": 0.84, "steel": 0.452, "water": 4.186}
"""What jugs and vessels are made of, J/(g·K): OpenStax College Physics 2e, table of specific
heats (read)."""

JUG_HEAT = HEATS["aluminium"]
VESSEL_HEAT = HEATS["glass"]

EFFICIENCIES = {"bain_marie": 0.3, "microwave": 0.4, "melter": 0.7}
"""How much of the power reaches the wax, before any melt of her own: our choice, from memory.
A bain-marie heats its water, pot and steam too; wax takes up microwaves poorly; a wax melter
loses through its walls."""

DEFAULT_MELTS = 2.0
"""How many melts the default efficiency counts for beside her own (our choice)."""

FULL_MELT_S = 300.0
"""From this long on a melt counts in full: a shorter one is timed too roughly (our choice)."""

LEAST_EFFICIENCY = 0.01


def mixed(parts: Sequence[tuple[float, float, float]]) -> float:
    """The temperature in °C of several parts put together: Σ m·c·T / Σ m·c.

    Calorimetry without loss and without melting: what one part gives the others take.

    Args:
        parts: ``(mass_g, heat_j_per_g_k, temp_c)``; mass 0 or more, heat capacity 0.1 to 5
            J/(g·K), temperature −20 to 300 °C.

    Raises:
        ValueError: no part weighs anything, or a number out of range.
    """
    holds = 0.0
    heat = 0.0
    for mass_g, heat_j_per_g_k, temp_c in parts:
        capacity = checks.not_negative(mass_g, "The weight of a part") * _capacity(heat_j_per_g_k)
        holds += capacity
        heat += capacity * _temperature(temp_c, "The temperature of a part in °C")
    if holds < checks.SMALLEST:
        raise ValueError("There is nothing to mix: enter what goes together.")
    return heat / holds


def after_fragrance(
    wax_g: float,
    wax_c: float,
    fragrance_g: float,
    fragrance_c: float,
    *,
    wax_heat: float = WAX_HEAT,
    fragrance_heat: float = FRAGRANCE_HEAT,
    jug_g: float = 0.0,
    jug_heat: float = JUG_HEAT,
) -> float:
    """The temperature in °C once the fragrance is stirred in.

    Args:
        wax_g: wax in the jug, above zero.
        wax_c: its temperature, and the jug's, −20 to 300 °C.
        fragrance_g: fragrance added, 0 or more.
        fragrance_c: its temperature, as a rule the room's.
        wax_heat: the molten wax's heat capacity, 0.1 to 5 J/(g·K).
        fragrance_heat: the fragrance's.
        jug_g: the empty jug; 0 leaves it out.
        jug_heat: the jug's heat capacity.

    Raises:
        ValueError: a number out of range.
    """
    return mixed(
        [
            (checks.positive(wax_g, "The wax"), wax_heat, _temperature(wax_c, "The wax in °C")),
            (
                checks.not_negative(fragrance_g, "The fragrance"),
                fragrance_heat,
                _temperature(fragrance_c, "The fragrance in °C"),
            ),
            (checks.not_negative(jug_g, "The jug"), jug_heat, wax_c),
        ]
    )


def warm_to(
    wanted_c: float,
    wax_g: float,
    fragrance_g: float,
    fragrance_c: float,
    *,
    wax_heat: float = WAX_HEAT,
    fragrance_heat: float = FRAGRANCE_HEAT,
    jug_g: float = 0.0,
    jug_heat: float = JUG_HEAT,
) -> float:
    """The temperature in °C that wax and jug need for the mix to be at ``wanted_c``.

    The inverse of ``after_fragrance``, whose arguments it takes. It knows nothing of the wax's
    highest safe temperature: hold the answer against that.

    Raises:
        ValueError: a number out of range, or no wax temperature from −20 to 300 °C will do.
    """
    wanted = _temperature(wanted_c, "The temperature wanted in °C")
    holds = checks.positive(wax_g, "The wax") * _capacity(wax_heat)
    holds += checks.not_negative(jug_g, "The jug") * _capacity(jug_heat)
    takes = checks.not_negative(fragrance_g, "The fragrance") * _capacity(fragrance_heat)
    lift = takes * (wanted - _temperature(fragrance_c, "The fragrance in °C"))
    if holds < checks.SMALLEST or not -20 <= wanted + lift / holds <= 300:
        raise ValueError(
            "No wax temperature will do for that much fragrance: check the weights, or warm "
            "the fragrance first."
        )
    return wanted + lift / holds


def in_vessel(
    mix_g: float,
    mix_c: float,
    vessel_g: float,
    vessel_c: float,
    *,
    mix_heat: float = WAX_HEAT,
    vessel_heat: float = VESSEL_HEAT,
    share: float = 1.0,
) -> float:
    """The temperature in °C that a cool or a warmed vessel and the mix poured into it meet at.

    Args:
        mix_g: what is poured into the vessel, above zero.
        mix_c: its temperature, −20 to 300 °C.
        vessel_g: the empty vessel, 0 or more.
        vessel_c: its temperature.
        mix_heat: the mix's heat capacity, 0.1 to 5 J/(g·K).
        vessel_heat: the vessel's.
        share: how much of the vessel the mix touches and warms, 0 to 1.

    Raises:
        ValueError: a number out of range.
    """
    part = checks.within(share, "The part of the vessel that is filled", 0, 1)
    return mixed(
        [
            (checks.positive(mix_g, "The mix"), mix_heat, _temperature(mix_c, "The mix in °C")),
            (
                checks.not_negative(vessel_g, "The empty vessel") * part,
                vessel_heat,
                _temperature(vessel_c, "The vessel in °C"),
            ),
        ]
    )


def pour_out(
    mix_g: float,
    mix_c: float,
    each_g: float,
    count: int,
    room_c: float,
    *,
    rate: float,
    rate_mass_g: float,
    exponent: float,
    seconds_each: float,
) -> list[float]:
    """The mix in °C as vessel after vessel is poured from a jug that empties as it cools.

    The excess over the room falls as dθ/dt = −k(m)·θ^n with k(m) = rate·(m / rate_mass_g)^(−1/3):
    the less is in the jug, the more surface each gram has. While a vessel is poured m falls
    evenly, and the law has a closed integral, exact also for the vessel that empties the jug:
    ∫k dt is rate·rate_mass_g^(1/3)·seconds times the mean of m^(−1/3) over the pour.

    Args:
        mix_g: what is in the jug at the start.
        mix_c: its temperature, above the room, at most 300 °C.
        each_g: what goes into a vessel, above zero.
        count: vessels poured, 1 to 5000; together no more than the jug holds.
        room_c: the room, −20 to 50 °C.
        rate: k in °C^(1−n)/s with ``rate_mass_g`` in the jug, above zero.
        rate_mass_g: the mass that the rate was found with.
        exponent: n, 0.5 to 3; about 5/4 in still air.
        seconds_each: from the start of one vessel to the start of the next, 0 to 3600.

    Returns:
        The temperature at the start of each vessel, and at the end of the last: count + 1 values.

    Raises:
        ValueError: not enough in the jug, a mix no warmer than the room, or a number out of range.
    """
    mix = checks.positive(mix_g, "The mix in the jug")
    each = checks.positive(each_g, "What goes into a vessel")
    vessels = checks.whole(count, "The number of vessels", 1, weigh.MOST_VESSELS)
    room = checks.within(room_c, "The room in °C", -20, 50)
    over = _temperature(mix_c, "The mix in °C") - room
    pace = checks.positive(rate, "The rate")
    pace *= math.cbrt(checks.positive(rate_mass_g, "The weight that the rate was found with"))
    power = checks.within(exponent, "The exponent", 0.5, 3)
    seconds = checks.within(seconds_each, "The seconds for a vessel", 0, 3600)
    if over < checks.SMALLEST:
        raise ValueError(
            "The mix is not warmer than the room: check both temperatures before you pour."
        )
    if each * vessels > mix * (1 + 1e-9):
        raise ValueError(
            "There is not enough in the jug for that many vessels: pour fewer, or less into each."
        )
    temps = [room + over]
    for index in range(vessels):
        before = math.cbrt(mix - each * index)
        after = math.cbrt(max(0.0, mix - each * (index + 1)))
        # The mean of m^(−1/3) from a to b is 3/2·(b^(2/3) − a^(2/3))/(b − a), without what cancels.
        lightness = 1.5 * (before + after) / (before**2 + before * after + after**2)
        over = _cooled(over, pace * lightness * seconds, power)
        temps.append(room + over)
    return temps


def vessels_in_window(
    mix_g: float,
    mix_c: float,
    each_g: float,
    count: int,
    room_c: float,
    low_c: float,
    *,
    rate: float,
    rate_mass_g: float,
    exponent: float,
    seconds_each: float,
) -> int:
    """How many of ``count`` vessels are poured to the end before the mix is under ``low_c``.

    Args:
        low_c: the lowest temperature to pour at, −20 to 300 °C; the rest as in ``pour_out``.

    Raises:
        ValueError: as ``pour_out``.
    """
    low = _temperature(low_c, "The lowest pouring temperature in °C")
    temps = pour_out(
        *(mix_g, mix_c, each_g, count, room_c),
        rate=rate,
        rate_mass_g=rate_mass_g,
        exponent=exponent,
        seconds_each=seconds_each,
    )
    poured = 0
    for temp in temps[1:]:
        if temp < low - 1e-9:
            break
        poured += 1
    return poured


def melt_energy_j(
    mass_g: float,
    from_c: float,
    to_c: float,
    *,
    wax: str = "paraffin",
    solid_heat: float | None = None,
    liquid_heat: float | None = None,
    melting_c: float | None = None,
    latent_j_per_g: float | None = None,
) -> float:
    """Joules that bring wax from ``from_c`` to ``to_c``, melting it if that lies between.

    Real wax softens over several degrees; here it melts at one temperature, at which it counts
    as molten. The sum is the same from well below to well above it.

    Args:
        mass_g: the wax, 0 or more.
        from_c: its temperature now, −20 to 300 °C.
        to_c: the temperature wanted, no lower.
        wax: whose figures stand in for those not given, a key of ``WAXES``.
        solid_heat: heat capacity while solid, 0.1 to 5 J/(g·K).
        liquid_heat: heat capacity while molten.
        melting_c: melting temperature, −20 to 150 °C.
        latent_j_per_g: heat of melting, 0 to 500 J/g.

    Raises:
        ValueError: a target below the wax's temperature, a kind of wax that is not in the table,
            or a number out of range.
    """
    if not isinstance(wax, str) or wax not in WAXES:
        raise ValueError("The wax must be one of: paraffin, vegetable.")
    known = WAXES[wax]
    mass = checks.not_negative(mass_g, "The wax")
    start = _temperature(from_c, "The wax in °C")
    end = _temperature(to_c, "The temperature wanted in °C")
    solid = _capacity(known["solid_heat"] if solid_heat is None else solid_heat)
    liquid = _capacity(known["liquid_heat"] if liquid_heat is None else liquid_heat)
    melting = checks.within(
        known["melting_c"] if melting_c is None else melting_c,
        *("The melting temperature in °C", -20, 150),
    )
    latent = checks.within(
        known["latent_j_per_g"] if latent_j_per_g is None else latent_j_per_g,
        *("The heat of melting in J/g", 0, 500),
    )
    if end < start:
        raise ValueError("The wax is already hotter than that: check both temperatures.")

    def content(temp: float) -> float:
        """Joules in a gram, counted from the solid at its melting temperature."""
        above = temp - melting
        return solid * above if above < 0 else latent + liquid * above

    return mass * (content(end) - content(start))


def melt_time_s(energy_j: float, power_w: float, efficiency: float) -> float:
    """Seconds for ``energy_j`` to reach the wax: energy / (power · efficiency).

    Args:
        energy_j: joules the wax takes, 0 or more.
        power_w: what the hob, microwave or melter is rated at, 1 to 20000 W.
        efficiency: how much of it reaches the wax, 0.01 to 1.

    Raises:
        ValueError: a number out of range.
    """
    energy = checks.not_negative(energy_j, "The heat to put in")
    return energy / (_power(power_w) * _efficiency(efficiency))


def melt_bursts(
    energy_j: float, power_w: float, efficiency: float, burst_s: float
) -> tuple[int, float]:
    """A melt in a microwave, in bursts with stirring between.

    Args:
        energy_j: as in ``melt_time_s``, as are the power and the efficiency.
        power_w: the microwave's power, 1 to 20000 W.
        efficiency: how much of it reaches the wax, 0.01 to 1.
        burst_s: how long one burst lasts, 1 to 3600 s.

    Returns:
        The whole bursts, and the seconds of a last shorter one (0 if none is needed).

    Raises:
        ValueError: a number out of range.
    """
    burst = checks.within(burst_s, "The seconds of a burst", 1, 3600)
    time = melt_time_s(energy_j, power_w, efficiency)
    whole = math.floor(time / burst + 1e-9)
    return whole, max(0.0, time - whole * burst)


def learn_efficiency(
    melts: Sequence[tuple[float, float, float]], default_efficiency: float
) -> float:
    """How much of the power reaches the wax, from past melts with the same means.

    A weighted mean of energy / (power · time): a melt counts for its length up to
    ``FULL_MELT_S``, and one that seems to have used more than all the power counts as using all
    of it. The default stands beside them as ``DEFAULT_MELTS`` melts, so the first moves it by a
    third of the way at most, and ten outweigh it five to one.

    Args:
        melts: ``(energy_j, power_w, took_s)``: joules the wax took (above zero), rated power
            (1 to 20000 W), seconds it took (above zero).
        default_efficiency: where to start from, 0.01 to 1; see ``EFFICIENCIES``.

    Returns:
        The efficiency, 0.01 to 1; the default if there is no melt.

    Raises:
        ValueError: a number out of range.
    """
    counted = DEFAULT_MELTS
    total = DEFAULT_MELTS * _efficiency(default_efficiency)
    for energy_j, power_w, took_s in melts:
        took = checks.positive(took_s, "The time that a melt took")
        energy = checks.positive(energy_j, "The heat that a melt took")
        weight = min(1.0, took / FULL_MELT_S)
        counted += weight
        total += weight * min(1.0, energy / (_power(power_w) * took))
    return min(1.0, max(LEAST_EFFICIENCY, total / counted))


def _cooled(over: float, spent: float, power: float) -> float:
    """θ after ∫k dt = ``spent`` of dθ/dt = −k·θ^n; exponential at n = 1."""
    fall = spent * over ** (power - 1) if over > 0 else 0.0
    if abs(power - 1) < 1e-12:
        return over * math.exp(-fall)
    line = (power - 1) * fall
    # Below n = 1 the law reaches the room in a finite time, and stays there.
    return over * math.exp(-math.log1p(line) / (power - 1)) if line > -1 else 0.0


def _temperature(value: object, name: str) -> float:
    return checks.within(value, name, -20, 300)


def _capacity(value: object) -> float:
    return checks.within(value, "The heat capacity in J/(g·K)", 0.1, 5)


def _power(value: object) -> float:
    return checks.within(value, "The power in watts", 1, 20000)


def _efficiency(value: object) -> float:
    return checks.within(value, "The efficiency", LEAST_EFFICIENCY, 1)
