"""Which readings of a probe are taken for the wax's, played with probes that lag behind.

A probe follows what is around it as e^(−t/τ) (the first-order lag of a thermometer, from memory):
τ of a few seconds in a liquid, of half a minute and more in air (common practice, no source).
"""

import math
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.bench.conftest import Bench, Json

ROOM_C, HIGHEST_C = 20.0, 90.0

_PLAY = """async ({ readings, jug }) => {
  const { judgeReading, steadyFor } = await import('/bench/reading_checks.js');
  return readings.map(([at, value], index) => {
    const upTo = readings.slice(0, index + 1).map(([at, value]) => ({ at, value, step: 0.1 }));
    const reading = { kind: 'temperature', value, step: 0.1, source: 'Probe', at, doubt: null,
      steady_s: steadyFor(upTo.filter((each) => at - each.at < 60000)) };
    const answer = judgeReading(reading, { ...jug, now_ms: at });
    return answer.doubt ?? answer;
  });
}"""


def probe(around: list[tuple[float, float, float]], every_s: float, start_c: float) -> list[Json]:
    """[ms, °C] of a probe that spends seconds in each of (seconds, °C around it, τ in s)."""
    now_s, reads_c = 0.0, start_c
    readings: list[Json] = []
    for stay_s, there_c, lag_s in around:
        until_s = now_s + stay_s
        while now_s < until_s:
            reads_c = there_c + (reads_c - there_c) * math.exp(-every_s / lag_s)
            now_s += every_s
            readings.append([round(now_s * 1000), round(reads_c, 1)])
    return readings


def play(bench: Bench, readings: list[Json], **jug: Any) -> list[str]:
    usual = {"temp_c": 75, "room_c": ROOM_C, "highest_c": HIGHEST_C, "last": None}
    answers: list[str] = bench.page.evaluate(_PLAY, {"readings": readings, "jug": usual | jug})
    return answers


@settings(max_examples=25, suppress_health_check=list(HealthCheck))
@given(
    wax_c=st.floats(45, 88),
    lag_s=st.floats(0.5, 5),
    every_s=st.sampled_from([0.5, 1.0, 2.0, 3.0]),
)
def test_a_probe_put_in_is_taken_once_it_has_arrived(
    bench: Bench, wax_c: float, lag_s: float, every_s: float
) -> None:
    readings = probe([(90, wax_c, lag_s)], every_s, ROOM_C)
    answers = play(bench, readings, temp_c=wax_c)
    taken = [
        reads for (_, reads), answer in zip(readings, answers, strict=True) if answer == "take"
    ]
    assert answers[-1] == "take"
    assert all(abs(reads - wax_c) <= 0.3 for reads in taken), taken[:3]


@settings(max_examples=25, suppress_health_check=list(HealthCheck))
@given(
    wax_c=st.floats(45, 88),
    lag_s=st.floats(20, 60),
    every_s=st.sampled_from([0.5, 1.0, 2.0, 3.0]),
)
def test_a_probe_taken_out_is_never_taken_for_the_wax(
    bench: Bench, wax_c: float, lag_s: float, every_s: float
) -> None:
    inside = probe([(60, wax_c, 4)], every_s, wax_c)
    readings = probe([(60, wax_c, 4), (600, ROOM_C, lag_s)], every_s, wax_c)
    answers = play(bench, readings, temp_c=wax_c, last={"at": 60_000, "temp_c": wax_c})
    assert answers[len(inside) - 1] == "take"
    # The first moment aside: half a second out of the wax it still reads the wax.
    outside = list(zip(readings, answers, strict=True))[len(inside) :]
    assert all(abs(reads - wax_c) <= 0.5 for (_, reads), answer in outside if answer == "take")
    assert answers[-1] == "It is not in the wax: it shows the room's temperature."


@pytest.mark.parametrize("c_per_min", [-2, 0, 4, 10])
def test_wax_that_cools_or_heats_is_taken(bench: Bench, c_per_min: float) -> None:
    readings = [[second * 1000, round(70 + c_per_min * second / 60, 1)] for second in range(60)]
    answers = play(bench, readings, last={"at": 0, "temp_c": 70})
    assert answers == ["show"] * 15 + ["take"] * 45


def test_a_jump_is_shown_until_it_has_stood(bench: Bench) -> None:
    readings = [[second * 1000, 60.0] for second in range(45)]
    answers = play(bench, readings, last={"at": -1000, "temp_c": 75})
    assert answers == ["show"] * 30 + ["take"] * 15


def test_about_the_room_means_nothing_while_nothing_is_known(bench: Bench) -> None:
    readings = [[second * 1000, 22.0] for second in range(40)]
    assert set(play(bench, readings, temp_c=None)) == {"show"}
    assert play(bench, readings, temp_c=25)[-1] == "take"


def test_too_hot_is_doubted(bench: Bench) -> None:
    readings = [[second * 1000, HIGHEST_C + 0.1] for second in range(40)]
    (said,) = set(play(bench, readings))
    assert said.startswith("This is hotter than the wax may get")


def test_an_old_reading_is_not_of_now(bench: Bench) -> None:
    judged = bench.page.evaluate("""async () => {
      const { judgeReading } = await import('/bench/reading_checks.js');
      const reading = { value: 75, step: 0.1, at: 100000, steady_s: 60, doubt: null };
      const jug = { temp_c: 75, room_c: 20, highest_c: 90, last: null };
      const at = (now_ms, changed) => judgeReading({ ...reading, ...changed }, { ...jug, now_ms });
      return [at(109999), at(110000), at(100000, { doubt: 'Old.' })];
    }""")
    assert judged == ["take", "show", {"doubt": "Old."}]


def test_one_in_half_a_minute_is_kept_of_a_probe_left_in(bench: Bench) -> None:
    kept = bench.page.evaluate("""async () => {
      const { isDipDue } = await import('/bench/reading_checks.js');
      const kept = [];
      // The step begins at 1000 s; a dip was kept at 990 s, in the step before.
      for (let second = 1000; second < 1000 + 1200; second += 1) {
        const last = kept.at(-1) ?? 990;
        if (isDipDue(last * 1000, second * 1000, 1_000_000)) kept.push(second);
      }
      return [kept, isDipDue(null, 5, 0)];
    }""")
    assert kept == [list(range(1000, 2200, 30)), True]


def test_a_reading_dated_otherwise_than_now_is_doubted(bench: Bench) -> None:
    doubts = bench.page.evaluate("""async () => {
      const { clockDoubt } = await import('/bench/reading_checks.js');
      const now_ms = new Date(2025, 4, 12, 14, 30).getTime();
      return [null, '2025-05-12T14:34:59', '2025-05-12T14:24:59', '2024-05-12T14:30:00',
        '2025-02-30T14:30:00'].map((taken) => clockDoubt(taken, now_ms));
    }""")
    assert doubts[:2] == [None, None]
    assert doubts[2] == "It dates this 2025-05-12 14:24. The reading is old, or its clock is wrong."
    assert None not in doubts[2:]


def test_a_coarse_scale_is_offered_at_no_finer_weighing(bench: Bench) -> None:
    offered = bench.page.evaluate("""async () => {
      const { isFineEnough } = await import('/bench/reading_checks.js');
      const at = (step) => [0.1, 1, 5].map((wanted) => isFineEnough({ step }, wanted));
      return [at(5), at(4.5359237)];
    }""")
    assert offered == [[False, False, True]] * 2
