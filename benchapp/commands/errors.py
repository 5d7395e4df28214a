"""What a command can't do, told in a sentence."""

from collections.abc import Iterator
from contextlib import contextmanager

import click


class Refused(click.ClickException):
    """What can't be done, told in one sentence on stderr; the command ends with status 2."""

    exit_code = 2


@contextmanager
def refusals() -> Iterator[None]:
    """Tell what the database can't do just now in a sentence, not with a stack trace."""
    from benchapp.records.database import Unavailable

    try:
        yield
    except Unavailable as error:
        raise Refused(str(error)) from error
