"""When the wax will be at temperature.

A jug of wax on the bench loses heat by natural convection and radiation: its excess over the
room, θ, falls as dθ/dt = −k·θ^(5/4) (Dulong and Petit, 1817; natural convection in still air
from a vertical face goes with the 5/4 power, and radiation at these temperatures bends the
curve the same way). The integral makes θ^(−1/4) a straight line in time,

    θ^(−1/4) = θ₀^(−1/4) + (k/4)·t,

so readings are fitted by a straight line. Newton's plain exponential runs early by minutes.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from . import checks

EXPONENT = 1.25

DEFAULT_RATE = 1.2e-4
"""k in °C^(−1/4)/s for a kilogram of wax in a jug, before any second reading.

From physics, not from a fit: a 12 cm jug holding 1.3 L shows about 0.06 m² to the room, which
takes 12.9 W/(m²·K) at 50 °C of excess (Churchill and Chu 1975 for convection, Stefan and
Boltzmann for radiation, emissivity 0.9) from 1 kg of wax at 2.2 kJ/(kg·K) and a jug of
0.25 kJ/K: 0.016 °C/s at θ = 50 °C, and 0.016 / 50^(5/4) = 1.2e-4.
"""

DEFAULT_MASS_G = 1000.0
RATE_DOUBT = 0.35
"""Standard deviation of ln k before a second reading: jugs, lids and draughts differ."""

HANDLING_C = 0.15
"""What a careful dip adds to a thermometer's rounding, standard deviation in °C (our choice)."""

ROOM_DOUBT_C = 0.7
"""Standard deviation of the room temperature that she gives, °C."""

NINETY = 1.6448536269514722
"""Standard deviations either side that hold 90 % of a normal distribution."""

MOST_READINGS = 1000


@dataclass(frozen=True)
class Forecast:
    """When the target is reached, and how sure that is.

    Attributes:
        eta_s: when the curve crosses the target, in seconds from the readings' zero; it lies
            before the last reading if the wax is already below the target.
        low_s: start of the 90 % interval.
        high_s: its end.
        rate_c_per_min: how fast the wax falls at the last reading, °C a minute, above zero.
        exponent: n in dθ/dt = −k·θ^n.
        rate: k, °C^(−1/4)/s.
        room_c: the room.
        zero_s: time of the curve's own zero, from the readings' zero.
        excess_c: θ at that time.
        used: how many readings the curve rests on.
        restarted: whether earlier readings were left aside because the wax was warmed after them.
        guessed: whether the rate rests on the stated default rather than on the readings alone.
    """

    eta_s: float
    low_s: float
    high_s: float
    rate_c_per_min: float
    exponent: float
    rate: float
    room_c: float
    zero_s: float
    excess_c: float
    used: int
    restarted: bool
    guessed: bool

    def temp_at(self, t_s: float) -> float:
        """The wax in °C, ``t_s`` seconds from the readings' zero."""
        return self.room_c + excess(self.excess_c, self.rate, t_s - self.zero_s)


def excess(start_c: float, rate: float, elapsed_s: float) -> float:
    """θ in °C after ``elapsed_s`` seconds of the 5/4-power law.

    Args:
        start_c: θ at the start, above zero.
        rate: k in °C^(−1/4)/s, above zero.
        elapsed_s: seconds since the start; before it the curve runs back, up to where it
            would have been endlessly hot.

    Raises:
        ValueError: a number out of range, or a time before the curve begins.
    """
    start = _straight(checks.positive(start_c, "The excess over the room"))
    line = start + checks.positive(rate, "The rate") / 4 * checks.number(elapsed_s, "The time")
    if line <= 0:
        raise ValueError("That is before this curve begins.")
    return _bent(line)


def _straight(excess_c: float) -> float:
    """θ^(−1/4), the measure in which cooling is a straight line; θ in °C, above zero."""
    return 1 / math.sqrt(math.sqrt(excess_c))


def _bent(line: float) -> float:
    """θ in °C from θ^(−1/4): the inverse of ``_straight``."""
    return 1 / (line * line * (line * line))


def default_rate(mass_g: float | None = None) -> float:
    """k to expect of ``mass_g`` grams of wax before two readings, in °C^(−1/4)/s.

    Surface over mass goes with the cube root: k = DEFAULT_RATE × (mass / 1 kg)^(−1/3).
    """
    mass = DEFAULT_MASS_G if mass_g is None else checks.positive(mass_g, "The wax in the jug")
    return DEFAULT_RATE / math.cbrt(mass / DEFAULT_MASS_G)


