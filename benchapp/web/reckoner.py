"""The form of the price reckoner: the phone reckons with what is typed, and keeps none of it."""

from wtforms import Form

from benchapp.records.fields import Money, OneOf, Percent
from benchapp.words import n_


def _rate(label: str, unit: str) -> Percent:
    return Percent(label, least=0.0, most=1.0, unit=unit)


class PriceReckoner(Form):
    way = OneOf(
        n_("The price follows from"),
        choices=[
            ("margin", n_("the margin that I want")),
            ("markup", n_("a markup on the cost")),
            ("price", n_("what I set")),
        ],
        default="margin",
    )
    # The limits are those of static/formulas/price.js.
    margin = Percent(
        n_("Margin"),
        least=0.0,
        most=0.99,
        needed=True,
        unit=n_("% of the price before tax"),
        when={"way": "margin"},
    )
    markup = Percent(
        n_("Markup"),
        least=0.0,
        most=100.0,
        needed=True,
        unit=n_("% of the cost"),
        when={"way": "markup"},
    )
    price = Money(n_("Price with tax"), needed=True, when={"way": "price"})
    tax_rate = _rate(n_("Tax"), n_("% of the price before tax"))
    discount = _rate(n_("Discount"), n_("% of the price"))
    share = _rate(n_("The marketplace's share"), n_("% of what the buyer pays"))
    fee = Money(n_("The marketplace's fee for each sale"))
