"""Exact amounts: read from text without a binary float, and shown without rounding."""

import re
from decimal import Decimal
from fractions import Fraction

from benchapp.words import InputError, Message
from benchapp.words.numbers import number_text

_DECIMAL = re.compile(r"[+-]?[0-9]{1,9}(?:[.,][0-9]{1,18})?", re.ASCII)
_PARTS = re.compile(r"([0-9]{1,9})\s*/\s*([0-9]{1,9})", re.ASCII)

_MOST_DECIMALS = 18


def read_amount(given: object, name: Message, about: str | None = None) -> Fraction:
    """An amount as it is written: "9.0909", "0,5", or as parts, "100/11".

    Args:
        given: text, a whole number, or a number that JSON's reader left as a Decimal.
        name: what it is called; it starts the sentence.
        about: what it is about, for the error.

    Raises:
        InputError: no such text; a binary float is none, since it no longer is what was written.
    """
    match given:
        case bool():
            text = ""
        case int() | Decimal():
            text = f"{given:f}" if isinstance(given, Decimal) and given.is_finite() else str(given)
        case str():
            text = given.strip()
        case _:
            text = ""
    if parts := _PARTS.fullmatch(text):
        if int(parts[2]) == 0:
            raise InputError("{name} can't be divided by zero.", name=name, about=about)
        return Fraction(int(parts[1]), int(parts[2]))
    if not _DECIMAL.fullmatch(text):
        raise InputError(
            "{name} must be a number, such as 9.5: it is “{given}”.",
            name=name,
            given=_short(given),
            about=about,
        )
    return Fraction(text.replace(",", "."))


def _short(given: object) -> str:
    text = str(given)
    return text if len(text) <= 40 else f"{text[:40]}…"


def shown(amount: Fraction) -> str:
    """An amount in digits: all of them, or the first few and '…' where there is no end to them.

    Nothing is rounded, so what lies under a limit never looks as if it reached it.
    """
    decimals = _decimals(amount)
    more = decimals is None or decimals > 8
    if decimals is None or more:
        decimals = 4
        while decimals < _MOST_DECIMALS and 0 < abs(amount) * 10**decimals < 10:
            decimals += 1
    whole, rest = divmod(abs(amount.numerator) * 10**decimals // amount.denominator, 10**decimals)
    text = f"{whole}.{rest:0{decimals}d}" if decimals else str(whole)
    sign = "-" if amount < 0 else ""
    return number_text(f"{sign}{text}") + ("…" if more else "")


def _decimals(amount: Fraction) -> int | None:
    """How many decimals it has; None where there is no end to them."""
    rest, twos, fives = amount.denominator, 0, 0
    while rest % 2 == 0:
        rest, twos = rest // 2, twos + 1
    while rest % 5 == 0:
        rest, fives = rest // 5, fives + 1
    return max(twos, fives) if rest == 1 else None
