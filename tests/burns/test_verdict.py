"""What burned candles prove of a wick, and what they do not."""

from collections.abc import Iterable
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Page
from scipy import stats

from tests import in_page
from tests.burns.conftest import ASKED, THINGS, Json, candle, sitting, wick

_JUDGE = """async (asked) => {
  const { verdictOf } = await import('/burns/verdict.js');
  return asked.map(([result, of]) => verdictOf(result, of));
}"""

GOOD = candle(sitting(), sitting(before_g=396, lost_g=22))


def judge(page: Page, *candles: Json, **changed: Any) -> Json:
    [answer] = in_page.ask(page, _JUDGE, [[wick(*candles), ASKED | changed]])
    return answer


def against(answer: Json) -> list[str]:
    return said(answer, "against")


def said(answer: Json, weighs: str) -> list[str]:
    return [each["text"] for each in answer["reasons"] if each["weighs"] == weighs]


def changed(**worst_or_more: Any) -> Json:
    return candle(sitting(**worst_or_more), sitting(before_g=396, lost_g=22, **worst_or_more))


# ---- right, and what keeps it from being so ------------------------------------------------------


def test_three_good_candles_are_right(twin: Page) -> None:
    answer = judge(twin, GOOD, GOOD, GOOD)
    assert answer["verdict"] == "right"
    assert answer["more"] is None
    assert answer["numbers"]["candles"] == 3
    assert {each["weighs"] for each in answer["reasons"]} == {"for"}
    assert any("The pool of all 3 candles was at the wall" in each for each in said(answer, "for"))


@pytest.mark.parametrize("count", [0, 1, 2])
def test_fewer_are_not_and_it_is_said_how_many_more(twin: Page, count: int) -> None:
    answer = judge(twin, *[GOOD] * count)
    assert answer["verdict"] == "unknown"
    assert answer["more"] == 3 - count
    assert any("has to burn" in each or "have to burn" in each for each in said(answer, "missing"))


@pytest.mark.parametrize("failed", ["flame", "second_flame", "cracked", "soot"])
@pytest.mark.parametrize("counts", [True, False])
def test_a_dangerous_end_of_any_candle_is_too_large(twin: Page, failed: str, counts: bool) -> None:
    bad = candle(sitting(), failed=failed, counts=counts)
    answer = judge(twin, GOOD, GOOD, GOOD, GOOD, bad)
    assert answer["verdict"] == "large"
    assert any("1 of 5 candles" in each for each in against(answer))
    # One candle alone proves nothing, but its end is said.
    alone = judge(twin, bad)
    assert alone["verdict"] == "unknown"
    assert against(alone)


def test_one_flame_above_the_limit_is_enough(twin: Page) -> None:
    answer = judge(twin, GOOD, GOOD, changed(flame_mm=76))
    assert answer["verdict"] == "large"
    assert against(answer) == ["The flame of 1 of 3 candles was above 75\u00a0mm."]


def test_a_flame_close_below_leaves_it_open_and_more_candles_settle_it(twin: Page) -> None:
    flames = [57, 59, 58]
    answer = judge(twin, *(changed(flame_mm=mm) for mm in flames))
    assert answer["verdict"] == "unknown"
    assert "one more candle might be above" in " ".join(against(answer))
    assert answer["more"] in range(1, 10)
    more = [changed(flame_mm=flames[i % 3]) for i in range(answer["more"])]
    settled = judge(twin, *(changed(flame_mm=mm) for mm in flames), *more)
    assert settled["verdict"] == "right"
    # So close that no number of candles would do.
    close = judge(twin, *(changed(flame_mm=mm) for mm in (70, 71, 72)))
    assert (close["verdict"], close["more"]) == ("unknown", None)


def test_flames_that_only_were_low_are_told_as_what_they_are(twin: Page) -> None:
    low = changed(flame_mm=None)
    answer = judge(twin, GOOD, GOOD, low)
    assert answer["verdict"] == "right"
    text = "The flame of 1 of 3 candles was only said to be lower than 75\u00a0mm."
    assert text in said(answer, "for")
    answer = judge(twin, GOOD, low, low)
    assert answer["verdict"] == "unknown"
    assert any("Measure the flame" in each for each in said(answer, "missing"))
    assert answer["more"] == 0, "another sitting of these candles will do"


