"""How candles stand: sittings, marks, what two phones say, and that nothing is made up."""

import random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.bench.conftest import Bench
from tests.burns.conftest import T0, H, burns, events, sheet

Json = Any

GRADED = ("soot", "mushroom", "flicker", "drowning", "wall")

FOLD = """
  const state = m.burn_fold.foldTest(g[0], g[1]);
  const sittings = (c) => c.sittings.map(({ answers, told, none, ...rest }) => rest);
  return {
    ...state,
    same: [...state.same],
    counted: state.counted.map(({ id }) => id),
    clashes: state.clashes.map(({ answers, ...rest }) => ({ ...rest, n: answers.standing.length })),
    candles: state.candles.map((c) => ({ ...c, sittings: sittings(c) })),
    results: m.results.resultsOf({ sheet: g[0], state }),
  };
"""


def stand(bench: Bench, told: list[Json], **asked: Json) -> Json:
    return burns(bench, FOLD, [sheet(**asked), told])


def whole(
    *, burn: int = 0, before: float = 210.0, after: float = 190.0, at: float = 0
) -> list[Json]:
    """All of a sitting of four hours."""
    marks: list[Json] = []
    for mark in range(4):
        when = {"burn": burn, "mark": mark, "at": at + mark + 1.05}
        marks += [
            {"type": "measured", "what": "pool", "mm": 40 + 10 * mark, **when},
            {"type": "measured", "what": "across", "mm": 44 + 10 * mark, **when},
            {"type": "measured", "what": "flame", "mm": 20 + mark, **when},
            {"type": "nothing_else", **when},
        ]
    return [
        {"type": "weighed", "burn": burn, "when": "before", "read_g": before, "at": at - 0.1},
        {"type": "lit", "burn": burn, "at": at},
        *marks,
        {"type": "stopped", "burn": burn, "why": "out", "at": at + 4.1},
        {"type": "smoke_ended", "burn": burn, "seconds": 9, "at": at + 4.11},
        {"type": "weighed", "burn": burn, "when": "after", "read_g": after, "at": at + 5.2},
    ]


def test_a_sitting_goes_step_by_step_and_the_next_one_follows(bench: Bench) -> None:
    told = events(*whole(), *whole(burn=1, before=189.6, after=171.0, at=24))
    steps = ["trim"]
    for n in range(1, len(told) + 1):
        candle = stand(bench, told[:n])["candles"][0]
        at = f"{candle['step']} {candle['sitting']}"
        if at != steps[-1]:
            steps.append(at)
    assert steps[1:] == [
        *("light 0", "burning 0", "smoke 0", "rest 0", "trim 1"),
        *("light 1", "burning 1", "smoke 1", "rest 1", "trim 2"),
    ]
    burned, other = stand(bench, told)["candles"]
    first, _ = burned["sittings"]
    assert first["hours"] == pytest.approx(4.1)
    assert [first["before_g"], first["after_g"], first["smoke_s"]] == [210, 190, 9]
    assert all(mark["done"] for mark in first["marks"])
    assert first["marks"][1]["seen"] == {
        **{"pool_mm": 50, "across_mm": 54, "flame_mm": 21},
        **dict.fromkeys(GRADED, 0),
    }
    assert (other["step"], other["sittings"]) == ("trim", [])


def test_what_it_tells_for_judging(bench: Bench) -> None:
    told = [
        *whole(),
        {"type": "saw", "burn": 0, "mark": 3, "what": "soot", "grade": 2, "at": 4.06},
        {"type": "hottest", "burn": 0, "mark": 3, "temp_c": 58, "at": 4.06},
    ]
    results = stand(bench, events(*told))["results"]
    assert [each["wick"]["size"] for each in results] == ["4", "6"]
    ((sitting,), failed) = (
        results[0]["candles"][0]["sittings"],
        results[0]["candles"][0]["failed"],
    )
    assert failed is None
    assert [each["mm"] for each in sitting["pools"]] == [42, 52, 62, 72]
    assert sitting["pools"][0]["h"] == pytest.approx(1.05)
    assert (sitting["flame_mm"], sitting["flames_low"], sitting["full_h"]) == (23, 0, None)
    assert sitting["worst"] == {**dict.fromkeys(GRADED, 0), "soot": 2}
    assert (sitting["marks_seen"], sitting["marks_due"], sitting["hottest_c"]) == (4, 4, 58)


