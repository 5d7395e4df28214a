"""The rules on net content of a place, as data: each with its article, and where it was read."""

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any

from benchapp.words import InputError

LAWS = ("eu", "gb", "us")

SEEN = "seen"
"""The status of what was read in the text itself; the others are 'second-hand' and 'memory'."""

GRAMS = {"g": Fraction(1), "oz": Fraction("28.349523125"), "lb": Fraction("453.59237")}
"""Grams of a unit: the international ounce and pound of 1959, exact."""

_RULES = Path(__file__).with_name("rules")


@dataclass(frozen=True)
class Rule:
    """A rule by itself.

    Attributes:
        article: where it stands.
        status: where it was read: 'seen', 'second-hand' or 'memory'.
        note: what else is to be known of that; mostly empty.
        values: its figures, by their names in the file.
    """

    article: str
    status: str
    note: str
    values: Mapping[str, Any]

    def exact(self, name: str) -> Fraction:
        """One of its figures."""
        return Fraction(self.values[name])


@dataclass(frozen=True)
class Tolerance:
    """By how much a vessel may fall short of what is stated, grams; its own status may be weaker
    than its table's."""

    g: Fraction
    status: str
    note: str


@dataclass(frozen=True)
class Law:
    """The rules of one place.

    Attributes:
        name: 'eu', 'gb' or 'us'.
        edition: which text, and when it was read.
        unit: the unit that its weights are stated in first: 'g' or 'oz'.
    """

    name: str
    edition: str
    unit: str
    _rules: Mapping[str, Any]

    def rule(self, name: str) -> Rule:
        """A rule by its name in the file."""
        given = self._rules[name]
        return Rule(given["article"], given["status"], given.get("note", ""), given)

    def has(self, name: str) -> bool:
        """Whether there is such a rule here."""
        return name in self._rules

    def tolerance(self, nominal_g: Fraction) -> Tolerance | None:
        """How far a vessel may fall short of ``nominal_g``; None where no row of the table has it.

        A percentage is rounded up to 0.1 g where the law has it so.
        """
        scope = self.rule("scope")
        if not scope.exact("from_g") <= nominal_g <= scope.exact("to_g"):
            return None
        table = self.rule("tolerance")
        unit = GRAMS[table.values["unit"]]
        row = band(table.values["bands"], nominal_g / unit)
        if row is None:
            return None
        if "percent" in row:
            g = nominal_g * Fraction(row["percent"]) / 100
            if "up_to_g" in table.values:
                step = table.exact("up_to_g")
                g = math.ceil(g / step) * step
        else:
            g = Fraction(row[table.values["unit"]]) * unit
        return Tolerance(g, row["status"], row.get("note", table.note))


def law_of(name: str) -> Law:
    """The rules of a place, as ``LAWS`` names it.

    Raises:
        InputError: no such place.
    """
    if name not in LAWS:
        raise InputError(
            "There are rules on net content of the EU, of Great Britain and of the US.",
            about="law",
        )
    return _read(name)


@cache
def _read(name: str) -> Law:
    given = json.loads((_RULES / f"{name}.json").read_text(encoding="utf-8"))
    return Law(given["law"], given["edition"], given["unit"], given)


def band(rows: Sequence[Mapping[str, Any]], value: Fraction) -> Mapping[str, Any] | None:
    """The row that ``value`` falls into: above its ``over`` and not above its ``to``, if any. The
    first row holds its lower end as well."""
    for index, row in enumerate(rows):
        low = Fraction(row["over"])
        if (low < value or (index == 0 and value == low)) and (
            row["to"] is None or value <= Fraction(row["to"])
        ):
            return row
    return None