@pytest.mark.parametrize(
    ("what", "says"),
    [
        ({"flame_mm": None, "flames_low": 0}, "how high the flame"),
        ({"smoke_s": None}, "how long the wick"),
        ({"worst": {"soot": None}}, "whether there was soot"),
        ({"pools": (40, 62)}, "is at the wall after 3 h"),
    ],
)
def test_what_nobody_looked_at_is_missing(twin: Page, what: Json, says: str) -> None:
    answer = judge(twin, GOOD, GOOD, GOOD, changed(**what))
    assert (answer["verdict"], answer["more"]) == ("unknown", 0)
    [missing] = said(answer, "missing")
    assert says in missing
    assert "1 of 4 candles" in missing


@pytest.mark.parametrize(
    "what",
    [{"hours": None}, {"before_g": None}, {"after_g": None}, {"marks_seen": 3}, {"marks_seen": 0}],
)
def test_a_sitting_that_is_not_whole_does_not_count(twin: Page, what: Json) -> None:
    answer = judge(twin, GOOD, GOOD, candle({**sitting(), **what}))
    assert (answer["verdict"], answer["more"]) == ("unknown", 1)
    assert answer["numbers"]["candles"] == 2
    # A candle that was set aside neither.
    answer = judge(twin, GOOD, GOOD, {**GOOD, "counts": False})
    assert (answer["verdict"], answer["more"]) == ("unknown", 1)


# ---- small, large, or neither --------------------------------------------------------------------

SIGNS = [
    ("small", {"worst": {"drowning": 2}}, {}),
    ("small", {"worst": {"wall": 3}}, {}),
    ("small", {"pools": (30, 40, 50, 55)}, {}),
    ("small", {}, {"failed": "went_out"}),
    ("large", {"worst": {"soot": 2}}, {}),
    ("large", {"worst": {"mushroom": 3}}, {}),
]


@pytest.mark.parametrize(("verdict", "of_sitting", "of_candle"), SIGNS)
def test_a_sign_speaks_where_half_of_the_candles_show_it(
    twin: Page, verdict: str, of_sitting: Json, of_candle: Json
) -> None:
    bad = changed(**of_sitting) | of_candle
    for candles in ([bad] * 2, [bad, GOOD], [bad, bad, GOOD], [bad] * 3):
        assert judge(twin, *candles)["verdict"] == verdict
    # One of three proves nothing, but it is not right, and more candles won't make it so.
    answer = judge(twin, bad, GOOD, GOOD)
    assert (answer["verdict"], answer["more"]) == ("unknown", None)
    assert len(against(answer)) == 1
    # Never from one candle.
    assert judge(twin, bad)["verdict"] == "unknown"


def test_bad_flicker_is_not_right_and_tells_no_direction(twin: Page) -> None:
    answer = judge(twin, *[changed(worst={"flicker": 3})] * 3)
    assert (answer["verdict"], answer["more"]) == ("unknown", None)


def test_traces_are_no_sign(twin: Page) -> None:
    trace = changed(worst={"soot": 1, "mushroom": 2, "flicker": 2, "drowning": 1, "wall": 2})
    assert judge(twin, trace, trace, trace)["verdict"] == "right"


def test_wax_that_a_later_sitting_takes_is_not_left(twin: Page) -> None:
    taken = candle(sitting(worst={"wall": 3}), sitting(before_g=396, worst={"wall": 1}))
    assert judge(twin, taken, taken, taken)["verdict"] == "right"


def test_signs_both_ways_are_no_verdict(twin: Page) -> None:
    both = changed(worst={"soot": 2, "drowning": 2})
    answer = judge(twin, both, both, both)
    assert (answer["verdict"], answer["more"]) == ("unknown", None)
    assert any("too large, and some that it is too small" in each for each in against(answer))


def test_the_pool_is_in_time_at_the_first_look_when_it_is_due(twin: Page) -> None:
    late = changed(pools=(30, 45, 60, None))
    answer = judge(twin, late, late, late)
    assert (answer["verdict"], answer["more"]) == ("unknown", None)
    assert against(answer) == [
        "The pool of all 3 candles was late at the wall: after 3 h is common practice."
    ]
    # Half of its sittings are enough, and one that was too short says nothing.
    half = candle(
        sitting(pools=(30, 45, 60, None)),
        sitting(before_g=396),
        sitting(before_g=372, pools=(40,), hours=1.0, marks_seen=1, marks_due=1),
    )
    assert judge(twin, half, half, half)["verdict"] == "right"
    # A wide vessel is due when the sitting ends.
    answer = judge(twin, late, late, late, width_mm=120.0, fuel_g=500.0)
    assert answer["verdict"] == "right"


