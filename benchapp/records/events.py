"""The catalogue of events: what can happen to a record, kind by kind, and how that is read.

A kind of record with a ``Stream`` here has a stream of events: append-only, folded into what is
now. An event is ``{id, of: [kind, record id], type, at, …}``; its id is its stamp and ``at`` is in
milliseconds since 1970, by the server's clock where the phone knew it (``offset_ms`` ahead of its
own). ``by`` is the name of the paired device that kept it. A type stands here once: the server's
check, the phone's fold, the log's words and the types of the JavaScript all come from it
(``export.py`` writes what the phone needs).

Two phones may answer one question of the board out of hearing of each other. So an event names
what it answers: ``vessel``, ``wait``, or ``over``, the answer that it replaces
(``static/bench/answers.js``).

What is kept is never changed: undoing and correcting are events too, of every stream. A type that
is not in the catalogue may come from a newer phone: it is kept as it is, and passed over by those
who don't know it.
"""

import json
import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, TypeGuard

from wtforms import Form
from wtforms.validators import ValidationError

from benchapp.formulas.cure import ready
from benchapp.formulas.weigh import MOST_VESSELS
from benchapp.records.fields import (
    MOST_TEXT,
    Kept,
    Measured,
    OneOf,
    Quantity,
    Whole,
    Words,
    fields_of,
    problems,
)
from benchapp.records.stamps import ms_of
from benchapp.words import n_, t

Event = dict[str, Any]

MOST_MS = 253_402_300_799_999
"""The last millisecond of the year 9999."""
MOST_NAME = 200
"""Characters of a device's name: as many as ``devices.py`` takes, and room to spare."""
MOST_EVENT = 24_000
"""Characters of an event's JSON: a long note, and room to spare."""

_TYPE = re.compile(r"[a-z_]{1,32}", re.ASCII)


@dataclass(frozen=True)
class EventType:
    """One thing that can happen to a record.

    Attributes:
        name: the ``type`` of its events; never to be given another meaning.
        form: its fields, with what each may hold.
        means: what it says, for the table in DEVELOPERS.md.
        log: its line in the log, with places for its fields.
        log_bare: that line where such a field is not given; "": it always is.
        correctable: the field that a later 'corrected' may set right; "": none.
        is_step: it is work at the bench, so that *Undo* takes the last such event back. What is
            not a step is undone by itself, in the log.
        is_harmless: a knock or a word may do it: a step that takes nothing for read.
        moves_reminders: after it the record's reminders may say something else.
        since: the version of benchapp that brought it.
    """

    name: str
    form: type[Form]
    means: str
    log: str
    log_bare: str = ""
    correctable: str = ""
    is_step: bool = True
    is_harmless: bool = False
    moves_reminders: bool = False
    since: str = "0.1"

    @property
    def fields(self) -> dict[str, Kept]:
        """Its fields by name, in the order of the form."""
        return fields_of(self.form)


@dataclass(frozen=True)
class Stream:
    """What can happen to records of one kind.

    Attributes:
        kind: of the records.
        refused: how a refusal begins, with ``{why}`` for the sentence that says what is wrong.
        types: undoing and correcting are added by ``STREAMS``.
    """

    kind: str
    refused: str
    types: tuple[EventType, ...]


# ---- kinds of field that only events have ------------------------------------------------------


class Day(Kept):
    """A day, ISO 8601 as 2026-11-25."""

    kept_as = "day"

    def check(self, value: Any) -> None:
        if not _is_day(value):
            raise ValidationError(t("{label} must be a day.", label=self.called))


class OtherEvent(Kept):
    """The id of an earlier event."""

    kept_as = "event"

    def check(self, value: Any) -> None:
        if not isinstance(value, str) or ms_of(value) is None:
            raise ValidationError(t("{label} does not name an event.", label=self.called))


class Value(Kept):
    """A number or a day, whatever the corrected field holds."""

    kept_as = "value"
    LARGEST = 1e6

    def check(self, value: Any) -> None:
        if isinstance(value, str):
            Day.check(self, value)  # type: ignore[arg-type]
        elif not _is_number(value):
            raise ValidationError(t("{label} must be a number or a day.", label=self.called))
        elif not -self.LARGEST <= value <= self.LARGEST:
            raise ValidationError(t("{label} is far too large: check it.", label=self.called))


# ---- what happens to a pour --------------------------------------------------------------------

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


def _why() -> Words:
    return Words(n_("Why"), most=200)


def _vessels(label: str) -> Whole:
    return Whole(label, least=0, most=MOST_VESSELS)


def _note(**given: Any) -> Words:
    return Words(n_("Note"), most=MOST_TEXT, **given)


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
    why = _why()


class Spilled(Form):
    jug = _jug()
    over = _over()
    read_g = _read_g()


class Stopped(Skipped):
    filled = _vessels(n_("Vessels filled by then"))


class Abandoned(Form):
    why = _why()


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
    text = _note()
    set_through = _ticked(n_("Fully set and cold"))
    trimmed = _ticked(n_("Wicks trimmed"))
    labelled = _ticked(n_("Labelled"))


class Noted(Form):
    text = _note(needed=True)


class SeenTo(Form):
    reminder = _reminder()
    on = Day(n_("Due on"), needed=True)


