"""What a command can't do, told in a sentence."""

from collections.abc import Iterator
from contextlib import contextmanager
from unicodedata import category

import click

from benchapp.words import WordedError


class Refused(WordedError, click.ClickException):
    """What can't be done, told in one sentence on stderr; the command ends with status 2."""

    exit_code = 2

    def format_message(self) -> str:
        return visible(str(self))


def visible(text: str) -> str:
    """Text that may hold what a phone, a file or another program has sent, for a terminal: what
    controls it, or turns the direction of what follows, is replaced."""
    return "".join(
        "\ufffd" if category(each) in ("Cc", "Cf", "Cs", "Zl", "Zp") and each != "\n" else each
        for each in text
    )


@contextmanager
def refusals(*kinds: type[Exception]) -> Iterator[None]:
    """Tell errors of these kinds, and what the database can't do just now, as Refused: in a
    sentence, not with a stack trace."""
    from benchapp.records.database import Unavailable

    known: tuple[type[Exception], ...] = (Unavailable, *kinds)
    try:
        yield
    except known as error:
        raise Refused(error) from error
