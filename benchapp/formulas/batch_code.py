"""A batch's code: short, the same on every phone without asking another, and safe to read aloud.

Eight signs, as in ``4RJ9-989V``: three tell the day, four stand for the pour, the last is the
check. Signs that look like another are in no code, and neither are vowels, so that none is a word.
What is typed may have them all the same: ``MEANT`` says which sign was meant.

The check is that of the pure systems of ISO/IEC 7064 (MOD 11-2, MOD 37-2): the signs' values,
weighed by powers of two, come to 1. The modulus is the number of signs here, 23, which the standard
does not list; it is prime, so every wrong sign and every two neighbours that changed places are
found, and as the powers of two up to the eighth differ modulo 23, so are any two that did.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from benchapp.formulas import checks
from benchapp.formulas.cure import days_left, ready
from benchapp.words import InputError, message

SIGNS = "0123456789CFHJKMPRTVWXY"

MEANT = {
    "O": "0", "Q": "0", "D": "0", "I": "1", "L": "1", "Z": "2", "S": "5", "G": "6", "B": "8",
    "U": "V",
}  # fmt: skip
"""Letters of no code, and the sign that each looks like."""

FIRST_DAY = "2020-01-01"
DAY_SIGNS = 3
POUR_SIGNS = 4
LENGTH = DAY_SIGNS + POUR_SIGNS + 1

MOST_VALUES = 64
"""Of a row of signs that is checked."""

_DAYS = len(SIGNS) ** DAY_SIGNS
_POURS = len(SIGNS) ** POUR_SIGNS
_ID = re.compile(r"[A-Za-z0-9._-]{1,64}")
#: What may stand between signs.
_BETWEEN = re.compile("[ \t\r\n\u00a0\u202f._/–—-]")


@dataclass(frozen=True)
class Read:
    """What a code tells.

    Attributes:
        code: as it is printed.
        poured_on: the day on which its pour was begun.
    """

    code: str
    poured_on: date


def batch_code(poured_on: date | str, id: str) -> str:
    """The code of a pour: always the same for its day and its id.

    Of two pours of one day, two in 23^4 (279 841) pairs have the same code by chance, so whoever
    looks a code up shows all that have it: ``tests/formulas/test_batch_code.py`` measures it.

    Args:
        poured_on: the day on which it was begun, by the maker's calendar; 2020-01-01 to 2053-04-23.
        id: the id of the pour's record.

    Returns:
        Such as '4RJ9-989V'.

    Raises:
        InputError: no such day, or a day or an id that no code can tell.
    """
    day = ready(poured_on, 0)
    number = -days_left(FIRST_DAY, 0, day)
    if not 0 <= number < _DAYS:
        last = ready(FIRST_DAY, 0) + timedelta(days=_DAYS - 1)
        raise InputError(
            "A batch code tells days from {first} to {last}.",
            first=FIRST_DAY,
            last=last.isoformat(),
            about="poured_on",
        )
    if not _ID.fullmatch(id):
        raise InputError("“{typed}” is not the id of a pour.", typed=id, about="id")
    values = [*_values(number, DAY_SIGNS), *_values(_hash(id) % _POURS, POUR_SIGNS)]
    values.append(check_value(values, len(SIGNS)))
    return _printed(values)


def read_code(text: str) -> Read:
    """What someone typed or heard, as the code that it is.

    Args:
        text: small letters, spaces and dashes anywhere, and the letters of ``MEANT`` are taken.

    Raises:
        InputError: nothing typed, too many or too few signs, a sign of no code, or a check that
            does not agree.
    """
    typed = _BETWEEN.sub("", text)
    if not typed:
        raise InputError("Write a batch code, such as 4RJ9-989V.", about="text")
    values = [_value(each) for each in typed]
    if len(values) != LENGTH:
        raise InputError(
            "A batch code has {length} letters and digits, and this has {n}: check it against"
            " the label.",
            length=LENGTH,
            n=len(values),
            about="text",
        )
    if check_value(values[:-1], len(SIGNS)) != values[-1]:
        raise InputError(
            "“{typed}” is not a batch code: a sign is wrong, or two have changed places. Check it"
            " against the label.",
            typed=_printed(values),
            about="text",
        )
    number = 0
    for value in values[:DAY_SIGNS]:
        number = number * len(SIGNS) + value
    return Read(_printed(values), ready(FIRST_DAY, 0) + timedelta(days=number))


def check_value(values: Sequence[int], modulus: int) -> int:
    """The value of the check sign after these: Σ value·2^place comes to 1, where the check's place
    is 0 (ISO/IEC 7064, pure systems with radix 2).

    Args:
        values: 0 to ``modulus`` - 1 each, the first sign first; 1 to 64 of them.
        modulus: 3 to 1000, odd. All wrong signs and all neighbours that changed places are found
            where it is prime.

    Raises:
        InputError: a number out of range.
    """
    whole = checks.whole(modulus, message("The modulus"), 3, 1000, "modulus")
    if whole % 2 == 0:
        raise InputError("The modulus must be odd.", about="modulus")
    if not 1 <= len(values) <= MOST_VALUES:
        raise InputError(
            "Signs that are checked are 1 to {most}.", most=MOST_VALUES, about="values"
        )
    total = 0
    for value in values:
        total = (
            (total + checks.whole(value, message("A value"), 0, whole - 1, "values")) * 2 % whole
        )
    return (1 - total) % whole


def _values(number: int, length: int) -> list[int]:
    """The digits of a number to the base of the signs, the highest first."""
    found = []
    rest = number
    for _ in range(length):
        rest, digit = divmod(rest, len(SIGNS))
        found.append(digit)
    return found[::-1]


def _value(sign: str) -> int:
    # Only Latin letters have capitals here: languages part ways on what else has.
    capital = sign.upper() if sign.isascii() else sign
    value = SIGNS.find(MEANT.get(capital, capital))
    if value < 0:
        raise InputError(
            "“{sign}” is in no batch code: check it against the label.", sign=sign, about="text"
        )
    return value


def _printed(values: Sequence[int]) -> str:
    signs = "".join(SIGNS[value] for value in values)
    return f"{signs[: LENGTH // 2]}-{signs[LENGTH // 2 :]}"


def _hash(text: str) -> int:
    """FNV-1a of 32 bits (draft-eastlake-fnv)."""
    found = 0x811C9DC5
    for byte in text.encode("ascii"):
        found = (found ^ byte) * 0x01000193 & 0xFFFFFFFF
    return found
