"""A copy of everything on the server: `benchapp backup`, `benchapp restore`."""

from contextlib import closing
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from benchapp.commands.errors import Refused, refusals
from benchapp.commands.files import new_file, open_file
from benchapp.commands.help import command, option
from benchapp.commands.options import (
    attachments_option,
    data_directory,
    open_keeper,
    store_options,
)
from benchapp.commands.store import make_private_directory, open_store
from benchapp.commands.tables import (
    date_text,
    events_text,
    records_and_events_text,
    records_text,
)
from benchapp.words import listed, message, n_, plural, t

if TYPE_CHECKING:
    from sqlalchemy import Connection

    from benchapp.records.backups import Compared, Counts


@command(
    n_("Write everything on the server into FILE, also while it runs."),
    n_("Without FILE a new one is made in the folder backups of the data directory."),
)
@click.argument("file", required=False, type=click.Path(dir_okay=False, path_type=Path))
@option(
    "--without-attachments",
    is_flag=True,
    help=n_("Leave out the bytes of photos and papers."),
)
@attachments_option
@store_options
def backup(
    file: Path | None,
    without_attachments: bool,
    attachments: str | None,
    database: str | None,
    data: Path | None,
) -> None:
    from benchapp.records.backups import write_backup
    from benchapp.web.clock import now_ms

    with refusals(), closing(open_store(database, data)) as store:
        path = file or _usual_path(data)
        bytes_ = None if without_attachments else open_keeper(attachments, data).store
        with store.read(snapshot=True) as connection, new_file(path) as out:
            counts = write_backup(connection, now_ms(), out, bytes_)
    click.echo(t("{file}: {counts}.", file=path, counts=_counts_text(counts)))
    if left_out := counts["left_out"]:
        click.echo(
            plural(
                left_out,
                "{n} photo or paper is not in it.",
                "{n} photos and papers are not in it.",
            )
            if without_attachments
            else plural(
                left_out,
                "{n} photo or paper is not in it: its bytes are not in the store. benchapp doctor "
                "tells more.",
                "{n} photos and papers are not in it: their bytes are not in the store. benchapp "
                "doctor tells more.",
            )
        )


@command(
    n_("Put the backup in FILE back, into either kind of database, also while the server runs."),
    n_(
        "The whole file is checked first. Where there are records already, write --merge or "
        "--replace."
    ),
)
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@option("--merge", is_flag=True, help=n_("Add it to what is here: nothing is lost."))
@option(
    "--replace",
    is_flag=True,
    help=n_("Put it in place of what is here, which is backed up first."),
)
@attachments_option
@store_options
def restore(
    file: Path,
    merge: bool,
    replace: bool,
    attachments: str | None,
    database: str | None,
    data: Path | None,
) -> None:
    from benchapp.records import backups
    from benchapp.records.attachments import sweeping
    from benchapp.web.clock import now_ms

    if merge and replace:
        raise Refused("--merge and --replace do not go together. Leave one of them out.")
    with open_file(file) as held, refusals():
        keeper = open_keeper(attachments, data)
        try:
            counts = backups.verify(held)

            def keep(connection: "Connection") -> None:
                path = _usual_path(data)
                with new_file(path) as out:
                    backups.write_backup(connection, now_ms(), out, keeper.store)
                click.echo(t("What was here is in {file}.", file=path))

            with closing(open_store(database, data, new=True)) as store:
                if not merge and not replace:
                    with store.read(snapshot=True) as connection:
                        found = backups.compare(connection, held)
                    if not found.is_empty:
                        raise _is_not_empty(found)
                with store.write() as connection:
                    backups.restore(
                        connection,
                        held,
                        merge=merge,
                        replace=keep if replace else None,
                        store=keeper.store,
                    )
                    # What lies here already need not come again.
                    lying = list(keeper.store.lying())
                    sweeping.adopt(connection, keeper.store, now_ms(), lying)
                    missing = len(
                        sweeping.named(connection, now_ms()) - set(sweeping.rows(connection))
                    )
        except backups.BadBackup as error:
            raise Refused("{file}: {why}", file=file, why=error) from error
        except backups.NotEmpty as error:
            raise Refused("Something was written here in the meantime: try again.") from error
    click.echo(t("Restored {counts}.", counts=_counts_text(counts)))
    if missing:
        click.echo(
            plural(
                missing,
                "{n} photo or paper is not here, and is shown small: a paired phone that keeps it "
                "sends it again.",
                "{n} photos and papers are not here, and are shown small: paired phones that keep "
                "them send them again.",
            )
        )
    if counts["device"]:
        click.echo(t("Devices of the backup may come in again: benchapp devices lists them."))


def _usual_path(data: Path | None) -> Path:
    folder = data_directory(data) / "backups"
    make_private_directory(folder)
    name = datetime.now().astimezone().strftime("%Y-%m-%d-%H%M%S")
    path = folder / f"{name}.benchbackup"
    count = 1
    while path.exists():
        count += 1
        path = folder / f"{name}-{count}.benchbackup"
    return path


def _is_not_empty(found: "Compared") -> Refused:
    """What a restore is refused with where there is data already."""
    choose = message(
        "Write --merge to put both together, or --replace to keep only the backup (what is here "
        "is backed up first)."
    )
    if not found.records and not found.events:
        return Refused(
            "There is data here already, none of it newer than this backup. {choose}",
            choose=choose,
        )
    items = records_and_events_text(found.records, found.events)
    if not found.newest_ms:
        return Refused(
            "There is data here already, and this backup lacks {items} of it. {choose}",
            items=items,
            choose=choose,
        )
    return Refused(
        "There is data here already, and this backup lacks {items} of it, the latest of {date}. "
        "{choose}",
        items=items,
        date=date_text(found.newest_ms),
        choose=choose,
    )


def _counts_text(counts: "Counts") -> str:
    attached = counts["attachment"]
    return listed(
        [
            plural(counts["workshop"], "{n} workshop", "{n} workshops"),
            plural(counts["device"], "{n} device", "{n} devices"),
            records_text(counts["record"]),
            events_text(counts["event"]),
            *(
                [plural(attached, "{n} photo or paper", "{n} photos and papers")]
                if attached
                else []
            ),
        ]
    )
