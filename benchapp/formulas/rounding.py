"""The one place where a number is rounded, and the one where it is written out.

Python's and JavaScript's own formatting part ways on halves (28.25 to one decimal is 28.2 in
the one and 28.3 in the other), so neither is used: both sides floor, half up, with a guard
that is smaller than any scale and larger than the noise of a sum.
"""

import math

from benchapp.formulas.checks import number, positive
from benchapp.words import message

GUARD = 1e-9
"""Part of a step by which a value may miss the half and still go up."""


def steps(value: float, step: float) -> int:
    """How many whole steps ``value`` is nearest to, half up (towards plus infinity)."""
    number(value, message("The value"), "value")
    positive(step, message("The step"), "step")
    return math.floor(value / step + 0.5 + GUARD)


def times(count: int, step: float) -> float:
    """``count`` steps as a float, the nearest one to the decimal that a person would write.

    283 steps of 0.1 are 28.3 and not 28.300000000000004: where a whole number of steps makes
    one, the count is divided by that number.
    """
    positive(step, message("The step"), "step")
    per_one = math.floor(1 / step + 0.5)
    if per_one >= 1 and abs(per_one * step - 1) < 1e-12:
        return count / per_one
    return count * step


def round_to(value: float, step: float) -> float:
    """The multiple of ``step`` nearest to ``value``, half up.

    Args:
        value: any finite number, in the unit of the step.
        step: the scale's or thermometer's step, more than zero.

    Raises:
        InputError: either is not finite, or the step is not above zero.
    """
    return times(steps(value, step), step)


def round_up(value: float, step: float) -> float:
    """The smallest multiple of ``step`` that is not below ``value`` (by more than the guard)."""
    number(value, message("The value"), "value")
    positive(step, message("The step"), "step")
    return times(math.ceil(value / step - GUARD), step)


def round_down(value: float, step: float) -> float:
    """The largest multiple of ``step`` that is not above ``value`` (by more than the guard)."""
    number(value, message("The value"), "value")
    positive(step, message("The step"), "step")
    return times(math.floor(value / step + GUARD), step)


def decimals_of(step: float) -> int:
    """Decimals (0 to 6) needed to write every multiple of ``step``: 0.5 needs one, 0.25 two."""
    positive(step, message("The step"), "step")
    for decimals in range(6):
        scaled = step * 10**decimals
        if abs(scaled - math.floor(scaled + 0.5)) < 1e-6 * scaled:
            return decimals
    return 6


def write(value: float, step: float) -> str:
    """``value`` rounded to ``step``, as decimal text: ``write(28.25, 0.1)`` is '28.3'."""
    decimals = decimals_of(step)
    whole = steps(round_to(value, step), float(f"1e-{decimals}"))
    digits = str(abs(whole)).rjust(decimals + 1, "0")
    text = digits if decimals == 0 else f"{digits[:-decimals]}.{digits[-decimals:]}"
    return f"-{text}" if whole < 0 else text
