"""What is typed into an option, read into base units."""

import re
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from typing import Any

import click

from benchapp.commands.errors import Refused
from benchapp.formulas import checks, units, weigh
from benchapp.words import InputError, message

_NUMBER = r"[+\-−]?(?:\d{1,9}(?:[.,]\d{1,9})?|[.,]\d{1,9})"
_LOAD = re.compile(rf"({_NUMBER})\s*(%?)")
_DIFFERENCE = re.compile(rf"({_NUMBER})\s*°?\s*([CFK]?)", re.IGNORECASE)
_SPAN = re.compile(r"(?:(\d{1,3})h)?(?:(\d{1,5})m(?:in)?)?(?:(\d{1,7}(?:[.,]\d{1,3})?)s?)?")
_CLOCK = re.compile(r"(?:(\d{1,3}):)?(\d{1,3}):([0-5]\d)")


LONGEST_S = 7 * 24 * 3600
"""A week: a longer time is a slip of the finger, or wax that has long been cold."""


class Typed(click.ParamType):  # type: ignore[type-arg]  # not generic in older click
    """An option's text, read by ``read``; whatever that refuses names the option."""

    def __init__(self, name: str, read: Callable[[str, str | None], object]) -> None:
        self.name = name
        self._read = read

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> object:
        if not isinstance(value, str):
            return value
        try:
            return self._read(value, ctx.params.get("units") if ctx else None)
        except InputError as error:
            raise _refused(error, param.opts[0] if param else None) from None


def read_load(text: str) -> float:
    """'10%', '7,5 %' or '0.10' as a fraction, 0 to 0.5."""
    found = _LOAD.fullmatch(text.strip())
    if not found:
        raise InputError(
            "Can't read “{typed}”: write a load such as 10% or 0.10.", typed=text.strip()
        )
    amount = units.parse_number(found[1])
    if not found[2] and amount >= 1:
        raise InputError(
            "“{typed}” has no % sign: write {typed}%, or a fraction as 0.10.", typed=found[1]
        )
    load = amount / 100 if found[2] else amount
    if not 0 <= load <= 0.5:
        raise InputError("A load must be from 0 to 50 %: check “{typed}”.", typed=text.strip())
    return load


def read_count(text: str) -> int:
    """How many vessels: a whole number."""
    number = units.parse_number(text)
    return checks.whole(number, message("The number of vessels"), 1, weigh.MOST_VESSELS)


def read_quantity(text: str, dimension: str, unit: str | None = None) -> float:
    """A weight, volume or temperature in its base unit, as ``units.parse_quantity`` reads it."""
    return units.parse_quantity(text, dimension, unit)


def read_scale_step(text: str, unit: str | None = None) -> float:
    """A scale's step in grams."""
    step = read_quantity(text, "mass", unit)
    return checks.within(step, message("A scale's step in g"), 0.001, 100)


def read_difference(text: str) -> float:
    """A thermometer's step in °C: '0.1', '0.5 °C', '1F' (which is 5/9 °C)."""
    found = _DIFFERENCE.fullmatch(text.strip())
    if not found:
        raise InputError(
            "Can't read “{typed}”: write a step such as 0.1 or 1F.", typed=text.strip()
        )
    if found[2].upper() != "F":
        return units.parse_number(found[1])
    step = read_quantity(f"{found[1]} F", "temperature") - read_quantity("0 F", "temperature")
    return checks.positive(step, message("The step"))


def read_span(text: str) -> float:
    """A time in seconds: '120', '2m', '1h5m', '1m30s', '2:00', '1:05:00'."""
    squeezed = re.sub(r"\s", "", text).lower()
    found = _CLOCK.fullmatch(squeezed) or _SPAN.fullmatch(squeezed)
    if not squeezed or not found:
        raise InputError(
            "Can't read the time “{typed}”: write seconds, 2m or 1h5m.", typed=text.strip()
        )
    hours, minutes, seconds = (units.parse_number(part or "0") for part in found.groups())
    span = hours * 3600 + minutes * 60 + seconds
    if span > LONGEST_S:
        raise InputError(
            "“{typed}” is more than a week: no jug cools for so long.", typed=text.strip()
        )
    return span


def read_reading(text: str) -> tuple[float, float]:
    """'120:82.1' as ``(120.0, 82.1)``: when, in seconds, and how hot, in °C."""
    time, colon, temp = text.rpartition(":")
    if not colon:
        raise InputError(
            "Can't read “{typed}”: write TIME:TEMP, such as 120:82.1 or 2m:180F.", typed=text
        )
    return read_span(time), read_quantity(temp, "temperature")


def read_density(text: str) -> float:
    """A density in g/ml."""
    return checks.density(units.parse_number(text), message("A density in g/ml"))


LOAD = Typed("load", lambda text, _: read_load(text))
COUNT = Typed("count", lambda text, _: read_count(text))
WEIGHT = Typed("weight", lambda text, unit: read_quantity(text, "mass", unit))
SCALE_STEP = Typed("weight", read_scale_step)
VOLUME = Typed("volume", lambda text, _: read_quantity(text, "volume"))
TEMP = Typed("temp", lambda text, _: read_quantity(text, "temperature"))
STEP = Typed("step", lambda text, _: read_difference(text))
READING = Typed("time:temp", lambda text, _: read_reading(text))
DENSITY = Typed("density", lambda text, _: read_density(text))


@contextmanager
def formula_refusals(options: Mapping[str, str]) -> Iterator[None]:
    """Turn a formula's refusal into the command's, with the option in front.

    Args:
        options: a formula's argument -> the option that it was typed in.
    """
    try:
        yield
    except InputError as error:
        raise _refused(error, options.get(error.about or "")) from None


def _refused(error: InputError, option: str | None) -> Refused:
    if option is None:
        return Refused(error)
    return Refused("{option}: {error}", option=option, error=error)
