"""What a record and an event must look like to be read at all, whatever their kind.

It is asked of everything that comes from outside: of phones, of copies, of backups. Whether the
values are sensible is asked later, by the forms of ``kinds.py`` and ``events.py``. The phone asks
the same of a copy, in ``static/records/copies.js``.
"""

import math
import re
from typing import Any

from benchapp.records.fields import ID
from benchapp.records.stamps import ms_of

MOST_DEPTH = 12
MOST_FIELDS = 100

KIND = re.compile(r"[a-z_]{1,32}", re.ASCII)
FIELD = re.compile(r"[a-z][a-z0-9_]{0,39}", re.ASCII)


def is_record(sent: Any) -> bool:
    """Whether it is ``{kind, id, fields}`` with fields of versions, the newest first."""
    if not isinstance(sent, dict) or set(sent) != {"kind", "id", "fields"}:
        return False
    fields = sent["fields"]
    return (
        _names_record(sent["kind"], sent["id"])
        and isinstance(fields, dict)
        and 0 < len(fields) <= MOST_FIELDS
        and all(FIELD.fullmatch(name) and _is_field(each) for name, each in fields.items())
    )


def is_event(sent: Any) -> bool:
    """Whether it is ``{id, of: [kind, id], …}`` with a stamp for its id."""
    if not isinstance(sent, dict) or not _is_stamp(sent.get("id")):
        return False
    of = sent.get("of")
    return (
        isinstance(of, list)
        and len(of) == 2
        and _names_record(*of)
        and all(FIELD.fullmatch(name) for name in sent)
        and _is_sound(sent, MOST_DEPTH)
    )


def current_event(sent: Any) -> Any:
    """An event as it is written now. One that was written when only pours had events names its
    pour as ``pour``; anything else is returned as it is."""
    if not isinstance(sent, dict) or "of" in sent or "pour" not in sent:
        return sent
    # In the same place, so that a body is the same text wherever it was renewed.
    return {
        ("of" if name == "pour" else name): (["pour", value] if name == "pour" else value)
        for name, value in sent.items()
    }


_PARTS = {"value", "stamp", "over", "past"}


def _is_field(field: Any) -> bool:
    if not isinstance(field, dict) or not field.keys() <= _PARTS:
        return False
    if "past" not in field:
        return _is_version(field)
    past = field["past"]
    if not isinstance(past, list) or not all(map(_is_version, (field, *past))):
        return False
    stamps = [version["stamp"] for version in (field, *past)]
    return stamps == sorted(set(stamps), reverse=True) and not any("past" in each for each in past)


def _is_version(version: Any) -> bool:
    return (
        isinstance(version, dict)
        and "value" in version
        and _is_stamp(version.get("stamp"))
        and ("over" not in version or _are_stamps(version["over"]))
        and _is_sound(version["value"], MOST_DEPTH)
    )


def _are_stamps(stamps: Any) -> bool:
    return isinstance(stamps, list) and all(map(_is_stamp, stamps))


def _is_stamp(stamp: Any) -> bool:
    return isinstance(stamp, str) and ms_of(stamp) is not None


def _names_record(kind: Any, id_: Any) -> bool:
    return (
        isinstance(kind, str)
        and KIND.fullmatch(kind) is not None
        and isinstance(id_, str)
        and ID.fullmatch(id_) is not None
    )


def _is_sound(value: Any, depth: int) -> bool:
    """Whether every number in ``value`` can be read back as it is, on a phone too."""
    if isinstance(value, int | float):
        return math.isfinite(value) if isinstance(value, float) else abs(value) <= 2**53
    if isinstance(value, list):
        return depth > 0 and all(_is_sound(each, depth - 1) for each in value)
    if isinstance(value, dict):
        return depth > 0 and all(_is_sound(each, depth - 1) for each in value.values())
    return True
