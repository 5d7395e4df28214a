"""The bench's sums at a desk: `benchapp plan` and `benchapp forecast`, as text or as JSON.

What is typed is read here and what is answered is written here; every sum is a formula's.
"""

import json
import re
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import asdict
from itertools import groupby, pairwise
from typing import Any

import click

from benchapp.formulas import checks, fill, rounding, units, weigh
from benchapp.formulas import load as loads
from benchapp.formulas.cooling import forecast as cooling

# ---- what is typed -----------------------------------------------------------------------------

_NUMBER = r"[+\-−]?(?:\d{1,9}(?:[.,]\d{1,9})?|[.,]\d{1,9})"
_LOAD = re.compile(rf"({_NUMBER})\s*(%?)")
_DIFFERENCE = re.compile(rf"({_NUMBER})\s*°?\s*([CFK]?)", re.IGNORECASE)
_SPAN = re.compile(r"(?:(\d{1,3})h)?(?:(\d{1,5})m(?:in)?)?(?:(\d{1,7}(?:[.,]\d{1,3})?)s?)?")
_CLOCK = re.compile(r"(?:(\d{1,3}):)?(\d{1,3}):([0-5]\d)")


LONGEST_S = 7 * 24 * 3600
"""A week: a longer time is a slip of the finger, or wax that has long been cold."""


class Refused(click.ClickException):
    """What can't be done, told in one sentence on stderr; the command ends with status 2."""

    exit_code = 2


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
def _sentences() -> Iterator[None]:
    """Turn a formula's refusal into the command's, with the option in front."""
    try:
        yield
    except ValueError as error:
        sentence = str(error)
        options = [option for start, option in ABOUT.items() if sentence.startswith(start)]
        raise Refused(": ".join([*options[:1], sentence])) from None


# ---- the pour sheet ----------------------------------------------------------------------------


