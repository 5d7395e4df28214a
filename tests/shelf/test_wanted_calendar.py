"""The calendar file of what is wanted: read by a library that had no part in it, and beside what
the server's calendar says of the same records."""

from datetime import date

import icalendar

from benchapp.reminders import wanted
from tests.bench.conftest import Bench
from tests.shelf.test_wanted import MARKET, lot, records, work

FILE = """
    return import('/screens/wanted_calendar.js').then(({ calendarOfWanted }) =>
      calendarOfWanted(orders, [g.stored], b.displayUnits({}), today, g.now));
"""
NOW = 1_795_600_000_000


def test_its_days_are_those_of_the_list_and_of_the_server(bench: Bench) -> None:
    own = {**MARKET, "name": "Harbour; market", "pour_on": "2026-12-10"}
    past = [{"value": "2026-12-24", "stamp": "000000000000001.0000.a"}]
    fields = {
        "by": {"value": own["by"], "stamp": "000000000000002.0000.a", "past": past},
        "pour_on": {"value": own["pour_on"], "stamp": "000000000000003.0000.a"},
    }
    stored = {"kind": "wanted", "id": "w", "fields": fields}
    other = {**MARKET, "id": "x", "name": "Rosa", "count": 6}
    lots = (lot("l1", "wax", "demo-wax-dune", amount_g=1000.0),)
    made = {"demo_wax_dune": {"supplier": "demo-supplier-fen"}, "workshop": {"jugs_a_day": 2}}
    kept = records(own, other, *lots, without=("lot",), **made)
    text = work(bench, kept, body=FILE, stored=stored, now=NOW)
    assert all(len(line.encode()) <= 75 for line in text.split("\r\n"))
    events = icalendar.Calendar.from_ical(text).walk("VEVENT")
    told = {str(each["UID"]): each for each in events}
    # The same from both, to the letter and by the same number.
    recipes = {"demo-recipe-slate": "Wet slate"}
    for each in wanted.days_of("w", fields, own, recipes):
        mine = told.pop(f"{each.what}.w@pour-bench.invalid")
        assert mine["DTSTART"].dt == each.day
        assert str(mine["SUMMARY"]) == each.summary
        assert mine["SEQUENCE"] == each.sequence == 3
    # What follows from the shelf is the phone's alone, and numbered by the minute.
    days = {uid: each["DTSTART"].dt for uid, each in told.items()}
    assert days == {
        "order.w@pour-bench.invalid": date(2026, 12, 6),
        "wanted.x@pour-bench.invalid": date(2026, 12, 30),
        "last-pour.x@pour-bench.invalid": date(2026, 12, 16),
        "order.x@pour-bench.invalid": date(2026, 12, 12),
    }
    order = told["order.w@pour-bench.invalid"]
    assert str(order["SUMMARY"]).startswith("Harbour; market: order ")
    assert "\u00a0g of Dune, soft vegetable" in str(order["SUMMARY"])
    assert order["SEQUENCE"] == NOW // 60_000


def test_nothing_wanted_is_no_calendar(bench: Bench) -> None:
    assert work(bench, records(), body=FILE, stored={"id": "w", "fields": {}}, now=NOW) is None
