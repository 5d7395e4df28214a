"""The database that a command works on, and what is looked up in it."""

from pathlib import Path
from typing import TYPE_CHECKING

from benchapp.commands.errors import Refused
from benchapp.commands.options import data_directory

if TYPE_CHECKING:
    from sqlalchemy import RowMapping

    from benchapp.records.database import Database


def open_store(database: str | None, data: Path | None, *, new: bool = False) -> "Database":
    """The database that `store_options` name; with `new` it may be made. Raises Refused, with
    a sentence."""
    from benchapp.records.database import Database, Unavailable, WrongSchema, sqlite_url

    if database is None:
        data = data_directory(data)
        file = data / "bench.sqlite3"
        if new:
            make_private_directory(data)
        # A new one would be of no server.
        elif not file.is_file():
            raise Refused(
                f"No server has kept records in {data} yet. Start it once with benchapp serve, or "
                "say with --data or --database where its records are."
            )
        database = sqlite_url(file)
    try:
        return Database(database)
    except (Unavailable, WrongSchema, ValueError) as error:
        raise Refused(str(error)) from error


def make_private_directory(path: Path) -> None:
    """Make a directory that only its owner may look into. Raises Refused, with a sentence."""
    try:
        path.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError as error:
        raise Refused(f"The directory {path} can't be made: {error.strerror}.") from error


def find_workshop(store: "Database", name: str) -> "RowMapping":
    """The workshop of that name or id. Raises Refused, with a sentence."""
    from benchapp.records import devices as paired

    with store.read() as connection:
        found = [
            each for each in paired.workshops(connection) if name in (each["id"], each["name"])
        ]
    if len(found) != 1:
        many = "more than one" if found else "no"
        raise Refused(f"There is {many} workshop {name}. benchapp workshops lists their ids.")
    return found[0]
