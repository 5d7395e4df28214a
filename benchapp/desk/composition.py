"""What a whole candle is made of: from a recipe and its materials' sheets to substances, exact.

All shares are fractions of fractions: 10 parts of oil on 100 of wax are 100/11 % of the candle. The
load of oil is left open, so that the loads at which the class changes can be found.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from typing import Any, Literal

from benchapp.desk.classify.substances import WHOLE, Substance
from benchapp.desk.rules import Rules
from benchapp.desk.sheets.section3 import MOST_ROWS, read_rows
from benchapp.words import InputError, Message, message, t

Basis = Literal["wax", "total"]

KINDS = ("wax", "fragrance", "additive")
MOST_SHEETS = 60
MOST_SUBSTANCES = 150
"""In a candle: a report of so many takes seconds."""
_MOST_PARTS = 20
_MOST_NAME = 200
_DIGITS = 12
"""A number that a phone kept is what she typed, but for its last binary digits."""


@dataclass(frozen=True)
class Part:
    """A wax, oil or additive in a recipe.

    Attributes:
        id: of its record; '' where it is only named.
        share: a fraction of all waxes, or of all oils; of an additive, a fraction of the wax.
    """

    kind: str
    id: str
    name: str
    share: Fraction


@dataclass(frozen=True)
class Recipe:
    """A recipe's parts and its load.

    Attributes:
        load: oil, as a fraction of the wax.
        basis: what she states the load as a share of.
    """

    waxes: tuple[Part, ...]
    oils: tuple[Part, ...]
    extras: tuple[Part, ...]
    load: Fraction
    basis: Basis

    @property
    def extra(self) -> Fraction:
        """All additives, as a fraction of the wax."""
        return sum((each.share for each in self.extras), Fraction(0))

    def stated(self, load: Fraction) -> Fraction:
        """A load of the wax as she states it."""
        return load / (1 + load) if self.basis == "total" else load

    def share_of_oil(self, oil: Part) -> Fraction:
        """What of the whole candle an oil is, as a fraction."""
        return self.load * oil.share / (1 + self.load + self.extra)


@dataclass(frozen=True)
class Sheet:
    """A safety data sheet as it is kept.

    Attributes:
        product: as it names itself.
        dated: its day, ISO 8601; '' where it is not written.
    """

    kind: str
    material: str
    product: str
    dated: str
    edition: str
    fields: Mapping[str, Any]

    @property
    def says_none(self) -> bool:
        """Whether it says that the product is not classified."""
        return self.fields.get("stands") == "not"

    @property
    def is_classified(self) -> bool:
        return self.fields.get("stands") == "classified"

    @property
    def lists_all(self) -> str:
        """Whether it lists all that is hazardous in it: 'yes', 'no' or 'unknown'."""
        said = self.fields.get("lists_all")
        return said if said in ("yes", "no") else "unknown"


@dataclass(frozen=True)
class Told:
    """What is known of a material.

    Attributes:
        substances: in % of the material; what nothing is known of is in it, as such.
        sheet: the one that counts; None where there is none.
        notes: what to say of it.
    """

    substances: tuple[Substance, ...]
    sheet: Sheet | None
    notes: tuple[Message, ...] = ()


@dataclass(frozen=True)
class Composition:
    """A candle with its load left open.

    Attributes:
        oil: substances in % of the oils together.
        base: substances in % of wax and additives together.
    """

    recipe: Recipe
    oil: tuple[Substance, ...]
    base: tuple[Substance, ...]
    told: Mapping[tuple[str, str], Told]

    def candle(self, load: Fraction) -> list[Substance]:
        """All substances in % of the whole candle, for a load of the wax."""
        part = load / (1 + load + self.recipe.extra)
        return [each.times(part) for each in self.oil if part > 0] + [
            each.times(1 - part) for each in self.base
        ]

    @property
    def notes(self) -> list[Message]:
        return [note for told in self.told.values() for note in told.notes]


def compose(recipe: Recipe, sheets: Sequence[Sheet], rules: Rules) -> Composition:
    """The substances of a recipe's candle.

    Raises:
        InputError: a sheet holds what can't be read.
    """
    parts = [*recipe.waxes, *recipe.oils, *recipe.extras]
    told = {(each.kind, each.id or each.name): _told(each, sheets, rules) for each in parts}

    def of(all_of: Iterable[tuple[Part, Fraction]]) -> tuple[Substance, ...]:
        return tuple(
            replace(each.times(share), materials=(part.name,))
            for part, share in all_of
            for each in told[part.kind, part.id or part.name].substances
        )

    count = sum(len(each.substances) for each in told.values())
    if count > MOST_SUBSTANCES:
        raise InputError(
            "The sheets list {n} substances, more than can be reckoned with: {most} at most.",
            n=count,
            most=MOST_SUBSTANCES,
            about="sheets",
        )
    base = 1 + recipe.extra
    return Composition(
        recipe,
        of((part, part.share) for part in recipe.oils),
        of((part, part.share / base) for part in (*recipe.waxes, *recipe.extras)),
        told,
    )


# ---- what a sheet tells of its material --------------------------------------------------------


def _told(part: Part, sheets: Sequence[Sheet], rules: Rules) -> Told:
    mine = [
        each for each in sheets if part.id and (each.kind, each.material) == (part.kind, part.id)
    ]
    if not mine:
        asks = (
            message("Put in the safety data sheet of {name}.", name=part.name)
            if part.id
            else message(
                "Choose {name} in the recipe out of your additives, and put in its safety data "
                "sheet.",
                name=part.name,
            )
        )
        return Told((_unknown(t("{name} (no sheet)", name=part.name), asks),), None)
    latest = max(each.dated for each in mine)
    counts = [each for each in mine if each.dated == latest]
    if len(counts) > 1:
        asks = message(
            "Of {name} there are two sheets of the same day, or without one: “{first}” and "
            "“{second}”. Write their days, or delete the one that does not hold any more.",
            name=part.name,
            first=counts[0].product,
            second=counts[1].product,
        )
        return Told((_unknown(t("{name} (two sheets)", name=part.name), asks),), None, (asks,))
    [sheet] = counts
    notes: list[Message] = []
    if len(mine) > 1:
        notes.append(
            message(
                "Of {name} there are {n} sheets: “{product}” of {day}, the latest, counts.",
                name=part.name,
                n=len(mine),
                product=sheet.product,
                day=sheet.dated,
            )
        )
    if sheet.says_none and sheet.lists_all == "unknown":
        notes.append(
            message(
                "The sheet of {name} says that it is not classified, and it is reckoned with as "
                "that: whether it names all that is hazardous in it is not told.",
                name=part.name,
            )
        )
    return Told(_substances(part, sheet, rules), sheet, tuple(notes))


def _unknown(
    name: str, told_by: Message, low: Fraction = WHOLE, high: Fraction = WHOLE
) -> Substance:
    return Substance(name, low, high, hazards=None, told_by=told_by)


def _substances(part: Part, sheet: Sheet, rules: Rules) -> tuple[Substance, ...]:
    """Those of section 3, and what it leaves of the whole."""
    rows = sheet.fields.get("substances") or []
    if not isinstance(rows, list) or len(rows) > MOST_ROWS:
        raise InputError(
            "The sheet “{sheet}” has more substances than can be read: {most} at most.",
            sheet=sheet.product,
            most=MOST_ROWS,
            about="sheets",
        )
    lines, wrong = read_rows([row if isinstance(row, dict) else {} for row in rows], rules)
    if wrong:
        first = wrong[0]
        name = (
            rows[first.row - 1].get("name")
            if first.row and isinstance(rows[first.row - 1], dict)
            else ""
        )
        if first.row == 0:
            raise InputError(
                "The sheet “{sheet}” of {name}: {said}",
                sheet=sheet.product,
                name=part.name,
                said=first.problem.said,
                about="sheets",
            )
        raise InputError(
            "The sheet “{sheet}” of {name}, line {row} of section 3 ({substance}): {said}",
            sheet=sheet.product,
            name=part.name,
            row=first.row,
            substance=str(name or "—")[:60],
            said=first.problem.said,
            about="sheets",
        )
    found = [line.substance for line in lines if line.substance is not None]
    least = WHOLE - sum((each.high for each in found), Fraction(0))
    most = WHOLE - sum((each.low for each in found), Fraction(0))
    if most <= 0:
        return tuple(found)
    rest_name = t("{name} (rest)", name=part.name)
    asks = _asks(part, sheet, found)
    if asks is None:
        return (*found, Substance(rest_name if found else part.name, most, most))
    return (*found, _unknown(rest_name, asks, max(least, Fraction(0)), most))


def _asks(part: Part, sheet: Sheet, found: Sequence[Substance]) -> Message | None:
    """What would tell whether there is anything hazardous beside what is listed; None: there is
    not, by the sheet."""
    if sheet.says_none and sheet.lists_all != "no":
        return None
    if not found:
        return message(
            "Put in section 3 of the sheet of {name}, or that it is not classified.",
            name=part.name,
        )
    if sheet.is_classified and all(each.hazards == () for each in found):
        return message(
            "The sheet of {name} is classified, and none of its lines has a class: look at its "
            "section 3 again.",
            name=part.name,
        )
    if sheet.lists_all == "yes":
        return None
    return message(
        "Say in the sheet of {name} whether it lists all that is hazardous in it: if not, ask the "
        "supplier.",
        name=part.name,
    )


# ---- what is asked -----------------------------------------------------------------------------


def read_recipe(given: object, names: object) -> Recipe:
    """A recipe as the phone keeps it.

    Args:
        given: waxes, oils, load, load_of, additives.
        names: kind -> id -> name of the materials.

    Raises:
        InputError: it has no wax, or holds what can't be reckoned.
    """
    if not isinstance(given, dict):
        raise InputError("There is no recipe to work out.", about="recipe")
    called = names if isinstance(names, dict) else {}
    waxes = _blend(given.get("waxes"), "wax", called)
    oils = _blend(given.get("oils"), "fragrance", called)
    if not waxes:
        raise InputError("The recipe has no wax: choose one.", about="waxes")
    basis: Basis = "total" if given.get("load_of") == "total" else "wax"
    top = Fraction(1, 2) if basis == "total" else Fraction(1)
    load = fraction_of(given.get("load"), message("The load"), "load") if oils else Fraction(0)
    if not 0 <= load <= top:
        raise InputError("The load must be from 0 to {top} %.", top=int(top * 100), about="load")
    if basis == "total":
        load = load / (1 - load)
    extras = tuple(_extra(row, called) for row in _rows(given.get("additives"), "additives"))
    return Recipe(waxes, oils, extras, load, basis)


def _blend(given: object, kind: str, names: Mapping[str, Any]) -> tuple[Part, ...]:
    parts = []
    for row in _rows(given, kind):
        id_ = row.get(kind)
        if not isinstance(id_, str) or not id_:
            raise InputError("Choose what it is made of in every line of the recipe.", about=kind)
        share = row.get("share")
        name = _name(names, kind, id_)
        part = (
            Fraction(1)
            if share is None
            else fraction_of(share, message("The share of {name}", name=name), kind)
        )
        if part <= 0:
            raise InputError("The share of {name} must be above zero.", name=name, about=kind)
        parts.append(Part(kind, id_, name, part))
    whole = sum((each.share for each in parts), Fraction(0))
    return tuple(replace(each, share=each.share / whole) for each in parts)


def _extra(row: Mapping[str, Any], names: Mapping[str, Any]) -> Part:
    id_ = row.get("additive") if isinstance(row.get("additive"), str) else ""
    said = row.get("name") if isinstance(row.get("name"), str) else ""
    name = _name(names, "additive", id_ or "", said or "")
    rate = fraction_of(row.get("rate"), message("How much {name} goes in", name=name), "additives")
    if not 0 < rate <= 500:
        raise InputError(
            "How much {name} goes in must be above zero.", name=name, about="additives"
        )
    return Part("additive", id_ or "", name, rate / (1000 if row.get("per") == "kilo" else 100))


def _name(names: Mapping[str, Any], kind: str, id_: str, said: str = "") -> str:
    of_kind = names.get(kind)
    found = of_kind.get(id_) if isinstance(of_kind, dict) else None
    name = found.get("name") if isinstance(found, dict) else None
    text = name if isinstance(name, str) and name.strip() else said or id_ or "—"
    return text[:_MOST_NAME]


def _rows(given: object, about: str) -> list[dict[str, Any]]:
    if given is None:
        return []
    if (
        not isinstance(given, list)
        or len(given) > _MOST_PARTS
        or not all(isinstance(row, dict) for row in given)
    ):
        raise InputError("The recipe can't be read: open it and save it again.", about=about)
    return given


def fraction_of(given: object, name: Message, about: str) -> Fraction:
    """A number that the phone keeps, as it was typed.

    Raises:
        InputError: it is none.
    """
    if isinstance(given, bool) or not isinstance(given, int | float):
        raise InputError("{name} is not written in the recipe.", name=name, about=about)
    return Fraction(Decimal(f"{given:.{_DIGITS}g}"))


def read_sheets(given: object) -> tuple[Sheet, ...]:
    """Sheets as the phone keeps them: a list of the fields of their records.

    Raises:
        InputError: it is no such list.
    """
    if given is None:
        return ()
    if not isinstance(given, list) or len(given) > MOST_SHEETS:
        raise InputError(
            "There are more sheets than a candle has: {most} at most.",
            most=MOST_SHEETS,
            about="sheets",
        )
    return tuple(_sheet(each) for each in given)


def _sheet(given: object) -> Sheet:
    fields = given if isinstance(given, dict) else {}
    material = fields.get("material")
    if (
        not isinstance(material, list)
        or len(material) != 2
        or material[0] not in KINDS
        or not isinstance(material[1], str)
    ):
        raise InputError("A sheet does not say of what it is: open it and choose.", about="sheets")

    def text(name: str) -> str:
        value = fields.get(name)
        return value.strip()[:_MOST_NAME] if isinstance(value, str) else ""

    return Sheet(
        material[0], material[1], text("name") or "—", text("dated"), text("edition"), fields
    )
