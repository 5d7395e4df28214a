"""What can happen to a lot once it is here, but for what pours take of it."""

from wtforms import Form

from benchapp.records.event_type import EventType, Noted, Stream, why
from benchapp.records.fields import Day, Measured, Words
from benchapp.words import n_


class Amount(Measured):
    """Of a material as its lot is counted: grams, or pieces."""

    kept_as = "quantity"


def _amount(label: str) -> Amount:
    return Amount(label, least=0, most=1e6, needed=True)


class Used(Form):
    amount = _amount(n_("How much"))
    why = why()


class Counted(Form):
    amount = _amount(n_("What is there"))
    why = why()


class Withdrawn(Form):
    why = Words(n_("Why"), most=200, needed=True)


class Opened(Form):
    on = Day(n_("Opened on"), needed=True)


def _moved(name: str, form: type[Form], *, means: str, log: str, log_bare: str) -> EventType:
    """Something that changes, or says, how much there is."""
    return EventType(
        name, form, means=means, log=log, log_bare=log_bare, correctable="amount", is_step=False
    )


LOT = Stream(
    "lot",
    refused=n_("What happened to a delivery: {why}"),
    types=(
        _moved(
            "used",
            Used,
            means="some of it was used, but in no pour",
            log=n_("Used, {why}"),
            log_bare=n_("Used"),
        ),
        _moved(
            "counted",
            Counted,
            means="so much of it is there; the difference is kept",
            log=n_("Counted, {why}"),
            log_bare=n_("Counted"),
        ),
        _moved(
            "thrown_away",
            Used,
            means="some of it was thrown away",
            log=n_("Thrown away, {why}"),
            log_bare=n_("Thrown away"),
        ),
        _moved(
            "sent_back",
            Used,
            means="some of it went back to the supplier",
            log=n_("Sent back, {why}"),
            log_bare=n_("Sent back"),
        ),
        EventType(
            "opened",
            Opened,
            means="it was opened; without, its first weighing opens it",
            log=n_("Opened"),
            correctable="on",
            is_step=False,
        ),
        EventType(
            "withdrawn",
            Withdrawn,
            means="it is not to be used",
            log=n_("Withdrawn: {why}"),
            is_step=False,
        ),
        EventType(
            "used_all_the_same",
            Withdrawn,
            means="it is withdrawn or expired, and was chosen for a pour all the same",
            log=n_("Chosen all the same: {why}"),
            is_step=False,
        ),
        EventType("noted", Noted, means="a note", log=n_("Note: {text}"), is_step=False),
    ),
    room="shelf",
)
