"""The form in which a burn test is planned: the phone makes a test sheet of what is typed.

Its limits are those of static/burns/test_sheet.js.
"""

from wtforms import Form

from benchapp.records.burn_events import MOST_CANDLES
from benchapp.records.fields import Other, Quantity, Several, Whole, Words
from benchapp.words import n_


class WickRow(Form):
    wick = Other(n_("Wick"), kind="wick", needed=True)
    batch = Other(n_("Its candles are of"), kind="pour", needed=True)


class TestPlanner(Form):
    __test__ = False

    wicks = Several(
        n_("Wicks to compare"),
        row=WickRow,
        least=1,
        most=12,
        help=n_("The smallest first."),
    )
    candles_each = Whole(
        n_("Candles of each wick"), least=1, most=MOST_CANDLES, default=3, needed=True
    )
    width_mm = Quantity(
        n_("Inside width of the vessel"),
        dimension="length",
        least=5,
        most=1000,
        needed=True,
        help=n_("Measure it where the wax stands: the melt pool can get no wider."),
    )
    marks = Words(
        n_("Look after so many hours"),
        most=80,
        default="1, 2, 3, 4",
        needed=True,
        help=n_("The last one ends a sitting, after 4 hours at most."),
    )
    hottest_c = Quantity(
        n_("No place of the vessel hotter than"),
        dimension="temperature",
        least=20,
        most=200,
        help=n_("Leave it empty if you don't measure it."),
        more=True,
    )
