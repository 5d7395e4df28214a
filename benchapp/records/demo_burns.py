"""The invented workshop's burn test: two wicks in its tin, three candles of each.

Every figure in it is made up for the demo.
"""

from datetime import date, datetime, time, timedelta
from typing import Any

from benchapp.formulas.fill import fill_masses, water_volume_ml

Record = dict[str, Any]

_ID = "demo-test-1"
_NAME = "Wet slate in tin 120: flat cotton 4, 6"
_WIDTH_MM = 62.0
_MARKS_H = (1, 2, 3, 4)
_TIN_G = 24.0
_FULL = "full"

# Of each candle its sittings: on which day of the test, grams burned, hours; at each mark the pool
# in mm, or that it was full, and the flame in mm; seconds of smoke.
_SMALL = (
    (
        (0, 11.9, 4.0, ((41, 24), (55, 27), (_FULL, 28), (_FULL, 27)), 9),
        (2, 11.5, 4.0, ((40, 25), (56, 29), (_FULL, 30), (_FULL, 28)), 12),
    ),
    (
        (0, 11.2, 4.0, ((38, 22), (53, 25), (_FULL, 26), (_FULL, 26)), 8),
        (2, 10.9, 4.0, ((39, 23), (54, 26), (_FULL, 27), (_FULL, 25)), 10),
    ),
    (
        (1, 12.1, 4.0, ((42, 26), (57, 29), (_FULL, 31), (_FULL, 29)), 14),
        (3, 11.7, 4.0, ((41, 25), (55, 28), (_FULL, 30), (_FULL, 28)), 11),
    ),
)
_LARGE = (
    ((1, 17.6, 4.0, ((50, 58), (_FULL, 66), (_FULL, 72), (_FULL, 70)), 27),),
    ((3, 10.7, 2.25, ((52, 66), (_FULL, 79)), 34),),
    ((4, 18.2, 4.0, ((51, 61), (_FULL, 70), (_FULL, 77), (_FULL, 74)), 31),),
)
_SOOTED = (5, 0, 2)
"""Candle, sitting and mark at which there was soot."""

_RATED = (("Rosa", 4, 4), ("Ilse", 3, 5), ("Tam", 4, 5))
"""Of each nose how strong it found the smaller wick, burning, and the larger."""


def burn_test(today: date) -> Record:
    """The record of the test in base units, and its events, dated from ``today``."""
    first = datetime.combine(today - timedelta(days=47), time(17, 30)).astimezone()
    begun_at = int(first.timestamp() * 1000)
    fuel_g = sum(fill_masses(water_volume_ml(118.0, 20.0), 0.08, 0.88, 0.97))
    told = _Told(begun_at)
    for candle, sittings in enumerate((*_SMALL, *_LARGE)):
        left_g = _TIN_G + fuel_g
        for sitting, (day, burned_g, hours, marks, smoke_s) in enumerate(sittings):
            told.sitting(candle, sitting, day, left_g, left_g - burned_g, hours, marks, smoke_s)
            left_g -= burned_g
    for nose, small, large in _RATED:
        for candle, rating in ((0, small), (3, large)):
            told.add(*(120.0, "rated"), candle=candle, throw="hot", nose=nose, rating=rating)
    told.add(122.0, "closed")
    sheet = {
        "version": 1,
        "title": _NAME,
        "recipe": "demo-recipe-slate",
        "vessel": {"id": "demo-tin", "name": "tin 120"},
        "width_mm": _WIDTH_MM,
        "waxes": [{"id": "demo-wax-dune", "name": "Dune, soft vegetable", "share": 1.0}],
        "oils": [{"id": "demo-oil-slate", "name": "Wet slate", "share": 1.0}],
        "load": 0.08,
        "fuel_g": fuel_g,
        "solid_density": 0.91,
        "wicks": [
            {"id": id_, "name": f"flat cotton, {size}", "series": "flat cotton", "size": size}
            for id_, size in (("demo-wick-a", "4"), ("demo-wick-c", "6"))
        ],
        "candles": [
            {"wick": wick, "pour": None, "vessel": None} for wick in (0, 1) for _ in range(3)
        ],
        "marks_h": list(_MARKS_H),
        "step_g": 0.1,
    }
    fields = {"name": _NAME, "sheet": sheet, "started_at": begun_at}
    return {"kind": "burn_test", "id": _ID, "fields": fields, "events": told.events}


class _Told:
    """The events of the test in their order."""

    def __init__(self, begun_at: int) -> None:
        self.begun_at = begun_at
        self.events: list[Record] = []

    def add(self, hours: float, type_: str, **fields: Any) -> None:
        """Add what happened so many ``hours`` after the test was begun."""
        self.events.append(
            {
                # Older than anything that she does, and the same on every phone of the demo.
                "id": f"{0:015d}.{len(self.events) + 1:04d}.demotest1",
                "of": ["burn_test", _ID],
                "type": type_,
                "at": self.begun_at + round(hours * 3_600_000),
                **fields,
            }
        )

    def sitting(
        self,
        candle: int,
        burn: int,
        day: int,
        before_g: float,
        after_g: float,
        hours: float,
        marks: tuple[tuple[Any, int], ...],
        smoke_s: int,
    ) -> None:
        lit = 24.0 * day + candle / 20
        of = {"candle": candle, "burn": burn}
        self.add(lit - 0.03, "weighed", **of, when="before", read_g=round(before_g, 1))
        self.add(lit, "lit", **of)
        for mark, (pool, flame) in enumerate(marks):
            at, here = lit + _MARKS_H[mark], {**of, "mark": mark}
            if pool == _FULL:
                self.add(at, "saw", **here, what="pool_full", grade=0)
            else:
                self.add(at, "measured", **here, what="pool", mm=float(pool))
            self.add(at, "measured", **here, what="flame", mm=float(flame))
            if (candle, burn, mark) == _SOOTED:
                self.add(at, "saw", **here, what="soot", grade=2)
            self.add(at, "nothing_else", **here)
        why = "out" if hours >= _MARKS_H[-1] else "flame"
        self.add(lit + hours, "stopped", **of, why=why)
        self.add(lit + hours + 0.01, "smoke_ended", **of, seconds=smoke_s)
        self.add(lit + hours + 1.2, "weighed", **of, when="after", read_g=round(after_g, 1))
