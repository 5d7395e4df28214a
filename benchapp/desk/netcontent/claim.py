"""The largest weight that this batch may state."""

import math
from dataclasses import dataclass
from fractions import Fraction

from benchapp.desk.netcontent.carry import Finding, may_carry
from benchapp.desk.netcontent.law import GRAMS, Law, law_of
from benchapp.desk.netcontent.weights import Weighed, exact_g
from benchapp.words import InputError, message

SHORTEST = Fraction(4, 5)
"""No law lets a vessel hold less of what is stated: twice 9 % is missing at most, and what rounding
up to a tenth of a gram adds."""

_TENTHS = Fraction(2, 10)
_MILLIONTH = Fraction(1, 10**6)

MOST_TRIED = 200_000
"""Steps between the lightest vessel and the mean: finer ones make no sense on a label."""


@dataclass(frozen=True)
class Claim:
    """The largest weights that a batch may state, by whole steps of a unit.

    Attributes:
        sure: of those that are a yes, the largest; None where none is.
        open: a larger one that is undecided; None where none is. What would decide it is in it.
    """

    sure: Finding | None
    open: Finding | None


def highest_claim(
    weighed: Weighed, law: str, step: float | None = None, unit: str | None = None
) -> Claim:
    """The largest whole step that a batch may carry.

    It is looked for from the mean downwards, one step after another, as a larger weight is not
    always harder to state: the tolerance grows in jumps.

    Args:
        weighed: of ``weights.weighed``.
        law: 'eu', 'gb' or 'us'.
        step: what is stated goes by; 1 g or 0.1 oz, if not given.
        unit: 'g' or 'oz'; g in the EU and in Great Britain, oz in the US, if not given.

    Raises:
        InputError: no such law or unit, or a step that is too fine or out of range.
    """
    rules = law_of(law)
    chosen = rules.unit if unit is None else unit
    if chosen not in ("g", "oz"):
        raise InputError("A weight on a label goes by g or oz.", about="unit")
    default = 1.0 if chosen == "g" else 0.1
    each = exact_g(default if step is None else step, message("The step"), "step") * GRAMS[chosen]
    highest = min(weighed.mean, (weighed.least + _TENTHS) / SHORTEST)
    # A fraction of an ounce that was read is kept to its millionth of a gram.
    top = math.floor((highest + _MILLIONTH) / each)
    bottom = math.floor((weighed.least + _MILLIONTH) / each)
    if top - bottom > MOST_TRIED:
        raise InputError("That step is too fine for a label.", about="step")
    # Under the lightest vessel nothing is short any more, and a smaller weight decides no more than
    # a larger one: but for the largest that the table of tolerances has.
    last = min(bottom, math.floor(rules.rule("scope").exact("to_g") / each))
    still_open = None
    for count in (*range(top, bottom - 1, -1), last):
        if count < 1:
            break
        if _is_hopeless(weighed, count * each, rules):
            continue
        finding = may_carry(weighed, count * each, law)
        if finding.verdict == "yes":
            return Claim(finding, still_open)
        if finding.verdict == "undecided" and still_open is None:
            still_open = finding
    return Claim(None, still_open)


def _is_hopeless(weighed: Weighed, nominal: Fraction, rules: Law) -> bool:
    """Whether it is a no, by counts alone: of many steps most are."""
    allowed = rules.tolerance(nominal)
    if allowed is None:
        return False
    first = weighed.count_under(nominal - allowed.g)
    if rules.has("none_short"):
        return first > 0
    second = nominal - rules.rule("none_very_short").values["times"] * allowed.g
    return weighed.least < second or first > rules.rule("few_short").exact("share") * weighed.of
