"""Options that several commands share: where the records are, how messages are sent."""

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from benchapp.commands.help import option
from benchapp.words import n_

if TYPE_CHECKING:
    from benchapp.records.attachments.keeping import Keeper, Settings

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


def open_keeper(url: str | None, data: Path | None) -> "Keeper":
    """The store of attachments that ``--attachments`` or ``--data`` names. Raises Refused."""
    from benchapp.commands.errors import refusals
    from benchapp.records.attachments.keeping import Keeper, Settings

    with refusals(ValueError):
        return Keeper(Settings(url), data_directory(data))


def attachments_option(command: Function) -> Function:
    """Give a command the option that says where attachments lie."""
    return option(
        "--attachments",
        metavar="URL",
        envvar=["BENCHAPP_SERVE_ATTACHMENTS", "BENCHAPP_ATTACHMENTS"],
        show_envvar=True,
        show_default=n_("the directory attachments in the data directory"),
        help=n_("Where photos and papers are kept, such as s3://bucket/folder."),
    )(command)


def attachment_options(command: Function) -> Function:
    """Give a command the options that say where attachments lie, and how much of them."""
    room = option(
        "--attachments-room",
        metavar="MB",
        default=5000,
        type=click.IntRange(1, 10_000_000),
        show_envvar=True,
        help=n_("How much the photos and papers of one workshop may take."),
    )
    size = option(
        "--attachment-size",
        metavar="MB",
        default=20,
        type=click.IntRange(1, 20),
        show_envvar=True,
        help=n_("How large one photo or paper may be."),
    )
    return attachments_option(room(size(command)))


def attachment_settings(url: str | None, room_mb: int, size_mb: int) -> "Settings":
    """What those options say."""
    from benchapp.records.attachments.keeping import Settings

    return Settings(url, size_mb * 1_000_000, room_mb * 1_000_000)
