"""How wax in a jug cools: the law, and its inverse.

A jug of wax on the bench loses heat by natural convection and radiation. Its excess over the
room, θ, falls as

    dθ/dt = −k·θ^n,    θ(t) = θ₀·[1 + (n − 1)·k·θ₀^(n−1)·t]^(−1/(n−1)),

with n near 5/4 (Dulong and Petit, 1817: natural convection in still air) and somewhat less where
radiation and the table take their share; n = 1 is Newton's plain exponential.
"""

import math

from benchapp.formulas import checks
from benchapp.words import InputError, message

EXPONENT = 1.25


def excess(start_c: float, rate: float, elapsed_s: float, exponent: float = EXPONENT) -> float:
    """θ in °C after ``elapsed_s`` seconds.

    Args:
        start_c: θ at the start, above zero.
        rate: k in °C^(1−n)/s, above zero.
        elapsed_s: seconds since the start; before it the curve runs back, up to where it
            would have been endlessly hot.
        exponent: n, 1 to 3.

    Raises:
        InputError: a number out of range, or a time before the curve begins.
    """
    start = checks.positive(start_c, message("The excess over the room"), "start_c")
    k = checks.positive(rate, message("The rate"), "rate")
    seconds = checks.number(elapsed_s, message("The time"), "elapsed_s")
    n = checks.within(exponent, message("The exponent"), 1, 3, "exponent")
    if _grown(start, k, seconds, n) <= 0:
        raise InputError("That is before this curve begins.", about="elapsed_s")
    return excess_after(start, k, seconds, n)


def elapsed(start_c: float, end_c: float, rate: float, exponent: float = EXPONENT) -> float:
    """Seconds in which θ goes from ``start_c`` to ``end_c``; negative where it would have to rise.

    Args:
        start_c: θ at the start in °C, above zero.
        end_c: θ at the end in °C, above zero.
        rate: k in °C^(1−n)/s, above zero.
        exponent: n, 1 to 3.
    """
    start = checks.positive(start_c, message("The excess at the start"), "start_c")
    end = checks.positive(end_c, message("The excess at the end"), "end_c")
    k = checks.positive(rate, message("The rate"), "rate")
    return seconds_between(
        start, end, k, checks.within(exponent, message("The exponent"), 1, 3, "exponent")
    )


def _grown(start: float, k: float, seconds: float, n: float) -> float:
    """What stands in the brackets of the law; the curve begins where it is zero."""
    return 1.0 + (n - 1) * k * seconds * math.pow(start, n - 1)


def excess_after(start: float, k: float, seconds: float, n: float) -> float:
    """``excess`` without its checks: θ in °C after ``seconds``.

    Before its beginning the curve is held at its hottest, so that a fit may try any numbers.

    Args:
        start: θ at the start in °C, above zero.
        k: the rate in °C^(1−n)/s.
        seconds: since the start; any number.
        n: the exponent, 1 to 3.
    """
    if n == 1:
        return start * math.exp(min(-k * seconds, 200.0))
    growth = max((n - 1) * k * seconds * math.pow(start, n - 1), -1 + 1e-9)
    return start * math.exp(min(-math.log1p(growth) / (n - 1), 200.0))


def seconds_between(start: float, end: float, k: float, n: float) -> float:
    """``elapsed`` without its checks: seconds from θ = ``start`` to θ = ``end``, both in °C."""
    if n == 1:
        return math.log(start / end) / k
    # end^(1−n) − start^(1−n), written so that n near 1 and start near end lose no digits.
    return math.pow(end, 1 - n) * -math.expm1((1 - n) * math.log(start / end)) / ((n - 1) * k)
