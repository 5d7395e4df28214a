"""The invented workshop's product, with some of its questions answered, and a complaint about it.

All of it is made up for the demo.
"""

from datetime import date, timedelta
from typing import Any

Record = dict[str, Any]


def products(today: date) -> list[tuple[str, str, Record]]:
    """Records in base units, dated before ``today``."""
    return [
        (
            "product",
            "demo-product-slate",
            {
                "name": "Wet slate in a tin",
                "recipe": "demo-recipe-slate",
                "label": "demo-label-slate",
                "price": 1450,
                "says": "A scented candle in a tin, to be burned indoors on a surface that bears "
                "heat.",
                "safety": "The tin stands wide and low. Its lid puts the flame out.",
                "standards": "none",
                "sold_from": str(today - timedelta(days=60)),
                "risk_tips": {
                    "applies": "no",
                    "why": "The tin is wider than it is high.",
                    "shows": "Tilted by 10° on the bench, it stood.",
                },
                "risk_flame": {
                    "applies": "yes",
                    "how": "A wick that was not trimmed burns high.",
                    "done": "The smaller wick of two. The label says to trim it.",
                    "shows": "The burn test of the wet slate tin.",
                },
                "risk_hot": {
                    "applies": "yes",
                    "how": "The tin grows warm to its base.",
                    "done": "A cork foot under each tin.",
                },
            },
        ),
        (
            "complaint",
            "demo-complaint-soot",
            {
                "name": "Soot on the tin",
                "what": "The rim of the tin grew black when it burned by an open window.",
                "harm": "none",
                "n": 1,
                "happened_on": str(today - timedelta(days=2)),
                "heard_on": str(today - timedelta(days=1)),
                "place": "On a window sill.",
                "product": "demo-product-slate",
            },
        ),
    ]
