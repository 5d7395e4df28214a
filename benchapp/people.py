"""Who may come in, from a terminal: `benchapp pair`, `benchapp devices`, `benchapp workshops`."""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from benchapp import desk

if TYPE_CHECKING:
    from sqlalchemy import RowMapping

    from benchapp.records.database import Database

_Command = TypeVar("_Command", bound=Callable[..., Any])


def where(command: _Command) -> _Command:
    """Give a command the options that say where the records are."""
    data = click.option(
        "--data",
        type=click.Path(file_okay=False, path_type=Path),
        envvar="BENCHAPP_SERVE_DATA",
        show_envvar=True,
        show_default="the platform's data directory",
        help="Directory that the server keeps its data in.",
    )
    database = click.option(
        "--database",
        metavar="URL",
        envvar=["BENCHAPP_SERVE_DATABASE", "BENCHAPP_DATABASE"],
        show_envvar=True,
        help="Database with the records, where the server has one elsewhere.",
    )
    return data(database(command))


def directory(data: Path | None) -> Path:
    """The directory that `where`'s option names, or the usual one."""
    if data is None:
        import platformdirs

        data = platformdirs.user_data_path("benchapp", appauthor=False)
    return data


def opened(database: str | None, data: Path | None, *, new: bool = False) -> "Database":
    """The database that `where`'s options name; with `new` it may be made. Raises Refused, with
    a sentence."""
    from benchapp.records.database import Database, Unavailable, WrongSchema, sqlite_url

    if database is None:
        data = directory(data)
        file = data / "bench.sqlite3"
        if new:
            make_directory(data)
        # A new one would be of no server.
        elif not file.is_file():
            raise desk.Refused(
                f"No server has kept records in {data} yet. Start it once with benchapp serve, or "
                "say with --data or --database where its records are."
            )
        database = sqlite_url(file)
    try:
        return Database(database)
    except (Unavailable, WrongSchema, ValueError) as error:
        raise desk.Refused(str(error)) from error


def make_directory(path: Path) -> None:
    """Make a directory that only its owner may look into. Raises Refused, with a sentence."""
    try:
        path.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError as error:
        raise desk.Refused(f"The directory {path} can't be made: {error.strerror}.") from error


@click.command()
@click.option("--workshop", metavar="NAME", help="Workshop to let a device into: name or id.")
@click.option("--url", metavar="URL", help="Where phones find the server, for the QR code.")
@where
def pair(workshop: str | None, url: str | None, database: str | None, data: Path | None) -> None:
    """Print a one-time code that lets one device in."""
    from benchapp.web.pairing import invite, now_ms

    if url is not None and not url.startswith(("http://", "https://")):
        raise desk.Refused("--url begins with https:// or http://, as the phone's address does.")
    with sentences():
        store = opened(database, data)
        workshop_id = None
        if workshop is not None:
            workshop_id = find_workshop(store, workshop)["id"]
        made = invite(store, url or "", workshop_id, now_ms())
    if url:
        click.echo(made.text(), nl=False)
    else:
        click.echo(f"Code {made.code}: it works once, for 10 minutes.")
        click.echo("Type it on the phone: open the bench there, then Workshop, Pair this phone.")


@click.command()
@click.option("--revoke", metavar="ID", help="Let this device in no more.")
@where
def devices(revoke: str | None, database: str | None, data: Path | None) -> None:
    """List the devices that may come in, or revoke one."""
    from benchapp.records import devices as paired
    from benchapp.web.clock import now_ms

    with sentences():
        store = opened(database, data)
        now = now_ms()
        with store.write() as connection:
            found = [
                each
                for workshop in paired.workshops(connection)
                for each in paired.devices(connection, workshop["id"], now)
            ]
            gone = next((each for each in found if each.id == revoke), None)
            if gone is not None:
                paired.revoke(connection, gone.workshop_id, gone.id, now)
    if revoke is not None:
        if gone is None:
            raise desk.Refused(f"There is no device {revoke}. benchapp devices lists them.")
        click.echo(f"{gone.name} gets in no more. What it keeps offline stays on it.")
        return
    if not found:
        click.echo("No device is paired. benchapp pair lets one in.")
        return
    head = ("id", "name", "workshop", "last seen", "")
    _table(
        head,
        [
            (
                each.id,
                each.name,
                each.workshop_name,
                date_text(each.seen_ms),
                "" if each.revoked_ms is None else f"revoked {date_text(each.revoked_ms)}",
            )
            for each in found
        ],
    )


@click.command()
@click.option("--add", metavar="NAME", help="Add a workshop, apart from the others.")
@where
def workshops(add: str | None, database: str | None, data: Path | None) -> None:
    """List the workshops on the server, or add one."""
    from benchapp.records import devices as paired
    from benchapp.web.clock import now_ms

    with sentences():
        store = opened(database, data)
        now = now_ms()
        with store.write() as connection:
            # So that whoever adds one adds a second one.
            paired.the_workshop(connection, now)
            found = paired.workshops(connection)
            if add is not None:
                if any(each["name"] == add.strip() for each in found):
                    raise desk.Refused(f"There is a workshop {add.strip()} already.")
                try:
                    made = paired.make_workshop(connection, add, now)
                except ValueError as error:
                    raise desk.Refused(f"--add: {error}") from error
                click.echo(f"Workshop {made['name']} added. Its first device comes in with:")
                click.echo(f"benchapp pair --workshop {made['id']}")
                return
            rows = [
                (
                    each["id"],
                    each["name"],
                    str(
                        sum(
                            device.revoked_ms is None
                            for device in paired.devices(connection, each["id"], now)
                        )
                    ),
                )
                for each in found
            ]
    _table(("id", "name", "devices"), rows)


def find_workshop(store: "Database", name: str) -> "RowMapping":
    """The workshop of that name or id. Raises Refused, with a sentence."""
    from benchapp.records import devices as paired

    with store.read() as connection:
        found = [
            each for each in paired.workshops(connection) if name in (each["id"], each["name"])
        ]
    if len(found) != 1:
        many = "more than one" if found else "no"
        raise desk.Refused(f"There is {many} workshop {name}. benchapp workshops lists their ids.")
    return found[0]


@contextmanager
def sentences() -> Iterator[None]:
    """Tell what the database can't do just now in a sentence, not with a stack trace."""
    from benchapp.records.database import Unavailable

    try:
        yield
    except Unavailable as error:
        raise desk.Refused(str(error)) from error


def date_text(at_ms: int) -> str:
    """A time as this machine's clock shows it."""
    return datetime.fromtimestamp(at_ms / 1000).astimezone().strftime("%Y-%m-%d %H:%M")


def _table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    widths = [max(len(row[column]) for row in [head, *rows]) for column in range(len(head))]
    for row in [head, *rows]:
        line = "  ".join(text.ljust(width) for text, width in zip(row, widths, strict=True))
        click.echo(line.rstrip())
