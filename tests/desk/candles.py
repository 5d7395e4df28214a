"""Candles for the tests of hazard classes, written as short as can be."""

from fractions import Fraction

from benchapp.desk.classify import classify
from benchapp.desk.classify.finding import Finding
from benchapp.desk.classify.substances import Hazard, Limit, Substance
from benchapp.desk.rules import HazardClass

#: What an H statement tells beside the class.
DETAILS = {
    "oral": "oral",
    "dermal": "dermal",
    "vapour": "vapour",
    "mist": "dust_mist",
    "H335": "respiratory",
    "H336": "narcotic",
}


def hazard(text: str) -> Hazard:
    """'Skin Sens. 1B', 'Aquatic Chronic 1 M10', 'STOT SE 3 H335', 'Acute Tox. 4 oral'."""
    words = text.split()
    m = detail = None
    if words[-1].startswith("M") and words[-1][1:].isdigit():
        m = Fraction(words.pop()[1:])
    if words[-1] in DETAILS:
        detail = DETAILS[words.pop()]
    category = words.pop() if words[-1][0].isdigit() else ""
    return Hazard(HazardClass(" ".join(words), category, detail or ""), m)


def substance(
    name: str,
    percent: str | Fraction | tuple[str, str],
    *classes: str,
    limits: tuple[tuple[str, str], ...] = (),
    **more,
) -> Substance:
    """A substance; ``limits`` are such as ('Skin Sens. 1B', '0.5')."""
    low, high = percent if isinstance(percent, tuple) else (percent, percent)
    own = []
    for text, limit in limits:
        of = hazard(text).of
        own.append(Limit(of.name, of.category, Fraction(limit)))
    more = {"hazards": tuple(map(hazard, classes))} | more
    return Substance(name, Fraction(low), Fraction(high), limits=tuple(own), **more)


def filled(*substances: Substance) -> list[Substance]:
    """With a wax of which the sheet names no class, up to the whole."""
    rest = 100 - sum(each.high for each in substances)
    return [*substances, *([substance("wax", rest)] if rest > 0 else [])]


def found(*substances: Substance, **how) -> Finding:
    return classify(filled(*substances), **how)


def kinds(finding: Finding) -> list[str]:
    return [str(each) for each in finding.kinds]


def open_classes(finding: Finding) -> set[str]:
    """The classes that are left undecided."""
    return {str(each.of) for each in finding.undecided if each.of is not None}
