"""Is this a number that the formula can take? If not, a sentence that says so.

Every check takes the value, what it is called where the sentence begins
(``message("The load")``), its limits where it has any, and the name of the formula's argument
that it came in by, which the error carries as ``about``.
"""

import math
from decimal import Decimal

from benchapp.words import InputError, Message
from benchapp.words.numbers import number_text

LARGEST = 1e9
"""No quantity at a pour bench comes near this; beyond it a sum is a slip of the finger."""

SMALLEST = 1e-30
"""As good as zero: to divide by less would leave the range of a float."""


def plain(value: float) -> str:
    """A limit as a person writes it: 5000 and 0.95, not 5000.0."""
    if value == math.floor(value):
        return number_text(str(int(value)))
    return number_text(f"{Decimal(f'{value:.6g}'):f}")


def number(value: object, name: Message, about: str | None = None) -> float:
    """``value`` as a finite float no larger than a billion either way.

    Args:
        value: whatever was given.
        name: what it is called; it starts the sentence.
        about: the argument of the formula that it came in by.

    Raises:
        InputError: not a number, not finite, or absurdly large.
    """
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise InputError("{name} must be a number.", name=name, about=about)
    if isinstance(value, float) and not math.isfinite(value):
        raise InputError("{name} must be a finite number.", name=name, about=about)
    if abs(value) > LARGEST:
        raise InputError("{name} is far too large for a pour bench.", name=name, about=about)
    return float(value)


def positive(value: object, name: Message, about: str | None = None) -> float:
    """A finite number above zero, as ``number`` takes it."""
    checked = number(value, name, about)
    if checked < SMALLEST:
        raise InputError("{name} must be more than zero.", name=name, about=about)
    return checked


def not_negative(value: object, name: Message, about: str | None = None) -> float:
    """A finite number, zero or more, as ``number`` takes it."""
    checked = number(value, name, about)
    if checked < 0:
        raise InputError("{name} can't be less than zero.", name=name, about=about)
    return checked


def within(
    value: object, name: Message, low: float, high: float, about: str | None = None
) -> float:
    """A finite number from ``low`` to ``high``, both included, as ``number`` takes it."""
    checked = number(value, name, about)
    if not low <= checked <= high:
        raise InputError(
            "{name} must be from {low} to {high}.",
            name=name,
            low=plain(low),
            high=plain(high),
            about=about,
        )
    return checked


def density(value: object, name: Message, about: str | None = None) -> float:
    """A density in g/ml that a wax, an oil or a dye can have: 0.5 to 2."""
    return within(value, name, 0.5, 2.0, about)


def whole(value: object, name: Message, low: int, high: int, about: str | None = None) -> int:
    """A whole number from ``low`` to ``high``, both included, as ``number`` takes it."""
    checked = number(value, name, about)
    if checked != math.floor(checked):
        raise InputError("{name} must be a whole number.", name=name, about=about)
    if not low <= checked <= high:
        raise InputError(
            "{name} must be from {low} to {high}.", name=name, low=low, high=high, about=about
        )
    return int(checked)