def test_wax_on_the_wall_counts_as_it_was_seen_last(bench: Bench) -> None:
    """At first there is wax on every wall; the pool takes it, or does not."""
    told = [
        *whole()[:2],
        {"type": "saw", "mark": 0, "what": "wall", "grade": 3, "at": 1},
        {"type": "saw", "mark": 0, "what": "soot", "grade": 2, "at": 1},
        {"type": "saw", "mark": 1, "what": "wall", "grade": 1, "at": 2},
        {"type": "saw", "mark": 1, "what": "soot", "grade": 0, "at": 2},
    ]
    (sitting,) = stand(bench, events(*told))["results"][0]["candles"][0]["sittings"]
    assert (sitting["worst"]["wall"], sitting["worst"]["soot"]) == (1, 2)


def test_a_mark_that_was_missed_is_missing_and_not_made_up(bench: Bench) -> None:
    told = [each for each in whole() if each.get("mark") != 1]
    stands = stand(bench, events(*told))
    marks = stands["candles"][0]["sittings"][0]["marks"]
    assert [mark["done"] for mark in marks] == [True, False, True, True]
    assert marks[1]["seen"] == {}
    assert marks[1]["at_ms"] is None
    sitting = stands["results"][0]["candles"][0]["sittings"][0]
    assert (sitting["marks_seen"], sitting["marks_due"]) == (3, 4)


def test_what_was_not_looked_at_is_not_taken_for_none(bench: Bench) -> None:
    told = [
        *whole()[:2],
        {"type": "saw", "mark": 0, "what": "pool_full", "grade": 0, "at": 1},
        {"type": "looked", "mark": 0, "at": 1.01},
    ]
    stands = stand(bench, events(*told))
    mark = stands["candles"][0]["sittings"][0]["marks"][0]
    assert mark["done"]
    assert mark["seen"] == {"pool_full": True}
    (sitting,) = stands["results"][0]["candles"][0]["sittings"]
    assert sitting["worst"] == dict.fromkeys(GRADED)
    assert sitting["full_h"] == 1
    assert sitting["hours"] is None


@pytest.mark.parametrize("why", ["flame", "second_flame", "cracked", "soot"])
def test_what_is_dangerous_ends_the_candle(bench: Bench, why: str) -> None:
    told = [*whole()[:6], {"type": "stopped", "why": why, "at": 1.2}]
    candle = stand(bench, events(*told))["candles"][0]
    assert (candle["step"], candle["failed"]) == ("over", why)


def test_one_that_went_out_by_itself_is_weighed_and_burned_again(bench: Bench) -> None:
    told = [*whole()[:6], {"type": "stopped", "why": "went_out", "at": 1.2}]
    assert stand(bench, events(*told))["candles"][0]["step"] == "rest"
    told.append({"type": "weighed", "when": "after", "read_g": 206, "at": 2.3})
    candle = stand(bench, events(*told))["candles"][0]
    assert (candle["step"], candle["sitting"], candle["failed"]) == ("trim", 1, "went_out")


def test_it_is_over_at_10_mm_or_when_it_is_set_aside_or_the_test_closed(bench: Bench) -> None:
    down = stand(bench, events(*whole(), {"type": "burned_down"}))["candles"][0]
    assert (down["step"], down["burned_down"]) == ("over", True)
    aside = stand(bench, events({"type": "set_aside", "why": "it fell", "candle": 1}))
    assert aside["candles"][1]["step"] == "over"
    assert not aside["results"][1]["candles"][0]["counts"]
    closed = stand(bench, events(*whole(), {"type": "closed"}))["closed"]
    assert closed["why"] == ""


# ---- two phones ----

FLAME = {"type": "measured", "what": "flame", "mark": 0, "at": 1.02}


def test_two_phones_that_say_the_same_are_one(bench: Bench) -> None:
    two = [{**FLAME, "mm": 31, "by": "a"}, {**FLAME, "mm": 32, "by": "b"}]
    told = events(*whole()[:2], {"type": "lit", "by": "b", "at": 0.01}, *two)
    stands = stand(bench, told)
    (sitting,) = stands["candles"][0]["sittings"]
    assert sitting["marks"][0]["seen"] == {"flame_mm": 31}
    assert stands["clashes"] == []
    assert stands["same"] == [[told[1]["id"], [told[2]["id"]]], [told[3]["id"], [told[4]["id"]]]]
    assert stands["counted"] == [told[0]["id"], told[1]["id"], told[3]["id"]]