@click.command()
@click.option("--count", type=COUNT, help="How many vessels to fill.")
@click.option("--wax", type=WEIGHT, help="The wax to hand, instead of --count.")
@click.option("--wax-per-vessel", type=WEIGHT, help="Wax that one vessel takes.")
@click.option("--vessel-water", type=WEIGHT, help="Water that one vessel holds to its line.")
@click.option("--water-temp", type=TEMP, default="20C", help="How warm that water was.")
@click.option(
    "--fill",
    "filled",
    type=click.Choice(["hot", "set"]),
    default="hot",
    help="Whether the line is met when poured or when set.",
)
@click.option("--load", type=LOAD, help="Fragrance load, such as 10% or 0.10.")
@click.option(
    "--load-of",
    type=click.Choice(["wax", "total"]),
    default="wax",
    help="What the load is a part of: the wax, or wax and fragrance together.",
)
@click.option("--scale-step", type=SCALE_STEP, default="1g", help="The scale's step.")
@click.option(
    "--fragrance-step",
    type=SCALE_STEP,
    show_default="the scale's",
    help="Step of the scale that weighs the fragrance.",
)
@click.option("--scale-capacity", type=WEIGHT, help="The most that the scale carries.")
@click.option("--jug-volume", type=VOLUME, help="What a jug holds, hot.")
@click.option("--jug-weight", type=WEIGHT, default="0g", help="Weight of the empty jug.")
@click.option("--allowance", type=WEIGHT, default="0g", help="Mix that stays in each jug.")
@click.option("--wax-density", type=DENSITY, default="0.86", help="Molten wax, g/ml.")
@click.option("--solid-density", type=DENSITY, default="0.90", help="Solid wax, g/ml.")
@click.option("--fragrance-density", type=DENSITY, default="0.98", help="Fragrance, g/ml.")
@click.option(
    "--units",
    type=click.Choice(["g", "oz"]),
    default="g",
    is_eager=True,
    help="Unit of weights: of the sheet, and of what is typed without one.",
)
@click.option("--json", "as_json", is_flag=True, help="Write JSON (grams, fractions).")
def plan(
    count: int | None,
    wax: float | None,
    wax_per_vessel: float | None,
    vessel_water: float | None,
    water_temp: float,
    filled: str,
    load: float | None,
    load_of: str,
    scale_step: float,
    fragrance_step: float | None,
    scale_capacity: float | None,
    jug_volume: float | None,
    jug_weight: float,
    allowance: float,
    wax_density: float,
    solid_density: float,
    fragrance_density: float,
    units: str,
    as_json: bool,
) -> None:
    """Print the pour sheet: what the scale should read, jug by jug.

    Weights and volumes are typed as they are said: 285g, 1.5kg, "1 lb 4 oz", 2l.
    """
    if (count is None) == (wax is None):
        raise Refused("Give either --count (how many vessels) or --wax (the wax to hand).")
    if (wax_per_vessel is None) == (vessel_water is None):
        raise Refused(
            "Give either --wax-per-vessel or --vessel-water (what a vessel holds of water)."
        )
    if load is None:
        raise Refused("--load is missing: write the fragrance load, such as --load 10%.")
    warnings = []
    with _sentences():
        part = loads.of_wax(load) if load_of == "total" else load
        if wax_per_vessel is None:
            assert vessel_water is not None  # noqa: S101
            line_ml = fill.water_volume_ml(vessel_water, water_temp)
            density = wax_density if filled == "hot" else solid_density
            wax_per_vessel, _ = fill.fill_masses(line_ml, part, density, fragrance_density)
        checks.positive(wax_per_vessel, "The wax for a vessel")
        oil_per_vessel = wax_per_vessel * part
        hot_ml = fill.mix_volume_ml(wax_per_vessel, oil_per_vessel, wax_density, fragrance_density)
        set_ml = fill.mix_volume_ml(
            wax_per_vessel, oil_per_vessel, solid_density, fragrance_density
        )
        if vessel_water is not None and filled == "set":
            warnings.append(
                f"Filled to the line when set, a vessel is poured "
                f"{rounding.write(hot_ml - set_ml, 1)} ml above it: check that it holds that."
            )
        most = weigh.vessels_per_jug(
            wax_per_vessel + oil_per_vessel,
            hot_ml,
            jug_volume_ml=jug_volume,
            jug_empty_g=jug_weight,
            scale_capacity_g=scale_capacity,
            allowance_g=allowance,
        )
        if count is None:
            assert wax is not None  # noqa: S101
            count = weigh.count_from_wax(
                wax, wax_per_vessel, load=part, allowance_g=allowance, per_jug=most
            )
            if count == 0:
                raise ValueError("The wax to hand does not fill one vessel.")
        # Doubled, because half a gram to the millilitre is the lightest mix there is.
        checks.number(
            2 * count * (wax_per_vessel + oil_per_vessel + allowance),
            "The mix for all the vessels",
        )
        sheet = weigh.plan(
            count,
            wax_per_vessel,
            part,
            scale_step_g=scale_step,
            fragrance_step_g=fragrance_step,
            scale_capacity_g=scale_capacity,
            jug_volume_ml=jug_volume,
            jug_empty_g=jug_weight,
            allowance_g=allowance,
            molten_density=wax_density,
            fragrance_density=fragrance_density,
        )
    weights = Weights(units, scale_step, fragrance_step or scale_step)
    if not sheet.fine_enough:
        warnings.append(_too_coarse(sheet, weights, most))
    if as_json:
        _print_json(asdict(sheet) | {"warnings": warnings})
        return
    lines = [
        f"{_counted(sheet.vessels, 'vessel')}, fragrance {_percent(part)} of the wax"
        f" ({_percent(loads.of_total(part))} of the total)",
        f"Wax {weights.coarse(sheet.wax_g)}, fragrance {weights.fine(sheet.fragrance_g)}",
        f"One vessel takes {weights.plain(wax_per_vessel)} of wax and "
        f"{weights.plain(oil_per_vessel)} of fragrance: {rounding.write(hot_ml, 1)} ml hot, "
        f"{rounding.write(set_ml, 1)} ml set",
    ]
    if wax is not None:
        left = max(0.0, wax - sheet.wax_g)
        lines.append(f"Of {weights.plain(wax)} of wax, {weights.plain(left)} is left over")
    number = 0
    for jug, alike in groupby(sheet.jugs):
        last = number + len(list(alike))
        lines += ["", *_jug_lines(jug, number + 1, last, len(sheet.jugs), weights)]
        number = last
    _print_text(lines, warnings)