def test_smoke_is_a_mean_of_candles(twin: Page) -> None:
    smokes = [20, 50, 15]
    answer = judge(twin, *(changed(smoke_s=s) for s in smokes))
    assert (answer["verdict"], answer["numbers"]["smoke_s"]) == ("right", pytest.approx(85 / 3))
    answer = judge(twin, *(changed(smoke_s=s) for s in (40, 50, 15)))
    assert answer["verdict"] == "large"
    assert against(answer) == [
        "The wick smoked for 35 s on average after it was out, and 30 s is the limit."
    ]


def test_a_hot_place_matters_only_where_she_set_a_limit(twin: Page) -> None:
    hot = changed(hottest_c=71.0)
    assert judge(twin, hot, hot, hot)["verdict"] == "right"
    answer = judge(twin, hot, GOOD, GOOD, hottest_c=60)
    assert answer["verdict"] == "large"
    assert against(answer) == ["The hottest place of the one candle was above your 60\u00a0°C."]
    assert judge(twin, hot, hot, hot, hottest_c=80)["verdict"] == "right"
    assert judge(twin, GOOD, GOOD, GOOD, hottest_c=80)["verdict"] == "unknown"


def test_words_are_in_her_units(twin: Page) -> None:
    asked = """async (result) => {
      const { verdictOf } = await import('/burns/verdict.js');
      const { displayUnits } = await import('/bench/display_units.js');
      return verdictOf(result, ASKED, displayUnits({ length_unit: 'in' }));
    }""".replace("ASKED", str(ASKED))
    answer = in_page.ask(twin, asked, wick(GOOD, GOOD, changed(flame_mm=80)))
    assert against(answer) == ["The flame of 1 of 3 candles was above 2.95\u00a0in."]


# ---- the numbers ---------------------------------------------------------------------------------


def burned(losses: Iterable[float], **more: Any) -> Json:
    """A candle of so many whole sittings."""
    left, sittings = 420.0, []
    for lost in losses:
        sittings.append(sitting(before_g=left, lost_g=lost))
        left -= lost
    return candle(*sittings, **more)


def test_consumption_is_the_candles_mean_with_its_interval(twin: Page) -> None:
    rates = [5.5, 6.0, 6.2]
    numbers = judge(twin, *(burned([4 * rate]) for rate in rates))["numbers"]
    low, high = stats.t.interval(0.9, 2, np.mean(rates), stats.sem(rates))
    assert numbers["rate"] == pytest.approx(
        {"mean": np.mean(rates), "low": low, "high": high, "sd": np.std(rates, ddof=1)}
    )
    assert numbers["heat_w"] == pytest.approx(np.mean(rates) * 42_000 / 3600)


def test_more_sittings_are_not_more_candles(twin: Page) -> None:
    once = judge(twin, *(burned([4 * rate]) for rate in (5.5, 6.0, 6.2)))
    often = judge(twin, *(burned([4 * rate] * 5) for rate in (5.5, 6.0, 6.2)))
    assert often["numbers"]["rate"] == pytest.approx(once["numbers"]["rate"])


def test_one_candle_has_a_rate_and_no_interval(twin: Page) -> None:
    numbers = judge(twin, burned([24]))["numbers"]
    assert numbers["rate"] == {"mean": 6, "low": None, "high": None, "sd": None}
    assert numbers["hours"]["low"] is numbers["claim_h"] is None


def test_hours_are_measured_where_it_was_burned_down(twin: Page) -> None:
    down = [burned([24] * n, burned_down=True) for n in (6, 7, 8)]
    numbers = judge(twin, *down)["numbers"]
    low, _ = stats.t.interval(0.9, 2, 28, stats.sem([24, 28, 32]))
    hours = numbers["hours"]
    assert (hours["measured"], hours["reckoned"], hours["mean"]) == (3, 0, pytest.approx(28))
    assert hours["low"] == pytest.approx(low)
    assert numbers["claim_h"] == int(low)


