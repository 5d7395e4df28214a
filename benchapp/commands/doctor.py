"""Whether a server is in order: `benchapp doctor`."""

from pathlib import Path

import click

from benchapp.commands.help import command, option
from benchapp.commands.options import (
    attachments_option,
    data_directory,
    push_options,
    store_options,
)
from benchapp.words import n_


@command(
    n_("Check that everything is in order. Each check prints one line: ok, look or bad."),
    n_(
        "Give it the options that benchapp serve has. It changes no record and may run beside the "
        "server. Ends with status 1 where something is bad."
    ),
)
@option("--reach", is_flag=True, help=n_("Also ask each phone's push service for an answer."))
@option("--json", "as_json", is_flag=True, help=n_("Write JSON."))
@push_options
@attachments_option
@store_options
def doctor(
    reach: bool,
    as_json: bool,
    contact: str | None,
    push_services: tuple[str, ...],
    attachments: str | None,
    database: str | None,
    data: Path | None,
) -> None:
    from benchapp.commands.checks import report
    from benchapp.commands.checks.examine import examine
    from benchapp.web.clock import now_ms

    found = list(
        examine(
            data_directory(data),
            database,
            contact,
            push_services,
            now_ms(),
            attachments_url=attachments,
            reach=reach,
        )
    )
    click.echo(report.as_json(found) if as_json else report.as_lines(found))
    raise SystemExit(0 if report.is_in_order(found) else 1)
