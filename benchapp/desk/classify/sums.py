"""Shares held against limits: the concentration rules of all classes but acute toxicity.

A row sums its ingredients, each times a weight, or looks at each alone. An ingredient with a
specific limit of its own counts by that: its share over its limit stands for as much of the row's
limit (CLP Annex I, 1.1.2: it replaces the generic one both ways; that shares are then added as
parts of their limits is from memory: ECHA's guidance on CLP, 3.2.3.3).
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from benchapp.desk.classify.substances import Hazard, Substance
from benchapp.desk.rules import Group, HazardClass, Row, Source, Term

#: An M-factor that is not told is at least this.
LEAST_M = Fraction(1)


@dataclass(frozen=True)
class Part:
    """What one ingredient adds to a sum: its share in %, times its weight."""

    name: str
    percent: Fraction
    times: Fraction

    @property
    def adds(self) -> Fraction:
        return self.percent * self.times


@dataclass(frozen=True)
class Tally:
    """A sum held against its limit.

    Attributes:
        key: the row, and for one ingredient alone its name too.
        below: ingredients that are in it, and too little of them to count.
        limit: in %.
    """

    key: tuple[str, str]
    gives: HazardClass
    alone: bool
    parts: tuple[Part, ...]
    below: tuple[Part, ...]
    limit: Fraction
    source: Source

    @property
    def total(self) -> Fraction:
        return sum((part.adds for part in self.parts), Fraction(0))

    @property
    def reached(self) -> bool:
        """At or above the limit. Where nothing counts, no limit is reached."""
        return bool(self.parts) and self.total >= self.limit


@dataclass(frozen=True)
class Outcome:
    """What a group of rows comes to.

    Attributes:
        found: the most severe class whose limit is reached, or None.
        reached: the tallies that reach it.
        tallies: all of the group that have something in them, the most severe first.
    """

    found: HazardClass | None
    reached: tuple[Tally, ...]
    tallies: tuple[Tally, ...]

    @property
    def above(self) -> tuple[Tally, ...]:
        """The tallies of more severe classes, which did not reach their limits."""
        if self.found is None:
            return self.tallies
        first = next(place for place, one in enumerate(self.tallies) if one.gives == self.found)
        return self.tallies[:first]


def outcome(
    group: Group,
    substances: Sequence[Substance],
    *,
    least_m: Fraction = LEAST_M,
    open_details: bool = False,
    alone: bool = False,
) -> Outcome:
    """Hold the shares, at their upper ends, against a group of rows.

    Args:
        least_m: what is taken for an M-factor that is not told.
        open_details: count what may belong here, where a sheet leaves it open.
        alone: look at those alone of which it is not told whether adding applies.
    """
    names = {term.name for row in group.rows for term in row.terms}
    members = [each for each in substances if any(one.of.name in names for one in each.told)]
    tallies = tuple(
        tally
        for row in group.rows
        for tally in _tallies(row, group, members, least_m, open_details, alone)
    )
    found = next((tally.gives for tally in tallies if tally.reached), None)
    reached = tuple(tally for tally in tallies if tally.reached and tally.gives == found)
    return Outcome(found, reached, tallies)


def thresholds(group: Group, substance: Substance, least_m: Fraction = LEAST_M) -> set[Fraction]:
    """The shares in % at which an ingredient begins to count in a group, or reaches its limit
    alone: between them, every sum of the group is linear in the shares."""
    found: set[Fraction] = set()
    for row in group.rows:
        own = specific_limit(row, substance)
        for term, hazard in _members(row, group, substance, True):
            m = _m(hazard, least_m)
            if row.how == "sum":
                found.add(_counts_from(term, m, own))
            else:
                found.add(row.limit if own is None else own)
    return found


def specific_limit(row: Row, substance: Substance) -> Fraction | None:
    """The substance's own limit for a row, or None where the generic one holds.

    A limit for another category than the substance has does not make the generic one laxer.
    """
    limits = [
        each
        for each in substance.limits
        if each.name == row.gives.name and each.category in row.own
    ]
    if not limits:
        return None
    its_own = {each.of.category for each in substance.told if each.of.name == row.gives.name}
    fitting = [each.limit for each in limits if each.category in its_own | {row.gives.category}]
    least = min(fitting or [each.limit for each in limits])
    return least if fitting else min(least, row.limit)


def _tallies(
    row: Row,
    group: Group,
    substances: Sequence[Substance],
    least_m: Fraction,
    open_details: bool,
    alone: bool,
) -> Iterator[Tally]:
    if row.how == "sum":
        counted: list[Part] = []
        below: list[Part] = []
        for substance in substances:
            found = _adds(row, group, substance, least_m, open_details)
            if found is not None:
                part, counts = found
                (counted if counts else below).append(part)
        if counted or below:
            yield Tally(
                (row.key, ""),
                row.gives,
                False,
                tuple(counted),
                tuple(below),
                row.limit,
                row.source,
            )
        return
    for substance in substances:
        if row.how == "not-additive" and not (
            substance.additive is False or (alone and substance.additive is None)
        ):
            continue
        if substance.high > 0 and any(_members(row, group, substance, open_details)):
            own = specific_limit(row, substance)
            part = Part(substance.name, substance.high, Fraction(1))
            limit = row.limit if own is None else own
            key = (row.key, substance.name)
            yield Tally(key, row.gives, True, (part,), (), limit, row.source)


def _adds(
    row: Row, group: Group, substance: Substance, least_m: Fraction, open_details: bool
) -> tuple[Part, bool] | None:
    """What an ingredient adds, by the heaviest of the terms that it falls under: it is counted
    once, whatever else it is."""
    if substance.high <= 0:
        return None
    own = specific_limit(row, substance)
    best: tuple[bool, Fraction] | None = None
    for term, hazard in _members(row, group, substance, open_details):
        m = _m(hazard, least_m)
        times = term.times * (m if term.by_m else 1) if own is None else row.limit / own
        counts = substance.high >= _counts_from(term, m, own)
        if best is None or (counts, times) > best:
            best = (counts, times)
    if best is None:
        return None
    return Part(substance.name, substance.high, best[1]), best[0]


def _members(
    row: Row, group: Group, substance: Substance, open_details: bool
) -> Iterator[tuple[Term, Hazard]]:
    for term in row.terms:
        for hazard in substance.told:
            if hazard.of.name != term.name or hazard.of.category not in term.categories:
                continue
            detail = hazard.of.detail
            if detail in ("", group.detail) and (detail or open_details or not group.detail):
                yield term, hazard


def _m(hazard: Hazard, least_m: Fraction) -> Fraction:
    return least_m if hazard.m is None else hazard.m


def _counts_from(term: Term, m: Fraction, own: Fraction | None) -> Fraction:
    """From which share on an ingredient counts: a lower specific limit goes before."""
    if term.counts_from is None:
        return Fraction(0)
    generic = term.counts_from / (m if term.by_m or term.cutoff_by_m else 1)
    return generic if own is None else min(generic, own)
