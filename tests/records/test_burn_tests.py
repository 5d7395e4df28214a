"""A burn test's record: what a sheet must hold, wherever it arrives."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from benchapp.records import kinds
from tests.burns.conftest import sheet

Sheet = dict[str, Any]


def why(**given: Any) -> list[str]:
    fields = {"name": "Wet slate", "sheet": sheet(**given), "started_at": 1_796_000_000_000}
    return [line for lines in kinds.check("burn_test", fields).values() for line in lines]


def test_a_whole_sheet_is_kept() -> None:
    assert why() == []


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"vessel": None}, "The test sheet is not complete."),
        ({"width_mm": float("nan")}, "The test sheet can't be read at “width_mm”."),
        ({"step_g": True}, "The test sheet can't be read at “step_g”."),
        ({"hottest_c": "hot"}, "The test sheet can't be read at “hottest_c”."),
        ({"fuel_g": -1}, "The test sheet can't be read at “fuel_g”."),
        ({"oils": {}}, "The test sheet can't be read at “oils”."),
        ({"candles": []}, "A test has 36 candles at most, and at least one."),
        ({"candles": [{"wick": 0}] * 37}, "A test has 36 candles at most, and at least one."),
        ({"candles": [{"wick": 2}]}, "A candle of the test has no wick."),
        ({"candles": [{"wick": False}]}, "A candle of the test has no wick."),
        ({"candles": ["A"]}, "A candle of the test has no wick."),
        ({"marks_h": [2, 1]}, "The marks of a test must be hours that rise."),
        ({"marks_h": [1, 1]}, "The marks of a test must be hours that rise."),
        ({"marks_h": []}, "The marks of a test must be hours that rise."),
        ({"marks_h": ["one"]}, "The marks of a test must be hours that rise."),
        ({"marks_h": [0, 1]}, "The last mark is after 4 hours at most."),
        ({"marks_h": [1, 5]}, "The last mark is after 4 hours at most."),
        ({"title": "x" * 50_000}, "The test sheet is too long."),
    ],
)
def test_a_sheet_that_makes_no_sense_is_refused(given: Sheet, said: str) -> None:
    assert why(**given) == [said]


_JSON = st.recursive(
    st.none() | st.booleans() | st.floats() | st.integers() | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner),
)


@given(name=st.sampled_from(sorted(sheet())), value=_JSON)
def test_whatever_comes_in_a_sheet_is_answered_in_a_sentence(name: str, value: Any) -> None:
    for line in why(**{name: value}):
        assert line.endswith(".")
