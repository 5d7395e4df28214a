"""Records of what the desk worked out: from what, when, and what came of it.

A finding is never changed. It holds all that it rests on as it was (``asked``), so that a phone
can tell when something under it has changed since. Both are JSON as text, with their sentences
unworded (``benchapp.words.unworded``): ``static/records/findings.js`` writes and reads them.
"""

import json
from typing import Any

from wtforms import Form
from wtforms.validators import ValidationError

from benchapp.records.events import MOST_MS
from benchapp.records.fields import Kept, Other, Whole, Words
from benchapp.words import n_, t

MOST_HELD = 200_000
"""Characters of the JSON of one part of a finding, and of what a logo is kept in."""

MOST_PICTURED = 250_000
"""Characters of the pictures of a label."""


class Held(Kept):
    """A JSON object that another part of the program wrote and reads: kept as it is."""

    kept_as = "held"

    def __init__(self, label: str, *, most: int = MOST_HELD, **given: Any) -> None:
        self.most = most
        super().__init__(label, **given)

    def check(self, value: Any) -> None:
        if not isinstance(value, dict):
            raise ValidationError(t("{label} can't be read.", label=self.called))
        if len(json.dumps(value)) > self.most:
            raise ValidationError(t("{label} is too long.", label=self.called))


class HeldText(Kept):
    """A JSON object as text: it may hold more within one another than the exchange takes."""

    kept_as = "held_text"

    def __init__(self, label: str, *, most: int = MOST_HELD, **given: Any) -> None:
        self.most = most
        super().__init__(label, **given)

    def check(self, value: Any) -> None:
        if isinstance(value, str) and len(value) > self.most:
            raise ValidationError(t("{label} is too long.", label=self.called))
        if not isinstance(value, str) or not _is_object(value):
            raise ValidationError(t("{label} can't be read.", label=self.called))


def _is_object(text: str) -> bool:
    try:
        return isinstance(json.loads(text, parse_constant=_no_number), dict)
    except (ValueError, RecursionError):
        return False


def _no_number(name: str) -> None:
    raise ValueError(name)


def _name() -> Words:
    return Words(n_("Name"), needed=True, most=200)


def _at(label: str) -> Whole:
    return Whole(label, least=0, most=MOST_MS, needed=True)


class HazardFinding(Form):
    """The hazard class of a recipe's candle."""

    name = _name()
    recipe = Other(n_("Recipe"), kind="recipe", needed=True)
    made_at = _at(n_("Worked out"))
    asked = HeldText(n_("What it rests on"), needed=True)
    found = HeldText(n_("What was found"), needed=True)


class NetFinding(Form):
    """What a batch's vessels weigh, and what its label may therefore state."""

    name = _name()
    pour = Other(n_("Pour"), kind="pour", needed=True)
    made_at = _at(n_("Worked out"))
    asked = HeldText(n_("What it rests on"), needed=True)
    found = HeldText(n_("What was found"), needed=True)


class MadeLabel(Form):
    """A label as it was made: what stands on it, for which batch, and how it is laid out."""

    name = _name()
    label = Other(n_("Label"), kind="label", needed=True)
    pour = Other(n_("Pour"), kind="pour")
    made_at = _at(n_("Made"))
    asked = HeldText(n_("What stands on it"), needed=True)
    found = HeldText(n_("How it is laid out"), needed=True)


class LabelPicture(Form):
    """What a made label looks like. It has the id of that label, and is read only to be seen: lists
    of labels do without."""

    name = _name()
    drawn = HeldText(n_("Pictures"), most=MOST_PICTURED, needed=True)
