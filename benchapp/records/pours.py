"""What is kept of a pour: its record with the pour sheet, and its events.

The events are told in the table at the top of ``static/bench/fold.js``; here is what a server
takes of each. A type that is not in the catalogue may come from a newer phone: it is kept as it
is, and passed over by those who don't know it.
"""

import json
import math
import re
from datetime import date
from typing import Any

from wtforms import Form
from wtforms.validators import ValidationError

from benchapp.records.fields import MOST_TEXT, Kept, OneOf, Quantity, Whole, Words
from benchapp.records.stamps import ms_of

Event = dict[str, Any]

MOST_MS = 253_402_300_799_999
"""The last millisecond of the year 9999."""
MOST_EVENT = 24_000
"""Characters of an event's JSON: a long note, and room to spare."""
MOST_SHEET = 100_000

_TYPE = re.compile(r"[a-z_]{1,32}", re.ASCII)


# ---- the record --------------------------------------------------------------------------------


class Sheet(Kept):
    """The pour sheet, as ``makeSheet`` in ``static/bench/sheet.js`` writes it."""

    kept_as = "sheet"

    _NEEDED = {"title": str, "count": int, "vessel": dict, "jug": dict, "jugs": list}  # noqa: RUF012
    _NUMBERS = (
        *("load", "highest_load", "each_g", "wax_each_g", "step_g", "fine_step_g", "capacity_g"),
        *("thermometer_step_c", "allowance_g", "room_c", "molten_density", "fragrance_density"),
        *("highest_c", "stir_s", "cure_least_days", "cure_best_days", "wax_g", "fragrance_g"),
        *("trim_days", "label_days", "burn_days", "version"),
    )
    _LISTS = ("waxes", "oils", "extras", "history")
    _OBJECTS = ("fine", "scale", "thermometer", "fragrance", "pour")

    def check(self, value: Any) -> None:
        if not isinstance(value, dict) or not all(
            isinstance(value.get(name), kind) for name, kind in self._NEEDED.items()
        ):
            raise ValidationError("The pour sheet is not whole.")
        for names, kinds in (
            (self._NUMBERS, (int, float)),
            (self._LISTS, (list,)),
            (self._OBJECTS, (dict,)),
        ):
            for name in names:
                given = value.get(name)
                if given is not None and (not isinstance(given, kinds) or isinstance(given, bool)):
                    raise ValidationError(f"The pour sheet can't be read at “{name}”.")
        if len(json.dumps(value)) > MOST_SHEET:
            raise ValidationError("The pour sheet is too long.")


class Pour(Form):
    name = Words("Name", needed=True, most=200)
    sheet = Sheet("Pour sheet", needed=True)
    started_at = Whole("Begun", least=0, most=MOST_MS, needed=True)


# ---- the events --------------------------------------------------------------------------------


class Day(Kept):
    """A day, ISO 8601."""

    def check(self, value: Any) -> None:
        try:
            date.fromisoformat(value)
        except (TypeError, ValueError):
            raise ValidationError(f"{self.label.text} must be a day.") from None


class OtherEvent(Kept):
    """The id of an earlier event."""

    def check(self, value: Any) -> None:
        if not isinstance(value, str) or ms_of(value) is None:
            raise ValidationError(f"{self.label.text} does not name an event.")


class Value(Kept):
    """A number or a day, whatever the corrected field holds."""

    def check(self, value: Any) -> None:
        if isinstance(value, str):
            Day.check(self, value)  # type: ignore[arg-type]
        elif isinstance(value, bool) or not isinstance(value, int | float):
            raise ValidationError(f"{self.label.text} must be a number or a day.")
        elif not -1e6 <= value <= 1e6:
            raise ValidationError(f"{self.label.text} is out of all proportion.")


def _jug() -> Whole:
    return Whole("Jug", least=0, most=999)


def _read_g() -> Quantity:
    return Quantity("The reading", dimension="mass", least=0, most=1e6, needed=True)


def _source() -> Words:
    """The instrument that told the reading by itself."""
    return Words("The reading's source", most=80)


class Plain(Form):
    jug = _jug()


class Accepted(Form):
    jug = _jug()
    part = OneOf(
        "Part",
        choices=[(name, name) for name in ("wax", "additive", "fragrance", "restore")],
        needed=True,
    )
    index = Whole("Which", least=0, most=99, needed=True)


class Weighed(Accepted):
    read_g = _read_g()
    source = _source()


class Read(Form):
    jug = _jug()
    temp_c = Quantity("The reading", dimension="temperature", least=-50, most=400, needed=True)
    source = _source()


class Poured(Form):
    jug = _jug()
    read_g = _read_g()
    source = _source()


class SetAside(Form):
    on = Day("Poured on", needed=True)


class Finished(Form):
    tops = Words("Tops", most=200)
    text = Words("Note", most=MOST_TEXT)


class Noted(Form):
    text = Words("Note", most=MOST_TEXT, needed=True)


REMINDERS = ("trim", "label", "cured", "best", "burn", "reburn")
"""What a pour reminds of, by name."""


def _reminder() -> OneOf:
    return OneOf("Reminder", choices=[(name, name) for name in REMINDERS], needed=True)


class SeenTo(Form):
    reminder = _reminder()
    on = Day("Due on", needed=True)


class PutOff(SeenTo):
    until = Day("Put off until", needed=True)


class Burned(Form):
    text = Words("Note", most=MOST_TEXT)
    next_on = Day("Next burn on")


class Undone(Form):
    event = OtherEvent("What was undone", needed=True)


class Corrected(Form):
    event = OtherEvent("What was corrected", needed=True)
    field = OneOf(
        "Field",
        choices=[(name, name) for name in ("read_g", "temp_c", "on")],
        needed=True,
    )
    value = Value("The right value", needed=True)
    why = Words("Why", most=MOST_TEXT)


#: The catalogue of events.
EVENTS: dict[str, type[Form]] = {
    "ready": Plain,
    "weighed": Weighed,
    "accepted": Accepted,
    "melted": Plain,
    "read": Read,
    "warmed": Plain,
    "went_on": Plain,
    "added": Plain,
    "stirred": Plain,
    "poured": Poured,
    "emptied": Plain,
    "set": SetAside,
    "finished": Finished,
    "noted": Noted,
    "seen_to": SeenTo,
    "put_off": PutOff,
    "burned": Burned,
    "undone": Undone,
    "corrected": Corrected,
}


def check_event(event: Event) -> list[str]:
    """What is wrong with an event, in sentences; empty if it can be kept.

    Its ``id`` and ``pour`` are the caller's to check: they say where it is kept.
    """
    kind, at = event.get("type"), event.get("at")
    if not isinstance(kind, str) or not _TYPE.fullmatch(kind):
        return ["It does not say what happened."]
    if isinstance(at, bool) or not isinstance(at, int | float) or not 0 <= at <= MOST_MS:
        return ["It does not say when it happened."]
    if at != math.floor(at):
        return ["Its time must be whole milliseconds."]
    if len(json.dumps(event)) > MOST_EVENT:
        return ["It is too long."]
    if kind not in EVENTS:
        return []
    form = EVENTS[kind](data=event)
    form.validate()
    return [str(line) for lines in form.errors.values() for line in lines]
