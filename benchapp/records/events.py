"""The catalogue of events: what can happen to a record, kind by kind, and how that is read.

A kind of record with a ``Stream`` here has a stream of events: append-only, folded into what is
now. An event is ``{id, of: [kind, record id], type, at, …}``; its id is its stamp and ``at`` is in
milliseconds since 1970, by the server's clock where the phone knew it (``offset_ms`` ahead of its
own). ``by`` is the name of the paired device that kept it. A type stands here once: the server's
check, the phone's fold, the log's words and the types of the JavaScript all come from it
(``export.py`` writes what the phone needs).

What is kept is never changed: undoing and correcting are events too, of every stream. A type that
is not in the catalogue may come from a newer phone: it is kept as it is, and passed over by those
who don't know it.
"""

import json
import math
import re
from collections.abc import Iterable
from dataclasses import replace
from typing import Any, TypeGuard

from wtforms import Form
from wtforms.validators import ValidationError

from benchapp.records.batch_events import BATCH
from benchapp.records.burn_events import BURN_TEST
from benchapp.records.complaint_events import COMPLAINT
from benchapp.records.event_type import EventType, OtherEvent, Stream, Value, is_number
from benchapp.records.fields import MOST_TEXT, Kept, Measured, OneOf, Whole, Words, problems
from benchapp.records.label_events import MADE_LABEL
from benchapp.records.lot_events import LOT
from benchapp.records.pour_events import POUR
from benchapp.records.recalls import RECALL
from benchapp.words import n_, t

Event = dict[str, Any]

MOST_MS = 253_402_300_799_999
"""The last millisecond of the year 9999."""
MOST_NAME = 200
"""Characters of a device's name: as many as ``devices.py`` takes, and room to spare."""
MOST_EVENT = 24_000
"""Characters of an event's JSON: a long note, and room to spare."""

_TYPE = re.compile(r"[a-z_]{1,32}", re.ASCII)

# ---- the catalogue -----------------------------------------------------------------------------

#: Every kind that has a stream.
_ALL = (POUR, LOT, BURN_TEST, MADE_LABEL, BATCH, RECALL, COMPLAINT)


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
            moves_reminders=stream.kind == "pour",
        ),
        EventType(
            "corrected",
            Corrected,
            means="an earlier event's value was wrong",
            log=n_("Corrected"),
            is_step=False,
            moves_reminders=stream.kind == "pour",
        ),
    )
    # Of some there is nothing to set right.
    return replace(stream, types=(*stream.types, *(common if correctable else common[:1])))


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
    if not is_number(offset_ms) or abs(offset_ms) > MOST_MS or offset_ms != math.floor(offset_ms):
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
        if is_correction and "corrected" in types and fits(types["corrected"], each):
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
        if not is_number(value) or (isinstance(field, Whole) and value != math.floor(value)):
            return False
        return field.least <= value <= field.most
    try:
        field.check(value)
    except ValidationError:
        return False
    return True


def _is_moment(value: Any) -> TypeGuard[int | float]:
    return is_number(value) and 0 <= value <= MOST_MS
