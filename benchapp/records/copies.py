"""A workshop as one JSON file: the copy that the phone and the server both write and read.

``DEVELOPERS.md`` tells the format. It holds records and events, the bytes of attachments as far as
there is room for them in it, and no secret of any device. What is brought in goes through the
exchange, so it is merged and checked as if a phone had sent it:
bringing it in twice changes nothing, and nothing is overwritten.
"""

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import islice
from typing import IO, Any, NamedTuple, NoReturn

from sqlalchemy import Connection, RowMapping, select

from benchapp.records import tables
from benchapp.records.attachments.keeping import Keeper
from benchapp.records.attachments.stores import Store
from benchapp.records.copied_attachments import bring_attachment, write_attachments
from benchapp.records.database import Database, broken_row
from benchapp.records.exchange import MOST_ITEMS, Message, Refusal, exchange
from benchapp.records.merge import versions
from benchapp.records.shapes import is_record
from benchapp.words import WordedError, n_, t

FORMAT = "pour-bench-copy"
VERSION = 2
"""Of the copies that are written; those of version 1 are read too."""

MOST_BYTES = 64_000_000
"""Of a copy that is read: it is held in memory whole."""

_DAMAGED = n_(
    "This file is not a complete copy of a bench: it is damaged, or it is something else."
)
_STREAMED = 500


class BadCopy(WordedError, ValueError):
    """The file can't be read."""


@dataclass(frozen=True)
class Copy:
    """A copy that was read; its items are not checked yet.

    Attributes:
        made_ms: when it was made, milliseconds since 1970.
        name: of the workshop.
        records: as they travel to the server, with every version of their fields.
        events: of those records; in a copy of version 1, as they were written then.
        attachments: their bytes, as ``{"sha256", "base64"}``.
    """

    made_ms: int
    name: str
    records: list[Any]
    events: list[Any]
    attachments: list[Any] = field(default_factory=list)


class Written(NamedTuple):
    """What a copy holds: records and events, attachments, and how many of those are left out."""

    items: int
    attachments: int
    left_out: int


@dataclass
class Brought:
    """What became of a copy's items.

    Attributes:
        changed: new here, or with something new.
        known: there was nothing in them that was not here already.
        differing: the same name stands for something else here, which stays.
        refused: not taken, each with its reason.
        attachments: how many photos and papers are new here.
    """

    changed: int = 0
    known: int = 0
    differing: int = 0
    refused: list[Refusal] = field(default_factory=list)
    attachments: int = 0


# ---- writing -----------------------------------------------------------------------------------


def write_copy(
    connection: Connection,
    shop: RowMapping,
    made_ms: int,
    out: IO[str],
    store: Store | None = None,
) -> Written:
    """Write a workshop's copy, one item a line, and return what it holds.

    ``connection`` sees one state of the database throughout. Of attachments it holds what ``store``
    has, as long as the copy can still be read (``MOST_BYTES``); none without one. Raises Broken
    where it holds what could not be read back: a disk may have spoilt it.
    """
    head = {
        "format": FORMAT,
        "version": VERSION,
        "made_ms": made_ms,
        "workshop": {"name": shop["name"]},
    }
    count, size = 0, len(begin := json.dumps(head)[:-1])
    out.write(begin)
    for name, texts in (
        ("records", _records(connection, shop["id"])),
        ("events", _events(connection, shop["id"])),
    ):
        out.write(f', "{name}": [')
        between = "\n"
        for text in texts:
            out.write(between + text)
            between = ",\n"
            count += 1
            size += len(text.encode("utf-8", "surrogatepass")) + 2
        out.write("\n]")
    attached, left_out = write_attachments(connection, shop["id"], out, MOST_BYTES - size, store)
    out.write("}\n")
    return Written(count, attached, left_out)


def _records(connection: Connection, workshop_id: str) -> Iterator[str]:
    table = tables.record
    asked = (
        select(table.c.kind, table.c.id, table.c.fields)
        .where(table.c.workshop_id == workshop_id)
        .order_by(table.c.seq)
        .execution_options(yield_per=_STREAMED)
    )
    for kind, id_, fields in connection.execute(asked):
        _check_json("record", id_, fields)
        # Kind and id are letters, digits and dots: nothing in them needs escaping.
        yield f'{{"kind":"{kind}","id":"{id_}","fields":{fields}}}'


def _events(connection: Connection, workshop_id: str) -> Iterator[str]:
    table = tables.event
    asked = (
        select(table.c.id, table.c.body)
        .where(table.c.workshop_id == workshop_id)
        .order_by(table.c.seq)
        .execution_options(yield_per=_STREAMED)
    )
    for id_, body in connection.execute(asked):
        _check_json("event", id_, body)
        yield body


def _check_json(table: str, id_: str, text: str) -> None:
    try:
        json.loads(text)
    except (ValueError, TypeError) as error:
        raise broken_row(table, id_) from error


