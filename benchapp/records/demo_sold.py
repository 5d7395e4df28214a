"""Where the invented workshop's candles went, who bought them, and a recall that was rehearsed.

Every name and figure in it is made up for the demo.
"""

from datetime import date
from typing import Any

Record = dict[str, Any]

#: What became of the dozen of wet slate, so many days after they were put away.
SLATE_CANDLES: list[Record] = [
    {"after_days": 14, "type": "labelled", "n": 12},
    {
        **{"after_days": 15, "type": "sold", "n": 5, "buyer": "demo-buyer-shop"},
        **{"price": 950, "currency": "EUR"},
    },
    {
        **{"after_days": 16, "type": "sold", "n": 6, "where": "autumn fair"},
        **{"price": 1400, "currency": "EUR"},
    },
    {"after_days": 16, "type": "given", "n": 1, "buyer": "demo-buyer-oda"},
]


def buyers(today: date) -> list[tuple[str, str, Record]]:
    """Records as they are kept, dated from ``today``."""
    return [
        (
            "buyer",
            "demo-buyer-shop",
            {
                "name": "Brackwater Gift Shop",
                "what": "shop",
                "mail": "shop@brackwater.example",
                "telephone": "01632 960 207",
                "address": "3 Tide Lane\nBrackwater",
            },
        ),
        (
            "buyer",
            "demo-buyer-oda",
            {"name": "Oda from the choir", "what": "person", "telephone": "01632 960 388"},
        ),
        (
            "recall",
            "demo-recall",
            {
                "name": f"Rehearsal, {today:%Y}: FF-2609",
                "of": ["lot", "demo-lot-dune-1"],
                "rehearsal": "yes",
                "risk": "the tin may get hot enough to burn what it stands on",
                "remedy": "another candle, or your money back",
            },
        ),
    ]