def test_hours_are_reckoned_where_it_was_not_and_its_doubt_is_wider(twin: Page) -> None:
    """76.2 mm wide, 10 mm of 0.9 g/ml: 41.04 g are left of 200. At 6 g/h, 26.5 h, and more where
    it burns slower the lower it is."""
    even = judge(twin, *(burned([24.0] * 4) for _ in range(3)))["numbers"]["hours"]
    assert (even["measured"], even["reckoned"]) == (0, 3)
    assert even["mean"] == pytest.approx(26.5, abs=0.3)
    assert even["low"] < even["mean"] < even["high"], "no scatter, but the fall is not known"
    slower = judge(twin, *(burned([24, 23, 22, 21]) for _ in range(3)))["numbers"]["hours"]
    assert slower["mean"] > 160 / (90 / 16) > even["mean"]
    unsure = judge(twin, *(burned([24.0]) for _ in range(3)))["numbers"]["hours"]
    assert unsure["high"] - unsure["low"] > 2 * (even["high"] - even["low"])


def test_the_time_to_the_wall_is_told_where_each_candle_got_there(twin: Page) -> None:
    numbers = judge(twin, GOOD, GOOD, changed(pools=(40, None, None, None)))["numbers"]
    assert numbers["full_h"]["mean"] == pytest.approx(8 / 3)
    never = judge(twin, GOOD, GOOD, changed(pools=(30, 40, 50, 55)))["numbers"]
    assert never["full_h"] is None


# ---- whatever was kept ---------------------------------------------------------------------------


def odd_candle(random: np.random.Generator) -> Json:
    """Anything that a stream of events might leave."""

    def maybe(value: Any, chance: float = 0.8) -> Any:
        return value if random.random() < chance else None

    sittings = []
    for _ in range(random.integers(0, 4)):
        pools = tuple(
            maybe(float(random.uniform(5, 80)), 0.7) for _ in range(random.integers(0, 5))
        )
        made = sitting(
            lost_g=float(random.uniform(-2, 40)),
            pools=pools,
            flame_mm=maybe(float(random.uniform(10, 80))),
            smoke_s=maybe(float(random.uniform(0, 50))),
            worst={thing: maybe(int(random.choice([0, 0, 0, 1, 2, 3]))) for thing in THINGS},
        )
        made |= {"hours": maybe(float(random.choice([0, 0.5, 4])), 0.9)}
        made |= {"before_g": maybe(made["before_g"], 0.9), "after_g": maybe(made["after_g"], 0.9)}
        made |= {"marks_seen": int(random.integers(0, 5))}
        sittings.append(made)
    ends = [None] * 12 + ["flame", "second_flame", "cracked", "soot", "went_out"]
    return {
        "sittings": sittings,
        "failed": random.choice(np.array(ends, dtype=object)),
        "burned_down": bool(random.random() < 0.3),
        "counts": bool(random.random() < 0.9),
    }


def test_whatever_was_kept_is_judged_and_right_is_earned(twin: Page) -> None:
    random = np.random.default_rng(6)
    results = []
    for _ in range(600):
        candles = [odd_candle(random) for _ in range(random.integers(0, 6))]
        # Many good ones among them, or none would ever be right.
        results.append(wick(*(GOOD if random.random() < 0.6 else each for each in candles)))
    answers = in_page.ask(twin, _JUDGE, [[each, ASKED] for each in results])
    verdicts = {each["verdict"] for each in answers}
    assert verdicts == {"right", "small", "large", "unknown"}
    for result, answer in zip(results, answers, strict=True):
        candles = result["candles"]
        lit = [each for each in candles if each["sittings"] or each["failed"]]
        dangerous = [each for each in candles if each["failed"] not in (None, "went_out")]
        assert all(each["text"].endswith(".") for each in answer["reasons"])
        assert all("{" not in each["text"] for each in answer["reasons"])
        if len(lit) < 2:
            assert answer["verdict"] == "unknown"
        if answer["verdict"] == "right":
            assert not dangerous
            assert answer["numbers"]["candles"] >= 3
            assert not against(answer)
        if answer["verdict"] == "unknown":
            assert against(answer) or said(answer, "missing")
        else:
            assert answer["more"] is None
    turned = [[{**each, "candles": each["candles"][::-1]}, ASKED] for each in results]
    assert [each["verdict"] for each in in_page.ask(twin, _JUDGE, turned)] == [
        each["verdict"] for each in answers
    ]
