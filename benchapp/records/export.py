"""Write the catalogues of kinds and events for the phone, and events as a table for people:
``python -m benchapp.records.export``.

The phone gets ``static/records/kinds.js``, and ``event_types.js`` beside it: the data that its
folds, log and buttons read, and the types of all events for the type checker. The data of what is
folded in another room alone is in a file of that room (``shelf_event_types.js``), which the bench
does without. People get the table in ``DEVELOPERS.md``.
"""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from benchapp.records.event_type import EventType, OtherEvent, Stream, Value
from benchapp.records.events import STREAMS
from benchapp.records.fields import Kept, Measured, OneOf, Quantity
from benchapp.records.kinds import KINDS

ROOT = Path(__file__).parents[2]
FOR_THE_PHONE = ROOT / "static" / "records" / "event_types.js"
KINDS_FOR_THE_PHONE = FOR_THE_PHONE.with_name("kinds.js")
FOR_PEOPLE = ROOT / "DEVELOPERS.md"

BEGIN, END = "<!-- event types -->", "<!-- /event types -->"
"""What stands around the table."""

_MADE = "from benchapp/records/events.py by `python -m benchapp.records.export`"


def for_the_phone() -> str:
    """The JavaScript module that holds the types of all events, and the catalogue of the bench."""
    return "\n".join(
        [
            f"/** Made {_MADE}; not edited by hand. */",
            "",
            *_types(),
            "",
            "/** The types of event, by the kind of record that they happen to.",
            ' * @type {import("./events.js").Catalogue} */',
            *_catalogue("EVENT_TYPES", [each for each in STREAMS.values() if not each.room]),
        ]
    )


def rooms() -> list[str]:
    """The rooms that have a catalogue of their own."""
    return list(dict.fromkeys(stream.room for stream in STREAMS.values() if stream.room))


def file_of(room: str) -> Path:
    """Where the catalogue of a room is written."""
    return FOR_THE_PHONE.with_name(f"{room}_event_types.js")


def for_the_room(room: str) -> str:
    """The JavaScript module that holds the catalogue of what is folded in one room alone."""
    mine = [each for each in STREAMS.values() if each.room == room]
    return "\n".join(
        [
            f"/** Made {_MADE}; not edited by hand. */",
            "",
            f'/** As EVENT_TYPES, of {room}. @type {{import("./events.js").Catalogue}} */',
            *_catalogue(f"{room.upper()}_EVENT_TYPES", mine),
        ]
    )


def _catalogue(name: str, streams: list[Stream]) -> Iterator[str]:
    yield f"export const {name} = {{"
    for stream in streams:
        yield f"  {stream.kind}: {{"
        yield from (f"    {each.name}: {json.dumps(_data(each))}," for each in stream.types)
        yield "  },"
    yield from ("};", "")


def kinds_for_the_phone() -> str:
    """The JavaScript module that names the kinds."""
    listed = [kind.name for kind in KINDS if kind.is_listed]
    only = [kind.name for kind in KINDS if kind.is_only]
    named = dict.fromkeys(name for kind in KINDS for name in kind.names())
    return "\n".join(
        [
            "/** Made from benchapp/records/kinds.py by `python -m benchapp.records.export`; "
            "not edited by hand. */",
            "",
            "/** The kinds of record that she types, in the order of the catalogue. */",
            f"export const KINDS = {json.dumps([kind.name for kind in KINDS])};",
            "",
            "/** Those with a list of their own in the workshop. */",
            f"export const LISTED = {json.dumps(listed)};",
            "",
            "/** Those of which there is one record, which she does not name. */",
            f"export const ONLY = {json.dumps(only)};",
            "",
            "/** Those that a record of another kind may name. */",
            f"export const NAMED = {json.dumps(list(named))};",
            "",
        ]
    )


def for_people() -> str:
    """The table of all types, in Markdown."""
    rows = [("of", "event", "says", "with", "")]
    for kind, stream in STREAMS.items():
        for each in stream.types:
            with_ = [name if field.needed else f"{name}?" for name, field in each.fields.items()]
            rows.append((kind, f"`{each.name}`", each.means, ", ".join(with_), _properties(each)))
    head, *body = [f"| {' | '.join(row)} |" for row in rows]
    return "\n".join([head, "| --- | --- | --- | --- | --- |", *body])


