"""The record of a burn test: its name, when it was begun, and the test sheet.

What happens in it are events (``burn_events.py``).
"""

import json
from typing import Any

from wtforms import Form
from wtforms.validators import ValidationError

from benchapp.records.burn_events import MOST_CANDLES, MOST_MARKS
from benchapp.records.event_type import is_number
from benchapp.records.events import MOST_MS
from benchapp.records.fields import Kept, Whole, Words
from benchapp.words import n_, t

MOST_SHEET = 50_000
"""Characters of a test sheet's JSON."""

LONGEST_H = 4
"""No candle burns longer than this in one sitting (EN 15426:2018, second-hand)."""


class TestSheet(Kept):
    """The test sheet, as ``makeTestSheet`` in ``static/burns/test_sheet.js`` writes it."""

    kept_as = "test_sheet"
    __test__ = False

    _NUMBERS = ("version", "width_mm", "load", "fuel_g", "solid_density", "step_g")
    _LISTS = ("waxes", "oils", "wicks", "candles", "marks_h")

    def check(self, value: Any) -> None:
        if not isinstance(value, dict) or not isinstance(value.get("title"), str):
            raise ValidationError(t("The test sheet is not complete."))
        if not isinstance(value.get("vessel"), dict):
            raise ValidationError(t("The test sheet is not complete."))
        for name in self._NUMBERS:
            given = value.get(name)
            if not is_number(given) or given < 0:
                raise ValidationError(t("The test sheet can't be read at “{part}”.", part=name))
        hottest_c = value.get("hottest_c")
        if hottest_c is not None and not is_number(hottest_c):
            raise ValidationError(t("The test sheet can't be read at “{part}”.", part="hottest_c"))
        for name in self._LISTS:
            if not isinstance(value.get(name), list):
                raise ValidationError(t("The test sheet can't be read at “{part}”.", part=name))
        if len(json.dumps(value)) > MOST_SHEET:
            raise ValidationError(t("The test sheet is too long."))
        self._check_candles(value["candles"], len(value["wicks"]))
        self._check_marks(value["marks_h"])

    def _check_candles(self, candles: list[Any], wicks: int) -> None:
        if not 1 <= len(candles) <= MOST_CANDLES:
            raise ValidationError(
                t("A test has {most} candles at most, and at least one.", most=MOST_CANDLES)
            )
        for each in candles:
            wick = each.get("wick") if isinstance(each, dict) else None
            if type(wick) is not int or not 0 <= wick < wicks:
                raise ValidationError(t("A candle of the test has no wick."))

    def _check_marks(self, marks: list[Any]) -> None:
        rising = all(is_number(each) for each in marks) and marks == sorted(set(marks))
        if not rising or not 1 <= len(marks) <= MOST_MARKS:
            raise ValidationError(t("The marks of a test must be hours that rise."))
        if not marks[0] > 0 or marks[-1] > LONGEST_H:
            raise ValidationError(t("The last mark is after {most} hours at most.", most=LONGEST_H))


class BurnTest(Form):
    name = Words(n_("Name"), needed=True, most=200)
    sheet = TestSheet(n_("Test sheet"), needed=True)
    started_at = Whole(n_("Started"), least=0, most=MOST_MS, needed=True)
