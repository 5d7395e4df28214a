"""An invented workshop, so that a newcomer can pour within a minute.

Every name and figure in it is made up for the demo.
"""

from datetime import date, datetime, time, timedelta
from typing import Any

from benchapp.records.demo_burns import burn_test
from benchapp.records.demo_labels import labels
from benchapp.records.demo_products import products
from benchapp.records.demo_sheets import sheets
from benchapp.records.demo_shelf import PLUM_LOTS, SLATE_LOTS, shelf
from benchapp.records.demo_sold import SLATE_CANDLES, buyers

Record = dict[str, Any]

_MATERIALS: tuple[tuple[str, str, Record], ...] = (
    (
        "wax",
        "demo-wax-dune",
        {
            "name": "Dune, soft vegetable",
            "molten_density": 0.88,
            "solid_density": 0.91,
            "highest_load": 0.10,
            "fragrance_low_c": 68.0,
            "fragrance_high_c": 72.0,
            "pour_low_c": 60.0,
            "pour_high_c": 72.0,
            "highest_c": 90.0,
            "cure_least_days": 7,
            "cure_best_days": 14,
        },
    ),
    (
        "wax",
        "demo-wax-lantern",
        {
            "name": "Lantern, paraffin",
            "family": "paraffin",
            "molten_density": 0.77,
            "solid_density": 0.90,
            "highest_load": 0.08,
            "fragrance_low_c": 72.0,
            "fragrance_high_c": 78.0,
            "pour_low_c": 66.0,
            "pour_high_c": 76.0,
            "highest_c": 95.0,
            "cure_least_days": 3,
            "cure_best_days": 5,
        },
    ),
    (
        "fragrance",
        "demo-oil-slate",
        {
            "name": "Wet slate",
            "colour": "#3f7fc0",
            "density": 0.97,
            "highest_use": 0.12,
            "flash_c": 96.0,
        },
    ),
    (
        "fragrance",
        "demo-oil-plum",
        {
            "name": "Plum stone",
            "colour": "#8a63c4",
            "density": 0.99,
            "highest_use": 0.10,
            "flash_c": 62.0,
        },
    ),
    (
        "fragrance",
        "demo-oil-kelp",
        {
            "name": "Kelp smoke",
            "colour": "#4f8a3c",
            "density": 1.01,
            "highest_use": 0.06,
            "flash_c": 101.0,
        },
    ),
    (
        "vessel",
        "demo-tin",
        {
            "name": "tin 120",
            "method": "water",
            "water_g": 118.0,
            "water_c": 20.0,
            "brim_g": 143.0,
            "line": "poured",
        },
    ),
    (
        "vessel",
        "demo-tumbler",
        {
            "name": "tumbler 300",
            "method": "round",
            "diameter_mm": 70.0,
            "top_diameter_mm": 80.0,
            "height_mm": 85.0,
            "headspace_mm": 10.0,
            "line": "poured",
        },
    ),
    ("wick", "demo-wick-a", {"name": "flat cotton, 4", "series": "flat cotton", "size": "4"}),
    ("wick", "demo-wick-c", {"name": "flat cotton, 6", "series": "flat cotton", "size": "6"}),
    ("wick", "demo-wick-b", {"name": "round cord, 7", "series": "round cord", "size": "7"}),
    (
        "additive",
        "demo-dye",
        {"name": "dye, heather", "what": "dye", "rate": 0.6, "per": "kilo"},
    ),
    ("scale", "demo-scale", {"name": "bench scale", "step_g": 1.0, "capacity_g": 5000.0}),
    ("scale", "demo-fine", {"name": "fine scale", "step_g": 0.1, "capacity_g": 500.0}),
    ("jug", "demo-jug", {"name": "steel jug", "empty_g": 412.0, "volume_ml": 1800.0}),
    (
        "heater",
        "demo-bath",
        {"name": "water bath", "way": "bain_marie", "power_w": 1500.0},
    ),
    ("thermometer", "demo-probe", {"name": "probe", "step_c": 0.1}),
    (
        "recipe",
        "demo-recipe-slate",
        {
            "name": "Wet slate",
            "vessel": "demo-tin",
            "waxes": [{"wax": "demo-wax-dune", "share": 1.0}],
            "oils": [{"fragrance": "demo-oil-slate", "share": 1.0}],
            "load": 0.08,
            "load_of": "wax",
            "additives": [],
            "wick": "demo-wick-a",
            "packaging": [
                {"packaging": "demo-lid", "count": 1},
                {"packaging": "demo-label", "count": 1},
            ],
            "stir_s": 120.0,
        },
    ),
    (
        "recipe",
        "demo-recipe-plum",
        {
            "name": "Plum & kelp",
            "vessel": "demo-tumbler",
            "waxes": [{"wax": "demo-wax-dune", "share": 1.0}],
            "oils": [
                {"fragrance": "demo-oil-plum", "share": 0.7},
                {"fragrance": "demo-oil-kelp", "share": 0.3},
            ],
            "load": 0.07,
            "load_of": "wax",
            "additives": [
                {"additive": "demo-dye", "name": "dye, heather", "rate": 0.6, "per": "kilo"}
            ],
            "wick": "demo-wick-b",
            "stir_s": 180.0,
        },
    ),
    ("workshop", "workshop", {"name": "workshop", "room_c": 20.0, "allowance_g": 5.0}),
)


def workshop(today: date) -> dict[str, list[Record]]:
    """Records in base units, past pours for the phone to play through, and a burn test with its
    events, dated from ``today``.

    A pour names its recipe, the count, when it was begun (milliseconds since 1970), the cooling of
    its jug (°C at the start, k of the 5/4-power law), the lots that it took from, and what became
    of its candles.
    """
    kept = (*_MATERIALS, *shelf(today), *sheets(today), *labels(), *products(today), *buyers(today))
    records = [{"kind": kind, "id": id_, "fields": fields} for kind, id_, fields in kept]
    return {
        "records": records,
        "tests": [burn_test(today)],
        "pours": [
            {
                **_pour("demo-pour-2", "demo-recipe-plum", 4, today - timedelta(days=3)),
                **{"start_c": 79.0, "rate": 1.15e-4, "lots": PLUM_LOTS},
            },
            {
                **_pour("demo-pour-1", "demo-recipe-slate", 12, today - timedelta(days=20)),
                **{"start_c": 83.5, "rate": 1.3e-4, "lots": SLATE_LOTS},
                "candles": SLATE_CANDLES,
            },
        ],
    }


def _pour(id_: str, recipe: str, count: int, day: date) -> Record:
    begun = datetime.combine(day, time(10, 5)).astimezone()
    return {
        "id": id_,
        "recipe": recipe,
        "count": count,
        "begun_at": int(begun.timestamp() * 1000),
        "tops": "smooth",
    }