def with_table(text: str) -> str:
    """A document with the table between its two marks as it should be."""
    before, rest = text.split(BEGIN)
    _, after = rest.split(END)
    return f"{before}{BEGIN}\n{for_people()}\n{END}{after}"


def _properties(each: EventType) -> str:
    told = [
        f"`{each.correctable}` can be corrected" if each.correctable else "",
        "" if each.is_step else "no step",
        "by a knock" if each.is_harmless else "",
        "" if each.since == "0.1" else f"since {each.since}",
    ]
    return "; ".join(filter(None, told))


# ---- the data ----------------------------------------------------------------------------------


def _data(each: EventType) -> dict[str, Any]:
    """What the phone reads of a type; what is usual is left out, to be short."""
    usual = {"log_bare": "", "correctable": "", "is_harmless": False, "moves_reminders": False}
    told = {name: value for name in usual if (value := getattr(each, name)) != usual[name]}
    if not each.is_step:
        told["is_step"] = False
    fields = {name: _field(field) for name, field in each.fields.items()}
    return {"log": each.log, **told, "fields": fields}


def _field(field: Kept) -> dict[str, Any]:
    told: dict[str, Any] = {"as": field.kept_as}
    if field.needed:
        told["needed"] = True
    if isinstance(field, Measured):
        told |= {"least": field.least, "most": field.most}
    if isinstance(field, Quantity):
        told["dimension"] = field.dimension
    if isinstance(field, OneOf):
        told["choices"] = dict(field.choices)
    if isinstance(field, Value):
        told |= {"least": -field.LARGEST, "most": field.LARGEST}
    return told


# ---- the types ---------------------------------------------------------------------------------


def _types() -> Iterator[str]:
    for kind, stream in STREAMS.items():
        shapes = "\n *   | ".join(map(_shape, stream.types))
        about = f"what happens to a {kind}, before it is kept"
        yield f"/**\n * @typedef {{{shapes}}} New{_camel(kind)}Event {about}\n */"
    every = [_camel(kind) for kind in STREAMS]
    yield f"/** @typedef {{{' | '.join(f'New{name}Event' for name in every)}}} NewEvent */"
    yield (
        "/** @typedef {{id: string, of: [kind: string, id: string], at: number, by?: string,"
        " offset_ms?: number}} Kept the id is a stamp, by which events sort; at: ms since 1970, by"
        " the server's clock where the phone knew it, offset_ms ahead of its own; by: the device */"
    )
    for name in every:
        yield f"/** @typedef {{New{name}Event & Kept}} {name}Event */"
    yield f"/** @typedef {{{' | '.join(f'{name}Event' for name in every)}}} AnyEvent */"
    by_kind = ", ".join(f"{kind}: {_camel(kind)}Event" for kind in STREAMS)
    yield f"/** @typedef {{{{{by_kind}}}}} EventByKind by the kind of the record */"


def _shape(each: EventType) -> str:
    parts = [f'type: "{each.name}"']
    for name, field in each.fields.items():
        text = _type(field)
        parts.append(f"{name}: {text}" if field.needed else f"{name}?: {text} | null")
    return f"{{{', '.join(parts)}}}"


def _type(field: Kept) -> str:
    if isinstance(field, OneOf):
        return " | ".join(f'"{choice}"' for choice, _ in field.choices)
    if isinstance(field, Value):
        return "number | string"
    if isinstance(field, Measured):
        return "number"
    if isinstance(field, OtherEvent) or field.kept_as in ("text", "day"):
        return "string"
    raise TypeError(f"What is a {field.kept_as} in JavaScript?")


def _camel(kind: str) -> str:
    return "".join(part.capitalize() for part in kind.split("_"))


if __name__ == "__main__":
    FOR_THE_PHONE.write_text(for_the_phone(), encoding="utf-8")
    for each_room in rooms():
        file_of(each_room).write_text(for_the_room(each_room), encoding="utf-8")
    KINDS_FOR_THE_PHONE.write_text(kinds_for_the_phone(), encoding="utf-8")
    people = FOR_PEOPLE.read_text(encoding="utf-8")
    if BEGIN in people:
        FOR_PEOPLE.write_text(with_table(people), encoding="utf-8")
