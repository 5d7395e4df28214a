"""What a type of event is, and what several streams' types are made of."""

import math
from dataclasses import dataclass
from typing import Any, TypeGuard

from wtforms import Form
from wtforms.validators import ValidationError

from benchapp.records.fields import MOST_TEXT, Day, Kept, Words, fields_of
from benchapp.records.stamps import ms_of
from benchapp.words import n_, t


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
        room: the room of the phone's modules where it is folded, if that is not the bench, which
            does without its types.
    """

    kind: str
    refused: str
    types: tuple[EventType, ...]
    room: str = ""


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
        elif not is_number(value):
            raise ValidationError(t("{label} must be a number or a day.", label=self.called))
        elif not -self.LARGEST <= value <= self.LARGEST:
            raise ValidationError(t("{label} is far too large: check it.", label=self.called))


def is_number(value: Any) -> TypeGuard[int | float]:
    """Whether it is a finite number."""
    return isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value)


def why() -> Words:
    return Words(n_("Why"), most=200)


def note(**given: Any) -> Words:
    return Words(n_("Note"), most=MOST_TEXT, **given)


class Noted(Form):
    text = note(needed=True)
