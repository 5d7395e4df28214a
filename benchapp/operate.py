"""Keeping a server going, from a terminal: `benchapp remind`, `benchapp doctor`."""

import signal
import threading
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from benchapp import desk
from benchapp.people import directory, opened, sentences, where

if TYPE_CHECKING:
    from benchapp.reminders.pushing import Pushing

_Command = TypeVar("_Command", bound=Callable[..., Any])


def sends(command: _Command) -> _Command:
    """Give a command the options that say how messages are sent."""
    contact = click.option(
        "--contact",
        metavar="ADDRESS",
        envvar=["BENCHAPP_SERVE_CONTACT", "BENCHAPP_CONTACT"],
        show_envvar=True,
        help="Mail address at which push services can reach you. Without it no reminder is sent.",
    )
    services = click.option(
        "--push-service",
        "push_services",
        metavar="HOST",
        multiple=True,
        envvar=["BENCHAPP_SERVE_PUSH_SERVICE", "BENCHAPP_PUSH_SERVICE"],
        show_envvar=True,
        help="Send to this push service, or those under its name; may be given again. "
        "All, if none is.",
    )
    return contact(services(command))


@click.command()
@click.option("--once", is_flag=True, help="Send what is due now, and end.")
@sends
@where
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

    with sentences(), closing(opened(database, data)) as store:
        pushing = equipped(data, contact, push_services)
        sender = pushing.sender()
        if sender is None:
            raise desk.Refused(pushing.why_not)
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
                raise desk.Refused(str(error)) from error


@click.command()
@click.option("--reach", is_flag=True, help="Also ask each phone's push service for an answer.")
@click.option("--json", "as_json", is_flag=True, help="Write JSON.")
@sends
@where
def doctor(
    reach: bool,
    as_json: bool,
    contact: str | None,
    push_services: tuple[str, ...],
    database: str | None,
    data: Path | None,
) -> None:
    """Say whether everything is in order, a line a check: ok, look or bad.

    Give it the options that benchapp serve has. It changes no record and may run beside the
    server. Ends with status 1 where something is bad.
    """
    from benchapp.doctor import as_json as written
    from benchapp.doctor import as_lines, examine, is_in_order
    from benchapp.web.clock import now_ms

    found = list(examine(directory(data), database, contact, push_services, now_ms(), reach=reach))
    click.echo(written(found) if as_json else as_lines(found))
    raise SystemExit(0 if is_in_order(found) else 1)


def equipped(data: Path | None, contact: str | None, push_services: tuple[str, ...]) -> "Pushing":
    """What messages are sent with. Raises Refused, with a sentence."""
    from benchapp.reminders import pushing

    where_kept = directory(data)
    try:
        return pushing.read(where_kept, contact, push_services)
    except ValueError as error:
        raise desk.Refused(str(error)) from error
    except OSError as error:
        raise desk.Refused(
            f"The push key can't be read or made in {where_kept}: {error.strerror}."
        ) from error
