"""When the wax will be at temperature, and how sure that is.

A jug of wax on the bench loses heat by natural convection and radiation. Its excess over the
room, θ, falls as

    dθ/dt = −k·θ^n,    θ(t) = θ₀·[1 + (n − 1)·k·θ₀^(n−1)·t]^(−1/(n−1)),

with n near 5/4 (Dulong and Petit, 1817: natural convection in still air) and somewhat less where
radiation and the table take their share; n = 1 is Newton's plain exponential. A few dips of a
kitchen thermometer can't tell n, k, the start and the room apart by themselves, so each has a
prior, and the forecast is the Bayesian one: for each n of a grid the other three are fitted
(Gauss–Newton, a Laplace interval), and the fits are weighed by how well they explain the dips.
Readings are weighed by Student's t, so that a slip of the hand pulls little.

The rate is spoken of as the fall at θ = 50 °C, which the dips of a pour tell well whatever n is.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from benchapp.formulas import checks

EXPONENT = 1.25

REFERENCE_C = 50.0
"""The excess at which a jug's rate is given and compared."""

DEFAULT_RATE = 1.2e-4
"""k in °C^(−1/4)/s at n = 5/4 for a kilogram of wax in a jug, before any reading.

From physics, not from a fit: a 12 cm jug holding 1.3 L shows about 0.06 m² to the room, which
takes 12.9 W/(m²·K) at 50 °C of excess (Churchill and Chu 1975 for convection, Stefan and
Boltzmann for radiation, emissivity 0.9) from 1 kg of wax at 2.2 kJ/(kg·K) and a jug of
0.25 kJ/K: 0.016 °C/s at θ = 50 °C, and 0.016 / 50^(5/4) = 1.2e-4.
"""

DEFAULT_MASS_G = 1000.0

RATE_DOUBT = 0.25
"""Standard deviation of the logarithm of a jug's rate before it is known: shapes, walls,
lids and draughts differ (our choice)."""

EXPONENT_OF_WAX = (1.22, 0.05)
"""Middle and scale of n for wax in a jug: the sum of convection and radiation above goes with
θ^1.24 between 60 and 30 °C of excess, and wax that holds more heat when hot takes a little off.
The tails are those of Student's t, so that clear dips can say otherwise."""

EXPONENT_TAIL = 2.0
"""Degrees of freedom of that t."""

EXPONENT_OF_ANYTHING = (1.3, 0.2)
"""The same where no mass is given: it may be an open mug that evaporates, with n near 2."""

LAW_DOUBT_OF_ANYTHING = 0.08
"""Part of the wait that stays open there, standard deviation: what evaporates or is moved follows
no one power (our choice)."""

EXPONENTS = (1.0001, 1.05, 1.1, 1.15, 1.2, 1.25, 1.3, 1.36, 1.45, 1.58, 1.75, 1.95, 2.2)
"""The grid on which n is weighed."""

HANDLING_C = 0.1
"""What a careful dip adds to a thermometer's rounding, standard deviation in °C (our choice)."""

ROOM_DOUBT_C = 0.5
"""Standard deviation of the room that she gives: a wall thermometer is good to ± 1 °C (our
choice)."""

POUR_DOUBT = 0.03
"""What stays open of a known jug's rate, standard deviation of its logarithm: a lid, a draught,
another board (our choice)."""

POUR_DOUBTS = 2.0
"""How many pours that stands for, beside those that tell by their own scatter."""

FILL_DOUBT = 0.15
"""Standard deviation of the slope by which a jug's rate may depart from the cube-root law as it
is filled more or less (our choice)."""

EXPONENT_POUR_DOUBT = 0.02
"""What stays open of a known jug's n (our choice)."""

LATEST = 0.95
"""A next dip is due at the latest at this part of the earliest arrival."""

TAIL = 4.0
"""Degrees of freedom of Student's t for a reading: a slip of 5 standard deviations counts for
little, one of 2 for nearly all."""

LEAST_EXCESS_C = 0.5
"""A fit starts with the wax at least this far above the room."""

MOST_PICKED = 6
"""Of how many readings, spread over all, the start of a fit is made."""

MOST_STEPS = 40
"""Steps of a fit; three or four are usual."""

MOST_LEARNED = 3.0
"""How far the logarithm of a learned rate may lie from what was expected: twenty times."""

LEAST_EXPONENT_DOUBT = 0.003
"""What stays open of n however well the dips tell it: no jug follows one power that closely (our
choice)."""

ODD = 3.5
"""Standard deviations off the curve from which a reading is called odd."""

NEED_C = 0.25
"""A doubt at the target of ± 0.25 °C, nine times in ten, is worth no further dip."""

NINETY = 1.6448536269514722
"""Standard deviations either side that hold 90 % of a normal distribution."""

MOST_READINGS = 1000


class Learned(NamedTuple):
    """What a finished cooling tells of its jug.

    Attributes:
        mass_g: wax in the jug.
        rate: k in °C^(1−n)/s.
        exponent: n.
        rate_doubt: standard deviation of the logarithm of the rate at θ = 50 °C.
        exponent_doubt: standard deviation of n.
    """

    mass_g: float
    rate: float
    exponent: float
    rate_doubt: float = 0.03
    exponent_doubt: float = 0.05


