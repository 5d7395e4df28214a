"""What the law and standards ask of a label, as data: ``rules/*.json``, each with its article.

``gb`` and ``us`` hold what differs from ``eu``. A status says how a rule was read: 'seen' in its
text, 'second-hand' where others tell it, 'memory' not at all, 'ours' where it is our own choice.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any, Literal, cast

Status = Literal["seen", "second-hand", "memory", "ours"]

_RULES = Path(__file__).with_name("rules")


@dataclass(frozen=True)
class Rule:
    """A rule by itself: where it stands, how it was read, and its figures."""

    article: str
    status: Status
    values: Mapping[str, Any]

    @property
    def is_recalled(self) -> bool:
        """Whether nobody has read it: it keeps a label from looking finished where it decides."""
        return self.status == "memory"


@dataclass(frozen=True)
class LabelLaw:
    """The rules of a market.

    Attributes:
        clp: whether labels of chemicals are asked for as the EU and Great Britain ask.
    """

    name: str
    clp: bool
    _rules: Mapping[str, Any]

    def rule(self, name: str) -> Rule:
        """A rule by its name in the file."""
        return _rule(self._rules[name])

    def row(self, name: str, volume_ml: float | None) -> Mapping[str, Any]:
        """The row of a table for what the package holds; the first where that is not known."""
        litres = Fraction(1, 1000) if volume_ml is None else Fraction(volume_ml) / 1000
        rows: list[Mapping[str, Any]] = self._rules[name]["rows"]
        for row in rows:
            if row["to_l"] is None or litres <= Fraction(row["to_l"]):
                return row
        raise AssertionError(name)

    def least_x_mm(self, volume_ml: float | None) -> float:
        """The least height of small letters (x-height), mm."""
        return float(self.row("x_height", volume_ml)["mm"])

    def moves(self, way: str) -> Mapping[str, Rule]:
        """The parts that may stand elsewhere with 'fold_out', 'tag' or 'box', and by which rule."""
        rows: list[Mapping[str, Any]] = self._rules["moves"][way]["moves"]
        return {row["part"]: _rule(row) for row in rows}

    def stays(self, way: str) -> Mapping[str, Rule]:
        """The parts that stay on the vessel all the same."""
        rows: list[Mapping[str, Any]] = self._rules["moves"][way]["stays"]
        return {row["part"]: _rule(row) for row in rows}


def _rule(given: Mapping[str, Any]) -> Rule:
    return Rule(given["article"], cast(Status, given["status"]), given)


@cache
def label_law(market: str) -> LabelLaw:
    """The rules of 'eu', 'gb' or 'us'."""
    data = _read(market)
    if "as" in data:
        under = _read(data["as"])
        data = {
            key: {**under[key], **value}
            if isinstance(value, dict) and isinstance(under.get(key), dict)
            else value
            for key, value in {**under, **data}.items()
        }
    return LabelLaw(market, data["clp"], data)


def _read(name: str) -> dict[str, Any]:
    data: dict[str, Any] = json.loads((_RULES / f"{name}.json").read_text(encoding="utf-8"))
    return data
