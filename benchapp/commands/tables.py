"""Tables of text, and times in them."""

from collections.abc import Sequence
from datetime import datetime

import click


def date_text(at_ms: int) -> str:
    """A time as this machine's clock shows it."""
    return datetime.fromtimestamp(at_ms / 1000).astimezone().strftime("%Y-%m-%d %H:%M")


def print_table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    widths = [max(len(row[column]) for row in [head, *rows]) for column in range(len(head))]
    for row in [head, *rows]:
        line = "  ".join(text.ljust(width) for text, width in zip(row, widths, strict=True))
        click.echo(line.rstrip())


def counted_items(records: int, events: int) -> str:
    steps = "1 step of a pour" if events == 1 else f"{events} steps of pours"
    return f"{counted(records, 'record')} and {steps}"


def counted(count: int, name: str) -> str:
    return f"{count} {name}{'' if count == 1 else 's'}"