@dataclass(frozen=True)
class Forecast:
    """When the target is reached, and how sure that is.

    Attributes:
        eta_s: when the curve crosses the target, in seconds from the readings' zero; it lies
            before the last reading if the wax is already below the target.
        low_s: start of the 90 % interval.
        high_s: its end.
        doubt_c: half of the 90 % interval of the temperature at ``eta_s``, °C.
        rate_c_per_min: how fast the wax falls at the last reading, °C a minute, above zero.
        exponent: n, as the dips and the prior have it.
        rate: k, °C^(1−n)/s.
        room_c: the room, as the dips and the prior have it.
        zero_s: time of the first reading that counts, from the readings' zero.
        excess_c: θ at that time.
        next_dip_s: when another reading is worth the trouble, or None.
        used: how many readings the curve rests on.
        odd: which of the readings given lie so far off the curve that they hardly count.
        restarted: whether earlier readings were left aside because the wax was warmed after them.
        guessed: whether the rate still rests on what jugs do in general.
    """

    eta_s: float
    low_s: float
    high_s: float
    doubt_c: float
    rate_c_per_min: float
    exponent: float
    rate: float
    room_c: float
    zero_s: float
    excess_c: float
    next_dip_s: float | None
    used: int
    odd: tuple[int, ...]
    restarted: bool
    guessed: bool

    def temp_at(self, t_s: float) -> float:
        """The wax in °C, ``t_s`` seconds from the readings' zero."""
        elapsed = checks.number(t_s, "The time") - self.zero_s
        return self.room_c + excess(self.excess_c, self.rate, elapsed, self.exponent)

    def time_at(self, temp_c: float) -> float:
        """When the curve passes ``temp_c`` (above its room), seconds from the readings' zero."""
        over = checks.within(temp_c, "The temperature in °C", -20, 300) - self.room_c
        if over < checks.SMALLEST:
            raise ValueError("The wax never gets that cold in this room.")
        return self.zero_s + elapsed(self.excess_c, over, self.rate, self.exponent)


def excess(start_c: float, rate: float, elapsed_s: float, exponent: float = EXPONENT) -> float:
    """θ in °C after ``elapsed_s`` seconds.

    Args:
        start_c: θ at the start, above zero.
        rate: k in °C^(1−n)/s, above zero.
        elapsed_s: seconds since the start; before it the curve runs back, up to where it
            would have been endlessly hot.
        exponent: n, 1 to 3.

    Raises:
        ValueError: a number out of range, or a time before the curve begins.
    """
    start = checks.positive(start_c, "The excess over the room")
    k = checks.positive(rate, "The rate")
    seconds = checks.number(elapsed_s, "The time")
    n = checks.within(exponent, "The exponent", 1, 3)
    if _grown(start, k, seconds, n) <= 0:
        raise ValueError("That is before this curve begins.")
    return _relaxed(start, k, seconds, n)


def elapsed(start_c: float, end_c: float, rate: float, exponent: float = EXPONENT) -> float:
    """Seconds in which θ goes from ``start_c`` to ``end_c``; negative where it would have to rise.

    Args:
        start_c: θ at the start in °C, above zero.
        end_c: θ at the end in °C, above zero.
        rate: k in °C^(1−n)/s, above zero.
        exponent: n, 1 to 3.
    """
    start = checks.positive(start_c, "The excess at the start")
    end = checks.positive(end_c, "The excess at the end")
    k = checks.positive(rate, "The rate")
    return _seconds(start, end, k, checks.within(exponent, "The exponent", 1, 3))