class Weights:
    """Grams written in the chosen unit, to the step of the scale that shows them."""

    def __init__(self, unit: str, step_g: float, fine_step_g: float) -> None:
        self._unit = unit
        self.step_g = step_g
        self.fine_step_g = fine_step_g

    def _write(self, grams: float, step_g: float | None) -> str:
        step = None if step_g is None else units.convert(step_g, "mass", self._unit)
        if step is not None and rounding.decimals_of(step) > 3:
            step = None  # a gram scale read in ounces, or the other way round: no even step
        return units.format_quantity(grams, "mass", self._unit, step)

    def coarse(self, grams: float) -> str:
        """To the step of the scale that weighs wax and vessels."""
        return self._write(grams, self.step_g)

    def fine(self, grams: float) -> str:
        """To the step of the scale that weighs the fragrance."""
        return self._write(grams, self.fine_step_g)

    def finest(self, grams: float) -> str:
        """To the finer step of the two."""
        return self._write(grams, min(self.step_g, self.fine_step_g))

    def plain(self, grams: float) -> str:
        """To the unit's usual step: what no scale has weighed yet."""
        return self._write(grams, None)


def _too_coarse(sheet: weigh.Plan, weights: Weights, most: int) -> str:
    """The scale against the fragrance: what the load could be, and what helps."""
    low, high = (rounding.write(100 * load, 0.1) for load in (sheet.load_low, sheet.load_high))
    helps = "weigh the fragrance on a finer scale"
    if sheet.count_for_scale <= most:
        helps += f", or pour at least {_counted(sheet.count_for_scale, 'vessel')} from one jug"
    return (
        f"With a step of {weights.fine(weights.fine_step_g)} for the fragrance, the load of "
        f"{_percent(sheet.load)} could be {low} to {high} %: {helps}."
    )


def _jug_lines(jug: weigh.Jug, first: int, last: int, jugs: int, weights: Weights) -> Iterator[str]:
    if jugs == 1:
        name = "One jug"
    elif first == last:
        name = f"Jug {first} of {jugs}"
    else:
        name = f"Jugs {first} to {last} of {jugs}, each"
    yield f"{name}: {_counted(jug.vessels, 'vessel')}, {rounding.write(jug.hot_ml, 1)} ml hot"
    rows = [("", "target", "good enough", "if not zeroed")]
    for target in jug.waxes:
        rows.append(_weighing(target, weights.coarse))
    for target in jug.fragrances:
        oil, grams, band, _ = _weighing(target, weights.fine)
        rows.append((oil, grams, band, weights.finest(target.reads_g)))
    for each, alike in groupby(jug.vessel_targets_g):
        number = len(list(alike))
        low, high = weigh.vessel_band(each, weights.step_g) if each > 0 else (0.0, 0.0)
        band = _band(low, high, weights.coarse)
        rows.append((f"each of {_counted(number, 'vessel')}", weights.coarse(each), band, ""))
    rows.append(("stays in the jug", weights.finest(jug.stays_g), "", ""))
    widths = [max(len(row[column]) for row in rows) for column in range(4)]
    for name, grams, band, reads in rows:
        yield (
            f"  {name:<{widths[0]}}  {grams:>{widths[1]}}  {band:<{widths[2]}}  "
            f"{reads:>{widths[3]}}"
        ).rstrip()


def _weighing(target: weigh.Target, write: Callable[[float], str]) -> tuple[str, str, str, str]:
    band = _band(target.low_g, target.high_g, write)
    return target.name, write(target.target_g), band, write(target.reads_g)


def _band(low_g: float, high_g: float, write: Callable[[float], str]) -> str:
    low, high = write(low_g), write(high_g)
    return low if low == high else f"{low} to {high}"


# ---- the forecast ------------------------------------------------------------------------------


