"""Copies of what is kept, from a terminal: `backup`, `restore`, `export` and `import`."""

import os
import secrets
import sys
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import datetime
from io import TextIOWrapper
from pathlib import Path
from typing import IO, TYPE_CHECKING

import click

from benchapp import desk
from benchapp.people import (
    date_text,
    directory,
    find_workshop,
    make_directory,
    opened,
    sentences,
    where,
)

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from benchapp.records.backups import Compared, Counts

_MOST_REFUSALS = 50
_WHICH = "There are several workshops: say which with --workshop."


# ---- everything --------------------------------------------------------------------------------


@click.command()
@click.argument("file", required=False, type=click.Path(dir_okay=False, path_type=Path))
@where
def backup(file: Path | None, database: str | None, data: Path | None) -> None:
    """Write everything on the server into FILE, also while it runs.

    Without FILE a new one is made in the folder backups of the data directory.
    """
    from benchapp.records.backups import write_backup
    from benchapp.web.clock import now_ms

    with sentences(), closing(opened(database, data)) as store:
        path = file or _usual_path(data)
        with store.read(snapshot=True) as connection, _new_file(path) as out:
            counts = write_backup(connection, now_ms(), out)
    click.echo(f"{path}: {_counted(counts)}.")


@click.command()
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@click.option("--merge", is_flag=True, help="Put it beside what is here: nothing is lost.")
@click.option(
    "--replace", is_flag=True, help="Put it in the place of what is here, after a backup of that."
)
@where
def restore(
    file: Path, merge: bool, replace: bool, database: str | None, data: Path | None
) -> None:
    """Put the backup in FILE back, into either kind of database, also while the server runs.

    The whole file is checked first. Where there are records already, say --merge or --replace.
    """
    from benchapp.records import backups
    from benchapp.records.database import Unavailable
    from benchapp.web.clock import now_ms

    if merge and replace:
        raise desk.Refused("--merge and --replace do not go together. Leave one of them out.")
    with _opened_file(file) as held, sentences():
        try:
            counts = backups.verify(held)

            def keep(connection: "Connection") -> None:
                path = _usual_path(data)
                with _new_file(path) as out:
                    backups.write_backup(connection, now_ms(), out)
                click.echo(f"What was here is in {path}.")

            with closing(opened(database, data, new=True)) as store:
                if not merge and not replace:
                    with store.read(snapshot=True) as connection:
                        found = backups.compare(connection, held)
                    if not found.is_empty:
                        raise desk.Refused(_newer(found))
                with store.write() as connection:
                    backups.restore(
                        connection, held, merge=merge, replace=keep if replace else None
                    )
        except backups.BadBackup as error:
            raise desk.Refused(f"{file}: {error}") from error
        except backups.NotEmpty as error:
            raise Unavailable("Something was written here in the meantime: try again.") from error
    click.echo(f"Restored {_counted(counts)}.")
    if counts["device"]:
        click.echo("Devices of the backup may come in again: benchapp devices lists them.")


def _usual_path(data: Path | None) -> Path:
    folder = directory(data) / "backups"
    make_directory(folder)
    name = datetime.now().astimezone().strftime("%Y-%m-%d-%H%M%S")
    path = folder / f"{name}.benchbackup"
    count = 1
    while path.exists():
        count += 1
        path = folder / f"{name}-{count}.benchbackup"
    return path


def _newer(found: "Compared") -> str:
    ways = (
        "Say --merge to put both together, or --replace to let the backup alone stand "
        "(what is here goes into a backup of its own first)."
    )
    if not found.records and not found.events:
        return f"There is data here already, none of it newer than this backup. {ways}"
    latest = f", the latest of {date_text(found.newest_ms)}" if found.newest_ms else ""
    return (
        "There is data here already, and this backup lacks "
        f"{_items(found.records, found.events)} of it{latest}. {ways}"
    )


def _counted(counts: "Counts") -> str:
    return (
        f"{_many(counts['workshop'], 'workshop')}, {_many(counts['device'], 'device')}, "
        f"{_items(counts['record'], counts['event'])}"
    )


# ---- one workshop ------------------------------------------------------------------------------


