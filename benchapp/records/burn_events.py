"""What can happen in a burn test.

An event names the candle (its index in the test's sheet), which sitting of that candle, and at
which mark of it: two phones that tell the same thing out of hearing of each other agree, or are
asked (``static/burns/burn_fold.js``). ``over`` is the answer that it replaces, as its screen showed
it.
"""

from typing import Any

from wtforms import Form

from benchapp.records.event_type import EventType, Noted, OtherEvent, Stream, note, why
from benchapp.records.fields import OneOf, Quantity, Whole, Words
from benchapp.words import n_

MOST_CANDLES = 36
MOST_SITTINGS = 100
MOST_MARKS = 12

MEASURED = {
    "pool": n_("melt pool, one way"),
    "across": n_("melt pool, the other way"),
    "depth": n_("depth of the pool"),
    "flame": n_("flame"),
}
"""What a ruler reads at a mark."""

SEEN = {
    "pool_full": n_("melt pool to the wall"),
    "flame_low": n_("flame lower than the limit"),
    "soot": n_("soot"),
    "mushroom": n_("mushroom on the wick"),
    "flicker": n_("flicker"),
    "drowning": n_("wick drowning"),
    "wall": n_("wax left on the wall"),
}
"""What she sees at a mark. The first two are so, or they are not said; the others are graded."""

STOPPED = {
    "out": n_("put out as planned"),
    "flame": n_("the flame was too high"),
    "second_flame": n_("a second flame started"),
    "cracked": n_("the vessel cracked"),
    "soot": n_("it sooted heavily"),
    "went_out": n_("it went out by itself"),
    "other": n_("it was put out early"),
}
"""Why a sitting ended. All but the first, the last and the one before it are failures."""


def _candle() -> Whole:
    return Whole(n_("Candle"), least=0, most=MOST_CANDLES - 1, needed=True)


def _sitting() -> Whole:
    return Whole(n_("Sitting"), least=0, most=MOST_SITTINGS - 1, needed=True)


def _mark() -> Whole:
    return Whole(n_("Mark"), least=0, most=MOST_MARKS - 1, needed=True)


def _over() -> OtherEvent:
    return OtherEvent(n_("The answer that it replaces"))


class OfCandle(Form):
    candle = _candle()


class OfSitting(Form):
    candle = _candle()
    burn = _sitting()


class Lit(Form):
    candle = _candle()
    burn = _sitting()
    over = _over()


class OfMark(Form):
    candle = _candle()
    burn = _sitting()
    mark = _mark()


class Weighed(Form):
    candle = _candle()
    burn = _sitting()
    when = OneOf(
        n_("When"),
        choices=[("before", n_("before it is lit")), ("after", n_("after its rest"))],
        needed=True,
    )
    read_g = Quantity(n_("The reading"), dimension="mass", least=0, most=1e5, needed=True)
    over = _over()


class RuledOff(Form):
    candle = _candle()
    burn = _sitting()
    mark = _mark()
    what = OneOf(n_("What"), choices=list(MEASURED.items()), needed=True)
    mm = Quantity(n_("How much"), dimension="length", least=0, most=1000, needed=True)
    over = _over()


class Hottest(Form):
    candle = _candle()
    burn = _sitting()
    mark = _mark()
    temp_c = Quantity(
        n_("Hottest place of the vessel"), dimension="temperature", least=-20, most=500, needed=True
    )
    over = _over()


class Saw(Form):
    candle = _candle()
    burn = _sitting()
    mark = _mark()
    what = OneOf(n_("What"), choices=list(SEEN.items()), needed=True)
    grade = Whole(n_("How much"), least=0, most=3, needed=True)
    over = _over()


class Stopped(Form):
    candle = _candle()
    burn = _sitting()
    why = OneOf(n_("Why"), choices=list(STOPPED.items()), needed=True)
    text = note()
    over = _over()


class SmokeEnded(Form):
    candle = _candle()
    burn = _sitting()
    seconds = Whole(n_("Seconds"), least=0, most=3600, needed=True)
    over = _over()


class SetAside(Form):
    candle = _candle()
    why = why()


class Rated(Form):
    candle = _candle()
    throw = OneOf(n_("Throw"), choices=[("cold", n_("unlit")), ("hot", n_("burning"))], needed=True)
    nose = Words(n_("Whose nose"), most=80, needed=True)
    rating = Whole(n_("Rating"), least=1, most=5, needed=True)
    letter = Words(n_("Letter"), most=4)


class Shuffled(Form):
    seed = Whole(n_("Seed"), least=0, most=2**31 - 1, needed=True)


class Nothing(Form):
    pass


class Closed(Form):
    why = why()


def _type(name: str, form: type[Form], *, means: str, log: str, **given: Any) -> EventType:
    return EventType(name, form, means=means, log=log, **given)


BURN_TEST = Stream(
    "burn_test",
    refused=n_("A step of a burn test: {why}"),
    types=(
        _type(
            "weighed",
            Weighed,
            means="what the scale read of a candle, before it was lit or after its rest",
            log=n_("Weighed {when}"),
            correctable="read_g",
        ),
        _type("lit", Lit, means="it was lit", log=n_("Lit")),
        _type(
            "measured",
            RuledOff,
            means="what a ruler read at a mark",
            log=n_("Measured: {what}"),
            correctable="mm",
        ),
        _type(
            "hottest",
            Hottest,
            means="how hot the hottest place of the vessel was",
            log=n_("Hottest place of the vessel"),
            correctable="temp_c",
        ),
        _type(
            "saw",
            Saw,
            means="what she saw at a mark; `grade` from 0, none, to 3, bad",
            log=n_("Seen: {what}"),
            correctable="grade",
        ),
        _type(
            "nothing_else",
            OfMark,
            means="of what was not said of a mark, there was none",
            log=n_("Nothing else to see"),
        ),
        _type(
            "looked",
            OfMark,
            means="that was all of a mark; the rest was not looked at",
            log=n_("The rest was not looked at"),
        ),
        _type("stopped", Stopped, means="a sitting is over, and why", log=n_("Out: {why}")),
        _type(
            "smoke_ended",
            SmokeEnded,
            means="how long the wick smoked",
            log=n_("Smoked for {seconds} s"),
            correctable="seconds",
        ),
        _type(
            "smoke_not_seen",
            OfSitting,
            means="how long the wick smoked was not looked at",
            log=n_("Its smoke was not looked at"),
        ),
        _type("burned_down", OfCandle, means="10 mm of wax are left", log=n_("Burned down")),
        _type(
            "set_aside",
            SetAside,
            means="a candle is out of the test",
            log=n_("Out of the test: {why}"),
            log_bare=n_("Out of the test"),
        ),
        _type(
            "rated",
            Rated,
            means="how strong one nose found its scent; `letter`, where it did not know which",
            log=n_("{nose} rated it {rating}"),
            correctable="rating",
            is_step=False,
        ),
        _type(
            "shuffled",
            Shuffled,
            means="a blind rating begins: letters hide which candle is which",
            log=n_("Candles shuffled"),
            is_step=False,
        ),
        _type(
            "unblinded",
            Nothing,
            means="the letters are told",
            log=n_("Letters told"),
            is_step=False,
        ),
        _type(
            "closed",
            Closed,
            means="the test is over",
            log=n_("Test closed: {why}"),
            log_bare=n_("Test closed"),
            is_step=False,
        ),
        _type("noted", Noted, means="a note", log=n_("Note: {text}"), is_step=False),
    ),
    room="burns",
)
