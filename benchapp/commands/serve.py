"""Serving the app: `benchapp serve`."""

from pathlib import Path

import click

from benchapp.commands.errors import Refused
from benchapp.commands.help import command, option
from benchapp.commands.options import (
    PLATFORMS_DIRECTORY,
    attachment_options,
    attachment_settings,
    data_directory,
    push_options,
)
from benchapp.words import n_, t


@command(n_("Serve the app until Ctrl-C. Settings can come from the environment too."))
@option(
    "--host",
    show_envvar=True,
    show_default=n_("127.0.0.1; every address of this machine with --lan"),
    help=n_("Address to listen at."),
)
@option(
    "--port",
    default=8000,
    type=click.IntRange(0, 65535),
    show_envvar=True,
    help=n_("Port to listen at; 0 takes any free one."),
)
@option(
    "--data",
    type=click.Path(file_okay=False, path_type=Path),
    show_envvar=True,
    show_default=PLATFORMS_DIRECTORY,
    help=n_("Directory to keep data in."),
)
@option(
    "--database",
    metavar="URL",
    envvar=["BENCHAPP_SERVE_DATABASE", "BENCHAPP_DATABASE"],
    show_envvar=True,
    show_default=n_("a SQLite file in the data directory"),
    help=n_("Database to keep records in, such as postgresql+psycopg://user@host/name."),
)
@option("--demo", is_flag=True, show_envvar=True, help=n_("Serve an invented workshop."))
@option(
    "--open",
    "open_browser",
    is_flag=True,
    envvar="BENCHAPP_SERVE_OPEN",
    show_envvar=True,
    help=n_("Open the page in a browser."),
)
@option(
    "--lan",
    is_flag=True,
    show_envvar=True,
    help=n_("Serve phones on the house network, over HTTPS with an authority of the bench's own."),
)
@option(
    "--trust-port",
    default=8001,
    type=click.IntRange(0, 65535),
    show_envvar=True,
    help=n_(
        "With --lan: port of the page that helps a phone trust the bench; 0 takes any free one."
    ),
)
@option(
    "--behind-proxy",
    is_flag=True,
    show_envvar=True,
    help=n_("Believe one reverse proxy the caller's address, the scheme and the host it forwards."),
)
@option(
    "--pair",
    is_flag=True,
    show_envvar=True,
    help=n_("Print a code that lets a device in, also where some are paired already."),
)
@push_options
@attachment_options
@option(
    "--get",
    metavar="PATH",
    show_envvar=True,
    help=n_("Print what the app answers at PATH, without serving, and exit."),
)
def serve(
    host: str | None,
    port: int,
    data: Path | None,
    database: str | None,
    demo: bool,
    open_browser: bool,
    lan: bool,
    trust_port: int,
    behind_proxy: bool,
    pair: bool,
    contact: str | None,
    push_services: tuple[str, ...],
    attachments: str | None,
    attachments_room: int,
    attachment_size: int,
    get: str | None,
) -> None:
    if lan and behind_proxy:
        raise Refused(
            "--lan and --behind-proxy do not go together: behind a proxy, the proxy speaks HTTPS. "
            "Leave one of them out."
        )
    if lan and port == trust_port != 0:
        raise Refused("--port and --trust-port are the same. Choose another for one of them.")
    # The demo's records lie apart from her own.
    data = data_directory(None) / "demo" if data is None and demo else data_directory(data)

    kept = attachment_settings(attachments, attachments_room, attachment_size)

    if get is not None:
        if not get.startswith("/"):
            raise click.UsageError(t("PATH starts with a slash, as in --get /"))
        from benchapp.web.app import Trouble, create_app, why_not

        try:
            app = create_app(
                data_dir=data,
                database=database,
                demo=demo,
                tls=lan,
                behind_proxy=behind_proxy,
                contact=contact,
                push_services=push_services,
                kept=kept,
            )
        except Trouble as error:
            raise Refused(why_not(error, data)) from error
        response = app.test_client().get(get)
        click.echo(response.get_data(), nl=False)
        raise SystemExit(0 if response.status_code < 400 else 1)

    from benchapp.web import serving

    try:
        serving.serve(
            host=host or (serving.EVERYWHERE if lan else serving.LOOPBACK),
            port=port,
            data_dir=data,
            database=database,
            demo=demo,
            open_browser=open_browser,
            pair=pair,
            behind_proxy=behind_proxy,
            trust_port=trust_port if lan else None,
            contact=contact,
            push_services=push_services,
            kept=kept,
        )
    except serving.Refused as error:
        raise Refused(error) from error