@click.command()
@click.argument("file", required=False, type=click.Path(allow_dash=True, path_type=Path))
@click.option("--workshop", metavar="NAME", help="Workshop to copy, where there are several.")
@where
def export(
    file: Path | None, workshop: str | None, database: str | None, data: Path | None
) -> None:
    """Write a workshop's records and pours into FILE as JSON; - writes to the terminal.

    It is the same file that the phone saves. It lets nobody in: no device is in it.
    """
    from benchapp.records import copies, devices
    from benchapp.web.clock import now_ms

    with sentences(), closing(opened(database, data)) as store:
        path = file or Path(f"pour-bench-{datetime.now().astimezone():%Y-%m-%d}.json")
        shop_id = None if workshop is None else find_workshop(store, workshop)["id"]
        with store.read(snapshot=True) as connection:
            shops = devices.workshops(connection)
            found = [each for each in shops if shop_id in (None, each["id"])]
            if len(found) != 1:
                raise desk.Refused(_WHICH if found else "There is no workshop yet.")
            if str(path) == "-":
                copies.write_copy(connection, found[0], now_ms(), sys.stdout)
                return
            with _new_file(path) as out:
                text = TextIOWrapper(out, "utf-8", newline="\n")
                count = copies.write_copy(connection, found[0], now_ms(), text)
                # Flushed, and no longer the one who closes the file.
                size = text.detach().tell()
    click.echo(f"{path}: {_many(count, 'record')} and steps of pours.")
    if size > copies.MOST_BYTES:
        click.echo(
            f"It is larger than {copies.MOST_BYTES // 1_000_000} MB, which is more than benchapp "
            "import takes. benchapp backup moves any size.",
            err=True,
        )


@click.command("import")
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@click.option("--workshop", metavar="NAME", help="Workshop to bring it into: name or id.")
@where
def import_(file: Path, workshop: str | None, database: str | None, data: Path | None) -> None:
    """Bring the copy in FILE into a workshop, beside what is there.

    Nothing is overwritten: it is merged as if a phone had sent it. Ends with status 1 where
    something in it was refused.
    """
    from benchapp.records import copies, devices
    from benchapp.web.clock import now_ms

    with _opened_file(file) as held, sentences():
        try:
            copy = copies.read_copy(held)
        except copies.BadCopy as error:
            raise desk.Refused(f"{file}: {error}") from error
        with closing(opened(database, data)) as store:
            if workshop is not None:
                shop = find_workshop(store, workshop)
            else:
                with store.write() as connection:
                    shop = devices.the_workshop(connection, now_ms())
                    if len(devices.workshops(connection)) > 1:
                        raise desk.Refused(_WHICH)
            brought = copies.bring_in(store, shop["id"], copy, now_ms())
    said = f"{brought.changed} new or newer, {brought.known} known already"
    click.echo(f"Into {shop['name']}: {said}, {len(brought.refused)} refused.")
    if brought.differing:
        click.echo(
            f"{_many(brought.differing, 'thing')} in the file went by the name of something else "
            "that is here, and what is here stays."
        )
    for refusal in brought.refused[:_MOST_REFUSALS]:
        name = f"{refusal.kind} {refusal.id}" if isinstance(refusal.id, str) else "something"
        click.echo(f"Refused, {name[:100]!r}: {refusal.why}", err=True)
    if len(brought.refused) > _MOST_REFUSALS:
        click.echo(f"… and {len(brought.refused) - _MOST_REFUSALS} more.", err=True)
    if brought.refused:
        raise SystemExit(1)


# ---- files and words ---------------------------------------------------------------------------


@contextmanager
def _opened_file(path: Path) -> Iterator[IO[bytes]]:
    try:
        held = path.open("rb")
    except OSError as error:
        raise desk.Refused(f"{path} can't be read: {error.strerror}.") from error
    with held:
        yield held


@contextmanager
def _new_file(path: Path) -> Iterator[IO[bytes]]:
    """A file that only its owner may read, and that is there whole or not at all."""
    if path.exists():
        raise desk.Refused(f"{path} is there already. Choose another name.")
    written = path.with_name(f".{path.name}.{secrets.token_hex(4)}")
    try:
        descriptor = os.open(written, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with open(descriptor, "wb") as out:
            yield out
            out.flush()
            os.fsync(out.fileno())
        written.replace(path)
        _sync_directory(path.parent)
    except OSError as error:
        raise desk.Refused(f"{path} can't be written: {error.strerror}.") from error
    finally:
        written.unlink(missing_ok=True)


def _sync_directory(path: Path) -> None:
    """Let the file's name be on disk as well, where the system can do that."""
    if os.name == "posix":
        descriptor = os.open(path, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)


def _items(records: int, events: int) -> str:
    steps = "1 step of a pour" if events == 1 else f"{events} steps of pours"
    return f"{_many(records, 'record')} and {steps}"


def _many(count: int, name: str) -> str:
    return f"{count} {name}{'' if count == 1 else 's'}"
