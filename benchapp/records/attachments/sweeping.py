"""What no record names any more, what has bytes and no row, and what is still to come.

A server that dies between keeping bytes and writing their row leaves bytes without one; a restore
that brings no attachments leaves those that were there. Bytes that a record names get their row;
what nothing names is let go of, late enough that nothing on its way is caught.
"""

import json
import time
from dataclasses import dataclass

from sqlalchemy import Connection, delete, select

from benchapp.records import tables
from benchapp.records.attachments import keeping
from benchapp.records.attachments.file_type import first_look
from benchapp.records.attachments.keeping import Keeper
from benchapp.records.attachments.stores import Lying, Store
from benchapp.records.database import Database
from benchapp.records.merge import standing
from benchapp.records.stamps import ms_of

KIND = "attachment"

FORGET_MS = 30 * 24 * 3600 * 1000
"""How long after an attachment was deleted its bytes are kept: it may be brought back."""
_ON_ITS_WAY_S = 24 * 3600
"""How old bytes without a row are before they are looked at."""

Key = tuple[str, str]
"""A workshop and a hash."""


@dataclass
class Swept:
    """What was done: bytes that got their row, and those that were let go of."""

    adopted: int = 0
    dropped: int = 0


def named(connection: Connection, now_ms: int) -> set[Key]:
    """The bytes that records name; those of attachments that were deleted long ago do not count."""
    record = tables.record
    asked = select(record.c.workshop_id, record.c.fields).where(record.c.kind == KIND)
    found = set()
    for workshop_id, text in connection.execute(asked.execution_options(yield_per=500)):
        fields = json.loads(text)
        if "deleted" in fields:
            deleted = standing(fields, "deleted")
            if deleted["value"] and (ms_of(deleted["stamp"]) or 0) < now_ms - FORGET_MS:
                continue
        if "sha256" in fields:
            found.add((workshop_id, str(fields["sha256"]["value"])))
    return found


def rows(connection: Connection) -> dict[Key, int]:
    """How many bytes each row speaks of."""
    table = tables.attachment
    asked = select(table.c.workshop_id, table.c.sha256, table.c.bytes)
    return {(shop, sha256): size for shop, sha256, size in connection.execute(asked)}


def adopt(connection: Connection, store: Store, now_ms: int, lying: list[Lying]) -> int:
    """Give bytes that records name the rows that they lack; return how many."""
    have, wanted = rows(connection), named(connection, now_ms)
    found = 0
    for each in lying:
        key = each.workshop_id, each.sha256
        if key in wanted and key not in have:
            type_ = first_look(store.read(*key, 0, min(12, each.size)))
            if type_ is not None:
                keeping.add_row(connection, *key, each.size, type_, now_ms)
                found += 1
    return found


def sweep(database: Database, keeper: Keeper, now_ms: int) -> Swept:
    """Set right what is there. Raises Unavailable."""
    swept = Swept()
    keeper.arriving.tidy()
    old = [each for each in keeper.store.lying() if each.since_s < time.time() - _ON_ITS_WAY_S]
    with database.read() as connection:
        have = rows(connection)
        forgotten = _forgotten(connection, now_ms)
    if forgotten or any((each.workshop_id, each.sha256) not in have for each in old):
        with database.write() as connection:
            swept.adopted = adopt(connection, keeper.store, now_ms, old)
            table = tables.attachment
            # A record may have come to name some of them meanwhile.
            for shop, sha256 in _forgotten(connection, now_ms):
                connection.execute(
                    delete(table).where(table.c.workshop_id == shop, table.c.sha256 == sha256)
                )
            have = rows(connection)
    for each in old:
        if (each.workshop_id, each.sha256) not in have:
            swept.dropped += _drop(database, keeper, each)
    return swept


def _forgotten(connection: Connection, now_ms: int) -> set[Key]:
    """Those of the rows that no record has named for long."""
    wanted = named(connection, now_ms)
    table = tables.attachment
    asked = select(table.c.workshop_id, table.c.sha256).where(table.c.made_ms < now_ms - FORGET_MS)
    return {(shop, sha256) for shop, sha256 in connection.execute(asked)} - wanted


def _drop(database: Database, keeper: Keeper, each: Lying) -> bool:
    """Let go of bytes, unless they have come again meanwhile."""
    with keeper.arriving.alone(each.workshop_id, each.sha256):
        with database.read() as connection:
            if keeping.find(connection, each.workshop_id, each.sha256) is not None:
                return False
        keeper.store.drop(each.workshop_id, each.sha256)
    return True
