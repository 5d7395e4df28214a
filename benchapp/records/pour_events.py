"""What can happen to a pour.

Two phones may answer one question of the board out of hearing of each other. So an event names
what it answers: ``vessel``, ``wait``, or ``over``, the answer that it replaces
(``static/bench/answers.js``).
"""

from typing import Any

from wtforms import Form

from benchapp.formulas.weigh import MOST_VESSELS
from benchapp.records.event_type import EventType, Noted, OtherEvent, Stream, note, why
from benchapp.records.fields import Day, OneOf, Quantity, Whole, Words
from benchapp.words import n_

REMINDERS = {
    "trim": n_("ready to trim"),
    "label": n_("trim and label"),
    "cured": n_("cured"),
    "best": n_("fully cured"),
    "burn": n_("test burn due"),
    "reburn": n_("next test burn due"),
}
"""What a pour reminds of, by name, and what it says of its batch."""

PARTS = {
    "wax": n_("wax"),
    "additive": n_("additive"),
    "fragrance": n_("fragrance"),
    "restore": n_("wax to put the load right"),
}
"""What is weighed into a jug. ``restore`` is wax added after too much fragrance."""


def _jug() -> Whole:
    return Whole(n_("Jug"), least=0, most=999)


def _read_g() -> Quantity:
    return Quantity(n_("The reading"), dimension="mass", least=0, most=1e6, needed=True)


def _source() -> Words:
    """The instrument that told the reading by itself; without it, she entered it."""
    return Words(n_("The reading's source"), most=80)


HOW = {"mark": n_("on target")}
"""How a reading came that is no news: she filled to the mark, and touched that."""


def _how() -> OneOf:
    return OneOf(n_("How it was read"), choices=list(HOW.items()))


def _vessels(label: str, **given: Any) -> Whole:
    return Whole(label, least=0, most=MOST_VESSELS, **given)


def _reminder() -> OneOf:
    return OneOf(n_("Reminder"), choices=list(REMINDERS.items()), needed=True)


def _over() -> OtherEvent:
    """The answer that it replaces, as it was shown to who gave this one; the earliest stamp: there
    was none. Without it, it was kept before answers named what they replace: all before it."""
    return OtherEvent(n_("What it replaces"))


def _vessel() -> Whole:
    """Of a jug, from 0. Without it, it was kept before vessels were named: the next one."""
    return Whole(n_("Vessel"), least=0, most=MOST_VESSELS)


class Once(Form):
    over = _over()


class OfJug(Form):
    jug = _jug()


class OnceOfJug(OfJug):
    over = _over()


class WentOn(Form):
    jug = _jug()
    wait = Whole(n_("Wait"), least=0, most=1)


class Accepted(Form):
    jug = _jug()
    part = OneOf(n_("Part"), choices=list(PARTS.items()), needed=True)
    index = Whole(n_("Which"), least=0, most=99, needed=True)
    over = _over()


class Weighed(Accepted):
    read_g = _read_g()
    source = _source()
    how = _how()


class Read(Form):
    jug = _jug()
    temp_c = Quantity(n_("The reading"), dimension="temperature", least=-50, most=400, needed=True)
    source = _source()


class OfVessel(Form):
    jug = _jug()
    vessel = _vessel()


class Poured(OfVessel):
    read_g = _read_g()
    source = _source()
    how = _how()


class Skipped(OfVessel):
    why = why()


class Spilled(Form):
    jug = _jug()
    over = _over()
    read_g = _read_g()


class Stopped(Skipped):
    filled = _vessels(n_("Vessels filled by then"))


class Abandoned(Form):
    why = why()


class SetAside(Form):
    on = Day(n_("Poured on"), needed=True)


RESTS = {
    "kept": n_("kept for another pour"),
    "thrown": n_("thrown away"),
    "none": n_("nothing was left"),
}
"""What became of the wax that no vessel took."""


def _ticked(label: str) -> OneOf:
    return OneOf(label, choices=[("yes", n_("yes")), ("no", n_("no"))])


class Finished(Form):
    tops = Words(n_("Tops"), most=200)
    good = _vessels(n_("Good"))
    seconds = _vessels(n_("Second quality"))
    spoiled = _vessels(n_("Spoiled"))
    rest = OneOf(n_("What was left in the jug"), choices=list(RESTS.items()))
    text = note()
    set_through = _ticked(n_("Fully set and cold"))
    trimmed = _ticked(n_("Wicks trimmed"))
    labelled = _ticked(n_("Labelled"))


class SeenTo(Form):
    reminder = _reminder()
    on = Day(n_("Due on"), needed=True)


class PutOff(SeenTo):
    until = Day(n_("Put off until"), needed=True)


class Burned(Form):
    text = note()
    next_on = Day(n_("Next burn on"))


def _id(label: str, **given: Any) -> Words:
    return Words(label, most=64, **given)


class RanOut(Form):
    jug = _jug()
    part = OneOf(n_("Part"), choices=list(PARTS.items()), needed=True)
    index = Whole(n_("Which"), least=0, most=99, needed=True)
    read_g = _read_g()
    lot = _id(n_("Next lot"))


class CameFrom(Form):
    kind = _id(n_("Kind"), needed=True)
    material = _id(n_("Material"), needed=True)
    lot = _id(n_("Lot"))


