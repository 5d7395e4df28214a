"""How wax cools, at a desk: `benchapp forecast`."""

from collections.abc import Sequence
from dataclasses import asdict
from itertools import pairwise

import click

from benchapp.commands.errors import Refused
from benchapp.commands.printing import counted, degrees, duration, print_json, print_text
from benchapp.commands.typed import (
    READING,
    STEP,
    TEMP,
    WEIGHT,
    formula_refusals,
)
from benchapp.formulas import cooling, rounding


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
    with formula_refusals():
        found = cooling.forecast(
            readings, room, target, thermometer_step_c=thermometer_step, mass_g=mass
        )
    warnings = _about_readings(readings, found)
    first_s = min(time_s for time_s, _ in readings)
    last_s = max(time_s for time_s, _ in readings)
    goal = f"{degrees(target)} °C"
    passed = found.eta_s <= last_s
    if passed:
        warnings.append(
            f"The wax is already down to {goal}, which it passed "
            f"{duration(last_s - found.eta_s)} before the last reading: warm it back if it is "
            "too cool."
        )
    if as_json:
        wanted = ("eta_s", "low_s", "high_s", "doubt_c", "next_dip_s", "rate_c_per_min", "exponent")
        told = asdict(found)
        told = {key: told[key] for key in (*wanted, "used", "odd", "restarted", "guessed")}
        print_json(told | {"warnings": warnings})
        return
    lines = []
    if not passed:
        lines += [
            f"{goal} is reached {duration(found.eta_s - first_s)} after the first reading, "
            f"{duration(found.eta_s - last_s)} after the last",
            f"Nine times in ten: {duration(found.low_s - first_s)} to "
            f"{duration(found.high_s - first_s)} after the first reading; at the time told, the "
            f"wax is within {rounding.write(max(found.doubt_c, 0.1), 0.1)} °C of {goal}",
        ]
        if found.next_dip_s is not None:
            lines.append(
                f"Dip again {duration(found.next_dip_s - first_s)} after the first reading, "
                f"{duration(found.next_dip_s - last_s)} after the last: it makes this surer"
            )
    fall = rounding.write(found.rate_c_per_min, 0.01)
    lines.append(
        f"Falling {fall} °C a minute at the last reading; {counted(found.used, 'reading')} used"
    )
    print_text(lines, warnings)


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
            f"The reading of {degrees(temp_c)} °C at {duration(time_s)} lies "
            f"{degrees(abs(off))} °C {side} the curve and hardly counts: was it a slip? "
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
