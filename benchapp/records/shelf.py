"""The forms of what stands on the shelf and what it is for: suppliers, packaging, lots, what is
wanted, and money.

A lot's form holds what came in. What happens to it afterwards are events (``events.py``).
"""

from wtforms import Form

from benchapp.records import form_parts as parts
from benchapp.records.fields import (
    Currency,
    Day,
    Money,
    OfMaterial,
    OneOf,
    Other,
    Percent,
    Plain,
    Quantity,
    Whole,
    Words,
)
from benchapp.records.form_parts import MATERIALS, MOST_PIECES, bought
from benchapp.words import n_


class Supplier(Form):
    name = parts.name(n_("Such as Marsh & Daughter."))
    address = Words(n_("Address"), most=400, lines=3)
    mail = Words(n_("Mail"), most=120)
    telephone = Words(n_("Telephone"), most=40)
    lead_days = parts.days(
        n_("Delivers within"), help=n_("For what does not say how soon it arrives by itself.")
    )
    notes = parts.notes(more=True)


@bought("pieces")
class Packaging(Form):
    name = parts.name(n_("Such as lid for tin 120."))
    what = OneOf(
        n_("It is"),
        choices=[
            ("lid", n_("a lid")),
            ("box", n_("a box")),
            ("label", n_("a label")),
            ("sticker", n_("a sticker")),
            ("other", n_("something else")),
        ],
        default="lid",
    )
    notes = parts.notes(more=True)


class Lot(Form):
    material = OfMaterial(n_("What came"), kinds=MATERIALS, needed=True)
    by = OneOf(
        n_("It is counted"),
        choices=[
            ("weight", n_("by weight")),
            ("volume", n_("by volume")),
            ("pieces", n_("in pieces")),
        ],
        default="weight",
    )
    amount_g = Quantity(
        n_("How much"),
        dimension="mass",
        least=0.01,
        most=1e6,
        needed=True,
        when={"by": "weight"},
        help=n_("As the delivery note has it, such as 5 kg."),
    )
    amount_ml = Quantity(
        n_("How much"),
        dimension="volume",
        least=0.01,
        most=1e6,
        needed=True,
        when={"by": "volume"},
        help=n_("As the delivery note has it, such as 500 ml."),
    )
    density = Plain(
        n_("Density"),
        least=0.5,
        most=2.0,
        needed=True,
        unit="g/ml",
        when={"by": "volume"},
        help=n_("It is in the safety data sheet. It makes grams of the volume."),
    )
    pieces = Whole(
        n_("How many"),
        least=1,
        most=MOST_PIECES,
        needed=True,
        when={"by": "pieces"},
        unit=n_("pieces"),
    )
    paid = Money(
        n_("Paid for it"),
        help=n_("For all of it. Leave it empty until the invoice comes."),
    )
    name = Words(
        n_("Lot number"),
        needed=True,
        most=80,
        help=n_("It is on the bag. Leave it empty, and the bench gives it the day as shown."),
    )
    received_on = Day(n_("Came on"), needed=True)
    best_before = Day(n_("Best before"))
    supplier = Other(n_("Supplier"), kind="supplier", more=True)
    tax = OneOf(
        n_("The price is"),
        choices=[("with", n_("with tax")), ("without", n_("without tax"))],
        default="with",
        more=True,
    )
    tax_rate = Percent(
        n_("Tax"),
        least=0.0,
        most=1.0,
        unit="%",
        help=n_("Leave it empty for what stands under Money."),
        more=True,
    )
    delivery = Money(
        n_("Delivery"), help=n_("Its share of what the delivery cost, taxed alike."), more=True
    )
    # What was left in the jug of a pour, and is melted again.
    left_of = Other(n_("Left of the pour"), kind="pour", drawn=False)
    certificate = Words(
        n_("Certificate or sheet"), most=80, help=n_("Its number, as printed."), more=True
    )
    certificate_on = Day(n_("Of the day"), more=True)
    certificate_revision = Words(n_("Revision"), most=40, more=True)
    notes = parts.notes(more=True)


class Wanted(Form):
    name = Words(
        n_("For whom or what"),
        needed=True,
        most=80,
        help=n_("Such as harbour market, or an order by its name."),
    )
    recipe = Other(n_("Recipe"), kind="recipe", needed=True)
    count = Whole(n_("How many"), least=1, most=100_000, needed=True)
    by = Day(n_("By"), needed=True)
    cured = OneOf(
        n_("They should be"),
        choices=[("best", n_("fully cured")), ("least", n_("cured, if not at their best"))],
        default="best",
    )
    pour_on = Day(
        n_("I pour them on"),
        help=n_("Leave it empty, and the bench takes the last day that does."),
        more=True,
    )
    done = parts.yes_or_no(n_("Done"), default="no")
    notes = parts.notes(more=True)


class Prices(Form):
    currency = Currency(n_("Currency"), help=n_("By its three letters, such as EUR."))
    tax_rate = Percent(
        n_("Tax"),
        least=0.0,
        most=1.0,
        unit="%",
        help=n_("The sales tax on what you buy and sell. Leave it empty if there is none."),
    )
    tax_back = parts.yes_or_no(
        n_("I get back the tax that I pay"),
        default="no",
        more=False,
        help=n_("Then it is no cost of yours."),
    )
    hour = Money(n_("An hour of my work"), help=n_("What you reckon for it in a candle."))
    overhead = Money(
        n_("Overhead for one candle"), help=n_("Such as rent, power and the market's fee.")
    )
    wanted_margin = Percent(
        n_("Margin that I want"),
        least=0.0,
        most=0.99,
        unit=n_("% of the price before tax"),
    )
