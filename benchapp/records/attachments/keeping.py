"""What a server keeps of a workshop's attachments: rows in the database, and the bytes they name.

A row is only there once its bytes are on disk, so what is acknowledged is kept. One workshop never
learns what another has: all is looked up by both.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Connection, RowMapping, func, insert, select

from benchapp.records import tables
from benchapp.records.attachments.arriving import Arriving
from benchapp.records.attachments.file_type import MOST_BYTES, WrongFile, type_of
from benchapp.records.attachments.stores import Store, open_store
from benchapp.words import WordedError, n_

ROOM_BYTES = 5_000_000_000
"""Of all attachments of one workshop, unless the server says otherwise."""

_MEGABYTE = 1_000_000


class Spoilt(WordedError):
    """What has arrived is not what was to be sent. It has to be sent again from its start."""


class TooLarge(WordedError):
    """The file is larger than may be, or there is no room for it in the workshop."""

    def __init__(self, sentence: str, *, is_room: bool, **values: object) -> None:
        super().__init__(sentence, **values)
        self.is_room = is_room


@dataclass(frozen=True)
class Settings:
    """Where attachments lie, and how much of them.

    Attributes:
        url: of the store; None: a directory beside the database.
        file_bytes: of one file at most.
        room_bytes: of all of one workshop at most.
    """

    url: str | None = None
    file_bytes: int = MOST_BYTES
    room_bytes: int = ROOM_BYTES


@dataclass(frozen=True)
class Kept:
    """How much of a workshop's attachments is kept: their number and bytes."""

    count: int
    size: int


class Keeper:
    """The bytes of a server. Raises InputError where its store can't be used."""

    def __init__(self, settings: Settings, data_dir: Path) -> None:
        self.settings = settings
        self.store: Store = open_store(settings.url, data_dir)
        self.arriving = Arriving(self.store.arriving)

    def check_size(self, size: int, used: Kept) -> None:
        """Raise TooLarge where a file of so many bytes may not come."""
        if size > self.settings.file_bytes:
            raise TooLarge(
                "A photo or PDF may have {most} MB here, and this one is larger.",
                is_room=False,
                most=self.settings.file_bytes // _MEGABYTE,
            )
        if used.size + size > self.settings.room_bytes:
            raise TooLarge(
                "The photos and papers of this workshop take all the room that the server gives "
                "them ({most} MB). Delete some, or let the server give more "
                "(--attachments-room).",
                is_room=True,
                most=self.settings.room_bytes // _MEGABYTE,
            )

    def take_whole(self, workshop_id: str, sha256: str) -> str:
        """Put into the store what has arrived as a whole, and return its type; it needs a row then.

        Raises Spoilt, WrongFile (nothing of it is kept) and Unavailable (what arrived stays).
        """
        path = self.arriving.path(workshop_id, sha256)
        try:
            if self.arriving.hash_of(workshop_id, sha256) != sha256:
                raise Spoilt(_SPOILT)
            type_ = type_of(path)
        except (Spoilt, WrongFile):
            self.arriving.drop(workshop_id, sha256)
            raise
        self.store.put(workshop_id, sha256, path)
        return type_


_SPOILT = n_("What has arrived is not what was sent: it is sent once more.")


def find(connection: Connection, workshop_id: str, sha256: str) -> RowMapping | None:
    """The row of some bytes, or None: the workshop does not have them."""
    table = tables.attachment
    asked = select(table).where(table.c.workshop_id == workshop_id, table.c.sha256 == sha256)
    return connection.execute(asked).mappings().first()


def known(connection: Connection, workshop_id: str, hashes: Sequence[str]) -> set[str]:
    """Those of some hashes that the workshop has."""
    table = tables.attachment
    asked = select(table.c.sha256).where(
        table.c.workshop_id == workshop_id, table.c.sha256.in_(hashes)
    )
    return set(connection.scalars(asked))


def used(connection: Connection, workshop_id: str) -> Kept:
    """How much the workshop has."""
    table = tables.attachment
    asked = select(func.count(), func.sum(table.c.bytes)).where(table.c.workshop_id == workshop_id)
    count, size = connection.execute(asked).one()
    return Kept(count, int(size or 0))


def add_row(
    connection: Connection, workshop_id: str, sha256: str, size: int, type_: str, now_ms: int
) -> None:
    """Let a workshop have bytes that lie in its store. Needs a transaction that may write."""
    shop = tables.workshop
    # Two servers at once must not both find that it is not there.
    connection.execute(select(shop.c.id).where(shop.c.id == workshop_id).with_for_update())
    if find(connection, workshop_id, sha256) is None:
        connection.execute(
            insert(tables.attachment).values(
                workshop_id=workshop_id, sha256=sha256, bytes=size, type=type_, made_ms=now_ms
            )
        )
