"""Fields that several forms have."""

from collections.abc import Callable
from typing import Any, Literal

from wtforms import Form

from benchapp.records.fields import MOST_TEXT, OneOf, Other, Quantity, Whole, Words
from benchapp.words import n_

MATERIALS = ("wax", "fragrance", "wick", "vessel", "additive", "packaging")
"""The kinds of what she buys, keeps on the shelf and uses up."""

MOST_PIECES = 1_000_000


def name(such_as: str) -> Words:
    return Words(n_("Name"), needed=True, most=80, help=such_as)


def notes(**given: Any) -> Words:
    return Words(n_("Notes"), most=MOST_TEXT, lines=3, **given)


def days(label: str, *, least: int = 0, most: int = 365, **given: Any) -> Whole:
    return Whole(label, least=least, most=most, unit=n_("days"), more=True, **given)


def yes_or_no(label: str, *, default: str = "yes", more: bool = True, **given: Any) -> OneOf:
    choices = [("yes", n_("yes")), ("no", n_("no"))]
    return OneOf(label, choices=choices, default=default, more=more, **given)


def bought(counted: Literal["mass", "pieces"]) -> Callable[[type[Form]], type[Form]]:
    """Give a material's form the fields of its buying, after its own.

    Args:
        counted: how it is counted on the shelf.
    """

    def amount(label: str, **given: Any) -> Quantity | Whole:
        if counted == "mass":
            return Quantity(label, dimension="mass", least=0.01, most=1e6, more=True, **given)
        return Whole(label, least=1, most=MOST_PIECES, unit=n_("pieces"), more=True, **given)

    def with_fields(form: type[Form]) -> type[Form]:
        fields = {
            "supplier": Other(n_("Supplier"), kind="supplier", more=True),
            "pack": amount(
                n_("Usually bought in"), help=n_("What one bag, bottle or box of it holds.")
            ),
            "lead_days": days(n_("Arrives within"), help=n_("From the order to your door.")),
            "reorder_at": amount(n_("Tell me when less is left than")),
            "keep_days": days(n_("Keeps, once here, for"), least=1, most=3650),
            "open_days": days(n_("Keeps, once opened, for"), least=1, most=3650),
        }
        for field_name, field in fields.items():
            setattr(form, field_name, field)
        return form

    return with_fields