class PutOff(SeenTo):
    until = Day(n_("Put off until"), needed=True)


class Burned(Form):
    text = _note()
    next_on = Day(n_("Next burn on"))


_POUR = Stream(
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
    ),
)


# ---- the catalogue -----------------------------------------------------------------------------

#: Every kind that has a stream.
_ALL = (_POUR,)


class Undone(Form):
    event = OtherEvent(n_("What was undone"), needed=True)


def _whole(stream: Stream) -> Stream:
    """A stream with what every stream has: an earlier event can be undone, or set right."""
    correctable = dict.fromkeys(each.correctable for each in stream.types if each.correctable)

    class Corrected(Form):
        event = OtherEvent(n_("What was corrected"), needed=True)
        field = OneOf(n_("Field"), choices=[(name, name) for name in correctable], needed=True)
        value = Value(n_("The right value"), needed=True)
        why = Words(n_("Why"), most=MOST_TEXT)

    common = (
        EventType(
            "undone",
            Undone,
            means="an earlier event does not count",
            log=n_("Undone"),
            is_step=False,
            moves_reminders=True,
        ),
        EventType(
            "corrected",
            Corrected,
            means="an earlier event's value was wrong",
            log=n_("Corrected"),
            is_step=False,
            moves_reminders=True,
        ),
    )
    return Stream(stream.kind, stream.refused, (*stream.types, *common))


#: The streams, by the kind of their records.
STREAMS: dict[str, Stream] = {stream.kind: _whole(stream) for stream in _ALL}

#: The types of each, by name.
TYPES: dict[str, dict[str, EventType]] = {
    kind: {each.name: each for each in stream.types} for kind, stream in STREAMS.items()
}


# ---- checking ----------------------------------------------------------------------------------


def check_event(event: Event) -> list[str]:
    """What is wrong with an event, in sentences; empty if it can be kept.

    It is well formed (``shapes.is_event``), and of a kind that has a stream.
    """
    name, at = event.get("type"), event.get("at")
    if not isinstance(name, str) or not _TYPE.fullmatch(name):
        return [t("This step does not say what happened.")]
    if not _is_moment(at):
        return [t("This step does not say when it happened.")]
    if at != math.floor(at):
        return [t("Its time must be whole milliseconds.")]
    if len(json.dumps(event)) > MOST_EVENT:
        return [t("It is too long.")]
    by, offset_ms = event.get("by", ""), event.get("offset_ms", 0)
    if not isinstance(by, str) or len(by) > MOST_NAME:
        return [t("This step does not say who did it.")]
    if not _is_number(offset_ms) or abs(offset_ms) > MOST_MS or offset_ms != math.floor(offset_ms):
        return [t("This step does not say how far its phone's clock was off.")]
    known = TYPES[event["of"][0]].get(name)
    if known is None:
        return []
    return list(problems(known.form, event).values())


# ---- reading -----------------------------------------------------------------------------------


def effective_events(kind: str, events: Iterable[Event]) -> list[Event]:
    """The events that count, as they were set right: without those that were undone, and without
    'undone' and 'corrected' themselves.

    Args:
        kind: of their record.
        events: of one record, oldest first.

    What does not hold what its type must hold is passed over, so that a fold may rely on it.
    Its twin is ``effectiveEvents`` in ``static/records/events.js``.
    """
    known = list(events)
    types = TYPES[kind]
    undone = {
        each["event"]
        for each in known
        if each.get("type") == "undone" and fits(types["undone"], each)
    }
    by_id = {each["id"]: types.get(str(each.get("type"))) for each in known}
    right: dict[str, Event] = {}
    for each in known:
        is_correction = each.get("type") == "corrected" and each["id"] not in undone
        if is_correction and fits(types["corrected"], each):
            of, field, value = by_id.get(each["event"]), each["field"], each["value"]
            if of and of.correctable == field and _holds(of.fields[field], value):
                right[each["event"]] = {field: value}
    found = []
    for each in known:
        if each["id"] in undone or each.get("type") in ("undone", "corrected"):
            continue
        event = each | right.get(each["id"], {})
        event_type = by_id[each["id"]]
        if _is_moment(each.get("at")) and (event_type is None or fits(event_type, event)):
            found.append(event)
    return found


def fits(event_type: EventType, event: Event) -> bool:
    """Whether every field holds what it must; how long a text is does not matter here."""
    for name, field in event_type.fields.items():
        value = event.get(name)
        if value is None or value == "":
            if field.needed:
                return False
        elif not _holds(field, value):
            return False
    return True


def _holds(field: Kept, value: Any) -> bool:
    if isinstance(field, Words):
        return isinstance(value, str)
    if isinstance(field, Measured):
        if not _is_number(value) or (isinstance(field, Whole) and value != math.floor(value)):
            return False
        return field.least <= value <= field.most
    try:
        field.check(value)
    except ValidationError:
        return False
    return True


def _is_moment(value: Any) -> TypeGuard[int | float]:
    return _is_number(value) and 0 <= value <= MOST_MS


def _is_number(value: Any) -> TypeGuard[int | float]:
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)


def _is_day(value: Any) -> bool:
    try:
        return isinstance(value, str) and str(ready(value, 0)) == value
    except ValueError:
        return False
