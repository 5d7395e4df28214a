"""What a candle is made of, as safety data sheets tell it: substances, their shares and classes."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction

from benchapp.desk.amounts import shown
from benchapp.desk.rules import HazardClass
from benchapp.words import InputError, Message, message

WHOLE = Fraction(100)
"""Shares are in % by weight."""


@dataclass(frozen=True)
class Hazard:
    """A class of a substance.

    Attributes:
        of: the class; its detail is '' where the sheet does not tell it.
        m: the M-factor (1, 10, 100 …); None: not told.
        h: the H statement that stands beside it on the sheet, '' where none does.
    """

    of: HazardClass
    m: Fraction | None = None
    h: str = ""


@dataclass(frozen=True)
class Limit:
    """A specific concentration limit of a substance, in % (CLP Annex I, 1.1.2; Annex VI)."""

    name: str
    category: str
    limit: Fraction


@dataclass(frozen=True)
class Substance:
    """A substance in the candle.

    Attributes:
        low, high: the ends of its share, % by weight of the whole; the same where it is known.
        hazards: its classes; empty: its sheet names none; None: nothing is told.
        ate: acute toxicity estimates by route, in the route's unit.
        unknown: classes, and routes of acute toxicity, on which its sheet has no data.
        additive: whether adding applies to it for skin and eyes; not to acids, bases, phenols,
            aldehydes, surfactants and the like (CLP Annex I, 3.2.3.3.4). None: not told.
        supplemental: EUH statements of its own, such as EUH066.
        materials: the names of what it came in with.
        told_by: what would tell its classes; None: its sheet.
    """

    name: str
    low: Fraction
    high: Fraction
    hazards: tuple[Hazard, ...] | None = ()
    cas: str = ""
    ec: str = ""
    ate: Mapping[str, Fraction] = field(default_factory=dict)
    limits: tuple[Limit, ...] = ()
    unknown: frozenset[str] = frozenset()
    additive: bool | None = None
    supplemental: tuple[str, ...] = ()
    materials: tuple[str, ...] = ()
    told_by: Message | None = None

    @property
    def told(self) -> tuple[Hazard, ...]:
        """Its classes, as far as they are told."""
        return self.hazards or ()

    def times(self, part: Fraction) -> "Substance":
        """The same, where what it is in is this part of the whole."""
        return replace(self, low=self.low * part, high=self.high * part)

    def at_its_lowest(self) -> "Substance":
        """The same, at the lower end of its range."""
        return replace(self, high=self.low)


def check_sum(substances: Iterable[Substance]) -> None:
    """Raises InputError where the lower ends of their shares come to more than the whole."""
    least = sum((each.low for each in substances), Fraction(0))
    if least > WHOLE:
        raise InputError(
            "The shares come to {sum} %, which is more than 100 %.",
            sum=shown(least),
            about="percent",
        )


def rest_of(substances: Iterable[Substance]) -> Fraction:
    """What of the whole no substance is listed for, in %, with every share at its upper end."""
    return max(Fraction(0), WHOLE - sum((each.high for each in substances), Fraction(0)))


def merged(given: Sequence[Substance]) -> tuple[list[Substance], list[Message]]:
    """Each substance once, its shares added over whatever it came in, and what to say of it.

    The same substance has the same CAS or EC number, or, where numbers do not tell them apart, the
    same name. What two sheets say of it is taken together: every class, the highest M-factor, the
    lowest limit and the lowest estimate.
    """
    numbers_of: dict[str, set[str]] = {}
    for each in given:
        numbers_of.setdefault(_plain(each.name), set()).update({each.cas} - {""})
    alike: dict[str, int] = {}
    parent = list(range(len(given)))

    def root(place: int) -> int:
        while parent[place] != place:
            place = parent[place]
        return place

    for place, each in enumerate(given):
        keys = [f"cas {each.cas}"] * bool(each.cas) + [f"ec {each.ec}"] * bool(each.ec)
        if len(numbers_of[_plain(each.name)]) <= 1:
            keys.append(f"name {_plain(each.name)}")
        for key in keys:
            first, second = sorted((root(alike.setdefault(key, place)), root(place)))
            parent[second] = first
    found: dict[int, list[Substance]] = {}
    for place, each in enumerate(given):
        found.setdefault(root(place), []).append(each)
    notes = [note for entries in found.values() for note in _notes(entries)]
    return [_one(entries) for entries in found.values()], notes


def _plain(name: str) -> str:
    return " ".join(name.casefold().split())


def _one(entries: Sequence[Substance]) -> Substance:
    first = entries[0]
    if len(entries) == 1:
        return first
    told = [each.hazards for each in entries if each.hazards is not None]
    hazards: dict[HazardClass, Hazard] = {}
    for each in (hazard for some in told for hazard in some):
        before = hazards.get(each.of)
        if before is None or (each.m or 0) > (before.m or 0):
            hazards[each.of] = each
    ate: dict[str, Fraction] = {}
    limits: dict[tuple[str, str], Limit] = {}
    for entry in entries:
        for route, value in entry.ate.items():
            ate[route] = min(value, ate.get(route, value))
        for limit in entry.limits:
            key = (limit.name, limit.category)
            limits[key] = min(limit, limits.get(key, limit), key=lambda one: one.limit)
    return Substance(
        name=first.name,
        low=sum((each.low for each in entries), Fraction(0)),
        high=sum((each.high for each in entries), Fraction(0)),
        hazards=tuple(hazards.values()) if told else None,
        cas=next((each.cas for each in entries if each.cas), ""),
        ec=next((each.ec for each in entries if each.ec), ""),
        ate=ate,
        limits=tuple(limits.values()),
        unknown=frozenset().union(*(each.unknown for each in entries)),
        additive=_least_additive([each.additive for each in entries]),
        supplemental=tuple(dict.fromkeys(code for each in entries for code in each.supplemental)),
        materials=tuple(dict.fromkeys(name for each in entries for name in each.materials)),
        told_by=next((each.told_by for each in entries if each.told_by), None),
    )


def _least_additive(told: Sequence[bool | None]) -> bool | None:
    if False in told:
        return False
    return None if None in told else True


def _notes(entries: Sequence[Substance]) -> Iterable[Message]:
    if len(entries) == 1:
        return
    yield message("{name} is in it more than once: its shares are added up.", name=entries[0].name)
    if len({_facts(each) for each in entries}) > 1:
        yield message(
            "What is told of {name} differs from one place to another: the stricter is taken. "
            "Look at its sheets.",
            name=entries[0].name,
        )


def _facts(each: Substance) -> object:
    return (
        None if each.hazards is None else frozenset(each.hazards),
        frozenset(each.ate.items()),
        frozenset(each.limits),
        each.unknown,
        each.additive,
        frozenset(each.supplemental),
    )
