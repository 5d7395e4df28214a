"""How plan and forecast print what they found: text or JSON, amounts and times in it."""

import json
from collections.abc import Sequence
from typing import Any

import click

from benchapp.commands.typed import LONGEST_S
from benchapp.formulas import rounding


def print_text(lines: Sequence[str], warnings: Sequence[str]) -> None:
    click.echo("\n".join(lines))
    if warnings:
        click.echo("\n".join(["", *warnings] if lines else warnings))


def print_json(told: dict[str, Any]) -> None:
    click.echo(json.dumps(told, ensure_ascii=False, allow_nan=False, indent=2))


def counted(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def _trimmed(text: str) -> str:
    return text.rstrip("0").rstrip(".") if "." in text else text


def percent(fraction: float) -> str:
    return f"{_trimmed(rounding.write(100 * fraction, 0.01))} %"


def degrees(temp_c: float) -> str:
    return _trimmed(rounding.write(temp_c, 0.1))


def duration(seconds: float) -> str:
    """Seconds as m:ss, or h:mm:ss from an hour on; a minus sign for what lies before."""
    if seconds > LONGEST_S:
        return "more than a week"
    whole = rounding.steps(abs(seconds), 1)
    minutes, rest = divmod(whole, 60)
    hours, minutes = divmod(minutes, 60)
    sign = "-" if seconds < 0 and whole else ""
    return f"{sign}{hours}:{minutes:02}:{rest:02}" if hours else f"{sign}{minutes}:{rest:02}"
