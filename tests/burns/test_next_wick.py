"""Which wick of a series to burn next."""

from typing import Any

import pytest
from playwright.sync_api import Page

from tests import in_page
from tests.burns.conftest import ASKED, Json, candle, sitting, wick

SIZES = (2, 4, 6, 8, 10, 12)
SERIES = [wick(size=size)["wick"] for size in SIZES]

_NEXT = """async ([results, series, asked]) => {
  const { nextWick } = await import('/burns/next_wick.js');
  return nextWick(results, series, asked);
}"""


def next_of(page: Page, *results: Json, series: list[Json] = SERIES, **changed: Any) -> Json:
    return in_page.ask(page, _NEXT, [list(results), series, ASKED | changed])


def burned(size: int, pool: float | None, flame: float, count: int = 3, **more: Any) -> Json:
    """So many candles, whose pools when due are some millimetres apart; None: at the wall."""
    made = []
    for i in range(count):
        off = 2 * (i - (count - 1) / 2)
        due = None if pool is None else pool + off
        pools = (30, 45, due, None if due is None else due + 4)
        made.append(candle(sitting(pools=pools, flame_mm=flame + off), **more))
    return wick(*made, size=size)


def test_nothing_is_known_before_anything_was_burned(twin: Page) -> None:
    answer = next_of(twin)
    assert answer["wick"] is None
    assert answer["why"].startswith("Nothing is known of this series yet")
    assert [each["wick"]["id"] for each in answer["chances"]] == [each["id"] for each in SERIES]
    assert all(each["chance_full"] is each["rate"] is None for each in answer["chances"])
    # What was planned and never lit tells nothing either.
    assert next_of(twin, wick(size=6))["wick"] is None


def test_pools_that_are_too_narrow_call_for_a_larger_one(twin: Page) -> None:
    # 76.2 mm wide: 6 mm a step of two: 60 and 66 mm at sizes 4 and 6 make 78 at size 10.
    answer = next_of(twin, burned(4, 60, 30), burned(6, 66, 34))
    assert answer["wick"]["size"] in ("10", "12")
    assert answer["why"].startswith(f"Burn Cord {answer['wick']['size']}: by your tests")
    chances = [each["chance_full"] for each in answer["chances"]]
    assert chances == sorted(chances)
    assert chances[1] < 0.05
    assert chances[-1] > 0.5
    assert [each["tested"] for each in answer["chances"]] == [0, 1, 1, 0, 0, 0]


def test_chances_go_with_the_size(twin: Page) -> None:
    answer = next_of(twin, burned(4, 66, 40), burned(8, None, 60))
    full = [each["chance_full"] for each in answer["chances"]]
    low = [each["chance_flame_ok"] for each in answer["chances"]]
    assert full == sorted(full)
    assert low == sorted(low, reverse=True)
    assert answer["wick"]["size"] in ("6", "8")


def test_one_that_proved_right_is_kept(twin: Page) -> None:
    answer = next_of(twin, burned(6, None, 40), burned(4, 66, 36))
    assert answer["wick"]["size"] == "6"
    assert answer["why"].startswith("Keep Cord 6, which proved right:")


@pytest.mark.parametrize("failed", ["flame", "second_flame", "cracked", "soot"])
def test_a_size_that_ended_dangerously_and_all_above_are_out(twin: Page, failed: str) -> None:
    """However well the rest of it did, and though the candle was set aside."""
    bad = burned(6, None, 40, count=5)
    bad["candles"][0] |= {"failed": failed, "counts": False}
    answer = next_of(twin, bad, burned(4, 66, 36))
    assert [each["is_out"] for each in answer["chances"]][2:] == [True] * 4
    assert all(each["chance"] == 0 for each in answer["chances"][2:])
    assert answer["wick"] is None or int(answer["wick"]["size"]) < 6
    # Nothing is left where the smallest did.
    worst = {**burned(2, None, 40, failed=failed)}
    answer = next_of(twin, worst)
    assert answer["wick"] is None
    assert answer["why"].startswith("No size of this series is left")


def test_a_size_that_is_too_small_and_all_below_are_out(twin: Page) -> None:
    answer = next_of(twin, burned(6, 60, 30))
    assert [each["is_out"] for each in answer["chances"]] == [True, True, True, False, False, False]


def test_going_out_is_too_small_and_not_dangerous(twin: Page) -> None:
    out = burned(4, 50, 20)
    for each in out["candles"]:
        each["failed"] = "went_out"
        each["sittings"] = []
    answer = next_of(twin, out, burned(10, None, 50))
    assert answer["wick"]["size"] == "10"
    assert [each["is_out"] for each in answer["chances"]][:3] == [True, True, False]


def test_where_no_size_will_do_none_is_named(twin: Page) -> None:
    """The pool gets nowhere near the wall before the flame is too high."""
    answer = next_of(twin, burned(4, 30, 40), burned(8, 33, 66))
    assert answer["wick"] is None
    assert answer["why"].startswith("No size of this series is likely to do")


def test_sizes_are_the_numbers_in_them(twin: Page) -> None:
    def sized(*sizes: object) -> Any:
        series = [{"id": f"w{i}", "name": f"W {i}", "size": each} for i, each in enumerate(sizes)]
        asked = "async (s) => (await import('/burns/next_wick.js')).bySize(s)"
        return [(each["wick"]["id"], each["x"]) for each in in_page.ask(twin, asked, series)]

    assert sized("10", "No. 4", "6,5 thick") == [("w1", 4), ("w2", 6.5), ("w0", 10)]
    # Without one in each, or with two the same, equal steps in her order.
    assert sized("large", "4", "6") == [("w0", 0), ("w1", 1), ("w2", 2)]
    assert sized("4", "4 long") == [("w0", 0), ("w1", 1)]


def test_the_steps_between_sizes_are_minded(twin: Page) -> None:
    """Size 20 is further from size 3 than size 4 is."""
    results = [burned(2, 55, 30), burned(3, 57, 31)]
    far, near = (
        next_of(twin, *results, series=[wick(size=size)["wick"] for size in (2, 3, last)])
        for last in (20, 4)
    )
    assert far["chances"][1]["chance_full"] < 0.05
    assert far["chances"][2]["chance_full"] > 3 * near["chances"][2]["chance_full"]


def test_rates_are_measured_or_on_the_line(twin: Page) -> None:
    def rated(size: int, lost_g: float) -> Json:
        candles = [candle(sitting(lost_g=lost_g + off)) for off in (-0.4, 0, 0.4)]
        return wick(*candles, size=size)

    answer = next_of(twin, rated(4, 20), rated(8, 28))
    rates = {each["wick"]["size"]: each["rate"] for each in answer["chances"]}
    assert rates["4"]["mean"] == pytest.approx(5)
    assert rates["8"]["mean"] == pytest.approx(7)
    assert rates["6"]["mean"] == pytest.approx(6, abs=0.15)
    assert 7.3 < rates["12"]["mean"] < 9.5
    widths = {size: each["high"] - each["low"] for size, each in rates.items()}
    assert widths["6"] < widths["12"]


def test_a_series_of_one_is_no_riddle(twin: Page) -> None:
    answer = next_of(twin, burned(6, None, 40), series=[SERIES[2]])
    assert answer["wick"]["size"] == "6"


def test_flames_that_nobody_saw_are_said(twin: Page) -> None:
    blind = burned(6, 66, 40)
    for each in blind["candles"]:
        each["sittings"] = [sitting(pools=(50, 70, None, None), flame_mm=None, flames_low=0)]
    answer = next_of(twin, blind)
    assert answer["wick"] is not None
    assert "No flame of this series was measured yet" in answer["why"]
