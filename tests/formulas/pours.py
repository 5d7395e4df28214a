"""Dips as they come, and as they should not: made-up coolings for forecasts to be asked about."""

import math
import random
from typing import Any

from benchapp.formulas.cooling.law import excess

KINDS = (
    *("curve", "curve", "curve", "curve", "wild", "at one time", "long", "rising", "hair", "huge"),
    *("fast", "slow", "flat", "typo", "hot base", "warmed", "shuffled"),
)

Question = tuple[list[list[float]], float, float, dict[str, Any]]


def question(seed: int) -> Question:
    """Readings, room, target and options of one kind or another; the same for the same seed."""
    chance = random.Random(seed)
    room = chance.choice([20, round(chance.uniform(5, 35), 1), chance.uniform(-20, 50)])
    over = chance.uniform(1, 75)
    taken = readings(chance, chance.choice(KINDS), room, over)
    above = (
        *(chance.uniform(0.5, 60), chance.uniform(0.5, 60), 10 ** chance.uniform(-28, 0)),
        *(0.6 * over, over),
    )
    return taken, room, room + chance.choice(above), options(chance)


def readings(chance: random.Random, kind: str, room: float, over: float) -> list[list[float]]:
    spacing = chance.choice([0.5, 10, 60, 120, 300, 600, 2400])
    begin = chance.choice([0, 0, 0, -600, 1e5, 1.7e8])
    times = [begin + index * spacing for index in range(chance.choice([1, 2, 2, 3, 3, 4, 5, 8]))]
    if kind == "wild":
        return [
            [chance.uniform(*chance.choice([(-1e6, 1e6), (0, 7200)])), room + chance.uniform(0, 99)]
            for _ in range(chance.randint(1, 7))
        ]
    if kind == "at one time":
        wide = chance.choice([0, 0.1, 1, 10])
        return [[begin, room + over + chance.uniform(-wide, wide)] for _ in times]
    if kind == "rising":
        rise = chance.choice([0.1, 0.5, 0.9, 1.1, 3])
        times += [times[-1] + spacing * (index + 1) for index in range(5)]
        return [[time, room + over + rise * index] for index, time in enumerate(times)]
    if kind == "hair":
        return [[time, room + 10 ** chance.uniform(-29, 0)] for time in times]
    if kind == "huge":
        return [[time * 5, room + over * chance.random()] for time in times] + [[9e8, room + over]]
    if kind == "flat":
        return [[time, room + over] for time in times]
    rate = math.exp(chance.uniform(math.log(3e-5), math.log(1e-3)))
    if kind == "fast":
        rate *= chance.choice([100, 1e4])
    if kind == "slow":
        rate /= chance.choice([100, 1e4, 1e7])
    if kind == "long":
        # A few of the longest are enough: each takes as long as a hundred short ones.
        many = chance.choice([30, 60, 60, 60, 120, 120, 120, 500])
        times = [begin + index * spacing / 10 for index in range(many)]
    n = chance.choice([1, 1.1, 1.2, 1.25, 1.3, 1.6, 2, 2.2])
    digits = chance.choice([0, 1, 1, 1, 2, 6])
    k = rate * 50 ** (1.25 - n)
    taken = [[time, round(room + excess(over, k, time - begin, n), digits)] for time in times]
    for reading in taken:
        reading[1] += chance.choice([0, 0, 0.1, -0.1])
    slip = chance.choice(taken)
    if kind == "typo":
        typed = list(f"{abs(slip[1]):.1f}".replace(".", ""))
        chance.shuffle(typed)
        slip[1] = float("".join(typed)) / 10
    if kind == "hot base":
        slip[1] += 8
    if kind == "warmed":
        taken += [[time + 7 * spacing, temp + chance.uniform(0, 20)] for time, temp in taken]
    if kind == "shuffled":
        chance.shuffle(taken)
    return taken


def options(chance: random.Random) -> dict[str, Any]:
    some: dict[str, Any] = {
        "mass_g": chance.choice([1000, chance.uniform(50, 5000), 1e-3, 1e6]),
        "thermometer_step_c": chance.choice([0.1, 0.5, 1, 5 / 9, 0.001, 5]),
        "history": [past(chance) for _ in range(chance.randint(1, 10))],
        "exponent": chance.choice([1, 1.0001, 1 + 1e-9, 1.25, 2, 3, chance.uniform(1, 3)]),
        "handling_c": chance.choice([0, 0.05, 1, 5]),
        "room_doubt_c": chance.choice([0, 0.1, 2, 20]),
        "need_c": chance.choice([1e-6, 0.05, 1, 100]),
    }
    often = {"mass_g": 0.7, "thermometer_step_c": 0.5, "history": 0.3}
    return {name: value for name, value in some.items() if chance.random() < often.get(name, 0.2)}


def past(chance: random.Random) -> list[float]:
    doubts = [chance.uniform(0.005, 0.3), chance.uniform(0.01, 0.3)]
    doubts += [chance.uniform(0.01, 2), chance.uniform(0.1, 3)]
    known = [chance.uniform(100, 4000), math.exp(chance.uniform(-10, -7)), chance.uniform(1, 1.6)]
    return known + doubts[: chance.choice([0, 1, 2, 4])]
