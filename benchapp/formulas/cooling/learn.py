"""What a finished cooling tells of its jug and of her hand, for the forecasts of its next pours."""

import math
from collections.abc import Sequence

from benchapp.formulas import checks
from benchapp.formulas.cooling.posterior import moments, posterior_of, slope_by_exponent
from benchapp.formulas.cooling.prior import (
    DEFAULT_MASS_G,
    REFERENCE_C,
    ROOM_DOUBT_C,
    Learned,
    prior_for,
)
from benchapp.formulas.cooling.readings import after_last_rise, in_order
from benchapp.words import message

MOST_LEARNED = 3.0
"""How far the logarithm of a learned rate, or of a hand, may lie from what was expected: twenty
times."""


def learn(
    readings: Sequence[tuple[float, float]],
    room_c: float,
    *,
    thermometer_step_c: float = 0.1,
    mass_g: float = DEFAULT_MASS_G,
    history: Sequence[Sequence[float]] = (),
    room_doubt_c: float = ROOM_DOUBT_C,
) -> Learned:
    """What the readings of one cooling tell of jug and hand, for the ``history`` of the next.

    Args:
        readings: as for ``forecast``.
        room_c: the room in °C.
        thermometer_step_c: the thermometer's step in °C.
        mass_g: wax in the jug.
        history: what earlier pours in the jug have told; it is not counted twice.
        room_doubt_c: standard deviation of the room given, °C.

    Raises:
        InputError: as ``forecast``.
    """
    room = checks.within(room_c, message("The room in °C"), -20, 50, "room_c")
    mass = checks.positive(mass_g, message("The wax in the jug"), "mass_g")
    prior = prior_for(mass, history, None, room_doubt_c)
    ordered = in_order(readings, room)
    first = after_last_rise(ordered, room, thermometer_step_c, prior)
    used = [(time_s, temp_c) for time_s, temp_c, _ in ordered[first:]]
    known = posterior_of(used, room, thermometer_step_c, prior)
    # What the dips themselves say, with what the prior said taken off again.
    by_exponent = slope_by_exponent([fit.log_rate for fit in known.grid], known)
    variance = known.fit.spread[1][1] + by_exponent**2 * known.exponent_var
    rate, rate_var = _without(known.fit.log_rate, variance, prior.log_rate, prior.rate_doubt**2)
    middle, scale = prior.exponent
    n, n_var = _without(known.fit.exponent, known.exponent_var, middle, scale * scale)
    usual, open_ = prior.handling
    told = moments([math.log(each) for each in prior.handlings], known.handlings)
    hand, hand_var = _without(*told, usual, open_ * open_)
    # Dips that say next to nothing say nothing absurd.
    rate = min(max(rate, prior.log_rate - MOST_LEARNED), prior.log_rate + MOST_LEARNED)
    n = min(max(n, 1.0), 2.5)
    hand = min(max(hand, usual - MOST_LEARNED), usual + MOST_LEARNED)
    return Learned(
        mass_g=mass,
        rate=math.exp(rate) * REFERENCE_C**-n,
        exponent=n,
        rate_doubt=math.sqrt(rate_var),
        exponent_doubt=math.sqrt(n_var),
        handling_c=math.exp(hand),
        handling_doubt=math.sqrt(hand_var),
    )


def _without(value: float, variance: float, prior: float, prior_var: float) -> tuple[float, float]:
    """Value and variance with a prior taken off; the doubt is at most ten times the prior's."""
    precision = max(1 / variance - 1 / prior_var, 0.01 / prior_var)
    return prior + (value - prior) / variance / precision, 1 / precision
