"""Specific concentration limits, M-factors and acute toxicity estimates, as section 3 prints them:
'Skin Sens. 1; H317: C ≥ 0,1 %', 'M = 10', 'ATE (oral) = 500 mg/kg'."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from benchapp.desk.rules import Rules
from benchapp.desk.sheets.classes import INHALED, Found, expects
from benchapp.desk.sheets.shares import ABOVE, BELOW, NUMBER
from benchapp.desk.sheets.tokens import Token, tokens_of
from benchapp.words import InputError

_C = r"(?:\s*\b[Cc]\b\s*)?"
_RANGE = (
    rf"(?P<low>{NUMBER})\s*%?\s*(?:{BELOW}){_C}(?:{BELOW})\s*{NUMBER}\s*%?"
    rf"|{_C}(?:{ABOVE})\s*(?P<from>{NUMBER})\s*%?(?:\s*[-–—]?{_C}\s*(?:{BELOW})\s*{NUMBER}\s*%?)?"
    rf"|{_C}(?P<below>{BELOW})\s*{NUMBER}\s*%?"
)
_ESTIMATE = (
    r"(?P<value>\d{1,3}(?:[  ]\d{3})+|\d{1,9}(?:[.,]\d{1,6})?)\s*"
    r"(?P<unit>mg\s*/\s*kg|mg\s*/\s*l\b|ppm\w*)(?:\s*(?:bw|kg|bodyweight|body weight|/\s*\d\s*h))?"
)
_WORDS = r"\bATE\w*\b|\b(?:SCL|specific|concentration|limits?|bw|KGW)\b|\b\d\s*h\b"
_EXTRA = rf"(?:{_ESTIMATE})|(?:{_RANGE})|(?:{_WORDS})"


@dataclass(frozen=True)
class Limits:
    """What a cell says.

    Attributes:
        limits, ate: as a composition's file has them.
        factors: M-factors.
    """

    limits: tuple[dict[str, str], ...] = ()
    factors: tuple[Token, ...] = ()
    ate: tuple[tuple[str, str], ...] = ()


def read_limits(text: str, classes: Sequence[Found], rules: Rules) -> Limits:
    """What a cell says of limits, M-factors and estimates.

    Args:
        classes: those of the substance: 'H317: C ≥ 0.1 %' is of the one that H317 belongs to.

    Raises:
        InputError: something in it can't be read.
    """
    limits: list[dict[str, str]] = []
    factors: list[Token] = []
    ate: dict[str, str] = {}
    of: list[tuple[str, str]] = []
    is_open = False
    route = ""
    others: list[str] = []
    for token, found in tokens_of(text, rules, _EXTRA):
        match token.kind:
            case "class":
                of = (
                    [*of, (token.name, token.category)]
                    if is_open
                    else [(token.name, token.category)]
                )
                is_open = True
            case "h" if not is_open:
                named = next((each for each in classes if expects(each, token.value, rules)), None)
                of = [] if named is None else [(named.name, named.category)]
            case "m":
                factors.append(token)
            case "route":
                # 'inhalation (vapour)': the narrower of the two.
                route = (
                    token.value if token.value != "inhalation" or route not in INHALED else route
                )
            case "extra" if found["value"]:
                ate[_route(route, found["unit"], token.text)] = re.sub(
                    r"[  ]", "", found["value"]
                ).replace(",", ".")
                route = ""
            case "extra" if found["low"] or found["from"] or found["below"]:
                limits += _limits(of, found, token.text)
                is_open = False
            case "other":
                others.append(token.text)
    if others:
        raise InputError(
            "“{text}” can't be read here. Write it such as Skin Sens. 1: C ≥ 0.1 %, M = 10 or "
            "ATE oral 500 mg/kg.",
            text=" ".join(others)[:60],
            about="limits",
        )
    return Limits(tuple(limits), tuple(factors), tuple(ate.items()))


def _limits(of: Sequence[tuple[str, str]], found: re.Match[str], text: str) -> list[dict[str, str]]:
    if found["below"]:
        raise InputError(
            "“{text}” says up to where, and not from where on: write the limit as ≥.",
            text=text[:40],
            about="limits",
        )
    if not of:
        raise InputError(
            "Of which class is the limit “{text}”? Write the class before it, such as Skin Sens. "
            "1: C ≥ 0.1 %.",
            text=text[:40],
            about="limits",
        )
    least = (found["low"] or found["from"]).replace(",", ".")
    return [{"class": name, "category": category, "from": least} for name, category in of]


def _route(route: str, unit: str, text: str) -> str:
    plain = re.sub(r"\s", "", unit).lower()
    if plain.startswith("ppm") and route in ("", "inhalation", "gas"):
        return "gas"
    if route in ("oral", "dermal") and plain == "mg/kg":
        return route
    if route in ("vapour", "dust_mist") and plain == "mg/l":
        return route
    if route in ("", "inhalation") and plain == "mg/l":
        raise InputError(
            "“{text}”: is that inhaled as vapour, or as dust or mist? Write it beside the number.",
            text=text[:40],
            about="limits",
        )
    raise InputError(
        "“{text}”: write by which route, such as ATE oral 500 mg/kg, or ATE vapour 11 mg/l.",
        text=text[:40],
        about="limits",
    )
