"""What to aim for at the next pour, so that it may carry the weight that is to be stated."""

from dataclasses import dataclass
from fractions import Fraction
from statistics import NormalDist

from benchapp.desk.netcontent.carry import stated_g
from benchapp.desk.netcontent.law import SEEN, Law, law_of
from benchapp.desk.netcontent.weights import MOST_G, MOST_VESSELS
from benchapp.formulas import checks, rounding
from benchapp.formulas.student_t import t_quantile
from benchapp.words import InputError, message

SURE = 0.95
"""The chance that a batch poured to the aim may carry what is to be stated, as long as the vessels
scatter normally about the aim, by the spread that was given."""

IN_THE_LONG_RUN = 0.025
"""Of the vessels may lie under the first tolerance: 1.96 s (76/211/EEC as it is usually read)."""

ONE_IN = 1e-4
"""So many vessels may lie under the second tolerance: 3.72 s (a choice of ours: none may)."""


@dataclass(frozen=True)
class Part:
    """One reason for an aim.

    Attributes:
        name: 'average', 'none_under_first', 'long_run_first', 'long_run_second' or 'none_short'.
        least_g: what it asks to aim for, grams.
        is_sure: whether ``sure_g`` goes by it.
        is_usual: whether ``usual_g`` does.
    """

    name: str
    least_g: float
    is_sure: bool
    is_usual: bool


@dataclass(frozen=True)
class Aim:
    """What to aim for.

    Attributes:
        sure_g: so that the batch is a yes of ``may_carry``, rounded up to the step.
        usual_g: so that it is one by the rules as they are usually read, or as they are
            remembered; rounded up to the step, and never more than ``sure_g``.
        parts: where both come from.
    """

    sure_g: float
    usual_g: float
    parts: tuple[Part, ...]


def aim_for(
    nominal_g: float | Fraction,
    spread_g: float,
    n: int,
    law: str,
    *,
    known_from: int | None = None,
    step_g: float = 0.1,
) -> Aim:
    """What to fill each of ``n`` vessels to.

    With s the spread, q(p) the normal quantile (Student's t of ``known_from`` - 1 instead, where
    the spread comes of so few vessels) and Qn what is to be stated, the aim is at least

    - Qn + q(0.975)·s/√n, so that the mean of the n is not below it;
    - T1 + q(1 - 0.025/n)·s, so that none of the n lies under the first tolerance; where the table
      of tolerances was not read, Qn instead of T1, so that none is short at all.

    Each fails with a chance of 2.5 % at most (Bonferroni), so both hold with 95 %. By the rules as
    they are usually read, T1 + 1.96 s and T2 + 3.72 s do instead of the second: at most 2.5 % under
    T1 and 1 in 10 000 under T2 in the long run; the sure aim keeps to the latter too. Computed from
    76/211/EEC, Annex I 1, and from the normal distribution; what they are to hold with is ours.

    Args:
        nominal_g: what is to be stated, grams.
        spread_g: the standard deviation of fills, grams; 0 to 10 kg.
        n: how many vessels the pour fills, 1 to 10 000.
        law: 'eu', 'gb' or 'us'.
        known_from: how many vessels the spread was measured on, 2 or more; without it, it is taken
            for known.
        step_g: what the aim is rounded up to, grams.

    Raises:
        InputError: no such law, a number out of range, or a stated weight that the table of
            tolerances has no row for.
    """
    rules = law_of(law)
    nominal = stated_g(nominal_g)
    spread = checks.within(spread_g, message("The spread"), 0, MOST_G / 10, "spread_g")
    count = checks.whole(n, message("How many vessels there are"), 1, MOST_VESSELS, "n")
    df = None
    if known_from is not None:
        name = message("How many vessels the spread was measured on")
        df = checks.whole(known_from, name, 2, MOST_VESSELS, "known_from") - 1
    parts = _parts(rules, nominal, spread, count, df)
    sure = max(part.least_g for part in parts if part.is_sure)
    usual = max(part.least_g for part in parts if part.is_usual)
    return Aim(rounding.round_up(sure, step_g), rounding.round_up(usual, step_g), parts)


def _parts(law: Law, nominal: Fraction, s: float, n: int, df: int | None) -> tuple[Part, ...]:
    allowed = law.tolerance(nominal)
    if allowed is None:
        raise InputError(
            "The table of tolerances has no row for that weight: nothing says what to aim for.",
            about="nominal_g",
        )
    each_fails = (1 - SURE) / 2
    stated, first = float(nominal), float(nominal - allowed.g)
    mean = stated + _beyond(each_fails, df) * s / n**0.5
    none_of_n = _beyond(each_fails / n, df) * s
    was_read = allowed.status == SEEN
    parts = [Part("average", mean, is_sure=True, is_usual=True)]
    if law.has("none_very_short"):
        second = float(nominal - law.rule("none_very_short").values["times"] * allowed.g)
        at_first = first + _beyond(IN_THE_LONG_RUN, df) * s
        at_second = second + _beyond(ONE_IN, df) * s
        parts.append(Part("long_run_first", at_first, is_sure=False, is_usual=True))
        parts.append(Part("long_run_second", at_second, is_sure=True, is_usual=True))
        parts.append(Part("none_under_first", first + none_of_n, is_sure=was_read, is_usual=False))
    else:
        parts.append(Part("none_under_first", first + none_of_n, is_sure=was_read, is_usual=True))
    if not was_read:
        parts.append(Part("none_short", stated + none_of_n, is_sure=True, is_usual=False))
    return tuple(parts)


def _beyond(chance: float, df: int | None) -> float:
    """What only this share lies beyond."""
    return NormalDist().inv_cdf(1 - chance) if df is None else t_quantile(1 - chance, df)