@click.command()
@click.option("--room", type=TEMP, help="Temperature of the room.")
@click.option("--target", type=TEMP, help="Temperature waited for.")
@click.option(
    "--reading",
    "readings",
    type=READING,
    multiple=True,
    help="A dip of the thermometer: 120:82.1, 2m:82.1, 1h5m:158F. Give each one.",
)
@click.option("--thermometer-step", type=STEP, default="0.1", help="The thermometer's step, °C.")
@click.option("--mass", type=WEIGHT, help="Wax in the jug, for the first guess.")
@click.option("--json", "as_json", is_flag=True, help="Write JSON (seconds, °C).")
def forecast(
    room: float | None,
    target: float | None,
    readings: tuple[tuple[float, float], ...],
    thermometer_step: float,
    mass: float | None,
    as_json: bool,
) -> None:
    """Tell when cooling wax reaches a temperature.

    Temperatures without a unit are °C; times without one are seconds.
    """
    if room is None:
        raise Refused("--room is missing: write the room's temperature, such as --room 20.")
    if target is None:
        raise Refused("--target is missing: write the temperature waited for, as --target 70.")
    if not readings:
        raise Refused("--reading is missing: write a dip as TIME:TEMP, such as --reading 0:84.5.")
    with _sentences():
        found = cooling.forecast(
            readings, room, target, thermometer_step_c=thermometer_step, mass_g=mass
        )
    warnings = _about_readings(readings, found)
    first_s = min(time_s for time_s, _ in readings)
    last_s = max(time_s for time_s, _ in readings)
    goal = f"{_degrees(target)} °C"
    passed = found.eta_s <= last_s
    if passed:
        warnings.append(
            f"The wax is already down to {goal}, which it passed "
            f"{_clock(last_s - found.eta_s)} before the last reading: warm it back if it is "
            "too cool."
        )
    if as_json:
        wanted = ("eta_s", "low_s", "high_s", "doubt_c", "next_dip_s", "rate_c_per_min", "exponent")
        told = asdict(found)
        told = {key: told[key] for key in (*wanted, "used", "odd", "restarted", "guessed")}
        _print_json(told | {"warnings": warnings})
        return
    lines = []
    if not passed:
        lines += [
            f"{goal} is reached {_clock(found.eta_s - first_s)} after the first reading, "
            f"{_clock(found.eta_s - last_s)} after the last",
            f"Nine times in ten: {_clock(found.low_s - first_s)} to "
            f"{_clock(found.high_s - first_s)} after the first reading; at the time told, the "
            f"wax is within {rounding.write(max(found.doubt_c, 0.1), 0.1)} °C of {goal}",
        ]
        if found.next_dip_s is not None:
            lines.append(
                f"Dip again {_clock(found.next_dip_s - first_s)} after the first reading, "
                f"{_clock(found.next_dip_s - last_s)} after the last: it makes this surer"
            )
    fall = rounding.write(found.rate_c_per_min, 0.01)
    lines.append(
        f"Falling {fall} °C a minute at the last reading; {_counted(found.used, 'reading')} used"
    )
    _print_text(lines, warnings)


def _about_readings(readings: Sequence[tuple[float, float]], found: cooling.Forecast) -> list[str]:
    """In plain words, what was odd about the readings and what was done with them."""
    said = []
    times = [time_s for time_s, _ in readings]
    if any(later < earlier for earlier, later in pairwise(times)):
        said.append("The readings were not in order of time: they were put in order.")
    if len(set(times)) < len(times):
        said.append("Some readings have the same time: check their times.")
    if found.restarted:
        said.append(
            "The wax was warmer again at a later reading: only the readings since then count."
        )
    for index in found.odd:
        time_s, temp_c = readings[index]
        off = temp_c - found.temp_at(time_s)
        side = "above" if off > 0 else "below"
        said.append(
            f"The reading of {_degrees(temp_c)} °C at {_clock(time_s)} lies "
            f"{_degrees(abs(off))} °C {side} the curve and hardly counts: was it a slip? "
            "Dip again."
        )
    if found.guessed and found.used == 1:
        said.append(
            "A first guess from how a jug of wax usually cools: another reading makes it surer."
        )
    elif found.guessed:
        said.append(
            "The readings hardly tell the fall yet, so how a jug of wax usually cools counts as "
            "well: take another reading later."
        )
    return said


# ---- what is answered --------------------------------------------------------------------------


def _print_text(lines: Sequence[str], warnings: Sequence[str]) -> None:
    click.echo("\n".join(lines))
    if warnings:
        click.echo("\n".join(["", *warnings] if lines else warnings))


def _print_json(told: dict[str, Any]) -> None:
    click.echo(json.dumps(told, ensure_ascii=False, allow_nan=False, indent=2))


def _counted(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def _trimmed(text: str) -> str:
    return text.rstrip("0").rstrip(".") if "." in text else text


def _percent(fraction: float) -> str:
    return f"{_trimmed(rounding.write(100 * fraction, 0.01))} %"


def _degrees(temp_c: float) -> str:
    return _trimmed(rounding.write(temp_c, 0.1))


def _clock(seconds: float) -> str:
    """Seconds as m:ss, or h:mm:ss from an hour on; a minus sign for what lies before."""
    if seconds > LONGEST_S:
        return "more than a week"
    whole = rounding.steps(abs(seconds), 1)
    minutes, rest = divmod(whole, 60)
    hours, minutes = divmod(minutes, 60)
    sign = "-" if seconds < 0 and whole else ""
    return f"{sign}{hours}:{minutes:02}:{rest:02}" if hours else f"{sign}{minutes}:{rest:02}"
