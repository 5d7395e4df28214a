"""How often a caller may ask, at times that the test makes up."""

from hypothesis import given
from hypothesis import strategies as st

from benchapp.web.rate import Rate

RATES = st.integers(2, 600)
PAUSES = st.lists(st.floats(0, 5), min_size=1, max_size=200)


@given(RATES, PAUSES)
def test_no_minute_has_more_than_it_may_have(a_minute, pauses):
    rate, now_s, taken = Rate(a_minute), 1e6, []
    for pause in pauses:
        now_s += pause
        if rate.wait_s("one", now_s) is None:
            taken.append(now_s)
    for first in taken:
        assert sum(first <= each < first + 60 for each in taken) <= a_minute


@given(RATES, PAUSES)
def test_who_waits_as_long_as_told_is_let_in(a_minute, pauses):
    rate, now_s = Rate(a_minute), 1e6
    for pause in pauses:
        now_s += pause
        if (wait_s := rate.wait_s("one", now_s)) is not None:
            now_s += wait_s
            assert wait_s >= 1
            assert rate.wait_s("one", now_s) is None


@given(RATES)
def test_half_of_it_may_come_at_once(a_minute):
    rate = Rate(a_minute)
    taken = [rate.wait_s("one", 1e6) is None for _ in range(a_minute)]
    assert a_minute // 2 - 1 <= sum(taken) <= a_minute // 2
    # Nobody waits for another.
    assert rate.wait_s("another", 1e6) is None


def test_callers_that_are_long_gone_are_forgotten():
    rate = Rate(600)
    for number in range(100_000):
        assert rate.wait_s(f"caller {number}", 1e6 + number) is None
    assert len(rate._earned_s) <= 2000
