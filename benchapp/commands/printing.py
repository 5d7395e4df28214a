"""How plan and forecast print what they found: text or JSON, amounts and times in it."""

import json
from collections.abc import Sequence
from typing import Any

import click

from benchapp.commands.typed import LONGEST_S
from benchapp.formulas import rounding
from benchapp.words import t
from benchapp.words.numbers import number_text


def print_text(lines: Sequence[str], warnings: Sequence[str]) -> None:
    """Lines, and below them what to beware of."""
    click.echo("\n".join(lines))
    if warnings:
        click.echo("\n".join(["", *warnings] if lines else warnings))


def print_json(told: dict[str, Any]) -> None:
    """Numbers in base units, for another program."""
    click.echo(json.dumps(told, ensure_ascii=False, allow_nan=False, indent=2))


def _trimmed(text: str) -> str:
    return text.rstrip("0").rstrip(".") if "." in text else text


def percent(fraction: float) -> str:
    """A fraction as per cent, to 0.01: '8.33 %'."""
    return f"{number_text(_trimmed(rounding.write(100 * fraction, 0.01)))} %"


def degrees(temp_c: float) -> str:
    """A temperature to 0.1 °C, without its unit."""
    return number_text(_trimmed(rounding.write(temp_c, 0.1)))


def duration(seconds: float) -> str:
    """Seconds as m:ss, or h:mm:ss from an hour on; a minus sign for what lies before."""
    if seconds > LONGEST_S:
        return t("more than a week")
    whole = rounding.steps(abs(seconds), 1)
    minutes, rest = divmod(whole, 60)
    hours, minutes = divmod(minutes, 60)
    sign = "-" if seconds < 0 and whole else ""
    return f"{sign}{hours}:{minutes:02}:{rest:02}" if hours else f"{sign}{minutes}:{rest:02}"
