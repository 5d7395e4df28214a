"""From which share on a sensitiser is named: CLP Annex I, table 3.4.6; Annex II, 2.8 (EUH208)."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from benchapp.desk.classify.substances import Substance
from benchapp.desk.rules import Rules, Source

CLASSES = ("Resp. Sens.", "Skin Sens.")


@dataclass(frozen=True)
class Elicitor:
    """A sensitiser that is named.

    Attributes:
        percent: its share.
        limit: from which share on it is named, in %.
    """

    name: str
    percent: Fraction
    limit: Fraction
    source: Source


def elicitation_limits(rules: Rules, substance: Substance) -> Iterator[Fraction]:
    """The shares in % from which a substance is named, one for each class that sensitises.

    It is the limit of its category, or a tenth of its specific limit where that is lower.
    """
    for hazard in substance.told:
        if hazard.of.name not in CLASSES:
            continue
        limits = [rules.elicitation[hazard.of.category]]
        limits += [
            each.limit * rules.elicitation_of_specific
            for each in substance.limits
            if each.name == hazard.of.name
        ]
        yield min(limits)


def elicitors(rules: Rules, substances: Sequence[Substance]) -> tuple[Elicitor, ...]:
    """Those at or above that share, the largest first."""
    found = []
    for each in substances:
        limits = [one for one in elicitation_limits(rules, each) if 0 < one <= each.high]
        if limits:
            found.append(Elicitor(each.name, each.high, min(limits), rules.elicitation_source))
    return tuple(sorted(found, key=lambda one: (-one.percent, one.name)))
