"""The most likely cooling curve through the dips for one exponent n: start, rate and room.

Gauss–Newton on the posterior, with a Laplace approximation of its spread. Readings are weighed by
Student's t, so that a slip of the hand pulls little.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from benchapp.formulas.cooling.law import excess_after, seconds_between
from benchapp.formulas.cooling.prior import REFERENCE_C, Prior
from benchapp.formulas.cooling.readings import LEAST_EXCESS_C

TAIL = 5.0
"""A reading that lies z standard deviations off counts as 1 / (1 + z²/TAIL) of one on the curve:
Student's t with one degree of freedom less, as wide as the normal where readings are good."""

MOST_PICKED = 6
"""Of how many readings, spread over all, the start of a fit is made."""

MOST_STEPS = 40
"""Steps of a fit; three or four are usual."""


_Symmetric = tuple[float, float, float, float, float, float]
"""A symmetric 3 × 3 matrix by its upper half, row after row."""


@dataclass(frozen=True)
class Fit:
    """The most likely curve for one n: θ is ``excess_c`` at ``zero_s``.

    Attributes:
        zero_s: time of the first reading used.
        excess_c: θ at that time.
        rate: k in °C^(1−n)/s.
        exponent: n.
        room_c: the room as readings and prior have it.
        log_rate: ln of the rate at θ = 50 °C.
        spread: covariance of (temperature at ``zero_s``, ln of the rate at θ = 50 °C, room).
        evidence: the logarithm of how well the curve explains readings and priors.
    """

    zero_s: float
    excess_c: float
    rate: float
    exponent: float
    room_c: float
    log_rate: float
    spread: tuple[tuple[float, ...], ...]
    evidence: float


def starting_point(
    used: Sequence[tuple[float, float]], room: float, noise: float, prior: Prior, n: float
) -> tuple[float, float]:
    """Logarithms of the first excess and of the rate to start the fit from.

    Of the curves through one reading with the rate expected, and of those through two, the one
    that explains all of them best: so that a slip does not lead the fit astray.

    Args:
        used: ``(t_s, temp_c)`` by time; at least one.
        room: the room given, °C.
        noise: standard deviation of a reading, °C.
        prior: what is expected of the jug.
        n: the exponent to start with.
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
                k = seconds_between(hot, cool, 1.0, n) / (later - since)
                log_rate = math.log(k) + n * math.log(REFERENCE_C)
                if abs(log_rate - prior.log_rate) < 3:
                    curves.append((since, hot, log_rate))
    best = (math.inf, 0.0, 0.0)
    for since, over, log_rate in curves:
        k = math.exp(log_rate) * REFERENCE_C**-n
        start = math.log(min(excess_after(over, k, -since, n), 400.0))
        cost = _cost(used, room, noise, prior, n, start, start, log_rate, 0.0)
        # Only a clear difference counts: two that are as good must not be told apart by rounding.
        if cost < best[0] - 1e-6 * (1 + cost):
            best = (cost, start, log_rate)
    return best[1], best[2]


def fit_curve(
    used: Sequence[tuple[float, float]],
    room: float,
    noise: float,
    prior: Prior,
    n: float,
    begin: tuple[float, float],
    near: Fit | None = None,
) -> Fit:
    """Gauss–Newton, damped where a step does not help, for temperature, rate and room.

    The excess is kept as its logarithm, so that no step can take the wax below the room; its
    prior is a whole e-fold wide around the beginning.

    Args:
        used: ``(t_s, temp_c)`` by time; at least one.
        room: the room given, °C.
        noise: standard deviation of a reading, °C.
        prior: what is expected of the jug.
        n: the exponent of this fit.
        begin: what ``starting_point`` returned.
        near: the fit of a neighbouring exponent to start from instead.
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
        spread, _ = _inverse(_damped(a, damping))
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
    return Fit(
        zero_s=zero,
        excess_c=math.exp(log_over),
        rate=math.exp(log_rate) * REFERENCE_C**-n,
        exponent=n,
        room_c=room + warmer,
        log_rate=log_rate,
        spread=spread,
        evidence=-0.5 * (log_determinant + cost),
    )