# ---- reading -----------------------------------------------------------------------------------


def read_copy(file: IO[bytes]) -> Copy:
    """The copy in ``file``. Raises BadCopy where it is damaged, newer, too large or none at all."""
    body = file.read(MOST_BYTES + 1)
    if len(body) > MOST_BYTES:
        raise BadCopy(
            "This file is larger than {n} MB, more than a copy of a bench may be. Move a workshop "
            "of that size with benchapp backup and benchapp restore.",
            n=MOST_BYTES // 1_000_000,
        )
    try:
        found = json.loads(body.decode("utf-8-sig"), parse_constant=_no_number)
    except (ValueError, RecursionError) as error:
        raise BadCopy(_DAMAGED) from error
    if not isinstance(found, dict) or found.get("format") != FORMAT:
        raise BadCopy(_DAMAGED)
    version = found.get("version")
    if isinstance(version, int) and version > VERSION:
        raise BadCopy("This copy was made by a newer version of the bench. Update benchapp first.")
    made_ms, shop = found.get("made_ms"), found.get("workshop")
    records, events = found.get("records"), found.get("events")
    attachments = found.get("attachments", [])
    if (
        type(version) is int
        and version in (1, VERSION)
        and type(made_ms) is int
        and isinstance(shop, dict)
        and isinstance(shop.get("name"), str)
        and isinstance(records, list)
        and isinstance(events, list)
        and isinstance(attachments, list)
    ):
        return Copy(made_ms, shop["name"], records, events, attachments)
    raise BadCopy(_DAMAGED)


def _no_number(name: str) -> NoReturn:
    raise ValueError(f"{name} is no number in JSON (RFC 8259)")


# ---- bringing in -------------------------------------------------------------------------------


def bring_in(
    database: Database, workshop_id: str, copy: Copy, now_ms: int, keeper: Keeper | None = None
) -> Brought:
    """Merge a copy into a workshop, as if a phone had sent it; the bytes of attachments go to
    ``keeper``, and are left out without one.

    Each batch is a transaction of its own, so that phones need not wait for all of it; broken off,
    it is safe to do again.
    """
    brought = Brought()
    items = iter(
        [*((each, True) for each in copy.records), *((each, False) for each in copy.events)]
    )
    while some := list(islice(items, MOST_ITEMS)):
        _bring_some(database, workshop_id, some, now_ms, brought)
    for each in copy.attachments if keeper is not None else ():
        assert keeper is not None  # noqa: S101
        refused = bring_attachment(database, workshop_id, each, now_ms, keeper)
        if isinstance(refused, Refusal):
            brought.refused.append(refused)
        else:
            brought.attachments += refused
    return brought


def _bring_some(
    database: Database,
    workshop_id: str,
    some: list[tuple[Any, bool]],
    now_ms: int,
    brought: Brought,
) -> None:
    records = [each for each, is_record in some if is_record]
    events = [each for each, is_record in some if not is_record]
    shop = tables.workshop
    with database.write() as connection:
        before = connection.scalar(
            select(shop.c.seq).where(shop.c.id == workshop_id).with_for_update()
        )
        if before is None:
            raise LookupError(workshop_id)
        answer = exchange(connection, workshop_id, Message(None, before, records, events), now_ms)
        after = connection.scalar(select(shop.c.seq).where(shop.c.id == workshop_id))
    # Every change has taken a number; the answer holds the changed, and what differs.
    changed = (after or 0) - before
    brought.changed += changed
    brought.known += max(0, len(some) - len(answer.refused) - changed)
    brought.refused += map(_in_a_file, answer.refused)
    # New events are not told again, so those that are told are others of the same name.
    brought.differing += _differing(answer.records, records) + len(answer.events)


def _in_a_file(refusal: Refusal) -> Refusal:
    """The exchange speaks of a phone; here it is a file that is wrong."""
    match refusal.reason:
        case "ahead":
            why = t(
                "By this machine's clock it was changed in the future. Check the clock, then "
                "import the copy again."
            )
        case "unreadable":
            why = t("It can't be read.")
        case _:
            return refusal
    return replace(refusal, why=why)


def _differing(told: Sequence[str], sent: list[Any]) -> int:
    """How many records give a stamp to something that is not what the file gives it to."""
    by_key = {(each["kind"], each["id"]): each for each in sent if is_record(each)}
    found = set()
    for text in told:
        here = json.loads(text)
        key = here["kind"], here["id"]
        given = by_key.get(key, {"fields": {}})["fields"]
        for name, each in given.items():
            if name not in here["fields"]:
                continue
            known = {version["stamp"]: version for version in versions(here["fields"][name])}
            if any(known.get(version["stamp"], version) != version for version in versions(each)):
                found.add(key)
    return len(found)
