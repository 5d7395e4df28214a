"""How long a pour kept her hands busy: worked cases, and what holds of any pour."""

from typing import Any

import pytest

from tests.bench.conftest import Bench, Json, asked, fields_of
from tests.bench.test_walks import TRY, WALKS, made_up

BEGUN_MS = 1_795_600_000_000
MINUTE = 60.0


def hands_on(bench: Bench, *events: tuple[float, str, dict[str, Any]]) -> Json:
    """Of events so many minutes after the start of the pour."""
    kept = [
        {"id": f"{index:03}", "of": ["pour", "p"], "at": BEGUN_MS + minutes * 60_000, "type": type_}
        | more
        for index, (minutes, type_, more) in enumerate(events)
    ]
    return bench.ask(
        """return import('/shelf/hands_on.js').then(({ handsOn }) =>
          handsOn({ record: { started_at: g[0] }, events: g[1] }));""",
        [BEGUN_MS, kept],
    )


WAX = {"jug": 0, "part": "wax", "index": 0, "read_g": 1000}
OIL = {"jug": 0, "part": "fragrance", "index": 0, "read_g": 80}
JUG = {"jug": 0}


def read(temp_c: float) -> Json:
    return {"jug": 0, "temp_c": temp_c}


def filled(vessel: int) -> Json:
    return {"jug": 0, "vessel": vessel, "read_g": 90}


USUAL: list[tuple[float, str, dict[str, Any]]] = [
    (8, "ready", {}),
    (10, "weighed", WAX),
    (40, "melted", JUG),
    (50, "read", read(78)),
    (60, "read", read(72)),
    (66, "went_on", JUG),
    (67, "weighed", OIL),
    (68, "added", JUG),
    (70, "stirred", JUG),
    (75, "went_on", JUG),
    (76, "poured", filled(0)),
    (77, "poured", filled(1)),
    (79, "set", {"on": "2026-11-25"}),
]
"""Eight minutes to set the wicks, two for the wax; half an hour until it was liquid."""


def test_an_evening(bench: Bench) -> None:
    found = hands_on(bench, *USUAL)
    # 8 + 2 + 1 + 1 + 2 + 1 + 1 + 2 minutes of work, and five moments at the jug.
    assert found["work_s"] == 18 * MINUTE + 5 * 30
    # 30 + 10 + 10 + 6 + 5 minutes without those moments.
    assert found["waiting_s"] == 61 * MINUTE - 5 * 30
    assert found["away_s"] == 0


def test_the_night_is_no_work(bench: Bench) -> None:
    evening = hands_on(bench, *USUAL)
    whole = hands_on(bench, *USUAL, (79 + 14 * 60, "finished", {"good": 2}))
    assert whole["work_s"] == evening["work_s"] + 30
    assert whole["waiting_s"] == evening["waiting_s"] + 14 * 60 * MINUTE - 30


def test_who_goes_away_does_not_work(bench: Bench) -> None:
    """The children came home between the first vessel and the second."""
    late = [(minutes + (180 if minutes > 76 else 0), *rest) for minutes, *rest in USUAL]
    found = hands_on(bench, *late)  # type: ignore[arg-type]
    assert found["work_s"] == hands_on(bench, *USUAL)["work_s"] + 4 * MINUTE
    assert found["away_s"] == 176 * MINUTE


def test_while_one_jug_melts_the_other_is_weighed(bench: Bench) -> None:
    other = {**WAX, "jug": 1}
    found = hands_on(
        bench,
        *[(1, "ready", {}), (3, "weighed", WAX), (5, "weighed", other)],
        *[(9, "melted", JUG), (11, "melted", {"jug": 1})],
    )
    assert found["work_s"] == 5 * MINUTE + 2 * 30
    assert found["waiting_s"] == 6 * MINUTE - 2 * 30


def test_what_was_taken_back_and_what_is_noted_take_no_time(bench: Bench) -> None:
    found = hands_on(
        bench,
        *[(1, "ready", {}), (2, "weighed", WAX), (2.5, "undone", {"event": "001"})],
        *[
            (3, "noted", {"text": "a draught"}),
            (4, "weighed", WAX),
            (90, "noted", {"text": "done"}),
        ],
    )
    assert found == {"work_s": 4 * MINUTE, "waiting_s": 0, "away_s": 0}


def test_nothing_yet(bench: Bench) -> None:
    assert hands_on(bench) == {"work_s": 0, "waiting_s": 0, "away_s": 0}


def test_of_any_pour_no_second_is_lost(bench: Bench) -> None:
    """Work, waiting and away are the time to the last thing that was done, whatever she did;
    and every event of work costs no more than its limit."""
    walks = made_up(WALKS, 150)
    answers = bench.ask(
        "return import('/shelf/hands_on.js').then(({ handsOn, MOST_S, MOST_OF_MANY_S }) => {"
        + TRY.replace(
            "WORK",
            """(() => {
            const { events } = b.walk(each);
            const record = { started_at: b.BEGUN_MS };
            const odd = ['undone', 'corrected', 'noted', 'weighed_twice', 'burned', 'abandoned'];
            const undone = new Set(events.flatMap((e) => e.type === 'undone' ? [e.event] : []));
            const times = (list) => list.map(({ at }) => at - b.BEGUN_MS);
            const done = events.filter((e) => !odd.includes(e.type) && !undone.has(e.id));
            return {
              found: handsOn({ record, events }),
              turned: handsOn({ record, events: [...events].reverse() }),
              whole_s: Math.max(0, ...times(done)) / 1000,
              most_s: done.length * MOST_S
                + done.filter(({ type }) => ['ready', 'emptied', 'stopped'].includes(type)).length
                  * (MOST_OF_MANY_S - MOST_S),
            };
          })()""",
        )
        + "});",
        walks,
    )
    walked = [each for each in answers if "found" in each]
    assert len(walked) > 0.8 * len(walks), answers[:3]
    assert not [each for each in answers if "problem" in each]
    for each in walked:
        found = each["found"]
        assert min(found.values()) >= 0
        assert sum(found.values()) == pytest.approx(each["whole_s"])
        assert found["work_s"] <= each["most_s"]
        assert each["turned"] == found
    assert sum(each["found"]["away_s"] > 0 for each in walked) > 20
    assert sum(each["found"]["waiting_s"] > 0 for each in walked) > 20


def test_a_pour_done_as_the_board_says(bench: Bench) -> None:
    """Waits that are twice as long make no more work."""
    found = bench.ask(
        """return import('/shelf/hands_on.js').then(({ handsOn }) => {
          const play = new b.Play(b.sheetOf(g)).honest();
          let [before, shift] = [b.BEGUN_MS, 0];
          const slow = play.events.map((event) => {
            if (['melted', 'read', 'went_on'].includes(event.type)) shift += event.at - before;
            before = event.at;
            return { ...event, at: event.at + shift };
          });
          const record = { started_at: b.BEGUN_MS };
          return [handsOn({ record, events: play.events }), handsOn({ record, events: slow })];
        });""",
        asked(fields_of("demo-recipe-slate"), count=12),
    )
    usual, slow = found
    assert slow["work_s"] == usual["work_s"] > 12 * MINUTE
    assert slow["waiting_s"] > usual["waiting_s"] > 0
    assert slow["away_s"] == usual["away_s"] == 0