def default_rate(mass_g: float | None = None) -> float:
    """k at n = 5/4 to expect of ``mass_g`` grams of wax before any reading, in °C^(−1/4)/s.

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
    history: Sequence[Sequence[float]] = (),
    exponent: float | None = None,
    handling_c: float = HANDLING_C,
    room_doubt_c: float = ROOM_DOUBT_C,
    need_c: float = NEED_C,
) -> Forecast:
    """When cooling wax reaches ``target_c``.

    Readings before a clear rise are left aside: the wax was warmed after them.

    Args:
        readings: ``(t_s, temp_c)`` in any order, seconds from any zero.
        room_c: the room, −20 to 50 °C.
        target_c: the temperature waited for, above the room.
        thermometer_step_c: the thermometer's step, above 0 to 5 °C.
        mass_g: wax in the jug; without it the rate is that of a kilogram, and the exponent is
            left open enough for an open mug.
        history: what ``learn`` returned of past pours in this jug, or ``(mass_g, k, n)``.
        exponent: n, where it is known; 1 is Newton's law.
        handling_c: standard deviation of a dip beside the thermometer's rounding, °C.
        room_doubt_c: standard deviation of the room given, °C.
        need_c: the doubt at the target (90 %, ± °C) under which no further dip is asked for.

    Raises:
        ValueError: no reading, half of them or more not above the room, a target not above the
            room, or any number out of range.
    """
    room = checks.within(room_c, "The room in °C", -20, 50)
    target = checks.within(target_c, "The target in °C", -20, 300)
    if target - room < checks.SMALLEST:
        raise ValueError(
            "The target is not above the room: the wax will never cool to it. "
            "Check the target and the room temperature."
        )
    need = checks.positive(need_c, "The doubt that is good enough")
    noise = _noise(thermometer_step_c, handling_c)
    prior = _prior(mass_g, history, exponent, room_doubt_c)
    return _forecast(_ordered(readings, room), room, target, noise, prior, need)


def learn(
    readings: Sequence[tuple[float, float]],
    room_c: float,
    *,
    thermometer_step_c: float = 0.1,
    mass_g: float = DEFAULT_MASS_G,
    history: Sequence[Sequence[float]] = (),
    handling_c: float = HANDLING_C,
    room_doubt_c: float = ROOM_DOUBT_C,
) -> Learned:
    """What the readings of one cooling tell of the jug, for the ``history`` of the next.

    Args:
        readings: as for ``forecast``.
        room_c: the room in °C.
        thermometer_step_c: the thermometer's step in °C.
        mass_g: wax in the jug.
        history: what earlier pours in the jug have told; it is not counted twice.
        handling_c: standard deviation of a dip beside the thermometer's rounding, °C.
        room_doubt_c: standard deviation of the room given, °C.

    Raises:
        ValueError: as ``forecast``.
    """
    room = checks.within(room_c, "The room in °C", -20, 50)
    mass = checks.positive(mass_g, "The wax in the jug")
    noise = _noise(thermometer_step_c, handling_c)
    prior = _prior(mass, history, None, room_doubt_c)
    ordered = _ordered(readings, room)
    first = _after_last_rise(ordered, room, noise, prior)
    used = [(time_s, temp_c) for time_s, temp_c, _ in ordered[first:]]
    known = _weighed(used, room, noise, prior)
    # What the dips themselves say, with what the prior said taken off again.
    by_exponent = _slope([fit.log_rate for fit in known.grid], prior.exponents, known)
    variance = known.fit.spread[1][1] + by_exponent**2 * known.exponent_var
    rate, rate_var = _without(known.fit.log_rate, variance, prior.log_rate, prior.rate_doubt**2)
    middle, scale = prior.exponent
    n, n_var = _without(known.fit.exponent, known.exponent_var, middle, scale * scale)
    # Dips that say next to nothing say nothing absurd.
    rate = min(max(rate, prior.log_rate - MOST_LEARNED), prior.log_rate + MOST_LEARNED)
    n = min(max(n, 1.0), 2.5)
    return Learned(
        mass_g=mass,
        rate=math.exp(rate) * REFERENCE_C**-n,
        exponent=n,
        rate_doubt=math.sqrt(rate_var),
        exponent_doubt=math.sqrt(n_var),
    )


# ---- the forecast ------------------------------------------------------------------------------


def _forecast(
    ordered: Sequence[tuple[float, float, int]],
    room: float,
    target: float,
    noise: float,
    prior: "_Prior",
    need: float,
) -> Forecast:
    first = _after_last_rise(ordered, room, noise, prior)
    used = [(time_s, temp_c) for time_s, temp_c, _ in ordered[first:]]
    known = _weighed(used, room, noise, prior)
    fit, grid = known.fit, known.grid
    over = max(target - fit.room_c, 0.05)
    eta = fit.zero_s + _seconds(fit.excess_c, over, fit.rate, fit.exponent)
    last_s = used[-1][0]
    moved = [
        each.zero_s + _seconds(each.excess_c, max(target - each.room_c, 0.05), each.rate, n)
        for n, each in zip(prior.exponents, grid, strict=True)
    ]
    by_exponent = _slope(moved, prior.exponents, known)
    sure = math.sqrt(
        _spread(fit, _time_gradient(fit, over))
        + by_exponent**2 * known.exponent_var
        + (prior.law_doubt * (eta - last_s)) ** 2
    )
    low, high = _interval(eta, last_s, sure)
    speed = fit.rate * over**fit.exponent
    now_over = _relaxed(fit.excess_c, fit.rate, last_s - fit.zero_s, fit.exponent)
    doubt = NINETY * sure * speed
    return Forecast(
        eta_s=eta,
        low_s=low,
        high_s=high,
        doubt_c=doubt,
        rate_c_per_min=60 * fit.rate * now_over**fit.exponent,
        exponent=fit.exponent,
        rate=fit.rate,
        room_c=fit.room_c,
        zero_s=fit.zero_s,
        excess_c=fit.excess_c,
        next_dip_s=_next_dip(known, noise, prior, last_s, eta, low, doubt, need),
        used=len(used),
        odd=tuple(
            sorted(
                index
                for (time_s, temp_c, index) in ordered[first:]
                if abs(temp_c - _temp(fit, time_s)) > ODD * noise
            )
        ),
        restarted=first > 0,
        guessed=math.sqrt(fit.spread[1][1]) > RATE_DOUBT / 3,
    )


# ---- the law -----------------------------------------------------------------------------------


def _grown(start: float, k: float, seconds: float, n: float) -> float:
    """What stands in the brackets of the law; the curve begins where it is zero."""
    return 1.0 + (n - 1) * k * seconds * math.pow(start, n - 1)


def _relaxed(start: float, k: float, seconds: float, n: float) -> float:
    """θ after ``seconds``; before its beginning the curve is held at its hottest."""
    if n == 1:
        return start * math.exp(min(-k * seconds, 200.0))
    growth = max((n - 1) * k * seconds * math.pow(start, n - 1), -1 + 1e-9)
    return start * math.exp(min(-math.log1p(growth) / (n - 1), 200.0))


def _seconds(start: float, end: float, k: float, n: float) -> float:
    if n == 1:
        return math.log(start / end) / k
    # end^(1−n) − start^(1−n), written so that n near 1 and start near end lose no digits.
    return math.pow(end, 1 - n) * -math.expm1((1 - n) * math.log(start / end)) / ((n - 1) * k)


# ---- what is expected before the dips ----------------------------------------------------------


@dataclass(frozen=True)
class _Prior:
    """What is expected of a jug: ln of the rate at θ = 50 °C, the room's doubt, and n."""

    log_rate: float
    rate_doubt: float
    room_doubt: float
    exponent: tuple[float, float]
    exponents: tuple[float, ...]
    weights: tuple[float, ...]
    law_doubt: float = 0.0


