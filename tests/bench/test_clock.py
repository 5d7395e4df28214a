"""The clock of the bench beside the server's: which of the two was set, and what that moves."""

import pytest

from tests.bench.conftest import Bench, Json

HOUR_MS = 3_600_000
START_MS = 1_796_000_000_000

# A clock of its own each time. The phone's is `wall`, the monotonic one `mono`.
_PLAY = """async (steps) => {
  const real = [Date.now, performance.now];
  localStorage.clear();
  let [wall, mono] = [START, 1000];
  Date.now = () => wall;
  performance.now = () => mono;
  try {
    const clock = await import(`/bench/clock.js?${Math.random()}`);
    clock.goOn(true);
    const told = [];
    for (const [what, ms] of steps) {
      if (what === 'passes') [wall, mono] = [wall + ms, mono + ms];
      if (what === 'phone set by') wall += ms;
      if (what === 'looked at') dispatchEvent(new Event('focus'));
      if (what === 'heard ahead by') clock.goBy(ms);
      if (what === 'bench free') clock.goOn(false);
      told.push(clock.now() - START);
    }
    return told.at(-1);
  } finally {
    [Date.now, performance.now] = real;
    localStorage.clear();
  }
}""".replace("START", str(START_MS))

HEARD = [["heard ahead by", 0], ["heard ahead by", 500]]
AHEAD = ["heard ahead by", 3 * HOUR_MS]
FORWARD = [["phone set by", HOUR_MS], ["looked at", 0]]


@pytest.mark.parametrize(
    ("steps", "now_ms"),
    [
        # The server's clock is heard for the first time in mid-pour.
        ([["passes", 1000], ["heard ahead by", 6 * 60_000]], 6 * 60_000 + 1000),
        # It is set while wax cools: no countdown moves, until the bench is free.
        ([*HEARD, ["passes", 1000], AHEAD], 1500),
        (
            [*HEARD, AHEAD, ["bench free", 0], AHEAD],
            3 * HOUR_MS,
        ),
        # The phone's is put back, and the server is so much further ahead of it.
        ([*HEARD, ["phone set by", -HOUR_MS], ["heard ahead by", HOUR_MS + 500]], 500),
        # It is put forward, and believed until the server is heard.
        ([*HEARD, *FORWARD], HOUR_MS + 500),
        (
            [*HEARD, *FORWARD, ["heard ahead by", 500 - HOUR_MS]],
            500,
        ),
    ],
)
def test_what_was_set_moves_no_countdown(bench: Bench, steps: Json, now_ms: int) -> None:
    assert bench.page.evaluate(_PLAY, steps) == now_ms
