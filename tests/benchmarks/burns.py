"""What burn tests prove: ``python -m tests.benchmarks.burns [--tests N] [--seed S]``.

Simulated makers (``tests/burns/candle.py``) test three wicks of a series, three to five candles
each, half of them down to 10 mm of wax and half for two to four sittings. The app's own JavaScript
then says, in a browser, what was proved; the simulation knows the truth:

- Consumption of a wick: the mean, over all candles of it that go on burning, of grams lost over
  hours burned, in as many sittings as were tested. Asked: whether its 90 % interval holds it.
- Burning time: the mean hours of all such candles to 10 mm. Asked: the same, apart for wicks of
  which each candle was burned down, and for those of which each was reckoned.
- A good candle: its pool is at the wall at the hour when it is due (the first full one from an hour
  an inch on, no later than the fourth), in half of its sittings or more, and its
  flame is never above 75 mm at a full hour of its life, lights no second one, and never soots by
  more than a trace (grade 1). The best size is
  the one of which most candles are good; sizes of which as many are, within one in a hundred, are
  best, too. Asked: whether the recommended size is a best one or the next to one, in tests of a
  series in which a size is good for half of its candles or more; and what is said in the others.
- A dangerous size: one of which a candle in five or more has a flame above 75 mm at a full hour of
  its life, or a second one. Asked: how often it is called right.

No constant of the app or of the simulation is fitted to the default seed, which is for reporting:
tune with others.
"""

import argparse
import math
from collections import Counter
from dataclasses import dataclass
from typing import Any

import numpy as np
from playwright.sync_api import Page, sync_playwright

from tests import in_page
from tests.browser import find_chromium
from tests.burns.candle import Maker, Series, Truth, any_maker, any_series, truth_of, wick_of
from tests.served import static_files

Json = dict[str, Any]

REPORTED_SEED = 20261130
BATCH = 50
DANGEROUS = 0.2
"""The part of a size's candles from which on it is dangerous."""
TIE = 0.01
WICKS = 3

_JUDGE = """async (tests) => {
  const { verdictOf } = await import('/burns/verdict.js');
  const { nextWick } = await import('/burns/next_wick.js');
  return tests.map(({ results, series, asked }) => ({
    verdicts: results.map((result) => verdictOf(result, asked)),
    next: nextWick(results, series, asked),
  }));
}"""


@dataclass(frozen=True)
class BurnTest:
    """One maker's test of three wicks, and the truth of all sizes of the series."""

    series: Series
    maker: Maker
    indices: list[int]
    results: list[Json]
    truths: list[Truth]

    def asked(self) -> Json:
        wicks = [self.series.wick(index) for index in range(self.series.sizes.size)]
        return {"results": self.results, "series": wicks, "asked": self.series.asked()}

    @property
    def best(self) -> set[int]:
        most = max(each.is_good for each in self.truths)
        return {i for i, each in enumerate(self.truths) if each.is_good >= most - TIE}


@dataclass(frozen=True)
class Judged:
    test: BurnTest
    verdicts: list[Json]
    next: Json


def any_test(random: np.random.Generator) -> BurnTest:
    """Three wicks around her guess, which is up to two sizes off what is best."""
    series, maker = any_series(random), any_maker(random)
    count = series.sizes.size
    truths = [truth_of(random, series, index) for index in range(count)]
    best = int(np.argmax([each.is_good for each in truths]))
    guess = min(count - 2, max(1, best + int(random.integers(-2, 3))))
    indices = [guess - 1, guess, guess + 1]
    results = [wick_of(random, series, index, maker) for index in indices]
    return BurnTest(series, maker, indices, results, truths)


def judged(page: Page, tests: list[BurnTest]) -> list[Judged]:
    """What the app says of each, asked in batches."""
    found = []
    for start in range(0, len(tests), BATCH):
        batch = tests[start : start + BATCH]
        answers = in_page.ask(page, _JUDGE, [test.asked() for test in batch])
        for test, answer in zip(batch, answers, strict=True):
            found.append(Judged(test, answer["verdicts"], answer["next"]))
    return found


def simulated(page: Page, count: int, seed: int) -> list[Judged]:
    random = np.random.default_rng(seed)
    return judged(page, [any_test(random) for _ in range(count)])


# ---- what is asked of them -----------------------------------------------------------------------


def wicks(all_judged: list[Judged]) -> list[tuple[BurnTest, Truth, Json, Json]]:
    """Each wick of each test: the test, its truth, what she kept of it, and the verdict on it."""
    return [
        (each.test, each.test.truths[index], result, verdict)
        for each in all_judged
        for index, result, verdict in zip(
            each.test.indices, each.test.results, each.verdicts, strict=True
        )
    ]


