"""What is wanted by a day, worked backwards, beside brute force over small cases."""

from collections import Counter
from collections.abc import Iterable
from datetime import date, timedelta
from itertools import combinations, product
from typing import Any

import pytest
from hypothesis import strategies as st
from playwright.sync_api import Page

from tests.formulas.test_twin import NONSENSE, drawn
from tests.formulas.twin import InBrowser, Refused

Json = dict[str, Any]

TODAY = date(2026, 11, 25)


@pytest.fixture(scope="module")
def backwards(twin: Page) -> InBrowser:
    return InBrowser(twin, "backwards")


def day(days: int) -> str:
    return str(TODAY + timedelta(days=days))


def days_to(text: str) -> int:
    return (date.fromisoformat(text) - TODAY).days


def job(id_: str = "a", **given: Any) -> Json:
    usual = {
        "group": "slate",
        "by": day(20),
        "count": 24,
        "cured": "best",
        "best_days": 14,
        "least_days": 7,
        "label_days": 2,
        "per_jug": 12,
    }
    return {"id": id_, **usual, **given}


def batch(id_: str, n: int, best: int, least: int, group: str = "slate") -> Json:
    return {"id": id_, "group": group, "n": n, "best_on": day(best), "least_on": day(least)}


def worked(
    backwards: InBrowser, jobs: list[Json], batches: Iterable[Json] = (), **given: Any
) -> list[Json]:
    options = {"today": str(TODAY), "jugs_a_day": 2} | given
    found: list[Json] = backwards.backwards(jobs, list(batches), options)
    return found


# ---- single cases --------------------------------------------------------------------------------


def test_it_is_poured_as_late_as_it_can_be(backwards: InBrowser) -> None:
    (found,) = worked(backwards, [job()])
    assert found["days"] == [{"day": day(6), "jugs": 2, "n": 24}]
    assert (found["last_on"], found["pour"], found["none"]) == (day(6), 24, 0)
    (found,) = worked(backwards, [job()], jugs_a_day=1)
    assert [each["day"] for each in found["days"]] == [day(5), day(6)]


def test_labels_that_take_longer_than_the_cure_count(backwards: InBrowser) -> None:
    (found,) = worked(backwards, [job(cured="least", label_days=9)])
    assert found["last_on"] == day(11)


def test_what_cures_meets_it_and_is_promised_once(backwards: InBrowser) -> None:
    batches = [batch("old", 10, -5, -12), batch("new", 10, 18, 11), batch("late", 9, 21, 14)]
    first, second = worked(backwards, [job("a", count=12), job("b", count=12)], batches)
    assert first["from"] == [{"id": "new", "n": 10}, {"id": "old", "n": 2}]
    assert second["from"] == [{"id": "old", "n": 8}]
    assert (first["pour"], second["pour"]) == (0, 4)


def test_a_claim_moves_to_another_batch_where_that_meets_more(backwards: InBrowser) -> None:
    """'a' would take what is ready last; only that serves 'b', which may be less cured."""
    a = job("a", by=day(10), count=5)
    b = job("b", by=day(4), count=5, cured="least", label_days=0, least_days=1)
    batches = [batch("x", 5, 10, 3), batch("y", 5, 9, 5)]
    first, second = worked(backwards, [a, b], batches)
    assert first["from"] == [{"id": "y", "n": 5}]
    assert second["from"] == [{"id": "x", "n": 5}]


def test_where_it_is_too_late_it_says_what_is_possible(backwards: InBrowser) -> None:
    batches = [batch("setting", 6, 16, 9)]
    (found,) = worked(backwards, [job(by=day(10), count=36)], batches, jugs_a_day=1)
    assert (found["met"], found["pour"]) == (0, 0)
    # Poured from today to the third day, a jug a day; 36 - 6 need three jugs.
    assert found["cured"]["from"] == [{"id": "setting", "n": 6}]
    assert [each["day"] for each in found["cured"]["days"]] == [day(1), day(2), day(3)]
    assert (found["cured"]["pour"], found["none"]) == (30, 0)
    assert found["soonest"] == day(14)
    (found,) = worked(backwards, [job(by=day(5), count=36)], batches)
    assert (found["cured"]["met"], found["none"]) == (0, 36)


def test_her_own_day_is_kept_and_takes_its_room(backwards: InBrowser) -> None:
    jobs = [job("a", pour_on=day(6)), job("b")]
    first, second = worked(backwards, jobs)
    assert first["days"] == [{"day": day(6), "jugs": 2, "n": 24}]
    assert second["days"] == [{"day": day(5), "jugs": 2, "n": 24}]
    (late,) = worked(backwards, [job(pour_on=day(9))])
    assert late["cured"]["days"] == [{"day": day(9), "jugs": 2, "n": 24}]
    for useless in (day(-1), day(19)):
        (found,) = worked(backwards, [job(pour_on=useless)])
        assert found["days"][0]["day"] == day(6)


