"""The form in which a made label is printed: how many, on what."""

from wtforms import Form

from benchapp.records.fields import OneOf, Other, Quantity, Whole
from benchapp.records.form_parts import yes_or_no
from benchapp.records.label_events import MOST_PRINTED
from benchapp.words import n_


class LabelPrinter(Form):
    stock = Other(
        n_("On"),
        kind="label_stock",
        help=n_("Leave it empty for one label a page, as large as the label."),
    )
    n = Whole(n_("How many"), least=1, most=MOST_PRINTED, needed=True)
    start = Whole(
        n_("First free place on the sheet"),
        least=1,
        most=2400,
        default=1,
        help=n_("Counted from the top left, row by row."),
    )
    piece = OneOf(
        n_("What"),
        choices=[("label", n_("the label")), ("second", n_("the second piece"))],
        default="label",
    )
    bleed_mm = Quantity(
        n_("Colour beyond the edge"),
        dimension="length",
        least=0,
        most=5,
        default=0.0,
        help=n_("Where the print is cut out afterwards, 2 mm are usual."),
        more=True,
    )
    cut_marks = yes_or_no(n_("With cut marks"), default="no")
