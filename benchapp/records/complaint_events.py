"""What can happen to a complaint or an accident once it was heard of."""

from wtforms import Form

from benchapp.records.event_type import EventType, Noted, Stream, note
from benchapp.records.fields import Day, Words
from benchapp.words import n_


class Reported(Form):
    to = Words(n_("To whom"), most=200, needed=True)
    on = Day(n_("On"), needed=True)
    text = note()


class Closed(Form):
    text = note()


COMPLAINT = Stream(
    "complaint",
    refused=n_("What happened to a complaint: {why}"),
    types=(
        EventType(
            "answered",
            Noted,
            means="what whoever complained was told",
            log=n_("Answered: {text}"),
            is_step=False,
        ),
        EventType(
            "done",
            Noted,
            means="what was done about it",
            log=n_("Done about it: {text}"),
            is_step=False,
        ),
        EventType(
            "reported",
            Reported,
            means="it was reported to an authority or an insurer",
            log=n_("Reported to {to} on {on}"),
            correctable="on",
            is_step=False,
        ),
        EventType(
            "closed",
            Closed,
            means="nothing more is to be done about it",
            log=n_("Closed: {text}"),
            log_bare=n_("Closed"),
            is_step=False,
        ),
        EventType(
            "reopened",
            Closed,
            means="there is more to be done about it after all",
            log=n_("Opened again: {text}"),
            log_bare=n_("Opened again"),
            is_step=False,
        ),
        EventType("noted", Noted, means="a note", log=n_("Note: {text}"), is_step=False),
    ),
    room="products",
)