def test_jugs_of_today_are_not_there_twice(backwards: InBrowser) -> None:
    (found,) = worked(backwards, [job(by=day(14))], begun=1)
    assert found["days"] == [{"day": day(0), "jugs": 1, "n": 12}]
    assert found["cured"]["pour"] == 12


# ---- beside brute force --------------------------------------------------------------------------


def _jobs(draw: st.DrawFn) -> list[Json]:
    found = []
    for id_ in "abcd"[: draw(st.integers(2, 4))]:
        best, least = draw(st.integers(0, 3)), draw(st.integers(0, 3))
        found.append(
            job(
                id_,
                group=draw(st.sampled_from(["slate", "plum"])),
                by=day(draw(st.integers(-1, 5))),
                count=draw(st.integers(1, 5)),
                cured=draw(st.sampled_from(["best", "least"])),
                best_days=max(best, least),
                least_days=min(best, least),
                label_days=draw(st.integers(0, 1)),
                per_jug=draw(st.integers(1, 3)),
            )
        )
    return found


@st.composite
def _cases(draw: st.DrawFn) -> tuple[list[Json], list[Json], int]:
    batches = []
    for id_ in "xyz"[: draw(st.integers(0, 3))]:
        least = draw(st.integers(-2, 5))
        best = least + draw(st.integers(0, 3))
        group = draw(st.sampled_from(["slate", "plum"]))
        batches.append(batch(id_, draw(st.integers(0, 4)), best, least, group))
    return _jobs(draw), batches, draw(st.integers(1, 3))


def _waits(each: Json, cured: str) -> int:
    return max(each[f"{cured}_days"], each["label_days"])


def _last(each: Json, cured: str) -> int:
    return days_to(each["by"]) - _waits(each, cured)


def _fits(each: Json, there: Json, cured: str) -> bool:
    return there["group"] == each["group"] and there[f"{cured}_on"] <= each["by"]


def _most(orders: list[tuple[Json, int, str]], there: list[Json]) -> int:
    """How many can be met at most: the smallest cut (Ford and Fulkerson)."""
    cuts = []
    for size in range(len(orders) + 1):
        for served in combinations(range(len(orders)), size):
            useful = [
                each["n"]
                for each in there
                if any(_fits(orders[i][0], each, orders[i][2]) for i in served)
            ]
            others = [n for i, (_, n, _) in enumerate(orders) if i not in served]
            cuts.append(sum(useful) + sum(others))
    return min(cuts)


def _ways(lasts: list[int], jugs_a_day: int) -> set[tuple[int, ...]]:
    """How many jugs there can be on each day, if each has its last day: every way."""
    days = max([0, *lasts]) + 1
    ways = {(0,) * days}
    for last in lasts:
        ways = {
            (*way[:at], way[at] + 1, *way[at + 1 :])
            for way in ways
            for at in range(last + 1)
            if way[at] < jugs_a_day
        }
    return ways


