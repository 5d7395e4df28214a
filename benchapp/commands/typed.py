"""What is typed into an option, read into base units."""

import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import click

from benchapp.commands.errors import Refused
from benchapp.formulas import checks, units, weigh

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
        except ValueError as error:
            option = f"{param.opts[0]}: " if param else ""
            raise Refused(f"{option}{error}") from None


def read_load(text: str) -> float:
    """'10%', '7,5 %' or '0.10' as a fraction, 0 to 0.5."""
    found = _LOAD.fullmatch(text.strip())
    if not found:
        raise ValueError(f"Can't read “{text.strip()}”: write a load such as 10% or 0.10.")
    amount = units.parse_number(found[1])
    if not found[2] and amount >= 1:
        raise ValueError(f"“{found[1]}” has no % sign: write {found[1]}%, or a fraction as 0.10.")
    load = amount / 100 if found[2] else amount
    if not 0 <= load <= 0.5:
        raise ValueError(f"A load must be from 0 to 50 %: check “{text.strip()}”.")
    return load


def read_count(text: str) -> int:
    """How many vessels: a whole number."""
    return checks.whole(units.parse_number(text), "The number of vessels", 1, weigh.MOST_VESSELS)


def read_quantity(text: str, dimension: str, unit: str | None = None) -> float:
    """A weight, volume or temperature in its base unit, as ``units.parse_quantity`` reads it."""
    return units.parse_quantity(text, dimension, unit)


def read_scale_step(text: str, unit: str | None = None) -> float:
    """A scale's step in grams."""
    return checks.within(read_quantity(text, "mass", unit), "A scale's step in g", 0.001, 100)


def read_difference(text: str) -> float:
    """A thermometer's step in °C: '0.1', '0.5 °C', '1F' (which is 5/9 °C)."""
    found = _DIFFERENCE.fullmatch(text.strip())
    if not found:
        raise ValueError(f"Can't read “{text.strip()}”: write a step such as 0.1 or 1F.")
    if found[2].upper() != "F":
        return units.parse_number(found[1])
    step = read_quantity(f"{found[1]} F", "temperature") - read_quantity("0 F", "temperature")
    return checks.positive(step, "The step")


def read_span(text: str) -> float:
    """A time in seconds: '120', '2m', '1h5m', '1m30s', '2:00', '1:05:00'."""
    squeezed = re.sub(r"\s", "", text).lower()
    found = _CLOCK.fullmatch(squeezed) or _SPAN.fullmatch(squeezed)
    if not squeezed or not found:
        raise ValueError(f"Can't read the time “{text.strip()}”: write seconds, 2m or 1h5m.")
    hours, minutes, seconds = (units.parse_number(part or "0") for part in found.groups())
    span = hours * 3600 + minutes * 60 + seconds
    if span > LONGEST_S:
        raise ValueError(f"“{text.strip()}” is more than a week: no jug cools for so long.")
    return span


def read_reading(text: str) -> tuple[float, float]:
    """'120:82.1' as ``(120.0, 82.1)``: when, in seconds, and how hot, in °C."""
    time, colon, temp = text.rpartition(":")
    if not colon:
        raise ValueError(f"Can't read “{text}”: write TIME:TEMP, such as 120:82.1 or 2m:180F.")
    return read_span(time), read_quantity(temp, "temperature")


LOAD = Typed("load", lambda text, _: read_load(text))
COUNT = Typed("count", lambda text, _: read_count(text))
WEIGHT = Typed("weight", lambda text, unit: read_quantity(text, "mass", unit))
SCALE_STEP = Typed("weight", read_scale_step)
VOLUME = Typed("volume", lambda text, _: read_quantity(text, "volume"))
TEMP = Typed("temp", lambda text, _: read_quantity(text, "temperature"))
STEP = Typed("step", lambda text, _: read_difference(text))
READING = Typed("time:temp", lambda text, _: read_reading(text))
DENSITY = Typed(
    "density", lambda text, _: checks.density(units.parse_number(text), "A density in g/ml")
)

#: How a formula's sentence begins -> the option that it is about.
ABOUT = {
    "The number of vessels": "--count",
    "The wax for a vessel": "--wax-per-vessel",
    "The weight of the water": "--vessel-water",
    "The water's temperature": "--water-temp",
    "The mix for all": "--wax-per-vessel",
    "The wax to hand": "--wax",
    "The load": "--load",
    "The scale is too coarse": "--scale-step",
    "The scale's capacity": "--scale-capacity",
    "The jug with the mix": "--scale-capacity",
    "The jug's volume": "--jug-volume",
    "One vessel takes": "--jug-volume",
    "The empty jug": "--jug-weight",
    "The allowance": "--allowance",
    "The room": "--room",
    "The target": "--target",
    "A reading": "--reading",
    "Too many readings": "--reading",
    "The thermometer's step": "--thermometer-step",
    "The wax in the jug": "--mass",
}


@contextmanager
def formula_refusals() -> Iterator[None]:
    """Turn a formula's refusal into the command's, with the option in front."""
    try:
        yield
    except ValueError as error:
        sentence = str(error)
        options = [option for start, option in ABOUT.items() if sentence.startswith(start)]
        raise Refused(": ".join([*options[:1], sentence])) from None
