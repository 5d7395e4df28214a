"""The form in which she says what a label is to state, and where it is sold."""

from wtforms import Form

from benchapp.desk.netcontent.marking import MOST_MM
from benchapp.desk.netcontent.weights import MOST_G
from benchapp.records.fields import OneOf, Plain, Quantity
from benchapp.words import n_


def _side(label: str, shapes: str) -> Quantity:
    return Quantity(
        label,
        dimension="length",
        least=1,
        most=MOST_MM,
        needed=True,
        when={"panel": shapes},
    )


class NetAsker(Form):
    law = OneOf(
        n_("It is sold in"),
        choices=[
            ("eu", n_("the European Union")),
            ("gb", n_("Great Britain")),
            ("us", n_("the United States")),
        ],
        default="eu",
    )
    stated = Quantity(
        n_("Weight on the label"),
        dimension="mass",
        least=1,
        most=MOST_G,
        help=n_("Of the candle alone, without vessel and lid. Leave it empty to learn the most."),
    )
    marks = OneOf(
        n_("Where I touched “on target”"),
        choices=[
            ("read", n_("the scale showed just that")),
            ("unread", n_("I did not read it: don't count it")),
        ],
        default="unread",
    )
    panel = OneOf(
        n_("The label is on"),
        choices=[
            ("unknown", n_("I don't know yet")),
            ("round", n_("a round vessel")),
            ("side", n_("the flat side of a box")),
            ("surface", n_("another shape")),
        ],
        default="unknown",
        when={"law": "us"},
    )
    diameter_mm = _side(n_("Width across"), "round")
    width_mm = _side(n_("Width of the side"), "side")
    height_mm = _side(n_("Height, without shoulder and neck"), "round side")
    surface_cm2 = Plain(
        n_("Whole surface"),
        least=0.01,
        most=1_000_000,
        needed=True,
        unit=n_("cm²"),
        when={"panel": "surface"},
    )