def rates_held(all_judged: list[Judged], step_g: float | None = None) -> list[bool]:
    """Whether the interval of the consumption holds, of wicks whose candles all went on; by one
    scale, if it is given."""
    held = []
    for test, truth, result, verdict in wicks(all_judged):
        if step_g not in (None, test.maker.step_g):
            continue
        rate = verdict["numbers"]["rate"]
        wanted = truth.rates.get(test.maker.sittings)
        if wanted is not None and not failed(result):
            held.append(rate["low"] <= wanted <= rate["high"])
    return held


def hours_held(all_judged: list[Judged], *, measured: bool) -> list[bool]:
    """Whether the interval of the burning time holds, of such wicks."""
    held = []
    for _test, truth, result, verdict in wicks(all_judged):
        hours = verdict["numbers"]["hours"]
        if failed(result) or hours is None:
            continue
        if (hours["reckoned"] == 0) if measured else (hours["measured"] == 0):
            held.append(hours["low"] <= truth.hours <= hours["high"])
    return held


def failed(result: Json) -> bool:
    return any(candle["failed"] is not None for candle in result["candles"])


def recommended(all_judged: list[Judged]) -> list[int | None]:
    """Of tests in which some size would do: by how many sizes the recommended one is off the best;
    None where none was recommended."""
    off: list[int | None] = []
    for each in all_judged:
        if max(truth.is_good for truth in each.test.truths) < 0.5:
            continue
        wick = each.next["wick"]
        index = None if wick is None else int(wick["id"][1:])
        off.append(None if index is None else min(abs(index - best) for best in each.test.best))
    return off


def dangerous(all_judged: list[Judged], part: float = DANGEROUS) -> Counter[str]:
    """What sizes were called of which this part of the candles are dangerous, or more."""
    return Counter(
        verdict["verdict"]
        for _, truth, _, verdict in wicks(all_judged)
        if 1 - truth.is_safe >= part
    )


def share(held: list[bool]) -> str:
    """In per cent, and how far a count of so many may be off (one standard deviation)."""
    part = float(np.mean(held))
    off = math.sqrt(part * (1 - part) / len(held))
    return f"{100 * part:5.1f} % ± {100 * off:.1f}  of {len(held)}"


def report(all_judged: list[Judged]) -> None:
    print("90 % intervals that hold the truth (88 to 92 % are aimed at)")
    print(f"  consumption                    {share(rates_held(all_judged))}")
    for step_g in (0.1, 1.0):
        name = f"    by a scale to {step_g:g} g"
        print(f"  {name:31}{share(rates_held(all_judged, step_g))}")
    print(f"  burning time, burned down      {share(hours_held(all_judged, measured=True))}")
    print(f"  burning time, reckoned         {share(hours_held(all_judged, measured=False))}")
    off = recommended(all_judged)
    print("\nThe recommended size, where one would do (the best or the next to it: 95 % aimed at)")
    print(f"  the best or the next to it     {share([each in (0, 1) for each in off])}")
    print(f"  the best                       {share([each == 0 for each in off])}")
    print(f"  none was recommended           {share([each is None for each in off])}")
    hopeless = [each for each in all_judged if max(t.is_good for t in each.test.truths) < 0.5]
    if hopeless:
        none = [each.next["wick"] is None for each in hopeless]
        print(f"  where no size would do: none   {share(none)}")
    print("\nWhat wicks are called, by what they are")
    print(f"  {'':34}{'right':>7}{'small':>7}{'large':>7}{'unknown':>9}")
    rows: dict[str, list[str]] = {}
    for _, truth, _, verdict in wicks(all_judged):
        rows.setdefault(what(truth), []).append(verdict["verdict"])
    for name in sorted(rows):
        said = Counter(rows[name])
        cells = "".join(f"{said[each]:7d}" for each in ("right", "small", "large"))
        print(f"  {name:34}{cells}{said['unknown']:9d}")
    print()
    for part, name in ((DANGEROUS, "one candle in five or more"), (0.1, "one in ten or more")):
        said = dangerous(all_judged, part)
        print(f"Sizes dangerous in {name}, called right: {said['right']} of {said.total()}")


def what(truth: Truth) -> str:
    if 1 - truth.is_safe >= DANGEROUS:
        return "dangerous"
    if truth.is_good >= 0.9:
        return "good for 9 candles in 10 or more"
    return "good for half or more" if truth.is_good >= 0.5 else "too small for half or more"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--tests", type=int, default=1000)
    parser.add_argument("--seed", type=int, default=REPORTED_SEED)
    given = parser.parse_args()
    with static_files() as url, sync_playwright() as running:
        browser = running.chromium.launch(executable_path=find_chromium(running))
        page = browser.new_page()
        page.goto(url)
        report(simulated(page, given.tests, given.seed))
        browser.close()


if __name__ == "__main__":
    main()