def _most_poured(open_: list[tuple[int, int, int]], jugs_a_day: int, already: list[int]) -> int:
    """How many candles can be poured at most, of (open, a jug's, last day)."""
    most = 0
    for jugs in product(*(range(-(-n // each) + 1) for n, each, _ in open_)):
        lasts = [
            last for number, (_, _, last) in zip(jugs, open_, strict=True) for _ in range(number)
        ]
        if _ways([*already, *lasts], jugs_a_day):
            candles = [
                min(n, number * each) for number, (n, each, _) in zip(jugs, open_, strict=True)
            ]
            most = max(most, sum(candles))
    return most


def test_it_is_as_good_as_the_best_of_all_ways(backwards: InBrowser) -> None:
    cases = drawn(_cases(), 150)
    calls = [
        (jobs, batches, {"today": str(TODAY), "jugs_a_day": jugs}) for jobs, batches, jugs in cases
    ]
    late = poured = moved = 0
    for (jobs, batches, jugs), found in zip(cases, backwards.each("backwards", calls), strict=True):
        by_id = {each["id"]: each for each in found}
        first = sorted(jobs, key=lambda j: (_last(j, j["cured"]), days_to(j["by"]), j["id"]))
        # What is there: never twice, in time, of the right group, the first served best.
        given: Counter[str] = Counter()
        at = {each["id"]: each for each in batches}
        for each in jobs:
            answer = by_id[each["id"]]
            for share in answer["from"]:
                assert _fits(each, at[share["id"]], each["cured"])
            for share in answer["cured"]["from"]:
                assert each["cured"] == "best"
                assert _fits(each, at[share["id"]], "least")
            for share in (*answer["from"], *answer["cured"]["from"]):
                assert share["n"] > 0
                given[share["id"]] += share["n"]
            parts = (answer["met"], answer["pour"], answer["cured"]["met"], answer["cured"]["pour"])
            assert sum(parts) + answer["none"] == each["count"]
        assert all(n <= at[id_]["n"] for id_, n in given.items())
        for number in range(1, len(first) + 1):
            served = [(each, each["count"], each["cured"]) for each in first[:number]]
            assert sum(by_id[each["id"]]["met"] for each, _, _ in served) == _most(served, batches)
        # What is poured: as many as can be.
        open_ = [
            (each["count"] - by_id[each["id"]]["met"], each["per_jug"], _last(each, each["cured"]))
            for each in jobs
        ]
        on_time = [
            (_last(each, each["cured"]), pouring)
            for each in jobs
            for pouring in by_id[each["id"]]["days"]
        ]
        assert sum(pouring["n"] for _, pouring in on_time) == _most_poured(open_, jugs, [])
        lasts = [last for last, pouring in on_time for _ in range(pouring["jugs"])]
        at_least = [(each, by_id[each["id"]]["cured"]) for each in jobs if each["cured"] == "best"]
        open_late = [
            (by_id[each["id"]]["none"] + cured["pour"], each["per_jug"], _last(each, "least"))
            for each, cured in at_least
        ]
        too_late = [
            (_last(each, "least"), pouring) for each, cured in at_least for pouring in cured["days"]
        ]
        best_late = _most_poured(open_late, jugs, lasts)
        assert sum(pouring["n"] for _, pouring in too_late) == best_late
        # As late as can be: no way to pour these jugs has more of them from any day on.
        pourings = on_time + too_late
        profile: Counter[int] = Counter()
        for last, pouring in pourings:
            assert 0 <= days_to(pouring["day"]) <= last
            assert pouring["jugs"] > 0
            profile[days_to(pouring["day"])] += pouring["jugs"]
        ways = _ways([last for last, p in pourings for _ in range(p["jugs"])], jugs)
        length = len(next(iter(ways)))
        mine = tuple(profile[number] for number in range(length))
        assert mine in ways
        for number in range(length):
            assert sum(mine[number:]) == max(sum(way[number:]) for way in ways)
        for each in jobs:
            answer = by_id[each["id"]]
            for pouring in (*answer["days"], *answer["cured"]["days"]):
                assert 0 < pouring["n"] <= pouring["jugs"] * each["per_jug"]
            assert answer["last_on"] == day(_last(each, each["cured"]))
        late += bool(too_late)
        poured += bool(on_time)
        moved += bool(given)
    assert min(late, poured, moved) > 20


def test_the_order_of_what_is_told_does_not_matter(backwards: InBrowser) -> None:
    cases = drawn(_cases(), 100)
    told = backwards.each(
        "backwards",
        [(jobs, there, {"today": str(TODAY), "jugs_a_day": jugs}) for jobs, there, jugs in cases],
    )
    turned = backwards.each(
        "backwards",
        [
            (jobs[::-1], there[::-1], {"today": str(TODAY), "jugs_a_day": jugs})
            for jobs, there, jugs in cases
        ],
    )
    for one, other in zip(told, turned, strict=True):
        assert one == other[::-1]


def test_many_candles_take_no_long_time(backwards: InBrowser) -> None:
    far = day(30_000)
    (found,) = worked(backwards, [job(count=100_000, per_jug=4, by=far)], jugs_a_day=1)
    assert (len(found["days"]), found["pour"]) == (25_000, 100_000)


# ---- bad input -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"count": 0}, "How many are wanted must be from 1 to 100000"),
        ({"count": 2.5}, "How many are wanted must be a whole number"),
        ({"by": "2026-02-30"}, "“2026-02-30” is not a date"),
        ({"by": "2526-11-25"}, "2526-11-25 is too far from today to plan for"),
        ({"pour_on": "tomorrow"}, "“tomorrow” is not a date"),
        ({"per_jug": 0}, "Vessels for a jug must be from 1"),
        ({"best_days": 400}, "The days of cure must be from 0 to 365"),
    ],
)
def test_what_makes_no_sense_is_refused(backwards: InBrowser, given: Json, said: str) -> None:
    with pytest.raises(Refused, match=said):
        worked(backwards, [job(**given)])


def test_any_question_is_answered_or_refused_in_a_sentence(backwards: InBrowser) -> None:
    numbers = ("count", "best_days", "least_days", "label_days", "per_jug")
    days = st.sampled_from(["", "5 g", "2026-2-3", "0000-01-01", "2999-12-31", "2026-11-25T10:00"])
    odd = st.tuples(st.sampled_from(numbers), NONSENSE) | st.tuples(
        st.sampled_from(["by", "pour_on"]), days
    )
    questions = st.tuples(odd, NONSENSE | st.integers(1, 50))
    asked = drawn(questions, 200)
    calls = [
        ([job(**{field: odd})], [], {"today": str(TODAY), "jugs_a_day": jugs})
        for (field, odd), jugs in asked
    ]
    answers = backwards.answers("backwards", calls)
    assert not [answer["crash"] for answer in answers if "crash" in answer]
    assert sum("error" in answer for answer in answers) > 100
    assert all(each["error"].endswith(".") for each in answers if "error" in each)
