"""Tables of text, and times and counts in them."""

from collections.abc import Sequence
from datetime import datetime

import click

from benchapp.commands.errors import visible
from benchapp.words import listed, plural


def print_table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """Print rows below a head, each column as wide as its longest text."""
    rows = [[visible(text) for text in row] for row in rows]
    widths = [max(len(row[column]) for row in [head, *rows]) for column in range(len(head))]
    for row in [head, *rows]:
        line = "  ".join(text.ljust(width) for text, width in zip(row, widths, strict=True))
        click.echo(line.rstrip())


def date_text(at_ms: int) -> str:
    """A time as this machine's clock shows it, such as '2026-11-25 09:00' (ISO 8601)."""
    return datetime.fromtimestamp(at_ms / 1000).astimezone().strftime("%Y-%m-%d %H:%M")


def records_and_events_text(records: int, events: int) -> str:
    """Such as '12 records and 1 step of a pour'."""
    return listed([records_text(records), events_text(events)])


def records_text(records: int) -> str:
    """Such as '12 records'."""
    return plural(records, "{n} record", "{n} records")


def events_text(events: int) -> str:
    """Such as '1 step of a pour'."""
    return plural(events, "{n} step of a pour", "{n} steps of pours")
