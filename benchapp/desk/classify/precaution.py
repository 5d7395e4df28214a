"""Which precautionary statements a candle for the public carries: CLP Art. 22 and 28, Annex IV.

Each H statement has a list (prevention | response | storage | disposal). Of all lists together at
most six are kept, unless severity needs more; one on disposal is owed to the public (Art. 28(2)).
The order in which they give way to each other is our choice, and stands here.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from benchapp.desk.rules import Rules
from benchapp.words import Message, message

MOST = 6
"""Normally not more (CLP Art. 28(3))."""

DISPOSAL = "P501"

#: First aid that can't wait; where the signal word is Danger, none of it gives way to the number.
_AT_ONCE = (
    *("P301+P310", "P301+P330+P331", "P331", "P303+P361+P353", "P305+P351+P338"),
    *("P304+P340", "P310"),
)

#: The order in which they are kept (ours): disposal, first aid, then what keeps harm away.
_ORDER = (
    DISPOSAL,
    *_AT_ONCE,
    *("P308+P313", "P302+P352", "P333+P313", "P337+P313", "P332+P313", "P301+P312", "P312"),
    *("P314", "P330"),
    *("P201", "P202", "P263", "P273", "P280", "P260", "P261", "P264", "P270", "P271"),
    *("P405", "P403+P233", "P391", "P362+P364", "P363"),
)

#: A statement -> what says the same or more.
_COVERED = {
    "P312": ("P310",),
    "P301+P312": ("P301+P310", "P310", "P312"),
    "P330": ("P301+P330+P331",),
    "P331": ("P301+P330+P331",),
    "P302+P352": ("P303+P361+P353",),
    "P362+P364": ("P363",),
    "P332+P313": ("P333+P313",),
    "P261": ("P260",),
}


@dataclass(frozen=True)
class Choice:
    """A P statement that an H statement asks for.

    Attributes:
        asked_by: those H statements.
        because: why it is kept or dropped.
    """

    code: str
    asked_by: tuple[str, ...]
    kept: bool
    because: Message


def choose(rules: Rules, h: Sequence[str], danger: bool) -> tuple[Choice, ...]:
    """The P statements for these H statements, those that are kept first.

    Args:
        danger: the signal word is Danger.
    """
    asked: dict[str, list[str]] = {}
    for code in h:
        for part in _lists(rules, code):
            for statement in part:
                asked.setdefault(statement, []).append(code)
    wanted: list[str] = []
    choices: dict[str, Choice] = {}
    for code in sorted(asked, key=_place):
        reason = _needless(code, asked)
        if reason is None:
            wanted.append(code)
        else:
            choices[code] = Choice(code, tuple(asked[code]), False, reason)
    urgent = [code for code in wanted if danger and code in _AT_ONCE]
    most = max(MOST, len(urgent) + (DISPOSAL in wanted))
    for place, code in enumerate(wanted):
        kept = place < most
        choices[code] = Choice(code, tuple(asked[code]), kept, _reason(code, kept, code in urgent))
    return tuple(sorted(choices.values(), key=lambda one: (not one.kept, _place(one.code))))


def unlisted(rules: Rules, h: Sequence[str]) -> tuple[str, ...]:
    """H statements whose list is not known here."""
    return tuple(code for code in h if not _lists(rules, code))


def _lists(rules: Rules, code: str) -> tuple[tuple[str, ...], ...]:
    """H360 and H361 have the same list with a letter and without."""
    return rules.precaution.get(code) or rules.precaution.get(code[:4], ())


def _place(code: str) -> tuple[int, str]:
    return (_ORDER.index(code) if code in _ORDER else len(_ORDER), code)


def _needless(code: str, asked: dict[str, list[str]]) -> Message | None:
    if code == "P272":
        return message("It is about work clothing, and this is for the public.")
    if code == "P321":
        return message(
            "It sends to a treatment on the label, and is only for what needs one of its own."
        )
    by = next((other for other in _COVERED.get(code, ()) if other in asked), None)
    if by is not None:
        return message("{other} says as much.", other=by)
    return None


def _reason(code: str, kept: bool, urgent: bool) -> Message:
    if not kept:
        return message(
            "Six are enough (Art. 28(3)), and the others come first: disposal, first aid, then "
            "what keeps harm away. The order is our choice."
        )
    if code == DISPOSAL:
        return message("One on disposal is owed to the public (Art. 28(2)).")
    if urgent:
        return message("It can't wait: it does not give way to the number.")
    return message("It is on the list of what the label states.")
