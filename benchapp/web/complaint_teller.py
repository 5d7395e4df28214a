"""The form in which is said what became of a complaint: what is told becomes an event."""

from wtforms import Form

from benchapp.records.fields import MOST_TEXT, Day, OneOf, Words
from benchapp.words import n_


class ComplaintTeller(Form):
    what = OneOf(
        n_("What"),
        choices=[
            ("done", n_("I did something about it")),
            ("answered", n_("I answered whoever complained")),
            ("reported", n_("I reported it")),
            ("noted", n_("Something to note")),
            ("closed", n_("It is closed")),
            ("reopened", n_("It is open again")),
        ],
        default="done",
    )
    to = Words(
        n_("To whom"),
        most=200,
        needed=True,
        when={"what": "reported"},
        help=n_("Such as the authority where you sell, or your insurer."),
    )
    on = Day(n_("On"), needed=True, when={"what": "reported"})
    text = Words(
        n_("In words"),
        most=MOST_TEXT,
        lines=2,
        needed=True,
        when={"what": "done answered noted"},
        help=n_("Leave out who it was."),
    )
    also = Words(n_("Note"), most=MOST_TEXT, lines=2, when={"what": "reported closed reopened"})
