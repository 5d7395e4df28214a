"""The file that SQLite keeps the records in: for its owner only, and the same one all the time."""

import sqlite3
from contextlib import closing, suppress
from pathlib import Path

from sqlalchemy.engine import URL

from benchapp.records.atomic_file import create_once, restrict_to_owner
from benchapp.words import Message, literal, n_

_LEAST_PAGE = 512
"""Octets of the smallest page ("Database File Format" of SQLite, section 1.3.2)."""


DAMAGED = n_(
    "{file} is damaged, or is no database ({why}). Nothing was changed. Move it away but keep it, "
    "put the latest backup into a new directory (benchapp restore --data DIRECTORY BACKUP), and "
    "ask benchapp doctor --data DIRECTORY about it."
)
UNUSABLE = n_(
    "{file} can't be used ({why}). Nothing was changed. This user must be able to read and write "
    "it and its directory. If the disk can only be read, copy the directory to another and use "
    "that."
)
GONE = n_(
    "{file} was moved, deleted or replaced while it was in use, so nothing is written any more. "
    "Stop the server, put the file back or restore a backup, and start it again."
)
CUT = n_("it was cut short")
"""Why it is damaged."""


class SqliteFile:
    """The file of a database."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._was = _identity(path)

    def make_ready(self) -> None:
        """Make it where it is missing, and take it from others who could read it, before SQLite
        opens it: SQLite gives what it keeps beside it the same rights. Raises OSError."""
        path = self.path
        if not path.exists() and path.parent.is_dir():
            create_once(path, _no_tables())
        for each in (path, *(path.with_name(path.name + end) for end in ("-wal", "-shm"))):
            # Where it is another's, it is the other's to say who may read it.
            with suppress(FileNotFoundError, PermissionError):
                restrict_to_owner(each)
        self._was = _identity(path)

    def is_cut(self) -> bool:
        """Whether next to nothing is left of it, which SQLite would take for a new one. A database
        that holds nothing yet is a page long."""
        return self.path.is_file() and self.path.stat().st_size < _LEAST_PAGE

    def is_another(self) -> bool:
        """Whether another file has its place now, or none. What is written to one that was deleted
        is lost with it."""
        return _identity(self.path) != self._was


def of_url(url: URL) -> SqliteFile | None:
    """The file of a database at a URL; None where it is in memory, or opened in a way of its
    own."""
    name = url.database
    if url.get_backend_name() != "sqlite" or not name or name.startswith((":memory:", "file:")):
        return None
    return SqliteFile(Path(name))


def reason(error: BaseException | None) -> Message:
    """The database's own words, without what is kept in it."""
    said = next(iter(str(error).partition(" with text ")[0].splitlines()), "")
    return literal(said.rstrip(". ")[:120])


def _identity(path: Path) -> tuple[int, int] | None:
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino


def _no_tables() -> bytes:
    """A database with nothing in it: a file of no length would be one that was cut."""
    with closing(sqlite3.connect(":memory:")) as made:
        made.execute("PRAGMA user_version = 1")
        made.execute("PRAGMA user_version = 0")
        return made.serialize()
