"""What the burn board asks, offers and says: every touch leads somewhere, nothing is made up."""

import json
from typing import Any

import pytest

from benchapp.records.events import check_event
from tests.bench.conftest import Bench
from tests.burns.conftest import T0, H, burns, events, sheet

Json = Any


def shown(bench: Bench, told: list[Json], hours: float, candle: int = 0, **asked: Json) -> Json:
    """The board of a candle so many hours after it was lit, with common spaces."""
    found = burns(
        bench,
        """const state = m.burn_fold.foldTest(g[0], g[1]);
        return m.burn_prompt.burnPrompt({ sheet: g[0], state }, g[2], g[3], w.units);""",
        [sheet(**asked), told, candle, T0 + hours * H],
    )
    return json.loads(json.dumps(found, ensure_ascii=False).replace("\u00a0", " "))


def burning(*more: Json, candle: int = 0) -> list[Json]:
    return events(
        {"type": "weighed", "when": "before", "read_g": 210, "at": -0.1, "candle": candle},
        {"type": "lit", "at": 0, "candle": candle},
        *({"candle": candle, **each} for each in more),
    )


def test_every_touch_leads_somewhere_and_the_server_takes_it(bench: Bench) -> None:
    found = burns(
        bench,
        """return g[1].map((seed) => w.wander(g[0], seed, 160, g[2]));""",
        [sheet(each=3), list(range(12)), T0],
    )
    steps = set()
    for walk in found:
        # What was graded or read once more at the same mark may say the same.
        assert walk["dead"] == []
        assert walk["clashes"] == 0
        steps |= set(walk["shown"])
        for event in walk["events"]:
            assert check_event(event) == [], event
    assert steps >= {"trim", "light", "burning", "mark", "out", "smoke", "rest", "weigh", "over"}


def test_a_candle_burns_until_its_mark_is_due(bench: Bench) -> None:
    before = shown(bench, burning(), 0.5)
    assert (before["title"], before["number"]) == ("It burns", "30:00")
    assert before["main"] is None
    due = shown(bench, burning(), 1.01)
    assert (due["title"], due["doing"]) == ("Mark at 1 h", "How far is the pool?")
    assert due["main"]["label"] == "To the wall all round"
    assert due["main"]["event"]["mark"] == 0


def test_of_two_marks_that_are_due_the_later_is_asked_and_the_earlier_is_missed(
    bench: Bench,
) -> None:
    late = shown(bench, burning(), 2.2)
    assert late["title"] == "Mark at 2 h"
    told = burning(
        {"type": "saw", "what": "pool_full", "mark": 1, "grade": 0, "at": 2.2},
        {"type": "looked", "mark": 1, "at": 2.2},
    )
    after = shown(bench, told, 2.5)
    assert after["lines"] == [
        "Lit at 00:53.",
        "2 h: pool to the wall",
        "1 h: **not looked at**",
    ]


def test_what_ends_a_burn_at_once_is_always_there_and_so_are_the_cautions(bench: Bench) -> None:
    for hours in (0.1, 1.1, 2.5, 4.5):
        board = shown(bench, burning(), hours)
        stops = [each["event"]["why"] for each in board["stops"]]
        assert stops == ["flame", "second_flame", "cracked", "soot"]
        assert board["cautions"] == [
            "Stay with it. Keep children and animals away.",
            "A lid puts it out. Never water.",
        ]


def test_after_the_last_mark_it_is_to_be_put_out(bench: Bench) -> None:
    done = [{"type": "looked", "mark": mark, "at": mark + 1.01} for mark in range(4)]
    board = shown(bench, burning(*done), 4.02)
    assert (board["title"], board["main"]["label"]) == ("Put it out", "It is out")
    # Looked at or not, it can be put out.
    late = shown(bench, burning(), 4.6)
    assert late["title"] == "Mark at 4 h"
    assert "It is out" in [each["label"] for each in late["others"][-1]["more"]]


def test_a_flame_above_the_limit_is_to_be_put_out_now(bench: Bench) -> None:
    told = burning({"type": "measured", "what": "flame", "mark": 0, "mm": 82, "at": 1.02})
    board = shown(bench, told, 1.03)
    assert board["title"] == "Put it out now"
    assert board["main"]["event"]["why"] == "flame"


def test_no_more_candles_are_lit_than_she_can_watch(bench: Bench) -> None:
    asked = sheet(each=4)
    told = [
        each
        for candle in range(7)
        for each in (
            {"type": "weighed", "when": "before", "read_g": 210, "candle": candle},
            *([{"type": "lit", "candle": candle}] if candle < 6 else []),
        )
    ]
    board = shown(bench, events(*told), 0.1, candle=6, candles=asked["candles"])
    assert (board["doing"], board["main"]) == ("6 candles burn.", None)


def test_two_phones_that_differ_are_asked_which_is_right(bench: Bench) -> None:
    flame = {"type": "measured", "what": "flame", "mark": 0, "at": 1.02}
    board = shown(
        bench, burning({**flame, "mm": 31, "by": "a"}, {**flame, "mm": 52, "by": "b"}), 1.1
    )
    assert board["doing"] == "Which is right of candle 1, the flame at 1 h?"
    assert [board["main"]["label"], *(each["label"] for each in board["others"])] == [
        "31 mm",
        "52 mm",
    ]
    assert board["lines"][1] == "**52 mm**, says b, 01:54"


def test_why_it_is_out_reads_apart_where_two_phones_differ(bench: Bench) -> None:
    out = {"type": "stopped", "at": 1.1}
    told = burning({**out, "why": "out", "by": "a"}, {**out, "why": "other", "by": "b"})
    board = shown(bench, told, 1.2)
    labels = [board["main"]["label"], *(each["label"] for each in board["others"])]
    assert labels == ["put out as planned", "it was put out early"]


