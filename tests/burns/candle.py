"""A simulated candle, the series of wicks that it may have, and a maker who tests them.

The physics are simple: what a wick burns falls while its pool grows in a sitting, and as the candle
burns down; its pool grows towards a width that goes with its size, and no wider than the vessel;
its flame is as high as its size has it, more or less, from candle to candle and from look to look.
A small wick leaves wax on the wall, drowns and goes out; a high flame soots, lights a second one
and smokes longer. What a maker then keeps is rounded as she reads it, in the shape in which the
app's own ``results.js`` hands it on.

Every figure is our choice, wide enough that benches differ more than real ones are said to.
"""

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

Json = dict[str, Any]

FLAME_LIMIT_MM = 75.0
SITTING_H = 4.0
RESIDUE_MM = 10.0
WICK_POOL_MM = 10.0
"""The pool around a wick that was lit just now."""
DEEP_POOL, DEEP_POOL_H = 0.08, 2.0
"""By which part a wick burns slower once its pool is deep, and in what time that comes."""
MOST_SITTINGS = 60
SOOT_MM = (0.0, 3.0, 8.0)
"""By how much a flame is over that from which on it smokes, for soot of grade 1, 2 and 3."""
SMOKE_SD = 2.0


@dataclass(frozen=True)
class Series:
    """A vessel, a wax, and the wicks of one series in them; arrays go by size.

    Attributes:
        sizes: the numbers by which the wicks are known, rising.
        pools_mm: how wide each one's pool would be in the end, without a wall.
        flames_mm: how high its flame is on average.
        rates: g/h at first.
        fall: part of the rate that is lost while all of the candle burns.
        tau_h: in what time a pool grows.
        smoke_mm: the flame from which on it smokes, which was found to be 36 to 89 mm, more for
            thicker wicks (Allan, MSc thesis, University of Maryland 2007, abstract, read).
        pool_sd, flame_sd, rate_sd: from candle to candle: mm, mm, part.
        pool_look_sd, flame_look_sd, rate_sitting_sd: from sitting to sitting, from look to look.
    """

    width_mm: float
    fuel_g: float
    density: float
    sizes: np.ndarray
    pools_mm: np.ndarray
    flames_mm: np.ndarray
    rates: np.ndarray
    fall: float
    tau_h: float
    smoke_mm: float
    pool_sd: float
    flame_sd: float
    rate_sd: float
    pool_look_sd: float
    flame_look_sd: float
    rate_sitting_sd: float

    @property
    def residue_g(self) -> float:
        return math.pi * (self.width_mm / 2) ** 2 * RESIDUE_MM * self.density / 1000

    @property
    def due_h(self) -> float:
        """The mark at which a pool should be at the wall: the first full hour from an hour an inch
        on, give or take six minutes, and no later than a sitting ends."""
        return due_mark_h(self.width_mm)

    def asked(self) -> Json:
        return {
            "width_mm": self.width_mm,
            "fuel_g": self.fuel_g,
            "solid_density": self.density,
        }

    def wick(self, index: int) -> Json:
        size = f"{self.sizes[index]:g}"
        return {"id": f"w{index}", "name": f"Series {size}", "series": "s", "size": size}


def due_mark_h(width_mm: float) -> float:
    return min(SITTING_H, float(math.ceil(width_mm / 25.4 - 0.1)))


def any_series(random: np.random.Generator) -> Series:
    """A vessel of 55 to 95 mm and six to nine sizes, one of which, as a rule, is about right."""
    width = round(random.uniform(55, 95))
    density = random.uniform(0.86, 0.92)
    height = random.uniform(55, 90)
    fuel = math.pi * (width / 2) ** 2 * height * density / 1000
    count = int(random.integers(6, 10))
    tau = random.uniform(1.0, 1.6)
    due = due_mark_h(width)
    # The pool that is just at the wall when it is due; the right size is some way above it.
    enough = WICK_POOL_MM + (width - WICK_POOL_MM) / (1 - math.exp(-due / tau))
    right = random.uniform(0.5, count - 1.5)
    steps = np.arange(count) - right
    pool_step = random.uniform(4, 9)
    pools = enough + 6 + pool_step * steps
    flames = random.uniform(28, 64) + random.uniform(3, 11) * steps
    return Series(
        width_mm=float(width),
        fuel_g=round(fuel, 1),
        density=round(density, 3),
        sizes=np.cumsum(np.full(count, random.choice([1, 2]))) + float(random.choice([0, 2, 10])),
        pools_mm=np.maximum(pools, 15),
        flames_mm=np.maximum(flames, 8),
        rates=np.maximum(0.075 * pools * random.uniform(0.8, 1.2), 1.0),
        fall=random.uniform(0.05, 0.35),
        tau_h=tau,
        smoke_mm=random.uniform(56, 89),
        pool_sd=random.uniform(2, 4),
        flame_sd=random.uniform(2.5, 6),
        rate_sd=random.uniform(0.02, 0.06),
        pool_look_sd=random.uniform(0.5, 2),
        flame_look_sd=random.uniform(1.5, 3.5),
        rate_sitting_sd=random.uniform(0.01, 0.03),
    )


