"""The database that a command works on, and what is looked up in it."""

from pathlib import Path
from typing import TYPE_CHECKING

from benchapp.commands.errors import Refused, refusals
from benchapp.commands.options import data_directory
from benchapp.records.atomic_file import make_private

if TYPE_CHECKING:
    from sqlalchemy import RowMapping

    from benchapp.records.database import Database


def open_store(database: str | None, data: Path | None, *, new: bool = False) -> "Database":
    """The database that ``--database`` or ``--data`` names; with ``new`` it may be made.

    Raises Refused.
    """
    from benchapp.records.database import Database, WrongSchema, sqlite_url

    if database is None:
        data = data_directory(data)
        file = data / "bench.sqlite3"
        if new:
            make_private_directory(data)
        # A new one would be of no server.
        elif not file.is_file():
            raise Refused(
                "No server has kept records in {directory} yet. Start it once with benchapp "
                "serve, or say with --data or --database where its records are.",
                directory=data,
            )
        database = sqlite_url(file)
    with refusals(WrongSchema, ValueError):
        return Database(database)


def make_private_directory(path: Path) -> None:
    """Make a directory that only its owner may look into. Raises Refused."""
    try:
        make_private(path)
    except OSError as error:
        raise Refused(
            "The directory {directory} can't be made: {why}.", directory=path, why=error.strerror
        ) from error


def find_workshop(store: "Database", name: str) -> "RowMapping":
    """The workshop of that name or id. Raises Refused where there is none, or more than one."""
    from benchapp.records import workshops

    with store.read() as connection:
        found = [
            each
            for each in workshops.all_workshops(connection)
            if name in (each["id"], each["name"])
        ]
    if not found:
        raise Refused("There is no workshop {name}. benchapp workshops lists their ids.", name=name)
    if len(found) > 1:
        raise Refused(
            "There is more than one workshop {name}. benchapp workshops lists their ids.",
            name=name,
        )
    return found[0]
