"""At which loads of a fragrance the class of a candle changes, exactly.

A share in the candle is linear in the part of it that is oil. Between the parts at which an
ingredient begins to count, so is every sum; where a sum meets its limit is therefore solved, and
nothing is scanned. All in fractions.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Literal

from benchapp.desk.classify.acute import AcuteSum, acute_sum
from benchapp.desk.classify.acute import thresholds as acute_thresholds
from benchapp.desk.classify.classifying import M_FACTORS, classify, without_m
from benchapp.desk.classify.finding import Finding
from benchapp.desk.classify.sensitisers import elicitation_limits
from benchapp.desk.classify.substances import WHOLE, Substance, merged, rest_of
from benchapp.desk.classify.sums import LEAST_M, outcome
from benchapp.desk.classify.sums import thresholds as sum_thresholds
from benchapp.desk.rules import Group, Rules, rules_of
from benchapp.words import InputError

Basis = Literal["wax", "total"]

_ZERO = Fraction(0)


@dataclass(frozen=True)
class Stretch:
    """Loads with one and the same finding.

    Attributes:
        low, high: the ends, as fractions of the wax or of the total; the same for a single load.
        with_low, with_high: whether the ends belong to it.
        finding: what is found inside it (at its load, where it is a single one), without the one
            at the lower ends.
    """

    low: Fraction
    high: Fraction
    with_low: bool
    with_high: bool
    finding: Finding


def changes(
    oil: Sequence[Substance],
    wax: Sequence[Substance],
    *,
    most: Fraction,
    basis: Basis = "wax",
    rules: str = "eu",
    viscosity: Fraction | None = None,
) -> tuple[Stretch, ...]:
    """The stretches of load from none to ``most``, from the lowest to the highest.

    Args:
        oil: what is in the oil, in % of the oil.
        wax: what is in the wax, and all else that the oil comes to, in % of that.
        most: the highest load, a fraction: above 0, at most 1 of the wax or 1/2 of the total.
        basis: whether loads are of the wax, or of wax and oil together.
        rules: as for ``classify``.
        viscosity: of the whole, as for ``classify``; taken as the same at every load.

    Raises:
        InputError: a load out of range, and whatever ``classify`` refuses.
    """
    top = Fraction(1) if basis == "wax" else Fraction(1, 2)
    if not 0 < most <= top:
        raise InputError(
            "The highest load must be above 0, and at most {top} %.",
            top=int(top * 100),
            about="most",
        )
    known = rules_of(rules)

    def candle(part: Fraction) -> list[Substance]:
        return _candle(oil, wax, part)

    last = most / (1 + most) if basis == "wax" else most
    points = _points(candle, last, known)

    def found(part: Fraction) -> Finding:
        return classify(candle(part), rules, viscosity=viscosity, lower=False)

    return tuple(_stretches(points, found, basis))


def _candle(oil: Sequence[Substance], wax: Sequence[Substance], part: Fraction) -> list[Substance]:
    return [each.times(part) for each in oil] + [each.times(1 - part) for each in wax]


def _stretches(
    points: Sequence[Fraction], found: Callable[[Fraction], Finding], basis: Basis
) -> Iterator[Stretch]:
    """Alike neighbours are one: points and what lies between them, in turn."""
    runs: list[Stretch] = []

    def add(low: Fraction, high: Fraction, single: bool) -> None:
        finding = found((low + high) / 2)
        if runs and runs[-1].finding.summary == finding.summary:
            before = runs.pop()
            inner = before.finding if before.low < before.high or single else finding
            runs.append(Stretch(before.low, high, before.with_low, single, inner))
        else:
            runs.append(Stretch(low, high, single, single, finding))

    for place, point in enumerate(points):
        if place:
            add(points[place - 1], point, False)
        add(point, point, True)
    for run in runs:
        yield Stretch(
            _load(run.low, basis), _load(run.high, basis), run.with_low, run.with_high, run.finding
        )


def _load(part: Fraction, basis: Basis) -> Fraction:
    return part / (1 - part) if basis == "wax" else part


# ---- where something may change ----------------------------------------------------------------


def _points(
    candle: Callable[[Fraction], list[Substance]], last: Fraction, rules: Rules
) -> list[Fraction]:
    """The parts of oil from 0 to ``last`` at which any sum may meet its limit."""
    first, _ = merged(candle(_ZERO))
    end = {_key(each): each for each in merged(candle(last))[0]}
    points = {_ZERO, last}
    for substance in first:
        there = end[_key(substance)]
        for share in _thresholds(rules, there):
            points |= _crossing(_ZERO, last, substance.high - share, there.high - share)

    def unknowns(part: Fraction) -> dict[object, Fraction]:
        substances, _ = merged(candle(part))
        rest = WHOLE - sum((each.high for each in substances), _ZERO)
        found: dict[object, Fraction] = {"rest": rest}
        for sums, key in _acute(rules, substances):
            found[key] = sums.unknown - rules.acute.unknown_over
        return found

    def tallies(part: Fraction) -> dict[object, Fraction]:
        return dict(_tallies(rules, merged(candle(part))[0]))

    return _refined(_refined(sorted(points), unknowns), tallies)


def _key(substance: Substance) -> tuple[str, str, str]:
    return substance.cas, substance.ec, substance.name


def _thresholds(rules: Rules, substance: Substance) -> set[Fraction]:
    found = {
        share
        for group in rules.groups
        for m in _factors(group, [substance])
        for share in sum_thresholds(group, substance, m)
    }
    found |= set(elicitation_limits(rules, substance))
    for route in rules.acute.routes.values():
        found |= acute_thresholds(rules.acute, route, substance)
    return found


def _factors(group: Group, substances: Sequence[Substance]) -> Sequence[Fraction]:
    """The M-factors to try: all, where one is not told that matters in the group."""
    return M_FACTORS if group.by_m and without_m(group, substances) else (LEAST_M,)


def _tallies(rules: Rules, substances: Sequence[Substance]) -> Iterator[tuple[object, Fraction]]:
    """Every sum less its limit, also as it would be if what is left open were otherwise."""
    for group in rules.groups:
        for m in _factors(group, substances):
            for tally in outcome(group, substances, least_m=m).tallies:
                yield ("m", m, tally.key), tally.total - tally.limit
        if group.detail:
            for tally in outcome(group, substances, open_details=True).tallies:
                yield ("open", tally.key), tally.total - tally.limit
        if group.looks_alone:
            for tally in outcome(group, substances, alone=True).tallies:
                yield ("alone", tally.key), tally.total - tally.limit
    for sums, key in _acute(rules, substances):
        for category, used in sums.tops:
            yield (key, category), used - WHOLE


def _acute(
    rules: Rules, substances: Sequence[Substance]
) -> Iterator[tuple[AcuteSum, tuple[str, str]]]:
    rest = rest_of(substances)
    for name, route in rules.acute.routes.items():
        yield acute_sum(rules.acute, route, substances), ("told", name)
        yield acute_sum(rules.acute, route, substances, open_details=True), ("open", name)
        yield acute_sum(rules.acute, route, substances, unknown_more=rest), ("rest", name)


def _refined(
    points: Sequence[Fraction], lines: Callable[[Fraction], dict[object, Fraction]]
) -> list[Fraction]:
    """The points, and between each two of them where one of the lines crosses zero."""
    found = set(points)
    for low, high in pairwise(points):
        third = (high - low) / 3
        a, b = low + third, high - third
        at_a, at_b = lines(a), lines(b)
        for key in at_a.keys() & at_b.keys():
            rise = (at_b[key] - at_a[key]) / third
            found |= _crossing(low, high, at_a[key] - rise * third, at_b[key] + rise * third)
    return sorted(found)


def _crossing(low: Fraction, high: Fraction, at_low: Fraction, at_high: Fraction) -> set[Fraction]:
    """Where a line from ``at_low`` to ``at_high`` is zero, if that lies between ``low`` and
    ``high``."""
    if at_low == at_high:
        return set()
    where = low + (high - low) * at_low / (at_low - at_high)
    return {where} if low < where < high else set()


def finding_at(stretches: Iterable[Stretch], load: Fraction) -> Finding:
    """The finding of the stretch that a load lies in.

    Raises:
        InputError: no stretch holds it.
    """
    for each in stretches:
        above = load > each.low or (each.with_low and load == each.low)
        below = load < each.high or (each.with_high and load == each.high)
        if above and below:
            return each.finding
    raise InputError("The load lies outside what was asked for.", about="load")