# ---- the truth of one candle, or of many at once -------------------------------------------------


@dataclass
class Candles:
    """Candles of one size: each array holds one value a candle.

    A candle whose flame is high burns faster, too.
    """

    series: Series
    index: int
    pool_mm: np.ndarray
    flame_mm: np.ndarray
    rate: np.ndarray
    smoke_mm: np.ndarray
    burnt: np.ndarray  # part of the fuel

    @classmethod
    def drawn(
        cls, random: np.random.Generator, series: Series, index: int, count: int = 1
    ) -> "Candles":
        high = random.normal(0, 1, count)
        fast = 0.5 * high + math.sqrt(0.75) * random.normal(0, 1, count)
        return cls(
            series,
            index,
            np.maximum(15, series.pools_mm[index] + series.pool_sd * random.normal(0, 1, count)),
            np.maximum(5, series.flames_mm[index] + series.flame_sd * high),
            series.rates[index] * np.maximum(0.3, 1 + series.rate_sd * fast),
            series.smoke_mm + SMOKE_SD * random.normal(0, 1, count),
            np.zeros(count),
        )

    def burn(self, rate: np.ndarray, hours: np.ndarray | float) -> None:
        """With v = 1 − fall·burnt: dv/dt = −fall·rate/fuel·g·v, g falling as the pool deepens."""
        fall = self.series.fall
        v = (1 - fall * self.burnt) * np.exp(-fall * rate / self.series.fuel_g * lessened(hours))
        self.burnt = (1 - v) / fall

    def hours_to(self, rate: np.ndarray, left_g: np.ndarray | float) -> np.ndarray:
        """Hours of this sitting until ``left_g`` are left; more than a sitting where it lasts."""
        fall, fuel = self.series.fall, self.series.fuel_g
        until = 1 - left_g / fuel
        need = (
            np.log((1 - fall * self.burnt) / np.maximum(1e-9, 1 - fall * until))
            * fuel
            / fall
            / rate
        )
        low, high = np.zeros_like(need), np.full_like(need, SITTING_H + 1)
        if np.all(need > lessened(SITTING_H + 1)):
            return high
        for _ in range(30):
            middle = (low + high) / 2
            low = np.where(lessened(middle) < need, middle, low)
            high = np.where(lessened(middle) < need, high, middle)
        return np.where(need <= 0, 0.0, high)

    def rates_now(self, random: np.random.Generator) -> np.ndarray:
        return self.rate * np.maximum(
            0.3, random.normal(1, self.series.rate_sitting_sd, self.rate.size)
        )

    def pools_at(self, widest: np.ndarray, hours: float) -> np.ndarray:
        """How wide the pool would be without a wall; it widens as the vessel gets warm and low."""
        grown = WICK_POOL_MM + (widest - WICK_POOL_MM) * (1 - math.exp(-hours / self.series.tau_h))
        return grown * (1 + 0.04 * self.burnt)

    def widest_now(self, random: np.random.Generator) -> np.ndarray:
        return self.pool_mm + self.series.pool_look_sd * random.normal(0, 1, self.pool_mm.size)

    def flames_now(self, random: np.random.Generator) -> np.ndarray:
        """Steady flames at one look; a little lower deep in the vessel."""
        look = self.series.flame_look_sd * random.normal(0, 1, self.flame_mm.size)
        return np.maximum(3, (self.flame_mm + look) * (1 - 0.05 * self.burnt))


def lessened(hours: Any) -> Any:
    """∫ of what a deep pool leaves of the rate."""
    return (1 - DEEP_POOL) * hours + DEEP_POOL * DEEP_POOL_H * (1 - np.exp(-hours / DEEP_POOL_H))


def second_flame_hazard(flame_mm: Any) -> Any:
    """Chance an hour."""
    return 0.3 / (1 + np.exp(-(flame_mm - 76) / 3))


def logistic(x: float) -> float:
    return 1 / (1 + math.exp(-min(50.0, max(-50.0, x))))


# ---- the truth of a size -------------------------------------------------------------------------


