"""What can happen to the candles of a batch once they are put away.

A batch is what came of one pour: its stream has the id of that pour, and no record of its own. So
ten years of sales are not read with the pours that they came from.
"""

from typing import Any

from wtforms import Form

from benchapp.records.event_type import EventType, Noted, Stream, why
from benchapp.records.fields import Money, OneOf, Whole, Words
from benchapp.words import n_

MOST_CANDLES = 100_000
"""Candles of one batch, with room to spare."""

#: Where a candle may stand in the workshop.
PLACES = (
    ("shelf", n_("the shelf")),
    ("aside", n_("what is set aside")),
    ("returned", n_("what came back")),
)


def _n(*, least: int = 1) -> Whole:
    return Whole(n_("How many"), least=least, most=MOST_CANDLES, needed=True)


def _from(**given: Any) -> OneOf:
    return OneOf(n_("From"), choices=PLACES, **given)


def _id(label: str) -> Words:
    return Words(label, most=64)


def _where() -> Words:
    return Words(n_("Where"), most=80)


class SetAside(Form):
    n = _n()
    why = why()


class PutBack(Form):
    n = _n()
    place = _from(needed=True)
    why = why()


class Labelled(Form):
    n = _n()
    made_label = _id(n_("Label"))


class Sold(Form):
    n = _n()
    # Of one candle, in minor units such as cents.
    price = Whole(n_("Price of one"), least=0, most=Money.MOST)
    currency = Words(n_("Currency"), most=3)
    buyer = _id(n_("To whom"))
    where = _where()
    wanted = _id(n_("For"))
    place = _from()


class Given(Form):
    n = _n()
    buyer = _id(n_("To whom"))
    where = _where()
    place = _from()


class Lost(Form):
    n = _n()
    why = why()
    place = _from()


class TestBurned(Form):
    n = _n()
    test = _id(n_("Burn test"))
    place = _from()


class Returned(Form):
    n = _n()
    buyer = _id(n_("By whom"))
    recall = _id(n_("Recall"))
    why = why()


class Counted(Form):
    n = _n(least=0)
    why = why()


class Withdrawn(Form):
    why = Words(n_("Why"), most=200, needed=True)


def _moved(
    name: str, form: type[Form], *, means: str, log: str, log_bare: str = "", right: str = "n"
) -> EventType:
    """Something that changes how many candles are where; ``right``: what can be set right."""
    return EventType(
        name, form, means=means, log=log, log_bare=log_bare, correctable=right, is_step=False
    )


BATCH = Stream(
    "batch",
    refused=n_("What happened to candles: {why}"),
    types=(
        _moved(
            "set_aside",
            SetAside,
            means="so many are kept apart, and not for sale",
            log=n_("Set aside, {why}"),
            log_bare=n_("Set aside"),
        ),
        _moved(
            "put_back",
            PutBack,
            means="so many stand on the shelf again, from where they were apart",
            log=n_("Put back on the shelf"),
        ),
        _moved("labelled", Labelled, means="so many got their label", log=n_("Labelled")),
        _moved(
            "sold",
            Sold,
            means="so many were sold; `price` of one, in minor units of `currency`",
            log=n_("Sold, {where}"),
            log_bare=n_("Sold"),
        ),
        _moved(
            "given",
            Given,
            means="so many were given away",
            log=n_("Given away, {where}"),
            log_bare=n_("Given away"),
        ),
        _moved(
            "broken",
            Lost,
            means="so many broke",
            log=n_("Broken, {why}"),
            log_bare=n_("Broken"),
        ),
        _moved(
            "test_burned",
            TestBurned,
            means="so many were taken for a burn test",
            log=n_("Taken for a burn test"),
        ),
        _moved(
            "returned",
            Returned,
            means="so many came back, and stand apart; `recall`: they were called back",
            log=n_("Came back, {why}"),
            log_bare=n_("Came back"),
        ),
        _moved(
            "destroyed",
            Lost,
            means="so many were destroyed",
            log=n_("Destroyed, {why}"),
            log_bare=n_("Destroyed"),
        ),
        _moved(
            "counted",
            Counted,
            means="so many stand on the shelf",
            log=n_("Counted on the shelf, {why}"),
            log_bare=n_("Counted on the shelf"),
        ),
        EventType(
            "withdrawn",
            Withdrawn,
            means="the batch is not to be sold",
            log=n_("Withdrawn: {why}"),
            is_step=False,
        ),
        EventType(
            "released",
            Withdrawn,
            means="it may be sold again",
            log=n_("May be sold again: {why}"),
            is_step=False,
        ),
        EventType("noted", Noted, means="a note", log=n_("Note: {text}"), is_step=False),
    ),
    room="shelf",
)