def forecast(
    readings: Sequence[tuple[float, float]],
    room_c: float,
    target_c: float,
    *,
    thermometer_step_c: float = 0.1,
    mass_g: float | None = None,
) -> Forecast:
    """When cooling wax reaches ``target_c``.

    One reading gives a first guess from ``default_rate``. Two or more are fitted by least
    squares, weighted by what the thermometer can tell; while their fall is still lost in that
    doubt, the default rate counts as one more observation. Readings before a clear rise are
    left aside: the wax was warmed after them.

    Args:
        readings: ``(t_s, temp_c)`` in any order, seconds from any zero.
        room_c: the room, −20 to 50 °C.
        target_c: the temperature waited for, above the room.
        thermometer_step_c: the thermometer's step, above 0 to 5 °C.
        mass_g: wax in the jug, for the default rate; a kilogram if not given.

    Raises:
        ValueError: no reading, a room hotter than the wax, a target not above the room, or any
            number out of range.
    """
    room = checks.within(room_c, "The room in °C", -20, 50)
    target = checks.within(target_c, "The target in °C", -20, 300)
    step = checks.within(thermometer_step_c, "The thermometer's step in °C", 0.001, 5)
    if target - room < checks.SMALLEST:
        raise ValueError(
            "The target is not above the room: the wax will never cool to it. "
            "Check the target and the room temperature."
        )
    ordered = _ordered(readings, room)
    doubt = math.sqrt(step * step / 12 + HANDLING_C * HANDLING_C)
    first = _after_last_rise(ordered, doubt)
    used = ordered[first:]
    middle, level, slope, level_sd, slope_sd, guessed = _line(used, room, doubt, mass_g)

    def when(excess_c: float) -> float:
        return (_straight(excess_c) - level) / slope

    last_s = used[-1][0] - middle
    reached = when(target - room)
    sure = math.sqrt(
        (level_sd / slope) ** 2
        + ((reached if len(used) > 1 else reached - last_s) * slope_sd / slope) ** 2
        + _room_shift(used, room, target, doubt, mass_g) ** 2
    )
    low, high = _interval(reached, last_s, sure)
    at_last = level + slope * last_s
    return Forecast(
        eta_s=reached + middle,
        low_s=low + middle,
        high_s=high + middle,
        rate_c_per_min=4 * slope * _bent(at_last) / at_last * 60,
        exponent=EXPONENT,
        rate=4 * slope,
        room_c=room,
        zero_s=middle,
        excess_c=_bent(level),
        used=len(used),
        restarted=first > 0,
        guessed=guessed,
    )


def _ordered(readings: Sequence[tuple[float, float]], room: float) -> list[tuple[float, float]]:
    if not readings:
        raise ValueError("Take a reading first: dip the thermometer and enter what it says.")
    if len(readings) > MOST_READINGS:
        raise ValueError("Too many readings for one cooling: start a new one.")
    checked = []
    for time_s, temp_c in readings:
        checks.number(time_s, "The time of a reading")
        checks.within(temp_c, "A reading in °C", -20, 300)
        if temp_c - room < checks.SMALLEST:
            raise ValueError(
                "A reading is not above the room temperature: the wax is cold, or the room "
                "temperature is wrong. Check both."
            )
        checked.append((float(time_s), float(temp_c)))
    # Of two readings at one time the hotter comes first, so that they don't count as a rise.
    return sorted(checked, key=lambda reading: (reading[0], -reading[1]))


def _after_last_rise(ordered: Sequence[tuple[float, float]], doubt: float) -> int:
    """Index of the first reading after the last rise that is no slip of the hand."""
    first = 0
    for index in range(1, len(ordered)):
        if ordered[index][1] - ordered[index - 1][1] > max(1.0, 4 * doubt):
            first = index
    return first


def _line(
    used: Sequence[tuple[float, float]], room: float, doubt: float, mass_g: float | None
) -> tuple[float, float, float, float, float, bool]:
    """The line through θ^(−1/4): its middle time, level there, slope, both doubts, and whether
    the slope leans on the default rate.

    A reading's doubt in θ^(−1/4) is |d/dθ θ^(−1/4)| = θ^(−5/4)/4 times its doubt in °C.
    """
    weights = []
    values = []
    weighed = 0.0
    times = 0.0
    level = 0.0
    for time_s, temp_c in used:
        over = temp_c - room
        spread = _straight(over) / over / 4 * doubt
        weights.append(1 / (spread * spread))
        values.append(_straight(over))
        weighed += weights[-1]
        times += weights[-1] * time_s
        level += weights[-1] * values[-1]
    middle = times / weighed
    level /= weighed
    leverage = 0.0
    product = 0.0
    for (time_s, _), weight, value in zip(used, weights, values, strict=True):
        away = time_s - middle
        leverage += weight * away * away
        # Of what is above the level: a single reading's time may differ from the middle by a
        # rounding, and must not make a slope of it.
        product += weight * away * (value - level)
    level_sd = 1 / math.sqrt(weighed)
    default = default_rate(mass_g) / 4
    default_sd = default * RATE_DOUBT
    if leverage > 0:
        slope = product / leverage
        slope_sd = 1 / math.sqrt(leverage)
        if slope > 3 * slope_sd:
            return middle, level, slope, level_sd, slope_sd, False
        precision = leverage + 1 / (default_sd * default_sd)
        slope = (product + default / (default_sd * default_sd)) / precision
        slope_sd = 1 / math.sqrt(precision)
        if slope > 0:
            return middle, level, slope, level_sd, slope_sd, True
    return middle, level, default, level_sd, default_sd, True


def _room_shift(
    used: Sequence[tuple[float, float]],
    room: float,
    target: float,
    doubt: float,
    mass_g: float | None,
) -> float:
    """Seconds by which the arrival moves if the room is colder by one standard deviation."""
    colder = room - ROOM_DOUBT_C
    moved = []
    for each in (room, colder):
        _, level, slope, *_ = _line(used, each, doubt, mass_g)
        moved.append((_straight(target - each) - level) / slope)
    return moved[1] - moved[0]


def _interval(reached: float, last_s: float, sure: float) -> tuple[float, float]:
    """90 % either side, stretched so that an arrival still to come does not lie in the past."""
    ahead = reached - last_s
    if ahead <= 0:
        return reached - NINETY * sure, reached + NINETY * sure
    doubt = NINETY * sure
    stretch = math.exp(min(doubt / ahead, 5.0))
    # Where the doubt is longer than the wait, a multiple of the wait would have no end.
    return last_s + ahead / stretch, min(last_s + ahead * stretch, reached + doubt * (math.e - 1))