class HandedOut(Form):
    n = _vessels(n_("How many"), needed=True)
    wanted = _id(n_("For"))
    why = why()


class CandlesCounted(Form):
    n = _vessels(n_("How many"), needed=True)
    why = why()


POUR = Stream(
    "pour",
    refused=n_("A step of a pour: {why}"),
    types=(
        EventType(
            "ready",
            Once,
            means="vessels, wicks and she herself are ready",
            log=n_("Made everything ready"),
            is_harmless=True,
        ),
        EventType(
            "weighed",
            Weighed,
            means="what the scale read, zeroed",
            log=n_("Weighed {part}"),
            correctable="read_g",
        ),
        EventType(
            "accepted",
            Accepted,
            means="a reading off the mark is kept as it is",
            log=n_("Kept {part} as it was"),
        ),
        EventType(
            "melted",
            OnceOfJug,
            means="all the wax of a jug is liquid",
            log=n_("All melted"),
            is_harmless=True,
        ),
        EventType(
            "read",
            Read,
            means="what the thermometer read",
            log=n_("The thermometer showed"),
            correctable="temp_c",
        ),
        EventType(
            "warmed",
            OfJug,
            means="the jug went back on the heat",
            log=n_("Put back on the heat"),
            is_harmless=True,
        ),
        EventType(
            "went_on",
            WentOn,
            means="the wait for a temperature is over",
            log=n_("Went on after the wait"),
            is_harmless=True,
        ),
        EventType(
            "added",
            OnceOfJug,
            means="the fragrance is in, stirring begins",
            log=n_("Added the fragrance, began to stir"),
            is_harmless=True,
        ),
        EventType(
            "stirred", OnceOfJug, means="stirring is done", log=n_("Stirred"), is_harmless=True
        ),
        EventType(
            "poured",
            Poured,
            means="a vessel is filled",
            log=n_("Filled a vessel"),
            correctable="read_g",
        ),
        EventType(
            "emptied",
            OfVessel,
            means="all vessels from this one on are filled, not counted one by one",
            log=n_("Filled the rest without counting"),
        ),
        EventType(
            "skipped",
            Skipped,
            means="a vessel is not filled",
            log=n_("Skipped a vessel: {why}"),
            log_bare=n_("Skipped a vessel"),
        ),
        EventType(
            "spilled",
            Spilled,
            means="some of a jug is lost, and this is left in it",
            log=n_("Some spilled. Left in the jug"),
            correctable="read_g",
        ),
        EventType(
            "stopped",
            Stopped,
            means="no more vessels of a jug are filled; `filled` from this one on were, uncounted",
            log=n_("Stopped before all were filled: {why}"),
            log_bare=n_("Stopped before all were filled"),
        ),
        EventType(
            "filled_other",
            Poured,
            means="a vessel that was not planned takes what is left",
            log=n_("Filled another vessel"),
            correctable="read_g",
        ),
        EventType(
            "abandoned",
            Abandoned,
            means="the pour is given up, and leaves the bench",
            log=n_("Gave up this pour: {why}"),
            log_bare=n_("Gave up this pour"),
        ),
        EventType(
            "set",
            SetAside,
            means="the batch is left to set",
            log=n_("Left to set"),
            correctable="on",
            is_harmless=True,
            moves_reminders=True,
        ),
        EventType(
            "finished",
            Finished,
            means="looked at and put away to cure, with what is ticked; all, where it does not say",
            log=n_(
                "Put away to cure. Set: {set_through}; trimmed: {trimmed}; labelled: {labelled}"
            ),
            log_bare=n_("Trimmed and put away to cure"),
            moves_reminders=True,
        ),
        EventType("noted", Noted, means="a note", log=n_("Note: {text}")),
        EventType(
            "seen_to",
            SeenTo,
            means="a reminder is done; `on` is the day it was due",
            log=n_("Ticked off: {reminder}"),
            is_step=False,
            moves_reminders=True,
        ),
        EventType(
            "put_off",
            PutOff,
            means="a reminder comes again later",
            log=n_("Put off: {reminder}"),
            is_step=False,
            moves_reminders=True,
        ),
        EventType(
            "burned",
            Burned,
            means="a test burn was made",
            log=n_("Test burn: {text}"),
            log_bare=n_("Test burn"),
            is_step=False,
            moves_reminders=True,
        ),
        EventType(
            "ran_out",
            RanOut,
            means="a lot was used up at this reading, and the weighing goes on with the next",
            log=n_("The lot of {part} ran out at"),
            correctable="read_g",
        ),
        EventType(
            "came_from",
            CameFrom,
            means="a material of this pour came from this lot from the start; from none: not known",
            log=n_("Said which lot it came from"),
            is_step=False,
        ),
        EventType(
            "handed_out",
            HandedOut,
            means="so many candles of the batch went out; `wanted`: for what",
            log=n_("Candles went out, {why}"),
            log_bare=n_("Candles went out"),
            correctable="n",
            is_step=False,
        ),
        EventType(
            "candles_counted",
            CandlesCounted,
            means="so many candles of the batch are here",
            log=n_("Counted the candles, {why}"),
            log_bare=n_("Counted the candles"),
            correctable="n",
            is_step=False,
        ),
    ),
)