def _prior(
    mass_g: float | None,
    history: Sequence[Sequence[float]],
    exponent: float | None,
    room_doubt_c: float,
) -> _Prior:
    expected = _expected(DEFAULT_MASS_G if mass_g is None else mass_g)
    rate_doubt = RATE_DOUBT
    middle, scale = EXPONENT_OF_ANYTHING if mass_g is None else EXPONENT_OF_WAX
    past = [_past(each) for each in history]
    if past and mass_g is not None:
        expected, rate_doubt = _rate_from(past, mass_g, expected)
        middle, scale = _exponent_from(past, middle, scale)
    room_doubt = max(checks.not_negative(room_doubt_c, "The doubt of the room"), 1e-6)
    if exponent is not None:
        fixed = checks.within(exponent, "The exponent", 1, 3)
        return _Prior(expected, rate_doubt, room_doubt, (fixed, 1e-6), (fixed,), (1.0,))
    grid: tuple[float, ...] = EXPONENTS
    if past:
        # Where n is known well, the grid is drawn close around it.
        grid = tuple(
            min(max(1.0001, middle + step * scale), 3.0) for step in (-4, -2, -1, 0, 1, 2, 4)
        )
    weights = []
    for index, n in enumerate(grid):
        below = grid[max(0, index - 1)]
        above = grid[min(len(grid) - 1, index + 1)]
        away = (n - middle) / scale
        tail = (1 + away * away / EXPONENT_TAIL) ** (-(EXPONENT_TAIL + 1) / 2)
        weights.append((above - below) / 2 * tail)
    return _Prior(
        expected,
        rate_doubt,
        room_doubt,
        (middle, scale),
        grid,
        tuple(weights),
        LAW_DOUBT_OF_ANYTHING if mass_g is None else 0.0,
    )


def _expected(mass_g: float) -> float:
    """ln of the rate at θ = 50 °C that jugs with this much wax have in general."""
    return math.log(default_rate(mass_g)) + EXPONENT * math.log(REFERENCE_C)


def _past(each: Sequence[float]) -> Learned:
    if not 3 <= len(each) <= 5:
        raise ValueError("A past pour is its wax, its rate and its exponent.")
    past = Learned(*each)
    checks.positive(past.mass_g, "The wax of a past pour")
    checks.positive(past.rate, "The rate of a past pour")
    checks.within(past.exponent, "The exponent of a past pour", 1, 3)
    checks.positive(past.rate_doubt, "The doubt of a past rate")
    checks.positive(past.exponent_doubt, "The doubt of a past exponent")
    return past


def _rate_from(past: Sequence[Learned], mass_g: float, expected: float) -> tuple[float, float]:
    """ln of this jug's rate at this fill, and its doubt: Bayesian regression of the departures
    from the general law on the logarithm of the fill, seen from this fill.

    How far pours in one jug scatter is itself learned from them: the first regression's
    residuals, less what their own doubts explain, beside ``POUR_DOUBTS`` pours of ``POUR_DOUBT``.
    """
    points = [
        (
            math.log(each.mass_g / mass_g),
            math.log(each.rate) + each.exponent * math.log(REFERENCE_C) - _expected(each.mass_g),
            each.rate_doubt**2,
        )
        for each in past
    ]
    departure, slope, _ = _regressed(points, POUR_DOUBT**2)
    total = POUR_DOUBTS * POUR_DOUBT**2
    for fuller, away, variance in points:
        off = away - departure - slope * fuller
        total += max(0.0, off * off - variance)
    scatter = total / (POUR_DOUBTS + len(points))
    departure, _, variance = _regressed(points, scatter)
    return expected + departure, math.sqrt(variance + scatter)


