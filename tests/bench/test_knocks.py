"""Two knocks, and all that is not two knocks. Every trace here is invented, not recorded."""

import json
import math
import random
from typing import Any

import pytest
from hypothesis import strategies as st

from tests.bench.conftest import Bench
from tests.bench.test_walks import made_up

LISTEN = """return import('/bench/knocks.js').then((k) => {
  g = JSON.parse(g);
  BODY
})"""
HEAR = """return g.map(([sort, levels]) => {
  const two = k.twoKnocks(k[sort]);
  return levels.flatMap(([t, level]) => (two(t, level) ? [t] : []));
})"""
FEEL = """return g.map((trace) => {
  const [shaken, two] = [k.shaking(), k.twoKnocks(k.SHAKEN)];
  return trace.flatMap(([t, ...axes]) => (two(t, shaken(t, ...axes)) ? [t] : []));
})"""

Trace = list[list[float]]
Hit = tuple[float, float]


def ask(bench: Bench, body: str, given: object) -> Any:
    """As one text: number by number a trace takes seconds to cross over."""
    return bench.ask(LISTEN.replace("BODY", body), json.dumps(given))


def levels(hits: list[Hit], seconds: float, *, step_s: float, noise: float, seed: int) -> Trace:
    """An invented level: noise, and at each (time, strength) a burst that fades within 30 ms."""
    chance = random.Random(seed)
    trace = []
    for n in range(int(seconds / step_s)):
        t = n * step_s
        level = noise * chance.random()
        for at, strength in hits:
            if at <= t < at + 0.5:
                level += strength * math.exp(-(t - at) / 0.03)
        trace.append([100 + t, level])
    return trace


SORTS = {"SHAKEN": (1 / 60, 0.1, 2.0), "HEARD": (0.0107, 0.005, 0.1)}
"""Time between two levels (s), noise, and the weakest knock that must count.

At 60 a second a knock is met anywhere in its fading: what is felt may be half of it.
"""


def heard(bench: Bench, kind: str, cases: list[tuple[list[float], list[float], int]]) -> Any:
    """When two knocks were complete, for times, strengths (of the weakest) and noise."""
    step_s, noise, weakest = SORTS[kind]
    traces = []
    for times, strong, seed in cases:
        hits = [(t, weakest * each) for t, each in zip(times, strong, strict=True)]
        trace = levels(hits, times[-1] + 2.5, step_s=step_s, noise=noise, seed=seed)
        traces.append([kind, trace])
    return ask(bench, HEAR, traces)


@pytest.mark.parametrize("kind", SORTS)
def test_two_knocks_are_next_when_quiet_has_followed(bench: Bench, kind: str) -> None:
    drawn = made_up(
        st.tuples(
            *(st.floats(1, 2), st.floats(0.18, 0.86), st.floats(1, 12), st.floats(1, 1.6)),
            *(st.booleans(), st.integers(0, 99)),
        ),
        150,
    )
    cases = []
    for at, apart, strong, more, first, seed in drawn:
        two = [strong * more, strong] if first else [strong, strong * more]
        cases.append(([at, at + apart], two, seed))
    for case, found in zip(cases, heard(bench, kind, cases), strict=True):
        assert len(found) == 1, case
        # Not before a third would have come, and soon after.
        assert 0.89 < found[0] - 100 - case[0][1] < 1.0, case


@pytest.mark.parametrize("kind", SORTS)
def test_one_or_three_or_slow_or_rattling_mean_nothing(bench: Bench, kind: str) -> None:
    drawn = made_up(
        st.tuples(
            st.one_of(
                st.just([]),
                st.lists(st.floats(0.2, 0.85), min_size=2, max_size=8),
                st.lists(st.floats(1.05, 3), min_size=1, max_size=4),
                st.lists(st.floats(0.02, 0.11), min_size=1, max_size=8),
            ),
            st.floats(1, 12),
            st.integers(0, 99),
        ),
        150,
    )
    cases = []
    for gaps, strong, seed in drawn:
        times = [1.2]
        for gap in gaps:
            times.append(times[-1] + gap)
        cases.append((times, [strong] * len(times), seed))
    for case, found in zip(cases, heard(bench, kind, cases), strict=True):
        assert found == [], case


def test_nonsense_is_passed_over(bench: Bench) -> None:
    """Numbers that a sensor should never give neither end it nor make it deaf."""
    any_number = st.floats() | st.sampled_from([math.nan, math.inf, -math.inf, 0.0, -1.0])
    nonsense = made_up(st.lists(st.tuples(any_number, any_number), max_size=20), 60)
    body = """return g[0].map((nonsense) => {
      const [shaken, two] = [k.shaking(), k.twoKnocks(k.SHAKEN)];
      // What comes later than all that follows would make that old.
      for (const [t, x] of nonsense.map((both) => both.map(Number))) {
        if (!(t > 100 && t < Infinity)) two(t, shaken(t, x, 0, 9));
      }
      return g[1].flatMap(([t, level]) => (two(t, shaken(t, level, 0, 9.8)) ? [t] : []));
    })"""
    texts = [
        [[str(each).replace("inf", "Infinity") for each in both] for both in case]
        for case in nonsense
    ]
    real = levels([(2, 3), (2.4, 3)], 4, step_s=1 / 60, noise=0.1, seed=1)
    assert [len(found) for found in ask(bench, body, [texts, real])] == [1] * len(nonsense)


# ---- a phone that leans -------------------------------------------------------------------------


def direction(chance: random.Random) -> list[float]:
    axes = [chance.gauss(0, 1) for _ in range(3)]
    size = math.hypot(*axes)
    return [each / size for each in axes]


