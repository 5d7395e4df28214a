"""From which share on a sensitiser is named: CLP Annex I, table 3.4.6; Annex II, 2.8 (EUH208)."""

from collections.abc import Iterator, Sequence
from fractions import Fraction

from benchapp.desk.classify.substances import Substance
from benchapp.desk.rules import Rules

CLASSES = ("Resp. Sens.", "Skin Sens.")


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


def elicitors(rules: Rules, substances: Sequence[Substance]) -> tuple[str, ...]:
    """The names of those at or above that share, the largest first."""
    found = [
        each
        for each in substances
        if each.high > 0 and any(each.high >= one for one in elicitation_limits(rules, each))
    ]
    return tuple(each.name for each in sorted(found, key=lambda one: (-one.high, one.name)))