def _regressed(
    points: Sequence[tuple[float, float, float]], scatter: float
) -> tuple[float, float, float]:
    """Level at this fill, slope, variance of the level; points: ln fill, departure, variance."""
    a = 1 / RATE_DOUBT**2
    b = 0.0
    c = 1 / FILL_DOUBT**2
    p = 0.0
    q = 0.0
    for fuller, away, variance in points:
        weight = 1 / (variance + scatter)
        a += weight
        b += weight * fuller
        c += weight * fuller * fuller
        p += weight * away
        q += weight * fuller * away
    determinant = a * c - b * b
    return (c * p - b * q) / determinant, (a * q - b * p) / determinant, c / determinant


def _exponent_from(past: Sequence[Learned], middle: float, scale: float) -> tuple[float, float]:
    weight = 1 / scale**2
    total = weight * middle
    for each in past:
        more = 1 / (each.exponent_doubt**2 + EXPONENT_POUR_DOUBT**2)
        weight += more
        total += more * each.exponent
    return total / weight, math.sqrt(1 / weight + EXPONENT_POUR_DOUBT**2)


def _without(value: float, variance: float, prior: float, prior_var: float) -> tuple[float, float]:
    """Value and variance with a prior taken off; the doubt is at most ten times the prior's."""
    precision = max(1 / variance - 1 / prior_var, 0.01 / prior_var)
    return prior + (value - prior) / variance / precision, 1 / precision


# ---- the readings ------------------------------------------------------------------------------


def _noise(thermometer_step_c: float, handling_c: float) -> float:
    """Standard deviation of a reading, °C: rounding to the step, and the hand."""
    step = checks.within(thermometer_step_c, "The thermometer's step in °C", 0.001, 5)
    handling = checks.within(handling_c, "The doubt of a dip in °C", 0, 5)
    return math.sqrt(step * step / 12 + handling * handling)


def _ordered(
    readings: Sequence[tuple[float, float]], room: float
) -> list[tuple[float, float, int]]:
    """Time, temperature and place of each reading, by time."""
    if not readings:
        raise ValueError("Take a reading first: dip the thermometer and enter what it says.")
    if len(readings) > MOST_READINGS:
        raise ValueError("Too many readings for one cooling: start a new one.")
    checked = []
    cold = 0
    for index, (time_s, temp_c) in enumerate(readings):
        checks.number(time_s, "The time of a reading")
        checks.within(temp_c, "A reading in °C", -20, 300)
        if temp_c - room < checks.SMALLEST:
            cold += 1
        checked.append((float(time_s), float(temp_c), index))
    # One of three or more may be a slip, 17.4 for 71.4; else there is nothing to go by.
    if 2 * cold >= len(checked):
        raise ValueError(
            "A reading is not above the room temperature: the wax is cold, or the room "
            "temperature is wrong. Check both."
        )
    # Of two readings at one time the hotter comes first, so that they don't count as a rise.
    return sorted(checked, key=lambda reading: (reading[0], -reading[1], reading[2]))


def _after_last_rise(
    ordered: Sequence[tuple[float, float, int]], room: float, noise: float, prior: _Prior
) -> int:
    """Index of the first reading after the wax was last warmed.

    A rise is no warming where one reading is a slip: a low one, after which the next goes on
    where the one before had left off; or a high one, after which the next does so, or after
    which there is none yet.
    """
    clear = max(1.0, 4 * noise)
    rate = math.exp(prior.log_rate) * REFERENCE_C**-EXPONENT

    def off(one: tuple[float, float, int], other: tuple[float, float, int]) -> tuple[float, float]:
        """How far the second lies off where the first should lead, and the fall expected."""
        over = max(one[1] - room, LEAST_EXCESS_C)
        then = _relaxed(over, rate, other[0] - one[0], EXPONENT)
        return abs(other[1] - room - then), over - then

    first = 0
    kept = [ordered[0]]
    low_c = ordered[0][1]
    for index in range(1, len(ordered)):
        now = ordered[index]
        before = kept[-1]
        if now[1] - before[1] <= clear and now[1] - low_c <= 2 * clear:
            kept.append(now)
            low_c = min(low_c, now[1])
            continue
        if len(kept) > 1 and now[1] - before[1] > clear:
            away, fall = off(kept[-2], now)
            if away <= clear + fall / 2:
                kept[-1] = now
                low_c = min(temp_c for _, temp_c, _ in kept)
                continue
        if index + 1 < len(ordered):
            after = ordered[index + 1]
            if after[1] <= low_c + clear and off(before, after)[0] < off(now, after)[0]:
                continue
        elif len(kept) > 1 and now[1] <= kept[-2][1] + clear:
            # The last may be a touch of the hot base: too early an alarm is the lesser harm.
            continue
        first = index
        kept = [now]
        low_c = now[1]
    return first


