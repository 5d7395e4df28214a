"""Who has the candles, and how they are called back: the forms of buyers and of recalls, and what
can happen to a recall.

A buyer's record may be erased (``Kind.is_erasable``): what happened names a buyer by an id alone.
"""

from wtforms import Form

from benchapp.records import form_parts as parts
from benchapp.records.event_type import EventType, Noted, Stream
from benchapp.records.fields import OfMaterial, OneOf, Words
from benchapp.words import n_

#: What can be called back: all that was made of a delivery, a batch, all batches of a recipe.
RECALLED = ("lot", "pour", "recipe")


class Buyer(Form):
    name = parts.name(n_("Such as Brackwater Gift Shop."))
    what = OneOf(
        n_("It is"),
        choices=[
            ("person", n_("a person")),
            ("shop", n_("a shop")),
            ("market", n_("a market, where nobody is known by name")),
        ],
        default="person",
    )
    mail = Words(n_("Mail"), most=120)
    telephone = Words(n_("Telephone"), most=40)
    address = Words(n_("Address"), most=400, lines=3)
    notes = parts.notes(
        more=True, help=n_("Write down only what you need: they may ask to see all of it.")
    )


class Recall(Form):
    name = Words(n_("Name"), needed=True, most=200)
    of = OfMaterial(n_("Of what"), kinds=RECALLED, needed=True, drawn=False)
    rehearsal = parts.yes_or_no(n_("Only a rehearsal"), default="no")
    risk = Words(
        n_("What the danger is"),
        most=1000,
        lines=2,
        help=n_("Say it plainly, and do not soften it."),
    )
    remedy = Words(
        n_("What you offer"),
        most=1000,
        lines=2,
        help=n_("Such as another candle, or the money back: they choose."),
    )


class Told(Form):
    buyer = Words(n_("Who"), most=64)
    whom = Words(n_("Who"), most=120)
    how = Words(n_("How"), most=120)


class Closed(Form):
    why = Words(n_("Why"), most=200)


RECALL = Stream(
    "recall",
    refused=n_("What happened in a recall: {why}"),
    types=(
        EventType(
            "told",
            Told,
            means="a buyer, or whoever `whom` says, was told",
            log=n_("Told {whom}"),
            log_bare=n_("Told a buyer"),
            is_step=False,
        ),
        EventType(
            "closed",
            Closed,
            means="the recall is over",
            log=n_("Closed: {why}"),
            log_bare=n_("Closed"),
            is_step=False,
        ),
        EventType("noted", Noted, means="a note", log=n_("Note: {text}"), is_step=False),
    ),
    room="shelf",
)
