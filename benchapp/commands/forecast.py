"""How wax cools, at a desk: `benchapp forecast`."""

from collections.abc import Sequence
from dataclasses import asdict
from itertools import pairwise

from benchapp.commands.errors import Refused
from benchapp.commands.help import command, option
from benchapp.commands.printing import degrees, duration, print_json, print_text
from benchapp.commands.typed import READING, STEP, TEMP, WEIGHT, formula_refusals
from benchapp.formulas import rounding
from benchapp.formulas.cooling import forecast as cooling
from benchapp.words import n_, plural, t
from benchapp.words.numbers import number_text

#: The formula's argument -> the option that it is typed in.
OPTIONS = {
    "room_c": "--room",
    "target_c": "--target",
    "readings": "--reading",
    "thermometer_step_c": "--thermometer-step",
    "mass_g": "--mass",
}


@command(
    n_("Tell when cooling wax reaches a temperature."),
    n_("Temperatures without a unit are °C; times without one are seconds."),
)
@option("--room", type=TEMP, help=n_("Temperature of the room."))
@option("--target", type=TEMP, help=n_("Temperature waited for."))
@option(
    "--reading",
    "readings",
    type=READING,
    multiple=True,
    help=n_("A dip of the thermometer: 120:82.1, 2m:82.1, 1h5m:158F. Give each one."),
)
@option("--thermometer-step", type=STEP, default="0.1", help=n_("The thermometer's step, °C."))
@option("--mass", type=WEIGHT, help=n_("Wax in the jug, for the first guess."))
@option("--json", "as_json", is_flag=True, help=n_("Write JSON (seconds, °C)."))
def forecast(
    room: float | None,
    target: float | None,
    readings: tuple[tuple[float, float], ...],
    thermometer_step: float,
    mass: float | None,
    as_json: bool,
) -> None:
    if room is None:
        raise Refused("--room is missing: write the room's temperature, such as --room 20.")
    if target is None:
        raise Refused("--target is missing: write the temperature waited for, as --target 70.")
    if not readings:
        raise Refused("--reading is missing: write a dip as TIME:TEMP, such as --reading 0:84.5.")
    with formula_refusals(OPTIONS):
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
            t(
                "The wax is already down to {goal}, which it passed {ago} before the last "
                "reading: warm it back if it is too cool.",
                goal=goal,
                ago=duration(last_s - found.eta_s),
            )
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
            t(
                "{goal} is reached {first} after the first reading, {last} after the last",
                goal=goal,
                first=duration(found.eta_s - first_s),
                last=duration(found.eta_s - last_s),
            ),
            t(
                "Nine times in ten: {low} to {high} after the first reading; at that time, the "
                "wax is within {doubt} °C of {goal}",
                low=duration(found.low_s - first_s),
                high=duration(found.high_s - first_s),
                doubt=number_text(rounding.write(max(found.doubt_c, 0.1), 0.1)),
                goal=goal,
            ),
        ]
        if found.next_dip_s is not None:
            lines.append(
                t(
                    "Dip again {first} after the first reading, {last} after the last: it makes "
                    "this surer",
                    first=duration(found.next_dip_s - first_s),
                    last=duration(found.next_dip_s - last_s),
                )
            )
    lines.append(
        plural(
            found.used,
            "Falling {fall} °C a minute at the last reading; {n} reading used",
            "Falling {fall} °C a minute at the last reading; {n} readings used",
            fall=number_text(rounding.write(found.rate_c_per_min, 0.01)),
        )
    )
    print_text(lines, warnings)


def _about_readings(readings: Sequence[tuple[float, float]], found: cooling.Forecast) -> list[str]:
    """In plain words, what was odd about the readings and what was done with them."""
    said = []
    times = [time_s for time_s, _ in readings]
    if any(later < earlier for earlier, later in pairwise(times)):
        said.append(t("The readings were not in order of time: they were put in order."))
    if len(set(times)) < len(times):
        said.append(t("Some readings have the same time: check their times."))
    if found.restarted:
        said.append(
            t("The wax was warmer again at a later reading: only the readings since then count.")
        )
    for index in found.odd:
        time_s, temp_c = readings[index]
        off = temp_c - found.temp_at(time_s)
        lies = _ABOVE if off > 0 else _BELOW
        said.append(t(lies, temp=degrees(temp_c), time=duration(time_s), off=degrees(abs(off))))
    if found.guessed and found.used == 1:
        said.append(
            t("A first guess from how a jug of wax usually cools: another reading makes it surer.")
        )
    elif found.guessed:
        said.append(
            t(
                "The readings hardly tell the fall yet, so how a jug of wax usually cools counts "
                "as well: take another reading later."
            )
        )
    return said


_ABOVE = n_(
    "The reading of {temp} °C at {time} lies {off} °C above the curve and hardly counts: was it a "
    "slip? Dip again."
)
_BELOW = n_(
    "The reading of {temp} °C at {time} lies {off} °C below the curve and hardly counts: was it a "
    "slip? Dip again."
)