# ---- the fit -----------------------------------------------------------------------------------


@dataclass(frozen=True)
class _Fit:
    """The most likely curve for one n: θ is ``excess_c`` at ``zero_s``.

    ``spread`` is the covariance of (temperature at ``zero_s``, ln of the rate at θ = 50 °C,
    room); ``evidence`` the logarithm of how well the curve explains readings and priors.
    """

    zero_s: float
    excess_c: float
    rate: float
    exponent: float
    room_c: float
    log_rate: float
    spread: tuple[tuple[float, ...], ...]
    evidence: float


@dataclass(frozen=True)
class _Known:
    """All that the dips tell: the curve at the mean n, those of the grid, and their weights."""

    fit: _Fit
    grid: tuple[_Fit, ...]
    weights: tuple[float, ...]
    exponent_var: float


def _weighed(
    used: Sequence[tuple[float, float]], room: float, noise: float, prior: _Prior
) -> _Known:
    count = len(prior.exponents)
    middle = 0
    for index in range(count):
        if prior.weights[index] > prior.weights[middle]:
            middle = index
    begin = _begin(used, room, noise, prior, prior.exponents[middle])
    found = {middle: _fitted(used, room, noise, prior, prior.exponents[middle], begin)}
    # From the middle outwards each fit starts where its neighbour ended.
    for index in range(middle + 1, count):
        found[index] = _fitted(
            used, room, noise, prior, prior.exponents[index], begin, found[index - 1]
        )
    for index in range(middle - 1, -1, -1):
        found[index] = _fitted(
            used, room, noise, prior, prior.exponents[index], begin, found[index + 1]
        )
    grid = tuple(found[index] for index in range(count))
    best = max(fit.evidence for fit in grid)
    weights = [
        weight * math.exp(fit.evidence - best)
        for weight, fit in zip(prior.weights, grid, strict=True)
    ]
    total = 0.0
    mean = 0.0
    for weight, n in zip(weights, prior.exponents, strict=True):
        total += weight
        mean += weight * n
    mean /= total
    variance = 0.0
    for weight, n in zip(weights, prior.exponents, strict=True):
        variance += weight / total * (n - mean) ** 2
    weights = [weight / total for weight in weights]
    top = weights.index(max(weights))
    if count > 1 and weights[top] > 0.9:
        mean, variance = _between(grid, top)
        weights = [0.5 if index == top else 0.0 for index in range(count)]
        for index in (top - 1, top + 1):
            if 0 <= index < count:
                weights[index] = 0.25
    return _Known(
        fit=_fitted(used, room, noise, prior, mean, begin, grid[middle]) if count > 1 else grid[0],
        grid=grid,
        weights=tuple(weights),
        exponent_var=variance,
    )


def _between(grid: Sequence[_Fit], top: int) -> tuple[float, float]:
    """Mean and variance of n where the dips tell it finer than the grid: a parabola through the
    logarithms of the evidence."""
    n = grid[top].exponent
    if 0 < top < len(grid) - 1:
        under = n - grid[top - 1].exponent
        above = grid[top + 1].exponent - n
        if under > 0 and above > 0:
            left = (grid[top].evidence - grid[top - 1].evidence) / under
            right = (grid[top].evidence - grid[top + 1].evidence) / above
            bend = (left + right) / (under + above)
            if bend > 0:
                to = (bend * above - right) / (2 * bend)
                return n + min(max(to, -under), above), 1 / (2 * bend) + LEAST_EXPONENT_DOUBT**2
    return n, LEAST_EXPONENT_DOUBT**2


