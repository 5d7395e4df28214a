"""Acute toxicity of a mixture by its ingredients: CLP Annex I, 3.1.3.6.

100 / ATE of the mixture is the sum of share / ATE over the ingredients that count; where more than
10 % of it is of unknown toxicity, 100 less that share takes the place of 100 (UN GHS, 3.1.3.6.2.3).
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from benchapp.desk.classify.substances import WHOLE, Substance
from benchapp.desk.rules import Acute, HazardClass, Route, Source, Status

CLASS = "Acute Tox."

#: By which routes a substance may act of which a sheet says 'inhalation' and no more.
INHALED = ("vapour", "dust_mist")


@dataclass(frozen=True)
class AcutePart:
    """An ingredient that counts.

    Attributes:
        ate: what is reckoned with, in the route's unit.
        category: the category that it is in.
        converted: the estimate stands for a category, since no ATE is told.
    """

    name: str
    percent: Fraction
    ate: Fraction
    category: str
    converted: bool


@dataclass(frozen=True)
class AcuteSum:
    """Acute toxicity by one route.

    Attributes:
        parts: the ingredients that count.
        unknown: % of unknown toxicity.
        corrected: the unknown share is over 10 %, and was taken off.
        estimate: ATE of the mixture, in the route's unit; None where nothing counts.
        found: its class, or None.
        held: the table alone would say a more severe category than any ingredient is in, because
            the estimate that stands for a category lies on the edge of the next one; the most
            severe ingredient's holds.
    """

    route: Route
    parts: tuple[AcutePart, ...]
    unknown: Fraction
    corrected: bool
    estimate: Fraction | None
    found: HazardClass | None
    held: bool
    source: Source

    @property
    def tops(self) -> Iterator[tuple[str, Fraction]]:
        """Category -> what of 100 is used up where its top is the mixture's ATE: at 100 or more
        the mixture is in it. Linear in the shares, as long as the same ingredients count."""
        for category, top in self.route.tops.items():
            used = sum((top * part.percent / part.ate for part in self.parts), Fraction(0))
            yield category, used + (self.unknown if self.corrected else 0)


def acute_sum(
    acute: Acute,
    route: Route,
    substances: Sequence[Substance],
    *,
    unknown_more: Fraction = Fraction(0),
    open_details: bool = False,
) -> AcuteSum:
    """The acute toxicity of the mixture by a route, every share at its upper end.

    Args:
        unknown_more: % that counts as unknown beside what is listed.
        open_details: count what may act by this route, where a sheet leaves the route open.
    """
    parts: list[AcutePart] = []
    unknown = unknown_more
    for substance in filter(_may_count, substances):
        part = _part(acute, route, substance, open_details)
        if part is not None:
            if part.percent >= acute.counts_from[part.category] and part.percent > 0:
                parts.append(part)
        elif is_unknown(route, substance) and substance.high >= acute.unknown_counts_from:
            unknown += substance.high
    corrected = unknown > acute.unknown_over
    if not parts:
        source = route.sources[next(iter(route.tops))]
        return AcuteSum(route, (), unknown, corrected, None, None, False, source)
    used = sum((part.percent / part.ate for part in parts), Fraction(0))
    estimate = max(WHOLE - unknown if corrected else WHOLE, Fraction(0)) / used
    order = list(route.tops)
    by_table = next((name for name in order if estimate <= route.tops[name]), None)
    most_severe = min((part.category for part in parts), key=order.index)
    held = by_table is not None and order.index(by_table) < order.index(most_severe)
    category = most_severe if held else by_table
    found = None if category is None else HazardClass(CLASS, category, route.name)
    status: Status = route.sources[category or order[-1]].status
    if status == "seen" and any(part.converted for part in parts):
        status = acute.estimates_status
    source = Source(route.sources[category or order[-1]].article, status)
    return AcuteSum(route, tuple(parts), unknown, corrected, estimate, found, held, source)


def thresholds(acute: Acute, route: Route, substance: Substance) -> set[Fraction]:
    """The shares in % at which an ingredient begins to count by a route."""
    part = _part(acute, route, substance, True)
    found = {acute.counts_from[part.category]} if part is not None else set()
    return found | ({acute.unknown_counts_from} if is_unknown(route, substance) else set())


def is_unknown(route: Route, substance: Substance) -> bool:
    """Whether nothing is told of its acute toxicity by this route."""
    if route.name in substance.ate or _categories(route, substance, False):
        return False
    return substance.hazards is None or bool({CLASS, route.name} & substance.unknown)


def disagrees(route: Route, substance: Substance) -> bool:
    """Whether its estimate and its category do not belong together; the stricter is taken."""
    ate = substance.ate.get(route.name)
    categories = _categories(route, substance, False)
    return ate is not None and bool(categories) and _category_of(route, ate) not in categories


def _may_count(substance: Substance) -> bool:
    """Whether anything about acute toxicity is told or missing of it."""
    return bool(
        substance.ate
        or substance.unknown
        or substance.hazards is None
        or any(each.of.name == CLASS for each in substance.hazards)
    )


def _part(acute: Acute, route: Route, substance: Substance, open_details: bool) -> AcutePart | None:
    ate = substance.ate.get(route.name)
    if ate is not None and disagrees(route, substance):
        ate = min(ate, *(route.estimates[each] for each in _categories(route, substance, False)))
    if ate is not None:
        category = _category_of(route, ate)
        # An estimate beyond every category does not count (3.1.3.6.1 a; from memory).
        if category is None:
            return None
        return AcutePart(substance.name, substance.high, ate, category, False)
    categories = _categories(route, substance, open_details)
    if not categories:
        return None
    category = min(categories, key=list(route.tops).index)
    return AcutePart(substance.name, substance.high, route.estimates[category], category, True)


def _categories(route: Route, substance: Substance, open_details: bool) -> list[str]:
    details = {route.name}
    if open_details:
        details |= {"", *(["inhalation"] if route.name in INHALED else [])}
    return [
        each.of.category
        for each in substance.told
        if each.of.name == CLASS
        and each.of.detail in details
        and each.of.category in route.estimates
    ]


def _category_of(route: Route, ate: Fraction) -> str | None:
    return next((name for name, top in route.tops.items() if ate <= top), None)
