"""When the wax will be at temperature, how sure that is, and when to dip again."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from benchapp.formulas import checks
from benchapp.formulas.cooling.fit import fitted_temp, temp_gradient, time_gradient
from benchapp.formulas.cooling.law import elapsed, excess, excess_after, seconds_between
from benchapp.formulas.cooling.posterior import (
    Posterior,
    covariance,
    posterior_of,
    slope_by_exponent,
)
from benchapp.formulas.cooling.prior import RATE_DOUBT, ROOM_DOUBT_C, Prior, prior_for
from benchapp.formulas.cooling.readings import after_last_rise, in_order
from benchapp.words import InputError, message

LATEST = 0.95
"""A next dip is due at the latest at this part of the earliest arrival."""

ODD = 3.5
"""Standard deviations off the curve from which a reading is called odd."""

NEED_C = 0.35
"""A doubt at the target of ± 0.35 °C, nine times in ten, is worth no further dip."""

NINETY = 1.6448536269514722
"""Standard deviations either side that hold 90 % of a normal distribution."""


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
        elapsed = checks.number(t_s, message("The time"), "t_s") - self.zero_s
        return self.room_c + excess(self.excess_c, self.rate, elapsed, self.exponent)

    def time_at(self, temp_c: float) -> float:
        """When the curve passes ``temp_c``, in seconds from the readings' zero.

        Raises:
            InputError: a temperature that is not above the room, or out of −20 to 300 °C.
        """
        over = (
            checks.within(temp_c, message("The temperature in °C"), -20, 300, "temp_c")
            - self.room_c
        )
        if over < checks.SMALLEST:
            raise InputError("The wax never gets that cold in this room.", about="temp_c")
        return self.zero_s + elapsed(self.excess_c, over, self.rate, self.exponent)


def forecast(
    readings: Sequence[tuple[float, float]],
    room_c: float,
    target_c: float,
    *,
    thermometer_step_c: float = 0.1,
    mass_g: float | None = None,
    history: Sequence[Sequence[float]] = (),
    exponent: float | None = None,
    handling_c: float | None = None,
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
        handling_c: standard deviation of a dip beside the thermometer's rounding, °C, where it
            is known; without it the dips tell, and past pours.
        room_doubt_c: standard deviation of the room given, °C.
        need_c: the doubt at the target (90 %, ± °C) under which no further dip is asked for.

    Raises:
        InputError: no reading, half of them or more not above the room, a target not above the
            room, or any number out of range.
    """
    room = checks.within(room_c, message("The room in °C"), -20, 50, "room_c")
    target = checks.within(target_c, message("The target in °C"), -20, 300, "target_c")
    if target - room < checks.SMALLEST:
        raise InputError(
            "The target is not above the room: the wax will never cool to it. "
            "Check the target and the room temperature.",
            about="target_c",
        )
    need = checks.positive(need_c, message("The doubt that is good enough"), "need_c")
    prior = prior_for(mass_g, history, exponent, room_doubt_c, handling_c)
    ordered = in_order(readings, room)
    return forecast_from(ordered, room, target, thermometer_step_c, prior, need)


def forecast_from(
    ordered: Sequence[tuple[float, float, int]],
    room: float,
    target: float,
    step: float,
    prior: Prior,
    need: float,
) -> Forecast:
    """``forecast`` from what it has checked and from any prior.

    Args:
        ordered: readings as ``in_order`` returns them.
        room: the room given, °C.
        target: the temperature waited for, °C, above the room.
        step: the thermometer's step, °C.
        prior: what is expected of the jug and of the hand.
        need: the doubt at the target (90 %, ± °C) under which no further dip is asked for.
    """
    first = after_last_rise(ordered, room, step, prior)
    used = [(time_s, temp_c) for time_s, temp_c, _ in ordered[first:]]
    known = posterior_of(used, room, step, prior)
    fit, grid = known.fit, known.grid
    over = max(target - fit.room_c, 0.05)
    eta = fit.zero_s + seconds_between(fit.excess_c, over, fit.rate, fit.exponent)
    last_s = used[-1][0]
    moved = [
        each.zero_s + seconds_between(each.excess_c, max(target - each.room_c, 0.05), each.rate, n)
        for n, each in zip(prior.exponents, grid, strict=True)
    ]
    by_exponent = slope_by_exponent(moved, known)
    sure = math.sqrt(
        covariance(fit, time_gradient(fit, over))
        + by_exponent**2 * known.exponent_var
        + (prior.law_doubt * (eta - last_s)) ** 2
    )
    low, high = _interval(eta, last_s, sure)
    speed = fit.rate * over**fit.exponent
    now_over = excess_after(fit.excess_c, fit.rate, last_s - fit.zero_s, fit.exponent)
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
        next_dip_s=_next_dip(known, last_s, eta, low, doubt, need),
        used=len(used),
        odd=tuple(
            sorted(
                index
                for (time_s, temp_c, index) in ordered[first:]
                if abs(temp_c - fitted_temp(fit, time_s)) > ODD * known.noise
            )
        ),
        restarted=first > 0,
        guessed=math.sqrt(fit.spread[1][1]) > RATE_DOUBT / 3,
    )


def _next_dip(
    known: Posterior,
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
    at_target = temp_gradient(known.fit, eta_s)
    target_n = slope_by_exponent([fitted_temp(each, eta_s) for each in known.grid], known)
    before = covariance(known.fit, at_target) + target_n**2 * known.exponent_var
    best_s = None
    best = before
    for twentieth in range(1, 21):
        time_s = last_s + (latest - last_s) * twentieth / 20
        if time_s - last_s < 30:
            continue
        there = temp_gradient(known.fit, time_s)
        there_n = slope_by_exponent([fitted_temp(each, time_s) for each in known.grid], known)
        shared = covariance(known.fit, at_target, there) + target_n * there_n * known.exponent_var
        seen = covariance(known.fit, there) + there_n**2 * known.exponent_var + known.noise**2
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
