"""Is this a number that the formula can take? If not, a sentence that says so."""

import math

LARGEST = 1e9
"""No quantity at a pour bench comes near this; beyond it a sum is a slip of the finger."""

SMALLEST = 1e-30
"""As good as zero: to divide by less would leave the range of a float."""


def plain(value: float) -> str:
    """A limit as a person writes it: 5000 and 0.95, not 5000.0."""
    return str(int(value)) if value == math.floor(value) else f"{value:.6g}"


def number(value: object, name: str) -> float:
    """``value`` as a finite float no larger than a billion either way.

    Raises:
        ValueError: not a number, not finite, or absurdly large. ``name`` starts the sentence.
    """
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError(f"{name} must be a number.")
    if isinstance(value, float) and not math.isfinite(value):
        raise ValueError(f"{name} must be a finite number.")
    if abs(value) > LARGEST:
        raise ValueError(f"{name} is far too large for a pour bench.")
    return float(value)


def positive(value: object, name: str) -> float:
    """A finite number above zero."""
    checked = number(value, name)
    if checked < SMALLEST:
        raise ValueError(f"{name} must be more than zero.")
    return checked


def not_negative(value: object, name: str) -> float:
    """A finite number, zero or more."""
    checked = number(value, name)
    if checked < 0:
        raise ValueError(f"{name} can't be less than zero.")
    return checked


def within(value: object, name: str, low: float, high: float) -> float:
    """A finite number from ``low`` to ``high``, both included."""
    checked = number(value, name)
    if not low <= checked <= high:
        raise ValueError(f"{name} must be from {plain(low)} to {plain(high)}.")
    return checked


def density(value: object, name: str) -> float:
    """A density in g/ml that a wax, an oil or a dye can have: 0.5 to 2."""
    return within(value, name, 0.5, 2.0)


def whole(value: object, name: str, low: int, high: int) -> int:
    """A whole number from ``low`` to ``high``, both included."""
    checked = number(value, name)
    if checked != math.floor(checked):
        raise ValueError(f"{name} must be a whole number.")
    if not low <= checked <= high:
        raise ValueError(f"{name} must be from {low} to {high}.")
    return int(checked)
