"""Sending what is due: `benchapp remind`."""

import signal
import threading
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING

import click

from benchapp.commands.errors import Refused, refusals
from benchapp.commands.options import data_directory, push_options, store_options
from benchapp.commands.store import open_store

if TYPE_CHECKING:
    from benchapp.reminders.pushing import Pushing


@click.command()
@click.option("--once", is_flag=True, help="Send what is due now, and end.")
@push_options
@store_options
def remind(
    once: bool,
    contact: str | None,
    push_services: tuple[str, ...],
    database: str | None,
    data: Path | None,
) -> None:
    """Send reminders that are due, until Ctrl-C.

    `benchapp serve` does so itself. This is for a server that runs elsewhere, or from cron with
    --once; any number may run beside each other.
    """
    from benchapp.records.database import Unavailable
    from benchapp.reminders.dispatch import Worker
    from benchapp.web import log
    from benchapp.web.clock import now_ms

    with refusals(), closing(open_store(database, data)) as store:
        pushing = read_push_settings(data, contact, push_services)
        sender = pushing.sender()
        if sender is None:
            raise Refused(pushing.why_not)
        for warning in pushing.warnings():
            click.echo(f"NOT FOR USE: {warning}", err=True)
        log.to_stderr()
        stop = threading.Event()
        for name in (signal.SIGINT, signal.SIGTERM):
            signal.signal(name, lambda *_: stop.set())
        worker = Worker(store, sender, pushing.app_key, now_ms, day_ms=pushing.day_ms)
        with sender, worker:
            try:
                if once:
                    worker.once()
                else:
                    worker.run(stop)
            except Unavailable as error:
                raise Refused(str(error)) from error


def read_push_settings(
    data: Path | None, contact: str | None, push_services: tuple[str, ...]
) -> "Pushing":
    """What messages are sent with. Raises Refused, with a sentence."""
    from benchapp.reminders import pushing

    where_kept = data_directory(data)
    try:
        return pushing.read(where_kept, contact, push_services)
    except ValueError as error:
        raise Refused(str(error)) from error
    except OSError as error:
        raise Refused(
            f"The push key can't be read or made in {where_kept}: {error.strerror}."
        ) from error
