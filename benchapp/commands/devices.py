"""Who may come in: `benchapp pair`, `benchapp devices`, `benchapp workshops`."""

from contextlib import closing
from pathlib import Path

import click

from benchapp.commands.errors import Refused, refusals
from benchapp.commands.help import command, option
from benchapp.commands.options import store_options
from benchapp.commands.store import find_workshop, open_store
from benchapp.commands.tables import date_text, print_table
from benchapp.words import n_, t


@command(n_("Print a one-time code that lets one device in."))
@option("--workshop", metavar="NAME", help=n_("Workshop to let a device into: name or id."))
@option("--url", metavar="URL", help=n_("Where phones find the server, for the QR code."))
@store_options
def pair(workshop: str | None, url: str | None, database: str | None, data: Path | None) -> None:
    from benchapp.web.clock import now_ms
    from benchapp.web.invitations import invite

    if url is not None and not url.startswith(("http://", "https://")):
        raise Refused("--url begins with https:// or http://, as the phone's address does.")
    with refusals(), closing(open_store(database, data)) as store:
        workshop_id = None
        if workshop is not None:
            workshop_id = find_workshop(store, workshop)["id"]
        made = invite(store, url or "", workshop_id, now_ms())
    if url:
        click.echo(made.text(), nl=False)
    else:
        click.echo(t("Code {code}: it works once, for 10 minutes.", code=made.code))
        click.echo(t("Type it on the phone: open the bench there, then Workshop, Pair this phone."))


@command(n_("List the devices that may come in, or revoke one."))
@option("--revoke", metavar="ID", help=n_("Let this device in no more."))
@store_options
def devices(revoke: str | None, database: str | None, data: Path | None) -> None:
    from benchapp.records import devices as paired
    from benchapp.records import workshops
    from benchapp.web.clock import now_ms

    with refusals(), closing(open_store(database, data)) as store:
        now = now_ms()
        with store.write() as connection:
            found = [
                each
                for workshop in workshops.all_workshops(connection)
                for each in paired.list_devices(connection, workshop["id"], now)
            ]
            gone = next((each for each in found if each.id == revoke), None)
            if gone is not None:
                paired.revoke(connection, gone.workshop_id, gone.id, now)
    if revoke is not None:
        if gone is None:
            raise Refused("There is no device {id}. benchapp devices lists them.", id=revoke)
        click.echo(
            t("{device} is shut out now. What is saved on it stays there.", device=gone.name)
        )
        return
    if not found:
        click.echo(t("No device is paired. benchapp pair lets one in."))
        return
    print_table(
        (t("id"), t("name"), t("workshop"), t("last seen"), ""),
        [
            (
                each.id,
                each.name,
                each.workshop_name,
                date_text(each.seen_ms),
                ""
                if each.revoked_ms is None
                else t("revoked {date}", date=date_text(each.revoked_ms)),
            )
            for each in found
        ],
    )


@command(n_("List the workshops on the server, or add one."))
@option("--add", metavar="NAME", help=n_("Add a workshop, apart from the others."))
@store_options
def workshops(add: str | None, database: str | None, data: Path | None) -> None:
    from benchapp.records import devices as paired
    from benchapp.records import workshops
    from benchapp.web.clock import now_ms

    with refusals(), closing(open_store(database, data)) as store:
        now = now_ms()
        with store.write() as connection:
            # So that whoever adds one adds a second one.
            workshops.first_workshop(connection, now)
            found = workshops.all_workshops(connection)
            if add is not None:
                if any(each["name"] == add.strip() for each in found):
                    raise Refused("There is a workshop {name} already.", name=add.strip())
                try:
                    made = workshops.make_workshop(connection, add, now)
                except ValueError as error:
                    raise Refused("{option}: {why}", option="--add", why=error) from error
                click.echo(
                    t("Workshop {name} added. Its first device comes in with:", name=made["name"])
                )
                click.echo(f"benchapp pair --workshop {made['id']}")
                return
            rows = [
                (
                    each["id"],
                    each["name"],
                    str(
                        sum(
                            device.revoked_ms is None
                            for device in paired.list_devices(connection, each["id"], now)
                        )
                    ),
                )
                for each in found
            ]
    print_table((t("id"), t("name"), t("devices")), rows)
