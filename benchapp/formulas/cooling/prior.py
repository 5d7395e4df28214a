"""What is expected of a jug before the first dip: from physics, then from past pours in it.

The rate is spoken of as the fall at θ = 50 °C, which the dips of a pour tell well whatever n is.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from benchapp.formulas import checks
from benchapp.formulas.cooling.law import EXPONENT
from benchapp.words import InputError, message

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

ROOM_DOUBT_C = 0.7
"""Standard deviation of the room that she gives: a wall thermometer is good to ± 1 °C, and the
jug stands elsewhere (our choice)."""

HANDLING_C = 0.15
"""What a dip adds to a thermometer's rounding, standard deviation, until her hand is known: the
middle one of hands from 0.06 °C, which stirs and waits, to 0.37 °C (our choice)."""

HANDLING_DOUBT = 0.6
"""Standard deviation of the logarithm of that."""

HANDLING_POUR_DOUBT = 0.2
"""What stays open of a known hand: the standard deviation of its logarithm (our choice)."""

MOST_HANDLING_C = 5.0
"""A hand that scatters more reads no thermometer."""

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


class Learned(NamedTuple):
    """What a finished cooling tells of its jug.

    Attributes:
        mass_g: wax in the jug.
        rate: k in °C^(1−n)/s.
        exponent: n.
        rate_doubt: standard deviation of the logarithm of the rate at θ = 50 °C.
        exponent_doubt: standard deviation of n.
        handling_c: what a dip added to the thermometer's rounding, standard deviation in °C.
        handling_doubt: standard deviation of its logarithm; one kept without tells nothing.
    """

    mass_g: float
    rate: float
    exponent: float
    rate_doubt: float = 0.03
    exponent_doubt: float = 0.05
    handling_c: float = HANDLING_C
    handling_doubt: float = 10.0


@dataclass(frozen=True)
class Prior:
    """What is expected of a jug before its dips are looked at.

    Attributes:
        log_rate: ln of the rate at θ = 50 °C, in °C/s.
        rate_doubt: its standard deviation.
        room_doubt: standard deviation of the room given, °C.
        handling: middle and standard deviation of the logarithm of what a dip adds, in °C.
        handlings: the grid on which that is weighed, °C, rising, each as likely as the others;
            one value where it is known.
        exponent: middle and scale of n.
        exponents: the grid on which n is weighed, rising; one value where n is known.
        weights: what each counts for before the dips, on any scale.
        law_doubt: part of the wait that stays open whatever the dips say, standard deviation.
    """

    log_rate: float
    rate_doubt: float
    room_doubt: float
    handling: tuple[float, float]
    handlings: tuple[float, ...]
    exponent: tuple[float, float]
    exponents: tuple[float, ...]
    weights: tuple[float, ...]
    law_doubt: float = 0.0


def default_rate(mass_g: float | None = None) -> float:
    """k at n = 5/4 to expect of ``mass_g`` grams of wax before any reading, in °C^(−1/4)/s.

    Surface over mass goes with the cube root: k = DEFAULT_RATE × (mass / 1 kg)^(−1/3).
    """
    mass = (
        DEFAULT_MASS_G
        if mass_g is None
        else checks.positive(mass_g, message("The wax in the jug"), "mass_g")
    )
    return DEFAULT_RATE / math.cbrt(mass / DEFAULT_MASS_G)


def prior_for(
    mass_g: float | None,
    history: Sequence[Sequence[float]],
    exponent: float | None,
    room_doubt_c: float,
    handling_c: float | None = None,
) -> Prior:
    """The prior for ``forecast`` and ``learn``, whose arguments it takes.

    Args:
        mass_g: wax in the jug, above zero; None where it is not known.
        history: past pours in the jug, each as ``Learned`` or at least its first three fields.
        exponent: n, 1 to 3, where it is known.
        room_doubt_c: standard deviation of the room given, 0 °C or more.
        handling_c: what a dip adds to the rounding, standard deviation in °C, where it is known.

    Raises:
        InputError: a number out of range, or a past pour that is no ``Learned``.
    """
    expected = _expected(DEFAULT_MASS_G if mass_g is None else mass_g)
    rate_doubt = RATE_DOUBT
    middle, scale = EXPONENT_OF_ANYTHING if mass_g is None else EXPONENT_OF_WAX
    past = [_past(each) for each in history]
    if past and mass_g is not None:
        expected, rate_doubt = _rate_from(past, mass_g, expected)
        told = [(each.exponent, each.exponent_doubt) for each in past]
        middle, scale = _known_from(told, middle, scale, EXPONENT_POUR_DOUBT)
    handling, handlings = _hand_from(past, handling_c)
    room_doubt = max(
        checks.not_negative(room_doubt_c, message("The doubt of the room"), "room_doubt_c"), 1e-6
    )
    known = (expected, rate_doubt, room_doubt, handling, handlings)
    if exponent is not None:
        fixed = checks.within(exponent, message("The exponent"), 1, 3, "exponent")
        return Prior(*known, (fixed, 1e-6), (fixed,), (1.0,))
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
    law_doubt = LAW_DOUBT_OF_ANYTHING if mass_g is None else 0.0
    return Prior(*known, (middle, scale), grid, tuple(weights), law_doubt)


def _expected(mass_g: float) -> float:
    """ln of the rate at θ = 50 °C that jugs with this much wax have in general."""
    return math.log(default_rate(mass_g)) + EXPONENT * math.log(REFERENCE_C)


def _past(each: Sequence[float]) -> Learned:
    """A past pour as it was kept, checked."""
    if not 3 <= len(each) <= 7:
        raise InputError("A past pour is its wax, its rate and its exponent.", about="history")
    past = Learned(*each)
    checks.positive(past.mass_g, message("The wax of a past pour"), "history")
    checks.positive(past.rate, message("The rate of a past pour"), "history")
    checks.within(past.exponent, message("The exponent of a past pour"), 1, 3, "history")
    checks.positive(past.rate_doubt, message("The doubt of a past rate"), "history")
    checks.positive(past.exponent_doubt, message("The doubt of a past exponent"), "history")
    checks.positive(past.handling_c, message("The doubt of a dip in °C"), "history")
    checks.positive(past.handling_doubt, message("The doubt of a past dip"), "history")
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


def _hand_from(
    past: Sequence[Learned], handling_c: float | None
) -> tuple[tuple[float, float], tuple[float, ...]]:
    """``handling`` and ``handlings`` of a prior.

    Five values, evenly spaced in the logarithm by 1/√2 of its doubt and alike in weight, have the
    mean and the variance that are expected.
    """
    told = [(math.log(each.handling_c), each.handling_doubt) for each in past]
    middle, scale = _known_from(told, math.log(HANDLING_C), HANDLING_DOUBT, HANDLING_POUR_DOUBT)
    if handling_c is not None:
        name = message("The doubt of a dip in °C")
        known = checks.within(handling_c, name, 0, MOST_HANDLING_C, "handling_c")
        return (middle, scale), (known,)
    grid = [math.exp(middle + step * math.sqrt(0.5) * scale) for step in (-2, -1, 0, 1, 2)]
    return (middle, scale), tuple(min(each, MOST_HANDLING_C) for each in grid)


def _known_from(
    told: Sequence[tuple[float, float]], middle: float, scale: float, pour_doubt: float
) -> tuple[float, float]:
    """Middle and scale of a quantity, from what is expected and what past pours have told.

    Args:
        told: the quantity and its standard deviation, of each.
        middle: what is expected.
        scale: its standard deviation.
        pour_doubt: how much it differs from pour to pour, standard deviation.
    """
    weight = 1 / scale**2
    total = weight * middle
    for value, doubt in told:
        more = 1 / (doubt**2 + pour_doubt**2)
        weight += more
        total += more * value
    return total / weight, math.sqrt(1 / weight + pour_doubt**2)
