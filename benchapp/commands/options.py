"""Options that several commands share: where the records are, how messages are sent."""

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from benchapp.commands.help import option
from benchapp.words import n_

Function = TypeVar("Function", bound=Callable[..., Any])

PLATFORMS_DIRECTORY = n_("the platform's data directory")


def store_options(command: Function) -> Function:
    """Give a command the options that say where the records are."""
    data = option(
        "--data",
        type=click.Path(file_okay=False, path_type=Path),
        envvar="BENCHAPP_SERVE_DATA",
        show_envvar=True,
        show_default=PLATFORMS_DIRECTORY,
        help=n_("Directory that the server keeps its data in."),
    )
    database = option(
        "--database",
        metavar="URL",
        envvar=["BENCHAPP_SERVE_DATABASE", "BENCHAPP_DATABASE"],
        show_envvar=True,
        help=n_("Database with the records, where the server has one elsewhere."),
    )
    return data(database(command))


def data_directory(data: Path | None) -> Path:
    """The directory that ``--data`` names, or the usual one of this platform."""
    if data is None:
        import platformdirs

        data = platformdirs.user_data_path("benchapp", appauthor=False)
    return data


def push_options(command: Function) -> Function:
    """Give a command the options that say how messages are sent."""
    contact = option(
        "--contact",
        metavar="ADDRESS",
        envvar=["BENCHAPP_SERVE_CONTACT", "BENCHAPP_CONTACT"],
        show_envvar=True,
        help=n_(
            "Mail address at which push services can reach you. Without it no reminder is sent."
        ),
    )
    services = option(
        "--push-service",
        "push_services",
        metavar="HOST",
        multiple=True,
        envvar=["BENCHAPP_SERVE_PUSH_SERVICE", "BENCHAPP_PUSH_SERVICE"],
        show_envvar=True,
        help=n_(
            "Send to this push service, or those under its name; may be given again. "
            "All, if none is."
        ),
    )
    return contact(services(command))
