"""Invented records such as a maker keeps, as many as wanted: recipes, and a wax among twenty."""

import random
from typing import Any

Record = dict[str, Any]

_FIRST = ("Slate", "Plum", "Kelp", "Heather", "Ember", "Quince", "Larch", "Salt", "Fennel", "Moss")
_SECOND = ("smoke", "stone", "harbour", "orchard", "attic", "rain", "hearth", "meadow", "quarry")
_FORMS = ("tin 120", "tumbler 200", "pillar mould, tall", "jar 300", "bowl, wide", "tealight")
_REMARKS = (
    "Frosts a little at the rim when the room is cold; warm the vessels first.",
    "Second pour after the skin has formed, about forty minutes in.",
    "Tunnels with the thin wick, so the next size up.",
    "Smooth top when poured at the low end. Leave the lids off overnight.",
    "Scent is faint before the second week; do not judge it early.",
    "The dye fades on the windowsill, keep the stock in the cupboard.",
)


def records(count: int, seed: int = 1) -> list[Record]:
    """Return ``count`` records as plain values in base units: {kind, id, fields}."""
    draw = random.Random(seed)
    return [(_wax if number % 20 == 0 else _recipe)(draw, number) for number in range(count)]


def _recipe(draw: random.Random, number: int) -> Record:
    oils = draw.sample(range(40), draw.randint(1, 3))
    least = draw.randint(3, 14)
    fields = {
        "name": f"{draw.choice(_FIRST)} {draw.choice(_SECOND)} in {draw.choice(_FORMS)}, {number}",
        "vessel": _id("vessel", draw.randrange(30)),
        "waxes": [{"wax": _id("wax", draw.randrange(0, 500, 20)), "share": 1.0}],
        "oils": [
            {"fragrance": _id("fragrance", oil), "share": round(1 / len(oils), 3)} for oil in oils
        ],
        "load": round(draw.uniform(0.04, 0.10), 3),
        "load_of": draw.choice(("wax", "total")),
        "additives": [{"name": "dye, heather", "rate": draw.randint(1, 9) / 10, "per": "kilo"}],
        "wick": _id("wick", draw.randrange(20)),
        "stir_s": float(draw.randrange(60, 301, 30)),
        "cure_least_days": least,
        "cure_best_days": least + draw.randint(3, 14),
        "notes": " ".join(draw.sample(_REMARKS, 2)),
    }
    # Ids are random text, as the phone makes them, so that they arrive in no order.
    return {"kind": "recipe", "id": _id("recipe", number), "fields": fields}


def _wax(draw: random.Random, number: int) -> Record:
    pour = draw.randint(55, 66)
    fields = {
        "name": f"{draw.choice(_FIRST)} blend {number}, soft",
        "highest_load": round(draw.uniform(0.06, 0.12), 3),
        "fragrance_low_c": float(pour + 6),
        "fragrance_high_c": float(pour + 12),
        "pour_low_c": float(pour),
        "pour_high_c": float(pour + 8),
        "highest_c": 90.0,
        "family": draw.choice(("vegetable", "paraffin")),
        "molten_density": round(draw.uniform(0.77, 0.89), 3),
        "solid_density": round(draw.uniform(0.88, 0.92), 3),
        "notes": " ".join(draw.sample(_REMARKS, 4)),
    }
    return {"kind": "wax", "id": _id("wax", number), "fields": fields}


def _id(kind: str, number: int) -> str:
    return f"{random.Random(f'{kind} {number}').getrandbits(80):020x}"
