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
                "says": "a scented candle in a tin, to be burned indoors on what bears heat",
                "safety": "a tin that stands wide and low; its lid puts the flame out",
                "standards": "none",
                "sold_from": str(today - timedelta(days=60)),
                "risk_tips": {
                    "applies": "no",
                    "why": "the tin is wider than it is high",
                    "shows": "tilted by 10° on the bench, it stood",
                },
                "risk_flame": {
                    "applies": "yes",
                    "how": "a wick that was not trimmed burns high",
                    "done": "the smaller wick of two; the label says to trim it",
                    "shows": "the burn test of the wet slate tin",
                },
                "risk_hot": {
                    "applies": "yes",
                    "how": "the tin grows warm to its base",
                    "done": "a cork foot under each tin",
                },
            },
        ),
        (
            "complaint",
            "demo-complaint-soot",
            {
                "name": "Soot on the tin",
                "what": "the rim of the tin grew black when it burned by an open window",
                "harm": "none",
                "n": 1,
                "happened_on": str(today - timedelta(days=2)),
                "heard_on": str(today - timedelta(days=1)),
                "place": "on a window sill",
                "product": "demo-product-slate",
            },
        ),
    ]
