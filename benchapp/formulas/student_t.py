"""Student's t distribution: how far a mean of a few values may be off.

The chance beyond x is ½·I_z(df/2, ½) with z = df/(df + x²), where I is the regularised incomplete
beta function: its continued fraction (Abramowitz and Stegun 26.5.8 and 26.7.1, from memory) by
Lentz's way. ``tests/formulas/test_student_t.py`` holds both sides to SciPy.
"""

import math

from benchapp.formulas import checks
from benchapp.words import message

MOST_DF = 10_000
"""More degrees of freedom than any bench has; beyond them the normal distribution would do."""


def t_cdf(x: float, df: float) -> float:
    """The chance that t is at most ``x``.

    Args:
        df: degrees of freedom, 1 to 10 000, not necessarily whole.

    Raises:
        InputError: a number out of range.
    """
    at = checks.number(x, message("The value"), "x")
    beyond = _tail(abs(at), _freedom(df))
    return 1 - beyond if at > 0 else beyond


def t_quantile(p: float, df: float) -> float:
    """The value that t is at most, with the chance ``p``: the inverse of ``t_cdf``.

    Args:
        p: from a millionth to one less a millionth.
        df: as in ``t_cdf``.

    Raises:
        InputError: a number out of range.
    """
    chance = checks.within(p, message("The chance"), 1e-6, 1 - 1e-6, "p")
    nu = _freedom(df)
    if chance == 0.5:
        return 0.0
    beyond = min(chance, 1 - chance)
    low, high = 0.0, 1.0
    while _tail(high, nu) > beyond:
        low, high = high, 2 * high
    # Newton's steps on the logarithm of the tail, which is smooth however long it is; halving where
    # one leaves the way.
    x = (low + high) / 2
    for _ in range(200):
        over = _tail(x, nu)
        if over > beyond:
            low = x
        else:
            high = x
        following = x + over * math.log(over / beyond) / _density(x, nu)
        if not low < following < high:
            following = (low + high) / 2
        moved = abs(following - x)
        x = following
        if moved <= 1e-15 * x:
            break
    return -x if chance < 0.5 else x


def _freedom(df: float) -> float:
    return checks.within(df, message("The degrees of freedom"), 1, MOST_DF, "df")


def _tail(x: float, df: float) -> float:
    """The chance beyond x, which is not below zero."""
    square = x * x
    return 0.5 * _incomplete_beta(df / (df + square), square / (df + square), df / 2, 0.5)


def _density(x: float, df: float) -> float:
    log = -_log_beta(df / 2, 0.5) - 0.5 * math.log(df) - (df + 1) / 2 * math.log1p(x * x / df)
    return math.exp(log)


def _incomplete_beta(z: float, rest: float, a: float, b: float) -> float:
    """I_z(a, b); ``rest`` is 1 - z, given apart so that nothing cancels."""
    if z <= 0:
        return 0.0
    if rest <= 0:
        return 1.0
    if z > (a + 1) / (a + b + 2):
        return 1 - _incomplete_beta(rest, z, b, a)
    log_z = math.log1p(-rest) if z > 0.5 else math.log(z)
    log_rest = math.log1p(-z) if rest > 0.5 else math.log(rest)
    return math.exp(a * log_z + b * log_rest - _log_beta(a, b)) / a * _fraction(z, a, b)


def _fraction(z: float, a: float, b: float) -> float:
    """The continued fraction of I_z(a, b)."""
    c = 1.0
    d = 1 / _away(1 - (a + b) * z / (a + 1))
    found = d
    for m in range(1, 1001):
        even = m * (b - m) * z / ((a + 2 * m - 1) * (a + 2 * m))
        d = 1 / _away(1 + even * d)
        c = _away(1 + even / c)
        found *= d * c
        odd = -(a + m) * (a + b + m) * z / ((a + 2 * m) * (a + 2 * m + 1))
        d = 1 / _away(1 + odd * d)
        c = _away(1 + odd / c)
        found *= d * c
        if abs(d * c - 1) < 1e-16:
            break
    return found


def _away(value: float) -> float:
    """``value``, but where it is as good as zero."""
    return checks.SMALLEST if abs(value) < checks.SMALLEST else value


def _log_beta(a: float, b: float) -> float:
    return math.lgamma(a) + math.lgamma(b) - math.lgamma(a + b)
