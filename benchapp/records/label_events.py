"""What can happen to a label once it is made: it is printed."""

from wtforms import Form

from benchapp.records.event_type import EventType, Stream
from benchapp.records.fields import OneOf, Whole, Words
from benchapp.words import n_

MOST_PRINTED = 2_000
"""Labels in one go."""


class Printed(Form):
    n = Whole(n_("How many"), least=1, most=MOST_PRINTED, needed=True)
    piece = OneOf(
        n_("What"),
        choices=[("label", n_("the label")), ("second", n_("the second piece"))],
        needed=True,
    )
    stock = Words(n_("On"), most=80)


MADE_LABEL = Stream(
    "made_label",
    refused=n_("What happened to a label: {why}"),
    types=(
        EventType(
            "printed",
            Printed,
            means="so many of it were printed",
            log=n_("Printed on {stock}"),
            log_bare=n_("Printed"),
            correctable="n",
            is_step=False,
        ),
    ),
    room="labels",
)