@dataclass(frozen=True)
class Truth:
    """What all candles of a size would do, each burned in whole sittings to 10 mm.

    Attributes:
        is_full: the part whose pool is at the wall at the mark when it is due, in half of the
            sittings or more.
        is_safe: the part whose flame is never above 75 mm at an hour, and lights no second one.
        is_good: the part that is both, and never soots by more than a trace.
        rates: mean g/h over the first so many whole sittings, and over the whole life for None.
        hours: mean hours to 10 mm.
    """

    is_full: float
    is_safe: float
    is_good: float
    rates: dict[int | None, float]
    hours: float


def truth_of(random: np.random.Generator, series: Series, index: int, count: int = 400) -> Truth:
    candles = Candles.drawn(random, series, index, count)
    hours = np.zeros(count)
    told, full = np.zeros(count), np.zeros(count)
    safe, clean = np.ones(count, dtype=bool), np.ones(count, dtype=bool)
    is_on = np.ones(count, dtype=bool)
    rates: dict[int | None, float] = {}
    for sitting in range(1, MOST_SITTINGS + 1):
        rate = candles.rates_now(random)
        lasts = np.minimum(SITTING_H, candles.hours_to(rate, series.residue_g))
        lasts = np.where(is_on, lasts, 0.0)
        widest = candles.widest_now(random)
        is_told = is_on & (lasts >= series.due_h)
        told += is_told
        full += is_told & (candles.pools_at(widest, series.due_h) >= series.width_mm)
        for hour in range(1, int(SITTING_H) + 1):
            flames = candles.flames_now(random)
            is_lit = lasts >= hour
            lights = random.random(count) < second_flame_hazard(flames)
            safe &= ~(is_lit & ((flames > FLAME_LIMIT_MM) | lights))
            clean &= ~(is_lit & (flames > candles.smoke_mm + SOOT_MM[1]))
        candles.burn(rate, lasts)
        hours += lasts
        is_on &= lasts >= SITTING_H
        grams = candles.burnt * series.fuel_g
        if is_on.all():
            rates[sitting] = float(np.mean(grams / hours))
        if not is_on.any():
            break
    rates[None] = float(np.mean(candles.burnt * series.fuel_g / hours))
    is_full = 2 * full >= np.maximum(told, 1)
    return Truth(
        float(np.mean(is_full)),
        float(np.mean(safe)),
        float(np.mean(is_full & safe & clean)),
        rates,
        float(np.mean(hours)),
    )


# ---- a maker, and what she keeps -----------------------------------------------------------------


@dataclass(frozen=True)
class Maker:
    """How she tests.

    Attributes:
        step_g: of her scale.
        flame_step_mm: to what she reads a flame.
        sittings: so many whole ones of each candle; None: down to 10 mm.
        candles: of each wick.
        looks: the chance that she looks at a mark.
        measures: the chance that she measures a flame which she might only call low.
    """

    step_g: float
    flame_step_mm: float
    sittings: int | None
    candles: int
    looks: float
    measures: float


def any_maker(random: np.random.Generator) -> Maker:
    return Maker(
        step_g=float(random.choice([0.1, 1.0])),
        flame_step_mm=float(random.choice([1.0, 5.0])),
        sittings=None if random.random() < 0.5 else int(random.integers(2, 5)),
        candles=int(random.choice([3, 3, 3, 4, 5])),
        looks=random.uniform(0.92, 1.0),
        measures=random.uniform(0.5, 1.0),
    )


def rounded(value: float, step: float) -> float:
    return round(round(value / step) * step, 6)


def wick_of(random: np.random.Generator, series: Series, index: int, maker: Maker) -> Json:
    """All candles of one wick, as the app hands them on."""
    candles = [burned(random, series, index, maker, number) for number in range(maker.candles)]
    return {"wick": series.wick(index), "candles": candles}


def burned(
    random: np.random.Generator, series: Series, index: int, maker: Maker, number: int
) -> Json:
    """One candle, burned until it failed, was down, or had its sittings."""
    candle = Candles.drawn(random, series, index)
    vessel_g = random.uniform(180, 320)
    trimmed_g = 0.0
    drowns = random.random() < logistic((0.76 - series.pools_mm[index] / series.width_mm) / 0.03)
    # She stops at 10 mm as she sees it, which is a millimetre out as a rule.
    seen_g = series.residue_g * max(0.3, random.normal(1, 0.1))
    sittings: list[Json] = []
    failed: str | None = None
    is_down = False
    while len(sittings) < (maker.sittings or MOST_SITTINGS) and failed is None and not is_down:
        before = vessel_g + series.fuel_g * (1 - float(candle.burnt[0])) - trimmed_g
        rate = candle.rates_now(random)
        hours = float(candle.hours_to(rate, seen_g)[0])
        is_down = hours < SITTING_H
        hours = min(SITTING_H, hours)
        if is_down and hours < 0.1:
            break
        widest = candle.widest_now(random)
        made, failed, hours = sitting_of(random, candle, maker, widest, hours, drowns)
        if failed is not None:
            is_down = False
        candle.burn(rate, hours)
        after = vessel_g + series.fuel_g * (1 - float(candle.burnt[0])) - trimmed_g
        trimmed_g += random.uniform(0.05, 0.4)
        made["hours"] = round(hours, 3)
        made["before_g"] = rounded(before, maker.step_g)
        made["after_g"] = rounded(after, maker.step_g)
        sittings.append(made)
    return {
        "candle": number,
        "sittings": sittings,
        "failed": failed,
        "burned_down": is_down,
        "counts": True,
    }


