"""When wax on the heat will be at temperature.

Over the few minutes that matter, wax on a steady heat rises in a straight line; as it gets
hotter it loses more, so that the line, if anything, comes early: on the side of turning the
heat down in time.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from benchapp.formulas import checks, cooling

LAST = 4
"""The line goes through this many of the last readings: the heat may have been turned."""

LEAST_RATE = 0.2 / 60
"""A rise slower than 0.2 °C a minute is none that a forecast could rest on, °C/s."""


@dataclass(frozen=True)
class Rise:
    """When the target is reached on the heat.

    Attributes:
        eta_s: seconds from the readings' zero; before the last reading if it is passed.
        low_s: start of the 90 % interval.
        high_s: its end.
        rate_c_per_min: the rise, °C a minute.
        temp_c: the wax at the last reading, on the line.
    """

    eta_s: float
    low_s: float
    high_s: float
    rate_c_per_min: float
    temp_c: float


def forecast(
    readings: Sequence[tuple[float, float]],
    target_c: float,
    *,
    thermometer_step_c: float = 0.1,
    handling_c: float = cooling.HANDLING_C,
) -> Rise:
    """When wax on the heat reaches ``target_c``: least squares through the last readings.

    Args:
        readings: ``(t_s, temp_c)`` in any order, seconds from any zero; two or more.
        target_c: the temperature waited for.
        thermometer_step_c: the thermometer's step, above 0 to 5 °C.
        handling_c: standard deviation of a dip beside that, °C.

    Raises:
        ValueError: fewer than two readings, no rise, or any number out of range.
    """
    target = checks.within(target_c, "The target in °C", -20, 300)
    step = checks.within(thermometer_step_c, "The thermometer's step in °C", 0.001, 5)
    handling = checks.within(handling_c, "The doubt of a dip in °C", 0, 5)
    if len(readings) > cooling.MOST_READINGS:
        raise ValueError("Too many readings for one warming: start a new one.")
    checked = []
    for time_s, temp_c in readings:
        checks.number(time_s, "The time of a reading")
        checked.append((float(time_s), checks.within(temp_c, "A reading in °C", -20, 300)))
    used = sorted(checked)[-LAST:]
    if len(used) < 2 or used[-1][0] - used[0][0] < 1:
        raise ValueError("Read once more in a minute: two readings tell how fast it rises.")
    middle = 0.0
    level = 0.0
    for time_s, temp_c in used:
        middle += time_s / len(used)
        level += temp_c / len(used)
    leverage = 0.0
    product = 0.0
    for time_s, temp_c in used:
        leverage += (time_s - middle) ** 2
        product += (time_s - middle) * (temp_c - level)
    rate = product / leverage
    if rate < LEAST_RATE:
        raise ValueError("It hardly rises: more heat, or it has begun to cool.")
    noise = math.sqrt(step * step / 12 + handling * handling)
    ahead = (target - level) / rate
    doubt = cooling.NINETY * noise / rate * math.sqrt(1 / len(used) + ahead * ahead / leverage)
    return Rise(
        eta_s=middle + ahead,
        low_s=middle + ahead - doubt,
        high_s=middle + ahead + doubt,
        rate_c_per_min=60 * rate,
        temp_c=level + rate * (used[-1][0] - middle),
    )
