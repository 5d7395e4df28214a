"""The dips of a thermometer, put in order: how exact each is, and which of them count."""

import math
from collections.abc import Sequence

from benchapp.formulas import checks
from benchapp.formulas.cooling.law import EXPONENT, excess_after
from benchapp.formulas.cooling.prior import REFERENCE_C, Prior
from benchapp.words import InputError, message

LEAST_EXCESS_C = 0.5
"""A fit starts with the wax at least this far above the room."""

MOST_READINGS = 1000
"""More are no cooling that one hand has dipped; a fit takes time with each."""


def noise_of(thermometer_step_c: float, handling_c: float) -> float:
    """Standard deviation of a reading, °C: rounding to the step (step/√12), and the hand.

    Args:
        thermometer_step_c: the thermometer's step, 0.001 to 5 °C.
        handling_c: standard deviation of a dip beside that, 0 to 5 °C.

    Raises:
        InputError: a number out of range.
    """
    step = checks.within(
        thermometer_step_c, message("The thermometer's step in °C"), 0.001, 5, "thermometer_step_c"
    )
    handling = checks.within(handling_c, message("The doubt of a dip in °C"), 0, 5, "handling_c")
    return math.sqrt(step * step / 12 + handling * handling)


def in_order(
    readings: Sequence[tuple[float, float]], room: float
) -> list[tuple[float, float, int]]:
    """The readings by time, checked.

    Args:
        readings: ``(t_s, temp_c)`` in any order: seconds from any zero, −20 to 300 °C.
        room: the room in °C.

    Returns:
        ``(t_s, temp_c, index)``, where the index is the reading's place in what was given.

    Raises:
        InputError: none or more than 1000, half of them or more not above the room, or a number
            out of range.
    """
    if not readings:
        raise InputError(
            "Take a reading first: dip the thermometer and enter what it shows.", about="readings"
        )
    if len(readings) > MOST_READINGS:
        raise InputError("Too many readings for one cooling: start a new one.", about="readings")
    checked = []
    cold = 0
    for index, (time_s, temp_c) in enumerate(readings):
        checks.number(time_s, message("The time of a reading"), "readings")
        checks.within(temp_c, message("A reading in °C"), -20, 300, "readings")
        if temp_c - room < checks.SMALLEST:
            cold += 1
        checked.append((float(time_s), float(temp_c), index))
    # One of three or more may be a slip, 17.4 for 71.4; else there is nothing to go by.
    if 2 * cold >= len(checked):
        raise InputError(
            "A reading is not above the room temperature: the wax is cold, or the room "
            "temperature is wrong. Check both.",
            about="readings",
        )
    # Of two readings at one time the hotter comes first, so that they don't count as a rise.
    return sorted(checked, key=lambda reading: (reading[0], -reading[1], reading[2]))


def after_last_rise(
    ordered: Sequence[tuple[float, float, int]], room: float, step: float, prior: Prior
) -> int:
    """Index of the first reading after the wax was last warmed.

    A rise is no warming where one reading is a slip: a low one, after which the next goes on
    where the one before had left off; or a high one, after which the next does so, or after
    which there is none yet.

    Args:
        ordered: readings as ``in_order`` returns them; at least one.
        room: the room in °C.
        step: the thermometer's step, °C.
        prior: how fast this jug is expected to cool, and how much this hand adds.
    """
    usual = prior.handlings[len(prior.handlings) // 2]
    clear = max(1.0, 4 * noise_of(step, usual))
    rate = math.exp(prior.log_rate) * REFERENCE_C**-EXPONENT

    def off(one: tuple[float, float, int], other: tuple[float, float, int]) -> tuple[float, float]:
        """How far the second lies off where the first should lead, and the fall expected."""
        over = max(one[1] - room, LEAST_EXCESS_C)
        then = excess_after(over, rate, other[0] - one[0], EXPONENT)
        return abs(other[1] - room - then), over - then

    first = 0
    kept = [ordered[0]]
    low_c = ordered[0][1]
    for index in range(1, len(ordered)):
        now = ordered[index]
        before = kept[-1]
        if now[1] - before[1] <= clear and now[1] - low_c <= 2 * clear:
            kept.append(now)
            low_c = min(low_c, now[1])
            continue
        if len(kept) > 1 and now[1] - before[1] > clear:
            away, fall = off(kept[-2], now)
            if away <= clear + fall / 2:
                kept[-1] = now
                low_c = min(temp_c for _, temp_c, _ in kept)
                continue
        if index + 1 < len(ordered):
            after = ordered[index + 1]
            if after[1] <= low_c + clear and off(before, after)[0] < off(now, after)[0]:
                continue
        elif len(kept) > 1 and now[1] <= kept[-2][1] + clear:
            # The last may be a touch of the hot base: too early an alarm is the lesser harm.
            continue
        first = index
        kept = [now]
        low_c = now[1]
    return first
