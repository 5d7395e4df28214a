"""Weights in words: never more than there is, so that what is short never looks otherwise; a doubt
never less."""

import math
from fractions import Fraction

from benchapp.desk.netcontent.law import GRAMS
from benchapp.words.numbers import number_text

_DECIMALS = 2


def amount(grams: Fraction, unit: str, *, up: bool = False) -> str:
    """A weight, rounded down to two decimals: '219.97 g'; in ounces with its grams: '7.75 oz
    (219.97 g)'. With ``up`` it is rounded up, as a doubt is."""
    if unit == "g":
        return f"{_cut(grams, up)} g"
    return f"{_cut(grams / GRAMS[unit], up)} {unit} ({_cut(grams, up)} g)"


def _cut(value: Fraction, up: bool) -> str:
    hundredths = (math.ceil if up else math.floor)(value * 10**_DECIMALS)
    return number_text(decimal_text(Fraction(hundredths, 10**_DECIMALS)))


def decimal_text(value: Fraction) -> str:
    """A decimal fraction of up to six decimals as digits, without noughts at its end."""
    whole, rest = divmod(value, 1)
    digits = f"{int(rest * 10**6):06}".rstrip("0")
    return f"{int(whole)}.{digits}" if digits else str(int(whole))
