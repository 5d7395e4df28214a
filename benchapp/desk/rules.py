"""Rules of law as data: the limits and concentration rules of ``rules/*.json``, read and typed.

Each row carries its article and how it was read (``status``); an edition is a file. ``gb`` and
``un`` hold what differs from ``eu``. Sources: Regulation (EC) No 1272/2008 (CLP), Annexes I, II and
IV; UN GHS, by its worked examples; ADR 2.2.9 and the German technical rule TRGS 201 where the same
figures were read there.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import Any, Literal

from benchapp.words import InputError

Status = Literal["seen", "second-hand", "memory"]
"""How a rule was read: in the law or an official example, where others copied it, not at all."""

How = Literal["sum", "each", "not-additive"]

NAMES = ("eu", "gb", "un")

_DIRECTORY = Path(__file__).with_name("rules")


@dataclass(frozen=True)
class HazardClass:
    """A hazard class with its category.

    Attributes:
        name: as in CLP, such as 'Skin Sens.'.
        category: such as '1A'; '' where a class has none.
        detail: the route of acute toxicity (a key of ``Acute.routes``); 'respiratory' or 'narcotic'
            for STOT SE 3.
    """

    name: str
    category: str
    detail: str = ""

    def __str__(self) -> str:
        return f"{self.name} {self.category}".strip()


@dataclass(frozen=True)
class Source:
    """Where a rule stands, and how it was read."""

    article: str
    status: Status


@dataclass(frozen=True)
class Term:
    """What a row sums: substances of these categories, times a weight.

    Attributes:
        counts_from: the share in % from which an ingredient counts; None where its limit decides.
        by_m: the share is multiplied by the M-factor (and ``counts_from`` divided by it).
        cutoff_by_m: only ``counts_from`` is divided by it.
    """

    name: str
    categories: frozenset[str]
    times: Fraction
    counts_from: Fraction | None
    by_m: bool
    cutoff_by_m: bool


@dataclass(frozen=True)
class Row:
    """A concentration rule.

    Attributes:
        key: its own name, from its group and its place in it.
        gives: the class of the mixture where the limit is reached.
        how: 'sum': ingredients are added; 'each': one alone reaches the limit; 'not-additive': as
            'each', of those to which adding does not apply.
        limit: % by weight of the whole mixture, reached at or above.
        own: the categories of ``gives.name`` whose specific limits replace the generic one.
    """

    key: str
    gives: HazardClass
    how: How
    terms: tuple[Term, ...]
    limit: Fraction
    own: frozenset[str]
    source: Source


@dataclass(frozen=True)
class Group:
    """Rows of which the first that is reached decides, the most severe first."""

    id: str
    rows: tuple[Row, ...]
    detail: str

    @property
    def by_m(self) -> bool:
        """Whether M-factors matter in it."""
        return any(term.by_m for row in self.rows for term in row.terms)

    @property
    def looks_alone(self) -> bool:
        """Whether it matters in it that adding may not apply."""
        return any(row.how == "not-additive" for row in self.rows)


@dataclass(frozen=True)
class Route:
    """A route of acute toxicity: tops and converted point estimates of the categories, in ``unit``.

    Attributes:
        tops: category -> the highest estimate (ATE) that is still in it.
        estimates: category -> what stands for it where no ATE is known.
        sources: category -> where the top stands.
    """

    name: str
    unit: str
    tops: Mapping[str, Fraction]
    estimates: Mapping[str, Fraction]
    sources: Mapping[str, Source]


@dataclass(frozen=True)
class Acute:
    """Acute toxicity: CLP Annex I, 3.1."""

    routes: Mapping[str, Route]
    counts_from: Mapping[str, Fraction]
    unknown_counts_from: Fraction
    unknown_over: Fraction
    estimates_status: Status


@dataclass(frozen=True)
class LabelRow:
    """The label elements of a class.

    Attributes:
        details: the details of the class that it is for; empty: any.
        names: whether the substances that cause it are named on the label.
        irritation: whether it irritates skin or eyes, for the precedence of pictograms.
        hazard: what it is a hazard to.
    """

    name: str
    categories: frozenset[str]
    details: frozenset[str]
    h: str
    signal: str | None
    pictogram: str | None
    names: bool
    irritation: bool
    hazard: Literal["health", "environment"]
    status: Status

    def fits(self, found: HazardClass) -> bool:
        """Whether it is the row of this class."""
        return (
            found.name == self.name
            and found.category in self.categories
            and (not self.details or found.detail in self.details)
        )


@dataclass(frozen=True)
class SmallPackage:
    """What a package of so little may leave out: a permission, and no duty.

    Attributes:
        h_and_p: classes, with category, whose H and P statements may go.
        p_alone: classes whose P statements may go.
    """

    at_most_ml: Fraction
    h_and_p: frozenset[str]
    p_alone: frozenset[str]
    source: Source


@dataclass(frozen=True)
class Rules:
    """All rules of one edition.

    Attributes:
        status: how the whole was read; 'memory' where that it holds in this place is recalled.
        categories: class -> the categories of an ingredient that rows ask for.
        elsewhere: classes with category that other systems have, and that have no row here.
        without: classes that other editions have, and this one has not.
        physical: classes that tests decide, and no sum.
        elicitation: category of a sensitiser -> the share in % from which it is named.
        precaution: H statement -> its P statements: prevention, response, storage, disposal.
    """

    name: str
    edition: str
    status: Status
    groups: tuple[Group, ...]
    acute: Acute
    elicitation: Mapping[str, Fraction]
    elicitation_of_specific: Fraction
    elicitation_source: Source
    viscosity_at_most: Fraction
    viscosity_source: Source
    label: tuple[LabelRow, ...]
    names_usually_at_most: int
    names_source: Source
    precaution: Mapping[str, tuple[tuple[str, ...], ...]]
    precaution_source: Source
    small_package: SmallPackage
    notice_duty: bool
    notice_source: Source
    categories: Mapping[str, frozenset[str]]
    elsewhere: frozenset[str]
    without: frozenset[str]
    physical: frozenset[str]
    supplemental: frozenset[str]

    def label_row(self, found: HazardClass) -> LabelRow | None:
        """The label elements of a class; None where no row is for it."""
        return next((row for row in self.label if row.fits(found)), None)


@cache
def rules_of(name: str) -> Rules:
    """The rules of 'eu', 'gb' or 'un'.

    Raises:
        InputError: no such rules.
    """
    if name not in NAMES:
        raise InputError(
            "There are no rules called “{name}”: choose eu, gb or un.", name=name, about="rules"
        )
    data = _data(name)
    without = frozenset(data.get("without", ()))
    if "as" in data:
        data = {**_data(data["as"]), **data}
    return _with_more(_read(data, without), data)


def _data(name: str) -> dict[str, Any]:
    with (_DIRECTORY / f"{name}.json").open(encoding="utf-8") as file:
        data: dict[str, Any] = json.load(file)
    return data


def _read(data: dict[str, Any], without: frozenset[str]) -> Rules:
    groups = [_group(each) for each in data["groups"]]
    groups = [each for each in groups if each.rows[0].gives.name not in without]
    categories: dict[str, frozenset[str]] = {}
    for group in groups:
        for row in group.rows:
            for term in row.terms:
                categories[term.name] = categories.get(term.name, frozenset()) | term.categories
    acute = _acute(data["acute"])
    categories["Acute Tox."] = frozenset(acute.counts_from)
    elicitation = data["elicitation"]
    return Rules(
        name=data["name"],
        edition=data["edition"],
        status=data.get("status", "seen"),
        groups=tuple(groups),
        acute=acute,
        elicitation={key: Fraction(elicitation[key]) for key in ("1", "1A", "1B")},
        elicitation_of_specific=Fraction(elicitation["part_of_specific"]),
        elicitation_source=_source(elicitation),
        viscosity_at_most=Fraction(data["viscosity"]["at_most"]),
        viscosity_source=_source(data["viscosity"]),
        label=tuple(_label_row(each) for each in data["label"] if each["class"] not in without),
        names_usually_at_most=data["names"]["usually_at_most"],
        names_source=_source(data["names"]),
        precaution={
            h: tuple(tuple(part) for part in parts) for h, parts in data["precaution"]["of"].items()
        },
        precaution_source=_source(data["precaution"]),
        small_package=SmallPackage(
            at_most_ml=Fraction(data["small_package"]["at_most_ml"]),
            h_and_p=frozenset(data["small_package"]["h_and_p"]),
            p_alone=frozenset(data["small_package"]["p_alone"]),
            source=_source(data["small_package"]),
        ),
        notice_duty=data["notices"]["duty"],
        notice_source=_source(data["notices"]),
        categories=categories,
        elsewhere=frozenset(data["elsewhere"]),
        without=without,
        physical=frozenset(data["physical"]),
        supplemental=frozenset(data["supplemental"]),
    )


def _source(row: dict[str, Any]) -> Source:
    return Source(row["article"], row["status"])


def _group(data: dict[str, Any]) -> Group:
    detail = data.get("detail", "")
    rows = []
    for place, row in enumerate(data["rows"]):
        name, category = row["gives"]
        rows.append(
            Row(
                key=f"{data['id']}-{place}",
                gives=HazardClass(name, category, detail),
                how=row["how"],
                terms=tuple(_term(each) for each in row["of"]),
                limit=Fraction(row["from"]),
                own=frozenset(row.get("limits", [category])),
                source=_source(row),
            )
        )
    return Group(data["id"], tuple(rows), detail)


def _term(data: dict[str, Any]) -> Term:
    return Term(
        name=data["class"],
        categories=frozenset(data["categories"]),
        times=Fraction(data["times"]),
        counts_from=Fraction(data["counts_from"]) if "counts_from" in data else None,
        by_m=data.get("by_m", False),
        cutoff_by_m=data.get("cutoff_by_m", False),
    )


def _acute(data: dict[str, Any]) -> Acute:
    source = Source(data["article"], data["tops_status"])
    categories = tuple(data["counts_from"])
    return Acute(
        routes={
            name: Route(
                name=name,
                unit=route["unit"],
                tops=dict(zip(categories, map(Fraction, route["tops"]), strict=True)),
                estimates=dict(zip(categories, map(Fraction, route["estimates"]), strict=True)),
                sources=dict.fromkeys(categories, source),
            )
            for name, route in data["routes"].items()
        },
        counts_from={key: Fraction(value) for key, value in data["counts_from"].items()},
        unknown_counts_from=Fraction(data["unknown_counts_from"]),
        unknown_over=Fraction(data["unknown_over"]),
        estimates_status=data["estimates_status"],
    )


def _label_row(data: dict[str, Any]) -> LabelRow:
    return LabelRow(
        name=data["class"],
        categories=frozenset(data["categories"]),
        details=frozenset(data.get("details", ())),
        h=data["h"],
        signal=data["signal"],
        pictogram=data["pictogram"],
        names=data.get("names", False),
        irritation=data.get("irritation", False),
        hazard=data["hazard"],
        status=data["status"],
    )


def _with_more(rules: Rules, data: dict[str, Any]) -> Rules:
    """A category of acute toxicity that only these rules have."""
    more = data.get("acute_more")
    if more is None:
        return rules
    category = more["category"]
    routes = dict(rules.acute.routes)
    for name, top in more["tops"].items():
        route = routes[name]
        routes[name] = replace(
            route,
            tops={**route.tops, category: Fraction(top)},
            sources={**route.sources, category: _source(more)},
        )
    counts_from = {**rules.acute.counts_from, category: Fraction(more["counts_from"])}
    return replace(rules, acute=replace(rules.acute, routes=routes, counts_from=counts_from))