def test_two_phones_that_differ_are_asked_and_the_first_holds_until_then(bench: Bench) -> None:
    two = [{**FLAME, "mm": 31, "by": "a"}, {**FLAME, "mm": 52, "by": "b"}]
    told = events(*whole()[:2], *two)
    stands = stand(bench, told)
    assert stands["clashes"] == [{"candle": 0, "sitting": 0, "question": "0 flame", "n": 2}]
    assert stands["candles"][0]["sittings"][0]["marks"][0]["seen"] == {"flame_mm": 31}
    settled = stand(
        bench, [*told, *events({}, {}, {}, {}, {"type": "undone", "event": told[2]["id"]})[4:]]
    )
    assert settled["clashes"] == []
    assert settled["candles"][0]["sittings"][0]["marks"][0]["seen"] == {"flame_mm": 52}


def test_who_measures_again_replaces_what_was_shown(bench: Bench) -> None:
    told = events(*whole()[:2], {**FLAME, "mm": 31})
    again = burns(
        bench,
        """return m.tests.answering(m.burn_fold.foldTest(g[0], g[1]), g[2]);""",
        [sheet(), told, {**FLAME, "candle": 0, "burn": 0, "mm": 52}],
    )
    assert again["over"] == told[2]["id"]
    stands = stand(bench, [*told, *events({}, {}, {}, again)[3:]])
    assert stands["clashes"] == []
    assert stands["candles"][0]["sittings"][0]["marks"][0]["seen"] == {"flame_mm": 52}


# ---- whatever comes ----

WHERE = st.fixed_dictionaries(
    {"candle": st.integers(0, 3), "burn": st.integers(0, 2), "mark": st.integers(0, 5)}
)
WHAT = st.one_of(
    st.fixed_dictionaries(
        {
            "type": st.just("weighed"),
            "when": st.sampled_from(["before", "after"]),
            "read_g": st.floats(0, 300),
        }
    ),
    st.fixed_dictionaries(
        {"type": st.sampled_from(["lit", "nothing_else", "looked", "burned_down"])}
    ),
    st.fixed_dictionaries(
        {
            "type": st.just("measured"),
            "what": st.sampled_from(["pool", "across", "depth", "flame"]),
            "mm": st.integers(0, 90),
        }
    ),
    st.fixed_dictionaries(
        {
            "type": st.just("saw"),
            "what": st.sampled_from([*GRADED, "pool_full", "flame_low"]),
            "grade": st.integers(0, 3),
        }
    ),
    st.fixed_dictionaries(
        {"type": st.just("stopped"), "why": st.sampled_from(["out", "flame", "went_out", "other"])}
    ),
    st.fixed_dictionaries({"type": st.just("smoke_ended"), "seconds": st.integers(0, 90)}),
    st.fixed_dictionaries({"type": st.sampled_from(["smoke_not_seen", "set_aside", "closed"])}),
    st.fixed_dictionaries({"type": st.just("of a newer bench")}),
)
TOLD = st.lists(
    st.tuples(WHAT, WHERE, st.floats(0, 30)).map(
        lambda each: {**each[1], **each[0], "at": each[2]}
    ),
    max_size=25,
)


@settings(max_examples=20)
@given(tests=st.lists(TOLD, min_size=40, max_size=40))
def test_whatever_happened_comes_to_something_and_undone_it_is_as_before(
    bench: Bench, tests: list[list[Json]]
) -> None:
    """Many in one ask, as each ask costs a way to the browser."""
    asked = []
    for told in tests:
        whole_told = events(*told)
        undone = [
            {**each, "type": "undone", "event": each["id"], "id": each["id"].replace("phone", "zz")}
            for each in whole_told[len(told) // 2 :]
        ]
        undone = [
            {**each, "id": f"{3_000_000_000_000 + n:015d}.0000.z"} for n, each in enumerate(undone)
        ]
        asked.append([whole_told[: len(told) // 2], [*whole_told, *undone]])
    pairs = burns(
        bench,
        f"""return g[1].map((pair) => pair.map((told) => {{
          const one = (g) => {{ {FOLD} }};
          const {{ last, ...state }} = one([g[0], told]);
          const {{ candles }} = m.burn_fold.foldTest(g[0], told);
          state.clocks = candles.map((candle) => m.tests.clockOf(candle, g[2]));
          return JSON.stringify(state);
        }}));""",
        [sheet(), asked, T0 + 40 * H],
    )
    for half, undone in pairs:
        assert half == undone


def test_the_order_in_which_phones_are_heard_does_not_matter(bench: Bench) -> None:
    """Events sort by their ids, whoever brings them."""
    told = events(*whole(), *whole(burn=1, at=24))
    mixed = list(told)
    random.Random(1).shuffle(mixed)
    assert stand(bench, sorted(mixed, key=lambda each: each["id"])) == stand(bench, told)