def felt(hits: list[Hit], seconds: float, seed: int, *, hertz: float = 60) -> Trace:
    """An invented acceleration: gravity and each knock in any direction, steps of 0.1 m/s²."""
    chance = random.Random(seed)
    down = direction(chance)
    up = direction(chance)
    trace = []
    for n in range(int(seconds * hertz)):
        t = n / hertz
        shake = sum(
            strength * math.exp(-(t - at) / 0.03) * math.cos(2 * math.pi * 45 * (t - at))
            for at, strength in hits
            if t >= at
        )
        axes = [9.81 * d + u * shake + chance.gauss(0, 0.02) for d, u in zip(down, up, strict=True)]
        trace.append([50 + t, *[round(10 * each) / 10 for each in axes]])
    return trace


@pytest.mark.parametrize("strong", [3, 30], ids=["soft", "hard"])
def test_it_leans_as_it_likes(bench: Bench, strong: float) -> None:
    traces = [felt([(2.003, strong), (2.403, 0.8 * strong)], 5, seed) for seed in range(60)]
    found = ask(bench, FEEL, traces)
    assert [len(each) for each in found] == [1] * 60


def walked(seed: int) -> Trace:
    """Invented: lifted from the bench, carried for some steps, two in a second, put down."""
    chance = random.Random(seed)
    steps = chance.randint(2, 14)
    pace = chance.uniform(1.6, 2.1)
    strength = chance.uniform(1.5, 5)
    trace = []
    for n in range(60 * 16):
        t = n / 60
        moving = 2 <= t <= 3 + steps / pace
        swing = strength * math.sin(2 * math.pi * pace * (t - 2)) if moving else 0
        heel = 0.0
        if moving and t > 3:
            since = ((t - 3) * pace) % 1 / pace
            heel = 2 * strength * math.exp(-since / 0.04)
        turn = min(max(t - 2, 0), 1) * 0.8
        down = 9.81 * math.cos(turn), 9.81 * math.sin(turn)
        axes = [down[0] + swing + heel, down[1] + swing / 2, chance.gauss(0, 0.05)]
        trace.append([t, *[round(10 * each) / 10 for each in axes]])
    return trace


def set_down(seed: int) -> Trace:
    """Invented: a full jug set on the bench, edge, then foot, then a rattle that dies away.

    Edge and foot come close together, or one is far weaker: else who could tell them from knocks?
    """
    chance = random.Random(seed)
    edge = chance.uniform(0.3, 2)
    near = chance.random() < 0.5
    foot = edge * (chance.uniform(1, 8) if near else chance.uniform(9, 15))
    apart = chance.uniform(0.03, 0.12) if near else chance.uniform(0.2, 0.5)
    hits = [(2.0, edge), (2.0 + apart, foot)]
    for _ in range(chance.randint(0, 5)):
        at, strength = hits[-1]
        hits.append((at + chance.uniform(0.03, 0.1), strength * 0.6))
    return felt(hits, 6, seed)


def handled(seed: int) -> Trace:
    """Invented: the phone is taken, turned about and propped again."""
    chance = random.Random(seed)
    lean = chance.uniform(0.5, 3)
    seconds = chance.uniform(0.4, 2)
    trace = []
    for n in range(60 * 6):
        t = n / 60
        part = min(max((t - 2) / seconds, 0), 1)
        angle = lean * part * part * (3 - 2 * part)
        shake = chance.gauss(0, 0.6) if 0 < part < 1 else 0
        axes = [9.81 * math.cos(angle) + shake, 9.81 * math.sin(angle) + shake / 2, 0.0]
        trace.append([t, *[round(10 * each) / 10 for each in axes]])
    return trace


@pytest.mark.parametrize("made", [walked, set_down, handled], ids=lambda made: made.__name__)
def test_what_else_happens_at_a_bench_means_nothing(bench: Bench, made: Any) -> None:
    found = ask(bench, FEEL, [made(seed) for seed in range(60)])
    assert found == [[]] * 60


def spoken(seed: int) -> Trace:
    """Invented: syllables that swell and last 0.12 to 0.3 s, as the root mean square of 10 ms."""
    chance = random.Random(seed)
    syllables = []
    t = 1.0
    while t < 6:
        syllables.append((t, chance.uniform(0.12, 0.3), chance.uniform(0.05, 0.3)))
        t += syllables[-1][1] + chance.choice([0.03, 0.1, 0.4])
    trace = []
    for n in range(750):
        now = n * 0.0107
        level = 0.003 * chance.random()
        for at, long, loud in syllables:
            if at <= now < at + long:
                level += loud * math.sin(math.pi * (now - at) / long) ** 0.5
        trace.append([now, level])
    return trace


def test_talk_is_no_clapping(bench: Bench) -> None:
    found = ask(bench, HEAR, [["HEARD", spoken(seed)] for seed in range(60)])
    assert found == [[]] * 60


def test_nothing_counts_for_a_while_after_a_next(bench: Bench) -> None:
    """Nor do knocks that go on from that while without quiet between."""
    at = [2, 2.3, 3.6, 3.9, 4.3, 4.6, 8, 8.3]
    trace = levels([(t, 3) for t in at], 12, step_s=1 / 60, noise=0.1, seed=3)
    [found] = ask(bench, HEAR, [["SHAKEN", trace]])
    assert [round(t - 100, 1) for t in found] == [3.2, 9.2]


def test_after_a_sleep_it_begins_anew(bench: Bench) -> None:
    trace = levels([(2, 3)], 2.3, step_s=1 / 60, noise=0.1, seed=3)
    later = levels([(0.1, 3), (2, 3), (2.4, 3)], 5, step_s=1 / 60, noise=0.1, seed=4)
    [found] = ask(bench, HEAR, [["SHAKEN", trace + [[t + 2.9, x] for t, x in later]]])
    assert [round(t - 102.9, 1) for t in found] == [3.3]
