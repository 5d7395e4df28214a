"""A copy of one workshop: `benchapp export`, `benchapp import`."""

import sys
from contextlib import closing
from datetime import datetime
from io import TextIOWrapper
from pathlib import Path

import click

from benchapp.commands.errors import Refused, refusals, visible
from benchapp.commands.files import new_file, open_file
from benchapp.commands.help import command, option
from benchapp.commands.options import attachments_option, open_keeper, store_options
from benchapp.commands.store import find_workshop, open_store
from benchapp.words import n_, plural, t

_MOST_REFUSALS = 50
_WHICH = n_("There are several workshops: say which with --workshop.")


@command(
    n_("Write a workshop's records and pours into FILE as JSON; - writes to the terminal."),
    n_("It is the same file that the phone saves. It lets nobody in: no device is in it."),
)
@click.argument("file", required=False, type=click.Path(allow_dash=True, path_type=Path))
@option("--workshop", metavar="NAME", help=n_("Workshop to copy, where there are several."))
@option(
    "--without-attachments",
    is_flag=True,
    help=n_("Leave out the bytes of photos and papers."),
)
@attachments_option
@store_options
def export(
    file: Path | None,
    workshop: str | None,
    without_attachments: bool,
    attachments: str | None,
    database: str | None,
    data: Path | None,
) -> None:
    from benchapp.records import copies, workshops
    from benchapp.web.clock import now_ms

    with refusals(), closing(open_store(database, data)) as store:
        bytes_ = None if without_attachments else open_keeper(attachments, data).store
        path = file or Path(f"pour-bench-{datetime.now().astimezone():%Y-%m-%d}.json")
        shop_id = None if workshop is None else find_workshop(store, workshop)["id"]
        with store.read(snapshot=True) as connection:
            shops = workshops.all_workshops(connection)
            found = [each for each in shops if shop_id in (None, each["id"])]
            if len(found) != 1:
                raise Refused(_WHICH) if found else Refused("There is no workshop yet.")
            if str(path) == "-":
                copies.write_copy(connection, found[0], now_ms(), sys.stdout, bytes_)
                return
            with new_file(path) as out:
                text = TextIOWrapper(out, "utf-8", newline="\n")
                held = copies.write_copy(connection, found[0], now_ms(), text, bytes_)
                # Flushed, and no longer the one who closes the file.
                size = text.detach().tell()
    click.echo(
        plural(
            held.items,
            "{file}: {n} record and steps of pours.",
            "{file}: {n} records and steps of pours.",
            file=path,
        )
    )
    if held.attachments:
        click.echo(
            plural(
                held.attachments,
                "{n} photo or paper is in it.",
                "{n} photos and papers are in it.",
            )
        )
    if held.left_out:
        click.echo(
            plural(
                held.left_out,
                "{n} photo or paper is not in it.",
                "{n} photos and papers are not in it.",
            )
            if without_attachments
            else plural(
                held.left_out,
                "{n} photo or paper is not in it: a copy holds {megabytes} MB at most, and "
                "benchapp backup any size.",
                "{n} photos and papers are not in it: a copy holds {megabytes} MB at most, and "
                "benchapp backup any size.",
                megabytes=copies.MOST_BYTES // 1_000_000,
            ),
            err=True,
        )
    if size > copies.MOST_BYTES:
        click.echo(
            t(
                "It is larger than {megabytes} MB, which is more than benchapp import takes. "
                "benchapp backup moves any size.",
                megabytes=copies.MOST_BYTES // 1_000_000,
            ),
            err=True,
        )


@command(
    n_("Add the copy in FILE to a workshop, to what is there."),
    n_(
        "Nothing is overwritten: it is merged as if a phone had sent it. Ends with status 1 "
        "where something in it was refused."
    ),
    name="import",
)
@click.argument("file", type=click.Path(dir_okay=False, path_type=Path))
@option("--workshop", metavar="NAME", help=n_("Workshop to bring it into: name or id."))
@attachments_option
@store_options
def import_(
    file: Path,
    workshop: str | None,
    attachments: str | None,
    database: str | None,
    data: Path | None,
) -> None:
    from benchapp.records import copies, workshops
    from benchapp.web.clock import now_ms

    with open_file(file) as held, refusals():
        try:
            copy = copies.read_copy(held)
        except copies.BadCopy as error:
            raise Refused("{file}: {why}", file=file, why=error) from error
        with closing(open_store(database, data)) as store:
            if workshop is not None:
                shop = find_workshop(store, workshop)
            else:
                with store.write() as connection:
                    shop = workshops.first_workshop(connection, now_ms())
                    if len(workshops.all_workshops(connection)) > 1:
                        raise Refused(_WHICH)
            keeper = open_keeper(attachments, data)
            brought = copies.bring_in(store, shop["id"], copy, now_ms(), keeper)
    click.echo(
        t(
            "Into {workshop}: {changed} new or newer, {known} known already, {refused} refused.",
            workshop=visible(shop["name"]),
            changed=brought.changed,
            known=brought.known,
            refused=len(brought.refused),
        )
    )
    if brought.attachments:
        click.echo(
            plural(
                brought.attachments,
                "{n} photo or paper is new here.",
                "{n} photos and papers are new here.",
            )
        )
    if brought.differing:
        click.echo(
            plural(
                brought.differing,
                "{n} thing in the file went by the name of something else that is here, and what "
                "is here stays.",
                "{n} things in the file went by the name of something else that is here, and what "
                "is here stays.",
            )
        )
    for refusal in brought.refused[:_MOST_REFUSALS]:
        known = isinstance(refusal.id, str) and isinstance(refusal.kind, str)
        name = f"{refusal.kind} {refusal.id}" if known else t("something")
        told = t("Refused, {name}: {why}", name=repr(name[:100]), why=visible(refusal.why))
        click.echo(told, err=True)
    if (more := len(brought.refused) - _MOST_REFUSALS) > 0:
        click.echo(t("… and {n} more.", n=more), err=True)
    if brought.refused:
        raise SystemExit(1)
