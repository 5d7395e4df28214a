"""Sending what is due: `benchapp remind`."""

import signal
import threading
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

import click

from benchapp.commands.errors import Refused, refusals
from benchapp.commands.help import command, option
from benchapp.commands.options import data_directory, push_options, store_options
from benchapp.commands.store import open_store
from benchapp.words import n_, t

if TYPE_CHECKING:
    from benchapp.reminders.push_settings import PushSettings


@command(
    n_("Send reminders that are due, until Ctrl-C."),
    n_(
        "`benchapp serve` does so itself. This is for a server that runs elsewhere, or from cron "
        "with --once; any number may run beside each other."
    ),
)
@option("--once", is_flag=True, help=n_("Send what is due now, and end."))
@push_options
@store_options
def remind(
    once: bool,
    contact: str | None,
    push_services: tuple[str, ...],
    database: str | None,
    data: Path | None,
) -> None:
    from benchapp.reminders.dispatch import Worker
    from benchapp.web import log
    from benchapp.web.clock import now_ms

    with refusals(), closing(open_store(database, data)) as store:
        pushing = read_push_settings(data, contact, push_services)
        sender = pushing.sender()
        if sender is None:
            raise Refused(pushing.why_not)
        for warning in pushing.warnings():
            click.echo(t("NOT FOR USE: {warning}", warning=warning), err=True)
        log.to_stderr()
        stop = threading.Event()
        for name in (signal.SIGINT, signal.SIGTERM):
            signal.signal(name, lambda *_: stop.set())
        worker = Worker(store, sender, pushing.app_key, now_ms, day_ms=pushing.day_ms)
        with sender, worker:
            if once:
                worker.once()
            else:
                worker.run(stop)


def read_push_settings(
    data: Path | None, contact: str | None, push_services: tuple[str, ...]
) -> "PushSettings":
    """What messages are sent with. Raises Refused."""
    from benchapp.reminders import push_settings

    directory = data_directory(data)
    try:
        with refusals(ValueError):
            return push_settings.read_push_settings(directory, contact, push_services)
    except OSError as error:
        raise Refused(
            "The push key can't be read or made in {directory}: {why}.",
            directory=directory,
            why=error.strerror,
        ) from error