def fitted_temp(fit: Fit, time_s: float) -> float:
    """The wax in °C at ``time_s``, on the curve."""
    return fit.room_c + excess_after(fit.excess_c, fit.rate, time_s - fit.zero_s, fit.exponent)


def temp_gradient(fit: Fit, time_s: float) -> tuple[float, float, float]:
    """How the temperature at a time moves with that at ``zero_s``, ln of the rate, and room."""
    since = time_s - fit.zero_s
    theta = excess_after(fit.excess_c, fit.rate, since, fit.exponent)
    slope = (theta / fit.excess_c) ** fit.exponent
    return slope, -fit.rate * since * theta**fit.exponent, 1 - slope


def time_gradient(fit: Fit, over: float) -> tuple[float, float, float]:
    """How the time in s at which θ is ``over`` °C moves with the same three."""
    there = 1 / (fit.rate * over**fit.exponent)
    here = 1 / (fit.rate * fit.excess_c**fit.exponent)
    return here, -seconds_between(fit.excess_c, over, fit.rate, fit.exponent), there - here


def _cost(
    used: Sequence[tuple[float, float]],
    room: float,
    noise: float,
    prior: Prior,
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
        off = temp_c - (room + warmer + excess_after(over, k, time_s - zero, n))
        total += TAIL * math.log1p((off / noise) ** 2 / TAIL)
    return total


def _normal(
    used: Sequence[tuple[float, float]],
    room: float,
    noise: float,
    prior: Prior,
    n: float,
    begun: float,
    log_over: float,
    log_rate: float,
    warmer: float,
) -> tuple[_Symmetric, tuple[float, float, float]]:
    """The normal equations in (temperature at the first reading, ln of the rate, room)."""
    zero = used[0][0]
    k = math.exp(log_rate) * REFERENCE_C**-n
    over = math.exp(log_over)
    speed = k * math.pow(over, n)
    pull = (log_over - begun) / over
    stiff = 1 / over**2
    b0 = -pull
    b1 = (prior.log_rate - log_rate) / prior.rate_doubt**2
    b2 = pull - warmer / prior.room_doubt**2
    a00, a01, a02 = stiff, 0.0, -stiff
    a11, a12 = prior.rate_doubt**-2, 0.0
    a22 = stiff + prior.room_doubt**-2
    # Written out: this is where a fit spends its time.
    for time_s, temp_c in used:
        since = time_s - zero
        theta = excess_after(over, k, since, n)
        off = temp_c - (room + warmer + theta)
        weight = 1 / (noise**2 + off * off / TAIL)
        slope = math.pow(theta / over, n)
        by_rate = -speed * since * slope
        by_room = 1 - slope
        b0 += weight * slope * off
        b1 += weight * by_rate * off
        b2 += weight * by_room * off
        a00 += weight * slope * slope
        a01 += weight * slope * by_rate
        a02 += weight * slope * by_room
        a11 += weight * by_rate * by_rate
        a12 += weight * by_rate * by_room
        a22 += weight * by_room * by_room
    return (a00, a01, a02, a11, a12, a22), (b0, b1, b2)


def _damped(m: _Symmetric, damping: float) -> _Symmetric:
    """The matrix with a heavier diagonal (Levenberg and Marquardt)."""
    a, b, c, e, f, i = m
    return a * (1 + damping), b, c, e * (1 + damping), f, i * (1 + damping)


def _inverse(m: _Symmetric) -> tuple[tuple[tuple[float, ...], ...], float]:
    """Inverse of a symmetric, positive 3 × 3 matrix as LDLᵀ, and the log of its determinant."""
    a, b, c, e, f, i = m
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
