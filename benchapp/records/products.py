"""The forms of what is sold and of what came of it: a product, with the questions of its risks, and
a complaint or an accident.

The questions are asked of every product and answered by her alone. That a maker has to analyse the
risks of what she sells is Article 9(2) of Regulation (EU) 2023/988 (seen); which risks a candle has
is common practice, no source.
"""

from dataclasses import dataclass
from typing import Any

from wtforms import Form
from wtforms.validators import ValidationError

from benchapp.records import form_parts as parts
from benchapp.records.fields import MOST_TEXT, Day, Money, OneOf, Other, Whole, Words, problems
from benchapp.records.findings import Held
from benchapp.words import n_

MOST_ANSWERED = 1000
"""Characters of each box of an answer."""


@dataclass(frozen=True)
class Risk:
    """A question about a product.

    Attributes:
        key: its name in records; never to be given another meaning.
        asks: the question, to be worded where it is drawn; it is answered by yes or no.
        shown_by: what may show what was done about it: 'burn_test', 'finding', 'sheet' or 'label'.
    """

    key: str
    asks: str
    shown_by: tuple[str, ...] = ()

    @property
    def field(self) -> str:
        """Where a product holds its answer."""
        return f"risk_{self.key}"


RISKS = (
    Risk("tips", n_("Can it tip over?")),
    Risk("cracks", n_("Can the vessel crack, shatter or leak?"), ("burn_test",)),
    Risk("flame", n_("Can the flame grow too high, or flare up?"), ("burn_test",)),
    Risk(
        "second_flame",
        n_("Can anything else in it catch fire, such as a match, dried flowers or a second wick?"),
        ("burn_test",),
    ),
    Risk(
        "hot",
        n_("Can the vessel grow so hot that it burns a hand or marks a table?"),
        ("burn_test", "label"),
    ),
    Risk("smoke", n_("Can it smoke or soot?"), ("burn_test",)),
    Risk("end", n_("Can it go on burning until nothing is left in it?"), ("burn_test", "label")),
    Risk("wick", n_("Can its wick be too large or too small for it?"), ("burn_test",)),
    Risk("spills", n_("Can hot wax spill when it is moved?"), ("label",)),
    Risk("near", n_("Can something that stands near it catch fire?"), ("label",)),
    Risk("alone", n_("Can it burn while nobody watches it?"), ("label",)),
    Risk(
        "child",
        n_("Can a child or an animal reach it, or take it for something to eat?"),
        ("label",),
    ),
    Risk(
        "scent",
        n_("Can its fragrance or dye bring on an allergy, or harm whoever swallows it?"),
        ("finding", "sheet"),
    ),
    Risk("lid", n_("Can its lid do harm, such as on a candle that burns or is still hot?")),
    Risk(
        "packaging",
        n_("Can its packaging do harm, such as a bag over a head or a box that catches fire?"),
    ),
    Risk("unlabelled", n_("Can it be sold without its label, or lose it?"), ("label",)),
    Risk("stored", n_("Can heat, frost or the post harm it before it is lit?")),
    Risk("other", n_("Is there anything else that may go wrong with it?")),
)


class RiskAnswer(Form):
    """Her answer to one of the questions."""

    applies = OneOf(
        n_("Your answer"),
        choices=[("open", n_("not answered yet")), ("yes", n_("yes")), ("no", n_("no"))],
        default="open",
    )
    why = Words(n_("Why not"), most=MOST_ANSWERED, lines=2, needed=True, when={"applies": "no"})
    how = Words(n_("How it may happen"), most=MOST_ANSWERED, lines=2, when={"applies": "yes"})
    done = Words(
        n_("What you did about it"),
        most=MOST_ANSWERED,
        lines=3,
        needed=True,
        when={"applies": "yes"},
        help=n_("Such as a wider foot, a smaller wick, or words on the label."),
    )
    shows = Words(
        n_("What shows it"),
        most=MOST_ANSWERED,
        lines=2,
        help=n_("Such as a burn test, a finding or a supplier's sheet."),
    )


class Answered(Held):
    """An answer: it is drawn on a page of its own, where its question stands."""

    def check(self, value: Any) -> None:
        super().check(value)
        if wrong := problems(RiskAnswer, value):
            raise ValidationError(f"{self.called} {next(iter(wrong.values()))}")


class Product(Form):
    """What is sold: a candle of a recipe, under its name, with its label."""

    name = parts.name(n_("Such as wet slate in a tin."))
    recipe = Other(n_("Recipe"), kind="recipe", needed=True)
    label = Other(n_("Label"), kind="label")
    price = Money(n_("Price"), help=n_("What a buyer pays for one, with tax."))
    says = Words(
        n_("What it is, and what it is for"),
        most=MOST_TEXT,
        lines=3,
        help=n_("Such as a scented candle in a tin, to be burned indoors."),
    )
    safety = Words(
        n_("What makes it safer"),
        most=MOST_TEXT,
        lines=3,
        help=n_("Such as a wide foot, a lid that puts it out, a sustainer that ends the flame."),
    )
    standards = Words(
        n_("Standards that you applied"),
        most=1000,
        lines=2,
        help=n_("By their numbers. Where you applied none, write none."),
    )
    sold_from = Day(n_("Sold since"))
    stopped_on = Day(n_("No longer sold since"))
    notes = parts.notes(more=True)


for _risk in RISKS:
    setattr(Product, _risk.field, Answered(_risk.asks, drawn=False))


class Complaint(Form):
    """What somebody says of a candle that was sold, or what happened with one.

    Who says so is a record of its own, which can be erased without this one.
    """

    what = Words(
        n_("What happened"),
        needed=True,
        most=MOST_TEXT,
        lines=4,
        help=n_("In their words, as far as you know them. Leave out who it was."),
    )
    harm = OneOf(
        n_("Harm"),
        choices=[
            ("unknown", n_("not known yet")),
            ("none", n_("none")),
            ("damage", n_("something was damaged")),
            ("injury", n_("somebody was hurt")),
        ],
        default="unknown",
    )
    code = Words(
        n_("Batch code"),
        most=40,
        help=n_("It is on the label. Leave it empty if nobody can read it any more."),
    )
    n = Whole(n_("How many candles"), least=1, most=100_000, default=1)
    happened_on = Day(n_("It happened on"))
    heard_on = Day(n_("You heard of it on"))
    place = Words(n_("Where"), most=200, help=n_("Such as at their home, on a wooden shelf."))
    wants = Words(n_("What they ask for"), most=400, help=n_("Such as another candle."))
    buyer = Other(
        n_("Who said so"),
        kind="buyer",
        help=n_("It is kept apart, and can be erased without this."),
        more=True,
    )
    product = Other(n_("Product"), kind="product", help=n_("For one without a code."), more=True)
    name = Words(
        n_("In short"),
        needed=True,
        most=80,
        more=True,
        help=n_("Leave it empty, and the bench names it as shown."),
    )
    notes = parts.notes(more=True)
    # Found by the code, where one batch alone has it.
    pour = Words(n_("Pour"), most=64, drawn=False)
