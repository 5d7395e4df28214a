"""The invented workshop's shelf: who sells what, what came in, what it cost, and a market to come.

Every name and figure in it is made up for the demo.
"""

from datetime import date, timedelta
from typing import Any

Record = dict[str, Any]


def shelf(today: date) -> list[tuple[str, str, Record]]:
    """Records in base units and cents, dated from ``today``."""

    def day(days: int) -> str:
        return str(today + timedelta(days=days))

    def lot(
        id_: str, kind: str, material: str, came: int, fields: Record
    ) -> tuple[str, str, Record]:
        """``came``: on which day from today."""
        whole = {"material": [kind, material], "received_on": day(came), "tax": "with", **fields}
        return ("lot", id_, whole)

    return [
        (
            "supplier",
            "demo-supplier-fen",
            {
                "name": "Fen & Furrow Waxes",
                "mail": "orders@fenfurrow.example",
                "telephone": "01632 960 114",
                "lead_days": 4,
            },
        ),
        (
            "supplier",
            "demo-supplier-quay",
            {
                "name": "Quay Street Oils",
                "mail": "hello@quaystreet.example",
                "lead_days": 6,
            },
        ),
        (
            "supplier",
            "demo-supplier-tin",
            {"name": "Tin & Twine", "mail": "shop@tinandtwine.example", "lead_days": 10},
        ),
        (
            "packaging",
            "demo-lid",
            {
                "name": "lid for tin 120",
                "what": "lid",
                "supplier": "demo-supplier-tin",
                "pack": 50,
            },
        ),
        (
            "packaging",
            "demo-label",
            {"name": "label 64 × 34", "what": "label", "supplier": "demo-supplier-tin"},
        ),
        lot(
            "demo-lot-dune-1",
            *("wax", "demo-wax-dune", -70),
            {
                "name": "FF-2609",
                "by": "weight",
                "amount_g": 2800.0,
                "paid": 2156,
                "delivery": 490,
                "supplier": "demo-supplier-fen",
                "best_before": day(420),
                "certificate": "FF/D/7",
                "certificate_on": day(-200),
            },
        ),
        lot(
            "demo-lot-dune-2",
            *("wax", "demo-wax-dune", -9),
            {
                "name": "FF-2644",
                "by": "weight",
                "amount_g": 1500.0,
                "paid": 1290,
                "supplier": "demo-supplier-fen",
                "best_before": day(480),
            },
        ),
        lot(
            "demo-lot-slate",
            *("fragrance", "demo-oil-slate", -40),
            {
                "name": "QS 81-3",
                "by": "volume",
                "amount_ml": 250.0,
                "density": 0.97,
                "paid": 1895,
                "supplier": "demo-supplier-quay",
                "best_before": day(150),
            },
        ),
        lot(
            "demo-lot-plum",
            *("fragrance", "demo-oil-plum", -300),
            {
                "name": "QS 55-1",
                "by": "volume",
                "amount_ml": 100.0,
                "density": 0.99,
                "paid": 940,
                "supplier": "demo-supplier-quay",
                "best_before": day(-12),
            },
        ),
        lot(
            "demo-lot-kelp",
            *("fragrance", "demo-oil-kelp", -40),
            {"name": "QS 83-0", "by": "weight", "amount_g": 100.0, "paid": 1120},
        ),
        lot(
            "demo-lot-tins",
            *("vessel", "demo-tin", -70),
            {
                "name": "T-0914",
                "by": "pieces",
                "pieces": 60,
                "paid": 5400,
                "supplier": "demo-supplier-tin",
            },
        ),
        lot(
            "demo-lot-wicks",
            *("wick", "demo-wick-a", -70),
            {
                "name": "W-4/31",
                "by": "pieces",
                "pieces": 100,
                "paid": 850,
                "supplier": "demo-supplier-tin",
            },
        ),
        lot(
            "demo-lot-lids",
            *("packaging", "demo-lid", -70),
            {"name": "L-0914", "by": "pieces", "pieces": 50, "paid": 1200},
        ),
        (
            "wanted",
            "demo-market",
            {
                "name": "Harbour market",
                "recipe": "demo-recipe-slate",
                "count": 24,
                "by": day(35),
                "cured": "best",
                "done": "no",
            },
        ),
        (
            "prices",
            "prices",
            {
                "name": "prices",
                "currency": "EUR",
                "tax_rate": 0.2,
                "tax_back": "no",
                "hour": 1800,
                "overhead": 35,
                "wanted_margin": 0.6,
            },
        ),
    ]


#: Which lots the past pours took, as a plan pins them.
SLATE_LOTS: list[Record] = [
    {
        "kind": "wax",
        "id": "demo-wax-dune",
        "name": "Dune, soft vegetable",
        "lots": [{"id": "demo-lot-dune-1", "name": "FF-2609", "amount": 1140.0}],
    },
    {
        "kind": "fragrance",
        "id": "demo-oil-slate",
        "name": "Wet slate",
        "lots": [{"id": "demo-lot-slate", "name": "QS 81-3", "amount": 91.2}],
    },
    {
        "kind": "wick",
        "id": "demo-wick-a",
        "name": "flat cotton, 4",
        "lots": [{"id": "demo-lot-wicks", "name": "W-4/31", "amount": 12}],
    },
    {
        "kind": "vessel",
        "id": "demo-tin",
        "name": "tin 120",
        "lots": [{"id": "demo-lot-tins", "name": "T-0914", "amount": 12}],
    },
]
PLUM_LOTS: list[Record] = [
    {
        "kind": "wax",
        "id": "demo-wax-dune",
        "name": "Dune, soft vegetable",
        "lots": [{"id": "demo-lot-dune-1", "name": "FF-2609", "amount": 970.0}],
    },
    {
        "kind": "fragrance",
        "id": "demo-oil-plum",
        "name": "Plum stone",
        "lots": [{"id": "demo-lot-plum", "name": "QS 55-1", "amount": 47.5}],
    },
    {
        "kind": "fragrance",
        "id": "demo-oil-kelp",
        "name": "Kelp smoke",
        "lots": [{"id": "demo-lot-kelp", "name": "QS 83-0", "amount": 20.4}],
    },
]