def _begin(
    used: Sequence[tuple[float, float]], room: float, noise: float, prior: _Prior, n: float
) -> tuple[float, float]:
    """Logarithms of the first excess and of the rate to start the fit from.

    Of the curves through one reading with the rate expected, and of those through two, the one
    that explains all of them best: so that a slip does not lead the fit astray.
    """
    zero = used[0][0]
    last = len(used) - 1
    picked = []
    for part in range(min(last + 1, MOST_PICKED)):
        time_s, temp_c = used[last * part // max(min(last, MOST_PICKED - 1), 1)]
        picked.append((time_s - zero, max(temp_c - room, LEAST_EXCESS_C)))
    curves = [(since, over, prior.log_rate) for since, over in picked]
    for second in range(len(picked)):
        for first in range(second):
            (since, hot), (later, cool) = picked[first], picked[second]
            if later - since > 0 and hot > cool:
                k = _seconds(hot, cool, 1.0, n) / (later - since)
                log_rate = math.log(k) + n * math.log(REFERENCE_C)
                if abs(log_rate - prior.log_rate) < 3:
                    curves.append((since, hot, log_rate))
    best = (math.inf, 0.0, 0.0)
    for since, over, log_rate in curves:
        k = math.exp(log_rate) * REFERENCE_C**-n
        start = math.log(min(_relaxed(over, k, -since, n), 400.0))
        cost = _cost(used, room, noise, prior, n, start, start, log_rate, 0.0)
        # Only a clear difference counts: two that are as good must not be told apart by rounding.
        if cost < best[0] - 1e-6 * (1 + cost):
            best = (cost, start, log_rate)
    return best[1], best[2]


def _cost(
    used: Sequence[tuple[float, float]],
    room: float,
    noise: float,
    prior: _Prior,
    n: float,
    begun: float,
    log_over: float,
    log_rate: float,
    warmer: float,
) -> float:
    """−2 ln of the posterior, but for a constant."""
    zero = used[0][0]
    k = math.exp(log_rate) * REFERENCE_C**-n
    over = math.exp(log_over)
    total = ((log_rate - prior.log_rate) / prior.rate_doubt) ** 2
    total += (warmer / prior.room_doubt) ** 2 + (log_over - begun) ** 2
    for time_s, temp_c in used:
        off = temp_c - (room + warmer + _relaxed(over, k, time_s - zero, n))
        total += (TAIL + 1) * math.log1p((off / noise) ** 2 / TAIL)
    return total


def _fitted(
    used: Sequence[tuple[float, float]],
    room: float,
    noise: float,
    prior: _Prior,
    n: float,
    begin: tuple[float, float],
    near: _Fit | None = None,
) -> _Fit:
    """Gauss–Newton, damped where a step does not help, for temperature, rate and room.

    The excess is kept as its logarithm, so that no step can take the wax below the room; its
    prior is a whole e-fold wide around the beginning.
    """
    zero = used[0][0]
    begun, log_rate = begin
    log_over = begun
    warmer = 0.0
    if near is not None:
        log_over = math.log(near.excess_c)
        log_rate = near.log_rate
        warmer = near.room_c - room
    cost = _cost(used, room, noise, prior, n, begun, log_over, log_rate, warmer)
    damping = 0.0
    for _ in range(MOST_STEPS):
        a, b = _normal(used, room, noise, prior, n, begun, log_over, log_rate, warmer)
        damped = [
            [each * (1 + damping) if row == column else each for column, each in enumerate(line)]
            for row, line in enumerate(a)
        ]
        spread, _ = _inverse(damped)
        steps = [
            spread[row][0] * b[0] + spread[row][1] * b[1] + spread[row][2] * b[2]
            for row in range(3)
        ]
        size = steps[0] * b[0] + steps[1] * b[1] + steps[2] * b[2]
        part = min(1.0, 2 / (abs(steps[1]) + 1e-12))
        grows = part * (steps[0] - steps[2]) / math.exp(log_over)
        tried = (
            log_over + math.log1p(min(max(grows, -0.75), 3.0)),
            log_rate + part * steps[1],
            warmer + part * steps[2],
        )
        # A small step needs no proof, and rounding would hide it.
        if size > 1e-6:
            new_cost = _cost(used, room, noise, prior, n, begun, *tried)
            if new_cost > cost:
                damping = max(10 * damping, 1e-2)
                continue
            cost = new_cost
        damping = damping / 10 if damping > 1e-3 else 0.0
        log_over, log_rate, warmer = tried
        if size < 1e-20:
            break
    a, _ = _normal(used, room, noise, prior, n, begun, log_over, log_rate, warmer)
    spread, log_determinant = _inverse(a)
    cost = _cost(used, room, noise, prior, n, begun, log_over, log_rate, warmer)
    return _Fit(
        zero_s=zero,
        excess_c=math.exp(log_over),
        rate=math.exp(log_rate) * REFERENCE_C**-n,
        exponent=n,
        room_c=room + warmer,
        log_rate=log_rate,
        spread=spread,
        evidence=-0.5 * (log_determinant + cost),
    )


def _normal(
    used: Sequence[tuple[float, float]],
    room: float,
    noise: float,
    prior: _Prior,
    n: float,
    begun: float,
    log_over: float,
    log_rate: float,
    warmer: float,
) -> tuple[list[list[float]], list[float]]:
    """The normal equations in (temperature at the first reading, ln of the rate, room)."""
    zero = used[0][0]
    k = math.exp(log_rate) * REFERENCE_C**-n
    over = math.exp(log_over)
    speed = k * math.pow(over, n)
    pull = (log_over - begun) / over
    b = [
        -pull,
        (prior.log_rate - log_rate) / prior.rate_doubt**2,
        pull - warmer / prior.room_doubt**2,
    ]
    stiff = 1 / over**2
    a = [
        [stiff, 0.0, -stiff],
        [0.0, prior.rate_doubt**-2, 0.0],
        [-stiff, 0.0, stiff + prior.room_doubt**-2],
    ]
    for time_s, temp_c in used:
        since = time_s - zero
        theta = _relaxed(over, k, since, n)
        off = temp_c - (room + warmer + theta)
        weight = (TAIL + 1) / (TAIL + (off / noise) ** 2) / noise**2
        slope = math.pow(theta / over, n)
        by = (slope, -speed * since * slope, 1 - slope)
        for row in range(3):
            b[row] += weight * by[row] * off
            for column in range(3):
                a[row][column] += weight * by[row] * by[column]
    return a, b


def _temp(fit: _Fit, time_s: float) -> float:
    return fit.room_c + _relaxed(fit.excess_c, fit.rate, time_s - fit.zero_s, fit.exponent)


def _time_gradient(fit: _Fit, over: float) -> tuple[float, float, float]:
    """How the time at which θ is ``over`` moves with temperature, ln of the rate, and room."""
    there = 1 / (fit.rate * over**fit.exponent)
    here = 1 / (fit.rate * fit.excess_c**fit.exponent)
    return here, -_seconds(fit.excess_c, over, fit.rate, fit.exponent), there - here


def _temp_gradient(fit: _Fit, time_s: float) -> tuple[float, float, float]:
    """How the temperature at a time moves with the same three."""
    since = time_s - fit.zero_s
    theta = _relaxed(fit.excess_c, fit.rate, since, fit.exponent)
    slope = (theta / fit.excess_c) ** fit.exponent
    return slope, -fit.rate * since * theta**fit.exponent, 1 - slope


def _spread(
    fit: _Fit, one: tuple[float, float, float], other: tuple[float, float, float] | None = None
) -> float:
    """Variance along a gradient, or covariance of two."""
    second = one if other is None else other
    total = 0.0
    for row in range(3):
        for column in range(3):
            total += one[row] * fit.spread[row][column] * second[column]
    return total


def _slope(values: Sequence[float], exponents: Sequence[float], known: _Known) -> float:
    """How a quantity goes with n, by weighted regression over the grid; 0 where n is known."""
    mean = 0.0
    middle = 0.0
    total = 0.0
    for weight, value, n in zip(known.weights, values, exponents, strict=True):
        total += weight
        mean += weight * value
        middle += weight * n
    mean /= total
    middle /= total
    both = 0.0
    wide = 0.0
    for weight, value, n in zip(known.weights, values, exponents, strict=True):
        both += weight * (value - mean) * (n - middle)
        wide += weight * (n - middle) ** 2
    return both / wide if wide > 1e-12 else 0.0


def _next_dip(
    known: _Known,
    noise: float,
    prior: _Prior,
    last_s: float,
    eta_s: float,
    low_s: float,
    doubt_c: float,
    need_c: float,
) -> float | None:
    """When another reading shrinks the doubt under what is needed; the earliest such time.

    Never so late that the target may have been passed already, and None where the doubt is
    small enough or a dip would hardly change it.
    """
    ahead = eta_s - last_s
    if doubt_c <= need_c or ahead <= 60:
        return None
    latest = last_s + LATEST * (low_s - last_s)
    at_target = _temp_gradient(known.fit, eta_s)
    target_n = _slope([_temp(each, eta_s) for each in known.grid], prior.exponents, known)
    before = _spread(known.fit, at_target) + target_n**2 * known.exponent_var
    best_s = None
    best = before
    for twentieth in range(1, 21):
        time_s = last_s + (latest - last_s) * twentieth / 20
        if time_s - last_s < 30:
            continue
        there = _temp_gradient(known.fit, time_s)
        there_n = _slope([_temp(each, time_s) for each in known.grid], prior.exponents, known)
        shared = _spread(known.fit, at_target, there) + target_n * there_n * known.exponent_var
        seen = _spread(known.fit, there) + there_n**2 * known.exponent_var + noise**2
        after = before - shared * shared / seen
        # A later dip has to be clearly better: a tie must not be settled by rounding.
        if after < best * (1 - 1e-6):
            best, best_s = after, time_s
        if NINETY * math.sqrt(max(after, 0.0)) <= need_c:
            break
    return best_s if best < 0.8 * before else None


def _interval(eta_s: float, last_s: float, sure: float) -> tuple[float, float]:
    """90 % either side, stretched so that an arrival more than a second ahead does not lie in the
    past."""
    ahead = eta_s - last_s
    if ahead <= 1:
        return eta_s - NINETY * sure, eta_s + NINETY * sure
    doubt = NINETY * sure
    stretch = math.exp(min(doubt / ahead, 5.0))
    # Where the doubt is longer than the wait, a multiple of the wait would have no end.
    return last_s + ahead / stretch, min(last_s + ahead * stretch, eta_s + doubt * (math.e - 1))


def _inverse(m: Sequence[Sequence[float]]) -> tuple[tuple[tuple[float, ...], ...], float]:
    """Inverse of a symmetric, positive 3 × 3 matrix as LDLᵀ, and the log of its determinant."""
    (a, b, c), (_, e, f), (_, _, i) = m
    p, q = b / a, c / a
    second = max(e - b * p, 1e-14 * e)
    r = (f - b * q) / second
    third = max(i - c * q - r * r * second, 1e-14 * i)
    s = p * r - q
    rows = (
        (1 / a + p * p / second + s * s / third, -p / second - s * r / third, s / third),
        (-p / second - s * r / third, 1 / second + r * r / third, -r / third),
        (s / third, -r / third, 1 / third),
    )
    return rows, math.log(a) + math.log(second) + math.log(third)