def test_the_hand_is_sent_to_the_candle_that_wants_it(bench: Bench) -> None:
    asked = sheet(each=2)
    next_ = """const state = m.burn_fold.foldTest(g[0], g[1]);
      return [0, 1].map((at) => m.burn_prompt.nextCandle({ sheet: g[0], state }, at, g[2]));"""
    # The first burns, the second is not begun; the first is due, and the second one burns.
    assert burns(bench, next_, [asked, burning(), T0 + H // 2]) == [1, None]
    two = [*burning(), *events({}, {}, *({**each, "candle": 1} for each in burning()))[2:]]
    two[-1] = {**two[-1], "at": T0 + H // 2}
    assert burns(bench, next_, [asked, two, T0 + H + 1]) == [None, 0]


# ---- odd readings ------------------------------------------------------------------------------

BURNED = burning(
    {"type": "stopped", "why": "out", "at": 4}, {"type": "smoke_ended", "seconds": 3, "at": 4}
)
AT_2H = burning({"type": "measured", "what": "pool", "mark": 0, "mm": 60, "at": 1.01})


ODD = [
    ([], 0, "before", 0, "Type what it shows, more than nothing."),
    ([], 0, "before", 60, "60.0 g is less than its wax, 104.4 g. Is that what it shows?"),
    ([], 0, "before", 210, None),
    (BURNED, 5.1, "after", 191, None),
    (
        *(BURNED, 5.1, "after", 230),
        "It weighed 210.0 g before it burned, and can't weigh more now: is a lid on it? If the "
        "weight before was wrong, set that right on the test's page.",
    ),
    (BURNED, 5.1, "after", 210, "It would have burned nothing. Is 210.0 g what it shows?"),
    (BURNED, 5.1, "after", 19, "It would have burned 191.0 g. Is 19.0 g what it shows?"),
    (AT_2H, 2.01, "pool", 90, "90 mm is wider than the vessel, 72 mm. Measure it again."),
    (AT_2H, 2.01, "pool", 30, "It was 60 mm at the mark before. Is it 30 mm now?"),
    (AT_2H, 2.01, "pool", 66, None),
    (AT_2H, 2.01, "flame", 900, "No candle's flame is 900 mm high. Is it in mm?"),
    (
        *(AT_2H, 2.01, "flame", 82),
        "82 mm is higher than 75 mm. Put it out. Is that how high it is?",
    ),
    (AT_2H, 2.01, "flame", 32, None),
    (AT_2H, 2.01, "depth", 70, "70 mm is a very deep pool. Is that right?"),
    (AT_2H, 2.01, "hottest", 600, "No vessel is at 600 °C. Measure it again."),
    (AT_2H, 2.01, "hottest", 200, "200 °C is far from what a vessel gets. Is that right?"),
]


@pytest.mark.parametrize(("told", "hours", "pad", "value", "said"), ODD)
def test_what_can_hardly_be_meant_is_questioned(
    bench: Bench, told: list[Json], hours: float, pad: str, value: float, said: str | None
) -> None:
    doubt = burns(
        bench,
        """const state = m.burn_fold.foldTest(g[0], g[1]);
        const test = { sheet: g[0], state };
        return m.burn_request.burnRequest(test, 0, g[2], g[4], w.units).doubt(g[3]);""",
        [sheet(), told, pad, value, T0 + hours * H],
    )
    assert (doubt and doubt["question"].replace("\u00a0", " ")) == said
    if said and ("wider" in said or "can't weigh more" in said or said.startswith("No ")):
        assert doubt["answers"] == []


# ---- what is heard -----------------------------------------------------------------------------


def heard(bench: Bench, told: list[Json]) -> list[list[Json]]:
    return burns(
        bench,
        """const state = m.burn_fold.foldTest(g[0], g[1]);
        const cues = m.burn_cues.burnCues({ id: 't', sheet: g[0], state }, 0);
        return cues.map(({ at_ms, words, sound }) => [(at_ms - g[2]) / 60000, sound, words]);""",
        [sheet(), told, T0],
    )


def test_marks_are_called_and_called_again_and_the_end_is_never_left_out(bench: Bench) -> None:
    assert heard(bench, burning()) == [
        [60, "now", "1 hour. Look at the pool and the flame."],
        [65, "now", "The mark at 1 hour still waits."],
        [75, "now", "The mark at 1 hour still waits."],
        [120, "now", "2 hours. Look at the pool and the flame."],
        [125, "now", "The mark at 2 hours still waits."],
        [135, "now", "The mark at 2 hours still waits."],
        [180, "now", "3 hours. Look at the pool and the flame."],
        [185, "now", "The mark at 3 hours still waits."],
        [195, "now", "The mark at 3 hours still waits."],
        [240, "now", "4 hours. Look at the pool and the flame. Then put it out."],
        [242, "late", "Put it out. It is 2 minutes over its time."],
        [245, "late", "Put it out. It is 5 minutes over its time."],
        [250, "late", "Put it out. It is 10 minutes over its time."],
        [260, "late", "Put it out. It is 20 minutes over its time."],
        [270, "late", "Put it out. It is 30 minutes over its time."],
    ]
    done = burning(*({"type": "looked", "mark": mark, "at": mark + 1} for mark in range(4)))
    assert heard(bench, done)[0] == [240, "now", "Put it out."]
    out = events({}, {}, {"type": "stopped", "why": "out", "at": 4.1})[2:]
    assert heard(bench, [*done, *out]) == [[306, "now", "It has rested for an hour. Weigh it."]]
    assert heard(bench, []) == []
