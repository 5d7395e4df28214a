"""The share of a substance in a product, as section 3 has it: '1 - 5', '< 1', '≥ 0,5 – < 1 %'."""

import re
from fractions import Fraction

from benchapp.desk.amounts import shown
from benchapp.desk.classify.substances import WHOLE
from benchapp.words import InputError

NUMBER = r"\d{1,9}(?:[.,]\d{1,12})?"
"""With a decimal point or comma."""

ABOVE = r"≥|⩾|>\s*=|=\s*>|>"
BELOW = r"≤|⩽|<\s*=|=\s*<|<"

_UNIT = re.compile(
    r"%|\b(?:w/w|wt|weight|vol|m/m|mass|gew|gewichts|poids|peso|approx|ca|circa|env|about|etwa)\b"
    r"|[~≈]",
    re.IGNORECASE,
)
_MIDDLE = r"(?:\s*\b(?:x|c|conc|konz)\b\.?\s*)"
_TO = r"(?:-|–|—|‐|−|\.\.\.?|…|\bto\b|\bbis\b|\bund\b|\band\b|\bà\b|\bet\b|\ba\b|\be\b|\btot\b)"
_OF = r"(?:(?:da|de|von|from)\s+)?"
_ONE = re.compile(rf"(?:=\s*)?({NUMBER})")
_FROM = re.compile(rf"(?:{_MIDDLE})?(?:{ABOVE}|\bfrom\b|\bab\b)\s*({NUMBER})", re.IGNORECASE)
_UP_TO = re.compile(rf"(?:{_MIDDLE})?(?:{BELOW}|\bup to\b|\bmax\b\.?)\s*({NUMBER})", re.IGNORECASE)
_RANGE = re.compile(
    rf"{_OF}(?:{ABOVE})?\s*({NUMBER})\s*(?:{_TO}|{BELOW})?{_MIDDLE}?\s*(?:{BELOW})\s*({NUMBER})"
    rf"|{_OF}(?:{ABOVE})?\s*({NUMBER})\s*{_TO}\s*({NUMBER})",
    re.IGNORECASE,
)


def read_share(text: str) -> tuple[Fraction, Fraction]:
    """The ends of a share, in % of the product; the same where it is one number.

    '<' and '>' are taken as '≤' and '≥': a range holds its ends.

    Raises:
        InputError: nothing is written, it is no share, its ends are upside down, or it is more than
            100 %.
    """
    plain = " ".join(_UNIT.sub(" ", text).split()).strip(" ():")
    if not plain:
        raise InputError("Write the share, as the sheet has it: such as 1 - 5.", about="share")
    low, high = _ends(plain, text)
    if low > high:
        raise InputError(
            "The range {low} to {high} % is upside down: write the smaller number first.",
            low=shown(low),
            high=shown(high),
            about="share",
        )
    if high > WHOLE:
        raise InputError(
            "{share} % is more than 100 %: look at the sheet.", share=shown(high), about="share"
        )
    return low, high


def _ends(plain: str, text: str) -> tuple[Fraction, Fraction]:
    if found := _ONE.fullmatch(plain):
        return read_number(found[1]), read_number(found[1])
    if found := _UP_TO.fullmatch(plain):
        return Fraction(0), read_number(found[1])
    if found := _FROM.fullmatch(plain):
        return read_number(found[1]), max(WHOLE, read_number(found[1]))
    if found := _RANGE.fullmatch(plain):
        low, high = (each for each in found.groups() if each is not None)
        return read_number(low), read_number(high)
    raise InputError(
        "“{text}” is no share: write a number or a range, such as 1 - 5 or < 1.",
        text=text.strip()[:40],
        about="share",
    )


def read_number(text: str) -> Fraction:
    """A number as ``NUMBER`` has it, exact."""
    return Fraction(text.replace(",", "."))