def sitting_of(
    random: np.random.Generator,
    candle: Candles,
    maker: Maker,
    widest: np.ndarray,
    hours: float,
    drowns: bool,
) -> tuple[Json, str | None, float]:
    """What she saw in one sitting, what ended the candle, and how long the sitting was."""
    made: Json = {"full_h": None, "pools": [], "flame_mm": None, "flames_low": 0, "flames": []}
    worst: dict[str, int | None] = dict.fromkeys(
        ("soot", "mushroom", "flicker", "drowning", "wall")
    )
    made |= {"smoke_s": None, "worst": worst, "marks_seen": 0, "marks_due": 0}
    failed: str | None = None
    highest = 0.0
    for mark in range(1, int(SITTING_H) + 1):
        if mark > hours + 1e-6:
            break
        made["marks_due"] += 1
        flame = float(candle.flames_now(random)[0])
        highest = max(highest, flame)
        if random.random() < second_flame_hazard(flame):
            failed, hours = "second_flame", mark - random.uniform(0.05, 0.9)
            made["marks_due"] -= 1
            break
        if drowns and candle.burnt[0] > 0.05 and random.random() < 0.08:
            failed, hours = "went_out", mark - random.uniform(0.05, 0.9)
            made["marks_due"] -= 1
            break
        if random.random() > maker.looks:
            continue
        made["marks_seen"] += 1
        look(random, candle, made, maker, widest, mark, flame, drowns)
        if flame > 82 and random.random() < 0.3:
            failed, hours = "soot", float(mark)
            break
        if made["flames"] and (made["flames"][-1]["mm"] or 0) > FLAME_LIMIT_MM:
            if random.random() < 0.7:
                failed, hours = "flame", float(mark)
            if failed:
                break
    if failed in (None, "flame") and random.random() < 0.9:
        made["smoke_s"] = float(round((6 + 0.22 * highest) * math.exp(random.normal(0, 0.25))))
    return made, failed, hours


def look(
    random: np.random.Generator,
    candle: Candles,
    made: Json,
    maker: Maker,
    widest: np.ndarray,
    mark: int,
    flame: float,
    drowns: bool,
) -> None:
    """What she measures and says at one mark."""
    series = candle.series
    at = mark + abs(random.normal(0, 0.03))
    pool = float(candle.pools_at(widest, at)[0])
    if pool >= series.width_mm:
        made["pools"].append({"h": at, "mm": None, "full": True})
        made["full_h"] = made["full_h"] or at
    else:
        read = min(series.width_mm - 1, rounded(pool + random.normal(0, 1), 1))
        made["pools"].append({"h": at, "mm": read, "full": False})
    if flame < FLAME_LIMIT_MM - 10 and random.random() > maker.measures:
        made["flames_low"] += 1
        made["flames"].append({"h": at, "mm": None})
    else:
        read = max(1.0, rounded(flame + random.normal(0, 1), maker.flame_step_mm))
        made["flames"].append({"h": at, "mm": read})
        made["flame_mm"] = max(made["flame_mm"] or 0, read)
    # What a pool leaves on the wall is told when it has had its time.
    wall = (series.width_mm - pool) / series.width_mm if mark == SITTING_H else 0
    grades = {
        "soot": sum(bool(flame > candle.smoke_mm[0] + over) for over in SOOT_MM),
        "mushroom": grade(random, (flame - 76) / 8),
        "flicker": int(random.random() < 0.05),
        "drowning": 2 + int(random.random() < 0.4) if drowns else int(random.random() < 0.05),
        "wall": 3 if wall > 0.2 else 2 if wall > 0.1 else 1 if wall > 0.02 else 0,
    }
    for thing, found in grades.items():
        made["worst"][thing] = max(made["worst"][thing] or 0, found)


def grade(random: np.random.Generator, over: float) -> int:
    """0 to 3: the further over, the likelier and the worse."""
    if random.random() > normal_cdf(over):
        return 0
    return 3 if random.random() < normal_cdf(over - 1) else 2 if random.random() < 0.6 else 1


def normal_cdf(x: float) -> float:
    return (1 + math.erf(x / math.sqrt(2))) / 2
